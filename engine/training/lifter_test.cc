#include "engine/training/lifter.h"

#include <gtest/gtest.h>

namespace ullage {
namespace {

Date day(const char* text) { return *parse_date(text); }

TEST(Age, CountsWholeYears) {
  Lifter lifter;
  EXPECT_EQ(age_on(lifter, day("2026-01-01")), std::nullopt);
  lifter.born = day("2008-02-29");
  EXPECT_EQ(age_on(lifter, day("2026-02-28")), 17);
  EXPECT_EQ(age_on(lifter, day("2026-03-01")), 18);
  EXPECT_EQ(age_on(lifter, day("2024-02-29")), 16);
  lifter.born = day("1990-06-15");
  EXPECT_EQ(age_on(lifter, day("2026-06-14")), 35);
  EXPECT_EQ(age_on(lifter, day("2026-06-15")), 36);
}

TEST(BodyMassOn, IsTheLatestKnownOnThatDay) {
  Lifter lifter;
  EXPECT_EQ(body_mass_on(lifter, day("2026-01-01")), std::nullopt);
  lifter.body_mass = {{day("2026-01-10"), {80, Unit::kilogram}},
                      {day("2026-02-10"), {180, Unit::pound}},
                      {day("2026-03-10"), {83, Unit::kilogram}}};
  EXPECT_EQ(body_mass_on(lifter, day("2026-01-01")), 80);  // none yet: the earliest
  EXPECT_EQ(body_mass_on(lifter, day("2026-01-10")), 80);
  EXPECT_EQ(body_mass_on(lifter, day("2026-02-09")), 80);
  EXPECT_DOUBLE_EQ(*body_mass_on(lifter, day("2026-02-10")), 81.6466266);
  EXPECT_EQ(body_mass_on(lifter, day("2027-01-01")), 83);
}

TEST(BodyMassOn, TheLaterOfTwoOnOneDayCounts) {
  Lifter lifter;
  lifter.body_mass = {{day("2026-01-10"), {80, Unit::kilogram}}, {day("2026-01-10"), {81, Unit::kilogram}}};
  EXPECT_EQ(body_mass_on(lifter, day("2026-01-10")), 81);
}

}  // namespace
}  // namespace ullage
