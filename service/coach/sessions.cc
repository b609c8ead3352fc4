#include "service/coach/sessions.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <functional>
#include <memory>
#include <set>

#include "engine/planning/set_planner.h"
#include "service/coach/block.h"
#include "service/coach/doubt.h"
#include "service/coach/estimate_cache.h"
#include "service/coach/floor_time.h"
#include "service/coach/pains.h"
#include "service/coach/sheet_text.h"
#include "service/coach/views.h"
#include "service/interchange/read_log.h"
#include "service/store/sent_ids.h"

namespace ullage::coach {
namespace {

constexpr int kDraws = 512;
constexpr int kLookBackDays = 28;
constexpr std::size_t kMostRowsCarried = 400;  // of a change taken back with the fit staying in use
constexpr double kSameSession = 0.6;           // share of exercises in common that makes two sessions alike

// The machine's own scale: its marks as far as the log knows them, when the place does not say.
void add_marks(Place& place, const Exercise& exercise, const std::vector<store::StoredSet>& sets) {
  double most = 0;
  bool marks = false;
  for (const store::StoredSet& s : sets) {
    if (s.set.exercise != exercise.id) continue;
    marks = s.set.load.unit == Unit::mark;
    if (marks) most = std::max(most, s.set.load.amount);
  }
  if (!marks) return;
  for (const Stack& stack : place.stacks) {
    if (stack.exercise == exercise.id) return;
  }
  Stack own;
  own.exercise = exercise.id;
  for (int mark = 1; mark <= static_cast<int>(most) + 2; ++mark) own.steps.push_back({double(mark), Unit::mark});
  place.stacks.push_back(std::move(own));
}

// `doubted`: ids of sets that are likely mis-typed.
planning::ExerciseOffer offer(Place place, const Exercise& exercise, Unit unit,
                              const std::vector<store::StoredSet>& sets, Date day,
                              const std::set<store::SetId>& doubted) {
  planning::ExerciseOffer out;
  out.exercise = exercise;
  add_marks(place, exercise, sets);
  auto loads = buildable_loads(place, exercise, unit);
  if (loads)
    out.loads = std::move(*loads);
  else
    out.no_loads_because = loads.error().message;
  for (const store::StoredSet& s : sets) {
    if (s.set.exercise != exercise.id || s.set.date > day) continue;
    if (s.set.failed || s.set.stop == Stop::failed || s.set.kind == SetKind::test) out.last_failure = s.set.date;
    if (s.set.kind == SetKind::test) out.last_test = s.set.date;
    if (s.set.kind != SetKind::warmup && s.set.extra_kind == ExtraKind::none && doubted.count(s.id) == 0)
      out.shown.push_back({s.set.date, s.set.side, s.set.load, s.set.reps, s.set.failed || s.set.stop == Stop::failed});
  }
  return out;
}

// Everything a plan is made from, kept together because the input points into it.
struct Ready {
  capacity::LifterDraws draws;
  safety::Gate gate;
  planning::PlanningInput input;
};

Result<std::unique_ptr<Ready>> make_ready(Desk& desk, const Fitted& fitted, const planning::SessionRequest& request,
                                          const Desk::Where& where) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  auto gate = desk.session_gate(fitted.lifter, request.date, session_days(fitted.sets));
  if (!gate) return tl::unexpected(gate.error());
  if (!gate->allowed()) return fail(Code::not_allowed, gate->held_text());
  auto policy = desk.policy(fitted.lifter);
  if (!policy) return tl::unexpected(policy.error());

