// A session written out set by set: the plain data the sheet, the terminal and the gym floor show.
//
//   Result<SessionPlan> plan = plan_session(request, input);   // engine/planning/set_planner.h
//   for (const PlanItem& item : plan->items) ...
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/base/units.h"
#include "engine/capacity/draws.h"
#include "engine/capacity/session_forecast.h"
#include "engine/safety/rules.h"
#include "engine/training/equipment.h"
#include "engine/training/exercise.h"
#include "engine/training/policy.h"
#include "engine/training/set_record.h"

namespace ullage::planning {

// How the work sets of an exercise hang together.
enum class Strategy {
  same_load,  // one load, reps fall from set to set
  same_reps,  // one rep count, the load falls
  top_set     // one heavy set, then back-off sets at one lighter load
};
// How the last set of an exercise ends, if policy and safety allow; otherwise as usual, and the plan says why.
enum class Finish { as_usual, failure, rep_max_test };

// One exercise of the session. What is left empty comes from the reserve policy of its class.
struct ExerciseRequest {
  std::string exercise;  // id
  Side side = Side::both;
  std::optional<int> sets;
  std::optional<int> least_reps, most_reps;           // rep zone
  std::optional<double> least_reserve, most_reserve;  // band; "1-2" means 1 <= true reserve < 3
  std::optional<double> rest_s;
  std::optional<Load> load;  // this load only (it must be among the buildable ones)
  Strategy strategy = Strategy::same_load;
  Finish finish = Finish::as_usual;
};

struct SessionRequest {
  std::string lifter;  // name, copied to the plan
  Date date;
  std::vector<ExerciseRequest> exercises;  // in the order they are done
};

// What is known of an exercise that may be planned.
struct ExerciseOffer {
  Exercise exercise;
  std::vector<Buildable> loads;      // from buildable_loads, rising, in the unit wanted; empty: cannot be done here
  std::string no_loads_because;      // its error, shown when loads is empty
  std::optional<Date> last_failure;  // see safety::FailureWish
  std::optional<Date> last_test;
  // Work sets of the log, mis-typed ones left out: no set asks for more than a step above the best of late
  // (engine/planning/step_up.h). Empty: no limit.
  struct Shown {
    Date date;
    Side side = Side::both;
    Load load;
    int reps = 0;
    bool failed = false;  // one more was tried and not completed
  };
  std::vector<Shown> shown{};
};

struct PlanningInput {
  const capacity::LifterDraws* draws = nullptr;  // of that day; holds every exercise of the request
  const safety::Gate* gate = nullptr;            // of that day
  ReservePolicy policy;
  std::vector<ExerciseOffer> offers;  // any order; looked up by exercise id
  bool safety_bars = false;           // Place::safety_bars
  std::uint64_t seed = 1;             // same seed, same plan
};

// When the lifter stops before the rep cap: on the feeling they would call `called`.
struct StopCue {
  Call called;
  std::string text;  // "stop when you would call 1"
};

struct PlanSet {
  SetKind kind = SetKind::work;
  Load load;                   // as written in a log
  std::vector<Load> per_side;  // plates, heaviest first; empty for other implements or an empty bar
  int reps = 0;                // cap; for a set to failure the reps expected (rounded down median)
  double rest_s = 0;           // seconds of rest before this set
  std::optional<StopCue> cue;  // empty: the reps are fixed
  bool to_failure = false;
  capacity::Interval capacity;   // reps to failure, set noise included
  capacity::Interval reserve;    // true reserve where the set ends
  capacity::Interval reps_done;  // reps that will be done
  double p_complete = 0;         // P(the cap is reached)
  double p_miss = 0;             // P(a rep is tried and not completed); 0 for a set to failure
  double p_short = 0;            // P(stopped by the cue before the cap)
  double p_band = 0;             // P(true reserve inside the band)
};

struct PlanItem {
  std::string exercise;  // id
  std::string name;
  Side side = Side::both;
  Strategy strategy = Strategy::same_load;
  double band_low = 0, band_high = 0;  // true reserve aimed at: band_low <= reserve < band_high
  double miss_limit = 0;
  std::vector<PlanSet> sets;         // warm-ups first
  std::string why;                   // one line
  std::vector<std::string> remarks;  // limits that decided, doubt, a wish not granted; plain words
  double minutes = 0;                // this exercise: set-up, warm-ups, sets and rests
};

// An exercise (or its remaining sets) that is not in the plan, and why.
struct LeftOut {
  std::string exercise;
  std::string name;
  std::string reason;
};

struct SessionPlan {
  std::string lifter;
  Date date;
  std::vector<PlanItem> items;
  std::vector<LeftOut> left_out;
  double minutes = 0;
  std::vector<std::string> cautions;
};

// A set already done today, in performed order.
struct DoneSet {
  std::string exercise;
  Side side = Side::both;
  SetKind kind = SetKind::work;
  Load load;
  int reps = 0;
  bool failed = false;
  std::optional<double> rest_s;  // before this set; the usual rest when unknown
};

// "same load", "same reps", "top set"; and back.
std::string_view strategy_name(Strategy strategy);
std::optional<Strategy> parse_strategy(std::string_view text);

}  // namespace ullage::planning
