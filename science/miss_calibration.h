// Chances of a miss as the set planner tells them, against what happens to simulated lifters.
//
// Each lifter brings an ordinary log of the logging coach; the planner, knowing that log alone, writes one session of
// three lifts, three sets each, as the policy has it. That very session is then done by many copies of the lifter, each
// with a day, noise and feelings of its own, from what is true of them. One lifter's copies share what the planner has
// wrong about them, so errors are worked out over lifters, not over sets.
#pragma once

#include <string>
#include <vector>

#include "science/closed_loop.h"

namespace ullage::science {

// The sets of one lifter with the same place among the sets of their exercise and the same kind of end.
struct ToldSets {
  bool cue = false;  // ends on a cue; otherwise reps fixed beforehand
  int place = 1;     // 1 to 3
  int sets = 0;      // done, over all copies
  double told = 0;   // sum of the chances told
  int missed = 0;
};

inline constexpr int kToldSets = 3;

// flaw: index into kFlaws (closed_loop.h). Cost: a fit of `weeks` weeks, some tenths of a second.
inline std::vector<ToldSets> told_of_lifter(int number, int flaw, int weeks, int copies) {
  using namespace loop;
  const std::uint64_t seed = 20261001 + 1000 * static_cast<std::uint64_t>(number);
  Random random(seed);
  const Person person = draw_person(random);
  const simulation::Flaws flaws = flaws_of(flaw, 7 * weeks / 2);
  const Date start = *make_date(2025, 1, 6);
  simulation::SimulatedLifter lifter(person.lifts, person.truth, seed + 1, flaws);
  simulation::LoggingCoach coach(person.habits);
  const simulation::LogManner manner = usual_manner();
  const auto days = simulation::calendar(start, start + 7 * weeks - 1, {1, 4}, {{{0}, {1}, {2}}}, 0, random);
  const std::vector<SetRecord> log = simulation::train(lifter, coach, days, manner, random).sets;
  const Lifter who = known_since(start);
  capacity::FitOptions options;
  options.history = false;
  const auto posterior =
      *capacity::fit(capacity::prepare(
                         who, log, [](const std::string& id) { return library::builtin().find(id); }, log.back().date),
                     options);
  std::vector<capacity::Posterior::Wanted> wanted;
  for (const Exercise& e : exercises()) wanted.push_back({e, Side::both});
  const Date day = start + 7 * weeks;
  const capacity::LifterDraws draws = posterior.draw(wanted, day, kBodyMass, 512, seed + 5);
  const safety::Gate gate;
  planning::PlanningInput input;
  input.draws = &draws;
  input.gate = &gate;
  input.seed = seed;
  input.safety_bars = true;
  planning::SessionRequest request;
  request.lifter = who.name;
  request.date = day;
  for (std::size_t l = 0; l < person.lifts.size(); ++l) {
    input.offers.push_back({exercises()[l], buildable()[l], "", {}, {}});
    planning::ExerciseRequest e;
    e.exercise = exercises()[l].id;
    e.sets = kToldSets;
    request.exercises.push_back(e);
  }
  const auto plan = planning::plan_session(request, input);
  std::vector<ToldSets> out;
  for (const bool cue : {true, false}) {
    for (int place = 1; place <= kToldSets; ++place) out.push_back({cue, place, 0, 0, 0});
  }
  if (!plan) return out;
  for (int copy = 0; copy < copies; ++copy) {
    simulation::SimulatedLifter one = lifter;
    one.reseed(seed + 31 * static_cast<std::uint64_t>(copy) + 7);
    one.begin_day(day);
    for (const planning::PlanItem& item : plan->items) {
      int lift = 0, place = 0;
      while (exercises()[static_cast<std::size_t>(lift)].id != item.exercise) ++lift;
      for (const planning::PlanSet& set : item.sets) {
        simulation::SetOrder order;
        order.lift = lift;
        order.total_load = total_of(lift, set.load);
        order.reps = set.reps;
        order.rest = Minutes{set.rest_s / 60};
        order.ending = set.cue ? simulation::Ending::cue : simulation::Ending::planned;
        if (set.cue) order.cue = set.cue->called;
        const simulation::SetResult done = one.perform(order);
        if (set.kind == SetKind::warmup) continue;
        ToldSets& sum = out[static_cast<std::size_t>((set.cue ? 0 : kToldSets) + place++)];
        ++sum.sets;
        sum.told += set.p_miss;
        sum.missed += done.failed ? 1 : 0;
      }
    }
  }
  return out;
}

}  // namespace ullage::science
