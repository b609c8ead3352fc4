// Lanes against the C++ library's exp and erfc, which glibc keeps within 1 unit in the last place.
#include "engine/base/lanes.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "engine/base/normal.h"

namespace ullage {
namespace {

TEST(Lanes, ExpAgreesWithTheLibrary) {
  double worst = 0;
  for (double x = -690; x < 690; x += 0.0371) {
    const Lanes got = exp(Lanes{x, -x, x * 0.001, x * 0.01});
    worst = std::max({worst, std::fabs(got[0] / std::exp(x) - 1), std::fabs(got[1] / std::exp(-x) - 1),
                      std::fabs(got[2] / std::exp(x * 0.001) - 1), std::fabs(got[3] / std::exp(x * 0.01) - 1)});
  }
  EXPECT_LT(worst, 5e-16);
  EXPECT_GT(exp(lanes(-1e9))[0], 0);
  EXPECT_TRUE(std::isfinite(exp(lanes(1e9))[0]));
}

TEST(Lanes, LogAgreesWithTheLibrary) {
  double worst = 0, worst_near_one = 0;
  for (double x = -690; x < 690; x += 0.0371) {
    const double given = std::exp(x);
    worst = std::max(worst, std::fabs(log(Lanes{1, 2, given, 3})[2] / std::log(given) - 1));
  }
  for (double x = 0.6; x < 1.7; x += 0.000317) {
    worst_near_one = std::max(worst_near_one, std::fabs(log(lanes(x))[0] - std::log(x)));
  }
  EXPECT_LT(worst, 1e-15);
  EXPECT_LT(worst_near_one, 2e-16);
  EXPECT_EQ(log(lanes(1))[0], 0);
}

TEST(Lanes, WholeNumbersBelowAndAbove) {
  for (double x = -7.5; x < 7.6; x += 0.125) {
    EXPECT_EQ(whole_below(lanes(x))[1], std::floor(x)) << x;
    EXPECT_EQ(whole_above(lanes(x))[2], std::ceil(x)) << x;
  }
}

TEST(Lanes, TailAgreesWithTheLibrary) {
  const NormalTail& table = NormalTail::instance();
  double worst = 0;
  for (double a = 0; a < 37; a += 0.0137) {
    const double got = normal_end(lanes(a), table).tail[0];
    worst = std::max(worst, std::fabs(got / normal_cdf(-a) - 1));
  }
  EXPECT_LT(worst, 1e-12);
  worst = 0;
  for (double a = 0; a < 37; a += 0.0137) {
    worst = std::max(worst, std::fabs(normal_end(lanes(a), table, 14).tail[0] / normal_cdf(-a) - 1));
  }
  EXPECT_LT(worst, 1e-7);
}

TEST(Lanes, IntervalsAgreeAlsoWithinOneTail) {
  const NormalTail& table = NormalTail::instance();
  for (double low = -12; low < 12; low += 0.61) {
    for (const double width : {0.01, 0.3, 2.0, 20.0}) {
      const double got = normal_between(normal_end(lanes(low), table), normal_end(lanes(low + width), table))[2];
      const double want = normal_between(low, low + width);
      EXPECT_NEAR(got / want, 1, 1e-12 + 1e-13 / width) << low << " " << width;
    }
  }
  const NormalEnd one = normal_end(lanes(1), table);
  const NormalEnd nowhere = normal_end(lanes(INFINITY), table);
  EXPECT_NEAR(normal_between(one, nowhere)[0], normal_cdf(-1), 1e-13);
  EXPECT_EQ(normal_between(nowhere, one)[0], 0);
}

}  // namespace
}  // namespace ullage
