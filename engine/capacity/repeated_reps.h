// Repetitions that repeat themselves: planned beforehand, and not where the lifter happened to stop.
//
// A set that ended for a reason not told is taken for a stop of the lifter's own, some reps short of failure, and says
// in this way what the lifter had. Who does three sets of eight every time, as the plan says, then looks like somebody
// whose failure is always just after the eighth, at any load and however tired: the model can only explain that by a
// strength far above the loads with hardly any endurance (80 kg x 8, twice a week for a year: a bench press of 291 kg,
// 277-305). So the equations do not fit such a log. Its sets tell that so many reps were in them, and nothing more.
#pragma once

#include "engine/capacity/training_log.h"

namespace ullage::capacity {

// Sets that ended for reasons not told, beside the set at the same place in the lift's session before, and beside the
// set of the lift before it in the session.
struct RepeatedReps {
  int beside_session = 0, same_as_session = 0;
  int beside_set = 0, same_as_set = 0;
  // So many the same, in either way, would be one case in ten thousand if every third one were (assumption: of
  // simulated lifters who stop where they like one in nine is, and fewer than one in four of each lifter).
  bool by_plan() const;
};
RepeatedReps repeated_reps(const TrainingLog& log);

// Takes sets with the reps of such a neighbour, before or after, for planned, and says so in the remarks. Others, such
// as a last set of as many reps as there were, stay as they are.
void take_for_planned(TrainingLog& log, const RepeatedReps& found);
// The same for a session of a lifter of whom this is known: every set whose end is not told.
void take_for_planned(TrainingLog& session);

}  // namespace ullage::capacity
