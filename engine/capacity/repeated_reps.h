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
  int beside_uncalled = 0, near_uncalled = 0;  // session before, neither called: within one rep
  // So many the same, in either way, would be one case in ten thousand if every third one were (assumption: of
  // simulated lifters who stop where they like one in nine is, and fewer than one in four of each lifter).
  bool by_plan() const;
  // So many within one rep of the session before would be one case in ten thousand if 55 % were (assumption: of
  // simulated lifters who stop where they like 31 % are, and fewer than half of each lifter). The set noise and a
  // reserve that differs from set to set do not leave room for so even a log: the lifter keeps to a plan, or to an
  // effort, in most sets. Read as stops that have nothing to do with each other the sets would say, more surely the
  // longer the log, that the lifter has hardly any endurance and with it far more strength (three sets of 80 kg for 8
  // or what was there: 125 kg, 110-140, of a lifter of 105 kg).
  bool by_evenness() const;
};
RepeatedReps repeated_reps(const TrainingLog& log);

// Takes sets with the reps of such a neighbour, before or after, for planned, and says so in the remarks. Others, such
// as a last set of as many reps as there were, stay as they are.
void take_for_planned(TrainingLog& log, const RepeatedReps& found);
// Takes all sets whose ends are not told, without a call, for planned but one of each lift, and says so: that one
// tells, once, how near to failure the lifter goes. It is the hardest of its session, and of those of the last four
// weeks three quarters of the way up.
void take_one_for_a_stop(TrainingLog& log, const RepeatedReps& found);
// The same for a session of a lifter of whom this is known: every set whose end is not told.
void take_for_planned(TrainingLog& session);

// Share of the sets that tell of strength which ended for reasons not told, with nothing called. 0 where none tells.
double untold_share(const TrainingLog& log);

}  // namespace ullage::capacity
