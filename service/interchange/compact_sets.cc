#include "service/interchange/compact_sets.h"

#include <algorithm>

#include "engine/base/units.h"
#include "service/interchange/cell_text.h"

namespace ullage::interchange {
namespace {

// A cell "5x100" is not taken for a load of 5: at most this first, at least that second (assumption).
constexpr int kFewest = 12;
constexpr int kMostLikelyReps = 40;
constexpr std::string_view kTimes = "\xC3\x97";  // ×

bool digit(char c) { return c >= '0' && c <= '9'; }
bool letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

// Takes one set apart from left to right.
class SetText {
 public:
  SetText(std::string_view text, std::size_t at, bool decimal_comma) : text_(text), start_(at), comma_(decimal_comma) {}

  void skip_blanks() {
    while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '\t' || text_.substr(at_, 2) == "\xC2\xA0")) {
      at_ += text_[at_] == ' ' || text_[at_] == '\t' ? 1 : 2;
    }
  }
  bool at_end() {
    skip_blanks();
    return at_ >= text_.size();
  }
  std::size_t place() const { return start_ + at_; }
  std::string rest() const { return std::string(trimmed(text_.substr(at_))); }

  // A number as it is written, signs included; empty when none stands here.
  std::string number() {
    skip_blanks();
    std::size_t i = at_;
    if (i < text_.size() && (text_[i] == '-' || text_[i] == '+')) ++i;
    const std::size_t first = i;
    while (i < text_.size() &&
           (digit(text_[i]) || (text_[i] == (comma_ ? ',' : '.') && i + 1 < text_.size() && digit(text_[i + 1])))) {
      ++i;
    }
    if (i == first) return "";
    std::string out(text_.substr(at_, i - at_));
    at_ = i;
    return out;
  }
  // The word that stands here, in lower case, and behind it.
  std::string word() {
    skip_blanks();
    std::size_t i = at_;
    while (i < text_.size() && letter(text_[i])) ++i;
    return lower_case(text_.substr(at_, i - at_));
  }
  void pass(std::size_t size) { at_ += size; }
  bool sign(std::string_view what) {
    skip_blanks();
    if (text_.substr(at_, what.size()) != what) return false;
    at_ += what.size();
    return true;
  }
  // The multiplication sign between numbers.
  bool times() {
    skip_blanks();
    if (sign(kTimes) || sign("*")) return true;
    if (at_ < text_.size() && (text_[at_] == 'x' || text_[at_] == 'X') &&
        (at_ + 1 == text_.size() || !letter(text_[at_ + 1]))) {
      ++at_;
      return true;
    }
    return false;
  }
  std::string in_brackets() {
    skip_blanks();
    if (at_ >= text_.size() || text_[at_] != '(') return "";
    const std::size_t end = std::min(text_.find(')', at_), text_.size());
    std::string out(trimmed(text_.substr(at_ + 1, end - at_ - 1)));
    at_ = std::min(end + 1, text_.size());
    return out;
  }

 private:
  std::string_view text_;
  std::size_t start_;
  std::size_t at_ = 0;
  bool comma_;
};

