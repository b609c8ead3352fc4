// Local calendar days. A lifter's day is the day on the wall where they train: no zone, no clock.
#pragma once

#include <compare>
#include <optional>
#include <string>
#include <string_view>

namespace ullage {

// A calendar day, counted from 1970-01-01 (day 0) in the proleptic Gregorian calendar.
struct Date {
  int days = 0;
  auto operator<=>(const Date&) const = default;
};

constexpr int operator-(Date a, Date b) { return a.days - b.days; }
constexpr Date operator+(Date a, int days) { return {a.days + days}; }
constexpr Date operator-(Date a, int days) { return {a.days - days}; }

// The day of a year, month (1-12) and day of month; empty when there is no such day.
std::optional<Date> make_date(int year, int month, int day);
// "2026-03-09" exactly; empty otherwise.
std::optional<Date> parse_date(std::string_view text);
// "2026-03-09".
std::string date_text(Date date);
// 1 Monday .. 7 Sunday.
int weekday(Date date);
// "Mon".."Sun".
std::string_view weekday_name(Date date);

}  // namespace ullage
