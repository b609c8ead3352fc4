#include "engine/planning/set_planner.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/planning/set_search.h"
#include "engine/planning/step_up.h"
#include "engine/planning/warm_up.h"
#include "engine/planning/why.h"

namespace ullage::planning {
namespace {

using capacity::Interval;
using capacity::LifterDraws;
using capacity::SessionForecast;
using capacity::SetOutcome;

constexpr std::size_t kSearchDraws = 128;            // draws the search works on; the plan is settled on all
constexpr int kPathsTried = 8;                       // best paths settled in turn until one holds
constexpr double kMostMiss = 0.25;                   // more likely than this is a set to failure in all but name
constexpr double kColdStartMissLimit = 0.05;         // for exercises never done (assumption)
constexpr double kSureReps = 3, kSureChance = 0.95;  // a set to failure must give 3 reps almost surely
constexpr double kWarmUpMiss = 0.01;                 // a warm-up must be this safe
constexpr int kMostCalled = 6;                       // highest call used as a cue
constexpr double kBandGain = 0.02;                   // a step this much better for the band counts as wanted
constexpr double kClearlyAbove = 1;                  // reps over the band that are remarked on
constexpr double kUnseen = 0.05;                     // natural-log margin outside the log's range that is remarked on
constexpr int kMostReps = 60, kMostSets = 20;        // bounds of a request

// An equally spread part of the draws.
LifterDraws thinned(const LifterDraws& draws, std::size_t want) {
  if (draws.draws.size() <= want) return draws;
  LifterDraws out{draws.day, draws.info, {}, draws.overlap};
  out.draws.reserve(want);
  for (std::size_t i = 0; i < want; ++i) out.draws.push_back(draws.draws[i * draws.draws.size() / want]);
  return out;
}

std::string load_text(const Load& load) {
  if (load.unit == Unit::mark) return "mark " + number_text(load.amount);
  return number_text(load.amount) + " " + std::string(unit_name(load.unit));
}

// One exercise with everything looked up.
struct Task {
  const ExerciseRequest* request = nullptr;
  const ExerciseOffer* offer = nullptr;
  const ClassPolicy* policy = nullptr;
  int lift = 0;
  std::vector<double> totals;           // work loads allowed, rising
  std::vector<const Buildable*> loads;  // beside totals
  bool capped = false;                  // heavier loads exist but the load cap takes them away
  std::optional<StepLimit> step_up;
  ShownCurve shown_curve;  // of the draws, where step_up is set
  Interval strength;       // total load of one repetition
  Aim aim;
  bool test = false;
  bool begun = false;    // work sets of it were done today
  double warmed_to = 0;  // heaviest total load of the warm-ups already done today
  std::vector<std::string> remarks;
};

// A path played through all draws.
struct Settled {
  SessionForecast after;
  PlanItem item;
  std::vector<Step> steps;  // work sets as settled
  bool last_failure_unsure = false;
};

class Planner {
 public:
  Planner(const SessionRequest& request, const PlanningInput& input)
      : request_(request),
        input_(input),
        search_draws_(thinned(*input.draws, kSearchDraws)),
        full_(*input.draws, input.seed),
        coarse_(search_draws_, input.seed ^ 0x9e3779b97f4a7c15ULL),
        scorer_(search_draws_, input.seed + 0x51ed2701) {
    plan_.lifter = request.lifter;
    plan_.date = request.date;
  }

  void happened(const std::vector<DoneSet>& done) {
    std::string before;
    for (const DoneSet& set : done) {
      const ExerciseOffer* offer = offer_of(set.exercise);
      const int lift = lift_of(set.exercise, set.side);
      const bool changed = set.exercise != before;
      before = set.exercise;
      const double usual = offer ? input_.policy.of(offer->exercise.cls).rest_s : 120;
      double rest_s = set.kind == SetKind::warmup ? kWarmUpRestSeconds : usual;
      if (changed) rest_s = std::max(rest_s, kSetUpSeconds);
      rest(set.rest_s.value_or(rest_s));
      const double total = offer && lift >= 0 ? total_load(offer->exercise, set.load, info(lift).body_mass_kg) : 0;
      if (lift < 0 || total <= 0) {
        const std::string name = offer ? offer->exercise.name : set.exercise;
        if (std::find(unknown_done_.begin(), unknown_done_.end(), name) == unknown_done_.end()) {
          unknown_done_.push_back(name);
        }
        continue;
      }
      full_.happened(lift, std::log(total), set.reps, set.failed);
      coarse_.happened(lift, std::log(total), set.reps, set.failed);
      note_done(lift);
    }
  }