  auto ready = std::make_unique<Ready>();
  ready->gate = std::move(*gate);
  ready->input.policy = *policy;
  ready->input.safety_bars = where.place.safety_bars;
  ready->input.seed = draw_seed(fitted.lifter.id, request.date);
  std::vector<capacity::Posterior::Wanted> wanted;
  std::set<std::pair<std::string, Side>> seen;
  std::set<std::string> offered;
  std::vector<Exercise> planned;
  std::set<store::SetId> doubted;
  for (const SuspectView& suspect : suspects_of(desk, fitted)) doubted.insert(suspect.set.id);
  // True: the exercise was not offered yet.
  const auto take_in = [&](const Exercise& exercise, Side side) {
    if (seen.emplace(exercise.id, side).second) wanted.push_back({exercise, side});
    if (!offered.insert(exercise.id).second) return false;
    ready->input.offers.push_back(offer(where.place, exercise, fitted.lifter.unit, fitted.sets, request.date, doubted));
    return true;
  };
  for (const planning::ExerciseRequest& e : request.exercises) {
    const Exercise* exercise = (*library)->find(e.exercise);
    if (!exercise) return fail(Code::not_found, "no exercise \"" + e.exercise + "\" in the library");
    if (take_in(*exercise, e.side) && !ready->gate.barred_because(e.exercise)) planned.push_back(*exercise);
  }
  // What was done that day tires, planned on or not.
  for (const store::StoredSet& s : fitted.sets) {
    const Exercise* exercise = s.set.date == request.date ? (*library)->find(s.set.exercise) : nullptr;
    if (exercise) take_in(*exercise, s.set.side);
  }
  const auto health = desk.store().health(fitted.lifter.id);
  if (!health) return tl::unexpected(health.error());
  if (!fitted.posterior.converged) {
    ready->gate.cautions.emplace_back(
        "The estimate did not settle fully: its intervals may be too narrow. Take the loads for a first guess.");
  }
  for (const Date day : {request.date, desk.clock().today()}) {
    for (std::string& caution : related_cautions(*health, **library, planned, day)) {
      auto& all = ready->gate.cautions;
      if (std::find(all.begin(), all.end(), caution) == all.end()) all.push_back(std::move(caution));
    }
  }
  ready->draws =
      fitted.posterior.draw(wanted, request.date, body_mass_of(fitted, request.date), kDraws, ready->input.seed);
  ready->input.draws = &ready->draws;
  ready->input.gate = &ready->gate;
  return ready;
}

std::vector<planning::DoneSet> done_on(const std::vector<store::StoredSet>& sets, Date day,
                                       const std::string& session) {
  std::vector<planning::DoneSet> out;
  for (const store::StoredSet& s : sets) {
    if (s.set.date != day || s.set.session != session) continue;
    out.push_back({s.set.exercise, s.set.side, s.set.kind, s.set.load, s.set.reps, s.set.failed, s.set.rest_s});
  }
  return out;
}

// Why there is nothing in the plan, in words; empty when there is something.
std::string why_empty(const planning::SessionPlan& plan) {
  if (!plan.items.empty()) return "";
  std::string text;
  for (const planning::LeftOut& left : plan.left_out) {
    const std::string one = (left.name.empty() ? left.exercise : left.name) + ": " + left.reason;
    if (text.find(one) == std::string::npos) text += (text.empty() ? "" : "; ") + one;
  }
  return text.empty() ? "the sheet is done" : text;
}

constexpr double kOnTheWayUp = 0.80;  // lighter than this share of a heavier set after it: a warm-up nobody marked
constexpr double kWithinAUnitS = 30;  // no longer rest than this before it: a drop or rest-pause part nobody marked
                                      // (both common practice, no source)

// Whether the set at `at` is no work set of its own, though nobody said so.
bool part_of_another(const std::vector<store::StoredSet>& sets, std::size_t at) {
  const SetRecord& set = sets[at].set;
  const auto same = [&](const SetRecord& other) {
    return other.date == set.date && other.session == set.session && other.exercise == set.exercise &&
           other.side == set.side && other.load.unit == set.load.unit;
  };
  if (at > 0 && set.rest_s && *set.rest_s <= kWithinAUnitS && same(sets[at - 1].set) &&
      sets[at - 1].set.kind != SetKind::warmup && set.load.amount <= sets[at - 1].set.load.amount)
    return true;
  if (set.load.amount <= 0) return false;  // assistance, or nothing added: a share of it says nothing
  for (std::size_t i = at + 1; i < sets.size() && sets[i].set.date == set.date; ++i) {
    if (same(sets[i].set) && sets[i].set.reps > 0 && set.load.amount < kOnTheWayUp * sets[i].set.load.amount)
      return true;
  }
  return false;
}

}  // namespace

std::vector<PastSession> session_rotation(const std::vector<store::StoredSet>& sets, Date day) {
  struct Past {
    Date date;
    std::vector<planning::ExerciseRequest> exercises;  // in order, sets counted
    std::set<std::string> ids;
  };
  std::vector<Past> past;
  std::string label;
  for (std::size_t i = 0; i < sets.size(); ++i) {
    const store::StoredSet& s = sets[i];
    if (s.set.date >= day || s.set.kind == SetKind::warmup || s.set.extra_kind == ExtraKind::band) continue;
    if (past.empty() || past.back().date != s.set.date || label != s.set.session) {
      past.push_back({s.set.date, {}, {}});
      label = s.set.session;
    }
    Past& p = past.back();
    auto known = std::find_if(p.exercises.begin(), p.exercises.end(), [&](const planning::ExerciseRequest& e) {
      return e.exercise == s.set.exercise && e.side == s.set.side;
    });
    if (known == p.exercises.end()) {
      planning::ExerciseRequest e;
      e.exercise = s.set.exercise;
      e.side = s.set.side;
      e.sets = 0;
      p.exercises.push_back(e);
      p.ids.insert(s.set.exercise);
      known = p.exercises.end() - 1;
    }
    // Drop and rest-pause parts are one unit.
    if ((!s.set.part || *s.set.part <= 1) && !part_of_another(sets, i)) known->sets = std::min(*known->sets + 1, 6);
  }
  if (past.empty()) return {};
  const Date from = past.back().date - kLookBackDays;
  std::vector<const Past*> kinds;  // latest of each kind, newest first
  for (auto p = past.rbegin(); p != past.rend() && p->date >= from; ++p) {
    const bool met = std::any_of(kinds.begin(), kinds.end(), [&](const Past* k) {
      std::size_t common = 0;
      for (const std::string& id : p->ids) common += k->ids.count(id);
      return static_cast<double>(common) >= kSameSession * static_cast<double>(std::min(p->ids.size(), k->ids.size()));
    });
    if (!met) kinds.push_back(&*p);
  }
  std::vector<PastSession> out;
  for (auto kind = kinds.rbegin(); kind != kinds.rend(); ++kind) {
    PastSession& session = out.emplace_back(PastSession{(*kind)->date, (*kind)->exercises});
    for (planning::ExerciseRequest& e : session.exercises) {
      if (*e.sets == 0) e.sets = 1;
    }
  }
  return out;
}

