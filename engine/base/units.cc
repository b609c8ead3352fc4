#include "engine/base/units.h"

#include <cctype>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>

namespace ullage {

std::string_view unit_name(Unit unit) {
  switch (unit) {
    case Unit::kilogram: return "kg";
    case Unit::pound: return "lb";
    case Unit::mark: return "mark";
  }
  return "kg";
}

std::optional<Unit> parse_unit(std::string_view text) {
  std::string lower;
  for (char c : text) {
    if (c != ' ' && c != '.') lower += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  }
  if (lower == "kg" || lower == "kgs" || lower == "kilogram" || lower == "kilograms") return Unit::kilogram;
  if (lower == "lb" || lower == "lbs" || lower == "pound" || lower == "pounds") return Unit::pound;
  if (lower == "mark" || lower == "marks") return Unit::mark;
  return std::nullopt;
}

std::string number_text(double value) {
  if (value == 0) return "0";
  if (!std::isfinite(value)) return std::isnan(value) ? "nan" : (value > 0 ? "inf" : "-inf");
  char text[64];
  // Nearly every number has at most three decimals. With up to 15 figures no other decimal is the same number, so this
  // is the shortest.
  const double thousandths = std::nearbyint(value * 1000);
  if (std::fabs(thousandths) < 1e14 && thousandths / 1000 == value) {
    auto whole = static_cast<std::int64_t>(std::fabs(thousandths));
    char* at = text + sizeof text;
    for (int decimals = 3; decimals > 0; --decimals, whole /= 10) {
      if (whole % 10 == 0 && at == text + sizeof text) continue;
      *--at = static_cast<char>('0' + whole % 10);
    }
    if (at != text + sizeof text) *--at = '.';
    do {
      *--at = static_cast<char>('0' + whole % 10);
      whole /= 10;
    } while (whole > 0);
    if (value < 0) *--at = '-';
    return {at, text + sizeof text};
  }
  for (int digits = 1; digits <= 17; ++digits) {
    std::snprintf(text, sizeof text, "%.*g", digits, value);
    if (std::strtod(text, nullptr) == value) break;
  }
  std::string shortest = text;
  if (shortest.find('e') != std::string::npos && std::fabs(value) < 1e15 && std::fabs(value) >= 1e-6) {
    for (int decimals = 0; decimals <= 20; ++decimals) {
      std::snprintf(text, sizeof text, "%.*f", decimals, value);
      if (std::strtod(text, nullptr) == value) return text;
    }
  }
  return shortest;
}

}  // namespace ullage
