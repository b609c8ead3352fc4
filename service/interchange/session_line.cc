#include "service/interchange/session_line.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "service/interchange/cell_text.h"
#include "service/interchange/fault.h"
#include "service/interchange/utf8.h"

namespace ullage::interchange {
namespace {

constexpr std::string_view kTimes = "\xC3\x97";      // ×
constexpr std::string_view kMinus = "\xE2\x88\x92";  // the sign, not the hyphen
// Blanks that phones and spreadsheets put between figures and units: no-break, thin, narrow no-break.
constexpr std::string_view kOtherBlanks[] = {"\xC2\xA0", "\xE2\x80\x89", "\xE2\x80\xAF"};

bool digit(char c) { return c >= '0' && c <= '9'; }
bool letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

// Reads one piece, places counted in the whole text.
class Piece {
 public:
  Piece(std::string_view text, std::size_t begin, std::size_t end) : text_(text.substr(0, end)), at_(begin) {}

  void skip_blanks() {
    for (std::size_t step = 1; step > 0 && at_ < text_.size(); at_ += step) {
      step = blank(text_[at_]) || text_[at_] == ',' ? 1 : 0;
      for (const std::string_view other : kOtherBlanks) {
        if (text_.substr(at_, other.size()) == other) step = other.size();
      }
    }
  }
  bool at_end() {
    skip_blanks();
    return at_ >= text_.size();
  }
  std::size_t at() const { return at_; }

