// A year (or less) of training in a closed loop: a simulated lifter, a plan, and what really happened.
//
// Three fixed plans, as they stand on a chart on the wall:
//   failure   three sets of each lift to failure, at a load that moves with the reps reached
//   same-load 3 x 10 with one load, more load once all thirty reps are done
//   chart     percentages of a maximum: 3 x 10 at 65 %, 3 x 8 at 72.5 %, 3 x 6 at 80 %, a week each, round and round;
//   the
//             last set of a round goes to failure, and the maximum is worked out from it
// Against each of them one lifter trained by the set planner, which knows the log alone: fits every few weeks, takes
// each session up live, and chooses sets, reserve, rep zone and rest of each lift so that, as far as it can tell, the
// stimulus under the reading that gains least is highest while fatigue and minutes stay below those of the fixed plan's
// own log.
//
// Truth never reaches the planner: of the fixed plan it sees what that plan's log shows (reps, loads, rests), weighed
// by its own estimates. Every eight weeks the last set of each lift is a rep-max test, as the policy allows. What is
// counted in the end is the truth: true reserve at the end of every work set, true spent margin, true margin lost,
// minutes, and reps missed.
//
// Half of the lifters break the model: set noise with heavier tails, rests written down wrong, judgement that drifts, a
// plateau and then a jump, feelings drawn anew at every rep (engine/simulation/simulated_lifter.h).
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "engine/base/random.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/formulas.h"
#include "engine/capacity/priors.h"
#include "engine/planning/set_planner.h"
#include "engine/planning/stimulus.h"
#include "engine/simulation/training_months.h"
#include "engine/training/equipment.h"
#include "service/library/library.h"

namespace ullage::science {

struct LoopWish {
  int lifters = 10;
  int weeks = 12;         // after the history
  int history_weeks = 4;  // of ordinary logs before the plans part
  int block_weeks = 4;    // between fits
  int first = 0;          // number of the first lifter: seeds go by number
  std::uint64_t seed = 20260401;
};

inline constexpr std::array<const char*, 3> kFixedPlans = {"failure", "same-load", "chart"};
inline constexpr std::array<const char*, 6> kFlaws = {
    "none", "heavy tails", "wrong rests", "drifting judgement", "plateau and jump", "feeling anew each rep"};

// What training brought and cost in truth.
struct Balance {
  double plateau = 0, linear = 0;  // stimulus, sets to failure
  double spent = 0;                // margin spent: what fatigue of the next day is counted from
  double lost = 0;                 // margin missing at the end of each exercise, summed
  double minutes = 0;
  int sets = 0;
  int planned = 0, missed = 0;  // sets not meant to fail, and those that failed
};

// One chance of a miss as it was told, and what happened.
struct Told {
  double p_miss = 0;
  bool missed = false;
  // 0: a set of the plan. 1 to 3: set of a what-if, three sets of fixed reps done by a copy of the lifter, so that
  // chances of every size are told, for the third set as for the first.
  int what_if = 0;
};

struct Pair {
  int lifter = 0;
  int flaw = 0;  // index into kFlaws
  int plan = 0;  // index into kFixedPlans
  Balance fixed, planned;
  std::vector<Told> told;
};

namespace loop {

// Shares of the fixed plan's spent margin and minutes, and of the margin lost at the end of exercises, that are planned
// for: room for error.
inline constexpr double kWithin = 0.95, kWithinLost = 0.90;
inline constexpr int kSessionsAWeek = 2, kMakeUpSessions = 4;
inline constexpr int kDraws = 256;
inline constexpr int kMostSets = 10;  // of a muscle in a session, as the block planner allows (common practice)
inline constexpr double kBodyMass = 80;
inline constexpr int kTestEveryWeeks = 8;  // the policy's spacing of rep-max tests
inline constexpr double kRestSd = 0.15;    // log sd of the rest taken around the one asked for

inline const std::vector<Exercise>& exercises() {
  static const std::vector<Exercise> all = {*library::builtin().find("bench-press"),
                                            *library::builtin().find("lat-pulldown"),
                                            *library::builtin().find("biceps-curl")};
  return all;
}
// Loads in small steps up to more than anyone needs, the same for every plan: what is compared is the plans, not a gym.
inline const std::vector<std::vector<Buildable>>& buildable() {
  static const std::vector<std::vector<Buildable>> all = [] {
    std::vector<std::vector<Buildable>> out;
    for (const Exercise& e : exercises()) {
      const double step = e.cls == ExerciseClass::isolation ? 1 : 2.5;
      out.emplace_back();
      for (int i = 1; i * step <= 300; ++i) out.back().push_back({{i * step, Unit::kilogram}, {}});
    }
    return out;
  }();
  return all;
}
inline double total_of(int lift, const Load& load) {
  return total_load(exercises()[static_cast<std::size_t>(lift)], load, kBodyMass);
}
// Heaviest load whose total is not above `total`.
inline int load_at(int lift, double total) {
  const auto& loads = buildable()[static_cast<std::size_t>(lift)];
  int best = 0;
  for (int i = 0; i < static_cast<int>(loads.size()); ++i) {
    if (total_of(lift, loads[static_cast<std::size_t>(i)].load) <= total + 1e-6) best = i;
  }
  return best;
}
inline const Load& load(int lift, int index) {
  const auto& loads = buildable()[static_cast<std::size_t>(lift)];
  return loads[static_cast<std::size_t>(std::clamp(index, 0, static_cast<int>(loads.size()) - 1))].load;
}

inline const std::array<double, planning::kMostShort + 1>& worth(int reading) {
  static const auto plateau = planning::plateau_reading(512, 1).mean_stimulus();
  static const auto linear = planning::linear_reading(512, 2).mean_stimulus();
  return reading == 0 ? plateau : linear;
}
inline double worth_of(int reading, double reserve) {
  return worth(reading)[static_cast<std::size_t>(std::clamp(reserve, 0.0, double(planning::kMostShort)))];
}

// A lifter under way, with the truth of their fatigue kept beside.
class Trained {
 public:
  Trained(simulation::SimulatedLifter lifter, std::vector<SetRecord> log, std::uint64_t seed)
      : lifter_(std::move(lifter)), log_(std::move(log)), random_(seed, 3) {}

