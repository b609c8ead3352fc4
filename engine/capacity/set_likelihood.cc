#include "engine/capacity/set_likelihood.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/base/lanes.h"
#include "engine/base/normal.h"
#include "engine/base/quadrature.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/felt_each_rep.h"
#include "engine/capacity/set_integral.h"

namespace ullage::capacity {
namespace {

constexpr double kReach = 8.5;  // sds of M that are integrated over
constexpr int kNodes = 48;

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
constexpr std::size_t kCoarseTailTerms = 14;
const QuadratureRule& coarse_rule() {
  static const QuadratureRule kRule = gauss_legendre(kCoarseNodes);
  return kRule;
}

// may_be_slip: whether a slip of the pen may explain it; where not, it keeps its whole pull out to where its chance
// cannot be written any more.
void finish(SetTerms& out, double likelihood, bool may_be_slip = true) {
  constexpr double kNever = 1e-290;
  const double all = std::max(likelihood + (may_be_slip ? kOutlier : 0), kNever);
  out.log_likelihood = std::log(all);
  out.weight = likelihood / all;
}
// Derivatives of the log likelihood by margin and log k.
void derive(SetTerms& out, double gx, double gk, double hxx, double hxk, double hkk) {
  out.gradient(kMargin) = out.weight * gx;
  out.gradient(kLogEndurance) = out.weight * gk;
  out.hessian(kMargin, kMargin) = out.weight * hxx;
  out.hessian(kMargin, kLogEndurance) = out.hessian(kLogEndurance, kMargin) = out.weight * hxk;
  out.hessian(kLogEndurance, kLogEndurance) = out.weight * hkk;
}

// Derivatives that are not reached stand at 0.
void clear(SetTerms& out, int order, Free free) {
  if (order > 0) out.gradient.setZero();
  if (order < 2) return;
  if (free == Free::all) {
    out.hessian.setZero();
    return;
  }
  constexpr std::array<int, 5> kOwn{kMargin, kLogEndurance, kSpeedAtFailure, kLogSpeedSlope, kLogSpeedNoise};
  for (const int p : kOwn) {
    for (const int q : kOwn) out.hessian(p, q) = 0;
  }
}

// A set that was certain to end so: nothing is learned.
void certain(SetTerms& out) { out.log_likelihood = std::log1p(kOutlier); }

// Sets without call, speed or unknown stop: normal probabilities in closed form.
void closed_form(const SetObservation& set, double x, double k, double shape, double sigma, int order, SetTerms& out) {
  if (set.stop != Stop::failed) {
    if (set.reps <= 0) return certain(out);
    const double m = margin_for_reps(static_cast<double>(set.reps), k, shape);
    const double t = (x - m) / sigma;
    if (t > kReach) return certain(out);
    const double likelihood = normal_cdf(t);
    finish(out, likelihood);
    if (order > 0 && likelihood > 1e-300) {
      const auto [u, e] = curve_terms(m, shape);
      const double ratio = normal_density(t) / likelihood;
      const double second = -ratio * (t + ratio);
      const double tx = 1 / sigma;
      const double tk = u / sigma;
      derive(out, ratio * tx, ratio * tk, second * tx * tx, second * tx * tk, second * tk * tk - ratio * u * e / sigma);
    }
    return;
  }
  const double upper = margin_for_reps(set.reps + 1.0, k, shape);
  const double tb = (upper - x) / sigma;
  const bool open = set.reps <= 0;
  const double lower = open ? 0 : margin_for_reps(static_cast<double>(set.reps), k, shape);
  const double ta = open ? -std::numeric_limits<double>::infinity() : (lower - x) / sigma;
  const double likelihood = normal_between(ta, tb);
  finish(out, likelihood, tb >= 0);
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
    derive(out, gx, gk, hxx - gx * gx, hxk - gx * gk, hkk - gk * gk);
  }
}

// One panel of the integral over z of M, from low to high. Parameters other than those of the call carry a factor g of
// the integrand; those of the call change the chance of the answer itself. calls: how many of the call's parameters to
// derive by. other: a stop for reasons not told or a speed comes in.
template <int order, int calls, bool other>
ULLAGE_INLINE void integrate_with(const Integrand& f, double low, double high, const QuadratureRule& nodes,
                                  std::size_t terms, Sums& sums) {
  const NormalTail& table = NormalTail::instance();
  const double by_sigma = 1 / f.sigma;
  const double by_variance = by_sigma * by_sigma;
  constexpr std::size_t kCalls = calls;
  constexpr std::size_t kSome = calls > 0 ? calls : 1;
  constexpr std::size_t kOthers = other ? 4 : 1;  // stopping, three of speed

  Lanes total{}, first_x{}, first_k{}, xx{}, kx{}, kk{};
  Lanes first_call[kSome]{}, x_call[kSome]{}, k_call[kSome]{}, call_call[kSome][kSome]{};
  Lanes first_other[kOthers]{}, x_other[kOthers]{}, k_other[kOthers]{}, other_other[kOthers][kOthers]{};
  Lanes other_call[kOthers][kSome]{};
  for (std::size_t i = 0; i < nodes.node.size(); i += kLanes) {
    const AtNodes at = at_nodes(f, low, high, nodes, i);
    const Lanes &r = at.left, &u = at.u, &e = at.e, &gx = at.gx, &gk = at.gk;
    Lanes base = at.base;

    Lanes g[kOthers]{};
    Lanes stop_bend = lanes(0), off = lanes(0), lean = lanes(0);
    if constexpr (other) {
      if (f.unknown) {
        // Chance of this reserve among those that leave at least one rep to do; G(s) = 1 - (1 + s) exp(-s).
        const Lanes reserve = larger(r, lanes(0));
        const Lanes s_all = f.rate * larger(f.reps + r - 0.5, lanes(0.5));
        const Lanes tail = exp(-s_all);
        const Lanes all = 1 - (1 + s_all) * tail;
        base *= f.rate * f.rate * reserve * exp(-f.rate * reserve) / all;
        if (f.by_stopping) {
          const Lanes all_first = -s_all * s_all * tail / all;  // d log G / d log mean
          g[0] = -2 + f.rate * reserve - all_first;
          stop_bend = -(f.rate * reserve + (2 - s_all) * s_all * s_all * tail / all - all_first * all_first);
        }
      }
      if (f.speed) {
        off = (f.seen_speed - f.at_failure - f.slope * r) / f.noise;
        lean = f.slope * r / f.noise;
        base *= normal_density(off) / f.noise;
        g[1] = off / f.noise;
        g[2] = off * lean;
        g[3] = off * off - 1;
      }
    }
    Lanes mass = base;
    EndPoint<Lanes> at_high{}, at_low{};
    NormalEnd high_end{lanes(38), lanes(0), lanes(0)}, low_end{lanes(-38), lanes(0), lanes(0)};
    if (f.feeling) {
      if (f.has_high) {
        at_high = end_at(f.feeling->high, r, f.judgement);
        high_end = normal_end(at_high.z, table, terms);
        at_high.z = high_end.z;
      }
      if (f.has_low) {
        at_low = end_at(f.feeling->low, r, f.judgement);
      }
      if (f.has_before) {
        const EndPoint<Lanes> before = end_at(f.feeling->before, r, f.judgement);
        if (!f.has_low) {
          at_low = before;
        } else {
          const LaneBits rules = before.z > at_low.z;
          at_low.z = rules ? before.z : at_low.z;
          at_low.inverse_sd = rules ? before.inverse_sd : at_low.inverse_sd;
          at_low.share0 = rules ? before.share0 : at_low.share0;
          at_low.share1 = rules ? before.share1 : at_low.share1;
          at_low.lean = rules ? before.lean : at_low.lean;
          at_low.cue = rules ? before.cue : at_low.cue;
        }
      }
      if (f.has_low || f.has_before) {
        low_end = normal_end(at_low.z, table, terms);
        at_low.z = low_end.z;
      }
      base = low_end.z < high_end.z ? base : lanes(0);
      mass = base * normal_between(low_end, high_end);
    }
    total += mass;
    if constexpr (order > 0) {
      const Lanes mass_x = mass * gx;
      const Lanes mass_k = mass * gk;
      first_x += mass_x;
      first_k += mass_k;
      Lanes mass_other[kOthers]{};
      if constexpr (other) {
        for (std::size_t a = 0; a < kOthers; ++a) {
          mass_other[a] = mass * g[a];
          first_other[a] += mass_other[a];
        }
      }
      std::array<Lanes, kCallCount> high_slope{}, low_slope{};
      Lanes moved[kSome]{};
      const Lanes high_weight = base * high_end.density;
      const Lanes low_weight = base * low_end.density;
      if constexpr (calls > 0) {
        high_slope = at_high.slope();
        low_slope = at_low.slope();
        for (std::size_t p = 0; p < kCalls; ++p) {
          moved[p] = high_weight * high_slope[p] - low_weight * low_slope[p];
          first_call[p] += moved[p];
        }
      }
      if constexpr (order > 1) {
        xx += mass_x * gx - mass * by_variance;
        kx += mass_k * gx - mass * by_variance * u;
        kk += mass_k * gk - mass * u * (u * by_variance + (gx + f.shape) * e);
        if constexpr (other) {
          for (std::size_t a = 0; a < kOthers; ++a) {
            x_other[a] += mass_other[a] * gx;
            k_other[a] += mass_other[a] * gk;
            for (std::size_t b = 0; b <= a; ++b) other_other[a][b] += mass_other[a] * g[b];
            for (std::size_t p = 0; p < kCalls; ++p) other_call[a][p] += moved[p] * g[a];
          }
          other_other[0][0] += mass * stop_bend;
          if (f.speed) {
            const double by_noise = 1 / f.noise;
            other_other[1][1] -= mass * (by_noise * by_noise);
            other_other[2][1] -= mass * lean * by_noise;
            other_other[2][2] += mass * (off * lean - lean * lean);
            other_other[3][1] -= mass * 2 * off * by_noise;
            other_other[3][2] -= mass * 2 * off * lean;
            other_other[3][3] -= mass * 2 * off * off;
          }
        }
        if constexpr (calls > 0) {
          for (std::size_t p = 0; p < kCalls; ++p) {
            x_call[p] += moved[p] * gx;
            k_call[p] += moved[p] * gk;
          }
          for (int which = 0; which < 2; ++which) {
            const EndPoint<Lanes>& end = which == 0 ? at_high : at_low;
            const std::array<Lanes, kCallCount>& d = which == 0 ? high_slope : low_slope;
            const Lanes weight = which == 0 ? high_weight : -low_weight;
            Lanes dd[kCallCount][kCallCount]{};
            end_curvature(end, dd);
            const Lanes pulled = weight * end.z;
            for (std::size_t p = 0; p < kCalls; ++p) {
              const Lanes pulled_p = pulled * d[p];
              for (std::size_t q = 0; q <= p; ++q) call_call[p][q] += weight * dd[p][q] - pulled_p * d[q];
            }
          }
        }
      }
    }
  }
  sums.total += sum(total);
  if constexpr (order > 0) {
    constexpr std::array<std::size_t, 4> kOther{kLogStopping, kSpeedAtFailure, kLogSpeedSlope, kLogSpeedNoise};
    sums.first[kMargin] += sum(first_x);
    sums.first[kLogEndurance] += sum(first_k);
    for (std::size_t p = 0; p < kCalls; ++p) sums.first[kCallFirst + p] += sum(first_call[p]);
    for (std::size_t a = 0; other && a < kOthers; ++a) sums.first[kOther[a]] += sum(first_other[a]);
    if constexpr (order > 1) {
      sums.second[kMargin][kMargin] += sum(xx);
      sums.second[kLogEndurance][kMargin] += sum(kx);
      sums.second[kLogEndurance][kLogEndurance] += sum(kk);
      for (std::size_t p = 0; p < kCalls; ++p) {
        sums.second[kCallFirst + p][kMargin] += sum(x_call[p]);
        sums.second[kCallFirst + p][kLogEndurance] += sum(k_call[p]);
        for (std::size_t q = 0; q <= p; ++q) sums.second[kCallFirst + p][kCallFirst + q] += sum(call_call[p][q]);
      }
      for (std::size_t a = 0; other && a < kOthers; ++a) {
        sums.second[kOther[a]][kMargin] += sum(x_other[a]);
        sums.second[kOther[a]][kLogEndurance] += sum(k_other[a]);
        for (std::size_t b = 0; b <= a; ++b) sums.second[kOther[a]][kOther[b]] += sum(other_other[a][b]);
        for (std::size_t p = 0; p < kCalls; ++p) sums.second[kOther[a]][kCallFirst + p] += sum(other_call[a][p]);
      }
    }
  }
}

// With as much as is asked for and not much more: each combination is compiled on its own.
ULLAGE_WIDE void integrate(const Integrand& f, double low, double high, Precision precision, int order, int calls,
                           Sums& sums) {
  const QuadratureRule& nodes = precision == Precision::coarse ? coarse_rule() : rule();
  const std::size_t terms = precision == Precision::coarse ? kCoarseTailTerms : NormalTail::kTerms;
  const bool other = f.unknown || f.speed;
  if (f.feeling && f.feeling->each_rep) {
    integrate_each_rep(f, low, high, nodes, terms, order, calls, sums);
  } else if (order == 0) {
    integrate_with<0, 0, true>(f, low, high, nodes, terms, sums);
  } else if (order == 1 && !other) {
    if (calls == 0) {
      integrate_with<1, 0, false>(f, low, high, nodes, terms, sums);
    } else {
      integrate_with<1, kCallCount, false>(f, low, high, nodes, terms, sums);
    }
  } else if (other && calls == 0) {
    integrate_with<2, 0, true>(f, low, high, nodes, terms, sums);
  } else if (other) {
    integrate_with<2, kCallCount, true>(f, low, high, nodes, terms, sums);
  } else if (calls == 0) {
    integrate_with<2, 0, false>(f, low, high, nodes, terms, sums);
  } else {
    integrate_with<2, kCallCount, false>(f, low, high, nodes, terms, sums);
  }
}

// Reps left at which bound `a` overtakes bound `b` between two points, where it does.
std::optional<double> crossing(const FeelingEnd& a, const FeelingEnd& b, double from, double to,
                               const JudgementPoint& j) {
  if (!std::isfinite(a.bound) || !std::isfinite(b.bound)) return std::nullopt;
  const auto gap = [&](double left) { return end_at(a, left, j).z - end_at(b, left, j).z; };
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
    out[kCallCueShift] = set.feeling->on_cue();
  }
  if (set.stop == Stop::unknown) out[kLogStopping] = true;
  if (set.speed) out[kSpeedAtFailure] = out[kLogSpeedSlope] = out[kLogSpeedNoise] = true;
  return out;
}

