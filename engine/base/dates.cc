#include "engine/base/dates.h"

#include <chrono>
#include <cstdio>

namespace ullage {

std::optional<Date> make_date(int year, int month, int day) {
  if (year < -9999 || year > 9999 || month < 1 || month > 12 || day < 1 || day > 31) return std::nullopt;
  const std::chrono::year_month_day civil{std::chrono::year{year}, std::chrono::month{static_cast<unsigned>(month)},
                                          std::chrono::day{static_cast<unsigned>(day)}};
  if (!civil.ok()) return std::nullopt;
  return Date{static_cast<int>(std::chrono::sys_days{civil}.time_since_epoch().count())};
}

std::optional<Date> parse_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  int part[3] = {0, 0, 0};
  const int begin[3] = {0, 5, 8};
  const int end[3] = {4, 7, 10};
  for (int i = 0; i < 3; ++i) {
    for (int j = begin[i]; j < end[i]; ++j) {
      const char c = text[static_cast<std::size_t>(j)];
      if (c < '0' || c > '9') return std::nullopt;
      part[i] = part[i] * 10 + (c - '0');
    }
  }
  return make_date(part[0], part[1], part[2]);
}

std::string date_text(Date date) {
  const std::chrono::year_month_day civil{std::chrono::sys_days{std::chrono::days{date.days}}};
  const int year = static_cast<int>(civil.year());
  if (year >= 0 && year <= 9999) {
    char plain[] = "0000-00-00";
    const auto put = [&plain](int at, int size, unsigned value) {
      for (int i = size - 1; i >= 0; --i, value /= 10) plain[at + i] = static_cast<char>('0' + value % 10);
    };
    put(0, 4, static_cast<unsigned>(year));
    put(5, 2, static_cast<unsigned>(civil.month()));
    put(8, 2, static_cast<unsigned>(civil.day()));
    return plain;
  }
  char text[32];
  std::snprintf(text, sizeof text, "%04d-%02u-%02u", year, static_cast<unsigned>(civil.month()),
                static_cast<unsigned>(civil.day()));
  return text;
}

int weekday(Date date) {
  const int from_monday = (date.days % 7 + 7 + 3) % 7;  // 1970-01-01 was a Thursday
  return from_monday + 1;
}

std::string_view weekday_name(Date date) {
  static constexpr std::string_view kNames[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
  return kNames[weekday(date) - 1];
}

}  // namespace ullage
