#include "service/coach/block_problem.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "engine/planning/block_costs.h"
#include "engine/planning/block_words.h"
#include "engine/planning/set_planner.h"
#include "engine/planning/warm_up.h"
#include "service/coach/pains.h"

namespace ullage::coach {
namespace {

using planning::BlockExercise;
using planning::BlockMode;
using planning::BlockProblem;
using planning::BlockWeek;
using planning::WeekKind;

constexpr int kDraws = 64;
constexpr int kSessionDraws = 512;     // as `session` has them
constexpr double kSurelyLight = 0.15;  // of strength at its low side: light enough whatever the doubt

// Offered when a lifter's own exercises leave room: common lifts for every muscle and kind of equipment.
constexpr const char* kCommon[] = {"back-squat",
                                   "bench-press",
                                   "romanian-deadlift",
                                   "lat-pulldown",
                                   "seated-cable-row",
                                   "dumbbell-bench-press",
                                   "leg-press",
                                   "leg-curl",
                                   "calf-raise",
                                   "lateral-raise",
                                   "biceps-curl",
                                   "triceps-pushdown",
                                   "overhead-press",
                                   "barbell-row",
                                   "pull-up",
                                   "dumbbell-row",
                                   "incline-dumbbell-press",
                                   "dumbbell-shoulder-press",
                                   "leg-extension",
                                   "seated-leg-curl",
                                   "hip-thrust",
                                   "rear-delt-fly",
                                   "face-pull",
                                   "cable-crunch",
                                   "crunch",
                                   "hanging-leg-raise",
                                   "press-up",
                                   "dip",
                                   "goblet-squat",
                                   "split-squat",
                                   "dumbbell-lunge",
                                   "dumbbell-romanian-deadlift",
                                   "deadlift",
                                   "front-squat",
                                   "hack-squat",
                                   "chest-press",
                                   "row-machine",
                                   "chest-supported-dumbbell-row",
                                   "neutral-grip-pulldown",
                                   "chin-up",
                                   "cable-fly",
                                   "dumbbell-fly",
                                   "cable-lateral-raise",
                                   "reverse-fly-machine",
                                   "hammer-curl",
                                   "cable-curl",
                                   "incline-dumbbell-curl",
                                   "barbell-curl",
                                   "overhead-cable-extension",
                                   "dumbbell-overhead-extension",
                                   "lying-triceps-extension",
                                   "seated-calf-raise",
                                   "single-leg-calf-raise",
                                   "back-extension",
                                   "nordic-curl",
                                   "shoulder-press-machine",
                                   "dumbbell-floor-press",
                                   "ab-wheel",
                                   "leg-press-calf-raise",
                                   "inverted-row"};

double default_weight(Muscle muscle) {
  switch (muscle) {
    case Muscle::chest:
    case Muscle::upper_back:
    case Muscle::lats:
    case Muscle::quadriceps:
    case Muscle::hamstrings:
    case Muscle::glutes: return 1;
    case Muscle::side_shoulder:
    case Muscle::biceps:
    case Muscle::triceps: return 0.8;
    case Muscle::front_shoulder:
    case Muscle::rear_shoulder:
    case Muscle::calves: return 0.5;
    case Muscle::abdominals: return 0.3;
    default: return 0;
  }
}

std::vector<BlockRequest::Day> usual_days(const Lifter& lifter) {
  static const std::vector<std::vector<int>> kWeek{
      {}, {3}, {1, 4}, {1, 3, 5}, {1, 2, 4, 5}, {1, 2, 3, 5, 6}, {1, 2, 3, 4, 5, 6}, {1, 2, 3, 4, 5, 6, 7}};
  std::vector<BlockRequest::Day> out;
  for (int day : kWeek[static_cast<std::size_t>(std::clamp(lifter.days_per_week, 0, 7))])
    out.push_back({day, static_cast<double>(lifter.minutes_per_session), ""});
  return out;
}

int usual_reps(const ClassPolicy& policy) { return (policy.least_reps + policy.most_reps) / 2; }

class Maker {
 public:
  Maker(Desk& desk, const Fitted& fitted, const BlockRequest& request, std::string place, Date first, Date open_from,
        bool followed)
      : desk_(desk),
        fitted_(fitted),
        q_(request),
        place_(std::move(place)),
        first_(first),
        open_from_(open_from),
        followed_(followed),
        lifter_(fitted.lifter) {}

  Result<BlockMaterial> make() {
    const auto library = desk_.library();
    if (!library) return tl::unexpected(library.error());
    library_ = *library;
    const Date day = std::max(open_from_, desk_.today());
    auto gate = desk_.strict_gate(lifter_, day, sessions_);
    if (!gate) return tl::unexpected(gate.error());
    if (!gate->allowed()) return fail(Code::not_allowed, lifter_.name + " is on hold: " + gate->held_text());
    gate_ = std::move(*gate);
    auto policy = desk_.policy(lifter_);
    if (!policy) return tl::unexpected(policy.error());
    policy_ = *policy;
    out_.start = first_;
    if (const auto fine = weeks(); !fine) return tl::unexpected(fine.error());
    if (const auto fine = offer(); !fine) return tl::unexpected(fine.error());
    if (const auto fine = limits(); !fine) return tl::unexpected(fine.error());
    if (const auto fine = rules(); !fine) return tl::unexpected(fine.error());
    if (!faults_.empty()) {
      std::string all;
      for (const std::string& f : faults_) all += (all.empty() ? "" : "\n") + f;
      return fail(Code::invalid_input, all);
    }
    out_.cautions = gate_.cautions;
    return std::move(out_);
  }

