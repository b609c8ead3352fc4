#include "engine/capacity/priors.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/random.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/fatigue.h"

namespace ullage::capacity {
namespace {

double log_normal_mean(const Prior& p) { return std::exp(p.mean + p.sd * p.sd / 2); }
double log_normal_sd(const Prior& p) { return log_normal_mean(p) * std::sqrt(std::expm1(p.sd * p.sd)); }

TEST(Priors, LogNormalHasTheMomentsAskedFor) {
  const Prior p = log_normal_from_moments(0.3, 0.7);
  EXPECT_NEAR(log_normal_mean(p), 0.3, 1e-12);
  EXPECT_NEAR(log_normal_sd(p), 0.7, 1e-12);
}

TEST(Priors, FatigueConstantsStandOnce) {
  const FatigueConstants c;
  EXPECT_DOUBLE_EQ(std::exp(kLogAFast.mean), c.a_fast);
  EXPECT_DOUBLE_EQ(std::exp(kLogASlow.mean), c.a_slow);
  EXPECT_DOUBLE_EQ(std::exp(kLogTauFast.mean), c.tau_fast);
  EXPECT_NEAR(1 / (1 + std::exp(-kLogitLam.mean)), c.lam, 1e-12);
  EXPECT_DOUBLE_EQ(kTauSlow, c.tau_slow);
  EXPECT_DOUBLE_EQ(kRhoF, c.rho_f);
}

// Six sets to failure at 75 %, k = 32, 4 minutes of rest: what A_day multiplies, and the 1 % +- 1 % at 24 h.
TEST(Priors, ResidualIsOnePercentADayAfterSixSetsToFailure) {
  const FatigueConstants c;
  const Curve bench{32, 1};
  FatigueStores stores;
  double depletion = 0;
  for (int set = 0; set < 6; ++set) {
    const double margin = -std::log(0.75) - stores.total();
    const int reps = static_cast<int>(reps_to_failure(margin, bench));
    const auto spent = spend<double>(margin, bench.endurance, bench.shape, reps, true, c.lam, c.rho_f);
    depletion += spent.depletion;
    stores.add(spent, c);
    stores.rest(4, c);
  }
  EXPECT_NEAR(depletion, kDepletionOfSixSets, 5e-4);
  const double after_a_day = depletion * std::exp(-1 / kResidualDecayDays);
  EXPECT_NEAR(log_normal_mean(log_a_day()) * after_a_day, 0.01, 1e-5);
  EXPECT_NEAR(log_normal_sd(log_a_day()) * after_a_day, 0.01, 1e-5);
}

// The log-normal used in the fit has the mean and sd of the normal cut at zero, here counted from draws.
TEST(Priors, LayOffMatchesTheCutNormal) {
  Random random(5);
  double sum = 0, square = 0;
  constexpr int kDraws = 400000;
  for (int i = 0; i < kDraws;) {
    const double u = random.normal(kLayOffLoss.mean, kLayOffLoss.sd);
    if (u <= 0) continue;
    sum += u;
    square += u * u;
    ++i;
  }
  const double mean = sum / kDraws;
  const double sd = std::sqrt(square / kDraws - mean * mean);
  const Prior p = log_lay_off_loss();
  // Counting error of the mean: 4.4e-4 / sqrt(400000) = 7e-7; of the sd about the same. Four of them allowed.
  EXPECT_NEAR(log_normal_mean(p), mean, 2.8e-6);
  EXPECT_NEAR(log_normal_sd(p), sd, 2.8e-6);
}

TEST(Priors, AnExercisesOwnEnduranceGoesBeforeTheClass) {
  Exercise exercise;
  exercise.cls = ExerciseClass::supported_compound;
  EXPECT_DOUBLE_EQ(log_endurance(exercise).mean, std::log(40.0));
  exercise.endurance = 47;
  EXPECT_DOUBLE_EQ(log_endurance(exercise).mean, std::log(47.0));
  EXPECT_LT(log_endurance(exercise).sd, log_endurance(exercise.cls).sd);
}

TEST(Priors, StrengthRatioOfTheLibraryGoesBeforeTheClass) {
  Exercise exercise;
  const double wide = log_strength_ratio(exercise).sd;
  exercise.strength_ratio = 1;
  EXPECT_DOUBLE_EQ(log_strength_ratio(exercise).mean, 0);
  EXPECT_DOUBLE_EQ(log_strength_ratio(exercise).sd, exercise.strength_log_sd);
  EXPECT_LT(exercise.strength_log_sd, wide);
}

// Every class keeps k above 2 (the curve's limit) six sd out, so that m(0) is defined.
TEST(Priors, EnduranceStaysInsideTheCurvesRange) {
  for (const auto cls :
       {ExerciseClass::barbell_compound, ExerciseClass::supported_compound, ExerciseClass::isolation}) {
    const Prior k = log_endurance(cls);
    EXPECT_GT(std::exp(k.mean - 6 * k.sd), 2);
    EXPECT_GE(curve_shape(cls), 0);
  }
}

TEST(Priors, MoreIsBelievedOfTheTrainedAndTheHeavierAndLessOfTheirTrend) {
  EXPECT_GT(log_general_level(Sex::male, 90, 3).mean, log_general_level(Sex::male, 70, 3).mean);
  EXPECT_GT(log_general_level(Sex::female, 60, 5).mean, log_general_level(Sex::female, 60, 0).mean);
  EXPECT_GT(log_general_level(Sex::unknown, {}, {}).sd, log_general_level(Sex::female, 60, 1).sd);
  EXPECT_GT(trend(0).mean, trend(1).mean);
  EXPECT_DOUBLE_EQ(trend({}).mean, trend(2).mean);
  EXPECT_DOUBLE_EQ(trend(-3).mean, trend(0).mean);
}

// Between 18 and 50, or with the age unknown, the prior is to the bit what it is without an age; outside it is lower
// and wider, the more the farther.
TEST(Priors, AgeOutsideEighteenToFiftyOnlyLowersAndWidens) {
  for (const Sex sex : {Sex::unknown, Sex::female, Sex::male}) {
    for (const std::optional<double> mass : {std::optional<double>{}, std::optional<double>{62}}) {
      const Prior plain = log_general_level(sex, mass, 2);
      for (const int age : {18, 19, 30, 49, 50}) {
        EXPECT_EQ(log_general_level(sex, mass, 2, age).mean, plain.mean);
        EXPECT_EQ(log_general_level(sex, mass, 2, age).sd, plain.sd);
      }
      Prior last = plain;
      for (int age = 51; age <= 100; ++age) {
        const Prior p = log_general_level(sex, mass, 2, age);
        EXPECT_LT(p.mean, last.mean);
        EXPECT_GT(p.mean, last.mean - 0.03);
        EXPECT_GE(p.sd, last.sd);
        last = p;
      }
      last = plain;
      for (int age = 17; age >= 8; --age) {
        const Prior p = log_general_level(sex, mass, 2, age);
        EXPECT_LT(p.mean, last.mean);
        EXPECT_GE(p.sd, last.sd);
        last = p;
      }
      for (const int age : {-1, 0, 3}) EXPECT_LE(log_general_level(sex, mass, 2, age).mean, last.mean);
      EXPECT_EQ(log_general_level(sex, mass, 2, 130).mean, log_general_level(sex, mass, 2, 100).mean);
    }
  }
  // A man of 80: about 0.6 of one of 30, and a girl of 14 whose body mass is not known about two thirds of a woman.
  EXPECT_NEAR(std::exp(log_general_level(Sex::male, 75, 2, 80).mean - log_general_level(Sex::male, 75, 2, 30).mean),
              0.62, 0.01);
  EXPECT_NEAR(std::exp(log_general_level(Sex::female, {}, 0, 14).mean - log_general_level(Sex::female, {}, 0, 25).mean),
              0.67, 0.01);
}

TEST(Priors, ALiftersAgeIsThatOfTheDay) {
  Lifter lifter;
  lifter.sex = Sex::female;
  lifter.born = make_date(1960, 5, 4);
  EXPECT_EQ(log_general_level(lifter, *make_date(2010, 6, 1)).mean, log_general_level(Sex::female, {}, {}).mean);
  EXPECT_EQ(log_general_level(lifter, *make_date(2040, 6, 1)).mean, log_general_level(Sex::female, {}, {}, 80).mean);
  EXPECT_LT(log_untrained_level(lifter, *make_date(2040, 6, 1)).mean,
            log_untrained_level(lifter, *make_date(2000, 6, 1)).mean);
}

}  // namespace
}  // namespace ullage::capacity
