#include "engine/planning/step_up.h"

#include <gtest/gtest.h>

namespace ullage::planning {
namespace {

const Date kToday = *parse_date("2026-03-09");

ShownSet shown(int days_ago, double kg, int reps, bool failed = false) {
  return {kToday - days_ago, {kg, Unit::kilogram}, kg, reps, failed};
}
// k 33 and p 1: by the model's curve 8 reps are done 7/33 above the load.
const ShownCurve kCurve{33, 27, 1};
int most_reps(const StepLimit& limit, double kg, double reserve = 0) { return reps_within(limit, kg, kCurve, reserve); }

TEST(StepUp, IsATenthAboveTheBestOfLate) {
  const auto limit = step_limit({shown(7, 100, 8), shown(3, 90, 8), shown(10, 102.5, 5)}, kToday, kCurve);
  ASSERT_TRUE(limit);
  EXPECT_EQ(limit->best.total, 100);
  EXPECT_EQ(limit->step, kMostStepUp);
  EXPECT_EQ(most_reps(*limit, 110), 8);
  EXPECT_EQ(most_reps(*limit, 112.5), 7);  // 1 + 33 (1.1 * (1 + 7/33) / 1.125 - 1) = 7.1
  EXPECT_EQ(most_reps(*limit, 100), 12);
  EXPECT_EQ(most_reps(*limit, 133), 1);  // the load itself is the limit at 100 (1 + 7/33) 1.1 = 133.3
  EXPECT_EQ(most_reps(*limit, 134), 0);
}

TEST(StepUp, IsNoneForALiftLeftAlone) {
  EXPECT_EQ(step_limit({shown(kStepUpDays, 100, 8)}, kToday, kCurve)->step, kMostStepUp);
  const auto limit = step_limit({shown(kStepUpDays + 1, 100, 8)}, kToday, kCurve);
  ASSERT_TRUE(limit);
  EXPECT_EQ(limit->step, 0);
  EXPECT_EQ(most_reps(*limit, 100), 8);
  EXPECT_EQ(most_reps(*limit, 102.5), 7);
}

// After a year nobody begins again with the best of their life.
TEST(StepUp, GoesDownWhileALiftIsLeftAlone) {
  EXPECT_NEAR(step_limit({shown(kStepUpDays + 10 * 7, 100, 8)}, kToday, kCurve)->step, -0.10, 1e-12);
  const auto year = step_limit({shown(365, 100, 8)}, kToday, kCurve);
  ASSERT_TRUE(year);
  EXPECT_NEAR(year->step, -kMostStepDown, 1e-12);
  EXPECT_EQ(most_reps(*year, 80), 8);
  EXPECT_EQ(most_reps(*year, 82.5), 6);  // 1 + 33 (0.8 (1 + 7/33) / 0.825 - 1) = 6.8
}

TEST(StepUp, OldBestsDoNotCountAndTodaysMayBeRepeated) {
  const auto limit = step_limit({shown(3 + kShownDays + 1, 140, 8), shown(3, 100, 8)}, kToday, kCurve);
  ASSERT_TRUE(limit);
  EXPECT_EQ(limit->best.total, 100);
  const auto with_today = step_limit({shown(3, 100, 8), shown(0, 120, 8)}, kToday, kCurve);
  ASSERT_TRUE(with_today);
  EXPECT_EQ(most_reps(*with_today, 120), 8);
  EXPECT_EQ(most_reps(*with_today, 122.5), 7);
  EXPECT_FALSE(step_limit({shown(0, 120, 8)}, kToday, kCurve)) << "never done before today";
  EXPECT_FALSE(step_limit({shown(3, 100, 0), shown(3, 0, 8)}, kToday, kCurve)) << "nothing was lifted";
}

// Twelve weeks of better days do not count against the day on which even the best set failed.
TEST(StepUp, GoesByTheLastDayWhereItsBestSetFailed) {
  const auto limit =
      step_limit({shown(30, 160, 8), shown(2, 137.5, 6, true), shown(2, 137.5, 5, true)}, kToday, kCurve);
  ASSERT_TRUE(limit && limit->log_most);
  EXPECT_EQ(limit->missed.reps, 6);
  EXPECT_EQ(most_reps(*limit, 137.5, 2), 5);  // 7 were tried
  EXPECT_EQ(most_reps(*limit, 137.5, 0), 7);
  EXPECT_EQ(most_reps(*limit, 140, 2), 4);  // 1 + 33 (137.5 (1 + 6/33) / 140 - 1) = 6.3
  EXPECT_EQ(most_reps(*limit, 160, 2), 0);
}

TEST(StepUp, AMissAfterABetterSetIsNoLimit) {
  // The third set failed where the first, which asked for as much, did not.
  EXPECT_FALSE(step_limit({shown(2, 100, 8), shown(2, 100, 7, true)}, kToday, kCurve)->log_most);
  // A miss of an earlier day was made up for.
  EXPECT_FALSE(step_limit({shown(5, 100, 7, true), shown(2, 100, 7)}, kToday, kCurve)->log_most);
  // And one of the last day is, by more that was done today; not by less.
  EXPECT_FALSE(step_limit({shown(2, 100, 7, true), shown(0, 100, 9)}, kToday, kCurve)->log_most);
  EXPECT_TRUE(step_limit({shown(2, 100, 7, true), shown(0, 100, 5)}, kToday, kCurve)->log_most);
}

// A single says little of eight reps.
TEST(StepUp, ManyMoreRepsThanTheLogShowsTakeTheLowSideOfTheCurve) {
  const auto limit = step_limit({shown(3, 100, 1), shown(7, 102.5, 1)}, kToday, kCurve);
  ASSERT_TRUE(limit);
  EXPECT_EQ(limit->reps_shown, 2);
  EXPECT_EQ(most_reps(*limit, 102.5), 2);  // not 1 + 33 * 0.1
  EXPECT_EQ(most_reps(*limit, 95), 3);     // 1 + 27 (102.5 / 95 - 1), not 7
  EXPECT_EQ(most_reps(*limit, 80), 8);     // 1 + 27 (102.5 / 80 - 1) = 8.6, not 14
  const auto fives = step_limit({shown(3, 100, 5)}, kToday, kCurve);
  EXPECT_EQ(most_reps(*fives, 100), 8);  // as ever: up to 10 are shown
}

}  // namespace
}  // namespace ullage::planning
