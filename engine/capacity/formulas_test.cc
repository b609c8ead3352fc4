#include "engine/capacity/formulas.h"

#include <gtest/gtest.h>

#include <cmath>
#include <set>

namespace ullage::capacity {
namespace {

TEST(Formulas, ScaleWithLoadAndRiseWithReps) {
  for (const Formula f : kFormulas) {
    EXPECT_DOUBLE_EQ(one_rep_maximum(f, 220, 7), 2.2 * one_rep_maximum(f, 100, 7)) << formula_name(f);
    for (int n = 1; n < 30; ++n)
      EXPECT_LT(one_rep_maximum(f, 100, n), one_rep_maximum(f, 100, n + 1)) << formula_name(f);
  }
}

TEST(Formulas, InverseGivesBackTheReps) {
  for (const Formula f : kFormulas) {
    for (double n = 1; n <= 20; n += 0.5) {
      EXPECT_NEAR(reps_to_failure(f, one_rep_maximum(f, 80, n), 80), n, 1e-9) << formula_name(f) << " at " << n;
    }
  }
}

// Mayhew's and Wathen's formulas give 94.1 and 102.6 % at no reps: heavier than that is 0 reps, never negative.
TEST(Formulas, LoadAboveStrengthIsNoReps) {
  for (const Formula f : kFormulas) {
    EXPECT_GE(reps_to_failure(f, 100, 130), 0) << formula_name(f);
    EXPECT_LT(reps_to_failure(f, 100, 130), 1) << formula_name(f);
  }
}

TEST(Formulas, PolesAndFloorsAreInfiniteNotNegative) {
  EXPECT_GT(one_rep_maximum(Formula::brzycki, 50, 36.9), 0);
  EXPECT_TRUE(std::isinf(one_rep_maximum(Formula::brzycki, 50, 37)));
  EXPECT_TRUE(std::isinf(one_rep_maximum(Formula::brzycki, 50, 60)));
  EXPECT_TRUE(std::isinf(one_rep_maximum(Formula::lander, 50, 38)));
  EXPECT_TRUE(std::isinf(reps_to_failure(Formula::mayhew, 100, 52)));
  EXPECT_TRUE(std::isinf(reps_to_failure(Formula::wathen, 100, 48)));
}

TEST(Formulas, NamesDiffer) {
  std::set<std::string_view> names;
  for (const Formula f : kFormulas) names.insert(formula_name(f));
  EXPECT_EQ(names.size(), kFormulas.size());
}

}  // namespace
}  // namespace ullage::capacity