 private:
  BlockProblem& p() { return out_.problem; }

  int place_index(const std::string& named) {
    const auto where = desk_.where(lifter_, named.empty() ? place_ : named);
    if (!where) {
      faults_.push_back(where.error().message);
      return 0;
    }
    if (where->assumed) assumed_ = true;
    for (std::size_t i = 0; i < places_.size(); ++i) {
      if (places_[i].id == where->place.id) return static_cast<int>(i);
    }
    places_.push_back(where->place);
    out_.place_ids.push_back(where->place.id);
    p().places.push_back(where->place.name.empty() ? where->place.id : where->place.name);
    return static_cast<int>(places_.size()) - 1;
  }

  Result<void> weeks() {
    std::vector<BlockRequest::Day> days = q_.days.empty() ? usual_days(lifter_) : q_.days;
    if (days.empty())
      return fail(Code::invalid_input, "no days: say on which days of the week the lifter trains, such as --on Mon:60");
    for (const auto& d : days) {
      if (!(d.minutes > 0))
        faults_.push_back(fmt::format("{}: no minutes; a session has more than 0", weekday_name(Date{3 + d.weekday})));
    }
    const auto closed_because = [&](Date date) -> std::string {
      if (date < open_from_) return "past";
      if (q_.target && q_.target->kind == "meet" && date >= q_.target->date - kRestBeforeMeetDays)
        return date == q_.target->date  ? "the meet"
               : date > q_.target->date ? "after the meet"
                                        : "rest before the meet";
      if (q_.target && date >= q_.target->date) return date == q_.target->date ? "photo day" : "after the photo day";
      return "";
    };
    for (int w = 0; w < q_.weeks; ++w) {
      BlockWeek week;
      week.monday = first_ + 7 * w;
      const Date sunday = week.monday + 6;
      std::vector<std::string> closed;
      std::string note;
      std::optional<WeekKind> asked;
      for (const auto& d : days) {
        const Date date = week.monday + (d.weekday - 1);
        const auto away = std::find_if(q_.travel.begin(), q_.travel.end(),
                                       [&](const auto& t) { return date >= t.from && date <= t.until; });
        if (away != q_.travel.end() && !away->days.empty()) continue;
        planning::BlockDay day;
        day.date = date;
        day.minutes = d.minutes;
        day.place = place_index(away != q_.travel.end() && !away->place.empty() ? away->place : d.place);
        day.most_exercises = q_.most_exercises;
        week.days.push_back(day);
        closed.push_back(closed_because(date));
      }
      for (const auto& t : q_.travel) {
        if (t.until < week.monday || t.from > sunday) continue;
        week.kind = WeekKind::travel;
        week.why = (t.place.empty() ? "away from " : "away at " + t.place + " from ") + date_text(t.from) + " to " +
                   date_text(t.until);
        for (const auto& d : t.days) {
          const Date date = week.monday + (d.weekday - 1);
          if (date < t.from || date > t.until) continue;
          planning::BlockDay day;
          day.date = date;
          day.minutes = d.minutes;
          day.place = place_index(t.place);
          day.most_exercises = q_.most_exercises;
          week.days.push_back(day);
          closed.push_back(closed_because(date));
        }
      }
      for (const auto& s : q_.special) {
        if (s.number != w + 1) continue;
        note = s.note;
        if (s.kind == WeekKind::usual) continue;
        week.kind = s.kind;
        week.most_share = s.share;
        week.least_reserve = s.least_reserve;
        week.failure = s.failure;
        week.why = s.why.empty() ? std::string(week_kind_name(s.kind)) + " week" : s.why;
        asked = s.kind;
      }
      if (q_.target) {
        const bool meet = q_.target->kind == "meet";
        const int left = q_.target->date - sunday;  // from the week's last day
        if (left < kNoFailureBeforeTargetDays) week.failure = false;
        if (left < (meet ? kMeetTaperDays : kPhotoTaperDays) - 6 + 3) {
          week.kind = WeekKind::taper;
          week.most_share = std::min(week.most_share, meet ? kMeetTaperShare : kPhotoTaperShare);
          week.why =
              fmt::format("{} on {}: fewer sets, loads kept", meet ? "meet" : "photo day", date_text(q_.target->date));
        }
      }
      if (q_.coming_back && sunday >= q_.coming_back->from) {
        const int since = (week.monday - q_.coming_back->from + 6) / 7;
        if (since < q_.coming_back->weeks) {
          const double share = q_.coming_back->first_share +
                               (1 - q_.coming_back->first_share) * std::max(0, since) / q_.coming_back->weeks;
          week.kind = WeekKind::returning;
          week.most_share = std::min(week.most_share, share);
          week.least_reserve = std::max(week.least_reserve, returning_reserve());
          week.failure = false;
          week.why = fmt::format("back after {}: {:.0f} % of the sets",
                                 q_.coming_back->why.empty() ? "time off" : q_.coming_back->why, 100 * share);
        }
        for (std::size_t d = 0; d < week.days.size(); ++d) {
          if (closed[d].empty() && week.days[d].date < q_.coming_back->from) closed[d] = "not back yet";
        }
      }
      if (asked && week.kind != *asked)
        out_.remarks.push_back(fmt::format("week {} is no {} as asked for: {}", w + 1,
                                           std::string(week_kind_name(*asked)) + " week", week.why));
      gates_.push_back(gate_at(week.monday));
      const safety::Gate& gate = gates_.back();
      week.least_reserve = std::max(week.least_reserve, static_cast<int>(std::ceil(gate.least_reserve)));
      if (!gate.failure) week.failure = false;
      if (!gate.allowed()) {
        week.why = "on hold then: " + gate.holds.front().reason;
        for (std::string& why : closed) {
          if (why.empty()) why = "on hold: " + gate.holds.front().reason;
        }
      }
      p().weeks.push_back(std::move(week));
      out_.closed.push_back(std::move(closed));
      out_.notes.push_back(std::move(note));
    }
    for (const auto& c : q_.day_changes) change_day(c);
    for (std::size_t w = 0; w < p().weeks.size(); ++w) {
      auto& at = p().weeks[w].days;
      std::vector<std::size_t> order(at.size());
      for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
      std::sort(order.begin(), order.end(), [&](std::size_t x, std::size_t y) { return at[x].date < at[y].date; });
      std::vector<planning::BlockDay> sorted;
      std::vector<std::string> why;
      for (std::size_t i : order) {
        sorted.push_back(at[i]);
        sorted.back().closed = !out_.closed[w][i].empty();
        why.push_back(out_.closed[w][i]);
      }
      at = std::move(sorted);
      out_.closed[w] = std::move(why);
    }
    for (const auto& s : q_.special) {
      if (s.number > q_.weeks) faults_.push_back(fmt::format("week {}: the block has {} weeks", s.number, q_.weeks));
    }
    if (q_.target && (q_.target->date < first_ || q_.target->date > first_ + 7 * q_.weeks - 1))
      faults_.push_back(fmt::format("the target {} is not within the block, {} to {}", date_text(q_.target->date),
                                    date_text(first_), date_text(first_ + 7 * q_.weeks - 1)));
    bool open = false;
    for (const auto& week : p().weeks) {
      for (const auto& day : week.days) open = open || !day.closed;
    }
    if (!open && faults_.empty()) return fail(Code::invalid_input, "no days are left to plan in this block");
    return {};
  }