  void begin(Date day) {
    day_ = day;
    lifter_.begin_day(day);
    stores_.assign(exercises().size(), {});
    first_ = true;
  }
  // rest_s: since the end of the set before. A warm-up is done and written but not counted.
  SetRecord perform(simulation::SetOrder order, const Load& written, SetKind kind, double rest_s) {
    order.rest =
        Minutes{first_ ? 0 : std::max(5.0, std::round(rest_s * std::exp(random_.normal(0, kRestSd)) / 5) * 5) / 60};
    const auto l = static_cast<std::size_t>(order.lift);
    const simulation::Truth& truth = lifter_.truth();
    for (auto& store : stores_) store.rest(order.rest.value, truth.fatigue);
    const simulation::SetResult done = lifter_.perform(order);
    const auto& lift = truth.lifts[l];
    const auto spent = capacity::spend(done.margin, lift.endurance, lift.shape, done.reps, done.failed,
                                       truth.fatigue.lam, truth.fatigue.rho_f);
    stores_[l].add(spent, truth.fatigue);
    for (auto& store : stores_) store.rest(done.reps * capacity::kSecondsPerRep / 60, truth.fatigue);
    if (kind != SetKind::warmup) {
      const double reserve = done.failed ? 0 : done.reserve;
      balance_.plateau += worth_of(0, reserve);
      balance_.linear += worth_of(1, reserve);
      balance_.spent += spent.depletion;
      balance_.minutes += (first_of_lift_ ? 0 : order.rest.value) + done.reps * capacity::kSecondsPerRep / 60;
      ++balance_.sets;
      if (order.ending != simulation::Ending::failure) {
        ++balance_.planned;
        balance_.missed += done.failed ? 1 : 0;
      }
      first_of_lift_ = false;
    }
    SetRecord set;
    set.date = day_;
    set.exercise = exercises()[l].id;
    set.load = written;
    set.reps = done.reps;
    set.failed = done.failed;
    set.called = done.called;
    set.called_at_rep = done.called_at_rep;
    set.kind = kind;
    set.stop = done.stop;
    if (order.ending == simulation::Ending::planned || order.ending == simulation::Ending::cue)
      set.planned_reps = order.reps;
    if (order.ending == simulation::Ending::cue) set.cue = order.cue;
    if (!first_) set.rest_s = std::round(done.rest_written.value * 60);
    first_ = false;
    log_.push_back(set);
    return set;
  }
  void begin_lift() { first_of_lift_ = true; }
  void end_lift(int lift) { balance_.lost += stores_[static_cast<std::size_t>(lift)].total(); }

