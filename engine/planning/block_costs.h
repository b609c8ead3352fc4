// What a set costs this lifter, from their capacity model: how much it takes off the strength of later work.
//
//   F = 100 (fast e^(-rest/tau_fast) + slow e^(-rest/tau_slow) + residual) muscles
//
// fast, slow: what the set puts into the two stores (engine/capacity/fatigue.h), left after the usual rest; residual:
// what is still missing at the next session; muscles: how many muscles it is felt in, the sum of involvement, at least
// 1. Mean over the draws. The set is one of the middle of its zone from fresh: a line through a curved thing, since a
// set that starts tired spends less; docs/planning.md reports how well plans keep their rank under the whole model.
#pragma once

#include "engine/capacity/draws.h"
#include "engine/planning/block.h"

namespace ullage::planning {

// In how many muscles an exercise is felt.
double muscles_felt(const Exercise& exercise);
// F of a set that spent so much.
double fatigue_of_spent(const capacity::Spent<double>& spent, const capacity::FatigueConstants& fatigue,
                        double rest_minutes, double residual_share, double muscles);

// residual_share: of the spent margin, still missing after two days (A_day e^-2 of the model).
// reserve 0: one more is tried and missed.
double set_fatigue(const capacity::LifterDraws& draws, int lift, const Exercise& exercise, int reps, int reserve,
                   double rest_minutes, double residual_share);

}  // namespace ullage::planning
