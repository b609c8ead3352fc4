// A good block at once: annealing over whole exercises and single sets. An exercise that comes to a day does so with
// the sets and reserve that are best in each week as everything else stands. Its plan starts the solver off, and stands
// when the solver is stopped before it found a better one. It knows nothing of bounds.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>

#include "engine/planning/block.h"

namespace ullage::planning {

// Best plan found that keeps every rule; empty when none was found, which proves nothing. Same seed, same plan.
// moves: tries; some 500 000 to 2 000 000 a second, more weeks with sets of their own being slower. go_on is asked
// every few milliseconds; false ends it with the best so far. start: a plan to begin with and to stay about, as one
// found for another reading; null: from nothing, or from the plan the problem wants to stay near.
std::optional<BlockPlan> search_block(const BlockProblem& problem, std::uint64_t seed, int moves = 400000,
                                      const std::function<bool()>& go_on = {}, const BlockPlan* start = nullptr);

}  // namespace ullage::planning