  void change_day(const BlockRequest::DayChange& c) {
    for (std::size_t w = 0; w < p().weeks.size(); ++w) {
      auto& days = p().weeks[w].days;
      for (std::size_t d = 0; d < days.size(); ++d) {
        if (days[d].date != c.date) continue;
        if (c.minutes) {
          days[d].minutes = *c.minutes;
          return;
        }
        if (!c.to) {
          out_.closed[w][d] = "missed";
          return;
        }
        for (std::size_t v = 0; v < p().weeks.size(); ++v) {
          for (const auto& other : p().weeks[v].days) {
            if (other.date == *c.to) {
              faults_.push_back(
                  fmt::format("{} cannot move to {}: a session is planned there", date_text(c.date), date_text(*c.to)));
              return;
            }
          }
        }
        const int to = (*c.to - first_) / 7;
        if (*c.to < first_ || to >= q_.weeks) {
          faults_.push_back(date_text(*c.to) + " is outside the block");
          return;
        }
        planning::BlockDay moved = days[d];
        moved.date = *c.to;
        const std::string why = *c.to < open_from_ ? "past" : "";
        days.erase(days.begin() + static_cast<std::ptrdiff_t>(d));
        out_.closed[w].erase(out_.closed[w].begin() + static_cast<std::ptrdiff_t>(d));
        p().weeks[static_cast<std::size_t>(to)].days.push_back(moved);
        out_.closed[static_cast<std::size_t>(to)].push_back(why);
        return;
      }
    }
    faults_.push_back(date_text(c.date) + " is no training day of this block");
  }

  int returning_reserve() const {
    double least = 99;
    for (const ClassPolicy& c : policy_.by_class) least = std::min(least, c.least_reserve);
    return static_cast<int>(std::ceil(least + gate_.extra_reserve)) + kReturningReserve;
  }

  safety::Gate gate_at(Date day) {
    auto gate = desk_.strict_gate(lifter_, std::max(day, desk_.today()), sessions_);
    return gate ? std::move(*gate) : gate_;
  }

  // ---- Exercises.
  const Exercise* named(const std::string& text) {
    const auto found = desk_.exercise(text);
    if (!found) {
      const std::string& fault = found.error().message;
      if (std::find(faults_.begin(), faults_.end(), fault) == faults_.end()) faults_.push_back(fault);
      return nullptr;
    }
    return *found;
  }
  int index_of(const std::string& text) {
    const Exercise* e = named(text);
    if (!e) return -1;
    const auto found = index_.find(e->id);
    return found == index_.end() ? -1 : found->second;
  }
  bool here(const Exercise& e, std::size_t place, std::string* why = nullptr) {
    const auto loads = buildable_loads(places_[place], e, lifter_.unit);
    if (loads && !loads->empty()) return true;
    if (why) *why = loads ? "no load for it at " + p().places[place] : loads.error().message;
    return false;
  }