  // done, warm_ups: work and warm-up sets of this exercise already done today.
  void add(const ExerciseRequest& request, const std::vector<const DoneSet*>& done,
           const std::vector<const DoneSet*>& warm_ups) {
    Task task;
    task.request = &request;
    task.begun = !done.empty();
    std::string reason;
    if (!look_up(task, reason) || !set_aim(task, done, reason)) {
      leave_out(request.exercise, reason);
      return;
    }
    for (const DoneSet* set : warm_ups) {
      task.warmed_to =
          std::max(task.warmed_to, total_load(task.offer->exercise, set->load, info(task.lift).body_mass_kg));
    }
    std::optional<Settled> settled = settle(task);
    if (settled && settled->last_failure_unsure) {
      task.remarks.push_back("Last set not to failure: fewer than 3 reps could come out of it.");
      task.aim.last_to_failure = false;
      task.test = false;
      settled = settle(task);
    }
    if (!settled) {
      leave_out(request.exercise, not_admitted(task));
      return;
    }
    for (const PlanSet& set : settled->item.sets) {  // the coarse forecast follows
      coarse_.rest(Minutes{set.rest_s / 60});
      const double total = total_load(task.offer->exercise, set.load, info(task.lift).body_mass_kg);
      coarse_.advance(task.lift, std::log(total),
                      {set.reps, set.cue ? std::optional<Call>(set.cue->called) : std::nullopt, set.to_failure});
    }
    full_ = std::move(settled->after);
    note_done(task.lift);
    content_.spotter_lifts = content_.spotter_lifts || task.offer->exercise.needs_spotter;
    for (const PlanSet& set : settled->item.sets) {
      if (set.kind == SetKind::warmup) continue;
      content_.near_failure = content_.near_failure || set.to_failure || set.reserve.median < 2;
    }
    plan_.minutes += settled->item.minutes;
    plan_.items.push_back(std::move(settled->item));
  }

  SessionPlan finish() {
    content_.safety_bars = input_.safety_bars;
    plan_.cautions = safety::sheet_cautions(*input_.gate, content_);
    for (const std::string& name : unknown_done_) {
      plan_.cautions.push_back("What " + name + " tired today could not be counted: there is no estimate of it.");
    }
    return std::move(plan_);
  }

  void rest(double seconds) {
    full_.rest(Minutes{seconds / 60});
    coarse_.rest(Minutes{seconds / 60});
  }

 private:
  const capacity::LiftInfo& info(int lift) const { return input_.draws->info[static_cast<std::size_t>(lift)]; }

  const ExerciseOffer* offer_of(const std::string& exercise) const {
    for (const ExerciseOffer& offer : input_.offers) {
      if (offer.exercise.id == exercise) return &offer;
    }
    return nullptr;
  }

  int lift_of(const std::string& exercise, Side side) const {
    for (std::size_t i = 0; i < input_.draws->info.size(); ++i) {
      const capacity::LiftInfo& one = input_.draws->info[i];
      if (one.exercise == exercise && one.side == side) return static_cast<int>(i);
    }
    return -1;
  }

  void note_done(int lift) {
    if (std::find(done_lifts_.begin(), done_lifts_.end(), lift) == done_lifts_.end()) done_lifts_.push_back(lift);
  }

  bool warmed(int lift) const {
    return std::any_of(done_lifts_.begin(), done_lifts_.end(), [&](int from) {
      return input_.draws->overlap[static_cast<std::size_t>(from)][static_cast<std::size_t>(lift)] >= kWarmedOverlap;
    });
  }

  void leave_out(const std::string& exercise, std::string reason) {
    const ExerciseOffer* offer = offer_of(exercise);
    plan_.left_out.push_back({exercise, offer ? offer->exercise.name : exercise, std::move(reason)});
  }

  bool look_up(Task& task, std::string& reason) const {
    const std::string& id = task.request->exercise;
    if (const auto barred = input_.gate->barred_because(id)) {
      reason = *barred;
      return false;
    }
    task.offer = offer_of(id);
    if (!task.offer) {
      reason = "not in the exercise library";
      return false;
    }
    task.lift = lift_of(id, task.request->side);
    if (task.lift < 0) {
      reason = "there is no estimate of it";
      return false;
    }
    task.policy = &input_.policy.of(task.offer->exercise.cls);
    task.strength = over_draws(task.lift, [](const auto& lift) { return std::exp(lift.log_strength); });
    return find_loads(task, reason);
  }

  // Of a number that each draw has for the lift.
  template <class Number>
  Interval over_draws(int lift, const Number& number) const {
    std::vector<double> values;
    for (const capacity::Draw& draw : input_.draws->draws)
      values.push_back(number(draw.lifts[static_cast<std::size_t>(lift)]));
    return capacity::interval_of(std::move(values));
  }

  bool find_loads(Task& task, std::string& reason) const {
    std::vector<std::pair<double, const Buildable*>> all;
    for (const Buildable& load : task.offer->loads) {
      const double total = total_load(task.offer->exercise, load.load, info(task.lift).body_mass_kg);
      if (total > 0) all.emplace_back(total, &load);
    }
    if (all.empty()) {
      reason = task.offer->no_loads_because.empty() ? "no load for it can be built here" : task.offer->no_loads_because;
      return false;
    }
    std::sort(all.begin(), all.end());  // equal totals keep the order of the offer: both point into it
    // The cap is on the low side of what strength may be, so that it holds for a lifter weaker than the estimate.
    const auto& share = input_.gate->load_cap_share;
    const double cap = share ? *share * task.strength.lo80 : 0;
    for (const auto& [total, load] : all) {
      if (share && total > cap) {
        task.capped = true;
        break;
      }
      task.totals.push_back(total);
      task.loads.push_back(load);
    }
    if (task.totals.empty()) {
      reason = "even the lightest load here, " + load_text(all.front().second->load) + ", is above " +
               percent_text(*share) + " of strength (" + input_.gate->load_cap_from + ")";
      return false;
    }
    return true;
  }

