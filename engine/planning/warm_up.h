// The warm-up ramp before the first work set of an exercise (common practice, no source).
#pragma once

#include <vector>

#include "engine/training/exercise.h"

namespace ullage::planning {

inline constexpr double kSetUpSeconds = 60;        // from one exercise to the next (assumption)
inline constexpr double kWarmUpRestSeconds = 60;   // between warm-up sets (assumption)
inline constexpr double kAfterWarmUpSeconds = 90;  // longest rest between the last warm-up and the work sets
inline constexpr double kWarmedOverlap = 0.5;      // overlap with an exercise already done that counts as warmed

struct WarmUp {
  int load = 0;  // index into the loads
  int reps = 5;
};

// Rising loads below the work load with falling reps. More steps for free-bar lifts and for loads near strength,
// fewer when the muscles are warm already; none for a warm single-joint lift. totals: total loads, rising; `work`:
// index of the first work load; work_share: its share of strength. Steps that no load fits are left out.
std::vector<WarmUp> warm_up_ramp(ExerciseClass cls, const std::vector<double>& totals, int work, double work_share,
                                 bool warmed);

}  // namespace ullage::planning
