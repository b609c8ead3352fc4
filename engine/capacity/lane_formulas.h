// Curve and fatigue of four draws at once: the formulas of curve.h, fatigue.h and judgement.h on lanes, for loops over
// draws. They agree with those to 1e-13 (lane_formulas_test.cc).
#pragma once

#include "engine/base/lanes.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/fatigue.h"

namespace ullage::capacity {

// C(x).
ULLAGE_INLINE Lanes reps_to_failure(const Lanes& margin, const Lanes& endurance, double shape) {
  if (shape < kStraightBelow) return 1.0 + endurance * margin;
  return 1.0 + endurance * (exp(margin * shape) - 1.0) * (1 / shape);
}
// m(r).
ULLAGE_INLINE Lanes margin_for_reps(const Lanes& reps, const Lanes& endurance, double shape) {
  if (shape < kStraightBelow) return (reps - 1.0) / endurance;
  return log(1.0 + (reps - 1.0) * shape / endurance) * (1 / shape);
}
// smax(a, b).
ULLAGE_INLINE Lanes smooth_max(const Lanes& a, const Lanes& b) {
  const Lanes gap = (a - b) * 8.0;
  const Lanes grown = 1.0 + exp(smaller(gap, lanes(30)));
  return b + (gap > 30 ? gap : log(grown)) * 0.125;
}

struct SpentLanes {
  Lanes depletion, slow;
};
// What a set of so many good reps spends, with one more tried and missed where `failed` is all ones.
ULLAGE_INLINE SpentLanes spend(const Lanes& margin, const Lanes& endurance, double shape, const Lanes& reps,
                               const LaneBits& failed, const Lanes& lam, const Lanes& rho_f) {
  const Lanes capacity = reps_to_failure(margin, endurance, shape);
  const Lanes left = failed ? lanes(0) : smooth_max(capacity - reps, lanes(0));
  const Lanes top = smooth_max(capacity, failed ? reps + 0.5 : reps);
  // m(top) - m(left) with one logarithm where the curve bends.
  Lanes depletion;
  if (shape < kStraightBelow) {
    depletion = (top - left) / endurance;
  } else {
    const Lanes scale = shape / endurance;
    depletion = log((1.0 + (top - 1.0) * scale) / (1.0 + (left - 1.0) * scale)) * (1 / shape);
  }
  depletion = larger(depletion, lanes(0));
  return {depletion, depletion * (lam + (1.0 - lam) * exp(-left / rho_f))};
}

}  // namespace ullage::capacity
