#include "engine/base/normal_mixture.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/normal.h"

namespace ullage {
namespace {

TEST(NormalMixture, OfOnePartIsThatNormal) {
  const NormalMixture one{{0.3, 2, 0.5}};
  EXPECT_DOUBLE_EQ(moments(one).mean, 2);
  EXPECT_NEAR(moments(one).sd, 0.5, 1e-15);
  for (const double p : {0.001, 0.1, 0.5, 0.9, 0.999}) {
    EXPECT_NEAR(quantile(one, p), 2 + 0.5 * normal_quantile(p), 1e-11);
  }
}

TEST(NormalMixture, QuantilesCutOffWhatTheySay) {
  const NormalMixture far{{1, 0, 1}, {2, 0, 0.01}, {1, 5, 0.3}, {0, 100, 1}};
  for (const double p : {0.01, 0.1, 0.2, 0.5, 0.74, 0.76, 0.9, 0.99}) {
    const double x = quantile(far, p);
    double below = 0;
    for (const NormalPart& part : far) below += part.weight * normal_cdf((x - part.mean) / part.sd) / 4;
    EXPECT_NEAR(below, p, 1e-8) << p;
  }
}

TEST(NormalMixture, APartWithoutSpreadIsAStep) {
  const NormalMixture steps{{1, 1, 0}, {1, 3, 0}};
  EXPECT_NEAR(quantile(steps, 0.25), 1, 1e-9);
  EXPECT_NEAR(quantile(steps, 0.75), 3, 1e-9);
}

// Against sums over a fine grid of each part.
TEST(NormalMixture, MomentsOfTheExponential) {
  const NormalMixture mixture{{1, 0.5, 0.3}, {3, 1.0, 0.6}};
  for (const double least : {0.0, 2.05}) {
    double weight = 0, first = 0, second = 0;
    for (const NormalPart& part : mixture) {
      for (double t = -9; t <= 9; t += 1e-3) {
        const double w = part.weight * normal_density(t);
        const double y = std::max(least, std::exp(part.mean + part.sd * t));
        weight += w;
        first += w * y;
        second += w * y * y;
      }
    }
    const double mean = first / weight;
    const MixtureMoments made = exp_moments(mixture, least);
    EXPECT_NEAR(made.mean, mean, 1e-6);
    EXPECT_NEAR(made.sd, std::sqrt(second / weight - mean * mean), 1e-6);
  }
}

}  // namespace
}  // namespace ullage
