// Whether pooling over a roster helps: rosters of simulated lifters who differ from the published priors together, some
// with little data and some with much, fitted with the published priors and again with the roster's own.
//
//   const RosterErrors errors = pooling_errors(3, {.lifters = 24});
//   errors.little.ratio()      // below 1: errors got smaller
#pragma once

#include <functional>
#include <vector>

#include "engine/base/result.h"

namespace ullage::calibration {

struct RosterOptions {
  int lifters = 24;      // of one roster: every other one with little data
  int little_weeks = 2;  // of training
  int much_weeks = 12;
  double departure = 1;  // how far the roster's people lie from the published priors, in prior sds; 0: not at all
  // Told the share done; false stops.
  std::function<bool(double)> progress;
};

// Squared errors over lifters and unknowns (strength, log k, b, log A_slow, reps of the next set), each in units of its
// published prior's sd (reps: of two reps).
struct PooledErrors {
  double published = 0, pooled = 0;
  int n = 0;
  // Root mean square error with the roster's priors over that with the published ones.
  double ratio() const;
  void add(const PooledErrors& other);
};
struct RosterErrors {
  PooledErrors little, much;
};

// number: of the roster; the same number gives the same roster. Errors: as capacity::fit.
Result<RosterErrors> pooling_errors(int number, const RosterOptions& options);

}  // namespace ullage::calibration
