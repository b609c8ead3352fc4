// A kept block held against its rules as things stand today, for changes by hand and for the trade-off curve.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "service/coach/block.h"
#include "service/coach/block_problem.h"

namespace ullage::coach {

// Draws of each reading of the stimulus that blocks are worked out with.
inline constexpr int kBlockReadingDraws = 200;

// The block in the planner's own terms.
struct LaidOut {
  BlockMaterial material;
  std::vector<planning::BlockReading> readings;
  planning::BlockPlan plan;  // closed days are empty in it
};
// From today on: what lies behind is closed. invalid_input: its request cannot be kept to as things stand, one line per
// fault; not_allowed on hold.
Result<LaidOut> lay_out(Desk& desk, const Fitted& fitted, const BlockSheet& sheet);

// The plan of a sheet in the problem's numbers; what cannot be matched is left out.
planning::BlockPlan plan_of_sheet(const planning::BlockProblem& problem, const BlockSheet& sheet);
// Takes closed days out of the plan: they are no part of what can be kept. What was planned on those before open_from
// is counted in the problem's weeks, for what special weeks have a share of.
void leave_behind(planning::BlockProblem& problem, planning::BlockPlan& plan, Date open_from);

// The other way round: weeks, corners, effect and fatigue of a plan.
void fill_sheet(BlockSheet& sheet, const BlockMaterial& material, const planning::BlockPlan& plan,
                const planning::PlanWorth& worth, const std::vector<planning::BlockReading>& readings);

// Writes minutes, sets, effect, fatigue, order and faults of the sheet anew, from today on.
void recheck(BlockSheet& sheet, const LaidOut& laid);

// What other prices of fatigue would ask for: the curve, and the weeks of each of its points.
struct BlockCurve {
  std::int64_t number = 0;  // of the block
  std::string block;        // its text when the curve was drawn
  planning::Frontier curve;
  std::vector<std::vector<BlockWeekPlan>> weeks;  // by point
};
// Of the open proposal, else of the accepted plan. Some seconds. not_found: there is neither.
Result<BlockCurve> block_curve(Desk& desk, const std::string& lifter, const std::function<bool(double)>& progress = {});
// The text that BlockCurve::block is compared with.
std::string curve_mark(const KeptBlock& kept);

}  // namespace ullage::coach