namespace {

constexpr double kChangeOverS = 30;  // from one lifter's set to the next one's at a shared station (common practice)
constexpr int kMostSharing = 6;

// Rest that passes while the others take their turns, seconds.
double turns_of_others(int sharing, const planning::ExerciseRequest& e, const ClassPolicy& usual) {
  const double reps = (e.least_reps.value_or(usual.least_reps) + e.most_reps.value_or(usual.most_reps)) / 2.0;
  return (sharing - 1) * (reps * capacity::kSecondsPerRep + kChangeOverS) + kChangeOverS;
}

// Which side is weaker, beside the exercises that are planned for both.
void tell_sides(const capacity::LifterDraws& draws, planning::SessionPlan& plan) {
  constexpr double kSure = 0.9, kWorthSaying = 0.02;
  for (planning::PlanItem& item : plan.items) {
    if (item.side == Side::both) continue;
    const Side other = item.side == Side::left ? Side::right : Side::left;
    int here = -1, there = -1;
    for (std::size_t i = 0; i < draws.info.size(); ++i) {
      if (draws.info[i].exercise != item.exercise || !draws.info[i].known) continue;
      if (draws.info[i].side == item.side) here = static_cast<int>(i);
      if (draws.info[i].side == other) there = static_cast<int>(i);
    }
    if (here < 0 || there < 0) continue;
    std::vector<double> weaker;
    double sure = 0;
    for (const capacity::Draw& d : draws.draws) {
      weaker.push_back(1 - std::exp(d.lifts[static_cast<std::size_t>(here)].log_strength -
                                    d.lifts[static_cast<std::size_t>(there)].log_strength));
      sure += weaker.back() > 0 ? 1.0 / static_cast<double>(draws.draws.size()) : 0;
    }
    const capacity::Interval by = capacity::interval_of(std::move(weaker));
    if (sure < kSure || by.median < kWorthSaying) continue;
    item.remarks.push_back(fmt::format("The {} is {:.0f} % weaker than the {} ({:.0f} to {:.0f} %).",
                                       side_name(item.side), 100 * by.median, side_name(other), 100 * by.lo80,
                                       100 * by.hi80));
  }
}

// How often the exercises of a plan were done in the last weeks: as often they are taken to come in the next ones.
double times_in_horizon(const std::vector<store::StoredSet>& sets, const planning::SessionPlan& plan, Date day) {
  std::set<std::pair<std::string, Date>> done;
  for (const store::StoredSet& s : sets) {
    if (s.set.date < day && day - s.set.date <= planning::kTestHorizonDays) done.emplace(s.set.exercise, s.set.date);
  }
  double times = 0;
  for (const planning::PlanItem& item : plan.items) {
    times += static_cast<double>(
        std::count_if(done.begin(), done.end(), [&](const auto& one) { return one.first == item.exercise; }));
  }
  return std::max(1.0, times / static_cast<double>(plan.items.size()));
}

// The kept sheet of the day a session is moved from.
Result<SheetContents> sheet_to_move(Desk& desk, const Lifter& lifter, const SessionWish& wish, Date to) {
  const Date from = *wish.moved_from;
  if (from == to) return fail(Code::invalid_input, "--moved-from " + date_text(from) + " is the day it is moved to");
  const auto there = desk.store().sheet(lifter.id, to, wish.session);
  if (!there) return tl::unexpected(there.error());
  if (*there)
    return fail(Code::conflict, "a session of " + lifter.name + " is written for " + date_text(to) +
                                    " already; --session LABEL tells two of a day apart");
  const auto kept = desk.store().sheet(lifter.id, from, wish.session);
  if (!kept) return tl::unexpected(kept.error());
  if (!*kept)
    return fail(Code::not_found, "no session of " + lifter.name + " is written for " + date_text(from) +
                                     "; a day of the accepted plan is moved in the plan (plan --move)");
  auto contents = read_sheet((*kept)->json);
  if (contents && !contents->first) contents->first = from;
  if (contents) leave_untrained(*contents, {}, wish.session);  // their sets stay on the day they were done
  return contents;
}

// The estimate a set is logged with; without one, and none to be made, what is known of the lifter and the sets of the
// day alone.
Result<Fitted> estimate_for_logging(Desk& desk, const LogWish& wish) {
  if (wish.may_fit) return ensure_fitted(desk, wish.lifter);
  auto stored = stored_estimate(desk, wish.lifter);
  if (!stored) return tl::unexpected(stored.error());
  if (*stored) return std::move(**stored);
  Fitted bare;
  auto lifter = desk.lifter(wish.lifter);
  if (!lifter) return tl::unexpected(lifter.error());
  bare.lifter = std::move(*lifter);
  store::SetFilter day;
  day.from = day.to = wish.set.date == Date{} ? desk.today() : wish.set.date;
  auto sets = desk.store().sets(bare.lifter.id, day);
  if (!sets) return tl::unexpected(sets.error());
  bare.sets = std::move(*sets);
  return bare;
}

}  // namespace