  // Index of the heaviest load not above `total` by more than a gram, or 0.
  static int load_at_or_below(const Task& task, double total) {
    const auto it = std::upper_bound(task.totals.begin(), task.totals.end(), total + 1e-3);
    return it == task.totals.begin() ? 0 : static_cast<int>(it - task.totals.begin()) - 1;
  }

  bool set_aim(Task& task, const std::vector<const DoneSet*>& done, std::string& reason) const {
    const ExerciseRequest& request = *task.request;
    const ClassPolicy& policy = *task.policy;
    const safety::Gate& gate = *input_.gate;
    Aim& aim = task.aim;
    aim.strategy = request.strategy;
    aim.sets = request.sets.value_or(policy.sets) - static_cast<int>(done.size());
    aim.least_reps = request.least_reps.value_or(std::min(policy.least_reps, request.most_reps.value_or(kMostReps)));
    aim.most_reps = request.most_reps.value_or(std::max(policy.most_reps, aim.least_reps));
    const double least = request.least_reserve.value_or(
        std::min(policy.least_reserve, request.most_reserve.value_or(policy.least_reserve)));
    const double most = request.most_reserve.value_or(std::max(policy.most_reserve, least));
    aim.floor = gate.least_reserve;
    aim.band_low = std::max(least + gate.extra_reserve, aim.floor);
    aim.band_high = std::max(most + gate.extra_reserve, aim.band_low) + 1;
    aim.rest_s = request.rest_s.value_or(policy.rest_s);
    limit_miss(task);
    if (gate.extra_reserve > 0) {
      task.remarks.push_back("One more in reserve than usual: " + gate.extra_reserve_from + ".");
    }
    if (!info(task.lift).known) {
      aim.miss_limit = std::min(aim.miss_limit, kColdStartMissLimit);
      task.remarks.push_back("Never done here: a first guess, plus or minus " +
                             percent_text((task.strength.hi80 - task.strength.lo80) / 2 / task.strength.median) +
                             "; start careful.");
    }
    if (task.offer->exercise.cls == ExerciseClass::isolation) {
      if (aim.floor <= input_.policy.light_most_reserve) {
        aim.light_under = input_.policy.light_share * task.strength.median;
        aim.light_band_high = std::max(input_.policy.light_most_reserve, aim.floor) + 1;
      }
    }
    if (!limit_step(task, done, reason)) return false;
    if (!fix_by_done(task, done, reason) || !heed_misses(task, done, reason)) return false;
    ask_failure(task, done);
    choose_cues(aim);
    return true;
  }

  // A policy's own limit on a miss is no way round the gate on sets to failure: it counts up to the limit at which a
  // set is one but in name, and where failure is out of the question or a lift may pin the lifter up to the standard
  // one of its class.
  void limit_miss(Task& task) const {
    const Exercise& exercise = task.offer->exercise;
    const bool may_pin = exercise.needs_spotter || exercise.cls == ExerciseClass::barbell_compound;
    const bool unguarded = may_pin && !input_.safety_bars;
    const bool strict = !input_.gate->failure || unguarded;
    const double most = strict ? ReservePolicy{}.of(exercise.cls).miss_limit : kMostMiss;
    task.aim.miss_limit = std::min(task.policy->miss_limit, most);
    if (task.policy->miss_limit <= most) return;
    task.remarks.push_back("The policy allows a miss in " + percent_text(task.policy->miss_limit) +
                           " of cases; here at most " + percent_text(most) + " is planned: " +
                           (!input_.gate->failure ? "no sets to failure, " + input_.gate->no_failure
                            : unguarded           ? "no spotters or safety bars are confirmed"
                                                  : "more would be a set to failure in all but name") +
                           ".");
  }

  // Takes away loads and reps more than a step above what the log shows, today's sets included. A load that was asked
  // for is the coach's to answer for.
  bool limit_step(Task& task, const std::vector<const DoneSet*>& done, std::string& reason) const {
    if (task.request->load) return true;
    const Exercise& exercise = task.offer->exercise;
    const capacity::LiftInfo& lift = info(task.lift);
    std::vector<ShownSet> shown;
    const auto add = [&](Date date, Side side, const Load& load, int reps, bool failed) {
      if (side == task.request->side && load.unit != Unit::mark)
        shown.push_back({date, load, total_load(exercise, load, lift.body_mass_kg), reps, failed});
    };
    for (const ExerciseOffer::Shown& s : task.offer->shown) add(s.date, s.side, s.load, s.reps, s.failed);
    if (shown.empty()) return true;
    for (const DoneSet* set : done) add(request_.date, set->side, set->load, set->reps, set->failed);
    const Interval k = over_draws(task.lift, [](const auto& of) { return of.endurance; });
    const ShownCurve curve{k.median, k.lo80, lift.shape};
    const auto limit = step_limit(shown, request_.date, curve);
    if (!limit) return true;
    task.step_up = limit;
    task.shown_curve = curve;
    std::size_t kept = 0;
    for (; kept < task.totals.size(); ++kept) {
      const int reps = reps_within(*limit, task.totals[kept], curve, task.aim.band_low);
      if (reps < task.aim.least_reps) break;
      task.aim.reps_at_most.push_back(reps);
    }
    if (kept == 0) {
      reason = "even the lightest load here, " + load_text(task.loads.front()->load) + ", for " +
               reps_text(task.aim.least_reps) + " is more than " + step_text(*limit);
      return false;
    }
    task.totals.resize(kept);
    task.loads.resize(kept);
    return true;
  }
  static std::string step_text(const StepLimit& limit) {
    if (limit.log_most) {
      return "what the last day showed (" + load_text(limit.missed.written) + " x " +
             std::to_string(limit.missed.reps) + ", then a rep failed, on " + date_text(limit.missed.date) + ")";
    }
    const std::string best = "(" + load_text(limit.best.written) + " x " + std::to_string(limit.best.reps) + " on " +
                             date_text(limit.best.date) + ")";
    if (limit.step > 0) return percent_text(limit.step) + " above the log's best of late " + best;
    const std::string alone = "the log's best before the lift was left alone " + best;
    return limit.step < 0 ? percent_text(-limit.step) + " under " + alone : alone;
  }

