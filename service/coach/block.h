// Planning a block for a lifter: from request to plan with reasons, accepted or not, and steered from then on.
//
//   auto proposal = plan_block(desk, {.lifter = "ines"});         // worked out and kept as a proposal
//   accept_block(desk, "ines");                                    // from now on truth; session follows it
//   auto changed = plan_block(desk, {.lifter = "ines", ...});      // re-solved from today, as near as may be
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "engine/planning/block_solve.h"
#include "engine/planning/session_plan.h"
#include "service/coach/block_request.h"
#include "service/coach/desk.h"
#include "service/coach/estimates.h"
#include "service/coach/steering.h"
#include "service/store/store.h"

namespace ullage::coach {

// ---- A block as it is kept and shown: in ids and words, apart from any problem.

struct BlockSets {
  int sets = 0, reserve = 0, least_reps = 0, most_reps = 0;
  bool heavy = false;
  bool operator==(const BlockSets&) const = default;
};
struct BlockItem {
  std::string exercise, name;
  std::vector<BlockSets> sets;  // farthest from failure first
  bool test = false;
  std::string why;  // one sentence with the numbers that decided
  int total() const;
};
struct BlockDayPlan {
  Date date;
  std::string place;   // id
  double limit = 0;    // minutes there are
  double minutes = 0;  // minutes planned
  std::string closed;  // why nothing is done that day; empty: it is open
  std::vector<BlockItem> items;
};
// A rule of the block that it breaks as it stands.
struct BlockFault {
  int week = 0;              // 1, 2, ...; 0: of the whole block
  std::optional<Date> date;  // empty: of the whole week
  std::string rule, found;   // in words: what is asked for, and what there is instead
};
struct BlockWeekPlan {
  Date monday;
  planning::WeekKind kind = planning::WeekKind::usual;
  std::string why, note;
  std::vector<BlockDayPlan> days;
  std::vector<std::pair<Muscle, double>> sets;  // counted by involvement, those with a goal, most first
  double effect = 0, fatigue = 0;
};
struct BlockSheet {
  std::string lifter;  // id
  Date made;           // the day it was worked out
  BlockRequest request;
  std::vector<BlockWeekPlan> weeks;
  std::vector<planning::Verdict> verdicts;
  double worst_regret = 0, gap = 0, seconds = 0;
  bool tie = false, stopped = false;
  std::string chosen_for;
  std::vector<planning::Corner> corners;  // all to failure, very easy: a week
  std::vector<std::string> readings, rests_on;
  planning::PlanFigures figures;  // a week, under the mean of the readings
  std::vector<double> effect;     // of the plan, a week, by reading
  double fatigue = 0;             // F a week
  // The same played through the whole model (engine/planning/block_played.h); no readings: kept before that was done.
  struct Played {
    std::vector<double> effect;
    double fatigue = 0;
    double missed = 0;  // share of the sets not meant to fail
  } played;
  std::vector<std::string> remarks, cautions;
  std::vector<std::string> changes;  // against the accepted plan, with why; one line each
  bool edited = false;               // by hand since it was solved: verdicts and regret speak of it as it was before
  std::vector<BlockFault> faults;    // of it as it was edited
};

// Text kept in the store, and back. corrupt: not such a text.
std::string block_json(const BlockSheet& sheet);
Result<BlockSheet> read_block(const std::string& json);

// ---- The use cases.

struct BlockWish {
  std::string lifter;
  BlockRequest request;               // used when given or when nothing is accepted
  bool own_request = false;           // `request` is given: plan anew even if a plan is accepted
  std::string place;                  // instead of the lifter's usual
  std::vector<std::string> readings;  // by name (readings.h), instead of the request's; empty: those
  // Changes to an accepted plan, taken into its request before it is re-solved from today.
  std::vector<BlockRequest::DayChange> day_changes;
  std::optional<BlockRequest::Travel> travel;
  std::optional<BlockRequest::Return> coming_back;
  std::optional<BlockRequest::Ban> ban;
  double seconds = 10;
  std::uint64_t seed = 1;
  bool keep = true;  // keep it as the open proposal
  // Asked when a plan is at hand and before it is kept; false: nobody wants it any more (Code::cancelled).
  std::function<bool()> wanted;
  std::string solver;  // program; empty: cbc on the search path
  std::function<bool(const std::string& what, double share, std::optional<double> gap)> progress;
};
struct BlockProposal {
  Lifter lifter;
  BlockSheet sheet;
  bool resolved = false;                    // from an accepted plan
  std::vector<SteeringProposal> proposals;  // what the data ask for and nobody has decided yet
  store::ChangeId change = 0;
  planning::BlockProblem problem;  // what was solved, for the curve and the export
  planning::BlockPlan plan;
  std::vector<planning::BlockReading> readings;
  // No plan keeps the rules: these cannot all be kept, and none can be spared.
  std::optional<planning::NoPlan> none;
};
// not_allowed: on hold. invalid_input: one line per fault. unavailable: no solver. A request that nothing satisfies is
// no error: see `none`; nothing is kept then.
Result<BlockProposal> plan_block(Desk& desk, const BlockWish& wish);

// The curve of a proposal (some seconds).
planning::Frontier frontier_of(const BlockProposal& proposal, const std::function<bool(double)>& progress = {});
// The programme as MPS, under the middle reading.
std::string block_mps(const BlockProposal& proposal);

struct KeptBlock {
  std::int64_t number = 0;  // 1, 2, ... for the lifter
  std::string state;        // proposed, accepted, rejected, replaced
  std::string said;         // the coach's word when it was decided
  BlockSheet sheet;
};
// Newest first.
Result<std::vector<KeptBlock>> kept_blocks(Desk& desk, const std::string& lifter);
// How the reason of a week begins that is lighter by a decision (service/coach/steering.h).
inline constexpr const char* kAcceptedLighterWeek = "lighter week, accepted on ";
// The accepted block that covers the day; empty when none does.
Result<std::optional<KeptBlock>> accepted_block(Desk& desk, const std::string& lifter, Date day);
// Makes the open proposal the plan; the one before becomes "replaced". conflict: there is no open proposal.
Result<KeptBlock> accept_block(Desk& desk, const std::string& lifter, const std::string& said,
                               store::ChangeId* change = nullptr);
Result<KeptBlock> reject_block(Desk& desk, const std::string& lifter, const std::string& said,
                               store::ChangeId* change = nullptr);

// ---- By hand. Each change is checked at once (recheck in block_check.h): rules that the block then breaks are kept
// with it in `faults`. What no rule could ever allow (a bar, a reserve outside the policy) is refused and changes
// nothing. Costs the fit when it is out of date, else about 50 ms.

// Changes one cell of the open proposal, else of the accepted plan, in every week from..to in which that day has it.
struct BlockEdit {
  int weekday = 1, from_week = 1, to_week = 99;
  std::string exercise;     // id, name or alias
  std::optional<int> sets;  // 0: take it out
  std::optional<int> reserve;
};
Result<KeptBlock> edit_block(Desk& desk, const std::string& lifter, const BlockEdit& edit,
                             store::ChangeId* change = nullptr);
// Moves an exercise, as it stands, or a whole session to another day of the same weeks. Two sessions change places; on
// a day without one the session keeps its minutes and place. conflict: the exercise is done on that day already.
struct BlockMove {
  int weekday = 1, to_weekday = 2, from_week = 1, to_week = 99;
  std::string exercise;  // id, name or alias; empty: the session
};
Result<KeptBlock> move_in_block(Desk& desk, const std::string& lifter, const BlockMove& move,
                                store::ChangeId* change = nullptr);
// The coach's note of a week, kept with the plan.
Result<KeptBlock> note_week(Desk& desk, const std::string& lifter, int week, const std::string& note,
                            store::ChangeId* change = nullptr);

// The exercises of that day under the accepted block, as a session is asked for; empty: no block or no such day.
struct DayFromBlock {
  std::vector<planning::ExerciseRequest> exercises;
  std::string place, note;
  int week = 0;
  bool lighter = false;  // its week is planned as a lighter one
};
Result<std::optional<DayFromBlock>> day_from_block(Desk& desk, const std::string& lifter, Date day);

// Templates: the shipped ones and the coach's own of the same name before them.
struct TemplateEntry {
  std::string name;
  BlockRequest request;
  bool own = false;
};
Result<std::vector<TemplateEntry>> block_templates(Desk& desk);
Result<BlockRequest> block_template(Desk& desk, const std::string& name);

}  // namespace ullage::coach
