// Sets that were never meant to come near failure: warm-ups that nobody marked, the first sets of a wave or a ramp, the
// sets of a lighter week.
//
// A set that ended for a reason not told is taken for a stop of the lifter's own, some reps short of failure. Five reps
// at 65 % on the way to five at 85 % are no such thing. Taken for one, they can only be explained by hardly any
// endurance with far more strength than was shown (percentage waves of a 125 kg bench press: 151 kg, 137-167). That
// more was in the lifter the log itself shows: a heavier set, later the same day or in a session next to it.
#pragma once

#include "engine/capacity/training_log.h"

namespace ullage::capacity {

struct LightSets {
  int compared = 0;  // sets whose ends are not told
  int light = 0;     // of these, clearly light beside what the log shows
  // So many would be one case in ten thousand if one in four were (assumption: of simulated lifters who stop where they
  // like one in ten is, and in nine of ten lifters fewer than one in five).
  bool by_plan() const;
};
LightSets light_sets(const TrainingLog& log);

// Takes them for planned, and says so in the remarks: so many reps were in the lifter, and no more is told.
void take_light_for_planned(TrainingLog& log, const LightSets& found);

}  // namespace ullage::capacity
