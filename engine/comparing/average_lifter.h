// A lifter nobody has measured: what the priors alone say of an exercise, as draws. Strength is 1, so that loads are
// shares of it. Intervals are those between lifters, not the doubt about one.
#pragma once

#include <cstdint>

#include "engine/capacity/draws.h"
#include "engine/training/exercise.h"

namespace ullage::comparing {

// n draws from engine/capacity/priors.h; the same seed gives the same draws.
capacity::LifterDraws average_lifter(const Exercise& exercise, int n, std::uint64_t seed);

// log load at which each draw, fresh, does `reps` whole reps and fails at the next: capacity reps + 0.5, the middle of
// what is seen as `reps`.
std::vector<double> load_for_reps(const capacity::LifterDraws& draws, int lift, double reps);

}  // namespace ullage::comparing