  bool fix_by_done(Task& task, const std::vector<const DoneSet*>& done, std::string& reason) const {
    Aim& aim = task.aim;
    const Exercise& exercise = task.offer->exercise;
    const double body_mass = info(task.lift).body_mass_kg;
    if (task.request->load) {
      const double want = total_load(exercise, *task.request->load, body_mass);
      const int index = load_at_or_below(task, want);
      if (std::abs(task.totals[static_cast<std::size_t>(index)] - want) > 1e-3) {
        reason = load_text(*task.request->load) + " was asked for and cannot be built or is not allowed";
        return false;
      }
      task.totals = {task.totals[static_cast<std::size_t>(index)]};
      task.loads = {task.loads[static_cast<std::size_t>(index)]};
      return true;
    }
    if (done.empty()) return true;
    const int last = load_at_or_below(task, total_load(exercise, done.back()->load, body_mass));
    switch (aim.strategy) {
      case Strategy::same_load: aim.fixed_load = last; break;
      case Strategy::same_reps:
        aim.load_at_most = last;
        aim.fixed_reps = std::clamp(done.back()->reps, aim.least_reps, aim.most_reps);
        break;
      case Strategy::top_set:
        if (done.size() == 1) {
          aim.top_load = last;
        } else {
          aim.fixed_load = last;
        }
        break;
    }
    return true;
  }

  // After a rep that failed: fewer reps at that load or above than were done before it failed, whatever the estimate
  // says.
  bool heed_misses(Task& task, const std::vector<const DoneSet*>& done, std::string& reason) const {
    Aim& aim = task.aim;
    for (const DoneSet* set : done) {
      if (!set->failed) continue;
      const double failed = total_load(task.offer->exercise, set->load, info(task.lift).body_mass_kg);
      const int fewer = set->reps - 1;
      if (aim.least_reps <= fewer && !(aim.fixed_reps && *aim.fixed_reps > fewer)) {
        aim.most_reps = std::min(aim.most_reps, fewer);
        continue;
      }
      // Too few for the zone: only loads below.
      const int below = load_at_or_below(task, failed - 2e-3);
      const bool none = task.totals[static_cast<std::size_t>(below)] >= failed - 1e-3;
      if (none || (aim.fixed_load && *aim.fixed_load > below)) {
        reason = "a rep failed at " + load_text(set->load) + " after " + reps_text(set->reps) + ": it ends here";
        return false;
      }
      aim.load_at_most = std::min(aim.load_at_most.value_or(below), below);
      if (aim.top_load && *aim.top_load > below) aim.top_load = below;
    }
    return true;
  }

  void ask_failure(Task& task, const std::vector<const DoneSet*>& done) const {
    if (task.request->finish == Finish::as_usual) return;
    safety::FailureWish wish;
    wish.cls = task.offer->exercise.cls;
    wish.needs_spotter = task.offer->exercise.needs_spotter;
    wish.last_set = true;
    wish.test = task.request->finish == Finish::rep_max_test;
    wish.safety_bars = input_.safety_bars;
    wish.today = request_.date;
    wish.last_failure = task.offer->last_failure;
    wish.last_test = task.offer->last_test;
    for (const DoneSet* set : done) {
      if (set->failed) wish.last_failure = request_.date;
      if (set->kind == SetKind::test) wish.last_test = request_.date;
    }
    safety::Permission permission = safety::failure_allowed(*input_.gate, *task.policy, wish);
    // The load of a lift that was never done is a guess: no set to failure on it.
    if (permission.allowed && !info(task.lift).known) permission = {false, "never done here"};
    if (permission.allowed) {
      task.aim.last_to_failure = true;
      task.test = wish.test;
    } else {
      task.remarks.push_back((wish.test ? "No rep-max test: " : "Last set not to failure: ") + permission.because +
                             ".");
    }
  }

