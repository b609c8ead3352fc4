// What the benchmarks, the counted workloads and tests/portable work on: invented lifters with logs of a known size.
// Loads, reps and calls of a log depend only on what was logged before and on a first guess (engine/simulation).
// Uses the engine alone. Same arguments, same scene.
#pragma once

#include <cmath>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "engine/base/random.h"
#include "engine/capacity/training_log.h"
#include "engine/planning/set_planner.h"
#include "engine/simulation/training_months.h"
#include "engine/training/equipment.h"

namespace ullage::bench {

// Three lifts that share little: a press, a pull and a curl.
inline std::vector<Exercise> three_exercises() {
  const auto make = [](const char* id, ExerciseClass cls, Implement implement, double ratio, double log_sd,
                       std::vector<std::pair<Muscle, double>> muscles) {
    Exercise e;
    e.id = e.name = id;
    e.cls = cls;
    e.implement = implement;
    e.strength_ratio = ratio;
    e.strength_log_sd = log_sd;
    for (const auto& [muscle, share] : muscles) e.involvement[static_cast<std::size_t>(muscle)] = share;
    return e;
  };
  return {make("bench-press", ExerciseClass::barbell_compound, Implement::barbell, 1, 0.1,
               {{Muscle::chest, 1}, {Muscle::triceps, 0.5}, {Muscle::front_shoulder, 0.5}}),
          make("cable-row", ExerciseClass::supported_compound, Implement::stack, 0.85, 0.2,
               {{Muscle::lats, 1}, {Muscle::biceps, 0.5}}),
          make("curl", ExerciseClass::isolation, Implement::barbell, 0.35, 0.35, {{Muscle::biceps, 1}})};
}

// A lifter's weeks: each session lists exercises by index, done one after another; sessions go round.
struct Training {
  std::vector<Exercise> exercises;
  std::vector<std::vector<int>> sessions;
  std::vector<int> weekdays{1, 4};
  int weeks = 10;
  double years_before = 2;          // of training: long logs of beginners would outgrow the loads of any gym
  int sets = 3;                     // work sets of each exercise
  int warmups = 1;                  // before them
  std::size_t most_sets = 1000000;  // the log ends after this many, warm-ups included
};

struct SimulatedLog {
  std::vector<Exercise> exercises;
  Lifter lifter;
  std::vector<SetRecord> sets;

  const Exercise* find(const std::string& id) const {
    for (const Exercise& e : exercises) {
      if (e.id == id) return &e;
    }
    return nullptr;
  }
  capacity::TrainingLog prepare(const std::vector<SetRecord>& records) const {
    return capacity::prepare(lifter, records, [this](const std::string& id) { return find(id); }, records.back().date);
  }
  capacity::TrainingLog prepare() const { return prepare(sets); }
  // The log up to its last session, and that session.
  std::pair<std::vector<SetRecord>, std::vector<SetRecord>> without_last_session() const {
    std::pair<std::vector<SetRecord>, std::vector<SetRecord>> out;
    for (const SetRecord& set : sets) (set.date == sets.back().date ? out.second : out.first).push_back(set);
    return out;
  }
};

// Every work set ends after planned reps and carries a call; schemes go by the exercise.
inline SimulatedLog simulate(const Training& training, std::uint64_t seed) {
  SimulatedLog out;
  out.exercises = training.exercises;
  out.lifter.id = out.lifter.name = "simulated";
  out.lifter.sex = Sex::male;
  out.lifter.training_years = training.years_before;
  const Date first = *make_date(2024, 1, 1);
  out.lifter.body_mass = {{first, {80, Unit::kilogram}}};

  Random random(seed);
  std::vector<simulation::SimulatedLift> lifts;
  for (const Exercise& e : training.exercises) lifts.push_back({e});
  const simulation::Background background{Sex::male, 80, training.years_before};
  const simulation::Truth truth = simulation::draw_truth(lifts, background, random);
  const std::vector<double> guesses = simulation::first_guesses(lifts, background, random);
  std::vector<simulation::LiftHabit> habits;
  for (std::size_t i = 0; i < lifts.size(); ++i) {
    simulation::LiftHabit habit;
    habit.exercise = lifts[i].exercise;
    for (int step = 1; step <= 200; ++step) habit.loads.push_back({2.5 * step, Unit::kilogram});
    habit.first_guess = guesses[i];
    habit.scheme = static_cast<simulation::Scheme>(i % 3);
    habit.sets = training.sets;
    habit.warmups = training.warmups;
    habits.push_back(std::move(habit));
  }
  std::vector<std::vector<std::vector<int>>> sessions;
  for (const std::vector<int>& session : training.sessions) {
    sessions.emplace_back();
    for (const int lift : session) sessions.back().push_back({lift});
  }
  const auto days = simulation::calendar(first, first + 7 * training.weeks, training.weekdays, sessions, 0.0, random);
  simulation::SimulatedLifter lifter(lifts, truth, seed + 1);
  simulation::LoggingCoach coach(habits);
  simulation::LogManner manner;
  manner.body_mass = [](Date) { return 80.0; };
  out.sets = simulation::train(lifter, coach, days, manner, random).sets;
  if (out.sets.size() > training.most_sets) out.sets.resize(training.most_sets);
  return out;
}

// `sets` sets of three lifts on two days a week.
inline SimulatedLog small_log(std::size_t sets, std::uint64_t seed) {
  Training training;
  training.exercises = three_exercises();
  training.sessions = {{0, 1, 2}};
  training.weeks = static_cast<int>(sets) / 16 + 2;
  training.most_sets = sets;
  return simulate(training, seed);
}

// A session of these exercises with so many sets each, as the planner is asked for it in the plain gym.
struct PlanningScene {
  capacity::LifterDraws draws;
  safety::Gate gate;
  planning::PlanningInput input;
  planning::SessionRequest request;

  PlanningScene(capacity::LifterDraws of_the_day, const std::vector<Exercise>& exercises, int sets)
      : draws(std::move(of_the_day)) {
    input.draws = &draws;
    input.gate = &gate;
    request.lifter = "simulated";
    request.date = draws.day;
    for (const Exercise& e : exercises) {
      const auto loads = buildable_loads(plain_gym(), e, Unit::kilogram);
      input.offers.push_back({e, loads ? *loads : std::vector<Buildable>{}, "", {}, {}});
      planning::ExerciseRequest wanted;
      wanted.exercise = e.id;
      wanted.sets = sets;
      request.exercises.push_back(std::move(wanted));
    }
  }
  PlanningScene(const PlanningScene&) = delete;
  PlanningScene& operator=(const PlanningScene&) = delete;
};

}  // namespace ullage::bench