SetTerms set_log_likelihood(const SetObservation& set, const LocalVector& at, double shape, double sigma, int order,
                            Precision precision, Free free) {
  const double x = at[kMargin];
  const Lanes natural = exp(Lanes{at[kLogEndurance], at[kCallLogGain], at[kCallLogSpread], at[kCallLogSpreadRise]});
  const double k = natural[0];
  SetTerms out;
  clear(out, order, free);
  if (set.reps <= 0 && set.stop != Stop::failed) {  // no attempt
    certain(out);
    return out;
  }
  const bool usable_call = set.feeling && !(set.stop == Stop::failed && set.reps <= 0);
  if (!usable_call && !set.speed && set.stop != Stop::unknown) {
    closed_form(set, x, k, shape, sigma, order, out);
    return out;
  }

  const double n = set.reps;
  const double m_low = margin_for_reps(n, k, shape);
  const bool open_below = set.stop == Stop::failed && set.reps <= 0;  // m(0) is minus infinity
  const double from = open_below ? -std::numeric_limits<double>::infinity() : (m_low - x) / sigma;
  const double to = set.stop == Stop::failed ? (margin_for_reps(n + 1, k, shape) - x) / sigma
                                             : std::numeric_limits<double>::infinity();
  const double reach = precision == Precision::coarse ? kCoarseReach : kReach;
  double low = std::max(from, -reach);
  double high = std::min(to, from > 0 ? std::sqrt(from * from + reach * reach) : reach);
  if (to < 0) low = std::max(from, -std::sqrt(to * to + reach * reach));
  if (to < 0) high = to;

  Integrand f{x, sigma, k, shape, n};
  f.judgement = {at[kCallBias], natural[1], natural[2], natural[3], at[kCallCueShift]};
  const JudgementPoint& judgement = f.judgement;
  if (usable_call) {
    f.feeling = &*set.feeling;
    f.has_low = std::isfinite(set.feeling->low.bound);
    f.has_before = std::isfinite(set.feeling->before.bound);
    f.has_high = std::isfinite(set.feeling->high.bound);
  }
  int calls = 0;  // parameters of the call to derive by
  if (usable_call && order > 0 && free == Free::all) {
    calls = set.feeling->on_cue() ? kCallCount : kCallCount - 1;
  }
  f.unknown = set.stop == Stop::unknown;
  f.by_stopping = f.unknown && free == Free::all;
  if (f.unknown) f.rate = 2 / std::exp(at[kLogStopping]);
  f.speed = set.speed.has_value();
  if (f.speed) {
    f.seen_speed = *set.speed;
    f.at_failure = at[kSpeedAtFailure];
    f.slope = std::exp(at[kLogSpeedSlope]);
    f.noise = std::exp(at[kLogSpeedNoise]);
  }
  int active[kLocalCount];
  int count = 0;
  active[count++] = kMargin;
  active[count++] = kLogEndurance;
  for (int p = 0; p < calls; ++p) active[count++] = kCallFirst + p;
  if (f.by_stopping) active[count++] = kLogStopping;
  for (int p = kSpeedAtFailure; f.speed && p <= kLogSpeedNoise; ++p) active[count++] = p;

  Sums sums;
  // Whole rows where more may be summed than is asked for.
  const int rows = order < 2 ? 0 : calls == 0 && !f.unknown && !f.speed ? kLogEndurance + 1 : kLocalCount;
  for (int a = 0; a < rows; ++a) {
    for (int b = 0; b <= a; ++b) sums.second[a][b] = 0;
  }
  // Corners of the integrand, in z of M; the second derivatives gain a term at each.
  struct Corner {
    double z, left;
    const FeelingEnd *one, *other;  // the bounds that meet
  };
  std::array<Corner, 2> corners{};
  std::size_t corner_count = 0;
  if (usable_call && high > low && f.has_before && !set.feeling->each_rep) {
    const double left_low = reps_to_failure(x + sigma * low, k, shape) - n;
    const double left_high = reps_to_failure(x + sigma * high, k, shape) - n;
    for (const FeelingEnd* other : {&set.feeling->low, &set.feeling->high}) {
      if (const auto left = crossing(set.feeling->before, *other, left_low, left_high, judgement)) {
        corners[corner_count++] = {(margin_for_reps(n + *left, k, shape) - x) / sigma, *left, &set.feeling->before,
                                   other};
      }
    }
    if (corner_count == 2 && corners[1].z < corners[0].z) std::swap(corners[0], corners[1]);
  }
  for (std::size_t panel = 0; high > low && panel <= corner_count; ++panel) {
    const double panel_low = panel == 0 ? low : std::clamp(corners[panel - 1].z, low, high);
    const double panel_high = panel == corner_count ? high : std::clamp(corners[panel].z, low, high);
    if (panel_high > panel_low) integrate(f, panel_low, panel_high, precision, order, calls, sums);
  }
  const double total = sums.total;
  auto& second = sums.second;
  // A corner where the chance changes from P1 to P2 at reps left r*: d2 gains -(dD)(dD)'/(dD/dr), D = P1 - P2, there.
  for (std::size_t c = 0; order > 1 && calls > 0 && c < corner_count; ++c) {
    const Corner& corner = corners[c];
    const EndPoint<double> one = end_at(*corner.one, corner.left, judgement);
    const EndPoint<double> other = end_at(*corner.other, corner.left, judgement);
    const bool closes = corner.other == &set.feeling->high;  // before meets high: the chance comes down to 0
    if (closes ? end_at(set.feeling->low, corner.left, judgement).z > one.z
               : end_at(set.feeling->high, corner.left, judgement).z < one.z) {
      continue;  // the other bound rules here: no corner
    }
    const double m = x + sigma * corner.z;
    double rest = normal_density(corner.z) / sigma * std::exp(-shape * m) / k;
    if (f.speed) rest *= normal_density((f.seen_speed - f.at_failure - f.slope * corner.left) / f.noise) / f.noise;
    const std::array<double, kCallCount> a_slope = one.slope();
    const std::array<double, kCallCount> b_slope = other.slope();
    const double by_left = std::fabs(z_by_left(one, judgement) - z_by_left(other, judgement));
    const double scale = (closes ? 1 : -1) * rest * normal_density(one.z) / by_left;
    for (int p = 0; p < calls; ++p) {
      for (int q = 0; q <= p; ++q) {
        const auto i = static_cast<std::size_t>(p);
        const auto j = static_cast<std::size_t>(q);
        second[kCallFirst + p][kCallFirst + q] += scale * (a_slope[i] - b_slope[i]) * (a_slope[j] - b_slope[j]);
      }
    }
  }
  finish(out, total, set.stop != Stop::failed || to >= 0);
  if (!(total > 1e-300) || order == 0) return out;
  double gradient[kLocalCount];
  for (int i = 0; i < count; ++i) {
    gradient[active[i]] = sums.first[active[i]] / total;
    out.gradient(active[i]) = out.weight * gradient[active[i]];
  }
  for (int i = 0; order > 1 && i < count; ++i) {
    for (int j = 0; j <= i; ++j) {
      const int row = active[i];
      const int column = active[j];
      out.hessian(row, column) = out.hessian(column, row) =
          out.weight * (second[row][column] / total - gradient[row] * gradient[column]);
    }
  }
  return out;
}

}  // namespace ullage::capacity
