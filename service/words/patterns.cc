#include "service/words/patterns.h"

#include <algorithm>
#include <array>
#include <cstdlib>

namespace ullage::words {
namespace {

constexpr std::size_t kLongest = 4000;
constexpr int kMostSteps = 20000;  // of one pattern against one text

bool digit(char c) { return c >= '0' && c <= '9'; }
bool letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool of_word(char c) { return letter(c) || digit(c) || c == '_'; }
bool inside_a_letter(std::string_view text, std::size_t at) {
  return at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0U) == 0x80U;
}

constexpr std::array<std::string_view, 7> kWeekdays = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
constexpr std::string_view kMinus = "\u2212";

bool weekday_at(std::string_view text, std::size_t at) {
  return std::find(kWeekdays.begin(), kWeekdays.end(), text.substr(std::min(at, text.size()), 3)) != kWeekdays.end();
}
std::size_t digits_at(std::string_view text, std::size_t at) {
  std::size_t end = at;
  while (end < text.size() && digit(text[end])) ++end;
  return end - at;
}

// Where a number that begins at `at` may end, the longest first: [-+−]digits[.digits][e[-+]digits].
std::vector<std::size_t> number_ends(std::string_view text, std::size_t at) {
  std::size_t begin = at;
  if (begin < text.size() && (text[begin] == '-' || text[begin] == '+')) {
    ++begin;
  } else if (text.substr(std::min(begin, text.size()), kMinus.size()) == kMinus) {
    begin += kMinus.size();
  }
  std::vector<std::size_t> ends;  // shortest first
  const auto exponent = [&](std::size_t from) {
    if (from >= text.size() || text[from] != 'e') return;
    const std::size_t sign =
        from + 1 < text.size() && (text[from + 1] == '-' || text[from + 1] == '+') ? from + 2 : from + 1;
    for (std::size_t n = 1; n <= digits_at(text, sign); ++n) ends.push_back(sign + n);
  };
  const std::size_t whole = digits_at(text, begin);
  for (std::size_t n = 1; n <= whole; ++n) ends.push_back(begin + n);
  if (whole > 0) {
    exponent(begin + whole);
    const std::size_t point = begin + whole;
    if (point < text.size() && text[point] == '.') {
      const std::size_t after = digits_at(text, point + 1);
      for (std::size_t n = 1; n <= after; ++n) ends.push_back(point + 1 + n);
      if (after > 0) exponent(point + 1 + after);
    }
  }
  std::sort(ends.rbegin(), ends.rend());
  return ends;
}

std::vector<std::size_t> share_ends(std::string_view text, std::size_t at) {
  std::size_t begin = at;
  for (const std::string_view word : {"under ", "over "}) {
    if (text.substr(std::min(at, text.size()), word.size()) == word) begin = at + word.size();
  }
  std::vector<std::size_t> ends;
  for (const std::size_t end : number_ends(text, begin)) {
    if (digit(text[begin]) && text.substr(end, 2) == " %") ends.push_back(end + 2);
  }
  return ends;
}

// "2026-03-09"
std::vector<std::size_t> day_ends(std::string_view text, std::size_t at) {
  if (text.size() < at + 10) return {};
  const std::string_view day = text.substr(at, 10);
  for (std::size_t i = 0; i < day.size(); ++i) {
    if (i == 4 || i == 7 ? day[i] != '-' : !digit(day[i])) return {};
  }
  return {at + 10};
}

// "Mon 9 Mar 2026"
std::vector<std::size_t> paper_day_ends(std::string_view text, std::size_t at) {
  if (!weekday_at(text, at)) return {};
  std::size_t end = at + 3;
  const auto space = [&] { return end < text.size() && text[end++] == ' '; };
  if (!space()) return {};
  const std::size_t days = digits_at(text, end);
  if (days < 1 || days > 2) return {};
  end += days;
  if (!space() || text.size() < end + 8 ||
      !std::all_of(text.begin() + static_cast<std::ptrdiff_t>(end), text.begin() + static_cast<std::ptrdiff_t>(end) + 3,
                   letter))
    return {};
  end += 3;
  if (!space() || digits_at(text, end) < 4) return {};
  return {end + 4};
}

// A text that may be said by itself, not a name.
bool sentence(std::string_view text) {
  static constexpr std::array<std::string_view, 19> kWords = {"is",   "are",  "was", "were", "the", "what", "of",
                                                              "to",   "it",   "and", "or",   "no",  "not",  "for",
                                                              "this", "that", "at",  "by",   "with"};
  std::string word;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    if (i < text.size() && of_word(text[i])) {
      word += letter(text[i]) && text[i] < 'a' ? static_cast<char>(text[i] - 'A' + 'a') : text[i];
    } else {
      if (std::find(kWords.begin(), kWords.end(), word) != kWords.end()) return true;
      word.clear();
    }
  }
  return false;
}

