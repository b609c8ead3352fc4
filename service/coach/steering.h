// What a lifter's data ask for now: a lighter week, another way out of a stall. Proposals with the numbers that caused
// them; nothing happens before the coach accepts, and what was said is kept with its history.
//
//   auto view = steering(desk, lifter, fitted);
//   for (const SteeringProposal& p : view->open) ...        // p.why, p.what
//   auto decided = decide(desk, "ines", {.kind = SteeringKind::lighter_week, .accepted = true});
//
// An accepted lighter week holds from Monday to Sunday: sessions written for its days have fewer sets and more in
// reserve, and a block that is solved again plans it. An accepted step out of a stall holds for six weeks in sessions
// that repeat the log; in a block the sets are the block's.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "engine/planning/lighter_week.h"
#include "engine/planning/session_plan.h"
#include "service/coach/desk.h"
#include "service/coach/estimates.h"

namespace ullage::coach {

enum class SteeringKind { lighter_week, stall };
std::string_view steering_name(SteeringKind kind);  // "lighter week", "stall"
std::optional<SteeringKind> parse_steering(std::string_view text);

// What to try next in a lift that stands still; `other_exercise` is for the coach to carry out.
enum class StallStep { closer, farther, more_sets, lower_reps, higher_reps, other_exercise };
std::string_view stall_step_name(StallStep step);

// Limits of a stall (common practice, no source).
inline constexpr int kStallLifts = 2;  // only the lifts done most
inline constexpr int kStallSets = 60;
inline constexpr int kStallDays = 140;           // looked back this far
inline constexpr double kStallGain = 0.005;      // strength gained since then, as a share: no more than this
inline constexpr double kStallPctPerWeek = 0.1;  // and a trend of no more than this now, its interval reaching zero
inline constexpr double kStallMostSd = 0.02;     // strength known at least this well, as a share
inline constexpr double kStallWeeklySets = 10;   // fewer of a lift a week: more may be tried
inline constexpr int kStallStepDays = 42;        // an accepted step is given so long; a rejected one rests so long
inline constexpr int kLighterPauseDays = 21;     // after an accepted lighter week
inline constexpr int kLighterRejectedDays = 7;   // after a rejected one

// A lift that has gained nothing for months, with enough data to say so.
struct Stall {
  std::string exercise, name;  // id and name
  Side side = Side::both;
  double gained = 0;  // share, since `weeks` weeks ago
  int weeks = 0;
};
// Of the lifts done most and still done, the first that stands still. `lifts_looked`, `assumed`: how many current lifts
// there are (at most four) and how many of them are mostly assumed.
std::optional<Stall> find_stall(const capacity::Posterior& posterior, const library::Library& library, Date today,
                                int* lifts_looked = nullptr, int* assumed = nullptr);

struct SteeringProposal {
  SteeringKind kind = SteeringKind::lighter_week;
  std::string exercise, name;  // of a stall: id and name
  Side side = Side::both;
  StallStep step = StallStep::closer;
  Date from, until;        // when it would hold
  double probability = 0;  // of a lighter week: that strength is under what was forecast
  std::string why;         // one sentence with the numbers that caused it
  std::string what;        // what would be done, in words
  std::string brief;       // the main number in a few words; not kept
};
struct SteeringDecision {
  std::int64_t number = 0;
  bool accepted = false;
  std::string said;
  Date date;
  SteeringProposal proposal;
};
struct SteeringView {
  planning::RecentForm form;              // what a lighter week is judged by
  std::vector<SteeringProposal> open;     // lighter week first
  std::vector<SteeringDecision> decided;  // newest first
};

// No fit is made. `fitted`: as stored or made.
Result<SteeringView> steering(Desk& desk, const Fitted& fitted);

struct DecisionWish {
  SteeringKind kind = SteeringKind::lighter_week;
  bool accepted = false;
  std::string said;
  // The coach's own lighter week although the data ask for none: needs `accepted`.
  bool unasked = false;
  std::optional<Date> week;  // any day of the week it is to be; empty: as proposed
  // The `what` of the proposal that was read before it was decided on; empty: whatever is proposed now.
  std::string shown;
};
// conflict: nothing of this kind is proposed, or something else than was shown. not_allowed: on hold. Fits when the
// estimate is out of date.
Result<SteeringDecision> decide(Desk& desk, const std::string& lifter, const DecisionWish& wish,
                                store::ChangeId* change = nullptr, const Share& progress = {});

// The accepted lighter week that holds on `day`; empty: none does.
Result<std::optional<SteeringDecision>> lighter_week_on(Desk& desk, const std::string& lifter, Date day);
// All accepted lighter weeks that end on `day` or later.
Result<std::vector<SteeringDecision>> lighter_weeks_from(Desk& desk, const std::string& lifter, Date day);
// Fewer sets and more in reserve, and nothing to failure. own: the coach named this exercise for this session; sets and
// reserve that were given with it stay.
void make_lighter(planning::ExerciseRequest& request, const ClassPolicy& policy, bool own);
// The accepted steps out of a stall that hold on `day`, put into requests that leave it open. In words what was done.
Result<std::vector<std::string>> take_steps(Desk& desk, const Lifter& lifter, Date day,
                                            std::vector<planning::ExerciseRequest>& exercises);

// What scripts read (docs/commands.md).
nlohmann::ordered_json to_json(const SteeringProposal& proposal);
nlohmann::ordered_json to_json(const SteeringDecision& decision);
nlohmann::ordered_json to_json(const SteeringView& view);

}  // namespace ullage::coach