  // The word that stands here, in lower case; not taken.
  std::string word() {
    skip_blanks();
    std::size_t end = at_;
    while (end < text_.size() && letter(text_[end])) ++end;
    return lower_case(text_.substr(at_, end - at_));
  }
  // Takes the word when it stands here.
  bool take(std::string_view wanted) {
    if (word() != wanted) return false;
    at_ += wanted.size();
    return true;
  }
  bool times() {
    skip_blanks();
    if (text_.substr(at_, kTimes.size()) == kTimes) {
      at_ += kTimes.size();
      return true;
    }
    if (at_ < text_.size() && (text_[at_] == 'x' || text_[at_] == 'X' || text_[at_] == '*') &&
        (at_ + 1 == text_.size() || !letter(text_[at_ + 1]))) {
      ++at_;
      return true;
    }
    return false;
  }
  bool sign(char c) {
    if (at_ >= text_.size() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  // A number with a decimal point or comma.
  std::optional<double> number(bool may_be_negative = false) {
    skip_blanks();
    std::size_t end = at_;
    const bool minus = may_be_negative && text_.substr(end, kMinus.size()) == kMinus;
    if (minus) {
      end += kMinus.size();
    } else if (may_be_negative && end < text_.size() && (text_[end] == '-' || text_[end] == '+')) {
      ++end;
    }
    const std::size_t figures = end;
    while (end < text_.size() && digit(text_[end])) ++end;
    if (end == figures || end - figures > 9) return std::nullopt;
    if (end + 1 < text_.size() && (text_[end] == '.' || text_[end] == ',') && digit(text_[end + 1])) {
      ++end;
      const std::size_t decimals = end;
      while (end < text_.size() && digit(text_[end])) ++end;
      if (end - decimals > 9) return std::nullopt;
    }
    std::string plain(text_.substr(minus ? figures : at_, end - (minus ? figures : at_)));
    if (minus) plain.insert(plain.begin(), '-');
    std::replace(plain.begin(), plain.end(), ',', '.');
    const auto value = parse_number(plain, false);
    if (value) at_ = end;
    return value;
  }
  // Text in double quotes; empty optional when none stands here or it is not closed.
  std::optional<std::string> in_quotes() {
    skip_blanks();
    if (at_ >= text_.size() || text_[at_] != '"') return std::nullopt;
    std::string out;
    for (std::size_t i = at_ + 1; i < text_.size(); ++i) {
      if (text_[i] != '"') {
        out += text_[i];
      } else if (i + 1 < text_.size() && text_[i + 1] == '"') {
        out += '"';
        ++i;
      } else {
        at_ = i + 1;
        return out;
      }
    }
    return std::nullopt;
  }
  // What stands between here and the next blank is a word stuck to a number: "8left".
  bool stuck() const { return at_ < text_.size() && (letter(text_[at_]) || digit(text_[at_])); }

 private:
  std::string_view text_;
  std::size_t at_;
};

class Reading {
 public:
  Reading(std::string_view text, Unit unit) : text_(text), unit_(unit) {}

  SessionLine run() {
    if (text_.size() > kLongestSessionLine) {
      out_.faults.push_back({kLongestSessionLine, "at most 100000 characters"});
      return std::move(out_);
    }
    if (const std::size_t bad = first_invalid_utf8(text_); bad != std::string_view::npos) {
      out_.faults.push_back({bad, "text in UTF-8"});
      return std::move(out_);
    }
    std::size_t begin = 0;
    bool quoted = false;
    for (std::size_t i = 0; i <= text_.size(); ++i) {
      if (i < text_.size()) {
        if (text_[i] == '"') quoted = !quoted;
        if (quoted ? text_[i] != '\n' : text_[i] != ';' && text_[i] != '\n') continue;
        quoted = false;
      }
      piece(begin, i);
      if (out_.sets.size() > kMostSetsInLine) {
        out_.faults.push_back({begin, "at most 500 sets"});
        break;
      }
      begin = i + 1;
    }
    end_exercise();
    if (out_.sets.empty() && out_.faults.empty())
      out_.faults.push_back({text_.size(), "a set such as: bench press: 100 kg x 8 left 2"});
    return std::move(out_);
  }

 private:
  bool fault(std::size_t at, std::string expected) {
    out_.faults.push_back({at, std::move(expected)});
    return false;
  }

  void end_exercise() {
    for (std::size_t i = first_; i < out_.sets.size(); ++i) {
      if (i > first_ && rest_ && !out_.sets[i].set.rest_s) out_.sets[i].set.rest_s = rest_;
    }
    first_ = out_.sets.size();
    rest_.reset();
    load_.reset();
    side_ = Side::both;
  }

  void piece(std::size_t begin, std::size_t end) {
    // A colon before the first quote, and not inside a time such as 3:00, begins an exercise.
    std::size_t colon = begin;
    while (colon < end && text_[colon] != '"' &&
           !(text_[colon] == ':' &&
             !(colon > begin && digit(text_[colon - 1]) && colon + 1 < end && digit(text_[colon + 1])))) {
      ++colon;
    }
    if (colon < end && text_[colon] == ':') {
      end_exercise();
      std::size_t from = begin, to = colon;
      while (from < to && blank(text_[from])) ++from;
      while (to > from && blank(text_[to - 1])) --to;
      exercise_ = std::string(text_.substr(from, to - from));
      exercise_at_ = from;
      if (exercise_.empty()) {
        fault(colon, "the name of an exercise before the colon");
        return;
      }
      // ", left side" after the name holds for the exercise.
      const std::size_t comma = exercise_.rfind(',');
      if (comma != std::string::npos) {
        const std::string after = lower_case(trimmed(std::string_view(exercise_).substr(comma + 1)));
        const bool left = after == "left side", right = after == "right side";
        if (left || right) {
          side_ = left ? Side::left : Side::right;
          exercise_ = std::string(trimmed(std::string_view(exercise_).substr(0, comma)));
        }
      }
      begin = colon + 1;
    }
    Piece in(text_, begin, end);
    if (in.at_end()) return;
    if (exercise_.empty()) {
      fault(in.at(), "the name of an exercise and a colon before the first set");
      return;
    }
    // A rest of its own.
    if (in.word() == "rest") {
      Piece probe = in;
      probe.take("rest");
      const auto seconds = rest(probe);
      if (!seconds) return;
      if (probe.at_end()) {
        rest_ = seconds;
        return;
      }
      fault(probe.at(), "the end of the piece after a rest (a semicolon)");
      return;
    }
    set(in);
  }

  // "180 s", "3 min", "3:00".
  std::optional<double> rest(Piece& in) {
    in.skip_blanks();
    const std::size_t at = in.at();
    const auto number = in.number();
    std::optional<double> seconds;
    if (number && in.sign(':')) {
      const std::size_t before = in.at();
      const auto rest = in.number();
      if (rest && in.at() == before + 2 && *rest < 60 && *number == std::floor(*number)) seconds = *number * 60 + *rest;
    } else if (number) {
      if (in.take("s") || in.take("sec") || in.take("seconds")) {
        seconds = *number;
      } else if (in.take("min") || in.take("minutes") || in.take("minute")) {
        seconds = *number * 60;
      } else {
        fault(in.at(), "s or min after the rest");
        return std::nullopt;
      }
    }
    if (!seconds || *seconds > 24 * 3600) {
      fault(at, "a rest such as 180 s, 3 min or 3:00");
      return std::nullopt;
    }
    return seconds;
  }

  void set(Piece in) {
    LineSet line;
    line.exercise = exercise_;
    line.exercise_at = exercise_at_;
    line.at = in.at();
    SetRecord& set = line.set;
    set.side = side_;
    if (in.take("warmup")) set.kind = SetKind::warmup;
    if (in.take("test")) set.kind = SetKind::test;
    in.skip_blanks();
    const std::size_t load_at = in.at();
    std::optional<Load> load = load_;
    if (!in.times()) {
      const auto amount = in.number(true);
      if (!amount) {
        fault(load_at, "a load such as 100 kg, or x to carry the last load on");
        return;
      }
      load = Load{*amount, unit_};
      if (const std::string word = in.word(); !word.empty() && word != "x") {
        const auto unit = parse_unit(word);
        if (!unit) {
          fault(in.at(), "kg, lb or mark, and then x");
          return;
        }
        load->unit = *unit;
        in.take(word);
      }
      if (!in.times()) {
        fault(in.at(), "x between load and reps");
        return;
      }
    } else if (!load) {
      fault(load_at, "a load before x: there is no set of this exercise before it");
      return;
    }
    set.load = *load;
    load_ = load;  // carries on also where the rest cannot be read
    in.skip_blanks();
    const std::size_t reps_at = in.at();
    const auto reps = in.number();
    if (!reps || *reps != std::floor(*reps) || *reps > 500) {
      fault(reps_at, "a whole number of reps after x, up to 500");
      return;
    }
    set.reps = static_cast<int>(*reps);
    while (!in.at_end()) {
      const std::size_t at = in.at();
      if (in.take("reps") || in.take("rep")) continue;
      if (in.take("left")) {
        if (in.take("side")) {
          set.side = Side::left;
          continue;
        }
        in.skip_blanks();
        const std::size_t number_at = in.at();
        const auto left = in.number();
        std::optional<Call> call;
        if (left) {
          const bool open = in.sign('+');
          call = parse_call(number_text(*left) + (open ? "+" : ""));
        }
        if (!call) {
          fault(number_at, "how many were left: 0 to 10 in halves, or 5+ (or \"left side\")");
          return;
        }
        if (set.called) {
          fault(at, "\"left\" only once a set");
          return;
        }
        set.called = call;
        continue;
      }
      if (in.take("right")) {
        if (!in.take("side")) {
          fault(in.at(), "\"side\" after \"right\"");
          return;
        }
        set.side = Side::right;
        continue;
      }
      if (in.take("both")) {
        if (!in.take("sides")) {
          fault(in.at(), "\"sides\" after \"both\"");
          return;
        }
        set.side = Side::both;
        continue;
      }
      if (in.take("failed")) {
        set.failed = true;
        continue;
      }
      if (in.take("pain")) {
        set.pain = true;
        continue;
      }
      if (in.take("warmup")) {
        set.kind = SetKind::warmup;
        continue;
      }
      if (in.take("test")) {
        set.kind = SetKind::test;
        continue;
      }
      if (in.take("rest")) {
        set.rest_s = rest(in);
        if (!set.rest_s) return;
        continue;
      }
      if (in.take("note")) {
        in.skip_blanks();
        const std::size_t quote_at = in.at();
        auto note = in.in_quotes();
        if (!note) {
          fault(quote_at, "a text in double quotes after \"note\"");
          return;
        }
        set.note = std::move(*note);
        continue;
      }
      fault(at, "left, failed, rest, pain, left side, right side, warmup, test, note, or a semicolon");
      return;
    }
    if (set.failed && set.called && set.called->reserve > 0) {
      fault(line.at, "either \"failed\" or some left, not both");
      return;
    }
    side_ = set.side;
    out_.sets.push_back(std::move(line));
  }

  std::string_view text_;
  Unit unit_;
  SessionLine out_;
  std::string exercise_;
  std::size_t exercise_at_ = 0;
  std::size_t first_ = 0;  // first set of the exercise
  std::optional<Load> load_;
  std::optional<double> rest_;
  Side side_ = Side::both;
};

// How many characters, not bytes.
std::size_t letters(std::string_view text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

}  // namespace

SessionLine parse_session_line(std::string_view text, Unit unit) { return Reading(text, unit).run(); }

std::string fault_picture(std::string_view text, const LineFault& fault, std::size_t width) {
  const std::size_t at = std::min(fault.at, text.size());
  const std::size_t before = at == 0 ? std::string_view::npos : text.rfind('\n', at - 1);
  std::size_t begin = before == std::string_view::npos ? 0 : before + 1;
  std::size_t end = std::min(text.find('\n', at), text.size());
  const auto is_inside = [&](std::size_t i) {
    return i < text.size() && (static_cast<unsigned char>(text[i]) & 0xC0) == 0x80;
  };
  bool cut_before = false, cut_after = false;
  // The caret must be seen: keep two thirds before it and one third behind.
  if (letters(text.substr(begin, end - begin)) > width) {
    while (letters(text.substr(begin, at - begin)) > width * 2 / 3) {
      ++begin;
      while (is_inside(begin)) ++begin;
      cut_before = true;
    }
    while (letters(text.substr(begin, end - begin)) + 6 > width && end > at) {
      --end;
      while (is_inside(end)) --end;
      cut_after = true;
    }
  }
  std::string shown = cut_before ? "..." : "";
  const std::size_t caret = shown.size() + letters(text.substr(begin, at - begin));
  shown += printable(text.substr(begin, end - begin), 4000);
  if (cut_after) shown += "...";
  return shown + "\n" + std::string(caret, ' ') + "^ " + fault.expected;
}

std::string session_line_text(const std::vector<LineSet>& sets) {
  std::string out;
  const LineSet* before = nullptr;
  for (const LineSet& line : sets) {
    if (before == nullptr || before->exercise != line.exercise) {
      out += (out.empty() ? "" : "; ") + line.exercise + ": ";
      before = nullptr;
    } else {
      out += "; ";
    }
    const SetRecord& set = line.set;
    if (set.kind != SetKind::work) out += std::string(kind_name(set.kind)) + " ";
    out +=
        number_text(set.load.amount) + " " + std::string(unit_name(set.load.unit)) + " x " + std::to_string(set.reps);
    const Side carried = before != nullptr ? before->set.side : Side::both;
    if (set.side != carried)
      out += set.side == Side::both ? " both sides" : set.side == Side::left ? " left side" : " right side";
    if (set.called) out += " left " + call_text(*set.called);
    if (set.failed) out += " failed";
    if (set.pain) out += " pain";
    if (set.rest_s) out += " rest " + number_text(*set.rest_s) + " s";
    if (!set.note.empty()) {
      out += " note \"";
      for (const char c : set.note) out += c == '"' ? "\"\"" : c == '\n' ? " " : std::string(1, c);
      out += '"';
    }
    before = &line;
  }
  return out;
}

}  // namespace ullage::interchange
