#include "engine/capacity/curve.h"

#include <gtest/gtest.h>

#include <cmath>

namespace ullage::capacity {
namespace {

constexpr double kShapes[] = {0, 1e-9, 1e-6, 0.05, 0.2, 1};

TEST(Curve, OneRepetitionAtStrength) {
  for (const double p : kShapes) {
    for (const double k : {3.0, 32.0, 90.0}) {
      EXPECT_DOUBLE_EQ(reps_to_failure(0.0, Curve{k, p}), 1);
      EXPECT_DOUBLE_EQ(margin_for_reps(1.0, Curve{k, p}), 0);
    }
  }
}

TEST(Curve, InverseGivesBackTheMargin) {
  for (const double p : kShapes) {
    for (const double k : {3.0, 32.0, 90.0}) {
      const Curve curve{k, p};
      for (double x = -0.2; x < 1.3; x += 0.05) {
        EXPECT_NEAR(margin_for_reps(reps_to_failure(x, curve), curve), x, 1e-12) << "k " << k << " p " << p;
      }
      for (double r = 0; r < 60; r += 1.5) {
        EXPECT_NEAR(reps_to_failure(margin_for_reps(r, curve), curve), r, 1e-11) << "k " << k << " p " << p;
      }
    }
  }
}

// No step where the straight limit takes over, and p = 1 is the plain proportion k (strength/load - 1).
TEST(Curve, LimitsOfTheShape) {
  const double x = std::log(1 / 0.7);
  EXPECT_NEAR(reps_to_failure(x, Curve{40, 0}), reps_to_failure(x, Curve{40, 2 * kStraightBelow}), 1e-6);
  EXPECT_NEAR(margin_for_reps(12.0, Curve{40, 0}), margin_for_reps(12.0, Curve{40, 2 * kStraightBelow}), 1e-8);
  EXPECT_NEAR(reps_to_failure(x, Curve{40, 0}), 1 + 40 * x, 1e-12);
  EXPECT_NEAR(reps_to_failure(x, Curve{40, 1}), 1 + 40 * (1 / 0.7 - 1), 1e-12);
}

TEST(Curve, MoreMarginOrEnduranceIsMoreReps) {
  for (const double p : kShapes) {
    for (double x = 0.05; x < 1; x += 0.05) {
      EXPECT_LT(reps_to_failure(x, Curve{32, p}), reps_to_failure(x + 0.01, Curve{32, p}));
      EXPECT_LT(reps_to_failure(x, Curve{32, p}), reps_to_failure(x, Curve{33, p}));
    }
  }
}

TEST(Curve, LoadAboveStrengthIsLessThanOneRep) { EXPECT_LT(reps_to_failure(-0.02, Curve{32, 1}), 1); }

TEST(Curve, DerivativesAgreeWithDifferences) {
  using D = Dual<2>;
  constexpr double h = 1e-6;
  for (const double p : {0.0, 0.2, 1.0}) {
    for (const double x : {-0.05, 0.1, 0.4, 0.9}) {
      const double k = 32;
      const D c = reps_to_failure(D::variable(x, 0), D::variable(k, 1), p);
      EXPECT_NEAR(c.gradient[0], (reps_to_failure(x + h, k, p) - reps_to_failure(x - h, k, p)) / (2 * h), 1e-6);
      EXPECT_NEAR(c.gradient[1], (reps_to_failure(x, k + h, p) - reps_to_failure(x, k - h, p)) / (2 * h), 1e-8);
      const double r = 3 + 10 * x;
      const D m = margin_for_reps(D::variable(r, 0), D::variable(k, 1), p);
      EXPECT_NEAR(m.gradient[0], (margin_for_reps(r + h, k, p) - margin_for_reps(r - h, k, p)) / (2 * h), 1e-9);
      EXPECT_NEAR(m.gradient[1], (margin_for_reps(r, k + h, p) - margin_for_reps(r, k - h, p)) / (2 * h), 1e-9);
    }
  }
}

}  // namespace
}  // namespace ullage::capacity
