// The capacity curve: how many repetitions are in a load.
//
// With margin x = log(strength / load) (natural log; strength = one-repetition maximum),
//
//   reps to failure   C(x) = 1 + (k/p) (exp(p x) - 1)          p -> 0: 1 + k x
//   its inverse       m(r) = log(1 + p (r - 1)/k) / p          p -> 0: (r - 1)/k
//
// k: endurance, repetitions gained per unit of margin near one repetition; p: shape, a constant of the
// exercise class. C(0) = 1: at strength there is exactly one repetition. C is real; whole repetitions
// are what people see. Assumption that fails first: one k per lifter and exercise at all loads; below
// 50 % of strength or above 25 repetitions results are marked outside the tested range.
// k and p: bench press rows T01-008/009 give k about 32 at 80 and 70 % with p = 1; knee extension
// T05-013, T05-017 asks for p about 0.2.
#pragma once

#include <cmath>

#include "engine/base/dual.h"

namespace ullage::capacity {

struct Curve {
  double endurance = 32;  // k > 2
  double shape = 1;       // p >= 0
};

// Shape p of the class curve below which the limit p -> 0 is used.
inline constexpr double kStraightBelow = 1e-8;

// C(x). T is double or Dual. May be below 1 (load above strength) and even negative; callers show 0.
template <class T, class K>
auto reps_to_failure(const T& margin, const K& endurance, double shape) {
  using std::expm1;
  if (shape < kStraightBelow) return 1.0 + endurance * margin;
  return 1.0 + endurance * expm1(margin * shape) / shape;
}

// m(r), the margin at which exactly r (real) repetitions can be done. Needs r > 1 - k/p, which holds
// for every r >= 0 when k > p.
template <class T, class K>
auto margin_for_reps(const T& reps, const K& endurance, double shape) {
  using std::log1p;
  if (shape < kStraightBelow) return (reps - 1.0) / endurance;
  return log1p((reps - 1.0) * shape / endurance) / shape;
}

inline double reps_to_failure(double margin, const Curve& curve) {
  return reps_to_failure(margin, curve.endurance, curve.shape);
}
inline double margin_for_reps(double reps, const Curve& curve) {
  return margin_for_reps(reps, curve.endurance, curve.shape);
}

}  // namespace ullage::capacity
