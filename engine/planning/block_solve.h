// A block worked out: the search's plan at once, the solver's better one with its bound, the choice between readings of
// the stimulus, the trade-off curve, and why each part is as it is.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "engine/planning/block.h"
#include "engine/planning/mip.h"
#include "engine/planning/stimulus.h"

namespace ullage::planning {

struct BlockReading {
  std::string name;
  StimulusByReserve stimulus{};
};
// Mean of the reading's draws, r = 0..10.
BlockReading block_reading(const Reading& reading);

// What one run of the search differs by from another of another seed is as much as twice the moves bring: two are made
// for the first reading, and the better one stands.
inline constexpr int kRuns = 2;
inline constexpr double kMovesASecond = 550000;  // of a run, so that both take some three quarters of the time
// Of the solver on the block summed over its days, which gives the bound, and on the block itself, for the first
// reading and for each other one. Their bounds hardly move after that. Twice as much for the block where the search
// came to no plan.
inline constexpr double kSummedShare = 0.2, kSummedShareOfOthers = 0.08;
inline constexpr double kSolverShare = 0.08, kSolverShareOfOthers = 0.05;
struct SolveWish {
  double seconds = 10;  // on one core, for a block of the usual size, about
  double gap = 0.005;
  std::uint64_t seed = 1;
  // Of a run for the first reading, at most kMovesASecond * seconds, shared by the kinds of week with sets of
  // their own in a phase; a quarter of it for each other reading.
  int moves = 5500000;
  // Told what is being worked on and the share done; false stops, and the best plan so far stands.
  std::function<bool(const std::string& what, double share, std::optional<double> gap)> progress;
};

// What is seen of a plan at a glance: a week's mean.
struct PlanFigures {
  double sets = 0, failure_sets = 0;
  double reserve = 0;  // mean of its sets, reps
  double fatigue = 0;  // F
  double effect = 0;   // under the reading it is told with
};
PlanFigures figures_of(const BlockProblem& problem, const BlockPlan& plan, const StimulusByReserve& stimulus);

// What a plan is worth under one reading, and which plan that reading alone would ask for.
struct Verdict {
  std::string reading;
  double value = 0;   // V of the plan
  double best = 0;    // no plan is worth more: the solver's bound
  double found = 0;   // V of the best plan found for this reading
  double regret = 0;  // (best - value) / (best - value of the least plan)
  double gap = 0;     // (best - found) / found
  // The same against the best plan found: what is given away for certain. The truth lies between this and `regret`.
  double regret_found = 0;
  PlanFigures alone;       // of the best plan found for this reading
  bool same_plan = true;   // which is the proposed one
  int days_different = 0;  // days of the block on which it has other exercises or sets
};

// Plans to hold against: the same exercises and sets, every set to failure or stopped kVeryEasyReserve short.
struct Corner {
  std::string name;
  double fatigue = 0;          // F a week
  std::vector<double> effect;  // a week, by reading
};
inline constexpr double kUnknownGap = 1;  // and all above: nothing useful bounds the plan
struct SolvedBlock {
  BlockPlan plan;
  PlanWorth worth;                // under the middle reading
  std::vector<Verdict> verdicts;  // by reading
  double worst_regret = 0;
  PlanFigures figures;     // under the middle reading
  std::string chosen_for;  // the reading, or "all" of them together, whose plan it was
  bool tie = false;        // candidates differed by less than half the gap
  double gap = 0;          // of the middle reading's solve
  double seconds = 0;
  bool stopped = false;  // by the caller or the deadline before the gap was reached
  int plans_compared = 1;
};

// No plan keeps the rules.
struct NoPlan {
  std::vector<std::string> rules;
  bool irreducible = true;
};
struct SolveOutcome {
  bool found = false;
  SolvedBlock block;
  NoPlan none;
};

// problem.stimulus is ignored; readings: at least one. Errors are the solver's (unavailable, ...), or cancelled when
// it was stopped before any plan was known.
Result<SolveOutcome> solve_block(const BlockProblem& problem, const std::vector<BlockReading>& readings,
                                 const MipSolver& solver, const SolveWish& wish);

// The trade-off curve: plans for rising prices of fatigue, found by the search (no bound), with the plan at hand and
// the corners beside them. Effects and fatigue a week.
struct FrontierPoint {
  double price = 0;
  double fatigue = 0;
  std::vector<double> effect;  // by reading
  PlanFigures figures;         // under the middle reading
  BlockPlan plan;
};
struct Frontier {
  std::vector<std::string> readings;
  std::vector<FrontierPoint> points;  // by rising price
  FrontierPoint plan;                 // the plan at hand
  std::vector<Corner> corners;        // all to failure, very easy
};
Frontier frontier(const BlockProblem& problem, const std::vector<BlockReading>& readings, const BlockPlan& plan,
                  std::uint64_t seed, int moves, const std::function<bool(double)>& progress = {});

// Effect and fatigue of the plan's exercises and sets if every set were to end at this reserve (0 or kVeryEasyReserve).
Corner corner_of(const BlockProblem& problem, const std::vector<BlockReading>& readings, const BlockPlan& plan,
                 int reserve);

// Why one exercise is in the plan on a day, with the numbers that decided: what would be lost without it, and what one
// rep nearer or farther would change. One sentence each.
struct ItemReason {
  int week = 0, day = 0, exercise = 0;  // week: the first of those it speaks for
  std::string text;
  double effect_lost = 0, minutes_freed = 0, fatigue_freed = 0;
};
std::vector<ItemReason> reasons_for(const BlockProblem& problem, const std::vector<BlockReading>& readings,
                                    const BlockPlan& plan);

}  // namespace ullage::planning
