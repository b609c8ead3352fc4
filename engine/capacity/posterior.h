// What a fit leaves: a Gaussian mixture over everything forecasts need, with the version of the model.
// Forecasts and live updates work from this and never refit.
#pragma once

#include <Eigen/Core>
#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/normal_mixture.h"
#include "engine/base/result.h"
#include "engine/capacity/draws.h"
#include "engine/capacity/session_forecast.h"
#include "engine/capacity/skewness.h"
#include "engine/capacity/training_log.h"

namespace ullage::capacity {

// Changes whenever stored posteriors must be made again.
inline constexpr int kModelVersion = 10;

// One outer point: scale parameters held, the rest Gaussian.
struct Component {
  double weight = 1;
  double sigma = 0.025;   // set noise
  double drift = 0.004;   // q, natural log per sqrt(day)
  double day_sd = 0.012;  // readiness
  Eigen::VectorXd mean;   // see Posterior::index
  Eigen::MatrixXd covariance;
};

// One point of the estimated strength over time, for pictures.
struct StrengthPoint {
  Date date;
  double median = 0, lo80 = 0, hi80 = 0;  // kg total load (or marks)
};

struct LiftSummary {
  std::string exercise;
  Side side = Side::both;
  ExerciseClass cls = ExerciseClass::isolation;
  bool marks = false;
  Interval strength;      // total load, kg
  Interval endurance;     // k
  Interval fatigability;  // reps lost on set 2 at the usual rest, load of the usual 8 reps
  Interval fatigability_set4;
  Interval trend_pct_per_week;
  double learned = 0;  // 1 - (posterior sd / prior sd)^2 of log strength
  double learned_fatigability = 0;
  int sets_used = 0;
  Date first, last;
  double usual_rest_minutes = 2;
  double shape = 1;
  // Days of lay-off between `last` and Posterior::as_of beyond the free 14, and of these beyond 56.
  double lay_off_excess = 0, lay_off_absent = 0;
  double untrained_log_mean = 0;  // log strength of people alike who do not train
  double prior_log_sd = 0;        // sd of log strength before any set of this lift
  bool new_here = false;
  int sessions = 0;
  int endurance_index = 0;
  double seen_margin_low = 0, seen_margin_high = 0;
  std::string place;  // only for marks
  std::vector<StrengthPoint> history;
};

struct CalledPoint {
  double called = 0;
  Interval true_reserve;
};

// A set that looks mis-typed: the model gave it no weight.
struct SuspectSet {
  int record = 0;      // index into the records given to prepare
  std::string reason;  // "a load of about 100 kg would fit: 1000 kg was written"
};

struct Posterior {
  int model_version = kModelVersion;
  Date as_of;  // last session that was used
  std::string lifter;
  std::vector<LiftSummary> lifts;
  std::vector<Component> components;
  // By variable of `index`: how it leans over what the components hold of it. Only log strengths do.
  std::vector<Skew> skews;
  // Skewness of the logs of sigma, drift and day_sd, whose means and sds are those of the components' points.
  std::array<double, 3> scale_skewness{};
  double learned_judgement = 0;
  Interval bias_reps;                  // positive: has more than they say
  std::vector<CalledPoint> at_called;  // called 0..5
  Interval readiness;                  // of the last session, natural log
  // Per lift: spent margin of the last sessions by whole days before as_of (0..3), overlap applied; times
  // A_day exp(-days) it is the residual fatigue.
  std::vector<std::array<double, 4>> residual_by_age;
  std::vector<SuspectSet> suspects;
  std::vector<std::string> remarks;  // not converged, one set only, ...
  double general_prior_mean = 0, general_prior_sd = 0;
  double untrained_mean = 0;                  // of the general level of people alike who do not train
  double absent_days = 0;                     // up to as_of, beyond 56 of each gap without training
  double trend_mean = 0, trend_sd = 0;        // of the prior, per day
  double practice_mean = 0, practice_sd = 0;  // of the prior, of an exercise never done
  int set_count = 0, session_count = 0;
  bool converged = true;
  bool reps_planned = false;   // ends that are not told are those of planned sets (repeated_reps.h)
  bool felt_each_rep = false;  // waits for a cue with a feeling that starts afresh at each rep (felt_each_rep.h)

  // Layout of Component::mean and of skews. -1 where absent.
  struct Index {
    int general = 0;  // L: general level, log kg of the bench press
    int log_a_fast = 0, log_a_slow = 0, log_tau_fast = 0, logit_lam = 0, log_a_day = 0;
    int bias = 0, log_gain = 0, log_spread = 0, log_spread_rise = 0, cue_shift = 0;
    int log_layoff = 0;
    int readiness = -1;                // of the last session; -1 when there is none
    std::vector<int> strength, trend;  // per lift
    std::vector<int> log_endurance;    // per exercise in the log
    std::vector<int> practice;         // per lift, -1 when not new
    int size = 0;
  } index;

  // Draws for these exercises on a day, brought forward from as_of: trend, drift, lay-off, readiness of that
  // day, residual fatigue. Exercises never done come from the general level with the library's ratio and
  // spread (cold start). The same seed gives the same draws. n: 100..4000. Cost about 1 us per draw and lift.
  struct Wanted {
    Exercise exercise;
    Side side = Side::both;
  };
  // A day before as_of counts as as_of. On as_of itself the readiness of that session is used, and its own sets are not
  // counted as residual: play them with SessionForecast::happened.
  LifterDraws draw(const std::vector<Wanted>& wanted, Date day, double body_mass_kg, int n, std::uint64_t seed) const;
  // The same without readiness, residual fatigue and practice of the day: strength as such.
  LifterDraws draw_rested(const std::vector<Wanted>& wanted, Date day, int n, std::uint64_t seed) const;
  // Log strength as such of lifts[lift] on a day, as draw_rested has it: a skewed mixture of normals, one for each
  // component, several where there is a loss of lay-off, which is log-normal, since. Its quantiles have no noise, as
  // those of draws have.
  SkewedMixture rested_log_strength(std::size_t lift, Date day) const;
  // log k of lifts[lift], likewise; k itself is never below kLeastEndurance.
  NormalMixture log_endurance_of(std::size_t lift) const;
  // A variable of `index` as it is from what a component holds of it, and back.
  Skewing skewing(int variable) const { return Skewing(skews[static_cast<std::size_t>(variable)]); }
  // Index of this lift in `lifts`, -1 when never done.
  int find_lift(const std::string& exercise, Side side) const;

 private:
  LifterDraws draw_on(const std::vector<Wanted>& wanted, Date day, double body_mass_kg, int n, std::uint64_t seed,
                      bool with_day) const;
};

// Exact binary text of a posterior and back; a different model version is refused with newer_version.
std::string serialise(const Posterior& posterior);
Result<Posterior> deserialise(std::string_view bytes);

}  // namespace ullage::capacity
