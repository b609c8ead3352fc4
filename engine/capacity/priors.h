// Every prior of the capacity model in one place: what is believed before the first set is logged.
//
//   Prior k = log_endurance(bench);   // normal on log k
//   k.mean == std::log(32.0), k.sd == 0.22
//
// A Prior is normal on the scale its name says (log, logit or plain). Row ids (T01-008) name published values in
// tests/published/data/published_values.csv; "(assumption)" marks a number without a published source; what was
// computed in science/ says so. docs/model.md has the same table with the reasons at length.
#pragma once

#include <cmath>
#include <optional>
#include <string_view>

#include "engine/training/exercise.h"
#include "engine/training/lifter.h"

namespace ullage::capacity {

// Normal with this mean and sd, on the scale that the name of the prior says.
struct Prior {
  double mean = 0;
  double sd = 1;
  double precision() const { return 1 / (sd * sd); }
};

// The log-normal whose plain mean and sd are these, as a normal on the log. mean > 0, sd > 0.
Prior log_normal_from_moments(double mean, double sd);

// ---- Capacity curve ------------------------------------------------------------------------------------------------

// p of the curve. 1 for multi-joint lifts: bench press T01-008/009 gives the same k at 80 and 70 % (33.2, 31.7 with
// p = 1). 0.2 for single-joint lifts, whose reps rise much more slowly as the load falls (T05-013, T05-017;
// T01-069..086 from memory); those rows would take p = 0 or below (science/results/curve.csv), so a light
// single-joint set is still forecast too long.
double curve_shape(ExerciseClass cls);

// log k of a class when nothing more is known of the exercise.
//   barbell compound 32: bench press T01-008 (8.8 reps at 80 %), T01-009 (14.1 at 70 %), mean reps + 0.5
//   supported compound 40: between leg press 47 (T01-010, T01-011) and upper-body machines about 36 (lat pulldown
//     T01-058..062, from memory)
//   isolation 36 (p = 0.2): knee extension 46 (T05-017, mean of three sets), curl 39, leg curl 27 at 80 %, 33 over all
//     single-joint rows from 60 to 80 % (T01-069..086 from memory; science/results/curve.csv)
// sd 0.30 = 0.22 between people and 0.20 between exercises of a class (bench 32, squat 36 by T01-089, leg press 47);
// isolation 0.35, since its exercises differ more.
Prior log_endurance(ExerciseClass cls);
// The same for an exercise: the library's own k with sd 0.22 where it has one. 0.22 between people: prior
// prediction of the sd of reps T01-012 (2.51 at 80 %), T01-015 (3.44 at 70 %), T01-013 (4.36 at 60 %) after taking off
// the noise of the 1RM test and of the set (science/results/curve.csv).
Prior log_endurance(const Exercise& exercise);

// ---- Fatigue inside a session (fit in science/, see engine/capacity/fatigue.h) -------------------------------------

// The fitted values for the bench press; personal sd 0.5 (assumption). One pair per lifter for all exercises: the
// squat alone fits A_slow = 0 (T04-003, T04-004; at the boundary), too little to be given its own value.
inline const Prior kLogAFast{std::log(0.46), 0.5};
inline const Prior kLogASlow{std::log(0.29), 0.5};
// Loose in the fit, so they are unknowns of every lifter's fit. A random walk over the repeated fit gives sd 0.87 on
// the log and 0.48 on the logit (science/results/fatigue_constants.csv); 0.5 and 0.95 are kept: they hold the best
// values of every fit with a study left out (tau_fast 0.77-1.12 min, lam 0.29-0.37) within 1.4 sd.
inline const Prior kLogTauFast{std::log(1.5), 0.5};  // minutes
inline const Prior kLogitLam{std::log(0.30 / 0.70), 0.95};
inline constexpr double kTauSlow = 4.7;  // minutes, held
inline constexpr double kRhoF = 0.68;    // reps, held
// An unknown rest is log-normal around the planned or usual one with this log sd (assumption).
inline constexpr double kLogRestSd = 0.4;
// The usual rest in minutes when a log has none at all, by class (common practice, no source).
double usual_rest_minutes(ExerciseClass cls);

// ---- Fatigue left from earlier sessions ----------------------------------------------------------------------------

// sum(D) of six sets to failure at 75 % with the default constants, k = 32, p = 1, 4 minutes of rest (protocol of
// T04-033..041; 11, 9, 9, 9, 8, 9 reps). Computed from fatigue.h; priors_test.cc computes it again.
inline constexpr double kDepletionOfSixSets = 1.647;
// Residual = A_day * sum(D) * exp(-days since), overlap applied, nothing after 72 h (T04-051: differences gone at 48
// h).
inline constexpr double kResidualDecayDays = 1.0;
inline constexpr double kResidualGoneDays = 3.0;
// log of A_day, margin per unit of spent margin at time 0: 1 % +- 1 % of strength 24 h after those six sets, as the
// log-normal of the same mean and sd (assumption; T04-034..041 only give that failure and 1 RIR are 3 % slower at a
// fixed load at 24 h, 3 RIR not).
Prior log_a_day();
// Margin missing so many days after work that spent this much margin in all.
inline double residual_after(double days, double spent, double a_day) {
  return days > kResidualGoneDays ? 0 : a_day * spent * std::exp(-days / kResidualDecayDays);
}

// ---- Judgement -----------------------------------------------------------------------------------------------------

// Checked by prior prediction of T03-008..010, T03-014 and T03-001 (tests/published/judgement_test.cc).
inline constexpr Prior kBias{0.8, 0.8};                  // b, reps; shown bias is b - 0.5
inline constexpr Prior kLogGain{-0.25, 0.3};             // log g
inline const Prior kLogSpread{std::log(0.6), 0.3};       // log s0, reps
inline const Prior kLogSpreadRise{std::log(0.15), 0.4};  // log s1
inline constexpr Prior kCueShift{0.2, 0.4};              // e_cue, reps (assumption)
// log of the usual stopping reserve (reps) of sets whose end is unknown, by class (assumption; the same for all).
Prior log_stopping_reserve(ExerciseClass cls);

// ---- Noise and change over days ------------------------------------------------------------------------------------

// Set noise, natural log: Mitter et al. 2022 (doi:10.1371/journal.pone.0268074), standard error of measurement 1.1 reps
// at 70 % and 0.7 at 90 % bench press; with k = 32 a margin noise of 0.024 and 0.020 a week apart, readiness included.
inline const Prior kLogSigma{std::log(0.025), 0.25};
inline const Prior kLogDrift{std::log(0.004), 0.5};  // q per sqrt(day) (assumption)
// Readiness of the day (assumption; with sigma it stays below the 4.2 % test-retest variation of a 1RM, T01-154).
inline const Prior kLogDaySd{std::log(0.012), 0.4};
// Below 50 % of strength or above 25 reps sigma is multiplied by this (assumption).
inline constexpr double kSigmaOutsideRange = 1.5;

// Loss of log strength per day of a lay-off beyond 14 days (assumption): N+(0.0008, 0.0005), normal cut at 0 ...
inline constexpr Prior kLayOffLoss{0.0008, 0.0005};
inline constexpr double kLayOffFreeDays = 14;
inline constexpr double kLayOffDriftFactor = 2;  // q during a lay-off
// ... and, for the fit, the log-normal with the mean and sd that the cut normal really has (8.59e-4, 4.47e-4).
Prior log_lay_off_loss();

// What a gap without any training does beyond eight weeks, where loss by the day and a random walk would grow without
// end. The table of published values has no row on it, so all four are assumptions. Loss settles: of all days beyond
// the eight weeks, together no more than 180 count (with the mean loss 17 % in all, about what the prior of the general
// level gives to two years of training). What sets a lifter apart from people alike who do not train fades, with 1100
// days, to half of itself and no further; what fades is given back as spread between people, so that no interval ends
// wider than that of a lifter never seen, and the variance grows at first about as fast as before the eight weeks.
inline constexpr double kAbsenceAfterDays = 56;
inline constexpr double kAbsenceLossDays = 180;
inline constexpr double kAbsenceMemory = 0.5;
inline constexpr double kAbsenceMemoryDays = 1100;
// Days of loss that so many days beyond the eight weeks come to: 0 at 0, with slope 1; 180 in the end.
double absence_loss_days(double absent_days);
// Correlation of a lifter's general level before and after so many days beyond the eight weeks: 1 at 0, 0.5 in the end.
double absence_memory(double absent_days);

// Practice offset of a new exercise: learning the lift, not strength. The whole of it is missing in the first session,
// 0.6 of it in the second, nothing after. The untrained people of Hammarstrom et al. 2020 (CC0 teaching data;
// science/results/gains.csv) gained 0.073 to 0.091 in log 1RM between their first two tests alone, and more until the
// third; an offset equal in both sessions would explain none of that. 0.17 (0.10) and the share 0.6 for the untrained
// (less than half a year of training, unknown years count as trained) were chosen on these data, so that agreement with
// them is consistency, not validation; lifters with training behind them learn less: 0.05 (0.04) (assumption).
Prior practice(std::optional<double> training_years);
inline constexpr int kPracticeSessions = 2;
// Share of the offset in this session of the exercise, counted from 1.
constexpr double practice_share(int session) { return session <= 1 ? 1.0 : session == 2 ? 0.6 : 0.0; }

// Trend of log strength per day that a lifter of so many training years tends to; half-life of deviations 60 days
// (assumption). mean 0.0025 / (1 + 4 years): untrained 0.0025 a day, between Hammarstrom et al. 2020 from week 2 to
// week 12 (leg press 0.0027-0.0029, knee extension 0.0034-0.0038), the bench press of 103 women, +28 % in 12 weeks
// (T01-175, 0.0029), and the bench press of Ofsteng et al. (0.0011 if over 14 weeks); the fall with years is an
// assumption (1 year 18 % a year, 3 years 7 %, 10 years 2 %). sd: stationary sd of the trend, 0.0004 + 0.4 mean.
// Unknown years count as 2.
Prior trend(std::optional<double> training_years);
inline constexpr double kTrendHalfLifeDays = 60;

// ---- Cold start ----------------------------------------------------------------------------------------------------

// General strength level: log kg of the bench press 1RM. Men 65 kg, women 35 kg, unknown 48 kg at 75 kg body mass and
// no training; times (body mass / 75)^(2/3) and (1 + years)^0.2; sd 0.35, 0.45 when the sex is unknown, and more when
// body mass is (assumption; T01-179: 27 recreationally trained men 95.5 kg, sd 26.5; Ofsteng et al.: 27 people, sex
// not given, 65 kg, log sd 0.23).
//
// age in whole years, when known and outside 18..50 (common practice, no source; nobody else is changed): lower by 0.05
// a year below 18, down to 8, and by 0.012 a year above 50, 0.024 above 70, up to 100; wider by half of that, in
// quadrature. Below 18 an unknown body mass is taken as 5 kg a year less than 75, at least 30.
Prior log_general_level(Sex sex, std::optional<double> body_mass_kg, std::optional<double> training_years,
                        std::optional<int> age = {});
Prior log_general_level(const Lifter& lifter, Date day);
// The same of people who do not train: what a lifter's level goes back towards in years without training.
Prior log_untrained_level(const Lifter& lifter, Date day);
// log of 1RM total load relative to the general level: the library's ratio and spread, else the class default 1.1,
// 0.9, 0.3 with sd 0.6 (assumption).
Prior log_strength_ratio(const Exercise& exercise);

// log of strength in marks of one machine's stack: any number is possible.
inline const Prior kLogMarks{std::log(50.0), 1.5};

// ---- Speed of the last rep -----------------------------------------------------------------------------------------

// speed = at_failure + slope * rho + noise, m/s, personal.
struct SpeedPrior {
  Prior at_failure;  // m/s at true reserve 0
  Prior log_slope;   // log of m/s per rep of reserve
  Prior log_noise;   // log of the residual sd, m/s
};
// By exercise id: bench press 0.16 (0.04) T06-001, with 0.10 among powerlifters T06-002; squat 0.32 T06-004 and 0.23
// T06-005; deadlift 0.14 (0.05) T06-006; overhead press 0.19 (0.05) T06-008 and seal row (prone bench pull) 0.52 (0.06)
// T06-007, both from memory; others 0.25 (0.12) (assumption). Slope 0.035 m/s a rep: from the load-velocity lines
// T06-010..012 and T06-017..019 (from memory) over the reps the curve gives at 70 and 80 %. Noise 0.04 m/s: personal R2
// 0.84-0.88 against pooled 0.4-0.5 (T06-033, T06-034) and T06-024.
SpeedPrior speed(std::string_view exercise_id);

}  // namespace ullage::capacity