  Result<void> offer() {
    std::vector<std::string> ids;
    std::set<std::string> wanted;
    const auto want = [&](const std::string& text) {
      if (const Exercise* e = named(text); e && wanted.insert(e->id).second) ids.push_back(e->id);
    };
    for (const auto& m : q_.must) want(m.exercise);
    for (const auto& f : q_.fixed) want(f.exercise);
    for (const auto& l : q_.lifts) want(l.exercise);
    for (const auto& t : q_.tests) want(t.exercise);
    for (const auto& o : q_.order) {
      named(o.first);
      named(o.then);
    }
    const std::size_t asked = ids.size();
    const Date from = desk_.today() - kKnownDays;
    std::map<std::string, int> done;
    for (const store::StoredSet& s : fitted_.sets) {
      if (s.set.date >= from && s.set.kind != SetKind::warmup && s.set.extra_kind == ExtraKind::none)
        ++done[s.set.exercise];
    }
    if (!q_.exercises.empty()) {
      for (const std::string& e : q_.exercises) want(e);
    } else {
      std::vector<std::pair<int, std::string>> known;
      for (const auto& [id, n] : done) known.emplace_back(-n, id);
      std::sort(known.begin(), known.end());
      for (const auto& [n, id] : known) {
        if (library_->find(id)) want(id);
      }
      for (const char* id : kCommon) {
        if (library_->find(id)) want(id);
      }
    }
    if (!faults_.empty()) return {};
    std::vector<const Exercise*> chosen;
    for (std::size_t i = 0; i < ids.size(); ++i) {
      const Exercise* e = library_->find(ids[i]);
      bool anywhere = i < asked;
      for (std::size_t place = 0; place < places_.size() && !anywhere; ++place) anywhere = here(*e, place);
      if (anywhere && (i < asked || static_cast<int>(chosen.size()) < kMostOffered)) chosen.push_back(e);
    }
    if (chosen.empty()) return fail(Code::invalid_input, "no exercise of the list can be done with this equipment");
    std::vector<capacity::Posterior::Wanted> drawn;
    for (const Exercise* e : chosen) drawn.push_back({*e, Side::both});
    out_.draws =
        fitted_.posterior.draw_rested(drawn, std::max(first_, desk_.today()), kDraws, draw_seed(lifter_.id, first_));
    const capacity::LifterDraws& draws = out_.draws;
    for (const capacity::Component& c : fitted_.posterior.components) out_.day_sd += c.weight * c.day_sd;
    const double residual = residual_share();
    for (std::size_t i = 0; i < chosen.size(); ++i) {
      index_[chosen[i]->id] = static_cast<int>(i);
      p().exercises.push_back(
          exercise(*chosen[i], draws, static_cast<int>(i), residual, done.count(chosen[i]->id) > 0));
    }
    for (std::size_t place = 0; place < places_.size(); ++place) {
      p().no_equipment.emplace_back(chosen.size());
      for (std::size_t i = 0; i < chosen.size(); ++i) {
        std::string why;
        if (!here(*chosen[i], place, &why)) p().no_equipment[place][i] = why;
      }
    }
    leave_unwritable(chosen, draws, static_cast<int>(asked));
    if (assumed_) out_.remarks.push_back("no place is described: a plain gym is assumed");
    return {};
  }

  // Exercises that `session` could not write are not planned there either: even the lightest load asks too much. Only
  // where that is near is the set planner asked, as the session asks it: rested, the policy's zone and reserve, under
  // the limits of the block's last week. What the coach asked for stays, and is told.
  void leave_unwritable(const std::vector<const Exercise*>& chosen, const capacity::LifterDraws& rough, int asked) {
    const Date day = std::max(first_, desk_.today());
    const double body_mass = body_mass_of(fitted_, day);
    for (std::size_t place = 0; place < places_.size(); ++place) {
      std::vector<std::size_t> close;
      for (std::size_t i = 0; i < chosen.size(); ++i) {
        const auto loads = buildable_loads(places_[place], *chosen[i], lifter_.unit);
        if (!loads || loads->empty()) continue;
        std::vector<double> strength;
        for (const capacity::Draw& d : rough.draws) strength.push_back(std::exp(d.lifts[i].log_strength));
        const double least = total_load(*chosen[i], loads->front().load, body_mass);
        if (least <= kSurelyLight * capacity::interval_of(std::move(strength)).lo80) continue;
        close.push_back(i);
      }
      if (close.empty()) continue;
      safety::Gate gate = gates_.back();
      gate.barred.clear();
      const std::uint64_t seed = draw_seed(lifter_.id, day);
      planning::PlanningInput input;
      input.gate = &gate;
      input.policy = policy_;
      input.safety_bars = places_[place].safety_bars;
      input.seed = seed;
      std::string out;
      for (const std::size_t i : close) {
        const capacity::LifterDraws draws =
            fitted_.posterior.draw({{*chosen[i], Side::both}}, day, body_mass, kSessionDraws, seed);
        input.draws = &draws;
        planning::ExerciseOffer one;
        one.exercise = *chosen[i];
        one.loads = *buildable_loads(places_[place], *chosen[i], lifter_.unit);
        input.offers = {one};
        planning::SessionRequest request;
        request.lifter = lifter_.name;
        request.date = day;
        request.exercises.emplace_back();
        request.exercises.front().exercise = chosen[i]->id;
        request.exercises.front().sets = std::max(1, q_.least_sets);
        const auto written = planning::plan_session(request, input);
        if (!written || !written->items.empty() || written->left_out.empty()) continue;
        if (static_cast<int>(i) >= asked) p().no_equipment[place][i] = written->left_out.front().reason;
        out += (out.empty() ? "" : ", ") + chosen[i]->name;
      }
      if (!out.empty())
        out_.remarks.push_back(fmt::format("too heavy at {} even with the least load: {}", p().places[place], out));
    }
  }

