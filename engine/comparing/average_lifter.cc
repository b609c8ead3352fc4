#include "engine/comparing/average_lifter.h"

#include <algorithm>
#include <cmath>

#include "engine/base/random.h"
#include "engine/capacity/priors.h"

namespace ullage::comparing {

capacity::LifterDraws average_lifter(const Exercise& exercise, int n, std::uint64_t seed) {
  Random random(seed, 0xa4e);
  const auto draw = [&](const capacity::Prior& prior) { return random.normal(prior.mean, prior.sd); };
  capacity::LifterDraws out;
  capacity::LiftInfo info;
  info.exercise = exercise.id;
  info.cls = exercise.cls;
  info.shape = capacity::curve_shape(exercise.cls);
  info.known = false;
  out.info = {info};
  out.overlap = {{1}};
  for (int i = 0; i < n; ++i) {
    capacity::Draw d;
    double endurance = 0;
    while (endurance <= 2) endurance = std::exp(draw(capacity::log_endurance(exercise)));
    d.lifts = {{draw({0, std::exp(capacity::kLogDaySd.mean)}), endurance, 0}};
    d.fatigue.a_fast = std::exp(draw(capacity::kLogAFast));
    d.fatigue.a_slow = std::exp(draw(capacity::kLogASlow));
    d.fatigue.tau_fast = std::exp(draw(capacity::kLogTauFast));
    d.fatigue.lam = 1 / (1 + std::exp(-draw(capacity::kLogitLam)));
    d.fatigue.tau_slow = capacity::kTauSlow;
    d.fatigue.rho_f = capacity::kRhoF;
    d.a_day = std::exp(draw(capacity::log_a_day()));
    d.judgement = {draw(capacity::kBias), std::exp(draw(capacity::kLogGain)), std::exp(draw(capacity::kLogSpread)),
                   std::exp(draw(capacity::kLogSpreadRise)), draw(capacity::kCueShift)};
    d.sigma = std::exp(draw(capacity::kLogSigma));
    out.draws.push_back(std::move(d));
  }
  return out;
}

std::vector<double> load_for_reps(const capacity::LifterDraws& draws, int lift, double reps) {
  const auto l = static_cast<std::size_t>(lift);
  std::vector<double> out;
  for (const capacity::Draw& d : draws.draws) {
    out.push_back(d.lifts[l].log_strength - d.lifts[l].residual -
                  capacity::margin_for_reps(reps + 0.5, d.lifts[l].endurance, draws.info[l].shape));
  }
  return out;
}

}  // namespace ullage::comparing
