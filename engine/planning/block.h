// The block planner's plain data: what is asked for (BlockProblem) and what is decided (BlockPlan).
//
// A block is some weeks of some days. For every week, day and exercise it is decided how many sets are done in which
// mode: a reserve step and a rep zone. The worth of a plan under a reading of the stimulus is
//
//   V = sum over weeks [ sum over muscles weight * growth(S) + sum over lifts weight * strength(H) ]
//       + preferences - price * F
//
//   S   stimulus of a muscle in a week: sum over sets of involvement * g(reserve); growth = weekly_growth
//   H   heavy sets of a lift in a week; strength = weekly_strength (engine/planning/stimulus.h)
//   F   fatigue: sum over sets of what each takes off the strength of later work, in per cent (block_costs.h)
//
// growth and strength are replaced by their chords between kKnots, so that the programme is linear; no plan's worth
// changes by more than 1 % of a muscle's growth through that (block_test.cc).
//
// The exercises of a day stay for a phase: weeks with the same days, places and allowed exercises. A travel week, the
// end of a limit or a ban opens a new phase; after a travel week the old one goes on. Within a phase the sets of usual
// weeks change only for a cause (BlockShape).
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/training/exercise.h"

namespace ullage::planning {

inline constexpr int kReserveSteps = 11;  // 0..10 reps short of failure
// g by whole reps short of failure; 1 at failure.
using StimulusByReserve = std::array<double, kReserveSteps>;

// One way to do a set of an exercise.
struct BlockMode {
  int reserve = 2;  // reps left; 0: to failure, at most the last set of an exercise on a day
  int least_reps = 5, most_reps = 12;
  bool heavy = false;  // counts as heavy practice of the lift
  double minutes = 3;  // the set and the rest after it
  double fatigue = 2;  // F of one set, per cent
  bool operator==(const BlockMode&) const = default;
};

struct BlockExercise {
  Exercise exercise;
  std::vector<BlockMode> modes;
  double minutes = 3;                 // change-over and warm-up, paid once a day it is done
  int least_sets = 2, most_sets = 4;  // on a day it is done
  int most_days = 2;                  // a week
  double preference = 0;              // worth of doing it on one day of one week: known lifts a little more
  int failure_every_days = 0;         // 0: never to failure
  std::optional<Date> last_failure;
  double test_minutes = 8;  // of a rep-max test, on top
  // F of one set to failure and of one stopped kVeryEasyReserve short, whatever the policy allows: for comparison only.
  double fatigue_at_failure = 5, fatigue_very_easy = 1;
};
inline constexpr int kVeryEasyReserve = 6;

// Limits on the sets of a muscle, counted by involvement. Common practice, no source; the coach edits them.
struct MuscleRule {
  double weight = 0;  // of its growth in the goal; 0: no goal
  double least_week = 0, most_week = 30;
  double least_session = 0, most_session = 12;  // least: on a day it is trained directly
  int recovery_hours = 48;                      // between sessions that train it directly; whole days count
};
inline constexpr double kDirect = 0.75;  // involvement from which a muscle counts as trained directly

struct LiftGoal {
  int exercise = 0;
  double weight = 1;
  double least_heavy = 0;  // heavy sets a week
};

struct BlockDay {
  Date date;
  double minutes = 60;
  int place = 0;        // index into BlockProblem::places
  bool closed = false;  // missed or taken away: nothing may be planned
  int most_exercises = 8;
};

enum class WeekKind { usual, lighter, test, travel, taper, returning };
struct BlockWeek {
  Date monday;
  WeekKind kind = WeekKind::usual;
  std::string why;             // why it is no usual week; one line
  std::vector<BlockDay> days;  // by date
  // Of the sets that each muscle has in the plan's own ordinary weeks (block_words.h); above 1, or in a block without
  // ordinary weeks, of its most_week.
  double most_share = 1;
  std::array<double, kMuscleCount> most{};  // most sets of a muscle this week, from what was done before; 0: no cap
  // Sets of a muscle on days that lie behind and are closed now, as they were planned; without parts fixed by number.
  std::array<double, kMuscleCount> behind{};
  int least_reserve = 0;  // no set nearer to failure
  bool failure = true;    // sets to failure allowed
  // By exercise: why it may not be done this week; empty: it may.
  std::vector<std::string> barred;
};

// A rule that the coach set on one exercise.
struct MustHave {
  int exercise = 0;
  int least_days = 1;               // a week
  int from_week = 0, to_week = 99;  // first and last week it holds in
};
struct FixedPart {
  int exercise = 0;
  int weekday = 1;  // 1 Monday .. 7 Sunday
  int from_week = 0, to_week = 99;
  std::optional<int> sets;     // exactly; empty: as many as the planner likes
  std::optional<int> reserve;  // every set of it
};
struct InOrder {
  int first = 0, then = 0;  // exercises; where both are done on a day, in this order
};
struct Balance {
  std::vector<Muscle> of, against;
  double most_ratio = 1.5;  // sets of `of` <= ratio * sets of `against`, every week
  std::string name;         // "pressing against pulling"
};
struct BlockTest {
  int exercise = 0;
  int week = 0;  // on the first day of that week on which the exercise is done
};

struct BlockPlan;

struct BlockProblem {
  std::vector<BlockWeek> weeks;
  std::vector<BlockExercise> exercises;
  std::vector<std::string> places;
  // [place][exercise]: why it cannot be done there; empty: it can.
  std::vector<std::vector<std::string>> no_equipment;
  std::array<MuscleRule, kMuscleCount> muscles{};
  std::vector<LiftGoal> lifts;
  std::vector<MustHave> must;
  std::vector<FixedPart> fixed;
  std::vector<InOrder> order;
  std::vector<Balance> balance;
  std::vector<BlockTest> tests;
  int rest_days_before_test_failure = 7;  // no failure of the exercise's muscles so many days before its test
  bool exercises_stay = true;             // false: every week is its own phase
  double price = 0.01;                    // of one per cent of strength lost, in units of V (assumption)
  StimulusByReserve stimulus{};           // the reading in force
  double alternate_saves = 0;             // minutes saved by each pair of alternated sets; 0: none are alternated
  // Changing as little as needed: a plan to stay near, and the price of each exercise moved, added or dropped on a day
  // of a week and of each set more or fewer.
  const BlockPlan* near = nullptr;
  double price_moved = 0.04, price_set = 0.005;
};

// ---- What is decided.

struct PlannedExercise {
  int exercise = 0;
  std::vector<int> sets;  // by mode; at least one above 0
  bool test = false;      // its last set is a rep-max test
  int total() const;
  bool operator==(const PlannedExercise&) const = default;
};
struct PlannedDay {
  std::vector<PlannedExercise> items;  // in the order they are done
  bool operator==(const PlannedDay&) const = default;
};
struct BlockPlan {
  std::vector<std::vector<PlannedDay>> weeks;  // [week][day], as the problem's
  bool operator==(const BlockPlan&) const = default;
};

// Faults of the problem itself (not contradictions between rules): one line each; empty: fine.
std::vector<std::string> faults_of(const BlockProblem& problem);

// ---- Worth.

// Chord of the concave function between knots, last slope kept beyond none: flat after the last knot.
const std::vector<double>& growth_knots();
const std::vector<double>& strength_knots();
double growth_by_chords(double sum);
double strength_by_chords(double sum);

struct WeekWorth {
  std::array<double, kMuscleCount> sets{};      // counted by involvement
  std::array<double, kMuscleCount> stimulus{};  // S
  std::vector<double> heavy;                    // H by lift goal
  double effect = 0;                            // weighted growth and strength
  double fatigue = 0;                           // F
  double preference = 0;
  int hard_sets = 0;            // sets in all
  std::vector<double> minutes;  // by day
};
struct PlanWorth {
  std::vector<WeekWorth> weeks;
  double effect = 0, fatigue = 0, preference = 0, change = 0;
  double value = 0;  // V, less the price of changes
};
PlanWorth worth_of(const BlockProblem& problem, const BlockPlan& plan, const StimulusByReserve& stimulus);
inline PlanWorth worth_of(const BlockProblem& problem, const BlockPlan& plan) {
  return worth_of(problem, plan, problem.stimulus);
}

// Minutes of one day as planned. Pairs of alternated sets are counted as block_rules.cc and block_model.cc count them:
// as many as the smaller of the sets of the pressing and of the pulling side, barbell compounds left out.
double minutes_of(const BlockProblem& problem, const PlannedDay& day);
// 1 pressing side, 2 pulling side, 0 neither: which sets may be alternated with each other.
int alternating_side(const BlockExercise& exercise);

// Puts each day's exercises into order: the coach's own, then barbell compounds, supported compounds, isolation; the
// heavier in muscles first.
void put_in_order(const BlockProblem& problem, BlockPlan& plan);

// Weeks that belong to one phase, and what is steady in them. Weeks whose data are the same in everything are planned
// alike. Weeks that differ only in whether sets may go to failure have the same sets but for those: where the one may
// and the other may not, a set of the exercise goes to failure instead. A usual week with tighter limits on sets, or
// with a test, has the sets of a looser one with some taken away, so that sets only rise while limits do. None of this
// leaves a problem without a plan. A plan to stay near is steady by itself: then only like weeks are alike.
struct BlockShape {
  std::vector<int> phase;  // by week; weeks of a phase need not follow each other
  std::vector<int> like;   // by week: first week with the same data and phase
  std::vector<int> base;   // by week: first week with the same sets but for failure
  std::vector<int> part;   // by week: base week of whose sets it has a part; -1: none
  int phases = 0;
  // [week][exercise]: whether a set of it may go to failure then. Spacings above a week are kept by letting only every
  // second, third ... week have them, counted from the last failure on record.
  std::vector<std::vector<bool>> failure;
};
BlockShape shape_of(const BlockProblem& problem);
// Whether the mode may be used in every week with the same sets as this one.
bool always_allowed(const BlockProblem& problem, const BlockShape& shape, int exercise, int mode, int week);
// Whether the mode may be used in the week at all.
bool mode_allowed(const BlockProblem& problem, const BlockShape& shape, int exercise, int mode, int week);
// Why the exercise cannot be done on that day; empty: it can.
std::string barred_on(const BlockProblem& problem, int exercise, int week, int day);

}  // namespace ullage::planning