  double residual_share() const {
    double sum = 0, weight = 0;
    const int at = fitted_.posterior.index.log_a_day;
    for (const capacity::Component& c : fitted_.posterior.components) {
      if (at < 0 || at >= c.mean.size()) continue;
      sum += c.weight * std::exp(c.mean[at]);
      weight += c.weight;
    }
    return weight > 0 ? sum / weight * std::exp(-2.0) : 0;
  }

  BlockExercise exercise(const Exercise& e, const capacity::LifterDraws& draws, int lift, double residual, bool known) {
    const ClassPolicy& c = policy_.of(e.cls);
    BlockExercise out;
    out.exercise = e;
    const double sides = e.one_sided ? 2 : 1;
    const double rest_min = c.rest_s / 60;
    const auto mode = [&](int reserve, int least, int most, bool heavy) {
      BlockMode m;
      m.reserve = reserve;
      m.least_reps = least;
      m.most_reps = most;
      m.heavy = heavy;
      const int reps = (least + most) / 2;
      const double work = sides * reps * capacity::kSecondsPerRep;
      double rest = c.rest_s;
      if (q_.lifters_on_rack > 1 && e.implement == Implement::barbell)
        rest = std::max(rest, (q_.lifters_on_rack - 1) * (work + 30));  // the others' sets and the change of load
      m.minutes = (work + rest) / 60;
      m.fatigue = planning::set_fatigue(draws, lift, e, reps, reserve, rest_min, residual);
      return m;
    };
    const bool strength = std::any_of(q_.lifts.begin(), q_.lifts.end(), [&](const auto& l) {
      const auto named_one = desk_.exercise(l.exercise);
      return named_one && (*named_one)->id == e.id;
    });
    const double floor = gate_.least_reserve;
    int low = static_cast<int>(std::ceil(std::max(c.least_reserve + gate_.extra_reserve, floor)));
    int high = std::max(low, static_cast<int>(std::floor(std::max(c.most_reserve + gate_.extra_reserve, floor))));
    low = std::clamp(low, 1, planning::kReserveSteps - 1);
    high = std::clamp(high, low, planning::kReserveSteps - 1);
    const int middle = (c.least_reps + c.most_reps) / 2;
    for (int r = low; r <= high; ++r) out.modes.push_back(mode(r, c.least_reps, c.most_reps, false));
    // Weeks that ask for more in reserve: the step they need.
    std::set<int> further;
    for (const BlockWeek& week : p().weeks) {
      if (week.least_reserve > high) further.insert(std::min(week.least_reserve, planning::kReserveSteps - 1));
    }
    for (int r : further) out.modes.push_back(mode(r, c.least_reps, c.most_reps, false));
    if (strength) {
      for (int r = low; r <= high; ++r) out.modes.push_back(mode(r, c.least_reps, middle, true));
      for (int r : further) out.modes.push_back(mode(r, c.least_reps, middle, true));
    }
    bool bars = true;
    for (const Place& place : places_) bars = bars && place.safety_bars;
    if (c.last_set_failure && c.failure_every_days > 0 && gate_.failure && (!e.needs_spotter || bars) &&
        e.cls != ExerciseClass::barbell_compound) {
      out.modes.push_back(mode(0, c.least_reps, c.most_reps, false));
      out.failure_every_days = c.failure_every_days;
    }
    for (const store::StoredSet& s : fitted_.sets) {
      if (s.set.exercise == e.id && (s.set.failed || s.set.stop == Stop::failed || s.set.kind == SetKind::test))
        out.last_failure = s.set.date;
    }
    // Change-over and the warm-up ramp of its class (engine/planning/warm_up.cc: 4, 2 and 1 steps, fewer when warm).
    const double warm_ups = e.cls == ExerciseClass::barbell_compound     ? 3
                            : e.cls == ExerciseClass::supported_compound ? 1.5
                                                                         : 0.5;
    out.minutes =
        (planning::kSetUpSeconds + warm_ups * (planning::kWarmUpRestSeconds + 5 * capacity::kSecondsPerRep)) / 60;
    out.least_sets = q_.least_sets;
    out.most_sets = q_.most_sets;
    for (const auto& f : q_.fixed) {
      const auto named_one = desk_.exercise(f.exercise);
      if (!f.sets || !named_one || (*named_one)->id != e.id) continue;
      out.least_sets = std::min(out.least_sets, *f.sets);
      out.most_sets = std::max(out.most_sets, *f.sets);
    }
    out.most_days = strength ? 3 : 2;
    for (const auto& m : q_.must) {
      const auto named_one = desk_.exercise(m.exercise);
      if (named_one && (*named_one)->id == e.id) out.most_days = std::max(out.most_days, m.days);
    }
    out.preference = known ? kKnownPreference : 0;
    out.test_minutes = (c.rest_s + 90) / 60;
    const int reps = usual_reps(c);
    out.fatigue_at_failure = planning::set_fatigue(draws, lift, e, reps, 0, rest_min, residual);
    out.fatigue_very_easy = planning::set_fatigue(draws, lift, e, reps, planning::kVeryEasyReserve, rest_min, residual);
    return out;
  }

