// The set planner: what the next session is, set by set, from the lifter as a set of possibilities.
//
// For each exercise in order it chooses loads that can be built, a rep cap and a stop cue jointly over the sets, so
// that the true reserve ends in the policy's band and the reps in the zone with the highest probability, while the
// chance of a miss of each set stays within the limit. If band and limit conflict, the limit wins and a remark says
// so. What earlier exercises and warm-ups have tired is carried along.
#pragma once

#include "engine/base/result.h"
#include "engine/planning/session_plan.h"

namespace ullage::planning {

// Fails with not_allowed while the gate is held (says what lifts it), with invalid_input when the request makes no
// sense (says where). Exercises that cannot be prescribed are left out with the reason; that is no error.
// Cost: 6 exercises x 4 sets with 512 draws well under 100 ms.
Result<SessionPlan> plan_session(const SessionRequest& request, const PlanningInput& input);

// The rest of a session of which `done` is already done: the same, with the fatigue of what really happened. Sets
// done count against those asked for; the exercise of the last set comes first; warm-ups only for exercises not yet
// begun. `only`: plan that exercise alone (the next set after each log entry). Under same_load the load of the last
// work set stays. Cost for one exercise: under 30 ms.
Result<SessionPlan> replan(const SessionRequest& request, const PlanningInput& input, const std::vector<DoneSet>& done,
                           const std::optional<std::string>& only = {});

}  // namespace ullage::planning
