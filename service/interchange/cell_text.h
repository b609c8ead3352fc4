// Reads the text of single cells: numbers, dates, times. No locale is asked.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "engine/base/dates.h"
#include "engine/base/units.h"
#include "service/interchange/mapping.h"

namespace ullage::interchange {

// Without blanks (also no-break spaces) at both ends.
std::string_view trimmed(std::string_view text);
// ASCII letters in lower case.
std::string lower_case(std::string_view text);

// An integer or decimal number, -1.5e3 included; nothing else, and no thousands separators.
std::optional<double> parse_number(std::string_view text, bool decimal_comma);
// What to ask for when parse_number finds none: "a number with a decimal point ...".
std::string_view number_expected(std::string_view text, bool decimal_comma);
// A whole number; 8.0 is one.
std::optional<int> parse_whole(std::string_view text, bool decimal_comma);

// A number that may name its unit: "102.5", "225 lb", "80kg".
struct Amount {
  double value = 0;
  std::optional<Unit> unit;
};
std::optional<Amount> parse_amount(std::string_view text, bool decimal_comma);

// "18:40", "18:40:05", "18:40+02:00", "6:40 pm": as a log keeps it, hours in two digits of 24; empty
// optional when it is no time.
std::optional<std::string> parse_time(std::string_view text);

// A date taken apart, before anyone knows the order of its figures.
struct DateParts {
  int part[3] = {0, 0, 0};
  bool year_first = false;   // four figures first: year, month, day
  bool month_named = false;  // part holds year, month, day
  bool short_year = false;   // the year has two figures, wherever it stands
  std::string time;          // as parse_time gives it
};
// 2026-03-09, 9.3.2026, 03/09/26, 9 Mar 2026, March 9, 2026; a time may follow.
std::optional<DateParts> split_date(std::string_view text);
// The day under an order; a date that shows its order itself ignores it. A year of two figures is the
// latest one not after next year. Empty when the calendar has no such day.
std::optional<Date> date_in_order(const DateParts& parts, DateOrder order, Date today);
// Whether the order matters for it at all.
inline bool needs_order(const DateParts& parts) { return !parts.year_first && !parts.month_named; }

}  // namespace ullage::interchange