  // ---- Limits of muscles, and what each week bars.
  Result<void> limits() {
    if (!faults_.empty()) return {};
    // Weekly sets done in the last four weeks.
    std::array<double, kMuscleCount> before{};
    std::set<int> weeks_done;
    for (const store::StoredSet& s : fitted_.sets) {
      if (s.set.kind != SetKind::work || desk_.today() - s.set.date > 28) continue;
      weeks_done.insert((desk_.today() - s.set.date) / 7);
      if (const Exercise* e = library_->find(s.set.exercise)) {
        for (std::size_t k = 0; k < kMuscleCount; ++k) before[k] += e->involvement[k] / 4;
      }
    }
    for (std::size_t k = 0; k < kMuscleCount; ++k) {
      const auto muscle = static_cast<Muscle>(k);
      planning::MuscleRule& rule = p().muscles[k];
      if (q_.goals.empty())
        rule.weight = default_weight(muscle);
      else if (const auto goal = q_.goals.find(muscle); goal != q_.goals.end())
        rule.weight = goal->second;
      rule.most_week = kMostWeekSets;
      rule.most_session = kMostSessionSets;
      const bool small = muscle == Muscle::calves || muscle == Muscle::abdominals || muscle == Muscle::side_shoulder ||
                         muscle == Muscle::rear_shoulder || muscle == Muscle::forearm || muscle == Muscle::neck;
      rule.recovery_hours = small ? 24 : kRecoveryHours;
      const auto take = [&](const BlockRequest::Limits& l) {
        if (l.least_week) rule.least_week = *l.least_week;
        if (l.most_week) rule.most_week = *l.most_week;
        if (l.least_session) rule.least_session = *l.least_session;
        if (l.most_session) rule.most_session = *l.most_session;
        if (l.recovery_hours) rule.recovery_hours = *l.recovery_hours;
      };
      BlockRequest::Limits every = q_.every;
      if (rule.weight <= 0) every.least_week.reset(), every.least_session.reset();
      take(every);
      if (const auto own = q_.muscles.find(muscle); own != q_.muscles.end()) take(own->second);
      for (std::size_t w = 0; w < p().weeks.size(); ++w) {
        BlockWeek& week = p().weeks[w];
        // More than before only step by step, in three steps and then as the limits say.
        if (w >= 3) continue;
        const double rise = std::pow(1 + q_.most_rise, static_cast<double>(w) + 1);
        const double most = std::max({kFirstSets, before[k] * rise, rule.least_week});
        if (most * 1.0 < rule.most_week && rule.weight > 0) {
          week.most[k] = std::round(2 * most) / 2;
          if (week.why.empty()) rising_ = true;
        }
      }
    }
    share_of_before(before, static_cast<int>(weeks_done.size()));
    if (rising_)
      out_.remarks.push_back(fmt::format(
          "sets of a muscle rise by at most {:.0f} % a week from the last four weeks' mean", 100 * q_.most_rise));
    const auto n = p().exercises.size();
    for (std::size_t w = 0; w < p().weeks.size(); ++w) {
      BlockWeek& week = p().weeks[w];
      const Date sunday = week.monday + 6;
      week.barred.assign(n, "");
      for (std::size_t e = 0; e < n; ++e) {
        const Exercise& ex = p().exercises[e].exercise;
        if (const auto why = gates_[w].barred_because(ex.id)) {
          week.barred[e] = *why;
          continue;
        }
        for (const auto& ban : q_.ban) {
          if ((ban.from && *ban.from > sunday) || (ban.until && *ban.until < week.monday)) continue;
          const auto banned = ban.exercise.empty() ? Result<const Exercise*>(nullptr) : desk_.exercise(ban.exercise);
          const bool this_one = banned && *banned && (*banned)->id == ex.id;
          const bool by_muscle =
              ban.muscle && ex.involvement[static_cast<std::size_t>(*ban.muscle)] >= planning::kDirect;
          if (this_one || by_muscle)
            week.barred[e] = ban.why.empty() ? (by_muscle ? "you ruled out the " + std::string(muscle_name(*ban.muscle))
                                                          : std::string("you ruled it out"))
                                             : ban.why;
        }
      }
    }
    for (const auto& ban : q_.ban) {
      if (!ban.exercise.empty()) named(ban.exercise);
    }
    return {};
  }