  // The call whose true reserve falls best in the band, then more careful ones for when a limit asks for them.
  void choose_cues(Aim& aim) const {
    const double capacity = (aim.least_reps + aim.most_reps) / 2.0 + (aim.band_low + aim.band_high) / 2;
    int best = 0;
    double best_in_band = -1;
    for (int called = 0; called <= kMostCalled; ++called) {
      const double in_band =
          scorer_.on_cue({static_cast<double>(called), false}, capacity, aim.band_low, aim.band_high).in_band;
      if (in_band > best_in_band + 1e-9) {
        best = called;
        best_in_band = in_band;
      }
    }
    // Even a call of 0 comes with more left than the band: the wanted call would be below 0, so the reps are fixed.
    if (scorer_.on_cue({0, false}, capacity, aim.band_low, aim.band_high).median >= aim.band_high) {
      aim.cues.push_back(std::nullopt);
    }
    // Under a hard floor the cue has to keep it without the help of the reps: never a call below the floor, nor one at
    // which the lifter mostly has less. Where failure is out of the question, never a call of 0.
    best = std::max(best, std::max(static_cast<int>(std::ceil(aim.floor)), input_.gate->failure ? 0 : 1));
    while (aim.floor > 0 && best < kMostCalled &&
           scorer_.on_cue({static_cast<double>(best), false}, capacity, aim.band_low, aim.band_high).median <
               aim.floor) {
      ++best;
    }
    const int more_careful = aim.floor > 0 ? 4 : 2;
    for (int called = best; called <= std::max(best, std::min(best + more_careful, kMostCalled + 2)); ++called) {
      aim.cues.push_back(Call{static_cast<double>(called), false});
    }
  }

  // Loads off the exercise's usual step, counted from the lightest that can be built (the empty bar).
  static std::vector<bool> odd_loads(const Task& task) {
    const Exercise& exercise = task.offer->exercise;
    if (exercise.implement != Implement::barbell && exercise.implement != Implement::plates) return {};
    const Load& lightest = task.loads.front()->load;
    double step = exercise.usual_step.amount;
    if (exercise.usual_step.unit != lightest.unit) {  // 2.5 kg is 5 lb in a gym with pounds: the nearest 2.5
      step = std::max(2.5, 2.5 * std::round(in_unit(kilograms(exercise.usual_step), lightest.unit) / 2.5));
    }
    if (!(step > 0)) return {};
    std::vector<bool> odd;
    for (const Buildable* load : task.loads) {
      const double steps = (load->load.amount - lightest.amount) / step;
      odd.push_back(load->load.unit != lightest.unit || std::fabs(steps - std::round(steps)) > 1e-6);
    }
    return odd;
  }

  std::optional<Settled> settle(Task& task) {
    task.aim.odd = odd_loads(task);
    SessionForecast start = coarse_;
    const bool first_of_session = done_lifts_.empty();
    start.rest(Minutes{(task.begun         ? task.aim.rest_s
                        : first_of_session ? kSetUpSeconds
                                           : std::max(kSetUpSeconds, task.aim.rest_s)) /
                       60});
    for (const SetPath& path : search_sets(start, scorer_, task.lift, task.totals, task.aim, kPathsTried)) {
      std::optional<Settled> settled = play(task, path);
      if (settled) return settled;
    }
    return std::nullopt;
  }

  bool admitted(const Aim& aim, const SetOutcome& out) const {
    return out.p_miss <= aim.miss_limit && out.reps.median >= aim.least_reps &&
           (aim.floor <= 0 || out.reserve.lo80 >= aim.floor);
  }

  std::string cue_text(const Call& call) const { return "stop when you would call " + call_text(call); }

  PlanSet plan_set(const Task& task, int load, const capacity::PlannedSet& set, const SetOutcome& out) const {
    PlanSet s;
    const Buildable& built = *task.loads[static_cast<std::size_t>(load)];
    s.load = built.load;
    s.per_side = built.per_side;
    s.reps = set.to_failure ? std::max(1, static_cast<int>(std::floor(out.capacity.median))) : set.reps;
    if (set.cue) s.cue = StopCue{*set.cue, cue_text(*set.cue)};
    s.to_failure = set.to_failure;
    s.capacity = out.capacity;
    s.reserve = out.reserve;
    s.reps_done = out.reps;
    s.p_complete = out.p_complete;
    s.p_miss = out.p_miss;
    s.p_short = out.p_short;
    s.p_band = out.p_band;
    return s;
  }

  void play_warm_ups(const Task& task, int work, Settled& s) const {
    if (task.begun) return;
    const Aim& aim = task.aim;
    const double share = task.totals[static_cast<std::size_t>(work)] / task.strength.median;
    const bool warm = warmed(task.lift);
    // Warm-ups keep to loads on the usual step: nobody looks for micro plates to warm up.
    std::vector<double> totals;
    std::vector<int> index;
    for (int i = 0; i <= work; ++i) {
      if (i < work && !aim.odd.empty() && aim.odd[static_cast<std::size_t>(i)]) continue;
      totals.push_back(task.totals[static_cast<std::size_t>(i)]);
      index.push_back(i);
    }
    const int top = static_cast<int>(totals.size()) - 1;
    for (WarmUp rung : warm_up_ramp(task.offer->exercise.cls, totals, top, share, warm)) {
      rung.load = index[static_cast<std::size_t>(rung.load)];
      const double total = task.totals[static_cast<std::size_t>(rung.load)];
      if (total <= task.warmed_to + 1e-3) continue;
      const double log_total = std::log(total);
      const double rest_s = s.item.sets.empty() && task.warmed_to <= 0 ? kSetUpSeconds : kWarmUpRestSeconds;
      SessionForecast rested = s.after;
      rested.rest(Minutes{rest_s / 60});
      for (int reps = rung.reps; reps >= 1; --reps) {
        const SetOutcome out = rested.look(task.lift, log_total, {reps, {}, false}, aim.band_low, aim.band_high);
        if (out.p_miss > kWarmUpMiss || out.reserve.lo80 < std::max(aim.floor, aim.band_low + 1)) continue;
        rested.advance(task.lift, log_total, {reps, {}, false});
        PlanSet set = plan_set(task, rung.load, {reps, {}, false}, out);
        set.kind = SetKind::warmup;
        set.rest_s = rest_s;
        s.item.sets.push_back(std::move(set));
        s.after = std::move(rested);
        break;
      }
    }
  }