std::optional<CompactFault> parse_one(std::string_view text, std::size_t at, const CompactForm& form,
                                      bool decimal_comma, const std::string& load_before,
                                      std::vector<CompactSet>& sets) {
  SetText in(text, at, decimal_comma);
  CompactSet set;
  set.at = at;
  set.text = trimmed(text);
  const auto fault = [&](std::string expected) {
    std::string found = in.rest();
    if (found.empty()) found = set.text;
    return CompactFault{in.place(), std::move(found), std::move(expected)};
  };
  struct Number {
    std::string text;
    bool with_unit = false;
  };
  std::vector<Number> numbers;
  do {
    Number next;
    const std::string word = in.word();
    if (word == "bw") {
      in.pass(2);
      next.text = in.number();
      if (next.text.empty()) next.text = "0";
      next.with_unit = true;
    } else {
      next.text = in.number();
      if (next.text.empty()) return fault(numbers.empty() ? "a set such as 100x8" : "a number after x");
    }
    std::string unit = in.word();
    // "80kgx12": the sign between the numbers may follow at once.
    if (unit.size() > 1 && unit.back() == 'x' && !parse_unit(unit)) unit.pop_back();
    if (!unit.empty() && parse_unit(unit)) {
      in.pass(unit.size());
      next.text += " " + unit;
      next.with_unit = true;
    }
    numbers.push_back(std::move(next));
    if (numbers.size() > 3) return fault("at most three numbers with x between");
  } while (in.times());

  int count = 1;
  const bool named_load = std::any_of(numbers.begin(), numbers.end(), [](const Number& n) { return n.with_unit; });
  if (numbers.size() == 1 && !named_load) {
    set.reps = numbers[0].text;
    set.load = load_before;
  } else if (numbers.size() == form.order.size()) {
    bool has_load = false;
    for (std::size_t i = 0; i < numbers.size(); ++i) {
      switch (form.order[i]) {
        case SetPart::load:
          set.load = numbers[i].text;
          has_load = true;
          break;
        case SetPart::reps: set.reps = numbers[i].text; break;
        case SetPart::sets: {
          const auto whole = parse_whole(numbers[i].text, decimal_comma);
          if (!whole || *whole < 1 || *whole > static_cast<int>(kMostSetsInCell)) {
            return CompactFault{at, numbers[i].text, "a number of sets from 1 to 50"};
          }
          count = *whole;
          break;
        }
      }
      if (form.order[i] != SetPart::load && numbers[i].with_unit) {
        return CompactFault{at, set.text, "written as " + set_order_text(form.order)};
      }
    }
    if (!has_load) set.load = load_before;
    // "5x100": more likely five sets or reps at 100 than a hundred reps at 5. With its unit it is what it says.
    const auto first = parse_whole(numbers[0].text, decimal_comma);
    const auto second = numbers.size() > 1 ? parse_whole(numbers[1].text, decimal_comma) : std::nullopt;
    if (form.order == std::vector<SetPart>{SetPart::load, SetPart::reps} && !named_load && first && second &&
        *first <= kFewest && *second >= kMostLikelyReps) {
      return CompactFault{at, set.text, "written as " + set_order_text(form.order)};
    }
  } else {
    return CompactFault{at, set.text, "written as " + set_order_text(form.order)};
  }

  while (!in.at_end()) {
    if (const std::string note = in.in_brackets(); !note.empty()) {
      set.note += (set.note.empty() ? "" : "; ") + note;
      continue;
    }
    const std::string word = in.word();
    if (word == "f" || word == "fail" || word == "failed") {
      in.pass(word.size());
      set.failed = true;
      continue;
    }
    if (word == "reps" || word == "rep" || word == "r") {
      in.pass(word.size());
      continue;
    }
    const bool said = word == "rpe" || word == "rir";
    if (said) in.pass(3);
    const bool sign = in.sign("@");
    if (!said && !sign) return fault("the end of a set (effort stands after @, a note in brackets)");
    const std::string after = in.word();
    const bool said_after = after == "rpe" || after == "rir";
    if (said_after) in.pass(3);
    if (!set.effort.empty()) return fault("one effort a set");
    set.effort = in.number();
    if (set.effort.empty()) return fault("a number");
    std::string unit = said ? word : said_after ? after : in.word();
    if (!said && !said_after && (unit == "rpe" || unit == "rir")) in.pass(3);
    if (unit != "rpe" && unit != "rir") {
      if (form.effort == CompactForm::Effort::not_said) {
        return CompactFault{at, set.text,
                            "clear: say in the mapping whether the number after @ is RPE or reserve (effort)"};
      }
      unit = form.effort == CompactForm::Effort::rpe ? "rpe" : "rir";
    }
    set.effort_is_rpe = unit == "rpe";
  }
  for (int i = 0; i < count; ++i) sets.push_back(set);
  return std::nullopt;
}

}  // namespace

std::optional<CompactFault> parse_compact(std::string_view cell, const CompactForm& form, bool decimal_comma,
                                          std::vector<CompactSet>& sets) {
  std::string load_before;
  const std::size_t before = sets.size();
  std::size_t begin = 0;
  int brackets = 0;
  for (std::size_t i = 0; i <= cell.size(); ++i) {
    if (i < cell.size()) {
      const char c = cell[i];
      brackets += c == '(' ? 1 : c == ')' && brackets > 0 ? -1 : 0;
      const bool comma = c == ',' && (!decimal_comma || i + 1 == cell.size() || cell[i + 1] == ' ');
      if (brackets > 0 || !(comma || c == ';' || c == '/' || c == '|' || c == '\n' || c == '\r')) continue;
    }
    const std::string_view piece = cell.substr(begin, i - begin);
    const std::string_view bare = trimmed(piece);
    if (!bare.empty() && bare != "-" && bare != "\xE2\x80\x93" && bare != "\xE2\x80\x94") {
      if (auto fault = parse_one(piece, begin, form, decimal_comma, load_before, sets)) return fault;
      if (sets.size() - before > kMostSetsInCell)
        return CompactFault{begin, std::string(bare), "within the 50 sets a cell may hold"};
      load_before = sets.back().load;
    }
    begin = i + 1;
  }
  return std::nullopt;
}

std::optional<std::vector<SetPart>> parse_set_order(std::string_view text) {
  std::vector<SetPart> order;
  std::size_t at = 0;
  const std::string lower = lower_case(text);
  while (at <= lower.size()) {
    const std::size_t end = std::min(lower.find(" x ", at), lower.size());
    const std::string_view part = std::string_view(lower).substr(at, end - at);
    SetPart next{};
    if (part == "load") {
      next = SetPart::load;
    } else if (part == "reps") {
      next = SetPart::reps;
    } else if (part == "sets") {
      next = SetPart::sets;
    } else {
      return std::nullopt;
    }
    if (std::find(order.begin(), order.end(), next) != order.end()) return std::nullopt;
    order.push_back(next);
    at = end + 3;
  }
  const bool reps = std::find(order.begin(), order.end(), SetPart::reps) != order.end();
  if (!reps || order.size() < 2) return std::nullopt;
  return order;
}

std::string set_order_text(const std::vector<SetPart>& order) {
  std::string text;
  for (const SetPart part : order) {
    text += text.empty() ? "" : " x ";
    text += part == SetPart::load ? "load" : part == SetPart::reps ? "reps" : "sets";
  }
  return text;
}

}  // namespace ullage::interchange
