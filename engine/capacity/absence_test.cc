// How strength passes over a gap: what it always was up to eight weeks without training, a bounded return beyond.
#include <gtest/gtest.h>

#include <cmath>

#include "engine/capacity/latent_field.h"
#include "engine/capacity/priors.h"

namespace ullage::capacity {
namespace {

constexpr PeopleAlike kPeople{4.2, 0.38, 0.35};
const Prior kTrend = trend(2.0);

TEST(Passage, WithoutAbsenceIsToTheBitWhatTheEquationsOfShortGapsSay) {
  const double a = std::log(2.0) / kTrendHalfLifeDays;
  for (const double days : {0.25, 1.0, 3.0, 14.0, 15.5, 40.0, 56.0, 170.0, 900.0}) {
    for (const double excess : {0.0, 2.0, 42.0, 130.0}) {
      const Passage p = passage(days, {excess, 0}, kTrend.mean, kTrend.sd, kPeople);
      const double keep = std::exp(-a * days), t = a * days, variance = kTrend.sd * kTrend.sd;
      EXPECT_EQ(p.hold, 1);
      EXPECT_EQ(p.towards, 0);
      EXPECT_EQ(p.keep, keep);
      EXPECT_EQ(p.reach, -std::expm1(-a * days) / a);
      EXPECT_EQ(p.progress, kTrend.mean * days);
      EXPECT_EQ(p.loss_days, excess);
      const double integrated = t < 0.02 ? variance * days * days * (2 * t / 3) * (1 - 0.75 * t)
                                         : variance / (a * a) * (2 * t - 3 + 4 * keep - keep * keep);
      const Eigen::Matrix2d noise = p.noise(0.005);
      EXPECT_EQ(noise(0, 0), 0.005 * 0.005 * (days + 3 * excess) + integrated);
      EXPECT_EQ(noise(0, 1), variance / a * (1 - keep) * (1 - keep));
      EXPECT_EQ(noise(1, 1), -variance * std::expm1(-2 * t));
    }
  }
}

struct Moved {
  double mean = 0, variance = 0;
};
// Log strength 4.6 known within 0.05, mean trend, the expected loss, after one gap.
Moved after(double gap, const PeopleAlike& people, double level = 4.6, double sd = 0.05) {
  const Passage p = passage(gap, time_off(gap), kTrend.mean, kTrend.sd, people);
  const Prior loss = log_lay_off_loss();
  const double mean_loss = std::exp(loss.mean + loss.sd * loss.sd / 2);
  const double loss_variance = std::expm1(loss.sd * loss.sd) * mean_loss * mean_loss * p.loss_days * p.loss_days;
  return {p.hold * level + p.progress - mean_loss * p.loss_days + p.towards,
          p.hold * p.hold * sd * sd + p.noise(0.004)(0, 0) + loss_variance};
}

TEST(Passage, MovesContinuouslyWithTheGap) {
  Moved before = after(1, kPeople);
  for (double gap = 1.5; gap < 4000; gap += 0.5) {
    const Moved now = after(gap, kPeople);
    EXPECT_NEAR(now.mean, before.mean, 0.002) << gap;
    EXPECT_NEAR(now.variance, before.variance, 0.001) << gap;
    before = now;
  }
  // And with its slope at eight weeks: variance grows on about as fast, loss goes on, only the trend's gain ends.
  const double slope_before = after(56, kPeople).variance - after(54, kPeople).variance;
  const double slope_after = after(58, kPeople).variance - after(56, kPeople).variance;
  EXPECT_GT(slope_after, 0.5 * slope_before);
  EXPECT_LT(slope_after, 2 * slope_before);
}

// Never wider than of somebody never seen, and the lifter's own past still counts.
TEST(Passage, ReturnsTowardsPeopleAlikeWithinTheirSpread) {
  for (const PeopleAlike& people : {kPeople, PeopleAlike{3.0, 0.7, 0.35}, PeopleAlike{std::log(50.0), 1.5, 0.45}}) {
    double widest = 0, farthest = 4.6;
    for (double gap = 60; gap < 20000; gap *= 1.3) {
      const Moved strong = after(gap, people), weak = after(gap, people, 4.0);
      EXPECT_LE(strong.variance, people.sd * people.sd) << gap;
      EXPECT_GT(strong.mean - weak.mean, 0.6 * kAbsenceMemory) << gap;
      EXPECT_LE(strong.mean, farthest) << gap;
      EXPECT_GE(strong.variance, widest) << gap;
      widest = strong.variance;
      farthest = strong.mean;
    }
    EXPECT_GT(farthest, 4.6 - 0.5 * std::fabs(4.6 - people.mean) - 0.25);
    EXPECT_GT(std::sqrt(widest), 0.8 * people.general_sd);
  }
  // Somebody of whom nothing is known stays so: the prior's sd, and 2 % for eight weeks of wandering.
  EXPECT_LT(std::sqrt(after(9000, kPeople, kPeople.mean, kPeople.sd).variance), 1.03 * kPeople.sd);
}

TEST(Passage, TheGeneralLevelOfALiftNeverDoneFadesAlike) {
  const PeopleAlike general{4.1, 0.35, 0.35};
  EXPECT_EQ(fading(0, general).hold, 1);
  EXPECT_EQ(fading(0, general).variance, 0);
  const Fading years = fading(20000, general);
  EXPECT_NEAR(years.hold, kAbsenceMemory, 1e-6);
  EXPECT_NEAR(years.hold * years.hold * 0.35 * 0.35 + years.variance, 0.35 * 0.35, 1e-12);
  EXPECT_NEAR(years.hold * 4.1 + years.towards, 4.1, 1e-12);
}

}  // namespace
}  // namespace ullage::capacity
