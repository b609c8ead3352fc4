// A plan played through the whole capacity model, set by set in the order it is done.
//
// The block planner counts fatigue set by set, each set as from fresh, and takes sets to end where they were planned
// (block_costs.h). Here the load that suits the first set of an exercise stays, what sets and exercises before have
// tired is carried along within the session and to the next ones (72 hours), the lifter stops on a feeling, or at the
// most reps of the zone, and sets are noisy. The feeling is the one that leaves the planned reserve most nearly as this
// lifter judges, as far as that is known. Stimulus is then that of the reserve at which sets really end, fatigue that
// of the reps really done, from the state they were done in.
//
//   const PlayedPlan played = play_plan(problem, plan, draws, 0.012, 7);
//   played_effect(problem, plan, played, reading.stimulus);      // beside worth_of(problem, plan, ...).effect
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "engine/capacity/draws.h"
#include "engine/planning/block.h"

namespace ullage::planning {

struct PlayedWeek {
  // By exercise of the problem: mean number of sets that end so many whole reps short, those that miss a rep at 0.
  std::vector<std::array<double, kReserveSteps>> ended;
  double fatigue = 0;              // F, per cent; mean
  double planned = 0, missed = 0;  // sets not meant to fail, and how many of them do; means
};
struct PlayedPlan {
  std::vector<PlayedWeek> weeks;
  double fatigue() const;
  double missed() const;  // share of the sets not meant to fail; 0 without such sets
};

// draws: one lift for each exercise of the problem, in its order, rested (Posterior::draw_rested); each is played once.
// day_sd: of readiness, natural log. Sessions whose dates the problem does not know lie two days apart. Rests are those
// of the problem's modes. Cost: about 0.5 us a draw and set, more with many exercises in a session.
PlayedPlan play_plan(const BlockProblem& problem, const BlockPlan& plan, const capacity::LifterDraws& draws,
                     double day_sd, std::uint64_t seed);

// Effect of the plan as worth_of has it, with the stimulus that was played; heavy practice as planned.
double played_effect(const BlockProblem& problem, const BlockPlan& plan, const PlayedPlan& played,
                     const StimulusByReserve& stimulus);

}  // namespace ullage::planning