std::string with_word(std::string text, const std::string& from, const std::string& to) {
  for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + 1)) {
    const std::size_t end = at + from.size();
    if ((at > 0 && of_word(text[at - 1])) || (end < text.size() && of_word(text[end]))) continue;
    text.replace(at, from.size(), to);
  }
  return text;
}

}  // namespace

Patterns::Patterns(const std::vector<Pair>& pairs, Writing writing) : writing_(std::move(writing)) {
  patterns_.reserve(pairs.size());
  for (const Pair& pair : pairs) {
    if (pair.first.empty()) continue;
    patterns_.push_back(compiled(pair));
    patterns_.back().place = patterns_.size();
  }
  std::sort(patterns_.begin(), patterns_.end(), [](const Pattern& a, const Pattern& b) {
    return a.weight != b.weight ? a.weight > b.weight : a.place < b.place;
  });
}

Patterns::Pattern Patterns::compiled(const Pair& pair) {
  Pattern out;
  std::vector<std::string> names;
  const auto pieces = [&](const std::string& text, bool english) {
    std::vector<Piece> list;
    std::string fixed;
    const auto close = [&] {
      if (!fixed.empty()) list.push_back({Piece::Kind::fixed, fixed, "", 0, 0, false});
      fixed.clear();
    };
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = text[at] == '{' ? text.find('}', at) : std::string::npos;
      if (end == std::string::npos || end == at + 1 || text[at + 1] < 'a' || text[at + 1] > 'z') {
        if (english && text.compare(at, 3, "(s)") == 0) {
          close();
          list.push_back({Piece::Kind::maybe_s, "", "", 0, 0, false});
          at += 3;
        } else {
          fixed += text[at++];
        }
        continue;
      }
      const std::string place = text.substr(at + 1, end - at - 1);
      const std::size_t colon = place.find(':'), bar = place.find('|');
      const std::string name = place.substr(0, colon);
      auto known = std::find(names.begin(), names.end(), name);
      if (known == names.end() && !english) {  // no place of the sentence: left as it stands
        fixed += text[at++];
        continue;
      }
      close();
      if (known == names.end()) {
        names.push_back(name);
        out.kinds.push_back(name[0]);
        known = names.end() - 1;
      }
      Piece piece{Piece::Kind::place, "", "", name[0], static_cast<std::size_t>(known - names.begin()), false};
      if (colon != std::string::npos && bar != std::string::npos && bar > colon) {
        piece.by_number = true;
        piece.text = place.substr(colon + 1, bar - colon - 1);
        piece.more = place.substr(bar + 1);
      }
      list.push_back(piece);
      at = end + 1;
    }
    close();
    return list;
  };
  out.english = pieces(pair.first, true);
  for (const Piece& piece : out.english) {
    out.weight += piece.kind == Piece::Kind::fixed ? piece.text.size() : piece.kind == Piece::Kind::maybe_s ? 3 : 0;
  }
  out.other = pieces(pair.second, false);
  out.names = names.size();
  return out;
}

