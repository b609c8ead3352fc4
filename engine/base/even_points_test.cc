#include "engine/base/even_points.h"

#include <gtest/gtest.h>

#include <cmath>

namespace ullage {
namespace {

constexpr std::size_t kSize = EvenNormals::kSize, kDimensions = EvenNormals::kDimensions;
const EvenNormals& points() { return EvenNormals::instance(); }

// As many draws are off by 0.044 (sd).
TEST(EvenNormals, HaveTheMomentsOfNormals) {
  for (std::size_t a = 0; a < kDimensions; ++a) {
    double mean = 0;
    for (std::size_t i = 0; i < kSize; ++i) mean += points().point(i)[a] / kSize;
    EXPECT_NEAR(mean, 0, 1e-12) << a;
    for (std::size_t b = 0; b <= a; ++b) {
      double sum = 0;
      for (std::size_t i = 0; i < kSize; ++i) sum += points().point(i)[a] * points().point(i)[b] / kSize;
      EXPECT_NEAR(sum, a == b ? 1 : 0, 0.03) << a << " " << b;
    }
  }
}

// P(|sum of five| > sqrt(5) z) is 0.2 at z = 1.2816; of as many draws the share has an sd of 0.018.
TEST(EvenNormals, CutOffTailsAsNormalsDo) {
  double beyond = 0;
  for (std::size_t i = 0; i < kSize; ++i) {
    double sum = 0;
    for (const double coordinate : points().point(i)) sum += coordinate;
    beyond += std::fabs(sum) > 1.2815515655446004 * std::sqrt(5.0) ? 1.0 / kSize : 0;
  }
  EXPECT_NEAR(beyond, 0.2, 0.012);
}

// Of 50 in a row 25 lie above 0; of draws 21 to 29.
TEST(EvenNormals, ThoseInARowAreSpreadToo) {
  for (std::size_t from = 0; from + 50 <= kSize; from += 50) {
    for (std::size_t d = 0; d < kDimensions; ++d) {
      int above = 0;
      for (std::size_t i = from; i < from + 50; ++i) above += points().point(i)[d] > 0 ? 1 : 0;
      EXPECT_NEAR(above, 25, 3) << from << " " << d;
    }
  }
}

}  // namespace
}  // namespace ullage
