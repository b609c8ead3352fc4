#include "service/coach/floor_time.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>

namespace ullage::coach {
namespace {

constexpr std::int64_t kMinute = 60000, kDay = 24 * 60 * kMinute;

}  // namespace

std::optional<std::int64_t> instant_ms(const std::string& utc) {
  int hour = 0, minute = 0;
  double second = 0;
  const auto day = utc.size() >= 20 ? parse_date(utc.substr(0, 10)) : std::nullopt;
  if (!day || utc.back() != 'Z' || std::sscanf(utc.c_str() + 10, "T%2d:%2d:%lf", &hour, &minute, &second) != 3)
    return std::nullopt;
  return (*day - Date{}) * kDay + (hour * 60 + minute) * kMinute + static_cast<std::int64_t>(second * 1000);
}

std::string done_at_fault(Desk& desk, const std::string& done_at, Date date) {
  const auto at = instant_ms(done_at), now = instant_ms(desk.clock().now());
  if (!at) return "done_at: an instant was expected";
  if (now && *at > *now + kMostAheadMinutes * kMinute)
    return fmt::format("done_at: {} lies ahead of now ({}): not more than {} minutes were expected", done_at,
                       desk.clock().now(), kMostAheadMinutes);
  // With another day taken for today, the clock is as far off the session as that day.
  const Date day = date + (desk.clock().today() - desk.today());
  const Date ended = Date{} + static_cast<int>(*at / kDay);
  if (std::abs(ended - day) > kMostDaysOff)
    return fmt::format("done_at: {} is more than a day off the day of the session, {}", done_at, date_text(date));
  return "";
}

bool trained_now(Desk& desk, Date date, const FloorRecord& record) {
  if (date == desk.today()) return true;
  // With another day taken for today no clock tells what is going on.
  if (date + 1 != desk.today() || desk.today() != desk.clock().today()) return false;
  const auto now = instant_ms(desk.clock().now());
  const auto lately = [&](const std::string& time) {
    const auto at = instant_ms(time);
    return at && now && *at <= *now + kMostAheadMinutes * kMinute && *now - *at < kGoesOnHours * 60 * kMinute;
  };
  return lately(record.started) ||
         std::any_of(record.sent.begin(), record.sent.end(), [&](const SentSet& sent) { return lately(sent.at); });
}

}  // namespace ullage::coach
