#include "engine/capacity/set_likelihood.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "engine/base/normal.h"
#include "engine/base/quadrature.h"
#include "engine/capacity/curve.h"

namespace ullage::capacity {
namespace {

constexpr double kReach = 8.5;  // sds of M that are integrated over
constexpr int kNodes = 48;
using LocalGradient = Eigen::Matrix<double, kLocalCount, 1>;
using LocalHessian = Eigen::Matrix<double, kLocalCount, kLocalCount>;

const QuadratureRule& rule() {
  static const QuadratureRule kRule = gauss_legendre(kNodes);  // immutable, made once
  return kRule;
}

// u = -dm/dlog k and e = exp(-p m) at margin m: dm = -u, d2m = u e in log k.
struct CurveTerms {
  double u, e;
};
CurveTerms curve_terms(double m, double shape) {
  if (shape < kStraightBelow) return {m, 1};
  return {-std::expm1(-shape * m) / shape, std::exp(-shape * m)};
}

// For searching: relative error about 1e-4, a third of the cost.
constexpr double kCoarseReach = 5;
constexpr int kCoarseNodes = 16;
const QuadratureRule& coarse_rule() {
  static const QuadratureRule kRule = gauss_legendre(kCoarseNodes);
  return kRule;
}

void finish(SetTerms& out, double likelihood, const LocalGradient& gradient_of_log,
            const LocalHessian& hessian_of_log) {
  out.log_likelihood = std::log(likelihood + kOutlier);
  out.weight = likelihood / (likelihood + kOutlier);
  out.gradient = out.weight * gradient_of_log;
  out.hessian = out.weight * hessian_of_log;
}

// A set that was certain to end so: nothing is learned.
SetTerms certain() {
  SetTerms out;
  out.log_likelihood = std::log1p(kOutlier);
  return out;
}

// Sets without call, speed or unknown stop: normal probabilities in closed form.
SetTerms closed_form(const SetObservation& set, double x, double k, double shape, double sigma, int order) {
  SetTerms out;
  LocalGradient g = LocalGradient::Zero();
  LocalHessian h = LocalHessian::Zero();
  if (set.stop != Stop::failed) {
    if (set.reps <= 0) return certain();
    const double m = margin_for_reps(static_cast<double>(set.reps), k, shape);
    const double t = (x - m) / sigma;
    if (t > kReach) return certain();
    const double likelihood = normal_cdf(t);
    if (order > 0 && likelihood > 1e-300) {
      const auto [u, e] = curve_terms(m, shape);
      const double ratio = normal_density(t) / likelihood;
      const double second = -ratio * (t + ratio);
      const double tx = 1 / sigma;
      const double tk = u / sigma;
      g(kMargin) = ratio * tx;
      g(kLogEndurance) = ratio * tk;
      h(kMargin, kMargin) = second * tx * tx;
      h(kMargin, kLogEndurance) = h(kLogEndurance, kMargin) = second * tx * tk;
      h(kLogEndurance, kLogEndurance) = second * tk * tk - ratio * u * e / sigma;
    }
    finish(out, likelihood, g, h);
    return out;
  }
  const double upper = margin_for_reps(set.reps + 1.0, k, shape);
  const double tb = (upper - x) / sigma;
  const bool open = set.reps <= 0;
  const double lower = open ? 0 : margin_for_reps(static_cast<double>(set.reps), k, shape);
  const double ta = open ? -std::numeric_limits<double>::infinity() : (lower - x) / sigma;
  const double likelihood = normal_between(ta, tb);
  if (order > 0 && likelihood > 1e-300) {
    const CurveTerms b = curve_terms(upper, shape);
    const double db = normal_density(tb) / likelihood;
    const double tbx = -1 / sigma;
    const double tbk = -b.u / sigma;
    // ends: L = Phi(tb) - Phi(ta); d2 log L = L''/L - (L'/L)^2
    double gx = db * tbx;
    double gk = db * tbk;
    double hxx = -db * tb * tbx * tbx;
    double hxk = -db * tb * tbx * tbk;
    double hkk = -db * tb * tbk * tbk + db * b.u * b.e / sigma;
    if (!open) {
      const CurveTerms a = curve_terms(lower, shape);
      const double da = normal_density(ta) / likelihood;
      const double tax = -1 / sigma;
      const double tak = -a.u / sigma;
      gx -= da * tax;
      gk -= da * tak;
      hxx += da * ta * tax * tax;
      hxk += da * ta * tax * tak;
      hkk -= -da * ta * tak * tak + da * a.u * a.e / sigma;
    }
    g(kMargin) = gx;
    g(kLogEndurance) = gk;
    h(kMargin, kMargin) = hxx - gx * gx;
    h(kMargin, kLogEndurance) = h(kLogEndurance, kMargin) = hxk - gx * gk;
    h(kLogEndurance, kLogEndurance) = hkk - gk * gk;
  }
  finish(out, likelihood, g, h);
  return out;
}

// P of the feeling given the reps left, with first and second derivatives of log P by (b, log g, log s0, log s1,
// cue shift).
constexpr std::size_t kCallCount = 5;
struct CallTerms {
  double probability = 0;
  std::array<double, kCallCount> first{};
  std::array<std::array<double, kCallCount>, kCallCount> second{};  // lower triangle
};

struct JudgementPoint {
  double bias, gain, spread, rise, cue_shift;
};

// z of one end with its derivatives by (b, log g, log s0, log s1, cue shift) and by the reps left.
struct EndPoint {
  double z = 0, sd = 1, share0 = 0, share1 = 0, lean = 0, cue = 0;
  std::array<double, kCallCount> slope() const { return {1 / sd, lean, -z * share0, -z * share1, cue}; }
};
EndPoint end_point(const FeelingEnd& end, double left, const JudgementPoint& j) {
  const double rho = left + end.shift;
  EndPoint out;
  out.sd = j.spread + j.rise * std::max(rho, 0.0);
  out.z = (end.bound + j.bias + (end.on_cue ? j.cue_shift : 0.0) - j.gain * rho) / out.sd;
  out.share0 = j.spread / out.sd;
  out.share1 = 1 - out.share0;
  out.lean = -j.gain * rho / out.sd;
  out.cue = end.on_cue ? 1 / out.sd : 0;
  return out;
}
double z_by_left(const EndPoint& end, const JudgementPoint& j) { return -(j.gain + end.z * j.rise) / end.sd; }

CallTerms call_terms(const Feeling& feeling, double left, const JudgementPoint& j, int order) {
  CallTerms out;
  const EndPoint high = end_point(feeling.high, left, j);
  EndPoint low = end_point(feeling.low, left, j);
  const EndPoint before = end_point(feeling.before, left, j);
  if (before.z > low.z) low = before;
  out.probability = low.z < high.z ? normal_between(low.z, high.z) : 0;
  if (order == 0 || out.probability < 1e-300) return out;
  std::array<std::array<double, kCallCount>, kCallCount> curvature{};
  for (int which = 0; which < 2; ++which) {
    const EndPoint& end = which == 0 ? high : low;
    if (!std::isfinite(end.z)) continue;
    const double density = (which == 0 ? 1 : -1) * normal_density(end.z) / out.probability;
    const std::array<double, kCallCount> d = end.slope();
    for (std::size_t p = 0; p < kCallCount; ++p) out.first[p] += density * d[p];
    if (order < 2) continue;
    // Second derivatives of z, lower triangle.
    std::array<std::array<double, kCallCount>, kCallCount> dd{};
    dd[1][1] = end.lean;
    dd[2][0] = -end.share0 / end.sd;
    dd[2][1] = -end.lean * end.share0;
    dd[2][2] = end.z * (2 * end.share0 * end.share0 - end.share0);
    dd[3][0] = -end.share1 / end.sd;
    dd[3][1] = -end.lean * end.share1;
    dd[3][2] = 2 * end.z * end.share0 * end.share1;
    dd[3][3] = end.z * (2 * end.share1 * end.share1 - end.share1);
    dd[4][2] = -end.cue * end.share0;
    dd[4][3] = -end.cue * end.share1;
    for (std::size_t p = 0; p < kCallCount; ++p) {
      for (std::size_t q = 0; q <= p; ++q) curvature[p][q] += density * (dd[p][q] - end.z * d[p] * d[q]);
    }
  }
  if (order < 2) return out;
  for (std::size_t p = 0; p < kCallCount; ++p) {
    for (std::size_t q = 0; q <= p; ++q) out.second[p][q] = curvature[p][q] - out.first[p] * out.first[q];
  }
  return out;
}

// Reps left at which bound `a` overtakes bound `b` between two points, where it does.
std::optional<double> crossing(const FeelingEnd& a, const FeelingEnd& b, double from, double to,
                               const JudgementPoint& j) {
  if (!std::isfinite(a.bound) || !std::isfinite(b.bound)) return std::nullopt;
  const auto gap = [&](double left) { return end_point(a, left, j).z - end_point(b, left, j).z; };
  double at_from = gap(from);
  if ((at_from > 0) == (gap(to) > 0)) return std::nullopt;
  for (int halving = 0; halving < 60; ++halving) {
    const double middle = 0.5 * (from + to);
    const double value = gap(middle);
    if ((value > 0) == (at_from > 0)) {
      from = middle;
      at_from = value;
    } else {
      to = middle;
    }
  }
  return 0.5 * (from + to);
}

}  // namespace

std::array<bool, kLocalCount> depends_on(const SetObservation& set) {
  std::array<bool, kLocalCount> out{};
  out[kMargin] = out[kLogEndurance] = true;
  if (set.feeling) {
    out[kCallBias] = out[kCallLogGain] = out[kCallLogSpread] = out[kCallLogSpreadRise] = true;
    out[kCallCueShift] = set.feeling->low.on_cue || set.feeling->before.on_cue || set.feeling->high.on_cue;
  }
  if (set.stop == Stop::unknown) out[kLogStopping] = true;
  if (set.speed) out[kSpeedAtFailure] = out[kLogSpeedSlope] = out[kLogSpeedNoise] = true;
  return out;
}

SetTerms set_log_likelihood(const SetObservation& set, const LocalVector& at, double shape, double sigma, int order,
                            Precision precision) {
  const double x = at[kMargin];
  const double k = std::exp(at[kLogEndurance]);
  if (set.reps <= 0 && set.stop != Stop::failed) return certain();  // no attempt
  const bool usable_call = set.feeling && !(set.stop == Stop::failed && set.reps <= 0);
  if (!usable_call && !set.speed && set.stop != Stop::unknown) return closed_form(set, x, k, shape, sigma, order);

  const double n = set.reps;
  const double m_low = margin_for_reps(n, k, shape);
  const bool open_below = set.stop == Stop::failed && set.reps <= 0;  // m(0) is minus infinity
  const double a = open_below ? -std::numeric_limits<double>::infinity() : (m_low - x) / sigma;
  const double b = set.stop == Stop::failed ? (margin_for_reps(n + 1, k, shape) - x) / sigma
                                            : std::numeric_limits<double>::infinity();
  const QuadratureRule& nodes = precision == Precision::coarse ? coarse_rule() : rule();
  const double reach = precision == Precision::coarse ? kCoarseReach : kReach;
  double low = std::max(a, -reach);
  double high = std::min(b, a > 0 ? std::sqrt(a * a + reach * reach) : reach);
  if (b < 0) low = std::max(a, -std::sqrt(b * b + reach * reach));
  if (b < 0) high = b;

  const bool unknown = set.stop == Stop::unknown;
  const JudgementPoint judgement{at[kCallBias], std::exp(at[kCallLogGain]), std::exp(at[kCallLogSpread]),
                                 std::exp(at[kCallLogSpreadRise]), at[kCallCueShift]};
  const double rate = 2 / std::exp(at[kLogStopping]);
  const double slope = std::exp(at[kLogSpeedSlope]);
  const double noise = std::exp(at[kLogSpeedNoise]);

  // Only the parameters that this set depends on are carried: `place` is where each stands in `g`.
  std::array<int, kLocalCount> active{};
  std::array<int, kLocalCount> place{};
  int count = 0;
  const auto carry = [&](int first, int last) {
    for (int p = first; p <= last; ++p) {
      place[static_cast<std::size_t>(p)] = count;
      active[static_cast<std::size_t>(count++)] = p;
    }
  };
  carry(kMargin, kLogEndurance);
  if (usable_call) carry(kCallBias, kCallCueShift);
  if (unknown) carry(kLogStopping, kLogStopping);
  if (set.speed) carry(kSpeedAtFailure, kLogSpeedNoise);
  const auto at_call = static_cast<std::size_t>(place[kCallBias]);
  const auto at_stop = static_cast<std::size_t>(place[kLogStopping]);
  const auto at_speed = static_cast<std::size_t>(place[kSpeedAtFailure]);

  double total = 0;
  std::array<double, kLocalCount> first{};
  std::array<std::array<double, kLocalCount>, kLocalCount> second{};  // lower triangle
  std::array<double, kLocalCount> g{};
  // Corners of the integrand, in z of M; the second derivatives gain a term at each.
  struct Corner {
    double z, left;
    const FeelingEnd *one, *other;  // the bounds that meet
  };
  std::vector<Corner> corners;
  if (usable_call && high > low && std::isfinite(set.feeling->before.bound)) {
    const double left_low = reps_to_failure(x + sigma * low, k, shape) - n;
    const double left_high = reps_to_failure(x + sigma * high, k, shape) - n;
    for (const FeelingEnd* other : {&set.feeling->low, &set.feeling->high}) {
      if (const auto left = crossing(set.feeling->before, *other, left_low, left_high, judgement)) {
        corners.push_back({(margin_for_reps(n + *left, k, shape) - x) / sigma, *left, &set.feeling->before, other});
      }
    }
    std::sort(corners.begin(), corners.end(), [](const Corner& one, const Corner& other) { return one.z < other.z; });
  }
  for (std::size_t panel = 0; high > low && panel <= corners.size(); ++panel) {
    const double panel_low = panel == 0 ? low : std::clamp(corners[panel - 1].z, low, high);
    const double panel_high = panel == corners.size() ? high : std::clamp(corners[panel].z, low, high);
    const double half = 0.5 * (panel_high - panel_low);
    const double centre = 0.5 * (panel_high + panel_low);
    for (std::size_t i = 0; half > 0 && i < nodes.node.size(); ++i) {
      const double z = centre + half * nodes.node[i];
      const double m = x + sigma * z;
      // exp(p m) gives C(m), u and e at once.
      double grown = m;  // (exp(p m) - 1)/p
      double e = 1;      // exp(-p m)
      double u = m;      // (1 - exp(-p m))/p
      if (shape >= kStraightBelow) {
        const double rise_of_curve = std::expm1(shape * m);
        grown = rise_of_curve / shape;
        e = 1 / (1 + rise_of_curve);
        u = grown * e;
      }
      const double r = 1 + k * grown - n;  // reps left
      double mass = half * nodes.weight[i] * normal_density(z);
      CallTerms call;
      if (usable_call) {
        call = call_terms(*set.feeling, r, judgement, order);
        mass *= call.probability;
      }
      const double reserve = std::max(r, 0.0);
      // Chance of this reserve among those that leave at least one rep to do; G(s) = 1 - (1 + s) exp(-s).
      const double s_all = rate * std::max(n + r - 0.5, 0.5);
      const double tail = std::exp(-s_all);
      const double all = 1 - (1 + s_all) * tail;
      if (unknown) mass *= rate * rate * reserve * std::exp(-rate * reserve) / all;
      const double off = set.speed ? (*set.speed - at[kSpeedAtFailure] - slope * r) / noise : 0;
      if (set.speed) mass *= normal_density(off) / noise;
      total += mass;
      if (order == 0 || !(mass > 0)) continue;
      g[0] = z / sigma;
      g[1] = z / sigma * u - e;
      if (usable_call) {
        for (std::size_t p = 0; p < kCallCount; ++p) g[at_call + p] = call.first[p];
      }
      const double all_first = -s_all * s_all * tail / all;  // d log G / d log mean
      if (unknown) g[at_stop] = -2 + rate * reserve - all_first;
      if (set.speed) {
        g[at_speed] = off / noise;
        g[at_speed + 1] = off * slope * r / noise;
        g[at_speed + 2] = off * off - 1;
      }
      for (std::size_t p = 0; p < static_cast<std::size_t>(count); ++p) first[p] += mass * g[p];
      if (order < 2) continue;
      for (std::size_t p = 0; p < static_cast<std::size_t>(count); ++p) {
        const double weighted = mass * g[p];
        for (std::size_t q = 0; q <= p; ++q) second[p][q] += weighted * g[q];
      }
      const double s2 = sigma * sigma;
      second[0][0] -= mass / s2;
      second[1][0] -= mass * u / s2;
      second[1][1] -= mass * (u * u / s2 + z / sigma * u * e + shape * u * e);
      if (usable_call) {
        for (std::size_t p = 0; p < kCallCount; ++p) {
          for (std::size_t q = 0; q <= p; ++q) second[at_call + p][at_call + q] += mass * call.second[p][q];
        }
      }
      if (unknown) {
        const double all_second = (2 - s_all) * s_all * s_all * tail / all - all_first * all_first;
        second[at_stop][at_stop] -= mass * (rate * reserve + all_second);
      }
      if (set.speed) {
        const double lean = slope * r / noise;
        second[at_speed][at_speed] -= mass / (noise * noise);
        second[at_speed + 1][at_speed] -= mass * (lean / noise);
        second[at_speed + 1][at_speed + 1] += mass * (off * lean - lean * lean);
        second[at_speed + 2][at_speed] -= mass * 2 * off / noise;
        second[at_speed + 2][at_speed + 1] -= mass * 2 * off * lean;
        second[at_speed + 2][at_speed + 2] -= mass * 2 * off * off;
      }
    }
  }
  // A corner where the chance changes from P1 to P2 at reps left r*: d2 gains -(dD)(dD)'/(dD/dr), D = P1 - P2, there.
  for (const Corner& corner : corners) {
    if (order < 2) break;
    const EndPoint one = end_point(*corner.one, corner.left, judgement);
    const EndPoint other = end_point(*corner.other, corner.left, judgement);
    const bool closes = corner.other == &set.feeling->high;  // before meets high: the chance comes down to 0
    if (closes ? end_point(set.feeling->low, corner.left, judgement).z > one.z
               : end_point(set.feeling->high, corner.left, judgement).z < one.z) {
      continue;  // the other bound rules here: no corner
    }
    const double m = x + sigma * corner.z;
    double rest = normal_density(corner.z) / sigma * std::exp(-shape * m) / k;
    if (set.speed) {
      const double off = (*set.speed - at[kSpeedAtFailure] - slope * corner.left) / noise;
      rest *= normal_density(off) / noise;
    }
    const std::array<double, kCallCount> a_slope = one.slope();
    const std::array<double, kCallCount> b_slope = other.slope();
    const double by_left = std::fabs(z_by_left(one, judgement) - z_by_left(other, judgement));
    const double scale = (closes ? 1 : -1) * rest * normal_density(one.z) / by_left;
    for (std::size_t p = 0; p < kCallCount; ++p) {
      for (std::size_t q = 0; q <= p; ++q) {
        second[at_call + p][at_call + q] += scale * (a_slope[p] - b_slope[p]) * (a_slope[q] - b_slope[q]);
      }
    }
  }
  SetTerms out;
  LocalGradient gradient = LocalGradient::Zero();
  LocalHessian hessian = LocalHessian::Zero();
  if (total > 1e-300 && order > 0) {
    for (std::size_t p = 0; p < static_cast<std::size_t>(count); ++p) gradient(active[p]) = first[p] / total;
    for (std::size_t p = 0; order > 1 && p < static_cast<std::size_t>(count); ++p) {
      for (std::size_t q = 0; q <= p; ++q) {
        const double bend = second[p][q] / total - gradient(active[p]) * gradient(active[q]);
        hessian(active[p], active[q]) = hessian(active[q], active[p]) = bend;
      }
    }
  }
  finish(out, total, gradient, hessian);
  return out;
}

}  // namespace ullage::capacity
