#include "engine/capacity/training_log.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <tuple>

#include "engine/capacity/fatigue.h"
#include "engine/capacity/priors.h"

namespace ullage::capacity {
namespace {

constexpr double kUnknownBodyMass = 75;  // kg, when none was ever given (assumption)
constexpr int kNewAfterDays = 28;        // an exercise first met this long after the log began is new
constexpr double kUntrainedYears = 0.5;

// Body mass noted in the log counts like one in the profile.
Lifter with_logged_body_mass(Lifter lifter, const std::vector<SetRecord>& records) {
  for (const SetRecord& r : records) {
    if (r.body_mass) lifter.body_mass.push_back({r.date, *r.body_mass});
  }
  // By insertion, so that entries of one day keep their order (std::stable_sort uses what clang calls deprecated).
  for (std::size_t i = 1; i < lifter.body_mass.size(); ++i) {
    for (std::size_t j = i; j > 0 && lifter.body_mass[j].date < lifter.body_mass[j - 1].date; --j) {
      std::swap(lifter.body_mass[j], lifter.body_mass[j - 1]);
    }
  }
  return lifter;
}

// "also 3 more" keeps a remark list short.
class Remarks {
 public:
  void add(const std::string& what) { ++count_[what]; }
  std::vector<std::string> text() const {
    std::vector<std::string> out;
    for (const auto& [what, n] : count_) {
      out.push_back(what + (n == 1 ? " (1 set)" : " (" + std::to_string(n) + " sets)"));
    }
    return out;
  }

