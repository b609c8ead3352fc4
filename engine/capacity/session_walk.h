// One session's sets in order: the margin each set meets, with its gradient through the fatigue of the
// sets before it. Used alike by the fit and by the live update, so that the formulas stand once.
//
//   x = theta + readiness - share practice - A_day residual - fatigue - log(load)
//
// `local` holds the session's own parameters in the order that SessionLayout tells; the gradient is over
// its first `margin_count` entries. Residual fatigue of earlier sessions comes in as a constant per lift.
#pragma once

#include <Eigen/Core>
#include <functional>
#include <vector>

#include "engine/capacity/set_likelihood.h"
#include "engine/capacity/training_log.h"

namespace ullage::capacity {

// Where each parameter stands in a session's local vector; -1: not there.
struct SessionLayout {
  std::vector<int> lifts;                    // lifts of the log met in this session
  std::vector<int> strength;                 // per entry of lifts
  std::vector<int> endurance;                // per entry of lifts, index of log k
  std::vector<int> practice;                 // per entry of lifts
  std::vector<double> practice_share;        // per entry of lifts: share of the practice offset missing today
  std::vector<double> shape;                 // per entry of lifts
  std::vector<double> residual;              // per entry of lifts: sum of spent margin still felt, per unit of A_day
  std::vector<std::vector<double>> overlap;  // [from][to] entries of lifts
  int day = -1, log_a_fast = -1, log_a_slow = -1, log_tau_fast = -1, logit_lam = -1, log_a_day = -1;
  int margin_count = 0;  // the margin depends on the first so many
  int bias = -1, log_gain = -1, log_spread = -1, log_spread_rise = -1, cue_shift = -1;
  std::vector<int> log_stopping;                                        // per entry of lifts
  std::vector<int> speed_at_failure, log_speed_slope, log_speed_noise;  // per entry of lifts
  int size = 0;
  std::vector<int> entry;             // per set: which entry of lifts
  std::vector<double> sigma_factor;   // per set: 1, or more outside the tested range
  std::vector<double> rest_variance;  // per set: variance of x from an unknown rest
};

struct WalkedSet {
  int set = 0;
  double margin = 0;                // x
  const Eigen::VectorXd* gradient;  // of x, over the first margin_count; valid during the call
  double fatigue_by_log_rest = 0;   // d fatigue / d log rest
};

// Spent margin per entry of lifts, for the residual of later sessions.
using SpentByLift = std::vector<double>;

// with_gradient false: gradient is left empty, faster. No further than to the first `most_sets` sets.
SpentByLift walk_session(const LoggedSession& session, const SessionLayout& layout, const Eigen::VectorXd& local,
                         bool with_gradient, const std::function<void(const WalkedSet&)>& visit,
                         std::size_t most_sets = static_cast<std::size_t>(-1));

// The likelihood's local parameters of one set at this point.
LocalVector local_parameters(const SessionLayout& layout, int entry, double margin, const Eigen::VectorXd& local);
// For each likelihood parameter except kMargin: index in the local vector, -1 when the set does not use it or, with
// Free::own, what all sets share is held.
std::array<int, kLocalCount> local_indices(const SessionLayout& layout, const SetObservation& set, int entry,
                                           Free free = Free::all);
SetObservation observation(const LoggedSet& set);

}  // namespace ullage::capacity
