#include "service/store/clock.h"

#include <chrono>
#include <cstdio>
#include <ctime>

namespace ullage::store {

std::string SystemClock::now() {
  const auto instant = std::chrono::system_clock::now().time_since_epoch();
  const auto milliseconds = std::chrono::duration_cast<std::chrono::milliseconds>(instant).count();
  const int of_day = static_cast<int>(milliseconds % 86400000);
  char text[64];
  std::snprintf(text, sizeof text, "T%02d:%02d:%02d.%03dZ", of_day / 3600000, of_day / 60000 % 60, of_day / 1000 % 60,
                of_day % 1000);
  return date_text(Date{static_cast<int>(milliseconds / 86400000)}) + text;
}

Date SystemClock::today() {
  const std::time_t instant = std::time(nullptr);
  std::tm local{};
  localtime_r(&instant, &local);
  return make_date(local.tm_year + 1900, local.tm_mon + 1, local.tm_mday).value_or(Date{});
}

}  // namespace ullage::store