  // Plays a path through all draws, easing sets that a limit forbids; empty when that does not help.
  std::optional<Settled> play(const Task& task, const SetPath& path) const {
    const Aim& aim = task.aim;
    Settled s{full_, {}, {}, false};
    PlanItem& item = s.item;
    item.exercise = task.offer->exercise.id;
    item.name = task.offer->exercise.name;
    item.side = task.request->side;
    item.strategy = aim.strategy;
    item.band_low = aim.band_low;
    item.band_high = aim.band_high;
    item.miss_limit = aim.miss_limit;
    item.remarks = task.remarks;
    play_warm_ups(task, path.steps.front().load, s);
    const std::size_t warm_ups = item.sets.size();

    WhyFacts why;
    bool outside = false;
    double lowest_margin = 1e9, highest_margin = -1e9;
    for (std::size_t k = 0; k < path.steps.size(); ++k) {
      Step step = path.steps[k];
      double rest_s = aim.rest_s;
      if (k == 0 && !task.begun) {
        rest_s = warm_ups > 0 || task.warmed_to > 0 ? std::min(aim.rest_s, kAfterWarmUpSeconds)
                 : done_lifts_.empty()              ? kSetUpSeconds
                                                    : std::max(kSetUpSeconds, aim.rest_s);
      }
      s.after.rest(Minutes{rest_s / 60});
      if (k > 0) follow(aim, s.steps, step);
      if (!ease(task, s.after, step)) return std::nullopt;
      if (k == 0 && step.load < path.steps.front().load) {  // the warm-ups were for a heavier load: once more
        SetPath lighter = path;
        lighter.steps.front() = step;
        return play(task, lighter);
      }
      const double total = task.totals[static_cast<std::size_t>(step.load)];
      const capacity::PlannedSet planned{step.reps, step.cue, step.to_failure};
      const double high = band_high_at(aim, total);
      if (step.to_failure) {
        const SetOutcome sure = s.after.look(task.lift, std::log(total), {static_cast<int>(kSureReps), {}, false});
        s.last_failure_unsure = sure.p_complete < kSureChance;
      }
      if (k == 0) explain(task, s.after, step, why);
      const SetOutcome out = s.after.perform(task.lift, std::log(total), planned, aim.band_low, high);
      PlanSet set = plan_set(task, step.load, planned, out);
      set.kind = step.to_failure && task.test ? SetKind::test : SetKind::work;
      set.rest_s = rest_s;
      outside = outside || out.mean_margin > std::log(2.0) || out.capacity.median > 25;
      lowest_margin = std::min(lowest_margin, out.mean_margin);
      highest_margin = std::max(highest_margin, out.mean_margin);
      item.sets.push_back(std::move(set));
      s.steps.push_back(step);
    }
    item.why = why_line(why);
    remark(task, why, outside, lowest_margin, highest_margin, warm_ups, item);
    const double sides = task.offer->exercise.one_sided && item.side == Side::both ? 2 : 1;
    for (const PlanSet& set : item.sets) {
      item.minutes += (set.rest_s + sides * capacity::kSecondsPerRep * set.reps_done.median) / 60;
    }
    return s;
  }

  // Keeps a later step in line with earlier ones that were eased.
  static void follow(const Aim& aim, const std::vector<Step>& before, Step& step) {
    if (aim.strategy == Strategy::same_reps) {
      step.load = std::min(step.load, before.back().load);
    } else if (aim.strategy == Strategy::same_load || before.size() > 1) {
      step.reps = std::min(step.reps, before.back().reps);
    }
  }

  // Makes the step admitted: fewer reps, then a more careful cue; under same_reps a lighter load.
  bool ease(const Task& task, const SessionForecast& forecast, Step& step) const {
    const Aim& aim = task.aim;
    if (step.to_failure) return true;
    const auto holds = [&](const Step& s) {
      const double total = task.totals[static_cast<std::size_t>(s.load)];
      return admitted(aim, forecast.look(task.lift, std::log(total), {s.reps, s.cue, false}));
    };
    if (holds(step)) return true;
    if (aim.strategy == Strategy::same_reps) {
      while (step.load > 0) {
        --step.load;
        if (holds(step)) return true;
      }
      return false;
    }
    const auto wanted = std::find(aim.cues.begin(), aim.cues.end(), step.cue);
    for (auto cue = wanted; cue != aim.cues.end(); ++cue) {
      for (int reps = step.reps; reps >= aim.least_reps; --reps) {
        const Step easier{step.load, reps, *cue, false};
        if (holds(easier)) {
          step = easier;
          return true;
        }
      }
    }
    return false;
  }

