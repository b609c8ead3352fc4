#include "engine/planning/step_up.h"

#include <gtest/gtest.h>

namespace ullage::planning {
namespace {

const Date kToday = *parse_date("2026-03-09");

ShownSet shown(int days_ago, double kg, int reps) { return {kToday - days_ago, {kg, Unit::kilogram}, kg, reps}; }
// k 33 and p 1: by the model's curve 8 reps are done 7/33 above the load.
int most_reps(const StepLimit& limit, double kg) { return reps_within(limit, kg, 33, 1); }

TEST(StepUp, IsATenthAboveTheBestOfLate) {
  const auto limit = step_limit({shown(7, 100, 8), shown(3, 90, 8), shown(10, 102.5, 5)}, kToday, 33, 1);
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
  EXPECT_EQ(step_limit({shown(kStepUpDays, 100, 8)}, kToday, 33, 1)->step, kMostStepUp);
  const auto limit = step_limit({shown(kStepUpDays + 1, 100, 8)}, kToday, 33, 1);
  ASSERT_TRUE(limit);
  EXPECT_EQ(limit->step, 0);
  EXPECT_EQ(most_reps(*limit, 100), 8);
  EXPECT_EQ(most_reps(*limit, 102.5), 7);
}

// After a year nobody begins again with the best of their life.
TEST(StepUp, GoesDownWhileALiftIsLeftAlone) {
  EXPECT_NEAR(step_limit({shown(kStepUpDays + 10 * 7, 100, 8)}, kToday, 33, 1)->step, -0.10, 1e-12);
  const auto year = step_limit({shown(365, 100, 8)}, kToday, 33, 1);
  ASSERT_TRUE(year);
  EXPECT_NEAR(year->step, -kMostStepDown, 1e-12);
  EXPECT_EQ(most_reps(*year, 80), 8);
  EXPECT_EQ(most_reps(*year, 82.5), 6);  // 1 + 33 (0.8 (1 + 7/33) / 0.825 - 1) = 6.8
}

TEST(StepUp, OldBestsDoNotCountAndTodaysMayBeRepeated) {
  const auto limit = step_limit({shown(3 + kShownDays + 1, 140, 8), shown(3, 100, 8)}, kToday, 33, 1);
  ASSERT_TRUE(limit);
  EXPECT_EQ(limit->best.total, 100);
  const auto with_today = step_limit({shown(3, 100, 8), shown(0, 120, 8)}, kToday, 33, 1);
  ASSERT_TRUE(with_today);
  EXPECT_EQ(most_reps(*with_today, 120), 8);
  EXPECT_EQ(most_reps(*with_today, 122.5), 7);
  EXPECT_FALSE(step_limit({shown(0, 120, 8)}, kToday, 33, 1)) << "never done before today";
  EXPECT_FALSE(step_limit({shown(3, 100, 0), shown(3, 0, 8)}, kToday, 33, 1)) << "nothing was lifted";
}

}  // namespace
}  // namespace ullage::planning
