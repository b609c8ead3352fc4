// Times of the evidence engine at stated sizes. Effects are invented; see bench/scenes.h for the rest of the scenes.
#include <benchmark/benchmark.h>

#include "bench/evidence_scene.h"
#include "engine/evidence/influence.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/pool.h"
#include "engine/evidence/robust.h"

namespace {

using namespace ullage;

// As many effects and studies as the table of tests/data/living-meta-rt has rows and study codes.
evidence::MultilevelData table_sized() { return bench::invented_effects(1154, 68, 3); }

void MultilevelReml1154EffectsIn68Studies(benchmark::State& state) {
  const auto data = table_sized();
  for (auto _ : state) benchmark::DoNotOptimize(evidence::fit_multilevel(data)->sigma2);
}
BENCHMARK(MultilevelReml1154EffectsIn68Studies)->Unit(benchmark::kMillisecond);

void LeaveOneStudyOut1154EffectsIn68Studies(benchmark::State& state) {
  const auto data = table_sized();
  const auto fit = evidence::fit_multilevel(data);
  for (auto _ : state) benchmark::DoNotOptimize(evidence::leave_one_group_out(data, *fit, {})->size());
}
BENCHMARK(LeaveOneStudyOut1154EffectsIn68Studies)->Unit(benchmark::kMillisecond);

void MultilevelReml10000EffectsIn500Studies(benchmark::State& state) {
  const auto data = bench::invented_effects(10000, 500, 4);
  for (auto _ : state) benchmark::DoNotOptimize(evidence::fit_multilevel(data)->sigma2);
}
BENCHMARK(MultilevelReml10000EffectsIn500Studies)->Unit(benchmark::kMillisecond);

void Robust10000EffectsIn500Studies(benchmark::State& state) {
  const auto data = bench::invented_effects(10000, 500, 4);
  const evidence::WorkingCovariance w{data.v, 0, data.levels, {0.09, 0.02}, 0};
  for (auto _ : state)
    benchmark::DoNotOptimize(evidence::cluster_robust(data.y, data.x, data.names, w, data.levels[0])->clusters);
}
BENCHMARK(Robust10000EffectsIn500Studies)->Unit(benchmark::kMillisecond);

void PoolReml100Studies(benchmark::State& state) {
  const auto data = bench::invented_effects(100, 100, 5);
  for (auto _ : state) benchmark::DoNotOptimize(evidence::pool(data.y, data.v)->tau2);
}
BENCHMARK(PoolReml100Studies)->Unit(benchmark::kMicrosecond);

}  // namespace