  // The numbers behind the first work set.
  void explain(const Task& task, const SessionForecast& forecast, const Step& step, WhyFacts& why) const {
    const Aim& aim = task.aim;
    const double total = task.totals[static_cast<std::size_t>(step.load)];
    const double log_total = std::log(total), high = band_high_at(aim, total);
    const auto look = [&](double log_load, int reps, const std::optional<Call>& cue) {
      return forecast.look(task.lift, log_load, {reps, cue, false}, aim.band_low, high);
    };
    if (step.cue) why.called = step.cue->reserve;
    why.have = look(log_total, 1000, step.cue ? *step.cue : Call{0, false}).reserve.median;
    const SetOutcome now = look(log_total, step.reps, step.cue);
    const int likely = std::max(1, static_cast<int>(std::lround(now.reps.median)));
    double nearest = 2;
    for (int more = 1; more <= 15; ++more) {
      const double p = look(log_total, likely + more, {}).p_complete;
      if (std::abs(p - 0.5) < nearest) {
        nearest = std::abs(p - 0.5);
        why.more = more;
        why.p_more = p;
      }
      if (p < 0.5) break;
    }
    if (step.to_failure) return;
    why.miss_now = now.p_miss;
    why.miss_limit = aim.miss_limit;
    why.floor = aim.floor;
    why.floor_from = input_.gate->least_reserve_from;
    const auto check = [&](const SetOutcome& next, bool is_load) {
      if (why.decided != WhyFacts::Decided::band || next.p_band < now.p_band + kBandGain) return;
      if (aim.floor > 0 && next.reserve.lo80 < aim.floor) {
        why.decided = WhyFacts::Decided::floor;
      } else if (next.p_miss > aim.miss_limit) {
        why.decided = WhyFacts::Decided::limit;
        why.miss_next = next.p_miss;
        why.next_is_load = is_load;
      }
    };
    check(look(log_total, step.reps + 1, step.cue), false);
    if (step.load + 1 < static_cast<int>(task.totals.size())) {
      check(look(std::log(task.totals[static_cast<std::size_t>(step.load) + 1]), step.reps, step.cue), true);
    } else if (task.capped && why.decided == WhyFacts::Decided::band && now.reserve.median >= high) {
      why.decided = WhyFacts::Decided::load_cap;
      why.cap_share = *input_.gate->load_cap_share;
      why.cap_from = input_.gate->load_cap_from;
    }
    if (why.decided == WhyFacts::Decided::floor)
      why.under_floor = chance_below(forecast, task.lift, log_total, step, aim.floor);
  }

  // P(true reserve < floor) of this set.
  static double chance_below(const SessionForecast& forecast, int lift, double log_total, const Step& step,
                             double floor) {
    return 1 - forecast.look(lift, log_total, {step.reps, step.cue, false}, floor, 1e9).p_band;
  }

  // What must be said beside the plan of an exercise.
  void remark(const Task& task, const WhyFacts& why, bool outside, double lowest_margin, double highest_margin,
              std::size_t warm_ups, PlanItem& item) const {
    const capacity::LiftInfo& lift = info(task.lift);
    std::vector<std::string>& out = item.remarks;
    double above = 0;
    bool light = false, held = false;
    for (std::size_t i = warm_ups; i < item.sets.size(); ++i) {
      const PlanSet& set = item.sets[i];
      const double total = total_load(task.offer->exercise, set.load, lift.body_mass_kg);
      if (set.to_failure) continue;
      above = std::max(above, set.reserve.median - item.band_high);
      held =
          held || (task.step_up && reps_within(*task.step_up, total, task.shown_curve, task.aim.band_low) <= set.reps);
      light = light || (total < input_.policy.light_share * task.strength.median &&
                        set.reserve.median >= input_.policy.light_most_reserve + 1);
    }
    if (why.decided == WhyFacts::Decided::limit) {
      out.push_back("The limit of " + percent_text(item.miss_limit) +
                    " on a miss goes before the reserve band: the sets end easier than the band alone would have it.");
    } else if (held && (above >= kClearlyAbove || task.step_up->log_most)) {
      out.push_back("Held to " + step_text(*task.step_up) + ", whatever the estimate says.");
    } else if (above >= kClearlyAbove) {
      out.push_back(
          "Some sets end with more in reserve than the band asks for: the loads and reps open here come no closer.");
    }
    if (task.capped) {
      out.push_back("Loads stay at or under " + percent_text(*input_.gate->load_cap_share) +
                    " of strength, taken at its low side (" + input_.gate->load_cap_from + ").");
    }
    if (light && task.offer->exercise.cls == ExerciseClass::isolation) {
      out.push_back("Light load far from failure: does not count as a hard set.");
    }
    if (outside) {
      out.push_back("Outside the tested range (under half of strength or above 25 reps): the forecast is loose.");
    } else if (lift.known && lift.seen_margin_high > lift.seen_margin_low) {
      if (highest_margin > lift.seen_margin_high + kUnseen)
        out.push_back("Lighter, for the strength of today, than anything in the log.");
      if (lowest_margin < lift.seen_margin_low - kUnseen)
        out.push_back("Heavier, for the strength of today, than anything in the log.");
    }
    for (std::size_t i = warm_ups; i < item.sets.size(); ++i) {
      const PlanSet& set = item.sets[i];
      if (!set.to_failure) continue;
      out.push_back(std::string(task.test ? "Rep-max test" : "Last set to failure") + ": " + std::to_string(set.reps) +
                    " expected (" + std::to_string(static_cast<int>(set.capacity.lo80)) + " to " +
                    std::to_string(static_cast<int>(set.capacity.hi80)) + ").");
    }
  }

