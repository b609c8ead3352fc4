#include "engine/planning/stimulus.h"

#include <gtest/gtest.h>

#include <cmath>

namespace ullage::planning {
namespace {

// By hand: 1/(1 + (3/9)^4) = 0.988, 1/(1 + (5/9)^4) = 0.913.
TEST(Stimulus, PlateauLosesLittleNearFailure) {
  EXPECT_DOUBLE_EQ(plateau_growth(0, 9), 1);
  EXPECT_NEAR(plateau_growth(3, 9), 0.99, 0.005);
  EXPECT_NEAR(plateau_growth(5, 9), 0.91, 0.005);
  EXPECT_DOUBLE_EQ(plateau_growth(9, 9), 0.5);
}

// Robinson et al. 2024 run again by a third party: -0.0193 SMCR per rep, p = 0.004 (z = 2.88), on an effect of 0.4
// (assumption).
TEST(Stimulus, LinearSlopeIsThePublishedOneOnATypicalEffect) {
  EXPECT_NEAR(kLinearSlope, 0.0193 / 0.4, 0.0005);
  EXPECT_NEAR(kLinearSlopeSd, 0.0193 / 2.88 / 0.4, 0.0005);
  EXPECT_NEAR(linear_growth(5, kLinearSlope), 0.76, 1e-12);
  EXPECT_EQ(linear_growth(30, 0.05), 0);
}

TEST(Stimulus, ASetIsWorthTheSquareOfItsGrowthRatio) {
  const Reading reading = linear_reading(1000, 7);
  for (std::size_t i = 0; i < reading.draws.size(); i += 97) {
    EXPECT_DOUBLE_EQ(reading.stimulus(i, 4.7), std::pow(reading.draws[i][4], 2));
    // So that at equal sets growth goes by G: the square root undoes the square.
    EXPECT_NEAR(weekly_growth(10 * reading.stimulus(i, 4)) / weekly_growth(10 * reading.stimulus(i, 0)),
                reading.draws[i][4], 1e-12);
  }
  EXPECT_EQ(reading.stimulus(3, -1), 1);  // a miss is a set to failure
  EXPECT_EQ(reading.stimulus(3, 0.99), 1);
  EXPECT_EQ(reading.stimulus(3, 1e9), reading.stimulus(3, kMostShort));
}

TEST(Stimulus, DrawsCarryTheDoubtOfTheParameters) {
  const Reading linear = linear_reading(2000, 1), plateau = plateau_reading(2000, 1);
  double mean = 0, square = 0, log_mean = 0, log_square = 0;
  for (std::size_t i = 0; i < 2000; ++i) {
    const double slope = 1 - linear.draws[i][1];
    mean += slope;
    square += slope * slope;
    const double r50 = 9 / std::pow(1 / plateau.draws[i][9] - 1, 0.25);
    log_mean += std::log(r50);
    log_square += std::log(r50) * std::log(r50);
  }
  mean /= 2000;
  log_mean /= 2000;
  EXPECT_NEAR(mean, 0.048, 1e-4);
  EXPECT_NEAR(std::sqrt(square / 2000 - mean * mean), 0.017, 2e-4);
  EXPECT_NEAR(log_mean, std::log(9), 1e-3);
  EXPECT_NEAR(std::sqrt(log_square / 2000 - log_mean * log_mean), 0.4, 4e-3);
  EXPECT_EQ(plateau_reading(50, 3).draws, plateau_reading(50, 3).draws);
  EXPECT_NE(plateau_reading(50, 3).draws, plateau_reading(50, 4).draws);
}

TEST(Stimulus, MeansFallWithEveryRepShort) {
  for (const Reading& reading : {plateau_reading(256, 1), linear_reading(256, 1)}) {
    const auto mean = reading.mean_stimulus();
    EXPECT_EQ(mean[0], 1);
    for (std::size_t r = 1; r < mean.size(); ++r) EXPECT_LE(mean[r], mean[r - 1]) << reading.name << " " << r;
  }
  // The readings disagree: two reps short costs under 3 % of a set under one, about 18 % under the other.
  EXPECT_GT(plateau_reading(256, 1).mean_stimulus()[2], 0.97);
  EXPECT_NEAR(linear_reading(256, 1).mean_stimulus()[2], std::pow(1 - 2 * 0.048, 2), 0.01);
}

TEST(Stimulus, ATableIsAThirdReading) {
  GrowthTable table{"own evidence", "three studies", {{}, {}}};
  for (int r = 0; r <= kTableShort; ++r) {
    table.draws[0][static_cast<std::size_t>(r)] = 1 - 0.04 * r;
    table.draws[1][static_cast<std::size_t>(r)] = 1;
  }
  const auto reading = table_reading(table, 10, 1);
  ASSERT_TRUE(reading);
  EXPECT_EQ(reading->name, "own evidence");
  int falling = 0;
  for (std::size_t i = 0; i < 10; ++i) {
    if (reading->draws[i][5] == 1) {
      EXPECT_EQ(reading->draws[i][kMostShort], 1);  // what does not fall does not fall beyond the table
      continue;
    }
    ++falling;
    EXPECT_NEAR(reading->draws[i][5], 0.8, 1e-12);
    EXPECT_NEAR(reading->draws[i][15], 0.4, 1e-12);
    EXPECT_EQ(reading->draws[i][kMostShort], 0);
  }
  EXPECT_EQ(falling, 5);

  const auto refused = [&](auto spoil) {
    GrowthTable bad = table;
    spoil(bad);
    const auto result = table_reading(bad, 10, 1);
    return !result && result.error().code == Code::invalid_input;
  };
  EXPECT_TRUE(refused([](GrowthTable& t) { t.name.clear(); }));
  EXPECT_TRUE(refused([](GrowthTable& t) { t.draws.clear(); }));
  EXPECT_TRUE(refused([](GrowthTable& t) { t.draws[1][0] = 0.9; }));
  EXPECT_TRUE(refused([](GrowthTable& t) { t.draws[1][4] = -0.1; }));
  EXPECT_TRUE(refused([](GrowthTable& t) { t.draws[1][4] = std::nan(""); }));
}

// T05-001: no slope for strength. T05-039: diminishing returns, much stronger for strength.
TEST(Stimulus, StrengthAsksForPracticeNotForNearness) {
  EXPECT_EQ(strength_stimulus(0), strength_stimulus(8));
  EXPECT_EQ(weekly_growth(1), 1);
  EXPECT_EQ(weekly_strength(1), 1);
  EXPECT_EQ(weekly_growth(-1), 0);
  for (double sets = 1; sets < 20; ++sets) {
    EXPECT_LT(weekly_strength(sets + 1) / weekly_strength(sets), weekly_growth(sets + 1) / weekly_growth(sets));
  }
}

}  // namespace
}  // namespace ullage::planning
