// The fixed simulated logs on which the program is held against a full sampler (science/stan).
//
// Loads, reps and cues of the simulated lifters depend only on what was logged before (engine/simulation). The logs
// stand in science/stan/logs in the open log format, so that a change of the simulation does not change them;
// `simulate` says how they were made.
#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "engine/capacity/training_log.h"
#include "engine/simulation/training_months.h"
#include "service/interchange/read_log.h"
#include "service/library/library.h"

namespace ullage::science {

struct FixedLog {
  std::string name, what;
  std::uint64_t seed = 0;
  std::vector<std::string> exercises{"bench-press"};
  std::vector<int> weekdays{1, 4};
  int weeks = 8;
  double training_years = 2;
  simulation::Ending ending = simulation::Ending::planned;
  double call_chance = 0;
  int test_every = 0;             // rep-max test as the last set of every so many sessions; 0 never
  int warmups = 1;                // of each exercise; work sets: 3, or 2 with several exercises
  double rest_known = 1;          // share of rests written down
  int pause_days = 0;             // in the middle
  bool last_after_pause = false;  // of the last exercise only what came after the pause is in the log
  bool speed = false;             // of the last rep, first exercise
  bool regular = false;           // written, not simulated: the same reps and calls in every session
};

// Seeds: the first from 101 upwards that gives a log without sets above 25 reps. Nothing estimated went into the
// choice.
inline std::vector<FixedLog> fixed_logs() {
  using simulation::Ending;
  std::vector<FixedLog> logs;
  const auto add = [&](const std::string& name, const std::string& what, std::uint64_t seed) -> FixedLog& {
    logs.emplace_back();
    logs.back().name = name;
    logs.back().what = what;
    logs.back().seed = seed;
    return logs.back();
  };
  FixedLog& brief = add("short", "three weeks of one lift, every reserve called", 101);
  brief.weeks = 3;
  brief.call_chance = 1;

  FixedLog& failures = add("failures", "every set to failure, an untrained lifter", 102);
  failures.weekdays = {2, 5};
  failures.training_years = 0.3;
  failures.ending = Ending::failure;
  failures.warmups = 0;

  FixedLog& silent = add("no_calls", "planned sets and rep-max tests, nothing called, four weeks off half way", 106);
  silent.exercises = {"back-squat"};
  silent.weeks = 12;
  silent.training_years = 4;
  silent.test_every = 3;
  silent.warmups = 2;
  silent.pause_days = 28;

  FixedLog& cue = add("cue", "sets stopped on a called reserve", 101);
  cue.ending = Ending::cue;
  cue.call_chance = 0.5;
  cue.test_every = 6;

  FixedLog& unknown = add("unknown", "sets that ended for reasons not told, half of the rests written down", 106);
  unknown.exercises = {"back-squat"};
  unknown.weeks = 10;
  unknown.ending = Ending::own_feeling;
  unknown.warmups = 0;
  unknown.rest_known = 0.5;

  FixedLog& several = add("several", "three exercises in the same sessions, bar speed in one", 101);
  several.exercises = {"bench-press", "overhead-press", "leg-curl"};
  several.weekdays = {1, 3, 5};
  several.weeks = 5;
  several.call_chance = 0.8;
  several.test_every = 4;
  several.speed = true;

  FixedLog& length = add("long", "five months of one lift, most reserves called, rep-max tests", 101);
  length.weeks = 22;
  length.call_chance = 0.7;
  length.test_every = 6;
  length.warmups = 2;

  FixedLog& regular =
      add("regular", "two exercises, ten weeks, the same reps and calls of 3, 2, 1 in every session", 0);
  regular.exercises = {"bench-press", "back-squat"};
  regular.weeks = 10;
  regular.regular = true;

  FixedLog& back = add("returning", "four weeks, three years without training, four weeks with a second exercise", 101);
  back.exercises = {"bench-press", "back-squat"};
  back.weekdays = {3};
  back.call_chance = 0.8;
  back.pause_days = 1100;
  back.last_after_pause = true;
  return logs;
}

inline Date first_day() { return *make_date(2025, 1, 6); }

inline Lifter lifter_of(const FixedLog& log) {
  Lifter lifter;
  lifter.id = lifter.name = log.name;
  lifter.sex = Sex::male;
  lifter.training_years = log.training_years;
  lifter.body_mass = {{first_day(), {80, Unit::kilogram}}};
  return lifter;
}

// A log too good to be true, such as is kept from memory: nothing ever varies but the load, which rises by the plan.
inline std::vector<SetRecord> written_regularly(const FixedLog& log) {
  std::vector<SetRecord> sets;
  const auto add = [&](Date date, const std::string& exercise, double load, int reps, double call, double rest_s) {
    SetRecord set;
    set.date = date;
    set.exercise = exercise;
    set.load = {load, Unit::kilogram};
    set.reps = reps;
    set.planned_reps = reps;
    set.called = Call{call, false};
    set.rest_s = rest_s;
    set.stop = Stop::planned;
    sets.push_back(set);
  };
  for (int session = 0; session < 2 * log.weeks; ++session) {
    const Date date = first_day() + session * 7 / 2;
    for (int set = 0; set < 3; ++set) add(date, "bench-press", 60 + 2.5 * (session / 8), 8, 3.0 - set, 150);
    for (int set = 0; set < 3; ++set) add(date, "back-squat", 90 + 2.5 * (session / 6), 6, 3.0 - set, 180);
  }
  return sets;
}

inline std::vector<SetRecord> simulate(const FixedLog& log) {
  if (log.regular) return written_regularly(log);
  Random random(log.seed);
  std::vector<simulation::SimulatedLift> lifts;
  for (const std::string& id : log.exercises) {
    simulation::SimulatedLift lift;
    lift.exercise = *library::builtin().find(id);
    lift.new_here = log.training_years < 0.5;
    lifts.push_back(lift);
  }
  const simulation::Background background{Sex::male, 80, log.training_years};
  const simulation::Truth truth = simulation::draw_truth(lifts, background, random);
  const std::vector<double> guesses = simulation::first_guesses(lifts, background, random);
  simulation::SimulatedLifter lifter(lifts, truth, log.seed + 5000);
  std::vector<simulation::LiftHabit> habits;
  std::vector<std::vector<int>> session;
  for (std::size_t i = 0; i < lifts.size(); ++i) {
    simulation::LiftHabit habit;
    habit.exercise = lifts[i].exercise;
    for (double load = 5; load < 400; load += 2.5) habit.loads.push_back({load, Unit::kilogram});
    habit.first_guess = guesses[i];
    habit.scheme = static_cast<simulation::Scheme>(random.integer(0, 2));
    habit.ending = log.ending;
    habit.sets = log.exercises.size() > 1 ? 2 : 3;
    habit.warmups = log.warmups;
    habit.call_chance = log.call_chance;
    habit.rest_minutes = i == 0 ? 3 : 2;
    habit.test_every = log.test_every;
    habit.measure_speed = log.speed && i == 0;
    habits.push_back(habit);
    session.push_back({static_cast<int>(i)});
  }
  simulation::LoggingCoach coach(habits);
  const int days = log.weeks * 7;
  std::vector<simulation::TrainingDay> calendar =
      simulation::calendar(first_day(), first_day() + (days - 1), log.weekdays, {session}, 0.05, random);
  for (simulation::TrainingDay& day : calendar) {
    if (day.date - first_day() > days / 2) day.date = day.date + log.pause_days;
  }
  simulation::LogManner manner;
  manner.rest_known = log.rest_known;
  manner.stop_known = log.ending != simulation::Ending::own_feeling;
  manner.body_mass = [](Date) { return 80.0; };
  std::vector<SetRecord> sets = simulation::train(lifter, coach, calendar, manner, random).sets;
  if (log.last_after_pause) {
    std::erase_if(sets, [&](const SetRecord& set) {
      return set.exercise == log.exercises.back() && set.date - first_day() <= days / 2;
    });
  }
  if (log.ending != simulation::Ending::failure) return sets;
  // Sessions in which a load was still looked for hold sets that were ended earlier: the log begins after them.
  std::vector<SetRecord> kept;
  for (const SetRecord& set : sets) {
    const bool whole = std::all_of(sets.begin(), sets.end(),
                                   [&](const SetRecord& other) { return other.date != set.date || other.failed; });
    if (whole) kept.push_back(set);
  }
  return kept;
}

// The committed log, ready for the model. Empty when the file cannot be read whole.
inline std::vector<SetRecord> read_fixed_log(const std::string& science_directory, const FixedLog& log) {
  auto source = interchange::FileSource::open(science_directory + "/stan/logs/" + log.name + ".csv");
  std::vector<SetRecord> sets;
  if (!source) return sets;
  interchange::ReadLogOptions options;
  options.today = first_day() + 2000;
  const auto summary =
      interchange::read_log(*source, options, [&](interchange::LoggedSet&& s) { sets.push_back(std::move(s.set)); });
  if (!summary || summary->fault_count > 0) sets.clear();
  return sets;
}

inline capacity::TrainingLog prepared(const FixedLog& log, const std::vector<SetRecord>& sets) {
  return capacity::prepare(
      lifter_of(log), sets, [](const std::string& id) { return library::builtin().find(id); }, sets.back().date);
}

}  // namespace ullage::science
