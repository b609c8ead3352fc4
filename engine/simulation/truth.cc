#include "engine/simulation/truth.h"

#include <algorithm>
#include <map>
#include <string>

#include "engine/capacity/priors.h"

namespace ullage::simulation {
namespace {

using capacity::Prior;

// Strength differs this much between the sides of one lifter, log (assumption).
constexpr double kBetweenSides = 0.04;

double draw(const Prior& prior, Random& random) { return random.normal(prior.mean, prior.sd); }

double draw_from_zero_up(const Prior& prior, Random& random) {
  for (;;) {
    const double value = draw(prior, random);
    if (value >= 0) return value;
  }
}

// Log strength of every lift, in kg or marks.
std::vector<double> draw_strengths(const std::vector<SimulatedLift>& lifts, const Background& who, Random& random) {
  const double general = draw(capacity::log_general_level(who.sex, who.body_mass_kg, who.training_years), random);
  std::map<std::string, double> ratio;
  std::vector<double> out;
  for (const SimulatedLift& lift : lifts) {
    if (!ratio.count(lift.exercise.id)) {
      ratio[lift.exercise.id] = draw(capacity::log_strength_ratio(lift.exercise), random);
    }
    double strength = general + ratio[lift.exercise.id];
    if (lift.side != Side::both) strength += random.normal(0, kBetweenSides);
    if (lift.kilograms_per_mark > 0) strength -= std::log(lift.kilograms_per_mark);
    out.push_back(strength);
  }
  return out;
}

}  // namespace

Truth draw_truth(const std::vector<SimulatedLift>& lifts, const Background& background, Random& random) {
  Truth truth;
  truth.fatigue.a_fast = std::exp(draw(capacity::kLogAFast, random));
  truth.fatigue.a_slow = std::exp(draw(capacity::kLogASlow, random));
  truth.fatigue.tau_fast = std::exp(draw(capacity::kLogTauFast, random));
  truth.fatigue.lam = 1 / (1 + std::exp(-draw(capacity::kLogitLam, random)));
  truth.fatigue.tau_slow = capacity::kTauSlow;
  truth.fatigue.rho_f = capacity::kRhoF;
  truth.residual = std::exp(draw(capacity::log_a_day(), random));
  truth.judgement.bias = draw(capacity::kBias, random);
  truth.judgement.gain = std::exp(draw(capacity::kLogGain, random));
  truth.judgement.spread = std::exp(draw(capacity::kLogSpread, random));
  truth.judgement.spread_rise = std::exp(draw(capacity::kLogSpreadRise, random));
  truth.judgement.cue_shift = draw(capacity::kCueShift, random);
  truth.sigma = std::exp(draw(capacity::kLogSigma, random));
  truth.day_sd = std::exp(draw(capacity::kLogDaySd, random));
  truth.layoff_loss = draw_from_zero_up(capacity::kLayOffLoss, random);
  for (int c = 0; c < 3; ++c) {
    truth.stopping_reserve[static_cast<std::size_t>(c)] =
        std::exp(draw(capacity::log_stopping_reserve(static_cast<ExerciseClass>(c)), random));
  }
  const double drift = std::exp(draw(capacity::kLogDrift, random));
  const Prior trend = capacity::trend(background.training_years);
  const std::vector<double> strengths = draw_strengths(lifts, background, random);
  std::map<std::string, double> endurance;
  for (std::size_t i = 0; i < lifts.size(); ++i) {
    const Exercise& exercise = lifts[i].exercise;
    LiftTruth lift;
    lift.log_strength = strengths[i];
    lift.trend_mean = trend.mean;
    lift.trend_sd = trend.sd;
    lift.trend = draw(trend, random);
    lift.drift = drift;
    if (!endurance.count(exercise.id)) {
      double k = 0;
      while (k <= 2) k = std::exp(draw(capacity::log_endurance(exercise), random));
      endurance[exercise.id] = k;
    }
    lift.endurance = endurance[exercise.id];
    lift.shape = capacity::curve_shape(exercise.cls);
    lift.practice = lifts[i].new_here ? draw(capacity::practice(background.training_years), random) : 0;
    const capacity::SpeedPrior speed = capacity::speed(exercise.id);
    lift.speed_at_failure = std::max(0.03, draw(speed.at_failure, random));
    lift.speed_slope = std::exp(draw(speed.log_slope, random));
    lift.speed_noise = std::exp(draw(speed.log_noise, random));
    truth.lifts.push_back(lift);
  }
  return truth;
}

std::vector<double> first_guesses(const std::vector<SimulatedLift>& lifts, const Background& background,
                                  Random& random) {
  std::vector<double> out = draw_strengths(lifts, background, random);
  for (double& guess : out) guess = std::exp(guess);
  return out;
}

}  // namespace ullage::simulation