Result<SessionSheet> write_session(Desk& desk, const SessionWish& wish, const Share& progress) {
  SessionSheet sheet;
  auto lifter = desk.lifter(wish.lifter);
  if (!lifter) return tl::unexpected(lifter.error());
  sheet.lifter = *lifter;
  sheet.session = wish.session;
  sheet.request.lifter = lifter->name;
  sheet.request.date = wish.date.value_or(desk.today());
  const auto kept_before = desk.store().sheet(lifter->id, sheet.request.date, wish.session);
  if (!kept_before) return tl::unexpected(kept_before.error());
  std::optional<SheetContents> contents;
  if (*kept_before) {
    auto read = read_sheet((*kept_before)->json);
    if (!read) return tl::unexpected(read.error());
    contents = std::move(*read);
  }
  if (sheet.request.date < desk.today() && !(contents && trained_now(desk, sheet.request.date, contents->floor))) {
    return fail(Code::invalid_input, "--date " + date_text(sheet.request.date) + ": a session is written for today (" +
                                         date_text(desk.today()) + ") or later");
  }

  // The hold comes before everything else: nothing is computed that could be read as a prescription.
  std::optional<Fitted> fitted;
  {
    auto stored = stored_estimate(desk, lifter->id);
    if (!stored) return tl::unexpected(stored.error());
    fitted = std::move(*stored);
    const auto gate = desk.strict_gate(*lifter, sheet.request.date);
    if (!gate) return tl::unexpected(gate.error());
    if (!gate->allowed()) return fail(Code::not_allowed, lifter->name + " is on hold: " + gate->held_text());
  }

  std::string place_wish = wish.place;
  FloorRecord floor;
  if (wish.moved_from) {
    auto moved = sheet_to_move(desk, *lifter, wish, sheet.request.date);
    if (!moved) return tl::unexpected(moved.error());
    sheet.first = moved->first;
    floor = std::move(moved->floor);
    if (wish.exercises.empty()) sheet.request.exercises = std::move(moved->request.exercises);
    if (place_wish.empty()) place_wish = moved->place;
  }
  for (planning::ExerciseRequest e : wish.exercises) {
    const auto exercise = desk.exercise(e.exercise);
    if (!exercise) return fail(Code::invalid_input, exercise.error().message);
    e.exercise = (*exercise)->id;
    sheet.request.exercises.push_back(std::move(e));
  }
  if (!fitted) {
    auto made = ensure_fitted(desk, lifter->id, progress);
    if (!made) return tl::unexpected(made.error());
    fitted = std::move(*made);
  }
  if (contents) {
    leave_untrained(*contents, fitted->sets, wish.session);
    floor = contents->floor;
    sheet.first = contents->first;
  }
  const bool written = contents && !contents->request.exercises.empty();
  std::vector<std::pair<std::string, Side>> by_set;
  bool lighter = contents && contents->lighter && wish.exercises.empty(), from_block = false;
  const bool from_log = wish.exercises.empty() && !written && sheet.request.exercises.empty();
  if (sheet.request.exercises.empty()) {
    if (written) {
      sheet.request.exercises = std::move(contents->request.exercises);
      by_set = std::move(contents->by_set);
      if (place_wish.empty()) place_wish = contents->place;
    } else if (auto planned = day_from_block(desk, lifter->id, sheet.request.date); !planned) {
      return tl::unexpected(planned.error());
    } else if (*planned) {
      sheet.request.exercises = std::move((*planned)->exercises);
      sheet.block_week = (*planned)->week;
      sheet.block_note = (*planned)->note;
      from_block = true;
      lighter = lighter || (*planned)->lighter;
      if (place_wish.empty()) place_wish = (*planned)->place;
    } else if (auto past = session_rotation(fitted->sets, sheet.request.date); !past.empty()) {
      sheet.request.exercises = std::move(past.front().exercises);
      sheet.repeats = past.front().date;
    } else {
      return fail(Code::invalid_input,
                  lifter->name + " has no sets in the log yet: name the exercises of the session (--exercise)");
    }
  }
  if (from_log && !from_block) {
    auto steps = take_steps(desk, *lifter, sheet.request.date, sheet.request.exercises);
    if (!steps) return tl::unexpected(steps.error());
    sheet.steered = std::move(*steps);
  }
  const auto lighter_week = lighter_week_on(desk, lifter->id, sheet.request.date);
  if (!lighter_week) return tl::unexpected(lighter_week.error());
  if (*lighter_week) {
    if (!lighter) {
      const auto policy = desk.policy(*lifter);
      if (!policy) return tl::unexpected(policy.error());
      for (planning::ExerciseRequest& e : sheet.request.exercises) {
        const auto exercise = desk.exercise(e.exercise);
        if (!exercise) return tl::unexpected(exercise.error());
        make_lighter(e, policy->of((*exercise)->cls), !wish.exercises.empty());
      }
      lighter = true;
    }
    sheet.steered.push_back(fmt::format("A lighter week, accepted on {}: {}", date_text((*lighter_week)->date),
                                        (*lighter_week)->proposal.why));
  }
  {
    auto view = steering(desk, *fitted);
    if (!view) return tl::unexpected(view.error());
    sheet.proposals = std::move(view->open);
  }
  auto where = desk.where(*lifter, place_wish);
  if (!where) return tl::unexpected(where.error());
  sheet.place = where->place;
  sheet.place_assumed = where->assumed;
  sheet.done = done_on(fitted->sets, sheet.request.date, wish.session);

  if (wish.sharing < 1 || wish.sharing > kMostSharing) {
    return fail(Code::invalid_input, fmt::format("--sharing: {} is not 1 to {} lifters", wish.sharing, kMostSharing));
  }
  if (wish.sharing > 1) {
    const auto policy = desk.policy(*lifter);
    if (!policy) return tl::unexpected(policy.error());
    for (planning::ExerciseRequest& e : sheet.request.exercises) {
      const auto exercise = desk.exercise(e.exercise);
      if (!exercise) return tl::unexpected(exercise.error());
      const ClassPolicy& usual = policy->of((*exercise)->cls);
      e.rest_s = std::max(e.rest_s.value_or(usual.rest_s), turns_of_others(wish.sharing, e, usual));
    }
  }
  const auto ready = make_ready(desk, *fitted, sheet.request, *where);
  if (!ready) return tl::unexpected(ready.error());
  auto plan = sheet.done.empty() ? planning::plan_session(sheet.request, (*ready)->input)
                                 : planning::replan(sheet.request, (*ready)->input, sheet.done);
  if (!plan) return tl::unexpected(plan.error());
  sheet.plan = std::move(*plan);
  tell_sides((*ready)->draws, sheet.plan);
  if (sheet.done.empty() && !sheet.plan.items.empty() && !lighter) {
    sheet.test = planning::propose_test(sheet.plan, (*ready)->input,
                                        times_in_horizon(fitted->sets, sheet.plan, sheet.request.date));
  }
  if (sheet.plan.items.empty() && !sheet.plan.left_out.empty()) {
    // A clinician's or an age limit may also leave no load that could be lifted inside it.
    const safety::Gate& gate = (*ready)->gate;
    const bool limited = sheet.done.empty() && (gate.load_cap_share || gate.least_reserve > 0);
    const auto loads_here = [&](const std::string& id) {
      const auto& offers = (*ready)->input.offers;
      return std::any_of(offers.begin(), offers.end(),
                         [&](const planning::ExerciseOffer& o) { return o.exercise.id == id && !o.loads.empty(); });
    };
    const bool limit =
        std::any_of(sheet.plan.left_out.begin(), sheet.plan.left_out.end(), [&](const planning::LeftOut& left) {
          return gate.barred_because(left.exercise) || (limited && loads_here(left.exercise));
        });
    sheet.why_empty = why_empty(sheet.plan);
    if (limit) return fail(Code::not_allowed, "nothing may be written for " + lifter->name + ": " + sheet.why_empty);
  }
  if (wish.keep) {
    store::Sheet kept{
        lifter->id, sheet.request.date, wish.session,
        sheet_json({sheet.request, place_wish, sheet.first, floor, *lighter_week && lighter, by_set}, sheet.plan)};
    const auto change =
        desk.store().change("session sheet of " + lifter->name + " for " + date_text(sheet.request.date) +
                                (wish.moved_from ? ", moved from " + date_text(*wish.moved_from) : ""),
                            [&](store::Writer& writer) -> Result<void> {
                              if (wish.moved_from) {
                                if (auto gone = writer.remove_sheet(lifter->id, *wish.moved_from, wish.session); !gone)
                                  return gone;
                              }
                              return writer.put_sheet(kept);
                            });
    if (!change) return tl::unexpected(change.error());
    sheet.change = *change;
  }
  return sheet;
}

