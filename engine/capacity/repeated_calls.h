// Calls that repeat themselves: written from the plan, or from memory, and not felt in the set.
//
// The set noise alone (sd 0.025, about 0.8 reps) makes a felt call differ between two sessions more often than not. A
// log in which it hardly ever does is explained by the model in a way that nobody believes: a judgement that barely
// answers to what is left (g 0.3, s0 0.15), and with it far more strength than the reps show. The sampler agrees that
// this is what the equations then say (log "regular" in science/stan). So the equations do not fit such a log; its
// calls are one call, said many times, and only the last session's count.
#pragma once

#include "engine/capacity/training_log.h"

namespace ullage::capacity {

// Calls set beside those of the session before, in the same lift and place, of sets with the same reps. "5+" and stops
// on a cue do not count.
struct RepeatedCalls {
  int compared = 0;
  int same = 0;
  // So many the same would be one chance in ten thousand if every second one were (assumption: about one in three is
  // for the priors of judgement and set noise).
  bool by_habit() const;
};
RepeatedCalls repeated_calls(const TrainingLog& log);

// The same whatever the reps, of sets whose ends are not told: the lifter stops on that feeling, as on a cue, and names
// it afterwards. As calls they would say that the feeling does not answer to what is left (two left and two called in
// every set of 6 to 10 reps: "fewer left than called by 2.3 reps, 2.2-2.4").
RepeatedCalls steady_calls(const TrainingLog& log);

// Which calls are meant: all, or those of sets whose ends are not told.
enum class CallsOf { all, untold_ends };
// Leaves of these the calls of each lift's last session with such only, and says so in the remarks.
void keep_last_calls(TrainingLog& log, const RepeatedCalls& found, CallsOf which = CallsOf::all);

}  // namespace ullage::capacity
