#include "engine/drawing/words.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>

namespace ullage::drawing {
namespace {

constexpr std::string_view kMinus = "\u2212";
constexpr std::string_view kEnDash = "\u2013";

// Widths of a usual sans in thousandths of its size, from the blank to the tilde. Rounded from what common faces share.
constexpr std::uint16_t kWidths[95] = {278,  300, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
                                       556,  556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
                                       1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
                                       667,  778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
                                       333,  556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
                                       556,  556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584};
constexpr double kSerifShare = 0.94;  // a usual serif is a little narrower

std::size_t next_letter(std::string_view text, std::size_t at) {
  ++at;
  while (at < text.size() && (static_cast<unsigned char>(text[at]) & 0xC0) == 0x80) ++at;
  return at;
}

}  // namespace

std::string number_text(double value, int decimals) {
  if (!std::isfinite(value)) return std::string(kEnDash);
  decimals = std::clamp(decimals, 0, 9);
  double scale = 1;
  for (int i = 0; i < decimals; ++i) scale *= 10;
  const double scaled = std::round(std::abs(value) * scale);
  if (scaled >= 9e18) return value < 0 ? "\u2212\u221E" : "\u221E";  // nothing a picture can show
  auto whole = static_cast<std::uint64_t>(scaled);
  std::string digits = std::to_string(whole);
  if (digits.size() <= static_cast<std::size_t>(decimals)) {
    digits.insert(0, static_cast<std::size_t>(decimals) + 1 - digits.size(), '0');
  }
  if (decimals > 0) digits.insert(digits.size() - static_cast<std::size_t>(decimals), 1, '.');
  if (value < 0 && whole > 0) digits.insert(0, kMinus);
  return digits;
}

std::string interval_text(double value, double low, double high, int decimals) {
  const std::string from = number_text(low, decimals), to = number_text(high, decimals);
  const bool negative = from.starts_with(kMinus) || to.starts_with(kMinus);
  return number_text(value, decimals) + " (" + from + (negative ? " to " : std::string(kEnDash)) + to + ")";
}

double text_width(std::string_view text, double size, Face face) {
  double sum = 0;
  for (std::size_t at = 0; at < text.size(); at = next_letter(text, at)) {
    const auto c = static_cast<unsigned char>(text[at]);
    sum += c >= 32 && c < 127 ? kWidths[c - 32] : 584;
  }
  return sum / 1000 * size * (face == Face::serif ? kSerifShare : 1);
}

std::vector<std::string> wrapped(std::string_view text, double size, double width, Face face) {
  std::vector<std::string> lines(1);
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find_first_of(" \n", at), text.size());
    const std::string_view word = text.substr(at, end - at);
    if (!word.empty()) {
      const std::string longer = lines.back().empty() ? std::string(word) : lines.back() + " " + std::string(word);
      if (lines.back().empty() || text_width(longer, size, face) <= width) {
        lines.back() = longer;
      } else {
        lines.emplace_back(word);
      }
    }
    if (end < text.size() && text[end] == '\n' && !lines.back().empty()) lines.emplace_back();
    at = end + 1;
  }
  if (lines.size() > 1 && lines.back().empty()) lines.pop_back();
  return lines;
}

std::string shortened(std::string_view text, double size, double width, Face face) {
  if (text_width(text, size, face) <= width) return std::string(text);
  std::string kept;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = next_letter(text, at);
    const std::string longer = kept + std::string(text.substr(at, end - at));
    if (text_width(longer, size, face) + 0.584 * size > width) break;
    kept = longer;
    at = end;
  }
  while (!kept.empty() && kept.back() == ' ') kept.pop_back();
  return kept + "\u2026";
}

}  // namespace ullage::drawing
