#include "service/interchange/cell_text.h"

#include <gtest/gtest.h>

namespace ullage::interchange {
namespace {

const Date kToday = *make_date(2026, 3, 10);

std::string in_order(std::string_view text, DateOrder order) {
  const auto parts = split_date(text);
  if (!parts) return "no date";
  const auto date = date_in_order(*parts, order, kToday);
  return date ? date_text(*date) + (parts->time.empty() ? "" : "T" + parts->time) : "no day";
}

TEST(CellText, Numbers) {
  EXPECT_EQ(parse_number("102.5", false), 102.5);
  EXPECT_EQ(parse_number(" -7.5 ", false), -7.5);
  EXPECT_EQ(parse_number("+8", false), 8);
  EXPECT_EQ(parse_number(".5", false), 0.5);
  EXPECT_EQ(parse_number("\xE2\x88\x92"
                         "7",
                         false),
            -7);
  EXPECT_EQ(parse_number("\xC2\xA0"
                         "80",
                         false),
            80);
  EXPECT_EQ(parse_number("1e-07", false), 1e-07);
  EXPECT_EQ(parse_number("102,5", true), 102.5);
  for (const char* text : {"", "-", ".", "1,000", "1 000", "1'000", "nan", "inf", "0x10", "1e999", "--1", "+-1",
                           "8 reps", "1.2.3", "e5", "e"}) {
    EXPECT_FALSE(parse_number(text, false)) << text;
  }
  EXPECT_FALSE(parse_number("102.5", true));
  EXPECT_FALSE(parse_number("1.000,5", true));
  EXPECT_EQ(number_expected("1,000", false), "a number with a decimal point and no thousands separators");
  EXPECT_EQ(number_expected("1.000", true), "a number with a decimal comma and no thousands separators");
  EXPECT_EQ(number_expected("heavy", false), "a number");
  EXPECT_EQ(parse_whole("8.0", false), 8);
  EXPECT_FALSE(parse_whole("8.5", false));
  EXPECT_FALSE(parse_whole("99999999999", false));
}

TEST(CellText, AmountsMayNameTheirUnit) {
  EXPECT_EQ(parse_amount("225 lb", false)->unit, Unit::pound);
  EXPECT_EQ(parse_amount("225 lb", false)->value, 225);
  EXPECT_EQ(parse_amount("80kg", false)->unit, Unit::kilogram);
  EXPECT_EQ(parse_amount("80,5 kg", true)->value, 80.5);
  EXPECT_FALSE(parse_amount("80", false)->unit);
  EXPECT_FALSE(parse_amount("80 st", false));
  EXPECT_FALSE(parse_amount("kg", false));
}

TEST(CellText, Times) {
  EXPECT_EQ(parse_time("18:40"), "18:40");
  EXPECT_EQ(parse_time("7:05"), "07:05");
  EXPECT_EQ(parse_time("18:40:05.25"), "18:40:05.25");
  EXPECT_EQ(parse_time("18:40+02:00"), "18:40+02:00");
  EXPECT_EQ(parse_time("18:40-0330"), "18:40-03:30");
  EXPECT_EQ(parse_time("18:40Z"), "18:40Z");
  EXPECT_EQ(parse_time("6:40 pm"), "18:40");
  EXPECT_EQ(parse_time("12:10 AM"), "00:10");
  for (const char* text : {"", "24:00", "18:60", "18", "18:4", "18:40+15:00", "18:40 xm", "13:00 pm", "18:40+1"}) {
    EXPECT_FALSE(parse_time(text)) << text;
  }
}

TEST(CellText, DatesInEachOrder) {
  EXPECT_EQ(in_order("2026-03-09", DateOrder::dmy), "2026-03-09");
  EXPECT_EQ(in_order("2026/3/9", DateOrder::mdy), "2026-03-09");
  EXPECT_EQ(in_order("03/04/2025", DateOrder::dmy), "2025-04-03");
  EXPECT_EQ(in_order("03/04/2025", DateOrder::mdy), "2025-03-04");
  EXPECT_EQ(in_order("03/04/2025", DateOrder::ymd), "no day");
  EXPECT_EQ(in_order("9.3.26", DateOrder::dmy), "2026-03-09");
  EXPECT_EQ(in_order("26-03-09", DateOrder::ymd), "2026-03-09");
  EXPECT_EQ(in_order("9.3.99", DateOrder::dmy), "1999-03-09");
  EXPECT_EQ(in_order("25/12/2025", DateOrder::mdy), "no day");
  EXPECT_EQ(in_order("29.2.2025", DateOrder::dmy), "no day");
  EXPECT_EQ(in_order("2/28/25 6:40 PM", DateOrder::mdy), "2025-02-28T18:40");
  EXPECT_EQ(in_order("9 Mar 2026", DateOrder::undecided), "2026-03-09");
  EXPECT_EQ(in_order("March 9, 2026", DateOrder::undecided), "2026-03-09");
  EXPECT_EQ(in_order("9. Sept. 2025", DateOrder::undecided), "2025-09-09");
  EXPECT_EQ(in_order("2026-Mar-09", DateOrder::undecided), "2026-03-09");
  for (const char* text : {"", "9", "9.3", "9.3.", "9.3.026", "9/3-26", "9 3 2026", "Mar Mar 2026", "9 Foo 2026",
                           "20260309", "9.3.2026 noon", "2026-03-09x"}) {
    EXPECT_EQ(in_order(text, DateOrder::dmy), "no date") << text;
  }
}

}  // namespace
}  // namespace ullage::interchange