Result<ForecastView> forecast(Desk& desk, const ForecastWish& wish, const Share& progress) {
  ForecastView view;
  const auto exercise = desk.exercise(wish.exercise);
  if (!exercise) return fail(Code::invalid_input, exercise.error().message);
  auto fitted = ensure_fitted(desk, wish.lifter, progress);
  if (!fitted) return tl::unexpected(fitted.error());
  view.lifter = fitted->lifter;
  view.exercise = **exercise;
  view.side = wish.side;
  view.load = wish.load;
  view.rest_s = wish.rest_s;
  view.date = wish.date.value_or(desk.today());
  view.marks = wish.load.unit == Unit::mark;
  view.reps = wish.reps;
  const double mass = body_mass_of(*fitted, view.date);
  view.total_kg = total_load(**exercise, wish.load, mass);
  if (!(view.total_kg > 0)) {
    return fail(Code::invalid_input, "--load: the total load is not above 0 kg (assistance larger than body mass)");
  }
  if (const int lift = fitted->posterior.find_lift(view.exercise.id, wish.side); lift >= 0) {
    const capacity::LiftSummary& s = fitted->posterior.lifts[static_cast<std::size_t>(lift)];
    view.learned_fatigability = s.learned_fatigability;
    if (s.marks != view.marks) {
      return fail(Code::invalid_input, s.marks ? "--unit: this lift is logged in marks of its machine; use --unit mark"
                                               : "--unit: this lift is logged in kilograms or pounds, not in marks");
    }
  }
  const capacity::LifterDraws draws = fitted->posterior.draw({{**exercise, wish.side}}, view.date, mass, kDraws * 4,
                                                             draw_seed(view.lifter.id, view.date));
  view.known = draws.info[0].known;
  capacity::SessionForecast session(draws, draw_seed(view.lifter.id, view.date) + 1);
  const double log_load = std::log(view.total_kg);
  for (std::size_t i = 0; i < wish.reps.size(); ++i) {
    if (i > 0) session.rest(Minutes{wish.rest_s / 60});
    capacity::PlannedSet set;
    set.reps = wish.reps[i];
    view.sets.push_back(session.perform(0, log_load, set));
    const double margin = view.sets.back().mean_margin;
    if (i == 0 && view.known && (margin < draws.info[0].seen_margin_low || margin > draws.info[0].seen_margin_high)) {
      view.outside_seen = true;
    }
  }
  return view;
}

