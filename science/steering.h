// Lighter weeks from data, on simulated lifters: how often one is proposed where nothing is wrong, and how often where
// strength has fallen.
//
// Sixteen weeks of an ordinary log by the logging coach (three lifts, three sessions a week, reps planned and calls
// asked for), which knows nothing of what is true. Two weeks before the end strength of every lift falls at once by
// nothing, 3 %, 5 % or 8 %: what too little sleep or too much work does to a lifter is not in the model, and a fall
// that the model would not expect is the hardest honest stand-in. The planner is asked at the end, as a coach would
// ask.
#pragma once

#include <string>
#include <vector>

#include "engine/planning/lighter_week.h"
#include "science/closed_loop.h"

namespace ullage::science {

inline constexpr std::array<double, 4> kFalls = {0, 0.03, 0.05, 0.08};

struct Steered {
  int lifter = 0;
  double fall = 0;
  planning::RecentForm form;
  std::optional<planning::LighterWeek> proposed;
};

inline Steered steer_lifter(int number, double fall) {
  using namespace loop;
  const std::uint64_t seed = 20260901 + 1000 * static_cast<std::uint64_t>(number);
  Random random(seed);
  std::vector<simulation::SimulatedLift> lifts;
  for (const Exercise& e : exercises()) lifts.push_back({e});
  const simulation::Background background{Sex::male, kBodyMass, 2};
  const simulation::Truth truth = simulation::draw_truth(lifts, background, random);
  const std::vector<double> guesses = simulation::first_guesses(lifts, background, random);
  std::vector<simulation::LiftHabit> habits;
  for (std::size_t l = 0; l < lifts.size(); ++l) {
    simulation::LiftHabit habit;
    habit.exercise = lifts[l].exercise;
    for (const Buildable& b : buildable()[l]) habit.loads.push_back(b.load);
    habit.first_guess = guesses[l];
    habit.least_reps = 6;
    habit.most_reps = 10;
    habit.rest_minutes = policy_of(static_cast<int>(l)).rest_s / 60;
    habits.push_back(habit);
  }
  constexpr int kWeeks = 16;
  const Date start = *make_date(2025, 1, 6);
  simulation::Flaws flaws;
  if (fall > 0) {
    flaws.jump_on_day = 7 * kWeeks - planning::kFormDays;
    flaws.jump = std::log(1 - fall);
  }
  simulation::SimulatedLifter lifter(lifts, truth, seed + 1, flaws);
  simulation::LoggingCoach coach(habits);
  simulation::LogManner manner;
  manner.body_mass = [](Date) { return kBodyMass; };
  const Date last = start + 7 * kWeeks - 1;
  const auto days = simulation::calendar(start, last, {1, 3, 5}, {{{0}, {1}, {2}}}, 0, random);
  const std::vector<SetRecord> log = simulation::train(lifter, coach, days, manner, random).sets;
  Lifter who;
  who.id = who.name = "simulated";
  who.sex = Sex::male;
  who.training_years = 2;
  who.body_mass = {{start, {kBodyMass, Unit::kilogram}}};
  Steered out;
  out.lifter = number;
  out.fall = fall;
  out.form = *planning::recent_form(who, log, [](const std::string& id) { return library::builtin().find(id); }, last);
  out.proposed = planning::propose_lighter_week(out.form, [](const std::string& id) { return id; });
  return out;
}

}  // namespace ullage::science
