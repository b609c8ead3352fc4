#include "engine/capacity/priors.h"

#include <algorithm>

#include "engine/base/normal.h"

namespace ullage::capacity {
namespace {

constexpr double kBetweenPeople = 0.22;  // sd of log k between people at one exercise
constexpr double kWithinClass = 0.30;    // and with the exercise unknown
constexpr double kWithinIsolation = 0.35;
constexpr double kUnknownTrainingYears = 2;
constexpr double kUnknownBodyMass = 75;  // kg
constexpr double kBodyMassPower = 2.0 / 3.0;
constexpr int kGrown = 18;
constexpr int kAgeing = 50;

// By how much log strength is lower at this age than between 18 and 50.
double lower_by_age(std::optional<int> age) {
  if (!age) return 0;
  if (*age < kGrown) return 0.05 * (kGrown - std::max(8, *age));
  const int old = std::min(100, *age);
  return 0.012 * std::max(0, old - kAgeing) + 0.012 * std::max(0, old - 70);
}

}  // namespace

Prior log_normal_from_moments(double mean, double sd) {
  const double log_variance = std::log1p((sd / mean) * (sd / mean));
  return {std::log(mean) - log_variance / 2, std::sqrt(log_variance)};
}

double curve_shape(ExerciseClass cls) { return cls == ExerciseClass::isolation ? 0.2 : 1.0; }

Prior log_endurance(ExerciseClass cls) {
  switch (cls) {
    case ExerciseClass::barbell_compound: return {std::log(32.0), kWithinClass};
    case ExerciseClass::supported_compound: return {std::log(40.0), kWithinClass};
    case ExerciseClass::isolation: break;
  }
  return {std::log(36.0), kWithinIsolation};
}

Prior log_endurance(const Exercise& exercise) {
  if (exercise.endurance > 2) return {std::log(exercise.endurance), kBetweenPeople};
  return log_endurance(exercise.cls);
}

double usual_rest_minutes(ExerciseClass cls) {
  switch (cls) {
    case ExerciseClass::barbell_compound: return 3;
    case ExerciseClass::supported_compound: return 2;
    case ExerciseClass::isolation: break;
  }
  return 1.5;
}

Prior log_a_day() {
  const double per_unit = 0.01 / (kDepletionOfSixSets * std::exp(-1.0 / kResidualDecayDays));
  return log_normal_from_moments(per_unit, per_unit);
}

Prior log_stopping_reserve(ExerciseClass) { return {std::log(2.5), 0.5}; }

Prior log_lay_off_loss() {
  // Moments of N(m, s) cut at 0: with a = -m/s and h = phi(a)/(1 - Phi(a)), mean m + s h, variance s^2 (1 + a h - h^2).
  const double a = -kLayOffLoss.mean / kLayOffLoss.sd;
  const double hazard = normal_density(a) / normal_cdf(-a);
  return log_normal_from_moments(kLayOffLoss.mean + kLayOffLoss.sd * hazard,
                                 kLayOffLoss.sd * std::sqrt(1 + a * hazard - hazard * hazard));
}

double absence_loss_days(double absent_days) { return -kAbsenceLossDays * std::expm1(-absent_days / kAbsenceLossDays); }

double absence_memory(double absent_days) {
  return kAbsenceMemory + (1 - kAbsenceMemory) * std::exp(-absent_days / kAbsenceMemoryDays);
}

Prior practice(std::optional<double> training_years) {
  return training_years && *training_years < 0.5 ? Prior{0.17, 0.10} : Prior{0.05, 0.04};
}

Prior trend(std::optional<double> training_years) {
  const double mean = 0.0025 / (1 + 4 * std::max(0.0, training_years.value_or(kUnknownTrainingYears)));
  return {mean, 0.0004 + 0.4 * mean};
}

Prior log_general_level(Sex sex, std::optional<double> body_mass_kg, std::optional<double> training_years,
                        std::optional<int> age) {
  const double untrained = sex == Sex::male ? 65 : sex == Sex::female ? 35 : 48;
  const double unknown_mass =
      age && *age < kGrown ? std::max(30.0, kUnknownBodyMass - 5.0 * (kGrown - *age)) : kUnknownBodyMass;
  const double mass = body_mass_kg && *body_mass_kg > 0 ? *body_mass_kg : unknown_mass;
  const double years = std::max(0.0, training_years.value_or(kUnknownTrainingYears));
  const double spread = sex == Sex::unknown ? 0.45 : 0.35;
  const double mass_spread = body_mass_kg ? 0.0 : 0.15;
  const double mean =
      std::log(untrained) + kBodyMassPower * std::log(mass / kUnknownBodyMass) + 0.2 * std::log1p(years);
  const double sd = std::hypot(spread, mass_spread);
  const double lower = lower_by_age(age);
  if (lower == 0) return {mean, sd};
  return {mean - lower, std::hypot(sd, lower / 2)};
}

Prior log_general_level(const Lifter& lifter, Date day) {
  return log_general_level(lifter.sex, body_mass_on(lifter, day), lifter.training_years, age_on(lifter, day));
}

Prior log_untrained_level(const Lifter& lifter, Date day) {
  return log_general_level(lifter.sex, body_mass_on(lifter, day), 0.0, age_on(lifter, day));
}

Prior log_strength_ratio(const Exercise& exercise) {
  if (exercise.strength_ratio > 0) return {std::log(exercise.strength_ratio), exercise.strength_log_sd};
  switch (exercise.cls) {
    case ExerciseClass::barbell_compound: return {std::log(1.1), 0.6};
    case ExerciseClass::supported_compound: return {std::log(0.9), 0.6};
    case ExerciseClass::isolation: break;
  }
  return {std::log(0.3), 0.6};
}

SpeedPrior speed(std::string_view exercise_id) {
  Prior at_failure{0.25, 0.12};
  if (exercise_id == "bench-press") at_failure = {0.16, 0.04};
  if (exercise_id == "back-squat") at_failure = {0.28, 0.06};
  if (exercise_id == "deadlift") at_failure = {0.14, 0.05};
  if (exercise_id == "overhead-press") at_failure = {0.19, 0.05};
  if (exercise_id == "seal-row") at_failure = {0.52, 0.06};
  return {at_failure, {std::log(0.035), 0.4}, {std::log(0.04), 0.4}};
}

}  // namespace ullage::capacity
