#include "cli/terminal.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace ullage::cli {

std::size_t shown_width(std::string_view text) {
  std::size_t n = 0;
  for (const char c : text) n += (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  return n;
}

std::string padded(std::string_view text, std::size_t width, bool right) {
  const std::size_t shown = shown_width(text);
  const std::string blanks(shown < width ? width - shown : 0, ' ');
  return right ? blanks + std::string(text) : std::string(text) + blanks;
}

std::string cut(std::string_view text, std::size_t width) {
  if (shown_width(text) <= width) return std::string(text);
  std::size_t at = 0, n = 0;
  while (at < text.size() && n + 3 < width) {
    ++at;
    while (at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0) == 0x80) ++at;
    ++n;
  }
  return std::string(text.substr(0, at)) + "...";
}

void Terminal::lines(std::string_view text, std::size_t indent, std::size_t hang, std::string_view on) {
  if (only_raw_) return;
  const std::string_view off = on.empty() ? "" : "\033[0m";
  const auto put = [&](std::size_t blanks, std::string_view part) {
    out_ << std::string(part.empty() ? 0 : blanks, ' ') << on << part << off << '\n';
  };
  std::size_t start = 0;
  do {
    std::size_t end = std::min(text.find('\n', start), text.size());
    std::string_view rest = text.substr(start, end - start);
    std::size_t blanks = indent;
    while (shown_width(rest) + blanks > kColumns) {
      // The last blank that fits; a word longer than a line stays whole.
      std::size_t cut_at = std::string_view::npos, n = 0;
      for (std::size_t i = 0; i < rest.size(); ++i) {
        n += (static_cast<unsigned char>(rest[i]) & 0xC0) != 0x80;
        if (n > kColumns - blanks + 1 && cut_at != std::string_view::npos) break;
        if (rest[i] == ' ' && i > 0 && rest[i - 1] != ' ' &&
            (n <= kColumns - blanks + 1 || cut_at == std::string_view::npos))
          cut_at = i;
      }
      if (cut_at == std::string_view::npos || rest.find_first_not_of(' ', cut_at) == std::string_view::npos) break;
      put(blanks, rest.substr(0, cut_at));
      rest = rest.substr(rest.find_first_not_of(' ', cut_at));
      blanks = indent + hang;
    }
    put(blanks, rest);
    start = end + 1;
  } while (start <= text.size());
}

void Terminal::line(std::string_view text, std::size_t indent, std::size_t hang) { lines(text, indent, hang, ""); }
void Terminal::heading(std::string_view text) { lines(text, 0, 2, colour_ ? "\033[1m" : ""); }
void Terminal::quiet(std::string_view text, std::size_t indent, std::size_t hang) {
  lines(text, indent, hang, colour_ ? "\033[2m" : "");
}
void Terminal::caution(std::string_view text) { lines("! " + std::string(text), 0, 2, ""); }

std::string interval_text(const capacity::Interval& i, int decimals, std::string_view unit, double factor) {
  const double step = std::pow(10.0, -decimals);
  const auto number = [&](double value) {
    const double rounded = std::round(value * factor / step) * step;
    return fmt::format("{:.{}f}", rounded == 0 ? 0.0 : rounded, decimals);
  };
  const std::string low = number(i.lo80), high = number(i.hi80);
  const bool words = low.front() == '-' || high.front() == '-';
  return fmt::format("{}{}{} ({}{}{})", number(i.median), unit.empty() ? "" : " ", unit, low, words ? " to " : "-",
                     high);
}

std::string load_text(const Load& load) {
  if (load.unit == Unit::mark) return "mark " + number_text(load.amount);
  // Sums of plates carry rounding in the last digits.
  return fmt::format("{} {}", number_text(std::round(load.amount * 1000) / 1000), unit_name(load.unit));
}

std::string rest_text(double seconds) {
  const int s = static_cast<int>(std::lround(seconds));
  return s < 60 ? fmt::format("{} s", s) : fmt::format("{}:{:02}", s / 60, s % 60);
}

std::string counted(std::int64_t n, std::string_view one) { return fmt::format("{} {}{}", n, one, n == 1 ? "" : "s"); }

std::string percent_text(double share) {
  if (share <= 0) return "0 %";
  if (share < 0.01) return "<1 %";
  if (share > 0.99 && share < 1) return ">99 %";
  return fmt::format("{:.0f} %", share * 100);
}

std::string whole_reps_text(const capacity::Interval& i) {
  const auto whole = [](double v) { return static_cast<int>(std::floor(std::max(v, 0.0))); };
  return fmt::format("{} ({}-{})", whole(i.median), whole(i.lo80), whole(i.hi80));
}

}  // namespace ullage::cli
