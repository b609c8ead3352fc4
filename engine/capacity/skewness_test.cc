#include "engine/capacity/skewness.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "engine/base/normal.h"

namespace ullage::capacity {
namespace {

struct Moments {
  double mean = 0, sd = 0, skewness = 0;
};

// Of x where y is normal(middle, sd), by a sum over a fine grid.
Moments moments_of(const Skew& skew) {
  double first = 0, second = 0, third = 0;
  constexpr double kStep = 0.001;
  for (double z = -8; z < 8; z += kStep) {
    const double x = Skewing(skew)(skew.middle + skew.sd * z), weight = kStep * normal_density(z);
    first += weight * x;
    second += weight * x * x;
    third += weight * x * x * x;
  }
  const double variance = second - first * first;
  return {first, std::sqrt(variance),
          (third - 3 * first * second + 2 * first * first * first) / std::pow(variance, 1.5)};
}

TEST(Skewness, HasTheMomentsItSays) {
  for (const double skewness : {-0.9, -0.4, 0.0, 0.1, 0.45, 0.9}) {
    const Moments got = moments_of({skewness, 4.5, 0.05});
    EXPECT_NEAR(got.mean, 4.5, 0.003 * 0.05) << skewness;
    EXPECT_NEAR(got.sd, 0.05, 0.01 * 0.05) << skewness;
    EXPECT_NEAR(got.skewness, skewness, 0.05 * std::fabs(skewness) + 1e-6) << skewness;
  }
}

TEST(Skewness, RisesEverywhereAndComesBack) {
  for (const double skewness : {-0.9, -0.2, 0.0, 1e-6, 0.3, 0.9}) {
    const Skewing skewing({skewness, 4.5, 0.05});
    double before = -1e9;
    for (double y = 4; y < 5; y += 0.003) {
      const double x = skewing(y);
      EXPECT_GT(x, before) << skewness << " " << y;
      EXPECT_NEAR(skewing.inverse(x), y, 1e-12) << skewness << " " << y;
      EXPECT_NEAR(skewing.slope(y), (skewing(y + 1e-6) - skewing(y - 1e-6)) / 2e-6, 1e-5) << y;
      before = x;
    }
  }
}

// The log of a Gamma variable, log density a t - e^t at the best place t = log a: mean, sd and skewness are those of
// the polygamma functions at whole numbers, -gamma + sum 1/k, pi^2/6 - sum 1/k^2 and -2 zeta(3) + 2 sum 1/k^3 (Digital
// Library of Mathematical Functions 5.4.14, 5.15.2 and 5.15.5, from memory).
TEST(Skewness, OfADensityIsThatOfTheLogOfAGammaVariable) {
  constexpr double kZeta3 = 1.2020569031595943;
  for (const int a : {4, 10, 40}) {
    double variance = std::numbers::pi * std::numbers::pi / 6, third = -2 * kZeta3, mean = -std::numbers::egamma;
    for (int k = 1; k < a; ++k) {
      mean += 1.0 / k;
      variance -= 1.0 / (k * k);
      third += 2.0 / (static_cast<double>(k) * k * k);
    }
    const double exact = third / std::pow(variance, 1.5), sd = 1 / std::sqrt(a);
    const auto log_density = [&](double z) { return a * (sd * z) - a * std::expm1(sd * z); };
    const double got = skewness_of({log_density(-2), log_density(-1), log_density(1), log_density(2)});
    // Its tails fall as a normal's do, so that it is a little less skewed.
    EXPECT_LT(got, 0.8 * exact) << a;
    EXPECT_GT(got, 1.02 * exact) << a;
    const auto shape = shape_of({log_density(-2), log_density(-1), log_density(1), log_density(2)});
    ASSERT_TRUE(shape);
    EXPECT_NEAR(shape->mean, (mean - std::log(a)) / sd, 0.02) << a;
    EXPECT_NEAR(shape->sd, std::sqrt(variance) / sd, 0.1 / a) << a;  // the same tails
  }
}

// A mixture of two, against a sum over a fine grid of each.
TEST(Skewness, OverAMixtureQuantilesAndMomentsAreThoseOfTheUnknown) {
  const SkewedMixture mixture{{{0.7, 4.48, 0.05}, {0.3, 4.55, 0.03}}, {0.5, 4.5, 0.06}};
  const Skewing skewing(mixture.skew);
  double mean = 0, square = 0, exp_mean = 0, exp_square = 0;
  constexpr double kStep = 0.001;
  for (const NormalPart& part : mixture.stand_in) {
    for (double z = -8; z < 8; z += kStep) {
      const double x = skewing(part.mean + part.sd * z), weight = part.weight * kStep * normal_density(z);
      mean += weight * x;
      square += weight * x * x;
      exp_mean += weight * std::exp(x);
      exp_square += weight * std::exp(2 * x);
    }
  }
  const double sd = std::sqrt(square - mean * mean), exp_sd = std::sqrt(exp_square - exp_mean * exp_mean);
  EXPECT_NEAR(moments(mixture).mean, mean, 0.005 * sd);
  EXPECT_NEAR(moments(mixture).sd, sd, 0.01 * sd);
  EXPECT_NEAR(exp_moments(mixture).mean, exp_mean, 0.005 * exp_sd);
  EXPECT_NEAR(exp_moments(mixture).sd, exp_sd, 0.01 * exp_sd);
  for (const double p : {0.1, 0.5, 0.9}) {
    double below = 0;
    const double x = quantile(mixture, p);
    for (const NormalPart& part : mixture.stand_in)
      below += part.weight * normal_cdf((skewing.inverse(x) - part.mean) / part.sd);
    EXPECT_NEAR(below, p, 1e-9);
  }
}

// The sum of a skewed thing and of one that is not: third moments add up.
TEST(Skewness, ThinsOutAsWhatIsNotSkewedIsAdded) {
  const Skew before{0.6, 4.5, 0.05};
  const Skew same = brought_forward(before, {4.52, 0.04}, {4.53, 0.04}, 1);
  EXPECT_NEAR(same.skewness, 0.6, 1e-12);
  EXPECT_NEAR(same.middle, 4.51, 1e-12);
  EXPECT_NEAR(same.sd, 0.05, 1e-12);
  const Skew later = brought_forward(before, {4.5, 0.05}, {4.4, std::hypot(0.9 * 0.05, 0.04)}, 0.9);
  EXPECT_NEAR(later.sd, std::hypot(0.9 * 0.05, 0.04), 1e-12);
  EXPECT_NEAR(later.skewness * std::pow(later.sd, 3), 0.6 * std::pow(0.9 * 0.05, 3), 1e-12);
  EXPECT_NEAR(later.middle, 4.4, 1e-12);
}

TEST(Skewness, OfANormalAndOfWhatIsNoDensityIsNone) {
  EXPECT_NEAR(skewness_of({-2, -0.5, -0.5, -2}), 0, 1e-12);
  EXPECT_NEAR(skewness_of({-2 - 0.2, -0.5 - 0.1, -0.5 + 0.1, -2 + 0.2}), 0, 0.02);  // a normal with another middle
  EXPECT_EQ(skewness_of({std::nan(""), -0.5, -0.5, -2}), 0);
  EXPECT_EQ(skewness_of({-0.1, -0.5, -0.5, -2}), 0);
  EXPECT_EQ(skewness_of({-2, -0.5, 0.5, 0.6}), 0);
  EXPECT_LE(std::fabs(skewness_of({-40, -6, -0.2, -0.5})), kMostSkewness);
}

}  // namespace
}  // namespace ullage::capacity
