#include "engine/base/dates.h"

#include <gtest/gtest.h>

namespace ullage {
namespace {

// Days in a month of the Gregorian calendar, by the rule itself.
int month_length(int year, int month) {
  if (month == 2) return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0 ? 29 : 28;
  return month == 4 || month == 6 || month == 9 || month == 11 ? 30 : 31;
}

TEST(Dates, CountEveryDayOfFiveCenturies) {
  int days = make_date(1800, 1, 1)->days;
  int day_of_week = weekday({days});
  for (int year = 1800; year < 2300; ++year) {
    for (int month = 1; month <= 12; ++month) {
      const int length = month_length(year, month);
      for (int day = 1; day <= length; ++day) {
        const auto date = make_date(year, month, day);
        ASSERT_TRUE(date);
        ASSERT_EQ(date->days, days);
        ASSERT_EQ(weekday(*date), day_of_week);
        ASSERT_EQ(parse_date(date_text(*date)), date);
        ++days;
        day_of_week = day_of_week % 7 + 1;
      }
      ASSERT_FALSE(make_date(year, month, length + 1));
    }
  }
}

TEST(Dates, StartAtTheFirstOfJanuary1970) {
  EXPECT_EQ(make_date(1970, 1, 1)->days, 0);
  EXPECT_EQ(weekday_name({0}), "Thu");
  EXPECT_EQ(date_text({0}), "1970-01-01");
  EXPECT_EQ(date_text({-1}), "1969-12-31");
}

TEST(Dates, KnownWeekdays) {
  EXPECT_EQ(weekday_name(*parse_date("2000-01-01")), "Sat");
  EXPECT_EQ(weekday(*parse_date("2026-03-09")), 1);
}

TEST(Dates, NoSuchDayIsEmpty) {
  for (const char* text : {"2026-02-29", "2026-13-01", "2026-00-10", "2026-04-31", "2026-1-01", "26-01-01",
                           "2026/01/01", "2026-01-01 ", "", "2026-01-0x", "1900-02-29"}) {
    EXPECT_FALSE(parse_date(text)) << text;
  }
  EXPECT_TRUE(parse_date("2024-02-29"));
  EXPECT_TRUE(parse_date("2000-02-29"));
}

TEST(Dates, DifferencesAndOrder) {
  const Date a = *parse_date("2026-03-28");
  EXPECT_EQ(*parse_date("2026-03-30") - a, 2);  // over the change to summer time: days are days
  EXPECT_EQ(date_text(a + 4), "2026-04-01");
  EXPECT_EQ(date_text(a - 28), "2026-02-28");
  EXPECT_LT(a, a + 1);
}

}  // namespace
}  // namespace ullage
