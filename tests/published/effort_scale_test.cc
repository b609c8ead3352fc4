// Effort written as RPE in a coach's table comes in as the reserve it stands for.
#include <gtest/gtest.h>

#include "service/interchange/compact_sets.h"
#include "service/interchange/read_log.h"
#include "tests/published/published_values.h"

namespace ullage::interchange {
namespace {

using published::value;

// The called reserve that a table's RPE becomes, through a column and through a cell that holds sets.
std::vector<std::string> reserves(const std::string& rpe) {
  std::vector<std::string> out;
  for (const bool in_cell : {false, true}) {
    const auto mapping = parse_mapping(
        in_cell
            ? "[columns]\ndate = \"d\"\nexercise = \"e\"\nsets = { columns = \"s\", unit = \"kg\", effort = \"rpe\" }\n"
              "[constants]\nlifter = \"Ida\"\n"
            : "[columns]\ndate = \"d\"\nexercise = \"e\"\nload = { column = \"l\", unit = \"kg\" }\nreps = \"r\"\n"
              "called_reserve = { column = \"rpe\", as = \"rpe\" }\n[constants]\nlifter = \"Ida\"\n");
    EXPECT_TRUE(mapping) << mapping.error().message;
    const std::string text =
        in_cell ? "d,e,s\n2026-03-09,squat,100x8 @" + rpe + "\n" : "d,e,l,r,rpe\n2026-03-09,squat,100,8," + rpe + "\n";
    StringSource source(text);
    ReadLogOptions options;
    options.today = *make_date(2026, 3, 10);
    options.mapping = &*mapping;
    std::string called = "fault";
    const auto summary = read_log(
        source, options, [&](LoggedSet&& set) { called = set.set.called ? call_text(*set.set.called) : "none"; });
    EXPECT_TRUE(summary);
    out.push_back(called);
  }
  return out;
}

std::vector<std::string> both(const std::string& text) { return {text, text}; }

// T02-001 to T02-006: Zourdos MC et al. (2016), J Strength Cond Res 30(1):267-275, doi 10.1519/JSC.0000000000001049
// (RPE 10, 9 VERIFIED; 8, 7 DERIVED from its rule); Zourdos MC et al. (2021), J Strength Cond Res 35:S158-S165,
// doi 10.1519/JSC.0000000000002995 (7 and 5, VERIFIED).
TEST(EffortScale, ReserveIsTenLessTheRpe) {
  EXPECT_EQ(reserves("10"), both(number_text(value("T02-001"))));
  EXPECT_EQ(reserves("9"), both(number_text(value("T02-002"))));
  EXPECT_EQ(reserves("8"), both(number_text(value("T02-003"))));
  EXPECT_EQ(reserves("7"), both(number_text(value("T02-004"))));
  EXPECT_EQ(reserves("7"), both(number_text(value("T02-005"))));
  EXPECT_EQ(reserves("5"), both(number_text(value("T02-006"))));
}

// T02-008, T02-009 (8.5 is 1 to 2, 7.5 is 2 to 3; Helms et al. 2016, from memory): a half lies inside its range.
// T02-011, T02-012 (light effort below 5, from memory): no number of reps is made of it.
TEST(EffortScale, HalvesLieBetweenAndLightEffortIsOpen) {
  EXPECT_EQ(reserves("8.5"), both("1.5"));
  EXPECT_EQ(reserves("7.5"), both("2.5"));
  EXPECT_EQ(reserves("4"), both("5+"));
  EXPECT_EQ(reserves("1"), both("5+"));
  EXPECT_EQ(reserves("11"), both("fault"));
  EXPECT_EQ(reserves("8.25"), both("fault"));
}

}  // namespace
}  // namespace ullage::interchange
