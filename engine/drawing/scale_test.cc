#include "engine/drawing/scale.h"

#include <gmock/gmock.h>

#include <cmath>

namespace ullage::drawing {
namespace {

using ::testing::ElementsAre;

TEST(Scale, GoesFromValuesToPlaces) {
  const Scale s = Scale::linear(0, 8).onto(40, 400);
  EXPECT_DOUBLE_EQ(s(0), 40);
  EXPECT_DOUBLE_EQ(s(4), 220);
  EXPECT_DOUBLE_EQ(Scale::linear(0, 8).onto(300, 20)(8), 20);
  EXPECT_DOUBLE_EQ(Scale::log(1, 100).onto(0, 10)(10), 5);
}

TEST(Scale, EndsBecomeRound) {
  const Scale s = Scale::around({0.2, 7.9});
  EXPECT_DOUBLE_EQ(s.low(), 0);
  EXPECT_DOUBLE_EQ(s.high(), 8);
  EXPECT_THAT(s.ticks(5), ElementsAre(0, 2, 4, 6, 8));
  const Scale same = Scale::around({3, 3});
  EXPECT_LT(same.low(), 3);
  EXPECT_GT(same.high(), 3);
  EXPECT_DOUBLE_EQ(Scale::around({NAN, INFINITY}).high(), 1);
  const Scale log = Scale::around({0.3, 40}, true);
  EXPECT_DOUBLE_EQ(log.low(), 0.2);
  EXPECT_DOUBLE_EQ(log.high(), 50);
}

TEST(Scale, ZeroIsATickWithoutASignAndStepsAreExactInText) {
  const Scale s = Scale::around({-0.3, 0.3});
  for (const double t : s.ticks()) {
    if (std::abs(t) < 1e-9) {
      EXPECT_EQ(s.tick_text(t), "0.0");
    }
  }
  EXPECT_EQ(Scale::linear(0, 1).tick_text(0.6), "0.6");
  EXPECT_EQ(Scale::linear(0, 10).tick_text(6), "6");
  EXPECT_EQ(Scale::log(0.1, 10).tick_text(0.5), "0.5");
  EXPECT_EQ(Scale::log(0.1, 10).tick_text(10), "10");
}

TEST(Scale, ManyDecadesAreThinned) {
  const auto ticks = Scale::log(1e-6, 1e6).ticks(5);
  EXPECT_LE(ticks.size(), 8U);
  EXPECT_GE(ticks.size(), 3U);
}

TEST(Scale, DegenerateEndsStillGiveAScale) {
  EXPECT_TRUE(std::isfinite(Scale::linear(5, 5).onto(0, 1)(5)));
  EXPECT_TRUE(std::isfinite(Scale::log(-1, -2).onto(0, 1)(-3)));
}

}  // namespace
}  // namespace ullage::drawing
