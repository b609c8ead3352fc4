// Times of day on the floor.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "service/coach/desk.h"
#include "service/coach/sheet_text.h"

namespace ullage::coach {

// How far the end of a set may lie ahead of this computer's clock, and its UTC day off the day of its session (time
// zones reach 14 hours from UTC, and sessions past midnight). Common practice, no source.
inline constexpr int kMostAheadMinutes = 5;
inline constexpr int kMostDaysOff = 1;

// Milliseconds since 1970 of "2026-03-09T17:40:05Z", parts of a second or none; empty: it is no such text.
std::optional<std::int64_t> instant_ms(const std::string& utc);

// What is wrong with the end of a set of that day, "done_at: ..."; empty: nothing.
std::string done_at_fault(Desk& desk, const std::string& done_at, Date date);

// A session of yesterday goes on past midnight until nothing was done in it for so long (common practice, no source).
inline constexpr int kGoesOnHours = 4;

// Whether the session of that day is trained now: today's, or yesterday's that goes on past midnight.
bool trained_now(Desk& desk, Date date, const FloorRecord& record);

}  // namespace ullage::coach
