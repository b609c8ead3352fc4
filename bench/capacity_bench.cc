// Speed of the model: the fit, live updates, draws and the forecast of a session.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <ctime>
#include <string>

#include "bench/scenes.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/session_forecast.h"
#include "engine/capacity/set_likelihood.h"
#include "service/coach/demo.h"

namespace {

using namespace ullage;
using capacity::Posterior;
using capacity::TrainingLog;

constexpr std::uint64_t kSeed = 20260309;

std::vector<Exercise> from_library(const std::vector<std::string>& ids) {
  std::vector<Exercise> out;
  for (const std::string& id : ids) out.push_back(*library::builtin().find(id));
  return out;
}

const bench::SimulatedLog& sets_160() {
  static const bench::SimulatedLog log = bench::small_log(160, kSeed);
  return log;
}

// The same, up to the end of the session in which the 160th set falls.
const bench::SimulatedLog& whole_sessions_160() {
  static const bench::SimulatedLog log = [] {
    bench::SimulatedLog longer = bench::small_log(200, kSeed);
    std::size_t end = 160;
    while (longer.sets[end].date == longer.sets[end - 1].date) ++end;
    longer.sets.resize(end);
    return longer;
  }();
  return log;
}

// Twelve exercises in three sessions a week.
const bench::SimulatedLog& one_year() {
  static const bench::SimulatedLog log = [] {
    bench::Training t;
    t.exercises = from_library({"back-squat", "bench-press", "barbell-row", "leg-curl", "deadlift", "overhead-press",
                                "lat-pulldown", "biceps-curl", "leg-press", "incline-bench-press", "seated-cable-row",
                                "triceps-pushdown"});
    t.sessions = {{0, 1, 2, 3}, {4, 5, 6, 7}, {8, 9, 10, 11}};
    t.weekdays = {1, 3, 5};
    t.weeks = 52;
    t.most_sets = 2300;
    return bench::simulate(t, kSeed);
  }();
  return log;
}

// Twenty-five exercises in five different sessions, three a week.
bench::SimulatedLog many_exercises(int weeks) {
  bench::Training t;
  t.exercises = from_library({"back-squat",        "bench-press",
                              "barbell-row",       "leg-curl",
                              "biceps-curl",       "deadlift",
                              "overhead-press",    "lat-pulldown",
                              "leg-extension",     "triceps-pushdown",
                              "front-squat",       "chest-press",
                              "seated-cable-row",  "calf-raise",
                              "lateral-raise",     "leg-press",
                              "dumbbell-row",      "incline-bench-press",
                              "hammer-curl",       "face-pull",
                              "romanian-deadlift", "dumbbell-shoulder-press",
                              "pull-up",           "hip-thrust",
                              "preacher-curl"});
  t.sessions = {{0, 1, 2, 3, 4}, {5, 6, 7, 8, 9}, {10, 11, 12, 13, 14}, {15, 16, 17, 18, 19}, {20, 21, 22, 23, 24}};
  t.weekdays = {1, 3, 5};
  t.weeks = weeks;
  t.years_before = 10;
  t.most_sets = 15000;
  return bench::simulate(t, kSeed);
}

void sizes(benchmark::State& state, const TrainingLog& log) {
  state.counters["sets"] = log.set_count;
  state.counters["sessions"] = static_cast<double>(log.sessions.size());
  state.counters["lifts"] = static_cast<double>(log.lifts.size());
}

void run_fit(benchmark::State& state, const TrainingLog& log, const capacity::FitOptions& options = {}) {
  for (auto _ : state) {
    const auto posterior = capacity::fit(log, options);
    if (!posterior) state.SkipWithError(posterior.error().message.c_str());
    benchmark::DoNotOptimize(posterior);
  }
  sizes(state, log);
}

void fit_160_sets(benchmark::State& state) { run_fit(state, sets_160().prepare()); }
BENCHMARK(fit_160_sets)->Unit(benchmark::kMillisecond);

// Scale parameters at their maximum instead of integrated: what the design of points costs.
void fit_160_sets_not_integrated(benchmark::State& state) {
  capacity::FitOptions options;
  options.integrate = false;
  run_fit(state, sets_160().prepare(), options);
}
BENCHMARK(fit_160_sets_not_integrated)->Unit(benchmark::kMillisecond);

void fit_one_year(benchmark::State& state) { run_fit(state, one_year().prepare()); }
BENCHMARK(fit_one_year)->Unit(benchmark::kMillisecond);

// The argument is the number of weeks; 266 make five years.
void fit_25_exercises(benchmark::State& state) {
  run_fit(state, many_exercises(static_cast<int>(state.range(0))).prepare());
}
BENCHMARK(fit_25_exercises)->Unit(benchmark::kMillisecond)->Arg(26)->Arg(52)->Arg(104)->Arg(266)->Iterations(1);

// The longest log of the demo roster.
void fit_longest_of_demo(benchmark::State& state) {
  const Date today = *make_date(2026, 3, 9);
  const auto roster = coach::demo_roster(library::builtin(), today, 1);
  if (!roster) return state.SkipWithError(roster.error().message.c_str());
  const auto longest = std::max_element(roster->begin(), roster->end(),
                                        [](const auto& a, const auto& b) { return a.sets.size() < b.sets.size(); });
  state.SetLabel(longest->lifter.id);
  run_fit(state, capacity::prepare(
                     longest->lifter, longest->sets, [](const std::string& id) { return library::builtin().find(id); },
                     today));
}
BENCHMARK(fit_longest_of_demo)->Unit(benchmark::kMillisecond);

// The year's log from its records.
void prepare_log(benchmark::State& state) {
  const bench::SimulatedLog& log = one_year();
  for (auto _ : state) benchmark::DoNotOptimize(log.prepare());
}
BENCHMARK(prepare_log)->Unit(benchmark::kMicrosecond);

double cpu_microseconds() {
  timespec now;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return 1e6 * static_cast<double>(now.tv_sec) + 1e-3 * static_cast<double>(now.tv_nsec);
}

// Every set of the last session in turn; `median` and `slowest` are over the sets of the session.
void run_update(benchmark::State& state, const bench::SimulatedLog& log) {
  const auto [before, today] = log.without_last_session();
  const auto base = capacity::fit(log.prepare(before));
  if (!base) return state.SkipWithError(base.error().message.c_str());
  std::vector<Posterior> posteriors{*base};
  std::vector<TrainingLog> sessions;
  std::vector<SetRecord> so_far;
  for (const SetRecord& set : today) {
    so_far.push_back(set);
    sessions.push_back(log.prepare(so_far));
    const auto next = capacity::update(posteriors.back(), sessions.back(), static_cast<int>(so_far.size()) - 1);
    if (!next) return state.SkipWithError(next.error().message.c_str());
    posteriors.push_back(*next);
  }
  std::vector<double> spent(today.size(), 0);
  for (auto _ : state) {
    for (std::size_t i = 0; i < sessions.size(); ++i) {
      const double start = cpu_microseconds();
      benchmark::DoNotOptimize(capacity::update(posteriors[i], sessions[i], static_cast<int>(i)));
      spent[i] += cpu_microseconds() - start;
    }
  }
  for (double& t : spent) t /= static_cast<double>(state.iterations());
  std::sort(spent.begin(), spent.end());
  state.counters["median_us"] = spent[spent.size() / 2];
  state.counters["slowest_us"] = spent.back();
  state.counters["sets"] = static_cast<double>(today.size());
  state.counters["components"] = static_cast<double>(base->components.size());
  state.counters["unknowns"] = base->index.size;
}
void live_update_after_160_sets(benchmark::State& state) { run_update(state, whole_sessions_160()); }
BENCHMARK(live_update_after_160_sets)->Unit(benchmark::kMicrosecond);
void live_update_after_one_year(benchmark::State& state) { run_update(state, one_year()); }
BENCHMARK(live_update_after_one_year)->Unit(benchmark::kMicrosecond);

const Posterior& one_year_posterior() {
  static const Posterior posterior = *capacity::fit(one_year().prepare());
  return posterior;
}
std::vector<Posterior::Wanted> six_wanted() {
  std::vector<Posterior::Wanted> out;
  for (std::size_t i = 0; i < 6; ++i) out.push_back({one_year().exercises[i]});
  return out;
}
constexpr int kDraws = 512;

void play(const capacity::LifterDraws& draws, const std::vector<double>& log_loads) {
  capacity::SessionForecast forecast(draws, 7);
  for (int lift = 0; lift < 6; ++lift) {
    for (int set = 0; set < 4; ++set) {
      if (lift > 0 || set > 0) forecast.rest(Minutes{2});
      benchmark::DoNotOptimize(
          forecast.perform(lift, log_loads[static_cast<std::size_t>(lift)], {8, Call{1, false}}, 1, 3));
    }
  }
}
// 75 % of each lift's median strength.
std::vector<double> loads_75(const Posterior& p, const std::vector<Posterior::Wanted>& wanted) {
  std::vector<double> out;
  for (const auto& w : wanted)
    out.push_back(
        std::log(0.75 * p.lifts[static_cast<std::size_t>(p.find_lift(w.exercise.id, w.side))].strength.median));
  return out;
}

// Draws brought forward to the next day and the whole session played through them.
void forecast_6_exercises_4_sets(benchmark::State& state) {
  const Posterior& p = one_year_posterior();
  const auto wanted = six_wanted();
  const auto loads = loads_75(p, wanted);
  for (auto _ : state) play(p.draw(wanted, p.as_of + 1, 80, kDraws, 5), loads);
}
BENCHMARK(forecast_6_exercises_4_sets)->Unit(benchmark::kMicrosecond);

void draws_of_6_exercises(benchmark::State& state) {
  const Posterior& p = one_year_posterior();
  const auto wanted = six_wanted();
  for (auto _ : state) benchmark::DoNotOptimize(p.draw(wanted, p.as_of + 1, 80, kDraws, 5));
}
BENCHMARK(draws_of_6_exercises)->Unit(benchmark::kMicrosecond);

void session_of_6_exercises_4_sets(benchmark::State& state) {
  const Posterior& p = one_year_posterior();
  const auto wanted = six_wanted();
  const auto loads = loads_75(p, wanted);
  const capacity::LifterDraws draws = p.draw(wanted, p.as_of + 1, 80, kDraws, 5);
  for (auto _ : state) play(draws, loads);
}
BENCHMARK(session_of_6_exercises_4_sets)->Unit(benchmark::kMicrosecond);

// One set with a call; the argument is the order of derivatives.
void set_log_likelihood(benchmark::State& state) {
  capacity::SetObservation set{8, Stop::planned, {}, {}};
  set.feeling = capacity::Feeling{{1.5, 0, false}, {-INFINITY, 0, false}, {2.5, 0, false}};
  const capacity::LocalVector at{0.28, std::log(32.0), 0.8,  std::log(0.8),   std::log(0.6), std::log(0.15),
                                 0.2,  std::log(2.5),  0.25, std::log(0.035), std::log(0.04)};
  for (auto _ : state) {
    benchmark::DoNotOptimize(
        capacity::set_log_likelihood(set, at, 1, 0.025, static_cast<int>(state.range(0)) % 10,
                                     state.range(0) >= 10 ? capacity::Precision::coarse : capacity::Precision::fine));
  }
}
BENCHMARK(set_log_likelihood)->DenseRange(0, 2)->DenseRange(10, 12);

}  // namespace
