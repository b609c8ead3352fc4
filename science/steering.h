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
  const Person person = draw_person(random);
  constexpr int kWeeks = 16;
  const Date start = *make_date(2025, 1, 6);
  simulation::Flaws flaws;
  if (fall > 0) {
    flaws.jump_on_day = 7 * kWeeks - planning::kFormDays;
    flaws.jump = std::log(1 - fall);
  }
  simulation::SimulatedLifter lifter(person.lifts, person.truth, seed + 1, flaws);
  simulation::LoggingCoach coach(person.habits);
  const simulation::LogManner manner = usual_manner();
  const Date last = start + 7 * kWeeks - 1;
  const auto days = simulation::calendar(start, last, {1, 3, 5}, {{{0}, {1}, {2}}}, 0, random);
  const std::vector<SetRecord> log = simulation::train(lifter, coach, days, manner, random).sets;
  const Lifter who = known_since(start);
  Steered out;
  out.lifter = number;
  out.fall = fall;
  out.form = *planning::recent_form(who, log, [](const std::string& id) { return library::builtin().find(id); }, last);
  out.proposed = planning::propose_lighter_week(out.form, [](const std::string& id) { return id; });
  return out;
}

}  // namespace ullage::science
