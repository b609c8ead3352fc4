// Speed of the set planner and of the loads it chooses from.
#include <benchmark/benchmark.h>

#include <memory>

#include "bench/scenes.h"
#include "engine/capacity/fit.h"
#include "engine/comparing/average_lifter.h"
#include "engine/comparing/compare.h"
#include "engine/planning/test_proposal.h"
#include "service/library/library.h"

namespace {

using namespace ullage;

constexpr int kDraws = 512;

// Six exercises x 4 sets for a lifter with half a year of log.
struct Scene {
  std::vector<Exercise> exercises;
  std::unique_ptr<bench::PlanningScene> planning;

  Scene() {
    bench::Training t;
    for (const char* id : {"back-squat", "bench-press", "barbell-row", "leg-press", "biceps-curl", "triceps-pushdown"})
      t.exercises.push_back(*library::builtin().find(id));
    t.sessions = {{0, 1, 2}, {3, 4, 5}};
    t.weekdays = {1, 3, 5};
    t.weeks = 12;
    const bench::SimulatedLog log = bench::simulate(t, 20260309);
    exercises = t.exercises;
    const auto posterior = capacity::fit(log.prepare());
    std::vector<capacity::Posterior::Wanted> wanted;
    for (const Exercise& e : exercises) wanted.push_back({e});
    planning = std::make_unique<bench::PlanningScene>(posterior->draw(wanted, posterior->as_of + 2, 80, kDraws, 5),
                                                      exercises, 4);
  }
};
const Scene& scene() {
  static const Scene only;
  return only;
}

void plan_6_exercises_4_sets(benchmark::State& state) {
  const bench::PlanningScene& s = *scene().planning;
  std::size_t items = 0;
  for (auto _ : state) {
    const auto plan = planning::plan_session(s.request, s.input);
    if (!plan) return state.SkipWithError(plan.error().message.c_str());
    items = plan->items.size();
  }
  state.counters["planned"] = static_cast<double>(items);
}
BENCHMARK(plan_6_exercises_4_sets)->Unit(benchmark::kMillisecond);

// After the second work set of the first exercise: that exercise alone, then the whole rest of the session.
void run_replan(benchmark::State& state, const std::optional<std::string>& only) {
  const bench::PlanningScene& s = *scene().planning;
  const auto plan = planning::plan_session(s.request, s.input);
  if (!plan) return state.SkipWithError(plan.error().message.c_str());
  const planning::PlanItem& item = plan->items.front();
  std::vector<planning::DoneSet> done;
  int work = 0;
  for (const planning::PlanSet& set : item.sets) {
    if (work == 2) break;
    done.push_back({item.exercise, item.side, set.kind, set.load, set.reps, false, set.rest_s});
    work += set.kind == SetKind::work ? 1 : 0;
  }
  for (auto _ : state) {
    const auto rest = planning::replan(s.request, s.input, done, only ? std::optional(item.exercise) : only);
    if (!rest) return state.SkipWithError(rest.error().message.c_str());
    benchmark::DoNotOptimize(rest);
  }
}
void replan_one_exercise(benchmark::State& state) { run_replan(state, "first"); }
BENCHMARK(replan_one_exercise)->Unit(benchmark::kMillisecond);
void replan_rest_of_session(benchmark::State& state) { run_replan(state, {}); }
BENCHMARK(replan_rest_of_session)->Unit(benchmark::kMillisecond);

// Four ways of four sets, 2 000 possibilities of an average lifter, equal volume.
void compare_4_ways(benchmark::State& state) {
  const capacity::LifterDraws draws = comparing::average_lifter(*library::builtin().find("bench-press"), 2000, 5);
  const std::vector<planning::Reading> readings{planning::plateau_reading(2000, 1), planning::linear_reading(2000, 2)};
  comparing::CompareRequest request;
  for (const char* way : {"failure", "reserve:2", "last-failure", "list:3,2,1,0"}) {
    request.contenders.push_back({*comparing::parse_way(way), comparing::load_for_reps(draws, 0, 10), false});
  }
  request.sets = 4;
  request.basis = comparing::Basis::volume;
  for (auto _ : state) benchmark::DoNotOptimize(comparing::compare(draws, readings, request));
}
BENCHMARK(compare_4_ways)->Unit(benchmark::kMillisecond);

// A rep-max test looked for over the session planned above.
void propose_test_6_exercises(benchmark::State& state) {
  const bench::PlanningScene& s = *scene().planning;
  const auto plan = planning::plan_session(s.request, s.input);
  if (!plan) return state.SkipWithError(plan.error().message.c_str());
  for (auto _ : state) benchmark::DoNotOptimize(planning::propose_test(*plan, s.input, 8));
}
BENCHMARK(propose_test_6_exercises)->Unit(benchmark::kMillisecond);

void buildable_loads_plain_gym(benchmark::State& state) {
  const Place place = plain_gym();
  const Exercise& bench_press = scene().exercises[1];
  std::size_t count = 0;
  for (auto _ : state) count = buildable_loads(place, bench_press, Unit::kilogram)->size();
  state.counters["loads"] = static_cast<double>(count);
}
BENCHMARK(buildable_loads_plain_gym)->Unit(benchmark::kMicrosecond);

// The same with twelve plates that were weighed one by one, so that hardly two sums are alike.
void buildable_loads_weighed_plates(benchmark::State& state) {
  Place place = plain_gym();
  place.plates.clear();
  Random random(11);
  for (int i = 0; i < 12; ++i)
    place.plates.push_back({{1.25 * (1 + i) + 0.001 * random.integer(-40, 40), Unit::kilogram}, 1});
  const Exercise& bench_press = scene().exercises[1];
  std::size_t count = 0;
  for (auto _ : state) count = buildable_loads(place, bench_press, Unit::kilogram)->size();
  state.counters["loads"] = static_cast<double>(count);
}
BENCHMARK(buildable_loads_weighed_plates)->Unit(benchmark::kMicrosecond);

}  // namespace