std::vector<std::string> faults_of(const SetRecord& s, Date today) {
  std::vector<std::string> out;
  const auto outside = [&](const std::string& what, double value, double low, double high, const char* unit) {
    if (value < low || value > high || !std::isfinite(value)) {
      out.push_back(what + ": " + number_text(value) + " is outside " + number_text(low) + " to " + number_text(high) +
                    unit);
    }
  };
  const Date first = *make_date(interchange::kEarliestYear, 1, 1), last = today + 1;
  if (s.date < first || s.date > last) {
    out.push_back("--date: " + date_text(s.date) + " is not a day from " + date_text(first) + " to " + date_text(last) +
                  ", the day after today");
  }
  outside("--reps", s.reps, 0, interchange::kMostReps, "");
  outside("--load", kilograms(s.load).value, -interchange::kHeaviestLoadKg, interchange::kHeaviestLoadKg, " kg");
  if (s.rest_s) outside("--rest", *s.rest_s, 0, interchange::kLongestRestS, " s");
  if (s.last_rep_speed) outside("--speed", *s.last_rep_speed, 0, interchange::kFastestRep, " m/s");
  if (s.body_mass) {
    outside("--body-mass", kilograms(*s.body_mass).value, interchange::kLightestBodyKg, interchange::kHeaviestBodyKg,
            " kg");
  }
  if (s.called_at_rep && (*s.called_at_rep < 0 || *s.called_at_rep > s.reps)) {
    out.push_back("--called-at-rep: " + std::to_string(*s.called_at_rep) + " is not one of the " +
                  std::to_string(s.reps) + " reps");
  }
  if (s.failed && s.called && s.called->reserve > 0 && s.called_at_rep.value_or(s.reps) >= s.reps) {
    out.push_back("--called: a failed set had none left; leave --called or --failed out");
  }
  if (s.failed && s.stop != Stop::failed && s.stop != Stop::unknown) {
    out.push_back("--stop: a failed set did not stop on a plan or a cue; leave --stop or --failed out");
  }
  return out;
}