 private:
  std::map<std::string, int> count_;
};

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// How a set ended, as far as the model can use it.
Stop ending(const SetRecord& r) {
  if (r.failed) return Stop::failed;
  if (r.kind == SetKind::warmup) return Stop::planned;
  if (r.stop == Stop::planned && r.planned_reps && *r.planned_reps != r.reps) return Stop::unknown;
  if (r.stop == Stop::failed) return Stop::unknown;  // says failed, but no failed rep is logged
  return r.stop;
}

// What the set tells of its feeling: a call, a stop on a cue, or a cue that was not met before the end.
std::optional<Feeling> feeling_of(const SetRecord& r, Stop stop, bool halves) {
  constexpr double kInfinity = std::numeric_limits<double>::infinity();
  Feeling out{{-kInfinity, 0, false}, {-kInfinity, 0, false}, {kInfinity, 0, false}};
  // A stop on a cue without the cue written down: the call is the cue.
  const std::optional<Call> cue = r.cue ? r.cue : stop == Stop::cue ? r.called : std::nullopt;
  const double cue_level = cue ? cue->reserve + (halves ? 0.25 : 0.5) : 0;
  if (stop == Stop::cue) {
    if (!cue) return std::nullopt;
    out.high = {cue_level, 0, true};
    if (r.reps > 1) out.before = {cue_level, 1, true};
    return out;
  }
  bool told = false;
  if (cue && (stop == Stop::planned || stop == Stop::failed)) {
    const double shift = stop == Stop::failed ? 0 : 1;  // the last rep at which going on was chosen
    if (r.reps > shift) {
      out.before = {cue_level, shift, true};
      told = true;
    }
  }
  // Every call counts, also one equal to the cue: leaving those out would keep only the surprising ones. A call that
  // nobody was asked for must not be in the log.
  if (r.called) {
    const Cell cell = call_cell(*r.called, halves);
    const double shift = r.reps - std::clamp(r.called_at_rep.value_or(r.reps), 0, r.reps);
    out.low = {cell.low, shift, false};
    out.high = {cell.high, shift, false};
    told = true;
  }
  return told ? std::optional<Feeling>(out) : std::nullopt;
}

}  // namespace

TrainingLog prepare(const Lifter& lifter, const std::vector<SetRecord>& records,
                    const std::function<const Exercise*(const std::string&)>& find, Date as_of) {
  TrainingLog log;
  log.lifter = with_logged_body_mass(lifter, records);
  log.as_of = as_of;
  log.body_mass_kg = body_mass_on(log.lifter, as_of).value_or(kUnknownBodyMass);
  Remarks remarks;

  bool halves = lifter.answers_in_halves;
  std::map<std::pair<std::string, Side>, std::vector<double>> rests;  // known rests in minutes, by lift
  for (const SetRecord& r : records) {
    if (r.called && r.called->reserve != std::floor(r.called->reserve)) halves = true;
    if (r.rest_s) rests[{r.exercise, r.side}].push_back(*r.rest_s / 60);
  }

  std::vector<int> order(records.size());
  for (std::size_t i = 0; i < records.size(); ++i) order[i] = static_cast<int>(i);
  std::sort(order.begin(), order.end(), [&](int a, int b) {
    const SetRecord& x = records[static_cast<std::size_t>(a)];
    const SetRecord& y = records[static_cast<std::size_t>(b)];
    return std::tie(x.date, x.session, a) < std::tie(y.date, y.session, b);  // performed order within a session
  });

  // Where nobody wrote that the rep failed, 0 reps with more than all that was done that day are an attempt missed: to
  // take them for a set left out would leave a lifter who misses it every week with far more strength than that. 0 reps
  // with no more are a set that was not done.
  std::map<std::tuple<Date, std::string, std::string, Side>, double> done_with;  // heaviest load with a rep done
  const auto of_the_day = [](const SetRecord& r) { return std::make_tuple(r.date, r.session, r.exercise, r.side); };
  for (const SetRecord& r : records) {
    if (r.reps < 1) continue;
    const auto at = done_with.emplace(of_the_day(r), r.load.amount).first;
    at->second = std::max(at->second, r.load.amount);
  }
  const auto missed_unsaid = [&](const SetRecord& r) {
    if (r.reps > 0 || r.failed || r.kind == SetKind::warmup) return false;
    const auto done = done_with.find(of_the_day(r));
    return done != done_with.end() && r.load.amount > done->second;
  };

  std::map<std::tuple<std::string, Side, std::string>, int> lift_index;  // place only for marks
  std::map<std::string, int> exercise_index;
  std::map<int, Date> seen_on;  // per lift, the last session counted
  const std::string* session_label = nullptr;

  for (const int index : order) {
    const SetRecord& written = records[static_cast<std::size_t>(index)];
    if (written.date > as_of) continue;
    const bool missed = missed_unsaid(written);
    std::optional<SetRecord> as_missed;
    if (missed) {
      as_missed = written;
      as_missed->failed = true;
    }
    const SetRecord& r = missed ? *as_missed : written;
    const Exercise* exercise = find(r.exercise);
    if (!exercise) {
      remarks.add("exercise \"" + r.exercise + "\" is not in the library: left out");
      continue;
    }
    const double total = total_load(*exercise, r.load, body_mass_on(log.lifter, r.date).value_or(kUnknownBodyMass));
    if (!(total > 0)) {
      remarks.add(exercise->name + ": the total load is not above 0 kg (assistance larger than body mass): left out");
      continue;
    }
    if (log.sessions.empty() || log.sessions.back().date != r.date || *session_label != r.session) {
      LoggedSession session;
      session.date = r.date;
      session.days_since_last = log.sessions.empty() ? 0 : r.date - log.sessions.back().date;
      log.sessions.push_back(session);
      session_label = &r.session;
    }
    LoggedSession& session = log.sessions.back();

    const bool marks = r.load.unit == Unit::mark;
    const auto key = std::make_tuple(r.exercise, r.side, marks ? r.place : std::string());
    auto found = lift_index.find(key);
    if (found == lift_index.end()) {
      auto e = exercise_index.find(r.exercise);
      if (e == exercise_index.end()) {
        e = exercise_index.emplace(r.exercise, static_cast<int>(log.exercises.size())).first;
        log.exercises.push_back({*exercise, false});
      }
      Lift lift;
      lift.exercise = r.exercise;
      lift.side = r.side;
      lift.marks = marks;
      lift.place = marks ? r.place : "";
      lift.endurance_index = e->second;
      lift.first = r.date;
      lift.new_here =
          lifter.training_years.value_or(1e9) < kUntrainedYears || r.date - log.sessions.front().date >= kNewAfterDays;
      found = lift_index.emplace(key, static_cast<int>(log.lifts.size())).first;
      log.lifts.push_back(lift);
    }
    const int lift_number = found->second;
    Lift& lift = log.lifts[static_cast<std::size_t>(lift_number)];
    if (lift.sets == 0 || lift.last != r.date) ++lift.sessions;
    lift.last = r.date;
    ++lift.sets;

    LoggedSet set;
    set.lift = lift_number;
    set.log_load = std::log(total);
    set.reps = r.reps;
    set.stop = ending(r);
    set.failed = r.failed;
    set.record = index;
    set.speed = r.last_rep_speed;
    set.feeling = feeling_of(r, set.stop, halves);
    set.informs_strength = r.extra_kind != ExtraKind::band && (r.reps > 0 || r.failed);
    if (r.extra_kind == ExtraKind::band)
      remarks.add(exercise->name + ": band sets tire but tell nothing about strength");
    if (missed)
      remarks.add(exercise->name + ": 0 reps with more than all others of the day: taken for a missed attempt");
    if (r.reps == 0 && !r.failed) remarks.add(exercise->name + ": no attempt (0 reps, not failed): kept as a note");
    if (set.speed && set.informs_strength)
      log.exercises[static_cast<std::size_t>(lift.endurance_index)].has_speed = true;
    if (!session.sets.empty()) {
      if (r.rest_s) {
        set.rest_minutes = *r.rest_s / 60;
      } else {
        const auto known = rests.find({r.exercise, r.side});
        set.rest_minutes = known != rests.end() ? median(known->second) : usual_rest_minutes(exercise->cls);
        set.rest_known = false;
      }
    }
    session.sets.push_back(set);
    ++log.set_count;
  }

  log.overlap.assign(log.lifts.size(), std::vector<double>(log.lifts.size(), 1));
  for (std::size_t a = 0; a < log.lifts.size(); ++a) {
    for (std::size_t b = 0; b < log.lifts.size(); ++b) {
      if (a == b) continue;
      const Lift& from = log.lifts[a];
      const Lift& to = log.lifts[b];
      const Exercise& x = log.exercises[static_cast<std::size_t>(from.endurance_index)].exercise;
      const Exercise& y = log.exercises[static_cast<std::size_t>(to.endurance_index)].exercise;
      log.overlap[a][b] = lift_overlap(x, from.side, y, to.side);
    }
  }
  log.remarks = remarks.text();
  return log;
}

double lift_overlap(const Exercise& from, Side from_side, const Exercise& to, Side to_side) {
  const bool opposite =
      (from_side == Side::left && to_side == Side::right) || (from_side == Side::right && to_side == Side::left);
  const double muscles = opposite ? 0.0 : overlap(from, to);
  return std::min(1.0, muscles + kSystemicPart);
}

}  // namespace ullage::capacity
