#include "service/interchange/cell_text.h"

#include <charconv>
#include <cmath>
#include <cstdlib>

namespace ullage::interchange {
namespace {

constexpr std::string_view kNoBreakSpace = "\xC2\xA0";
constexpr std::string_view kMinus = "\xE2\x88\x92";  // U+2212

bool digit(char c) { return c >= '0' && c <= '9'; }
bool letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
bool blank(char c) { return c == ' ' || c == '\t'; }

// Reads figures at the front of `text` and takes them off; how many there were.
std::size_t take_figures(std::string_view& text, int& value, std::size_t most) {
  std::size_t count = 0;
  value = 0;
  while (count < most && count < text.size() && digit(text[count])) value = value * 10 + (text[count++] - '0');
  text.remove_prefix(count);
  return count;
}

void append_two(std::string& text, int value) {
  text += static_cast<char>('0' + value / 10);
  text += static_cast<char>('0' + value % 10);
}

bool take(std::string_view& text, char c) {
  if (text.empty() || text.front() != c) return false;
  text.remove_prefix(1);
  return true;
}

std::optional<int> month_number(std::string_view name) {
  static constexpr std::string_view kMonths[] = {"january", "february", "march",     "april",   "may",      "june",
                                                 "july",    "august",   "september", "october", "november", "december"};
  const std::string lower = lower_case(name);
  if (lower.size() < 3) return std::nullopt;
  for (int i = 0; i < 12; ++i) {
    if (kMonths[i].substr(0, lower.size()) == lower || (lower == "sept" && i == 8)) return i + 1;
  }
  return std::nullopt;
}

}  // namespace

std::string_view trimmed(std::string_view text) {
  for (;;) {
    if (!text.empty() && blank(text.front())) {
      text.remove_prefix(1);
    } else if (!text.empty() && blank(text.back())) {
      text.remove_suffix(1);
    } else if (text.substr(0, 2) == kNoBreakSpace) {
      text.remove_prefix(2);
    } else if (text.size() >= 2 && text.substr(text.size() - 2) == kNoBreakSpace) {
      text.remove_suffix(2);
    } else {
      return text;
    }
  }
}

std::string lower_case(std::string_view text) {
  std::string lower(text);
  for (char& c : lower) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return lower;
}

std::optional<double> parse_number(std::string_view text, bool decimal_comma) {
  text = trimmed(text);
  char plain[64];
  std::size_t size = 0;
  if (text.substr(0, kMinus.size()) == kMinus) {
    text.remove_prefix(kMinus.size());
    plain[size++] = '-';
  } else if (!text.empty() && (text.front() == '-' || text.front() == '+')) {
    if (text.front() == '-') plain[size++] = '-';
    text.remove_prefix(1);
  }
  if (text.empty() || text.size() > sizeof plain - 2) return std::nullopt;
  if (!digit(text.front()) && (text.size() < 2 || !digit(text[1]))) return std::nullopt;
  const char point = decimal_comma ? ',' : '.';
  if (!digit(text.front()) && text.front() != point) return std::nullopt;
  for (const char c : text) {
    if (c == point) {
      plain[size++] = '.';
    } else if (digit(c) || c == 'e' || c == 'E' || c == '-' || c == '+') {
      plain[size++] = c;
    } else {
      return std::nullopt;
    }
  }
  double value = 0;
  const auto [end, error] = std::from_chars(plain, plain + size, value);
  if (error != std::errc() || end != plain + size || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::string_view number_expected(std::string_view text, bool decimal_comma) {
  text = trimmed(text);
  bool figures = false;
  bool grouped = true;
  for (const char c : text) {
    figures = figures || digit(c);
    grouped = grouped && (digit(c) || c == '.' || c == ',' || c == '\'' || c == ' ' || c == '-' || c == '+' ||
                          static_cast<unsigned char>(c) >= 0x80);
  }
  if (!figures || !grouped) return "a number";
  return decimal_comma ? "a number with a decimal comma and no thousands separators"
                       : "a number with a decimal point and no thousands separators";
}

std::optional<int> parse_whole(std::string_view text, bool decimal_comma) {
  const auto value = parse_number(text, decimal_comma);
  if (!value || *value != std::floor(*value) || std::fabs(*value) > 1e9) return std::nullopt;
  return static_cast<int>(*value);
}

std::optional<Amount> parse_amount(std::string_view text, bool decimal_comma) {
  text = trimmed(text);
  std::size_t end = text.size();
  while (end > 0 && (letter(text[end - 1]) || text[end - 1] == '.')) --end;
  // A point directly after a figure belongs to the number: "80.", "80.kg" has none such in use.
  if (const auto unit = end < text.size() ? parse_unit(text.substr(end)) : std::nullopt) {
    if (const auto value = parse_number(text.substr(0, end), decimal_comma)) return Amount{*value, unit};
    return std::nullopt;
  }
  if (const auto value = parse_number(text, decimal_comma)) return Amount{*value, std::nullopt};
  return std::nullopt;
}

std::optional<std::string> parse_time(std::string_view text) {
  text = trimmed(text);
  int hour = 0;
  int minute = 0;
  if (take_figures(text, hour, 2) == 0 || !take(text, ':') || take_figures(text, minute, 2) != 2) return std::nullopt;
  std::string seconds;
  if (take(text, ':')) {
    int second = 0;
    if (take_figures(text, second, 2) != 2 || second > 60) return std::nullopt;
    seconds += ':';
    append_two(seconds, second);
    if (!text.empty() && text.front() == '.') {
      std::size_t size = 1;
      while (size < text.size() && digit(text[size])) ++size;
      if (size == 1 || size > 10) return std::nullopt;
      seconds += text.substr(0, size);
      text.remove_prefix(size);
    }
  }
  std::string zone;
  const std::string half = lower_case(trimmed(text));
  if (half == "am" || half == "pm" || half == "a.m." || half == "p.m.") {
    if (hour < 1 || hour > 12) return std::nullopt;
    hour = hour % 12 + (half.front() == 'p' ? 12 : 0);
  } else if (text == "Z" || text == "z") {
    zone += 'Z';
  } else if (!text.empty()) {
    const char sign = text.front();
    int zone_hour = 0;
    int zone_minute = 0;
    if (sign != '+' && sign != '-') return std::nullopt;
    text.remove_prefix(1);
    if (take_figures(text, zone_hour, 2) != 2) return std::nullopt;
    take(text, ':');
    if (!text.empty() && (take_figures(text, zone_minute, 2) != 2 || !text.empty())) return std::nullopt;
    if (zone_hour > 14 || zone_minute > 59) return std::nullopt;
    zone += sign;
    append_two(zone, zone_hour);
    zone += ':';
    append_two(zone, zone_minute);
  }
  if (hour > 23 || minute > 59) return std::nullopt;
  std::string time;
  append_two(time, hour);
  time += ':';
  append_two(time, minute);
  return time + seconds + zone;
}

std::optional<DateParts> split_date(std::string_view text) {
  text = trimmed(text);
  DateParts parts;
  std::size_t figures[3] = {0, 0, 0};
  int named = -1;  // which of the three is a month's name
  char separator = 0;
  for (int i = 0; i < 3; ++i) {
    if (!text.empty() && letter(text.front())) {
      std::size_t size = 0;
      while (size < text.size() && letter(text[size])) ++size;
      const auto month = month_number(text.substr(0, size));
      if (!month || named >= 0) return std::nullopt;
      parts.part[i] = *month;
      named = i;
      text.remove_prefix(size);
    } else {
      figures[i] = take_figures(text, parts.part[i], 4);
      if (figures[i] == 0 || figures[i] == 3) return std::nullopt;
    }
    if (i == 2) break;
    // Figures are parted by one and the same sign; around a month's name blanks, points and commas may stand.
    std::size_t size = 0;
    while (size < text.size() && size < 3 && std::string_view("-/. ,").find(text[size]) != std::string_view::npos) {
      ++size;
    }
    const bool at_name = named >= 0 || (size < text.size() && letter(text[size]));
    if (size == 0 || (!at_name && (size != 1 || text.front() == ' ' || text.front() == ','))) return std::nullopt;
    if (!at_name && separator != 0 && text.front() != separator) return std::nullopt;
    separator = text.front();
    text.remove_prefix(size);
  }
  if (named < 0 && figures[0] == 4) {
    if (figures[1] > 2 || figures[2] > 2) return std::nullopt;
    parts.year_first = true;
  } else if (named < 0) {
    if (figures[1] > 2 || (figures[2] != 4 && figures[2] != 2)) return std::nullopt;
    parts.short_year = figures[2] == 2;
  } else {
    // 9 Mar 2026, Mar 9 2026, 2026 Mar 9.
    int year = 2;
    if (figures[0] == 4) year = 0;
    const int day = 3 - year - named;
    if (named == year || day == named || day == year || day < 0 || day > 2 || figures[day] > 2) return std::nullopt;
    parts.short_year = figures[year] == 2;
    if (figures[year] != 4 && !parts.short_year) return std::nullopt;
    const int ordered[3] = {parts.part[year], parts.part[named], parts.part[day]};
    for (int i = 0; i < 3; ++i) parts.part[i] = ordered[i];
    parts.month_named = true;
  }
  if (text.empty()) return parts;
  if (text.front() != 'T' && text.front() != 't' && text.front() != ' ' && text.front() != ',') return std::nullopt;
  text.remove_prefix(1);
  const auto time = parse_time(text);
  if (!time) return std::nullopt;
  parts.time = *time;
  return parts;
}

std::optional<Date> date_in_order(const DateParts& parts, DateOrder order, Date today) {
  const auto& part = parts.part;
  const bool as_they_stand = parts.year_first || parts.month_named;
  int year = part[2];
  int month = part[0];
  int day = part[1];
  bool short_year = parts.short_year;
  if (as_they_stand || order == DateOrder::ymd) {
    // 25/12/2026 is no year first: four figures at the end can only be the year.
    if (!as_they_stand && !parts.short_year) return std::nullopt;
    year = part[0];
    month = part[1];
    day = part[2];
    if (!as_they_stand) short_year = true;
  } else if (order == DateOrder::dmy) {
    month = part[1];
    day = part[0];
  }
  if (short_year) {
    const int this_year = static_cast<int>(std::strtol(date_text(today).c_str(), nullptr, 10));
    year += 2000;
    if (year > this_year + 1) year -= 100;
  }
  return make_date(year, month, day);
}

}  // namespace ullage::interchange