Result<LogReport> log_set(Desk& desk, const LogWish& wish) {
  LogReport report;
  SetRecord set = wish.set;
  if (set.date == Date{}) set.date = desk.today();
  if (set.stop == Stop::failed) set.failed = true;
  const auto exercise = desk.exercise(set.exercise);
  if (!exercise) return fail(Code::invalid_input, exercise.error().message);
  set.exercise = (*exercise)->id;
  report.exercise = **exercise;
  std::string faults;
  for (const std::string& fault : faults_of(set, desk.today())) faults += (faults.empty() ? "" : "\n") + fault;
  if (!faults.empty()) return fail(Code::invalid_input, faults);
  auto fitted = estimate_for_logging(desk, wish);
  if (!fitted) return tl::unexpected(fitted.error());
  report.lifter = fitted->lifter;
  const Lifter& lifter = fitted->lifter;
  const bool estimated = !fitted->posterior.components.empty();
  if (!(total_load(**exercise, set.load, body_mass_of(*fitted, set.date)) > 0)) {
    return fail(Code::invalid_input, "--load: the total load is not above 0 kg (assistance larger than body mass)");
  }
  // Sent by a client it may come hours later from a phone that was away: nobody can be asked, so it is marked.
  std::optional<std::string> doubt;
  if (!wish.client_id.empty()) doubt = doubt_about(desk, *fitted, **exercise, set);
  if (doubt) report.remarks.push_back(*doubt);
  // The sheet of that session, or one made of what is being done.
  SheetContents contents;
  bool kept_sheet = false;
  {
    const auto kept = desk.store().sheet(lifter.id, set.date, set.session);
    if (!kept) return tl::unexpected(kept.error());
    if (*kept) {
      auto read = read_sheet((*kept)->json);
      if (!read) return tl::unexpected(read.error());
      contents = std::move(*read);
      leave_untrained(contents, fitted->sets, set.session);
      kept_sheet = true;
    }
  }
  contents.request.lifter = lifter.name;
  contents.request.date = set.date;
  const bool is_now = estimated && trained_now(desk, set.date, contents.floor);
  const auto asked = std::any_of(contents.request.exercises.begin(), contents.request.exercises.end(),
                                 [&](const auto& e) { return e.exercise == set.exercise && e.side == set.side; });
  if (!asked) {
    planning::ExerciseRequest own;
    own.exercise = set.exercise;
    own.side = set.side;
    contents.request.exercises.push_back(own);
    contents.by_set.emplace_back(set.exercise, set.side);
  }
  auto where = desk.where(lifter, contents.place);
  if (!where) return tl::unexpected(where.error());

  // What the estimate says of this set, and what the plan asked, before it is counted.
  std::vector<planning::DoneSet> done = done_on(fitted->sets, set.date, set.session);
  if (is_now) {
    const auto ready = make_ready(desk, *fitted, contents.request, *where);
    if (ready && set.extra_kind == ExtraKind::none) {
      if (const auto before = planning::replan(contents.request, (*ready)->input, done, set.exercise);
          before && kept_sheet && set.kind == SetKind::work && !before->items.empty()) {
        for (const planning::PlanItem& item : before->items) {
          if (item.exercise != set.exercise || item.side != set.side) continue;
          const auto next = std::find_if(item.sets.begin(), item.sets.end(),
                                         [](const planning::PlanSet& s) { return s.kind != SetKind::warmup; });
          if (next == item.sets.end() || !(next->load == set.load)) break;
          if (!set.planned_reps && !next->to_failure) set.planned_reps = next->reps;
          if (!set.cue && next->cue) set.cue = next->cue->called;
          if (!set.rest_s && !done.empty() && next->rest_s > 0)
            report.remarks.push_back("rest not given: the usual one is taken, with its doubt");
          break;
        }
      }
    }
    if (ready) {
      const auto& info = (*ready)->draws.info;
      for (std::size_t i = 0; i < info.size(); ++i) {
        if (info[i].exercise != set.exercise || info[i].side != set.side) continue;
        capacity::SessionForecast session((*ready)->draws, draw_seed(lifter.id, set.date) + 2);
        const auto library = desk.library();
        for (const planning::DoneSet& d : done) {
          const Exercise* e = (*library)->find(d.exercise);
          for (std::size_t j = 0; e && j < info.size(); ++j) {
            if (info[j].exercise != d.exercise || info[j].side != d.side) continue;
            session.rest(Minutes{d.rest_s.value_or(120) / 60});
            session.happened(static_cast<int>(j), std::log(total_load(*e, d.load, body_mass_of(*fitted, set.date))),
                             d.reps, d.failed);
          }
        }
        session.rest(Minutes{set.rest_s.value_or(120) / 60});
        report.expected = session.look(static_cast<int>(i),
                                       std::log(total_load(**exercise, set.load, body_mass_of(*fitted, set.date))),
                                       {set.reps, {}, false});
      }
    }
  }
  if (!wish.stop_given) {
    if (set.failed)
      set.stop = Stop::failed;
    else if (set.planned_reps && *set.planned_reps == set.reps)
      set.stop = Stop::planned;
    else if (set.cue && set.planned_reps && set.reps < *set.planned_reps)
      set.stop = Stop::cue;
  }

  const auto before = desk.store().truth_mark(lifter.id);
  if (!before) return tl::unexpected(before.error());
  const auto change = desk.store().change(
      "log " + lifter.name + ": " + (*exercise)->name + " " + number_text(set.load.amount) + " " +
          std::string(unit_name(set.load.unit)) + " x " + std::to_string(set.reps) + (doubt ? "; to be checked" : ""),
      [&](store::Writer& writer) -> Result<void> {
        const auto id = writer.append_set(lifter.id, set);
        if (!id) return tl::unexpected(id.error());
        report.id = *id;
        if (!wish.client_id.empty()) {
          // What another program may have written meanwhile counts.
          const auto now = desk.store().sheet(lifter.id, set.date, set.session);
          if (!now) return tl::unexpected(now.error());
          if (*now) {
            auto read = read_sheet((*now)->json);
            if (!read) return tl::unexpected(read.error());
            contents.floor = std::move(read->floor);
          }
          const auto ids = store::sent_ids_of(desk.store());
          if (!ids) return tl::unexpected(ids.error());
          if (const auto put = (*ids)->put_sent_id({lifter.id, wish.client_id, *id, wish.content}); !put) return put;
          contents.floor.sent.push_back({wish.client_id, *id, wish.done_at, wish.content, report.expected});
        }
        if (set.pain) {
          auto record = desk.store().health(lifter.id);
          if (!record) return tl::unexpected(record.error());
          report.pain_opened = open_pain(*record, set.exercise, std::min(set.date, desk.today()),
                                         "noted with a set of " + date_text(set.date));
          if (const auto put = writer.put_health(lifter.id, *record); !put) return put;
        }
        // The rest of the sheet from what really happened. That it cannot be planned never loses the set.
        const auto plan_rest = [&]() -> Result<planning::SessionPlan> {
          // As the store keeps it, which is the last of its session.
          const auto stored = desk.store().set(*id);
          if (!stored) return tl::unexpected(stored.error());
          auto with_set = add_live(desk, *fitted, *stored);
          if (!with_set) return tl::unexpected(with_set.error());
          report.after = std::make_shared<const Fitted>(*with_set);
          const auto ready = make_ready(desk, *with_set, contents.request, *where);
          if (!ready) return tl::unexpected(ready.error());
          done = done_on(with_set->sets, set.date, set.session);
          return planning::replan(contents.request, (*ready)->input, done);
        };
        if (is_now) {
          auto rest = plan_rest();
          report.no_next = rest ? why_empty(*rest) : rest.error().message;
          if (rest) report.rest = std::move(*rest);
        }
        if (wish.client_id.empty() && (!kept_sheet || !report.rest)) return {};
        const planning::SessionPlan nothing{lifter.name, set.date, {}, {}, 0, {}};
        if (const auto put = writer.put_sheet(
                {lifter.id, set.date, set.session, sheet_json(contents, report.rest ? *report.rest : nothing)});
            !put)
          return put;
        return {};
      });
  if (!change) return tl::unexpected(change.error());
  report.change = *change;
  report.set = set;
  if (!estimated)
    report.no_next = "the estimates do not rest on the log as it is: nothing is planned until they are made again";
  else if (!is_now)
    report.no_next = "the set is of " + date_text(set.date) + ": nothing is planned after it";
  if (const auto carried = carry_estimate(desk, lifter.id, *before, report.id); !carried)
    return tl::unexpected(carried.error());
  if (desk.estimates() && report.after && report.after->live_sets <= kMostLiveSets) {
    // Nothing but this change came since `before`, or the estimate is not for the log as it is.
    const auto mark = desk.store().truth_mark(lifter.id);
    const auto newest = desk.store().newest_change();
    if (mark && newest && *newest == *change) desk.estimates()->put(*mark, desk.today(), *report.after);
  }
  return report;
}

