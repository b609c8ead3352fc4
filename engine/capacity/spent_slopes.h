// What a set spends with its slopes: spend() of fatigue.h, differentiated by hand for the walk through a session, which
// is made for every set each time the field is looked at. It shares the exponentials and logarithms that forward
// differentiation would make twice; the two agree to 1e-12 (fatigue_test.cc).
#pragma once

#include <cmath>

#include "engine/capacity/curve.h"

namespace ullage::capacity {

struct SpentSlopes {
  double depletion = 0, slow = 0;                          // as Spent
  double depletion_by_margin = 0, depletion_by_log_k = 0;  // log_k: log endurance
  double slow_by_margin = 0, slow_by_log_k = 0, slow_by_lam = 0;
};

inline SpentSlopes spend_with_slopes(double margin, double endurance, double shape, int reps, bool failed, double lam,
                                     double rho_f) {
  // C(x) - 1 and its slope.
  const bool straight = shape < kStraightBelow;
  const double rise = straight ? margin : std::expm1(margin * shape) / shape;
  const double above = endurance * rise;
  const double by_margin = endurance * (straight ? 1 : 1 + shape * rise);
  // smax(C, n) = n + smax(C - n, 0): one exponential serves what is left and the top, but after a miss.
  const auto soft = [](double gap, double& weight) {
    const double scaled = 8 * gap;
    if (scaled > 30) {
      weight = 1;
      return gap;
    }
    const double grown = std::exp(scaled);
    weight = grown / (1 + grown);
    return std::log1p(grown) / 8;
  };
  const double done = reps + (failed ? 0.5 : 0.0);
  double weight = 0;
  const double over = soft(1 + above - done, weight);
  const double top = done + over;
  const double left = failed ? 0 : over;
  const double left_weight = failed ? 0 : weight;
  // m(top) - m(left): dm/dr = 1/(k + (r - 1) p), dm/dlog k = -(r - 1) of that.
  const double at_top = endurance + (top - 1) * shape;
  const double at_left = endurance + (left - 1) * shape;
  const double depletion = straight ? (top - left) / endurance : std::log(at_top / at_left) / shape;
  if (depletion < 0) return {};
  SpentSlopes out;
  out.depletion = depletion;
  const double by_capacity = weight / at_top - left_weight / at_left;
  out.depletion_by_margin = by_capacity * by_margin;
  out.depletion_by_log_k = by_capacity * above - (top - 1) / at_top + (left - 1) / at_left;
  const double fading = std::exp(-left / rho_f);
  const double share = lam + (1 - lam) * fading;
  const double share_by_capacity = -(1 - lam) * fading / rho_f * left_weight;
  out.slow = depletion * share;
  out.slow_by_margin = out.depletion_by_margin * share + depletion * share_by_capacity * by_margin;
  out.slow_by_log_k = out.depletion_by_log_k * share + depletion * share_by_capacity * above;
  out.slow_by_lam = depletion * (1 - fading);
  return out;
}

}  // namespace ullage::capacity
