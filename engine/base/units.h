// Quantities with a unit, kept apart by type.
//
// A load keeps the number and the unit it was entered in, so that 225 lb comes back as 225 lb
// however often it is read and written; kilograms are computed from it, never stored over it.
//
//   Load bar{225, Unit::pound};
//   kilograms(bar).value == 102.05828325
#pragma once

#include <compare>
#include <optional>
#include <string>
#include <string_view>

namespace ullage {

// International avoirdupois pound, exact by definition (published value T09-038).
inline constexpr double kKilogramsPerPound = 0.45359237;

// Mass in kilograms.
struct Kilograms {
  double value = 0;
  auto operator<=>(const Kilograms&) const = default;
};

// Time in minutes.
struct Minutes {
  double value = 0;
  auto operator<=>(const Minutes&) const = default;
};

// Unit in which a load was written down. `mark` is a number on a machine's stack that is no mass:
// strength estimated from marks stays on that machine's own scale.
enum class Unit { kilogram, pound, mark };

// A load as it was entered. amount may be negative: assistance.
struct Load {
  double amount = 0;
  Unit unit = Unit::kilogram;
  bool operator==(const Load&) const = default;
};

// Mass of the load; for marks the bare number (the machine's own scale).
constexpr Kilograms kilograms(const Load& load) {
  return {load.unit == Unit::pound ? load.amount * kKilogramsPerPound : load.amount};
}

// The number of `unit` that equals `mass`; for marks the bare number.
constexpr double in_unit(Kilograms mass, Unit unit) {
  return unit == Unit::pound ? mass.value / kKilogramsPerPound : mass.value;
}

// "kg", "lb", "mark".
std::string_view unit_name(Unit unit);
// Inverse of unit_name; also "kgs", "lbs", "kilograms", "pounds", any case. Empty when unknown.
std::optional<Unit> parse_unit(std::string_view text);

// Shortest decimal text that reads back to the same double, without exponent where that is
// readable: 102.5, 60, -7.5.
std::string number_text(double value);

}  // namespace ullage
