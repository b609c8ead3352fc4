#include "engine/capacity/fatigue.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "engine/base/dual.h"
#include "engine/capacity/spent_slopes.h"

namespace ullage::capacity {
namespace {

constexpr FatigueConstants kConstants;
constexpr double kEndurance = 32;

Spent<double> spent(double margin, int reps, bool failed, double endurance = kEndurance, double shape = 1) {
  return spend<double>(margin, endurance, shape, reps, failed, kConstants.lam, kConstants.rho_f);
}
double fatigue_of(const Spent<double>& s) { return kConstants.a_fast * s.depletion + kConstants.a_slow * s.slow; }

// Sets to failure at one load: good reps of each.
std::vector<int> to_failure(double share, int sets, double rest, double endurance = kEndurance) {
  FatigueStores stores;
  std::vector<int> out;
  for (int i = 0; i < sets; ++i) {
    const double margin = -std::log(share) - stores.total();
    const int reps = static_cast<int>(reps_to_failure(margin, Curve{endurance, 1}));
    out.push_back(reps);
    stores.add(spent(margin, reps, true, endurance), kConstants);
    stores.rest(rest, kConstants);
  }
  return out;
}

TEST(SmoothMax, LiesAboveTheMaximumByAtMostItsCorner) {
  for (double a = -5; a <= 5; a += 0.25) {
    const double gap = smooth_max(a, 1.0) - std::max(a, 1.0);
    EXPECT_GE(gap, -1e-15);
    EXPECT_LE(gap, std::log(2.0) / 8 + 1e-15);
  }
  EXPECT_NEAR(smooth_max(100.0, 1.0), 100, 1e-12);
  EXPECT_NEAR(smooth_max(1.0, 1.0) - 1, std::log(2.0) / 8, 1e-15);
}

TEST(Fatigue, SpentMarginIsNeverNegative) {
  for (double margin = -0.3; margin < 1; margin += 0.02) {
    for (int reps = 0; reps < 60; ++reps) {
      for (const bool failed : {false, true}) {
        const auto s = spent(margin, reps, failed);
        ASSERT_GE(s.depletion, 0) << margin << " " << reps << " " << failed;
        ASSERT_GE(s.slow, 0);
        ASSERT_LE(s.slow, s.depletion);
      }
    }
  }
}

// Every rep costs: one rep more at the same load never leaves a lifter fresher.
TEST(Fatigue, EveryRepCosts) {
  for (const double shape : {0.2, 1.0}) {
    for (double margin = 0.02; margin < 0.8; margin += 0.03) {
      const int most = static_cast<int>(reps_to_failure(margin, Curve{kEndurance, shape}));
      for (int reps = 1; reps < most; ++reps) {
        EXPECT_LT(fatigue_of(spent(margin, reps, false, kEndurance, shape)),
                  fatigue_of(spent(margin, reps + 1, false, kEndurance, shape)))
            << "margin " << margin << " reps " << reps << " shape " << shape;
      }
    }
  }
}

// A missed rep never refreshes: stopping after n and missing the next costs at least as much as stopping after n.
TEST(Fatigue, AMissNeverRefreshes) {
  for (const double shape : {0.2, 1.0}) {
    for (double margin = -0.1; margin < 0.8; margin += 0.03) {
      for (int reps = 0; reps < 40; ++reps) {
        EXPECT_GE(fatigue_of(spent(margin, reps, true, kEndurance, shape)),
                  fatigue_of(spent(margin, reps, false, kEndurance, shape)))
            << "margin " << margin << " reps " << reps << " shape " << shape;
      }
    }
  }
}

// A single, made or missed, costs at least 0.4 % of strength, and less than a set of eleven to failure.
TEST(Fatigue, HeavySinglesAreNotFree) {
  const double single = fatigue_of(spent(-std::log(0.97), 1, false));
  const double missed = fatigue_of(spent(-std::log(1.02), 0, true));
  const double set = fatigue_of(spent(-std::log(0.75), 11, true));
  EXPECT_GT(single, 0.004);
  EXPECT_GT(missed, 0.004);
  EXPECT_LT(single, set);
}

TEST(Fatigue, StoppingShortIsCheaperPerRep) {
  const double margin = -std::log(0.75);
  const double three_left = fatigue_of(spent(margin, 8, false)), failed = fatigue_of(spent(margin, 11, true));
  EXPECT_LT(three_left / 8, failed / 11);
}

TEST(Fatigue, DropOffLevelsOut) {
  const auto reps = to_failure(0.75, 10, 2);
  EXPECT_GE(reps[0] - reps[1], 3);
  for (std::size_t i = 1; i < reps.size(); ++i) EXPECT_LE(reps[i], reps[i - 1] + 1);  // whole reps may flicker by one
  EXPECT_NEAR(reps[9], reps[5], 1);
  EXPECT_GE(reps[9], 3);
}

// Common practice, no source: after a first set to failure at a 10RM the next at the same load falls to 3-6 reps, by
// lifter and rest (1 to 2 minutes; lifters between the first and last tenth of the prior of endurance).
TEST(Fatigue, SecondSetAtATenRepetitionMaximum) {
  for (const double endurance : {25.0, 32.0, 41.0}) {
    const double load = std::exp(-margin_for_reps(10.5, Curve{endurance, 1}));
    for (const double rest : {1.0, 1.5, 2.0}) {
      const auto reps = to_failure(load, 2, rest, endurance);
      EXPECT_EQ(reps[0], 10);
      EXPECT_GE(reps[1], 3) << "k " << endurance << " rest " << rest;
      EXPECT_LE(reps[1], 6) << "k " << endurance << " rest " << rest;
    }
  }
}

// Common practice, no source: stopping 2-3 short, three sets at the same load and reps stay doable for most.
TEST(Fatigue, ThreeSetsStoppedShortStayDoable) {
  for (const double endurance : {25.0, 32.0, 41.0}) {
    const double fresh = margin_for_reps(10.5, Curve{endurance, 1});
    FatigueStores stores;
    for (int set = 0; set < 3; ++set) {
      const double margin = fresh - stores.total();
      EXPECT_GE(reps_to_failure(margin, Curve{endurance, 1}), 7) << "k " << endurance << " set " << set;
      stores.add(spent(margin, 7, false, endurance), kConstants);
      stores.rest(2, kConstants);
    }
  }
}

TEST(Fatigue, RestEmptiesEachStoreAtItsOwnRate) {
  FatigueStores stores{0.1, 0.2};
  stores.rest(3, kConstants);
  EXPECT_NEAR(stores.fast, 0.1 * std::exp(-2.0), 1e-15);
  EXPECT_NEAR(stores.slow, 0.2 * std::exp(-3 / 4.7), 1e-15);
  stores.rest(0, kConstants);
  EXPECT_NEAR(stores.total(), 0.1 * std::exp(-2.0) + 0.2 * std::exp(-3 / 4.7), 1e-15);
}

TEST(Fatigue, DerivativesAgreeWithDifferences) {
  using D = Dual<3>;
  constexpr double h = 1e-6;
  const auto plain = [](double x, double k, double lam, int n, bool failed) {
    return spend<double>(x, k, 1, n, failed, lam, kConstants.rho_f);
  };
  for (const double x : {0.1, 0.2, 0.35}) {
    for (const int n : {3, 8, 12}) {
      for (const bool failed : {false, true}) {
        const auto s =
            spend<D>(D::variable(x, 0), D::variable(32, 1), 1, n, failed, D::variable(0.3, 2), kConstants.rho_f);
        EXPECT_NEAR(s.depletion.value, plain(x, 32, 0.3, n, failed).depletion, 1e-15);
        const auto dx = [&](auto part) {
          return (part(plain(x + h, 32, 0.3, n, failed)) - part(plain(x - h, 32, 0.3, n, failed))) / (2 * h);
        };
        const auto dk = [&](auto part) {
          return (part(plain(x, 32 + h, 0.3, n, failed)) - part(plain(x, 32 - h, 0.3, n, failed))) / (2 * h);
        };
        const auto dl = [&](auto part) {
          return (part(plain(x, 32, 0.3 + h, n, failed)) - part(plain(x, 32, 0.3 - h, n, failed))) / (2 * h);
        };
        const auto depletion = [](const Spent<double>& v) { return v.depletion; };
        const auto slow = [](const Spent<double>& v) { return v.slow; };
        EXPECT_NEAR(s.depletion.gradient[0], dx(depletion), 1e-7);
        EXPECT_NEAR(s.depletion.gradient[1], dk(depletion), 1e-7);
        EXPECT_NEAR(s.slow.gradient[0], dx(slow), 1e-6);
        EXPECT_NEAR(s.slow.gradient[1], dk(slow), 1e-7);
        EXPECT_NEAR(s.slow.gradient[2], dl(slow), 1e-7);
      }
    }
  }
}

TEST(SpentSlopes, AgreeWithForwardDifferentiation) {
  using D = Dual<3>;
  for (const double shape : {0.0, 0.2, 1.0}) {
    for (const double k : {3.0, 32.0, 90.0}) {
      for (double x = -0.3; x < 1; x += 0.0171) {
        for (const int reps : {0, 1, 5, 12, 30}) {
          for (const bool failed : {false, true}) {
            const Spent<D> want = spend<D>(D::variable(x, 0), D(k) + D::variable(0, 1) * k, shape, reps, failed,
                                           D::variable(0.3, 2), 0.68);
            const SpentSlopes got = spend_with_slopes(x, k, shape, reps, failed, 0.3, 0.68);
            EXPECT_NEAR(got.depletion, want.depletion.value, 1e-12);
            EXPECT_NEAR(got.slow, want.slow.value, 1e-12);
            const auto near = [&](double a, double b) { EXPECT_NEAR(a, b, 1e-12 * (1 + std::fabs(b))) << x << k; };
            near(got.depletion_by_margin, want.depletion.gradient[0]);
            near(got.depletion_by_log_k, want.depletion.gradient[1]);
            near(got.slow_by_margin, want.slow.gradient[0]);
            near(got.slow_by_log_k, want.slow.gradient[1]);
            near(got.slow_by_lam, want.slow.gradient[2]);
          }
        }
      }
    }
  }
}

}  // namespace
}  // namespace ullage::capacity
