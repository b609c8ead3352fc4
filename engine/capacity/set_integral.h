// The integral over M of one set, taken apart: what stays the same over its nodes, what is summed there, and one bound
// of a feeling with its derivatives. For set_likelihood.cc and felt_each_rep.cc alone.
#pragma once

#include <algorithm>
#include <array>

#include "engine/base/lanes.h"
#include "engine/base/quadrature.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/judgement.h"
#include "engine/capacity/set_likelihood.h"

namespace ullage::capacity {

inline constexpr int kCallFirst = kCallBias;  // the parameters of a call stand together
inline constexpr int kCallCount = 5;          // b, log g, log s0, log s1, cue shift

struct JudgementPoint {
  double bias, gain, spread, rise, cue_shift;
};

// z of one end with its derivatives by (b, log g, log s0, log s1, cue shift). T: double or Lanes.
template <class T>
struct EndPoint {
  T z, inverse_sd, share0, share1, lean, cue;
  std::array<T, kCallCount> slope() const { return {inverse_sd, lean, -z * share0, -z * share1, cue}; }
};
template <class T>
ULLAGE_INLINE EndPoint<T> end_point(const FeelingEnd& end, const T& left, const T& left_above_none,
                                    const JudgementPoint& j) {
  EndPoint<T> out;
  out.inverse_sd = 1.0 / (j.spread + j.rise * left_above_none);
  const T rho = left + end.shift;
  const double level = end.bound + j.bias + (end.on_cue ? j.cue_shift : 0.0);
  out.z = (level - j.gain * rho) * out.inverse_sd;
  out.share0 = j.spread * out.inverse_sd;
  out.share1 = 1.0 - out.share0;
  out.lean = -j.gain * rho * out.inverse_sd;
  out.cue = (end.on_cue ? 1.0 : 0.0) * out.inverse_sd;
  return out;
}
inline EndPoint<double> end_at(const FeelingEnd& end, double left, const JudgementPoint& j) {
  return end_point(end, left, std::max(left + end.shift, 0.0), j);
}
ULLAGE_INLINE EndPoint<Lanes> end_at(const FeelingEnd& end, const Lanes& left, const JudgementPoint& j) {
  return end_point(end, left, larger(left + end.shift, lanes(0)), j);
}
inline double z_by_left(const EndPoint<double>& end, const JudgementPoint& j) {
  return -(j.gain + end.z * j.rise) * end.inverse_sd;
}

// Second derivatives of z at one end, row >= column, that are not zero.
template <class T>
ULLAGE_INLINE void end_curvature(const EndPoint<T>& end, T (&dd)[kCallCount][kCallCount]) {
  dd[1][1] = end.lean;
  dd[2][0] = -end.share0 * end.inverse_sd;
  dd[2][1] = -end.lean * end.share0;
  dd[2][2] = end.z * (2.0 * end.share0 * end.share0 - end.share0);
  dd[3][0] = -end.share1 * end.inverse_sd;
  dd[3][1] = -end.lean * end.share1;
  dd[3][2] = 2.0 * end.z * end.share0 * end.share1;
  dd[3][3] = end.z * (2.0 * end.share1 * end.share1 - end.share1);
  dd[4][2] = -end.cue * end.share0;
  dd[4][3] = -end.cue * end.share1;
}

// Everything that stays the same over the nodes of one set's integral.
struct Integrand {
  double x, sigma, k, shape, reps;
  const Feeling* feeling = nullptr;
  JudgementPoint judgement{};
  bool has_low = false, has_before = false, has_high = false;
  bool unknown = false, by_stopping = false;
  double rate = 0;
  bool speed = false;
  double seen_speed = 0, at_failure = 0, slope = 0, noise = 1;
};

// What all integrands have at four nodes of a panel, from low to high in z of M.
struct AtNodes {
  Lanes left, base;    // reps left; the density of M there, times the node's weight
  Lanes u, e, gx, gk;  // -dm/dlog k; exp(-p m); derivatives of the log density by margin and log k at held reps left
};
ULLAGE_INLINE AtNodes at_nodes(const Integrand& f, double low, double high, const QuadratureRule& nodes,
                               std::size_t first) {
  const double half = 0.5 * (high - low);
  const double centre = 0.5 * (high + low);
  const Lanes z = centre + half * lanes_from(&nodes.node[first]);
  const Lanes m = f.x + f.sigma * z;
  // exp(p m) gives C(m), u = (1 - exp(-p m))/p and e = exp(-p m) at once.
  AtNodes out;
  Lanes grown = m;
  out.e = lanes(1);
  out.u = m;
  if (f.shape >= kStraightBelow) {
    const double by_shape = 1 / f.shape;
    const Lanes rise = exp(f.shape * m);
    grown = (rise - 1.0) * by_shape;
    out.e = 1.0 / rise;
    out.u = grown * out.e;
  }
  out.left = 1 + f.k * grown - f.reps;
  out.base = half * lanes_from(&nodes.weight[first]) * normal_density(z);
  const double by_sigma = 1 / f.sigma;
  out.gx = z * by_sigma;
  out.gk = out.gx * out.u - out.e;
  return out;
}

// Sums over the nodes: the integral and its derivatives; of the second ones rows >= columns.
struct Sums {
  double total = 0;
  double first[kLocalCount]{};
  double second[kLocalCount][kLocalCount];  // only active ones are used
};

}  // namespace ullage::capacity
