// Whether a rep-max test of a lift is worth what it costs, and in which form: value of information.
//
//   gain  = sum over the coming sets of weight * (sd(rho) - E sd(rho | test))      reps, rho: true reserve where a set
//   ends value = gain / cost,   cost in minutes: own minutes + kMinutesPerMarginLost * margin lost for later sets of
//   the day
//                          + kMinutesPerResidual * margin missing the next day
//
// The expectation runs over what the test may show, (n, call): n reps completed, and what is called at a rep on the
// way. Each draw of the posterior is a possibility; an outcome weighs the draws by how likely each makes it (importance
// weights), and the doubt about the coming sets is that of the weighted draws. The best form is a call at a rep and
// then on until a rep fails: the failure tells strength and endurance, the call, then known to be right or wrong, the
// judgement.
//
// Readiness of the day, drift until then and set noise are new in every coming set: no test takes them away.
//
//   const auto test = best_rep_max_test(draws, 0, loads, coming, request);
//   if (test && test->worth_it) ...
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/capacity/draws.h"
#include "engine/capacity/session_forecast.h"
#include "engine/planning/session_plan.h"
#include "engine/safety/rules.h"

namespace ullage::planning {

inline constexpr int kTestHorizonDays = 28;          // coming sets counted: four weeks
inline constexpr double kMinutesPerMarginLost = 20;  // per unit of margin: 10 % of strength for what follows = 2 min
inline constexpr double kMinutesPerResidual = 200;   // 1 % of strength missing the next day = 2 min (both assumption)
inline constexpr double kLeastTestValue = 0.25;      // reps of doubt over all coming sets, per minute (assumption)
inline constexpr double kLeastTestGain = 0.15;  // and reps per coming set, below which nobody would notice (assumption)
inline constexpr double kFewReps = 3, kFewRepsChance = 0.05;  // P(n < 3) must stay below
inline constexpr double kTestExtraRestS = 120;                // rest before a test beyond the usual (common practice)

// One set that is to be done within the horizon.
struct ComingSet {
  int lift = 0;  // index into the draws
  double log_total_load = 0;
  capacity::PlannedSet set;
  double weight = 1;  // how often it comes, times what it counts
};

struct TestForm {
  int load = 0;                        // index into the loads
  std::optional<int> call_at_rep;      // empty: no call on the way
  capacity::Interval reps;             // that will be completed
  double p_few = 0;                    // P(n < 3)
  double gain = 0;                     // see top, reps summed over the coming sets
  double sd_before = 0, sd_after = 0;  // of rho, mean over the coming sets by weight, reps
  double minutes = 0;
  double margin_lost = 0;  // more than the usual last set loses, for later sets of the day
  double residual = 0;     // likewise the next day
  double value = 0;        // gain per minute
  bool worth_it = false;   // value and gain above their thresholds
};

// Of all loads and reps for the call, the form with the highest value; empty when no load keeps P(n < 3) below its
// limit or there are no coming sets. total_loads: above 0. usual: the set it would take the place of. Cost: outcomes x
// draws x coming sets; at most three loads and four forms each are tried.
std::optional<TestForm> best_rep_max_test(const capacity::LifterDraws& draws, int lift,
                                          const std::vector<double>& total_loads, const std::vector<ComingSet>& coming,
                                          const capacity::PlannedSet& usual, double usual_log_total,
                                          std::uint64_t seed);

// What stands in the way of a test of this exercise today; empty when nothing does. Holds, minors, limits, pain, the
// policy's spacing, spotters: engine/safety.
std::string test_refused(const safety::Gate& gate, const ClassPolicy& policy, const ExerciseOffer& offer,
                         bool safety_bars, Date today);

// A test offered for today, with its reason.
struct TestProposal {
  std::string exercise;  // id
  std::string name;
  Side side = Side::both;
  Load load;
  TestForm form;
  std::string why;  // one sentence, ends with the numbers that caused it
};
// The best test over the exercises of a plan whose sets are done `times_in_horizon` times in the next four weeks; empty
// when none is worth it or allowed. The input is the one the plan was made from. Cost: about 5 ms with 512 draws.
std::optional<TestProposal> propose_test(const SessionPlan& plan, const PlanningInput& input, double times_in_horizon);

}  // namespace ullage::planning
