#include "service/coach/doubt.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <tuple>
#include <utility>

#include "engine/capacity/curve.h"
#include "engine/capacity/priors.h"
#include "service/coach/records.h"
#include "service/coach/sessions.h"

namespace ullage::coach {
namespace {

constexpr int kDraws = 200;
constexpr double kUsualBodyMassKg = 75;
constexpr double kSuspectFactor = 1.5;  // as the fit takes a load for mis-typed

// Natural log: how far a load of which so many reps are done lies under the 1RM, for the usual lifter.
double usual_margin(const Exercise& exercise, int reps) {
  return capacity::margin_for_reps(static_cast<double>(std::max(1, reps)),
                                   std::exp(capacity::log_endurance(exercise).mean),
                                   capacity::curve_shape(exercise.cls));
}
// What is believed of the log of anyone's 1RM.
capacity::Prior belief(const Lifter& lifter, const Exercise& exercise, std::optional<double> body_mass) {
  const capacity::Prior level = capacity::log_general_level(lifter.sex, body_mass, lifter.training_years);
  const capacity::Prior ratio = capacity::log_strength_ratio(exercise);
  return {level.mean + ratio.mean, std::hypot(level.sd, ratio.sd)};
}
bool tells(const SetRecord& set) { return set.extra_kind == ExtraKind::none; }

std::string sentence(const Exercise& exercise, const SetRecord& set, double log_most, double body_mass) {
  Load most = written_load(exercise, std::exp(log_most), body_mass, set.load.unit);
  most.amount = std::round(most.amount);
  const auto text = [](const Load& load) { return number_text(load.amount) + " " + std::string(unit_name(load.unit)); };
  return fmt::format("{} {} x {} is far above what is expected: for these reps {} at most", exercise.name,
                     text(set.load), set.reps, text(most));
}

// Of sets of one exercise: how many tell something, and the log of the most any of them takes.
struct Shown {
  int count = 0;
  double best = -std::numeric_limits<double>::infinity();
};
constexpr int kTellingReps = 12;  // longer sets say little of a 1RM
Shown shown_by(const std::vector<store::StoredSet>& sets, const Exercise& exercise, bool marks, double body_mass,
               store::SetId but, int most_reps = 1000) {
  Shown out;
  for (const store::StoredSet& s : sets) {
    if (s.id == but || s.set.reps > most_reps || s.set.exercise != exercise.id ||
        (s.set.load.unit == Unit::mark) != marks || !tells(s.set))
      continue;
    const double total = total_load(exercise, s.set.load, body_mass);
    if (!(total > 0)) continue;
    ++out.count;
    out.best = std::max(out.best, std::log(total) + usual_margin(exercise, s.set.reps));
  }
  return out;
}

// Against the log alone; empty: no doubt, else the log of the load expected at most.
std::optional<double> most_by_log(const Lifter& lifter, const Exercise& exercise, const Shown& shown, bool marks,
                                  std::optional<double> body_mass, double needs, double margin) {
  if (shown.count >= kDoubtLeastSets) {
    if (needs - shown.best > std::log(kDoubtOverLog)) return shown.best - margin;
    return std::nullopt;
  }
  if (marks || needs <= shown.best) return std::nullopt;
  const capacity::Prior prior = belief(lifter, exercise, body_mass);
  const double most = std::max(prior.mean + kDoubtPriorDeviations * prior.sd, shown.best);
  if (needs > most) return most - margin;
  return std::nullopt;
}

}  // namespace

std::optional<std::string> doubt_about(Desk& desk, const Fitted& fitted, const Exercise& exercise, const SetRecord& set,
                                       store::SetId but, double factor) {
  if (!tells(set)) return std::nullopt;
  const bool marks = set.load.unit == Unit::mark;
  const double mass = body_mass_of(fitted, set.date);
  const double total = total_load(exercise, set.load, mass);
  if (!(total > 0)) return std::nullopt;
  const double margin = usual_margin(exercise, set.reps);
  if (fitted.posterior.components.empty()) {
    store::SetFilter filter;
    filter.exercise = exercise.id;
    const auto sets = desk.store().sets(fitted.lifter.id, filter);
    if (!sets) return std::nullopt;
    const auto most = most_by_log(fitted.lifter, exercise, shown_by(*sets, exercise, marks, mass, but), marks, mass,
                                  std::log(total) + margin, margin);
    return most ? std::optional(sentence(exercise, set, *most, mass)) : std::nullopt;
  }
  // What the fit took for mis-typed shows nothing.
  std::vector<store::StoredSet> good;
  for (std::size_t i = 0; i < fitted.sets.size(); ++i) {
    if (fitted.sets[i].set.exercise != exercise.id) continue;
    const auto& suspects = fitted.posterior.suspects;
    if (std::none_of(suspects.begin(), suspects.end(),
                     [&](const capacity::SuspectSet& one) { return one.record == static_cast<int>(i); }))
      good.push_back(fitted.sets[i]);
  }
  if (std::log(total) + margin <
      shown_by(good, exercise, marks, mass, but, kTellingReps).best + std::log(kDoubtOverBest))
    return std::nullopt;
  const int lift = fitted.posterior.find_lift(exercise.id, set.side);
  // A machine's marks are another scale, and unknown before the first set.
  if (lift >= 0 ? fitted.posterior.lifts[static_cast<std::size_t>(lift)].marks != marks : marks) return std::nullopt;
  const capacity::LifterDraws draws =
      fitted.posterior.draw_rested({{exercise, set.side}}, std::max(set.date, fitted.posterior.as_of), kDraws,
                                   draw_seed(fitted.lifter.id, set.date));
  std::vector<double> over, most;
  for (const capacity::Draw& d : draws.draws) {
    const capacity::LiftDraw& l = d.lifts.front();
    const double of_reps =
        capacity::margin_for_reps(static_cast<double>(std::max(1, set.reps)), l.endurance, draws.info.front().shape);
    most.push_back(l.log_strength - of_reps);
    over.push_back(std::log(total) - most.back());
  }
  const capacity::Interval by = capacity::interval_of(std::move(over));
  if (by.median <= std::log(factor) || by.median <= kDoubtDeviations * by.sd) return std::nullopt;
  return sentence(exercise, set, capacity::interval_of(std::move(most)).hi80, mass);
}

std::vector<SuspectView> suspects_of(Desk& desk, const Fitted& fitted) {
  std::vector<SuspectView> out;
  for (const capacity::SuspectSet& s : fitted.posterior.suspects) {
    if (s.record >= 0 && static_cast<std::size_t>(s.record) < fitted.sets.size())
      out.push_back({fitted.sets[static_cast<std::size_t>(s.record)], s.reason});
  }
  const auto library = desk.library();
  if (fitted.live_sets == 0 || !library) return out;
  for (const store::StoredSet& s : fitted.sets) {
    if (s.id <= fitted.newest_fitted) continue;
    const Exercise* exercise = (*library)->find(s.set.exercise);
    if (!exercise) continue;
    if (auto why = doubt_about(desk, fitted, *exercise, s.set, s.id, kSuspectFactor))
      out.push_back({s, std::move(*why)});
  }
  return out;
}

Result<std::vector<std::string>> doubts_about(Desk& desk, const Lifter& lifter, const std::vector<SetRecord>& sets,
                                              store::SetId but) {
  std::vector<std::string> out;
  const auto dated = [&](SetRecord set) {
    if (set.date == Date{}) set.date = desk.today();
    return set;
  };
  for (const SetRecord& set : sets) {
    if (!faults_of(dated(set), desk.today()).empty()) return out;
  }
  auto fitted = stored_estimate(desk, lifter.id);
  if (!fitted) return tl::unexpected(fitted.error());
  if (!*fitted) {
    fitted->emplace();
    (*fitted)->lifter = lifter;
  }
  for (const SetRecord& set : sets) {
    const auto exercise = desk.exercise(set.exercise);
    if (!exercise) continue;  // whoever logs it says so
    if (auto doubt = doubt_about(desk, **fitted, **exercise, dated(set), but)) out.push_back(std::move(*doubt));
  }
  return out;
}

namespace {

constexpr std::size_t kRowsHeld = 24;  // of a lifter's exercise

}  // namespace

Result<DoubtfulRows::Lift> DoubtfulRows::lift_of(const std::string& name, const Exercise& exercise, bool marks) const {
  Lift lift;
  lift.exercise = &exercise;
  lift.marks = marks;
  Shown shown;
  auto known = lifter_called(desk_.store(), name);
  if (!known) return tl::unexpected(known.error());
  if (*known) {
    lift.lifter = std::move(**known);
    store::SetFilter filter;
    filter.exercise = exercise.id;
    const auto sets = desk_.store().sets(lift.lifter.id, filter);
    if (!sets) return tl::unexpected(sets.error());
    shown = shown_by(*sets, exercise, marks, kUsualBodyMassKg, 0);
  }
  lift.stored = shown.count;
  lift.stored_best = shown.best;
  return lift;
}

void DoubtfulRows::look(const interchange::LoggedSet& row) {
  const Exercise* exercise = library_.find(row.set.exercise);
  if (error_ || !exercise || !tells(row.set)) return;
  const bool marks = row.set.load.unit == Unit::mark;
  const double mass = row.set.body_mass ? kilograms(*row.set.body_mass).value : kUsualBodyMassKg;
  const double total = total_load(*exercise, row.set.load, mass);
  if (!(total > 0)) return;
  const std::pair key{row.lifter, exercise->id + (marks ? "#" : "")};
  auto at = lifts_.find(key);
  if (at == lifts_.end()) {
    auto fresh = lift_of(row.lifter, *exercise, marks);
    if (!fresh) {
      error_ = fresh.error();
      return;
    }
    at = lifts_.emplace(key, std::move(*fresh)).first;
  }
  Lift& lift = at->second;
  ++lift.count;
  const double margin = usual_margin(*exercise, row.set.reps), needs = std::log(total) + margin;
  const Row this_row{needs, margin, mass, row.line, row.place, row.set};
  const auto day = lift.days.find(row.set.date);
  if (day == lift.days.end()) {
    lift.days.emplace(row.set.date, this_row);
  } else if (needs > day->second.needs) {
    day->second = this_row;
  }
  auto& top = lift.top;
  if (top.size() == kRowsHeld && needs <= top.back().needs) return;
  const auto place = std::find_if(top.begin(), top.end(), [&](const Row& r) { return r.needs < needs; });
  top.insert(place, this_row);
  if (top.size() > kRowsHeld) top.pop_back();
}

// The first row of the day from which on another unit seems to be meant: from there on every day, and no day before it,
// lies beyond the gap.
std::optional<interchange::Fault> DoubtfulRows::other_unit(const Lift& lift) {
  constexpr std::size_t kDaysBefore = 3, kDaysAfter = 2;
  constexpr int kMostDaysBetween = 60;
  if (lift.marks || lift.days.size() < kDaysBefore + kDaysAfter) return std::nullopt;
  std::vector<const Row*> days;
  for (const auto& [date, row] : lift.days) days.push_back(&row);
  const auto extreme = [&](std::size_t from, std::size_t to, bool highest) {
    double out = days[from]->needs;
    for (std::size_t i = from; i < to; ++i)
      out = highest ? std::max(out, days[i]->needs) : std::min(out, days[i]->needs);
    return out;
  };
  for (std::size_t at = kDaysBefore; at + kDaysAfter <= days.size(); ++at) {
    const Row& before = *days[at - 1];
    const Row& row = *days[at];
    const double by = row.needs - before.needs;
    if (std::fabs(by) < std::log(kOtherUnitLeast) || std::fabs(by) > std::log(kOtherUnitMost) ||
        row.set.load.unit != before.set.load.unit || row.set.date - before.set.date > kMostDaysBetween)
      continue;
    const bool up = by > 0;
    // What is stored was decided on.
    if (lift.stored > 0 && !(up && row.needs > lift.stored_best + std::log(kOtherUnitLeast))) continue;
    // Between all before (of the last three days) and all after nothing lies in the gap.
    const double below = up ? extreme(at - kDaysBefore, at, true) : extreme(at, days.size(), true);
    const double above = up ? extreme(at, days.size(), false) : extreme(at - kDaysBefore, at, false);
    if (above - below < std::log(kOtherUnitLeast) / 2) continue;
    const auto text = [](const Row& r) {
      return fmt::format("{} {} x {}", number_text(r.set.load.amount), unit_name(r.set.load.unit), r.set.reps);
    };
    interchange::Fault fault;
    fault.line = row.line;
    fault.place = row.place;
    fault.column = "load";
    fault.value = number_text(row.set.load.amount);
    fault.problem = fmt::format("{} {} on {} after {} on {}, and so it goes on: is {} meant from here on?",
                                lift.exercise->name, text(row), date_text(row.set.date), text(before),
                                date_text(before.set.date), row.set.load.unit == Unit::pound ? "kg" : "lb");
    return fault;
  }
  return std::nullopt;
}

Result<std::vector<interchange::Fault>> DoubtfulRows::found(std::size_t most) const {
  if (error_) return tl::unexpected(*error_);
  std::vector<interchange::Fault> out;
  for (const auto& [key, lift] : lifts_) {
    if (auto fault = other_unit(lift)) out.push_back(std::move(*fault));
    // From the one that takes most downwards: those above a gap are few and far from all others.
    std::size_t doubted = 0;
    double expected = 0;
    for (std::size_t i = 0; i < lift.top.size() && lift.top[i].needs > lift.stored_best + 1e-9; ++i) {
      Shown rest{lift.stored + lift.count - static_cast<int>(i) - 1, lift.stored_best};
      if (i + 1 < lift.top.size()) rest.best = std::max(rest.best, lift.top[i + 1].needs);
      const bool few = 5 * static_cast<int>(i + 1) <= lift.count + lift.stored || i == 0;
      const auto by_log = few && i + 1 < kRowsHeld ? most_by_log(lift.lifter, *lift.exercise, rest, lift.marks,
                                                                 std::nullopt, lift.top[i].needs, 0)
                                                   : std::nullopt;
      if (!by_log) continue;
      doubted = i + 1;
      expected = *by_log;
    }
    for (std::size_t i = 0; i < doubted; ++i) {
      const Row& row = lift.top[i];
      interchange::Fault fault;
      fault.line = row.line;
      fault.place = row.place;
      fault.column = "load";
      fault.value = number_text(row.set.load.amount);
      fault.problem = sentence(*lift.exercise, row.set, expected - row.margin, row.mass);
      out.push_back(std::move(fault));
    }
  }
  std::sort(out.begin(), out.end(), [](const interchange::Fault& a, const interchange::Fault& b) {
    return std::tie(a.line, a.place, a.value) < std::tie(b.line, b.place, b.value);
  });
  if (out.size() > most) out.resize(most);
  return out;
}

}  // namespace ullage::coach