  // A copy of the lifter on their day, for a what-if.
  simulation::SimulatedLifter copy() const { return lifter_; }
  const Balance& balance() const { return balance_; }
  const std::vector<SetRecord>& log() const { return log_; }
  Date day() const { return day_; }

 private:
  simulation::SimulatedLifter lifter_;
  std::vector<SetRecord> log_;
  Random random_;
  std::vector<capacity::FatigueStores> stores_;
  Balance balance_;
  Date day_;
  bool first_ = true, first_of_lift_ = true;
};

// Two lighter sets before the work, the same in every plan.
inline void warm_up(Trained& trained, int lift, double work_total) {
  for (const auto& [share, reps] : {std::pair{0.5, 6}, {0.75, 3}}) {
    const Load& lighter = load(lift, load_at(lift, share * work_total));
    if (total_of(lift, lighter) >= work_total) continue;
    simulation::SetOrder order;
    order.lift = lift;
    order.total_load = total_of(lift, lighter);
    order.reps = reps;
    trained.perform(order, lighter, SetKind::warmup, 60);
  }
}

// Strength as a chart's owner would work it out from the last sets of a log: the best of Epley's formula on reps and
// call.
inline double worked_out(const std::vector<SetRecord>& log, int lift, int sets) {
  double best = 0;
  for (auto s = log.rbegin(); s != log.rend() && sets > 0; ++s) {
    if (s->exercise != exercises()[static_cast<std::size_t>(lift)].id || s->kind == SetKind::warmup || s->reps == 0)
      continue;
    --sets;
    const double reserve = s->failed ? 0 : s->called ? s->called->reserve : 0;
    best =
        std::max(best, capacity::one_rep_maximum(capacity::Formula::epley, total_of(lift, s->load), s->reps + reserve));
  }
  return best;
}

inline const ClassPolicy& policy_of(int lift) {
  static const ReservePolicy policy;
  return policy.of(exercises()[static_cast<std::size_t>(lift)].cls);
}

// One fixed plan; what it knows is its log.
class FixedPlan {
 public:
  FixedPlan(int kind, const std::vector<SetRecord>& log) : kind_(kind) {
    for (int lift = 0; lift < static_cast<int>(exercises().size()); ++lift) {
      const double maximum = worked_out(log, lift, 12);
      maximum_.push_back(maximum);
      const double reps = kind == 0 ? 10 : 14;  // ten three times over ask for some four more in the first
      at_.push_back(load_at(lift, maximum / (1 + reps / 30)));
    }
  }
  void train(Trained& trained, Date day, int number) {  // sessions, two a week
    const int week = number / kSessionsAWeek;
    const bool last_of_round = number % (3 * kSessionsAWeek) == 3 * kSessionsAWeek - 1;
    trained.begin(day);
    for (int lift = 0; lift < static_cast<int>(exercises().size()); ++lift) {
      const auto l = static_cast<std::size_t>(lift);
      constexpr std::array<std::pair<int, double>, 3> kChart = {std::pair{10, 0.65}, {8, 0.725}, {6, 0.80}};
      const auto& [chart_reps, share] = kChart[static_cast<std::size_t>(week % 3)];
      const int index = kind_ == 2 ? load_at(lift, share * maximum_[l]) : at_[l];
      const Load& work = load(lift, index);
      trained.begin_lift();
      warm_up(trained, lift, total_of(lift, work));
      int first = 0, in_all = 0;
      for (int set = 0; set < 3; ++set) {
        simulation::SetOrder order;
        order.lift = lift;
        order.total_load = total_of(lift, work);
        const bool to_failure = kind_ == 0 || (kind_ == 2 && last_of_round && set == 2);
        order.ending = to_failure ? simulation::Ending::failure : simulation::Ending::planned;
        order.reps = kind_ == 2 ? chart_reps : 10;
        const SetRecord done = trained.perform(order, work, SetKind::work, set == 0 ? 120 : policy_of(lift).rest_s);
        if (set == 0) first = done.reps;
        in_all += done.reps;
      }
      trained.end_lift(lift);
      if (kind_ == 0) {
        if (first > 11) ++at_[l];
        if (first < 8) --at_[l];
      } else if (kind_ == 1) {
        if (in_all == 30) ++at_[l];
        if (in_all < 27) --at_[l];
      }
      at_[l] = std::clamp(at_[l], 0, static_cast<int>(buildable()[l].size()) - 1);
      if (kind_ == 2 && last_of_round) maximum_[l] = worked_out(trained.log(), lift, 1);
    }
  }