bool Patterns::fits(const Pattern& pattern, std::size_t piece, std::string_view text, std::size_t at, bool greedy,
                    Captures& found, int& steps) {
  if (++steps > kMostSteps) return false;
  for (; piece < pattern.english.size(); ++piece) {
    const Piece& p = pattern.english[piece];
    if (p.kind == Piece::Kind::fixed) {
      if (text.compare(at, p.text.size(), p.text) != 0) return false;
      at += p.text.size();
      continue;
    }
    if (p.kind == Piece::Kind::maybe_s) {
      return (at < text.size() && text[at] == 's' && fits(pattern, piece + 1, text, at + 1, greedy, found, steps)) ||
             fits(pattern, piece + 1, text, at, greedy, found, steps);
    }
    if (found[p.name].data() != nullptr) {
      const std::string_view again = found[p.name];
      if (text.compare(at, again.size(), again) != 0) return false;
      at += again.size();
      continue;
    }
    const auto on_from = [&](std::size_t end) {
      found[p.name] = text.substr(at, end - at);
      if (fits(pattern, piece + 1, text, end, greedy, found, steps)) return true;
      found[p.name] = {};
      return false;
    };
    std::vector<std::size_t> ends;
    switch (p.what) {
      case 'n': ends = number_ends(text, at); break;
      case 'p': ends = share_ends(text, at); break;
      case 'd': ends = day_ends(text, at); break;
      case 'g': ends = paper_day_ends(text, at); break;
      case 'w':
        if (weekday_at(text, at)) ends = {at + 3};
        break;
      case 'f': {
        std::size_t end = at;
        const auto goes_on = [&] {
          const char c = text[end];
          return (c >= 'a' && c <= 'z') || (end > at && (digit(c) || c == '_' || c == '.'));
        };
        while (end < text.size() && goes_on()) ends.push_back(++end);
        std::reverse(ends.begin(), ends.end());
        break;
      }
      default: {
        std::size_t stop = text.size();
        if (p.what == 'k') stop = std::min(stop, text.find(':', at));
        const bool last = piece + 1 == pattern.english.size();
        const Piece* next = last ? nullptr : &pattern.english[piece + 1];
        for (std::size_t end = at + 1; end <= stop; ++end) {
          if (inside_a_letter(text, end) || (last && end != text.size())) continue;
          if (next != nullptr && next->kind == Piece::Kind::fixed) {
            end = text.find(next->text, end);
            if (end > stop) break;
          }
          ends.push_back(end);
        }
        if (greedy && p.what != 'k') std::reverse(ends.begin(), ends.end());
      }
    }
    return std::any_of(ends.begin(), ends.end(), on_from);
  }
  return at == text.size();
}

std::string Patterns::quantity(std::string_view text) const {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool before = i > 0 && digit(text[i - 1]), after = i + 1 < text.size() && digit(text[i + 1]);
    if (text[i] == '.' && before && after) {
      out += writing_.decimal;
    } else if (text[i] == '-' && after && (i == 0 || text[i - 1] == ' ' || text[i - 1] == '(')) {
      out += kMinus;
    } else {
      out += text[i];
    }
  }
  for (const auto& [from, to] : writing_.words) out = with_word(std::move(out), from, to);
  return out;
}

std::optional<std::string> Patterns::part(char kind, std::string_view value, Known& known) const {
  switch (kind) {
    case 'n': {
      std::string out(value);
      if (out[0] == '-') out.replace(0, 1, kMinus);
      if (const std::size_t point = out.find('.'); point != std::string::npos) out[point] = writing_.decimal;
      return out;
    }
    case 'p':
    case 'q': return quantity(value);
    case 'd': return writing_.day(value);
    case 'g': {
      const auto name = part('w', value.substr(0, 3), known);
      if (!name) return std::nullopt;
      return *name + " " + writing_.paper_day(value.substr(4));
    }
    case 'w':
    case 'm': {
      const auto& names = kind == 'w' ? writing_.weekdays : writing_.muscles;
      const auto found = names.find(value);
      if (found == names.end()) return std::nullopt;
      return found->second;
    }
    case 't': return say(value, known);
    case 'y': {
      auto said = say(value, known);
      return said ? std::move(said) : std::string(value);
    }
    case 'c': {
      std::string out;
      for (std::size_t at = 0;;) {
        const std::size_t end = std::min(value.find(", ", at), value.size());
        const std::string_view one = value.substr(at, end - at);
        out += (at == 0 ? "" : ", ") + say(one, known).value_or(std::string(one));
        if (end == value.size()) return out;
        at = end + 2;
      }
    }
    case 'o':
      if (sentence(value)) return std::nullopt;
      return std::string(value);
    default: return std::string(value);
  }
}