  // Without usual weeks of its own the block's special ones have their share of the weeks trained of the last four;
  // back after time off those say nothing.
  void share_of_before(const std::array<double, kMuscleCount>& before, int weeks_done) {
    if (weeks_done == 0 ||
        std::any_of(p().weeks.begin(), p().weeks.end(), [](const BlockWeek& w) { return w.kind == WeekKind::usual; }))
      return;
    std::array<double, kMuscleCount> asked{};  // sets that the coach's rules need
    const auto ask = [&](const std::string& text, int sets) {
      const auto exercise = desk_.exercise(text);
      for (std::size_t k = 0; exercise && k < kMuscleCount; ++k) asked[k] += sets * (*exercise)->involvement[k];
    };
    for (const auto& m : q_.must) ask(m.exercise, m.days);
    for (const auto& f : q_.fixed) ask(f.exercise, f.sets.value_or(1));
    for (const auto& t : q_.tests) ask(t.exercise, 1);
    for (BlockWeek& week : p().weeks) {
      if (!planning::of_ordinary(week) || week.kind == WeekKind::returning) continue;
      for (std::size_t k = 0; k < kMuscleCount; ++k) {
        if (p().muscles[k].weight <= 0) continue;
        constexpr double kNone = 1e-3;  // 0 would be no cap
        const double most = std::max({kNone, asked[k], week.most_share * before[k] * 4 / std::min(4, weeks_done)});
        week.most[k] = week.most[k] > 0 ? std::min(week.most[k], most) : most;
      }
    }
  }

  // ---- Rep-max tests.
  std::optional<Date> first_open(const BlockWeek& week) const {
    for (const auto& day : week.days) {
      if (!day.closed) return day.date;
    }
    return std::nullopt;
  }

  // Why no test of the exercise may be done in the week; empty: it may. From the week's first open day on, since it is
  // not known yet on which one it falls.
  std::string no_test_because(int exercise, int w, const std::vector<planning::BlockTest>& others) const {
    const BlockWeek& week = out_.problem.weeks[static_cast<std::size_t>(w)];
    const Exercise& ex = out_.problem.exercises[static_cast<std::size_t>(exercise)].exercise;
    const auto day = first_open(week);
    if (!day) return "no day is open";
    if (const std::string& barred = week.barred[static_cast<std::size_t>(exercise)]; !barred.empty()) return barred;
    safety::FailureWish wish;
    wish.cls = ex.cls;
    wish.needs_spotter = ex.needs_spotter;
    wish.last_set = wish.test = true;
    wish.safety_bars = std::any_of(week.days.begin(), week.days.end(), [&](const planning::BlockDay& d) {
      return !d.closed && places_[static_cast<std::size_t>(d.place)].safety_bars;
    });
    wish.today = *day;
    for (const store::StoredSet& s : fitted_.sets) {
      if (s.set.exercise == ex.id && s.set.kind == SetKind::test) wish.last_test = s.set.date;
    }
    const ClassPolicy& policy = policy_.of(ex.cls);
    const auto allowed = safety::failure_allowed(gates_[static_cast<std::size_t>(w)], policy, wish);
    if (!allowed.allowed) return allowed.because;
    if (q_.target && q_.target->date - (week.monday + 6) < kNoFailureBeforeTargetDays)
      return fmt::format("no sets to failure in the last {} days before {}", kNoFailureBeforeTargetDays,
                         date_text(q_.target->date));
    if (!week.failure) return fmt::format("no sets to failure in week {}", w + 1);
    if (week.least_reserve > 0) return fmt::format("at least {} in reserve in week {}", week.least_reserve, w + 1);
    for (const planning::BlockTest& other : others) {
      const auto there = first_open(out_.problem.weeks[static_cast<std::size_t>(other.week)]);
      if (other.exercise == exercise && there && std::abs(*day - *there) < policy.test_every_days)
        return fmt::format("one is planned in week {}, at most one in {} days", other.week + 1, policy.test_every_days);
    }
    return "";
  }

  // A test that may not be done is refused; in a plan that is followed already it is left out, and a remark says so.
  void tests() {
    std::vector<planning::BlockTest>& planned = p().tests;
    for (const auto& t : q_.tests) {
      if (t.week > q_.weeks) {
        faults_.push_back(fmt::format("a test in week {}: the block has {} weeks", t.week, q_.weeks));
        continue;
      }
      const int exercise = index_of(t.exercise), w = t.week - 1;
      if (exercise < 0) continue;
      const BlockWeek& week = p().weeks[static_cast<std::size_t>(w)];
      const std::string& id = p().exercises[static_cast<std::size_t>(exercise)].exercise.id;
      const bool done = std::any_of(fitted_.sets.begin(), fitted_.sets.end(), [&](const store::StoredSet& s) {
        return s.set.exercise == id && s.set.kind == SetKind::test && s.set.date >= week.monday &&
               s.set.date <= week.monday + 6;
      });
      if (done || week.monday + 6 < open_from_) continue;
      const std::string because = no_test_because(exercise, w, planned);
      if (because.empty()) {
        planned.push_back({exercise, w});
        continue;
      }
      std::string open;
      for (int other = 0; other < q_.weeks; ++other) {
        if (no_test_because(exercise, other, planned).empty())
          open += (open.empty() ? "" : ", ") + std::to_string(other + 1);
      }
      (followed_ ? out_.remarks : faults_)
          .push_back(fmt::format("no rep-max test of the {} in week {} ({}): {}",
                                 p().exercises[static_cast<std::size_t>(exercise)].exercise.name, t.week,
                                 open.empty() ? "no week is open for it" : "open for it: week " + open, because));
    }
  }

