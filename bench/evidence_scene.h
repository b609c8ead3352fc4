// Invented effects in studies, for benchmarks and counted workloads of the evidence engine.
#pragma once

#include <cmath>
#include <cstdint>

#include "engine/base/random.h"
#include "engine/evidence/multilevel.h"

namespace ullage::bench {

// `effects` in `studies` of uneven size (some with one, some with many), two moderators; levels study and effect. Same
// arguments, same effects.
inline evidence::MultilevelData invented_effects(int effects, int studies, std::uint64_t seed) {
  Random random(seed);
  evidence::MultilevelData data;
  data.y.resize(effects);
  data.v.resize(effects);
  data.x.resize(effects, 3);
  data.names = {"intercept", "dose", "trained"};
  data.levels.assign(2, std::vector<int>(static_cast<std::size_t>(effects)));
  std::vector<double> of_study;
  for (int s = 0; s < studies; ++s) of_study.push_back(random.normal(0.4, 0.3));
  for (int i = 0; i < effects; ++i) {
    // Every study once, then squared so that early ones get most.
    const double share = random.uniform();
    const int s = i < studies ? i : static_cast<int>(share * share * studies);
    const double dose = random.uniform(0, 10), trained = random.chance(0.5) ? 1 : 0;
    data.v(i) = random.uniform(0.01, 0.3);
    data.y(i) = of_study[static_cast<std::size_t>(s)] - 0.02 * dose + 0.1 * trained + random.normal(0, 0.15) +
                random.normal(0, std::sqrt(data.v(i)));
    data.x.row(i) << 1, dose, trained;
    data.levels[0][static_cast<std::size_t>(i)] = s;
    data.levels[1][static_cast<std::size_t>(i)] = i;
  }
  return data;
}

}  // namespace ullage::bench
