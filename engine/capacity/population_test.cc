#include "engine/capacity/population.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/random.h"

namespace ullage::capacity {
namespace {

TEST(Hint, IsThePosteriorWithoutItsPrior) {
  // Prior N(0, 1), one observation 2 with sd 0.5: posterior mean 1.6, variance 0.2.
  const Hint h = hint_of({1.6, std::sqrt(0.2)}, {0, 1});
  EXPECT_NEAR(h.mean, 2, 1e-12);
  EXPECT_NEAR(h.precision, 4, 1e-12);
  EXPECT_EQ(hint_of({0.01, 0.999}, {0, 1}).precision, 0);  // nothing was learned
}

TEST(Blended, WithoutHintsIsThePublishedPriorAndALittleDoubt) {
  const Prior p = blended({0.8, 0.8}, {});
  EXPECT_DOUBLE_EQ(p.mean, 0.8);
  EXPECT_NEAR(p.sd, 0.8 * std::sqrt(1 + 1 / kPriorLifters), 1e-9);
  const Prior q = blended({0.8, 0.8}, std::vector<Hint>(50));  // fifty lifters whose logs say nothing
  EXPECT_NEAR(q.mean, p.mean, 1e-9);
  EXPECT_NEAR(q.sd, p.sd, 1e-6);
}

TEST(Blended, ManyLiftersWhoAgreeMoveIt) {
  Random random(5);
  std::vector<Hint> hints;
  for (int i = 0; i < 400; ++i) hints.push_back({random.normal(2, std::hypot(0.5, 0.3)), 1 / (0.3 * 0.3)});
  const Prior p = blended({0, 1}, hints);
  EXPECT_NEAR(p.mean, 2, 0.08);  // 8 of 408 still hold out for 0
  EXPECT_NEAR(p.sd, 0.5, 0.12);  // ... and widen it
}

TEST(Blended, OneLifterMovesLittle) {
  const Prior p = blended({0, 1}, {{3, 100}});
  EXPECT_LT(p.mean, 0.4);
  EXPECT_GT(p.sd, 0.9);
}

TEST(Blended, NeverTakesAnybodyForKnown) {
  const Prior p = blended({0, 1}, std::vector<Hint>(1000, Hint{0, 1e4}));
  EXPECT_GE(p.sd, kLeastSpread);
}

TEST(Population, IsWrittenAndReadBack) {
  Population p;
  p.bias = {1.25, 0.5};
  p.endurance["bench-press"] = {3.5, 0.2};
  p.strength_ratio["row"] = {-0.1, 0.125};
  p.lifters = 12;
  const auto back = parse_population(population_text(p));
  ASSERT_TRUE(back);
  EXPECT_EQ(population_text(*back), population_text(p));
  EXPECT_EQ(back->endurance.at("bench-press").mean, 3.5);
  EXPECT_FALSE(parse_population("population 0 0 1\n"));
  EXPECT_FALSE(parse_population(population_text(p) + "bias nan 1\n"));
}

}  // namespace
}  // namespace ullage::capacity
