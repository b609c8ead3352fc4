// What a habit is read from: sets whose ends nobody told, and whether something repeats itself more often than chance
// allows.
#pragma once

#include <cmath>

#include "engine/capacity/training_log.h"

namespace ullage::capacity {

inline bool end_not_told(const LoggedSet& set) {
  return set.stop == Stop::unknown && !set.failed && set.informs_strength;
}

// `same` of `compared` or more would be one case in ten thousand if each were the same with `chance`, 0 to 1: the upper
// tail of the binomial.
inline bool by_habit(int same, int compared, double chance) {
  double tail = 0;
  for (int k = same; k <= compared; ++k) {
    tail += std::exp(std::lgamma(compared + 1.0) - std::lgamma(k + 1.0) - std::lgamma(compared - k + 1.0) +
                     k * std::log(chance) + (compared - k) * std::log1p(-chance));
  }
  return tail < 1e-4;
}

}  // namespace ullage::capacity
