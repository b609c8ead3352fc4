#include "engine/capacity/session_walk.h"

#include <algorithm>
#include <cmath>

#include "engine/capacity/fatigue.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/spent_slopes.h"

namespace ullage::capacity {
namespace {

struct Store {
  double fast = 0, slow = 0;
};

double at(const Eigen::VectorXd& local, int index, double otherwise) { return index < 0 ? otherwise : local(index); }

}  // namespace

SpentByLift walk_session(const LoggedSession& session, const SessionLayout& layout, const Eigen::VectorXd& local,
                         bool with_gradient, const std::function<void(const WalkedSet&)>& visit,
                         std::size_t most_sets) {
  const double a_fast = std::exp(local(layout.log_a_fast));
  const double a_slow = std::exp(local(layout.log_a_slow));
  const double tau_fast = std::exp(local(layout.log_tau_fast));
  const double logit = local(layout.logit_lam);
  const double lam = 1 / (1 + std::exp(-logit));
  const double a_day = std::exp(local(layout.log_a_day));
  const std::size_t lift_count = layout.lifts.size();
  const auto n = static_cast<Eigen::Index>(layout.margin_count);

  std::vector<double> endurance(lift_count);
  for (std::size_t l = 0; l < lift_count; ++l) endurance[l] = std::exp(local(layout.endurance[l]));

  std::vector<Store> stores(lift_count);
  // Of each lift's stores, beside each other: 2 l the fast one's, 2 l + 1 the slow one's.
  Eigen::MatrixXd slopes = Eigen::MatrixXd::Zero(n, with_gradient ? static_cast<Eigen::Index>(2 * lift_count) : 0);
  const auto fast_slope = [&](std::size_t l) { return slopes.col(static_cast<Eigen::Index>(2 * l)); };
  const auto slow_slope = [&](std::size_t l) { return slopes.col(static_cast<Eigen::Index>(2 * l + 1)); };
  const auto pass_time = [&](double minutes) {
    if (minutes == 0) return;
    const double keep_fast = std::exp(-minutes / tau_fast);
    const double keep_slow = std::exp(-minutes / kTauSlow);
    for (std::size_t l = 0; l < lift_count; ++l) {
      Store& s = stores[l];
      if (s.fast == 0 && s.slow == 0) continue;
      s.fast *= keep_fast;
      s.slow *= keep_slow;
      if (with_gradient && s.fast != 0) {
        fast_slope(l) *= keep_fast;
        slopes(layout.log_tau_fast, static_cast<Eigen::Index>(2 * l)) += s.fast * minutes / tau_fast;
        slow_slope(l) *= keep_slow;
      }
    }
  };

  SpentByLift spent(lift_count, 0);
  double lasted = 0;  // the set before, minutes
  Eigen::VectorXd gradient = Eigen::VectorXd::Zero(with_gradient ? n : 0);
  for (std::size_t i = 0; i < std::min(most_sets, session.sets.size()); ++i) {
    const LoggedSet& set = session.sets[i];
    const auto lift = static_cast<std::size_t>(layout.entry[i]);
    pass_time(lasted + set.rest_minutes);
    double fatigue = 0;
    double by_log_rest = 0;
    if (with_gradient) gradient.setZero();
    for (std::size_t from = 0; from < lift_count; ++from) {
      const Store& s = stores[from];
      if (s.fast == 0 && s.slow == 0) continue;
      const double share = layout.overlap[from][lift];
      fatigue += share * (s.fast + s.slow);
      by_log_rest -= share * set.rest_minutes * (s.fast / tau_fast + s.slow / kTauSlow);
      if (with_gradient) gradient.noalias() -= share * (fast_slope(from) + slow_slope(from));
    }
    const double residual = a_day * layout.residual[lift];
    const int practice = layout.practice[lift];
    const double x = local(layout.strength[lift]) + local(layout.day) -
                     layout.practice_share[lift] * at(local, practice, 0) - residual - fatigue - set.log_load;
    if (with_gradient) {
      gradient(layout.strength[lift]) += 1;
      gradient(layout.day) += 1;
      if (practice >= 0) gradient(practice) -= layout.practice_share[lift];
      gradient(layout.log_a_day) -= residual;
    }
    visit({static_cast<int>(i), x, &gradient, by_log_rest});

    Store& own = stores[lift];
    const double k = endurance[lift];
    if (with_gradient) {
      const SpentSlopes cost = spend_with_slopes(x, k, layout.shape[lift], set.reps, set.failed, lam, kRhoF);
      own.fast += a_fast * cost.depletion;
      fast_slope(lift).noalias() += (a_fast * cost.depletion_by_margin) * gradient;
      fast_slope(lift)(layout.endurance[lift]) += a_fast * cost.depletion_by_log_k;
      fast_slope(lift)(layout.log_a_fast) += a_fast * cost.depletion;
      own.slow += a_slow * cost.slow;
      slow_slope(lift).noalias() += (a_slow * cost.slow_by_margin) * gradient;
      slow_slope(lift)(layout.endurance[lift]) += a_slow * cost.slow_by_log_k;
      slow_slope(lift)(layout.logit_lam) += a_slow * cost.slow_by_lam * (lam * (1 - lam));
      slow_slope(lift)(layout.log_a_slow) += a_slow * cost.slow;
      spent[lift] += cost.depletion;
    } else {
      const Spent<double> cost = spend<double>(x, k, layout.shape[lift], set.reps, set.failed, lam, kRhoF);
      own.fast += a_fast * cost.depletion;
      own.slow += a_slow * cost.slow;
      spent[lift] += cost.depletion;
    }
    lasted = set.reps * kSecondsPerRep / 60;
  }
  return spent;
}

LocalVector local_parameters(const SessionLayout& layout, int entry, double margin, const Eigen::VectorXd& local) {
  const auto lift = static_cast<std::size_t>(entry);
  LocalVector out{};
  out[kMargin] = margin;
  out[kLogEndurance] = local(layout.endurance[lift]);
  out[kCallBias] = local(layout.bias);
  out[kCallCueShift] = local(layout.cue_shift);
  out[kCallLogGain] = local(layout.log_gain);
  out[kCallLogSpread] = local(layout.log_spread);
  out[kCallLogSpreadRise] = local(layout.log_spread_rise);
  out[kLogStopping] = at(local, layout.log_stopping[lift], 0);
  out[kSpeedAtFailure] = at(local, layout.speed_at_failure[lift], 0);
  out[kLogSpeedSlope] = at(local, layout.log_speed_slope[lift], 0);
  out[kLogSpeedNoise] = at(local, layout.log_speed_noise[lift], 0);
  return out;
}

std::array<int, kLocalCount> local_indices(const SessionLayout& layout, const SetObservation& set, int entry,
                                           Free free) {
  const auto lift = static_cast<std::size_t>(entry);
  std::array<int, kLocalCount> out{-1,
                                   layout.endurance[lift],
                                   layout.bias,
                                   layout.log_gain,
                                   layout.log_spread,
                                   layout.log_spread_rise,
                                   layout.cue_shift,
                                   layout.log_stopping[lift],
                                   layout.speed_at_failure[lift],
                                   layout.log_speed_slope[lift],
                                   layout.log_speed_noise[lift]};
  std::array<bool, kLocalCount> used = depends_on(set);
  if (free == Free::own) std::fill(&used[kCallBias], &used[kSpeedAtFailure], false);
  for (std::size_t p = 1; p < kLocalCount; ++p) {
    if (!used[p]) out[p] = -1;
  }
  return out;
}

SetObservation observation(const LoggedSet& set) {
  SetObservation out;
  out.reps = set.reps;
  out.stop = set.stop;
  out.feeling = set.feeling;
  out.speed = set.speed;
  return out;
}

}  // namespace ullage::capacity