  Result<void> rules() {
    if (!faults_.empty()) return {};
    for (const auto& l : q_.lifts) p().lifts.push_back({index_of(l.exercise), l.weight, l.least_heavy});
    for (const auto& m : q_.must) p().must.push_back({index_of(m.exercise), m.days, m.from_week - 1, m.to_week - 1});
    for (const auto& f : q_.fixed) {
      planning::FixedPart part{index_of(f.exercise), f.weekday, f.from_week - 1, f.to_week - 1, f.sets, f.reserve};
      p().fixed.push_back(part);
      if (!f.reserve || part.exercise < 0) continue;
      const BlockExercise& e = p().exercises[static_cast<std::size_t>(part.exercise)];
      const bool known =
          std::any_of(e.modes.begin(), e.modes.end(), [&](const BlockMode& m) { return m.reserve == *f.reserve; });
      if (!known)
        faults_.push_back(fmt::format("{} with {} in reserve: the policy and the limits in force allow {} to {}",
                                      e.exercise.name, *f.reserve, e.modes.front().reserve, e.modes.back().reserve));
    }
    for (const auto& o : q_.order) {
      const int first = index_of(o.first), then = index_of(o.then);
      if (first >= 0 && then >= 0) p().order.push_back({first, then});
    }
    for (const auto& b : q_.balance) p().balance.push_back({b.of, b.against, b.ratio, b.name});
    tests();
    // Musts and fixed parts wait for days that are still open.
    std::vector<planning::MustHave> musts;
    for (const planning::MustHave& m : p().must) {
      for (int w = std::max(0, m.from_week); w <= std::min(m.to_week, q_.weeks - 1); ++w) {
        const BlockWeek& week = p().weeks[static_cast<std::size_t>(w)];
        int open = 0;
        for (const auto& d : week.days) open += !d.closed;
        if (open == 0) continue;
        planning::MustHave one = m;
        const bool part = open < static_cast<int>(week.days.size());
        if (part) {  // a week partly gone asks for its part
          one.from_week = one.to_week = w;
          one.least_days = m.least_days * open / static_cast<int>(week.days.size());
          if (one.least_days == 0) continue;
        } else if (!musts.empty() && musts.back().exercise == m.exercise && musts.back().to_week == w - 1 &&
                   musts.back().least_days == m.least_days) {
          musts.back().to_week = w;
          continue;
        } else {
          one.from_week = one.to_week = w;
        }
        musts.push_back(one);
      }
    }
    p().must = std::move(musts);
    std::vector<planning::FixedPart> parts;
    for (const planning::FixedPart& f : p().fixed) {
      for (int w = std::max(0, f.from_week); w <= std::min(f.to_week, q_.weeks - 1); ++w) {
        bool gone = false;
        for (std::size_t d = 0; d < p().weeks[static_cast<std::size_t>(w)].days.size(); ++d) {
          const auto& day = p().weeks[static_cast<std::size_t>(w)].days[d];
          gone = gone || (weekday(day.date) == f.weekday && day.closed);
        }
        if (gone) continue;
        if (!parts.empty() && parts.back().exercise == f.exercise && parts.back().weekday == f.weekday &&
            parts.back().to_week == w - 1 && parts.back().sets == f.sets && parts.back().reserve == f.reserve) {
          parts.back().to_week = w;
          continue;
        }
        planning::FixedPart one = f;
        one.from_week = one.to_week = w;
        parts.push_back(one);
      }
    }
    p().fixed = std::move(parts);
    p().price = q_.price;
    p().exercises_stay = q_.exercises_stay;
    if (q_.alternate) p().alternate_saves = 1;
    if (gate_.load_cap_share)
      out_.remarks.push_back(
          fmt::format("loads stay at or under {:.0f} % of strength ({}); the session sheet keeps to that",
                      100 * *gate_.load_cap_share, gate_.load_cap_from));
    if (gate_.least_reserve > 0)
      out_.remarks.push_back(
          fmt::format("at least {:g} in reserve on every set ({})", gate_.least_reserve, gate_.least_reserve_from));
    if (gate_.extra_reserve > 0)
      out_.remarks.push_back(
          fmt::format("{:g} more in reserve than the policy ({})", gate_.extra_reserve, gate_.extra_reserve_from));
    for (const std::string& fault : planning::faults_of(p())) faults_.push_back(fault);
    return {};
  }

  Desk& desk_;
  const Fitted& fitted_;
  const std::vector<Date> sessions_ = session_days(fitted_.sets);
  const BlockRequest& q_;
  std::string place_;
  Date first_, open_from_;
  bool followed_;
  const Lifter& lifter_;
  const library::Library* library_ = nullptr;
  safety::Gate gate_;
  std::vector<safety::Gate> gates_;  // by week
  ReservePolicy policy_;
  std::vector<Place> places_;
  std::map<std::string, int> index_;
  bool assumed_ = false, rising_ = false;
  std::vector<std::string> faults_;
  BlockMaterial out_;
};

}  // namespace

Date first_monday(const BlockRequest& request, Date today) {
  const Date from = request.from.value_or(today + (8 - weekday(today)) % 7);
  if (!request.from && request.target) {
    // Planned back from the target: the block ends with its week.
    const Date monday = request.target->date - (weekday(request.target->date) - 1);
    return monday - 7 * (request.weeks - 1);
  }
  return from - (weekday(from) - 1);
}

Result<BlockMaterial> block_material(Desk& desk, const Fitted& fitted, const BlockRequest& request,
                                     const std::string& place, Date first, Date open_from, bool followed) {
  return Maker(desk, fitted, request, place, first, open_from, followed).make();
}

}  // namespace ullage::coach