std::optional<std::string> Patterns::filled(const Pattern& pattern, const Captures& found, Known& known) const {
  std::vector<std::string> values;
  for (std::size_t i = 0; i < pattern.names; ++i) {
    auto value = part(pattern.kinds[i], found[i], known);
    if (!value) return std::nullopt;
    values.push_back(std::move(*value));
  }
  std::string out;
  for (const Piece& piece : pattern.other) {
    if (piece.kind == Piece::Kind::fixed) {
      out += piece.text;
    } else if (piece.by_number) {
      std::string number(found[piece.name]);
      if (number.compare(0, kMinus.size(), kMinus) == 0) number.replace(0, kMinus.size(), "-");
      const double value = std::strtod(number.c_str(), nullptr);
      out += value == 1 || value == -1 ? piece.text : piece.more;
    } else {
      out += values[piece.name];
    }
  }
  return out;
}

std::optional<std::string> Patterns::by_pattern(std::string_view text, Known& known) const {
  for (const Pattern& pattern : patterns_) {
    const Piece& first = pattern.english.front();
    if (first.kind == Piece::Kind::fixed && text.compare(0, first.text.size(), first.text) != 0) continue;
    const Piece& last = pattern.english.back();
    if (last.kind == Piece::Kind::fixed &&
        (text.size() < last.text.size() || text.substr(text.size() - last.text.size()) != last.text))
      continue;
    // Where a place could end sooner or later ("start of the session of Ada"): sooner first, then later.
    for (const bool greedy : {false, true}) {
      Captures found(pattern.names);
      int steps = 0;
      if (!fits(pattern, 0, text, 0, greedy, found, steps)) break;
      if (auto out = filled(pattern, found, known)) return out;
    }
  }
  return std::nullopt;
}

std::optional<std::string> Patterns::in_parts(std::string_view text, Known& known) const {
  const auto sentence_end = [&](std::size_t at) {  // of the space at `at`
    const char before = text[at - 1], after = text[at + 1];
    return (before == '.' || before == '!' || before == '?') &&
           (after == '"' || after == '\'' || digit(after) || (after >= 'A' && after <= 'Z'));
  };
  for (const int way : {0, 1, 2}) {
    const std::string_view glue = way == 0 ? "\n" : way == 1 ? " " : "; ";
    std::string out;
    std::size_t begin = 0, parts = 0;
    bool said = true;
    for (std::size_t at = 0; said && at <= text.size(); ++at) {
      const bool end = at == text.size();
      const bool here = !end && text.compare(at, glue.size(), glue) == 0 &&
                        (way != 1 || (at > 0 && at + 1 < text.size() && sentence_end(at)));
      if (!here && !(end && parts > 0)) continue;
      const auto part = say(text.substr(begin, at - begin), known);
      said = part.has_value();
      if (said) out.append(parts++ == 0 ? "" : glue).append(*part);
      begin = at + glue.size();
      at = end ? at : begin - 1;
    }
    if (said && parts > 1) return out;
  }
  return std::nullopt;
}

std::optional<std::string> Patterns::say(std::string_view text) const {
  Known known;
  return say(text, known);
}

std::optional<std::string> Patterns::say(std::string_view text, Known& known) const {
  const bool blank = std::all_of(text.begin(), text.end(), [](char c) { return c == ' ' || c == '\n' || c == '\t'; });
  if (blank || text.size() > kLongest) return std::nullopt;
  const auto [place, is_new] = known.try_emplace(text);  // a text is never said by way of itself
  if (!is_new) return place->second;
  std::optional<std::string> out = in_parts(text, known);
  if (!out) out = by_pattern(text, known);
  return known[text] = std::move(out);
}

}  // namespace ullage::words