  std::string not_admitted(const Task& task) const {
    std::string limits = "the chance of a miss within " + percent_text(task.aim.miss_limit);
    if (task.aim.floor > 0) limits += " and " + number_text(task.aim.floor) + " in reserve";
    if (task.aim.fixed_load) {
      return "another set at " + load_text(task.loads[static_cast<std::size_t>(*task.aim.fixed_load)]->load) +
             " would not keep " + limits + ": it ends here";
    }
    return "no load that can be built here (from " + load_text(task.loads.front()->load) + ") keeps " + limits +
           " for " + reps_text(task.aim.least_reps) + " or more";
  }

  const SessionRequest& request_;
  const PlanningInput& input_;
  LifterDraws search_draws_;
  SessionForecast full_, coarse_;
  SetScorer scorer_;
  std::vector<int> done_lifts_;
  std::vector<std::string> unknown_done_;
  safety::SheetContent content_;
  SessionPlan plan_;
};

// Faults of a request, one a line; empty when there are none.
std::string faults(const SessionRequest& request, const PlanningInput& input) {
  std::string out;
  const auto fault = [&](const std::string& where, const std::string& text) {
    if (!out.empty()) out += '\n';
    out += where + ": " + text;
  };
  for (const ExerciseRequest& r : request.exercises) {
    if (r.sets && (*r.sets < 1 || *r.sets > kMostSets)) {
      fault(r.exercise, "sets: 1 to " + std::to_string(kMostSets) + " were expected");
    }
    const int least = r.least_reps.value_or(1), most = r.most_reps.value_or(kMostReps);
    if (least < 1 || most > kMostReps || least > most) {
      fault(r.exercise, "reps: a zone within 1 to " + std::to_string(kMostReps) + " was expected");
    }
    const double low = r.least_reserve.value_or(0), high = r.most_reserve.value_or(10);
    if (!(low >= 0) || !(high <= 10) || low > high) {
      fault(r.exercise, "reserve: a band within 0 to 10 reps was expected");
    }
    if (r.rest_s && !(*r.rest_s >= 0 && *r.rest_s <= 3600)) fault(r.exercise, "rest: 0 to 3600 s was expected");
  }
  if (input.draws->draws.empty()) fault("estimate", "there are no draws to plan from");
  return out;
}

Result<SessionPlan> plan(const SessionRequest& request, const PlanningInput& input, const std::vector<DoneSet>& done,
                         const std::optional<std::string>& only) {
  if (!input.gate->allowed()) return fail(Code::not_allowed, input.gate->held_text());
  if (const std::string wrong = faults(request, input); !wrong.empty()) return fail(Code::invalid_input, wrong);
  Planner planner(request, input);
  planner.happened(done);

  struct Left {
    const ExerciseRequest* request;
    std::vector<const DoneSet*> done, warm_ups;
  };
  std::vector<Left> left;
  for (const ExerciseRequest& r : request.exercises) left.push_back({&r, {}, {}});
  const auto sets_of = [&](const ExerciseRequest& r) {
    if (r.sets) return *r.sets;
    for (const ExerciseOffer& offer : input.offers) {
      if (offer.exercise.id == r.exercise) return input.policy.of(offer.exercise.cls).sets;
    }
    return 1;
  };
  std::size_t current = left.size();
  for (const DoneSet& set : done) {
    // An exercise asked for twice: the first fills up before the second.
    for (std::size_t i = 0; i < left.size(); ++i) {
      Left& one = left[i];
      if (one.request->exercise != set.exercise || one.request->side != set.side) continue;
      if (static_cast<int>(one.done.size()) >= sets_of(*one.request)) continue;
      (set.kind == SetKind::warmup ? one.warm_ups : one.done).push_back(&set);
      current = i;
      break;
    }
  }
  if (current < left.size())
    std::rotate(left.begin(), left.begin() + static_cast<std::ptrdiff_t>(current),
                left.begin() + static_cast<std::ptrdiff_t>(current) + 1);
  for (const Left& one : left) {
    if (only && one.request->exercise != *only) continue;
    if (static_cast<int>(one.done.size()) >= sets_of(*one.request)) continue;
    planner.add(*one.request, one.done, one.warm_ups);
  }
  return planner.finish();
}

}  // namespace

Result<SessionPlan> plan_session(const SessionRequest& request, const PlanningInput& input) {
  return plan(request, input, {}, {});
}

Result<SessionPlan> replan(const SessionRequest& request, const PlanningInput& input, const std::vector<DoneSet>& done,
                           const std::optional<std::string>& only) {
  return plan(request, input, done, only);
}

std::string_view strategy_name(Strategy strategy) {
  switch (strategy) {
    case Strategy::same_load: return "same load";
    case Strategy::same_reps: return "same reps";
    case Strategy::top_set: return "top set";
  }
  return "";
}

std::optional<Strategy> parse_strategy(std::string_view text) {
  for (Strategy s : {Strategy::same_load, Strategy::same_reps, Strategy::top_set}) {
    if (text == strategy_name(s)) return s;
  }
  return std::nullopt;
}

}  // namespace ullage::planning
