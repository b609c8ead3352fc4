#include "engine/capacity/set_site.h"

#include <gtest/gtest.h>

#include <Eigen/LU>
#include <cmath>

#include "engine/base/normal.h"
#include "engine/capacity/curve.h"

namespace ullage::capacity {
namespace {

constexpr double kShape = 1, kSigma = 0.025, kLogK = 3.4657;

LocalVector at(double margin, double log_k) {
  LocalVector out{};
  out[kMargin] = margin;
  out[kLogEndurance] = log_k;
  out[kCallLogGain] = -0.25;
  out[kCallBias] = 0.8;
  out[kCallLogSpread] = -0.5;
  out[kCallLogSpreadRise] = -1.9;
  return out;
}

struct Belief {
  Eigen::Vector2d mean;
  Eigen::Matrix2d spread;
};

// What is believed of (x, log k) after this set: a Gaussian before it, times its site, matched until it settles.
Belief after(const SetObservation& set, const Eigen::Vector2d& mean, const Eigen::Matrix2d& spread) {
  const Eigen::Matrix2d before = spread.inverse();
  const Eigen::Vector2d pull = before * mean;
  SetSite site = site_from_curvature(at(mean(0), mean(1)),
                                     set_log_likelihood(set, at(mean(0), mean(1)), kShape, kSigma, 2, Precision::fine));
  Belief now;
  for (int round = 0; round < 60; ++round) {
    now.spread = (before + site.precision).inverse();
    now.mean = now.spread * (pull + site.pull);
    if (match_site(set, at(now.mean(0), now.mean(1)), kShape, kSigma, now.spread, site) < 1e-9) break;
  }
  return now;
}

// A finished set says M >= m(n) and no more: the moments of a normal times a normal cumulative chance are known.
// Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, eq. 3.85 and 3.87 (ISBN 026218253X;
// numbers of the equations from memory).
TEST(SetSite, AFinishedSetGivesTheKnownMoments) {
  SetObservation set;
  set.reps = 8;
  set.stop = Stop::planned;
  const double needed = std::log1p(7 / std::exp(kLogK));
  for (const double off : {-0.06, -0.02, 0.0, 0.03, 0.08}) {
    const double sd = 0.04;
    Eigen::Matrix2d spread;
    spread << sd * sd, 0, 0, 1e-10;  // k as good as known
    const double mean = needed + off;
    const double s = std::sqrt(kSigma * kSigma + sd * sd), z = off / s;
    const double ratio = normal_density(z) / normal_cdf(z);
    const Belief now = after(set, {mean, kLogK}, spread);
    EXPECT_NEAR(now.mean(0), mean + sd * sd * ratio / s, 0.01 * sd) << off;
    EXPECT_NEAR(now.spread(0, 0), sd * sd - std::pow(sd, 4) * ratio * (z + ratio) / (s * s), 0.02 * sd * sd) << off;
  }
}

// Against a fine grid over both unknowns, for every way a set can end.
TEST(SetSite, MomentsAreThoseOfAGrid) {
  std::vector<SetObservation> sets(3);
  sets[0].reps = 6;
  sets[0].stop = Stop::failed;
  sets[1].reps = 8;
  sets[1].stop = Stop::planned;
  sets[1].feeling = Feeling{{1.5, 0, false}, {-INFINITY, 0, false}, {2.5, 0, false}};
  sets[2].reps = 10;
  sets[2].stop = Stop::unknown;
  for (const SetObservation& set : sets) {
    Eigen::Matrix2d spread;
    spread << 0.05 * 0.05, -0.6 * 0.05 * 0.2, -0.6 * 0.05 * 0.2, 0.2 * 0.2;
    const Eigen::Vector2d mean(std::log1p((set.reps + 0.5) / std::exp(kLogK)), kLogK);
    const Eigen::Matrix2d precision = spread.inverse();
    double total = 0;
    Eigen::Vector2d first = Eigen::Vector2d::Zero();
    Eigen::Matrix2d second = Eigen::Matrix2d::Zero();
    for (int i = -60; i <= 60; ++i) {
      for (int j = -60; j <= 60; ++j) {
        const Eigen::Vector2d off(i * 0.05 / 12, j * 0.2 / 12);
        const Eigen::Vector2d there = mean + off;
        const double w = std::exp(
            -0.5 * off.dot(precision * off) +
            set_log_likelihood(set, at(there(0), there(1)), kShape, kSigma, 0, Precision::fine).log_likelihood);
        total += w;
        first += w * off;
        second += w * off * off.transpose();
      }
    }
    first /= total;
    second = second / total - first * first.transpose();
    const Belief now = after(set, mean, spread);
    for (int c = 0; c < 2; ++c) {
      const double sd = std::sqrt(second(c, c));
      EXPECT_NEAR(now.mean(c), mean(c) + first(c), 0.03 * sd) << "reps " << set.reps << " of " << c;
      EXPECT_NEAR(std::sqrt(now.spread(c, c)), sd, 0.03 * sd) << "reps " << set.reps << " of " << c;
    }
  }
}

TEST(SetSite, NothingMovesWithoutASpread) {
  SetObservation set;
  set.reps = 5;
  set.stop = Stop::planned;
  SetSite site;
  EXPECT_EQ(match_site(set, at(0.2, kLogK), kShape, kSigma, -Eigen::Matrix2d::Identity(), site), 0);
  EXPECT_TRUE(site.precision.isZero());
}

}  // namespace
}  // namespace ullage::capacity
