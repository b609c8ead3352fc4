#include "engine/capacity/set_likelihood.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/capacity/curve.h"

namespace ullage::capacity {
namespace {

SetObservation random_set(Random& random) {
  SetObservation set;
  set.reps = random.integer(0, 15);
  const int kind = random.integer(0, 3);
  set.stop = static_cast<Stop>(kind);
  constexpr double kInfinity = std::numeric_limits<double>::infinity();
  Feeling none{{-kInfinity, 0, false}, {-kInfinity, 0, false}, {kInfinity, 0, false}};
  if (set.stop == Stop::cue) {
    set.feeling = none;
    set.feeling->high = {2.5, 0, true};
    if (set.reps > 1) set.feeling->before = {2.5, 1, true};
    set.feeling->each_rep = random.chance(0.5);
  } else if (random.chance(0.6)) {
    Call call;
    call.reserve = random.integer(0, 5);
    call.open = call.reserve == 5;
    const Cell cell = call_cell(call, random.chance(0.3));
    const double shift = random.chance(0.3) ? std::min(set.reps, random.integer(0, 3)) : 0;
    set.feeling = none;
    set.feeling->low = {cell.low, shift, false};
    set.feeling->high = {cell.high, shift, false};
    if (set.stop != Stop::unknown && random.chance(0.4)) {
      set.feeling->before = {2.5, 1, true};
      set.feeling->each_rep = random.chance(0.5);
    }
  }
  if (random.chance(0.3)) set.speed = random.uniform(0.1, 0.6);
  return set;
}

LocalVector random_point(Random& random, int reps, double shape) {
  LocalVector at{};
  at[kLogEndurance] = std::log(random.uniform(15, 60));
  at[kMargin] = margin_for_reps(std::max(0.5, reps + random.uniform(-1, 4)), std::exp(at[kLogEndurance]), shape);
  at[kCallBias] = random.normal(0.8, 0.6);
  at[kCallLogGain] = random.normal(-0.25, 0.2);
  at[kCallLogSpread] = std::log(0.6) + random.normal(0, 0.2);
  at[kCallLogSpreadRise] = std::log(0.15) + random.normal(0, 0.2);
  at[kCallCueShift] = random.normal(0.2, 0.3);
  at[kLogStopping] = std::log(2.5) + random.normal(0, 0.3);
  at[kSpeedAtFailure] = 0.17;
  at[kLogSpeedSlope] = std::log(0.04);
  at[kLogSpeedNoise] = std::log(0.05);
  return at;
}

// The same likelihood by brute force: a fine grid over M, written from the definition.
double by_fine_grid(const SetObservation& set, const LocalVector& at, double shape, double sigma) {
  const double k = std::exp(at[kLogEndurance]);
  const double x = at[kMargin];
  const double n = set.reps;
  const double low_limit = set.stop == Stop::failed && set.reps == 0 ? -1e300 : margin_for_reps(n, k, shape);
  const double high_limit = set.stop == Stop::failed ? margin_for_reps(n + 1, k, shape) : 1e300;
  const bool call = set.feeling && !(set.stop == Stop::failed && set.reps == 0);
  const double low = std::max(low_limit, x - 12 * sigma);
  const double high = std::min(high_limit, x + 12 * sigma);
  if (high <= low) return 0;
  const int cells = 200000;
  double sum = 0;
  for (int i = 0; i < cells; ++i) {
    const double m = low + (high - low) * (i + 0.5) / cells;
    double f = normal_density((m - x) / sigma) / sigma;
    const double r = reps_to_failure(m, k, shape) - n;
    if (set.stop == Stop::unknown) {
      const double rate = 2 / std::exp(at[kLogStopping]);
      const double all = rate * (n + r - 0.5);
      f *= rate * rate * std::max(r, 0.0) * std::exp(-rate * r) / (1 - (1 + all) * std::exp(-all));
    }
    if (call) {
      const auto z = [&](const FeelingEnd& end) {
        const double rho = r + end.shift;
        const double heard = std::exp(at[kCallLogGain]) * rho - at[kCallBias] - (end.on_cue ? at[kCallCueShift] : 0);
        return (end.bound - heard) / (std::exp(at[kCallLogSpread]) + std::exp(at[kCallLogSpreadRise]) * rho);
      };
      double above = z(set.feeling->low);
      FeelingEnd earlier = set.feeling->before;
      if (!set.feeling->each_rep) above = std::max(above, z(earlier));
      for (; set.feeling->each_rep && std::isfinite(earlier.bound) && earlier.shift < n; ++earlier.shift)
        f *= normal_cdf(-z(earlier));
      f *= std::max(0.0, normal_cdf(z(set.feeling->high)) - normal_cdf(above));
    }
    if (set.speed) {
      const double noise = std::exp(at[kLogSpeedNoise]);
      f *= normal_density((*set.speed - at[kSpeedAtFailure] - std::exp(at[kLogSpeedSlope]) * r) / noise) / noise;
    }
    sum += f;
  }
  return sum * (high - low) / cells;
}

// What the chance of a slip of the pen adds to the likelihood.
double slip(const SetObservation& set, const LocalVector& at, double shape) {
  const double upper = margin_for_reps(set.reps + 1.0, std::exp(at[kLogEndurance]), shape);
  return set.stop != Stop::failed || at[kMargin] <= upper ? kOutlier : 0;
}

TEST(SetLikelihood, AgreesWithAFineGrid) {
  Random random(11);
  int checked = 0;
  for (int i = 0; i < 120; ++i) {
    const double shape = random.chance(0.5) ? 1.0 : 0.2;
    const SetObservation set = random_set(random);
    if (set.reps == 0 && set.stop != Stop::failed) continue;
    const LocalVector at = random_point(random, set.reps, shape);
    const double sigma = random.uniform(0.015, 0.05);
    const double exact = by_fine_grid(set, at, shape, sigma);
    if (exact < 1e-4) continue;
    const double got = std::exp(set_log_likelihood(set, at, shape, sigma, 0).log_likelihood) - slip(set, at, shape);
    // The grid's own error (midpoint, 200 000 cells) is below 1e-9.
    EXPECT_NEAR(got / exact, 1, 1e-8) << i << " reps " << set.reps << " stop " << static_cast<int>(set.stop);
    ++checked;
  }
  EXPECT_GT(checked, 60);
}

TEST(SetLikelihood, DerivativesAgreeWithDifferences) {
  Random random(5);
  for (int i = 0; i < 200; ++i) {
    const double shape = random.chance(0.5) ? 1.0 : 0.2;
    const SetObservation set = random_set(random);
    const LocalVector at = random_point(random, set.reps, shape);
    const double sigma = 0.03;
    const SetTerms terms = set_log_likelihood(set, at, shape, sigma, 2);
    if (terms.weight < 0.05) continue;
    const auto used = depends_on(set);
    for (int p = 0; p < kLocalCount; ++p) {
      const double step = 1e-5 * (p == kMargin ? 0.3 : 1);
      LocalVector up = at, down = at;
      up[static_cast<std::size_t>(p)] += step;
      down[static_cast<std::size_t>(p)] -= step;
      const SetTerms a = set_log_likelihood(set, up, shape, sigma, 1);
      const SetTerms b = set_log_likelihood(set, down, shape, sigma, 1);
      const double slope = (a.log_likelihood - b.log_likelihood) / (2 * step);
      EXPECT_NEAR(terms.gradient(p), slope, 2e-5 * (1 + std::fabs(slope))) << i << " parameter " << p;
      if (!used[static_cast<std::size_t>(p)]) {
        EXPECT_EQ(terms.gradient(p), 0);
      }
      for (int q = 0; q < kLocalCount; ++q) {
        const double bend = (a.gradient(q) - b.gradient(q)) / (2 * step);
        // What the Hessian leaves out: the curvature of mixing with kOutlier.
        const double mixing = (1 - terms.weight) / terms.weight * terms.gradient(p) * terms.gradient(q);
        EXPECT_NEAR(terms.hessian(p, q) + mixing, bend, 2e-4 * (1 + std::fabs(bend)))
            << i << " parameters " << p << ", " << q;
      }
    }
  }
}

TEST(SetLikelihood, EndingsOfASetShareOut) {
  // Over n = 0, 1, 2, ... "failed after n" is certain to happen once.
  LocalVector at{};
  at[kMargin] = 0.2;
  at[kLogEndurance] = std::log(32);
  double sum = 0;
  for (int n = 0; n < 60; ++n) {
    SetObservation set;
    set.reps = n;
    set.stop = Stop::failed;
    sum += std::exp(set_log_likelihood(set, at, 1, 0.03, 0).log_likelihood) - slip(set, at, 1);
  }
  EXPECT_NEAR(sum, 1, 1e-12);
}

TEST(SetLikelihood, AnImpossibleSetHasNoPull) {
  SetObservation set;
  set.reps = 8;
  set.stop = Stop::unknown;
  LocalVector at{};
  at[kMargin] = std::log(0.1);  // ten times the load
  at[kLogEndurance] = std::log(32);
  at[kLogStopping] = std::log(2.5);
  const SetTerms terms = set_log_likelihood(set, at, 1, 0.025, 2);
  EXPECT_LT(terms.weight, 1e-6);
  EXPECT_LT(terms.gradient.norm(), 1e-3);
}

// A rep that failed at half the load says less than expected, and is heard; at ten times the load it is a slip of the
// pen.
TEST(SetLikelihood, AFailedRepIsHeardWhereItTellsOfLess) {
  LocalVector at{};
  at[kLogEndurance] = std::log(32);
  for (const bool called : {false, true}) {
    SetObservation set;
    set.reps = 1;
    set.stop = Stop::failed;
    if (called)
      set.feeling = Feeling{{-0.5, 0, false}, {-std::numeric_limits<double>::infinity(), 0, false}, {0.5, 0, false}};
    for (const double margin : {0.3, 0.5, 0.7}) {  // 9, 14 and 24 reps were expected
      at[kMargin] = margin;
      const SetTerms terms = set_log_likelihood(set, at, 1, 0.03, 2);
      EXPECT_GT(terms.weight, 0.9) << margin;
      EXPECT_LT(terms.gradient(kMargin), -200) << margin;
    }
    at[kMargin] = std::log(0.1);
    const SetTerms terms = set_log_likelihood(set, at, 1, 0.03, 2);
    EXPECT_LT(terms.weight, 1e-6);
    EXPECT_LT(terms.gradient.norm(), 1e-3);
    at[kMargin] = std::log(10);  // a load a tenth of what was meant
    EXPECT_LT(set_log_likelihood(set, at, 1, 0.03, 2).weight, 1e-6);
  }
}

TEST(SetLikelihood, RepsOfASetOnACueShareOut) {
  // Stopping on the cue at n = 1, 2, ... or failing before it is met: certain to happen once.
  constexpr double kInfinity = std::numeric_limits<double>::infinity();
  LocalVector at{};
  at[kMargin] = 0.2;
  at[kLogEndurance] = std::log(32);
  at[kCallBias] = 0.8;
  at[kCallLogGain] = -0.25;
  at[kCallLogSpread] = std::log(0.6);
  at[kCallLogSpreadRise] = std::log(0.15);
  at[kCallCueShift] = 0.2;
  for (const bool each_rep : {false, true}) {
    double sum = 0;
    for (int n = 0; n < 60; ++n) {
      SetObservation stop;
      stop.reps = n;
      stop.stop = Stop::cue;
      stop.feeling = Feeling{{-kInfinity, 0, false}, {n > 1 ? 1.5 : -kInfinity, 1, true}, {1.5, 0, true}, each_rep};
      if (n >= 1) sum += std::exp(set_log_likelihood(stop, at, 1, 0.03, 0).log_likelihood) - kOutlier;
      SetObservation miss;
      miss.reps = n;
      miss.stop = Stop::failed;
      if (n >= 1) miss.feeling = Feeling{{-kInfinity, 0, false}, {1.5, 0, true}, {kInfinity, 0, false}, each_rep};
      sum += std::exp(set_log_likelihood(miss, at, 1, 0.03, 0).log_likelihood) - slip(miss, at, 1);
    }
    EXPECT_NEAR(sum, 1, 2e-6) << each_rep;
  }
}

}  // namespace
}  // namespace ullage::capacity