namespace {

// Runs a change of one set and keeps the stored fit in use when the set is not in it.
Result<store::ChangeId> change_one_set(Desk& desk, store::SetId id, const std::string& what,
                                       const std::function<Result<void>(store::Writer&)>& work) {
  const auto stored = desk.store().set(id);
  if (!stored) return tl::unexpected(stored.error());
  const auto before = desk.store().truth_mark(stored->lifter);
  if (!before) return tl::unexpected(before.error());
  const auto change = desk.store().change(what + " " + std::to_string(id), work);
  if (!change) return change;
  if (const auto carried = carry_estimate(desk, stored->lifter, *before, id); !carried)
    return tl::unexpected(carried.error());
  return change;
}

}  // namespace

Result<store::ChangeId> edit_set(Desk& desk, store::SetId id, const SetRecord& set) {
  std::string faults;
  for (const std::string& fault : faults_of(set, desk.today())) faults += (faults.empty() ? "" : "\n") + fault;
  if (!faults.empty()) return fail(Code::invalid_input, faults);
  const auto stored = desk.store().set(id);
  if (!stored) return tl::unexpected(stored.error());
  return change_one_set(desk, id, "edit set", [&](store::Writer& writer) -> Result<void> {
    if (const auto updated = writer.update_set(id, set); !updated) return updated;
    // Pain said now takes the exercise out, as it does when a set is logged.
    if (!set.pain || (stored->set.pain && stored->set.exercise == set.exercise)) return {};
    auto record = desk.store().health(stored->lifter);
    if (!record) return tl::unexpected(record.error());
    open_pain(*record, set.exercise, std::min(set.date, desk.today()), "noted with a set of " + date_text(set.date));
    return writer.put_health(stored->lifter, *record);
  });
}

Result<store::ChangeId> remove_set(Desk& desk, store::SetId id) {
  return change_one_set(desk, id, "remove set", [&](store::Writer& writer) { return writer.remove_set(id); });
}

Result<store::ChangeId> take_back(Desk& desk, std::optional<store::ChangeId> wanted) {
  // Which change will it be? The same choice as Store::undo makes.
  std::optional<store::ChangeId> target = wanted;
  if (!target) {
    const auto history = desk.store().history(200);
    if (!history) return tl::unexpected(history.error());
    const auto last = std::find_if(history->begin(), history->end(),
                                   [](const store::Change& c) { return !c.undoes && !c.undone_by && !c.final; });
    if (last == history->end()) return desk.store().undo();
    target = last->id;
  }
  // A change of one lifter's sets only: the stored fit may stay in use where none of them is in it.
  store::SetId lowest = 0;
  std::set<std::string> of;
  bool only_sets = true;
  if (const auto rows = desk.store().change_rows(*target); rows && rows->size() <= kMostRowsCarried) {
    for (const store::ChangeRow& row : *rows) {
      if (row.table == "lifter" || row.table == "body_mass" || row.table == "exercise_edit") only_sets = false;
      if (row.table != "training_set") continue;
      const store::SetId id = std::strtoll(row.key.c_str(), nullptr, 10);
      lowest = lowest == 0 ? id : std::min(lowest, id);
      // One that was removed is in the history alone.
      if (const auto stored = desk.store().set(id)) {
        of.insert(stored->lifter);
      } else if (const Json was = Json::parse(row.before, nullptr, false); was.is_object() && was.contains("lifter")) {
        of.insert(was.at("lifter").get<std::string>());
      } else {
        only_sets = false;
      }
    }
  }
  std::string before;
  if (only_sets && lowest > 0 && of.size() == 1) {
    if (const auto mark = desk.store().truth_mark(*of.begin())) before = *mark;
  }
  const auto change = desk.store().undo(wanted);
  if (!change || before.empty()) return change;
  if (const auto carried = carry_estimate(desk, *of.begin(), before, lowest); !carried)
    return tl::unexpected(carried.error());
  return change;
}

}  // namespace ullage::coach