 private:
  int kind_;
  std::vector<double> maximum_;
  std::vector<int> at_;
};

// How a lift is trained for a week: so many sets of the same reps, the load falling as the lifter tires, each ending
// with this reserve; the last one to failure as often as the policy of its class allows.
struct Dose {
  int sets = 3;
  int reserve = 2;
  int least_reps = 5, most_reps = 8;
  double rest_s = 120;
};

// What sets of one lift bring and cost, as far as the draws know; mean over them.
struct Expected {
  double plateau = 0, linear = 0, spent = 0, lost = 0, minutes = 0;
  std::array<double*, 5> all() { return {&plateau, &linear, &spent, &lost, &minutes}; }
  void operator+=(Expected other) {
    for (std::size_t i = 0; i < all().size(); ++i) *all()[i] += *other.all()[i];
  }
};

// The sets a log holds of a lift on from <= day < to, each as it would be if every draw had done it.
inline Expected of_log(const capacity::LifterDraws& draws, int lift, const std::vector<SetRecord>& log, Date from,
                       Date to) {
  Expected out;
  const auto l = static_cast<std::size_t>(lift);
  const std::string& id = exercises()[l].id;
  double n = 0;
  for (std::size_t i = 0; i < draws.draws.size(); i += 8, ++n) {
    const capacity::Draw& d = draws.draws[i];
    const double k = d.lifts[l].endurance, shape = draws.info[l].shape;
    capacity::FatigueStores stores;
    std::optional<Date> day;
    bool first_work = true;
    for (const SetRecord& s : log) {
      if (s.exercise != id || s.date < from || s.date >= to) continue;
      const double rest = s.rest_s.value_or(120) / 60;
      if (!day || !(*day == s.date)) {
        out.lost += stores.total();
        stores = {};
        day = s.date;
        first_work = true;
      } else {
        stores.rest(rest, d.fatigue);
      }
      const double margin = d.lifts[l].log_strength - stores.total() - std::log(total_of(lift, s.load));
      const auto spent = capacity::spend<double>(margin, k, shape, s.reps, s.failed, d.fatigue.lam, d.fatigue.rho_f);
      stores.add(spent, d.fatigue);
      stores.rest(s.reps * capacity::kSecondsPerRep / 60, d.fatigue);
      if (s.kind == SetKind::warmup) continue;
      const double reserve = s.failed ? 0 : std::max(0.0, capacity::reps_to_failure(margin, k, shape) - s.reps);
      out.plateau += worth_of(0, reserve);
      out.linear += worth_of(1, reserve);
      out.spent += spent.depletion;
      out.minutes += s.reps * capacity::kSecondsPerRep / 60 + (first_work ? 0 : rest);
      first_work = false;
    }
    out.lost += stores.total();
  }
  for (double* value : out.all()) *value /= n;
  return out;
}

// Where the set planner really ends the sets of a lift: its limit on a miss keeps them from ending nearer than `least`.
struct Ends {
  double least = 1.5;   // median true reserve of a set asked to end with 1
  double spread = 1.2;  // sd of true reserve
};

// Share of sessions whose last set the policy lets go to failure.
inline double failure_share(int lift) {
  const ClassPolicy& policy = policy_of(lift);
  return policy.last_set_failure ? std::min(1.0, 7.0 / kSessionsAWeek / std::max(1, policy.failure_every_days)) : 0;
}

// The same of a dose after each of its sets, at loads that suit its zone: [sets - 1].
inline std::vector<Expected> of_dose(const capacity::LifterDraws& draws, int lift, const Dose& dose, const Ends& ends) {
  std::vector<Expected> out(static_cast<std::size_t>(dose.sets));
  const auto l = static_cast<std::size_t>(lift);
  const double reps = (dose.least_reps + dose.most_reps) / 2.0;
  const double reserve = std::max(dose.reserve + 0.5, ends.least);
  Expected each;  // what a set brings wherever it stands
  for (const auto& [off, share] : {std::pair{-std::sqrt(2.0), 0.25}, {0.0, 0.5}, {std::sqrt(2.0), 0.25}}) {
    each.plateau += share * worth_of(0, reserve + off * ends.spread);
    each.linear += share * worth_of(1, reserve + off * ends.spread);
  }
  double n = 0;
  for (std::size_t i = 0; i < draws.draws.size(); i += 8, ++n) {
    const capacity::Draw& d = draws.draws[i];
    const double k = d.lifts[l].endurance, shape = draws.info[l].shape;
    const double margin = capacity::margin_for_reps(reps + reserve, k, shape);
    const int done = std::max(1, static_cast<int>(std::lround(reps)));
    const auto spend_of = [&](double from, bool failed) {
      return capacity::spend<double>(from, k, shape, done, failed, d.fatigue.lam, d.fatigue.rho_f);
    };
    const auto spent = spend_of(margin, false), all = spend_of(capacity::margin_for_reps(reps + 0.5, k, shape), true);
    const double failures = failure_share(lift);
    capacity::FatigueStores stores;
    Expected sum;
    for (std::size_t set = 0; set < out.size(); ++set) {
      if (set > 0) stores.rest(dose.rest_s / 60, d.fatigue);
      stores.add(spent, d.fatigue);
      stores.rest(done * capacity::kSecondsPerRep / 60, d.fatigue);
      sum += each;
      sum.spent += spent.depletion;
      sum.minutes += done * capacity::kSecondsPerRep / 60 + (set > 0 ? dose.rest_s / 60 : 0);
      sum.lost = stores.total();
      Expected ended = sum;
      ended.plateau += failures * (1 - each.plateau);
      ended.linear += failures * (1 - each.linear);
      ended.spent += failures * (all.depletion - spent.depletion);
      ended.lost += failures *
                    (d.fatigue.a_fast * (all.depletion - spent.depletion) + d.fatigue.a_slow * (all.slow - spent.slow));
      out[set] += ended;
    }
  }
  for (Expected& e : out) {
    for (double* value : e.all()) *value /= n;
  }
  return out;
}

// Sets, reserve, zone and rest of a lift for the coming week. `fixed`: what the fixed plan's log holds up to the end of
// it, `own` what the own log holds so far, each week of them as it was seen at its own time. What was left of fatigue
// and minutes is made up for over the next kMakeUpSessions sessions. The dose with the most stimulus under the reading
// that gains least; where none stays within, the one that goes least beyond.
inline Dose choose_dose(const capacity::LifterDraws& draws, int lift, const Expected& fixed, const Expected& own,
                        const Expected& fixed_week, const Ends& ends) {
  const ClassPolicy& policy = policy_of(lift);
  const auto may = [&](double within, double all, double used, double week) {
    const double usual = within * week / kSessionsAWeek;
    return std::max(0.25 * usual, usual + (within * (all - week) - used) / kMakeUpSessions);
  };
  const double spent = may(kWithin, fixed.spent, own.spent, fixed_week.spent),
               lost = may(kWithinLost, fixed.lost, own.lost, fixed_week.lost),
               minutes = may(kWithin, fixed.minutes, own.minutes, fixed_week.minutes);
  Dose best;
  double best_value = -1e9;
  const int middle = (policy.least_reps + policy.most_reps) / 2;
  for (const auto& [least, most] : {std::pair{policy.least_reps, policy.least_reps + 1},
                                    {policy.least_reps, policy.least_reps + 2},
                                    {policy.least_reps + 1, middle},
                                    {middle, policy.most_reps}}) {
    for (const double rest_s : {60.0, 90.0, 120.0, 150.0, 180.0, 240.0}) {
      for (int reserve = 1; reserve <= 6; ++reserve) {
        Dose dose{kMostSets, reserve, least, std::max(least + 1, most), rest_s};
        const std::vector<Expected> after = of_dose(draws, lift, dose, ends);
        for (dose.sets = 1; dose.sets <= kMostSets; ++dose.sets) {
          const Expected& e = after[static_cast<std::size_t>(dose.sets - 1)];
          const double over = std::max({e.spent / spent, e.lost / lost, e.minutes / minutes}) - 1;
          const double gain = std::min((own.plateau + kSessionsAWeek * e.plateau) / fixed.plateau,
                                       (own.linear + kSessionsAWeek * e.linear) / fixed.linear);
          const double value = over <= 0 ? gain : -100 * over;
          if (value > best_value) {
            best_value = value;
            best = dose;
          }
        }
      }
    }
  }
  return best;
}

// Who is simulated, and how they keep their log before any plan: loads from the log and a first guess alone.
struct Person {
  std::vector<simulation::SimulatedLift> lifts;
  simulation::Truth truth;
  std::vector<simulation::LiftHabit> habits;
};
inline Person draw_person(Random& random) {
  Person person;
  for (const Exercise& e : exercises()) person.lifts.push_back({e});
  const simulation::Background background{Sex::male, kBodyMass, 2};
  person.truth = simulation::draw_truth(person.lifts, background, random);
  const std::vector<double> guesses = simulation::first_guesses(person.lifts, background, random);
  for (std::size_t l = 0; l < person.lifts.size(); ++l) {
    simulation::LiftHabit habit;
    habit.exercise = person.lifts[l].exercise;
    for (const Buildable& b : buildable()[l]) habit.loads.push_back(b.load);
    habit.first_guess = guesses[l];
    habit.least_reps = 6;
    habit.most_reps = 10;
    habit.rest_minutes = policy_of(static_cast<int>(l)).rest_s / 60;
    person.habits.push_back(habit);
  }
  return person;
}
// How a lifter breaks the model, by the place in kFlaws.
inline simulation::Flaws flaws_of(int flaw, int jump_on_day) {
  simulation::Flaws flaws;
  flaws.heavy_tails = flaw == 1;
  if (flaw == 2) flaws.wrong_rest_sd = 0.3;
  if (flaw == 3) flaws.judgement_drift = 1;
  if (flaw == 4) flaws.jump_on_day = jump_on_day;
  flaws.feeling_anew = flaw == 5 ? 1 : 0;
  return flaws;
}
inline simulation::LogManner usual_manner() {
  simulation::LogManner manner;
  manner.body_mass = [](Date) { return kBodyMass; };
  return manner;
}
// What the program knows of the lifter beside the log.
inline Lifter known_since(Date start) {
  Lifter who;
  who.id = who.name = "simulated";
  who.sex = Sex::male;
  who.training_years = 2;
  who.body_mass = {{start, {kBodyMass, Unit::kilogram}}};
  return who;
}

}  // namespace loop

// One lifter through history, the three fixed plans, and the planner against each.
inline std::vector<Pair> run_lifter(const LoopWish& wish, int number) {
  using namespace loop;
  const std::uint64_t seed = wish.seed + 1000 * static_cast<std::uint64_t>(number);
  Random random(seed);
  const Person person = draw_person(random);
  // Every other lifter breaks the model, in turn.
  const int flaw = number % 2 == 0 ? 0 : 1 + (number / 2) % 5;
  const simulation::Flaws flaws = flaws_of(flaw, 7 * (wish.history_weeks + wish.weeks / 2));
  const Date start = *make_date(2025, 1, 6);
  simulation::SimulatedLifter fresh(person.lifts, person.truth, seed + 1, flaws);
  simulation::LoggingCoach coach(person.habits);
  const simulation::LogManner manner = usual_manner();
  const auto history_days =
      simulation::calendar(start, start + 7 * wish.history_weeks - 1, {1, 4}, {{{0}, {1}, {2}}}, 0, random);
  const std::vector<SetRecord> history = simulation::train(fresh, coach, history_days, manner, random).sets;

  const Lifter who = known_since(start);
  const auto find = [](const std::string& id) { return library::builtin().find(id); };
  const auto fit_of = [&](const std::vector<SetRecord>& log) {
    capacity::FitOptions options;
    options.history = false;
    return *capacity::fit(capacity::prepare(who, log, find, log.back().date), options);
  };
  std::vector<capacity::Posterior::Wanted> wanted;
  for (const Exercise& e : exercises()) wanted.push_back({e, Side::both});
  const capacity::Posterior at_start = fit_of(history);

  std::vector<Date> days;
  for (int week = 0; week < wish.weeks; ++week) {
    for (const int weekday : {0, 3}) days.push_back(start + 7 * (wish.history_weeks + week) + weekday);
  }
  std::vector<Pair> out;
  for (int plan = 0; plan < static_cast<int>(kFixedPlans.size()); ++plan) {
    Pair pair;
    pair.lifter = number;
    pair.flaw = flaw;
    pair.plan = plan;
    Trained fixed(fresh, history, seed + 2);
    FixedPlan chart(plan, history);
    for (std::size_t i = 0; i < days.size(); ++i) {
      chart.train(fixed, days[i], static_cast<int>(i));
    }
    pair.fixed = fixed.balance();

    Trained planned(fresh, history, seed + 2);
    capacity::Posterior posterior = at_start;
    std::vector<Dose> doses(exercises().size());
    std::vector<Expected> fixed_so_far(exercises().size()), own_so_far(exercises().size());
    const safety::Gate gate;
    std::vector<std::optional<Date>> last_failure(exercises().size()), last_test(exercises().size());
    Random what_ifs(seed + 9, static_cast<std::uint64_t>(plan));
    for (std::size_t i = 0; i < days.size(); ++i) {
      if (i > 0 && static_cast<int>(i) % (2 * wish.block_weeks) == 0) posterior = fit_of(planned.log());
      const capacity::LifterDraws draws = posterior.draw(wanted, days[i], kBodyMass, kDraws, seed + i);
      // The last set of each lift is a rep-max test with a call on the way, or a set to failure, as often as the policy
      // allows.
      const bool test_today = i % (2 * kTestEveryWeeks) == 0;
      planning::PlanningInput input;
      input.draws = &draws;
      input.gate = &gate;
      input.seed = seed + i;
      input.safety_bars = true;
      for (std::size_t l = 0; l < doses.size(); ++l)
        input.offers.push_back({exercises()[l], buildable()[l], "", last_failure[l], last_test[l]});
      const auto requested = [&](std::size_t l, const Dose& dose) {
        planning::ExerciseRequest e;
        e.exercise = exercises()[l].id;
        e.sets = dose.sets;
        e.least_reps = dose.least_reps;
        e.most_reps = dose.most_reps;
        e.least_reserve = e.most_reserve = dose.reserve;
        e.rest_s = dose.rest_s;
        e.strategy = planning::Strategy::same_reps;
        e.finish = test_today ? planning::Finish::rep_max_test : planning::Finish::failure;
        return e;
      };
      planning::SessionRequest request;
      request.lifter = who.name;
      request.date = days[i];
      if (i % 2 == 0) {  // sets, reserve, zone and rest for the week
        const Date from = days[i], to = from + 7;
        for (std::size_t l = 0; l < doses.size(); ++l) {
          const int lift = static_cast<int>(l);
          request.exercises = {requested(l, {2, 1, policy_of(lift).least_reps, policy_of(lift).most_reps, 120})};
          request.exercises.front().finish = planning::Finish::as_usual;
          Ends ends;
          if (const auto trial = planning::plan_session(request, input); trial && !trial->items.empty()) {
            const planning::PlanSet& set = trial->items.front().sets.back();
            ends = {set.reserve.median, set.reserve.sd};
          }
          // Strength moves over a year: what was done is weighed by what was known about its own week.
          const Expected fixed_week = of_log(draws, lift, fixed.log(), from, to);
          fixed_so_far[l] += fixed_week;
          if (i > 0) own_so_far[l] += of_log(draws, lift, planned.log(), days[i - 2], from);
          doses[l] = choose_dose(draws, lift, fixed_so_far[l], own_so_far[l], fixed_week, ends);
        }
      }
      request.exercises.clear();
      for (std::size_t l = 0; l < doses.size(); ++l) request.exercises.push_back(requested(l, doses[l]));
      const std::size_t before = planned.log().size();
      planned.begin(days[i]);
      // What-if: three sets of fixed reps of one lift, told beforehand, done by a copy.
      {
        const int lift = static_cast<int>(i % exercises().size());
        const auto l = static_cast<std::size_t>(lift);
        std::vector<double> strength;
        for (const capacity::Draw& d : draws.draws) strength.push_back(std::exp(d.lifts[l].log_strength));
        const double total = total_of(
            lift, load(lift, load_at(lift, what_ifs.uniform(0.68, 0.82) * capacity::interval_of(strength).median)));
        simulation::SetOrder order;
        order.lift = lift;
        order.total_load = total;
        order.reps = what_ifs.integer(5, 10);
        capacity::SessionForecast forecast(draws, seed + 77 * i);
        simulation::SimulatedLifter copy = planned.copy();
        for (int set = 1; set <= 3; ++set) {
          order.rest = Minutes{set == 1 ? 0 : policy_of(lift).rest_s / 60};
          forecast.rest(order.rest);
          const double p_miss = forecast.perform(lift, std::log(total), {order.reps, {}, false}).p_miss;
          pair.told.push_back({p_miss, copy.perform(order).failed, set});
        }
      }
      std::vector<planning::DoneSet> done;
      for (std::size_t l = 0; l < doses.size(); ++l) {
        const auto sheet = planning::replan(request, input, done, exercises()[l].id);
        if (!sheet || sheet->items.empty()) continue;
        const int lift = static_cast<int>(l);
        planned.begin_lift();
        bool warmed = false;
        for (const planning::PlanSet& set : sheet->items.front().sets) {
          if (set.kind == SetKind::warmup) continue;  // the warm-up is the same in every plan
          if (!warmed) {
            const std::size_t first = planned.log().size();
            warm_up(planned, lift, total_of(lift, set.load));
            for (std::size_t k = first; k < planned.log().size(); ++k) {
              const SetRecord& s = planned.log()[k];
              done.push_back({s.exercise, s.side, s.kind, s.load, s.reps, s.failed, s.rest_s});
            }
            warmed = true;
          }
          simulation::SetOrder order;
          order.lift = lift;
          order.total_load = total_of(lift, set.load);
          order.reps = set.reps;
          order.ending = set.to_failure ? simulation::Ending::failure
                         : set.cue      ? simulation::Ending::cue
                                        : simulation::Ending::planned;
          if (set.cue) order.cue = set.cue->called;
          if (set.to_failure) {
            order.call_at_rep = std::max(1, set.reps - 2);
            last_failure[l] = days[i];
            if (set.kind == SetKind::test) last_test[l] = days[i];
          } else {
            order.ask_call = true;
          }
          const bool first_set = done.empty() || done.back().kind == SetKind::warmup;
          const SetRecord s = planned.perform(order, set.load, set.kind, first_set ? 120 : set.rest_s);
          done.push_back({s.exercise, s.side, s.kind, s.load, s.reps, s.failed, s.rest_s});
          if (!set.to_failure) pair.told.push_back({set.p_miss, s.failed, 0});
        }
        planned.end_lift(lift);
      }
      if (planned.log().size() == before) continue;
      const std::vector<SetRecord> today(planned.log().begin() + static_cast<std::ptrdiff_t>(before),
                                         planned.log().end());
      if (auto next = capacity::update(posterior, capacity::prepare(who, today, find, days[i])))
        posterior = std::move(*next);
    }
    pair.planned = planned.balance();
    out.push_back(std::move(pair));
  }
  return out;
}

}  // namespace ullage::science
