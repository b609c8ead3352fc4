// Speed of the numbers everything else stands on.
#include <benchmark/benchmark.h>

#include "engine/base/normal.h"
#include "engine/base/random.h"

namespace {

void normal_quantile(benchmark::State& state) {
  double p = 0;
  for (auto _ : state) {
    p = p < 0.99 ? p + 0.001 : 0.001;
    benchmark::DoNotOptimize(ullage::normal_quantile(p));
  }
}
BENCHMARK(normal_quantile);

void random_normal(benchmark::State& state) {
  ullage::Random random(1);
  for (auto _ : state) benchmark::DoNotOptimize(random.normal());
}
BENCHMARK(random_normal);

}  // namespace
