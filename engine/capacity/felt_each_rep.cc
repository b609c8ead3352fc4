#include "engine/capacity/felt_each_rep.h"

#include <cmath>

namespace ullage::capacity {
namespace {

constexpr double kSurelyAbove = 6.5;  // of all nodes' z: earlier reps add less than 1e-10
constexpr std::size_t kOthers = 3;    // of speed

// A chance, and the derivatives of its log by the call's parameters, rows >= columns.
struct Felt {
  Lanes chance = lanes(1);
  Lanes first[kCallCount]{};
  Lanes second[kCallCount][kCallCount]{};
};

// times P(low < Z <= high) at the last rep.
ULLAGE_INLINE void last_rep(const Integrand& f, const Lanes& left, const NormalTail& table, std::size_t terms,
                            int order, int calls, Felt& out) {
  constexpr double kLeast = 1e-100;
  EndPoint<Lanes> at[2];
  NormalEnd end[2]{{lanes(38), lanes(0), lanes(0)}, {lanes(-38), lanes(0), lanes(0)}};
  const bool told[2]{f.has_high, f.has_low};
  if (!f.has_high && !f.has_low) return;
  for (std::size_t e = 0; e < 2; ++e) {
    if (!told[e]) continue;
    at[e] = end_at(e == 0 ? f.feeling->high : f.feeling->low, left, f.judgement);
    end[e] = normal_end(at[e].z, table, terms);
    at[e].z = end[e].z;
  }
  const Lanes chance = larger(normal_between(end[1], end[0]), lanes(kLeast));
  out.chance *= chance;
  if (order == 0) return;
  Lanes first[kCallCount]{};
  for (std::size_t e = 0; e < 2; ++e) {
    if (!told[e]) continue;
    const Lanes weight = (e == 0 ? end[e].density : -end[e].density) / chance;
    const std::array<Lanes, kCallCount> slope = at[e].slope();
    Lanes bend[kCallCount][kCallCount]{};
    end_curvature(at[e], bend);
    for (int p = 0; p < calls; ++p) {
      const auto i = static_cast<std::size_t>(p);
      first[p] += weight * slope[i];
      for (int q = 0; q <= p; ++q)
        out.second[p][q] += weight * (bend[p][q] - at[e].z * slope[i] * slope[static_cast<std::size_t>(q)]);
    }
  }
  for (int p = 0; p < calls; ++p) {
    out.first[p] += first[p];
    for (int q = 0; q <= p; ++q) out.second[p][q] -= first[p] * first[q];
  }
}

// times P(Z > bound) at each rep before.
ULLAGE_INLINE void reps_before(const Integrand& f, const Lanes& left, const NormalTail& table, std::size_t terms,
                               int order, int calls, Felt& out) {
  FeelingEnd bound = f.feeling->before;
  for (; bound.shift < f.reps; ++bound.shift) {
    EndPoint<Lanes> at = end_at(bound, left, f.judgement);
    const NormalEnd end = normal_end(larger(at.z, lanes(-30)), table, terms);
    at.z = end.z;
    const Lanes above = normal_above(end);
    out.chance *= above;
    if (order > 0 && calls > 0) {
      const Lanes pull = end.density / larger(above, lanes(1e-290));
      const Lanes pull_bend = pull * (pull - at.z);
      const std::array<Lanes, kCallCount> slope = at.slope();
      Lanes bend[kCallCount][kCallCount]{};
      if (order > 1) end_curvature(at, bend);
      for (int p = 0; p < calls; ++p) {
        const auto i = static_cast<std::size_t>(p);
        out.first[p] -= pull * slope[i];
        for (int q = 0; order > 1 && q <= p; ++q)
          out.second[p][q] -= pull * bend[p][q] + pull_bend * slope[i] * slope[static_cast<std::size_t>(q)];
      }
    }
    if (at.z[0] < -kSurelyAbove && at.z[1] < -kSurelyAbove && at.z[2] < -kSurelyAbove && at.z[3] < -kSurelyAbove)
      return;
  }
}

}  // namespace

ULLAGE_WIDE void integrate_each_rep(const Integrand& f, double low, double high, const QuadratureRule& nodes,
                                    std::size_t terms, int order, int calls, Sums& sums) {
  const NormalTail& table = NormalTail::instance();
  const double by_sigma = 1 / f.sigma;
  const double by_variance = by_sigma * by_sigma;
  constexpr std::array<std::size_t, kOthers> kOther{kSpeedAtFailure, kLogSpeedSlope, kLogSpeedNoise};
  const std::size_t others = f.speed ? kOthers : 0;
  // Derivatives by margin, log k, speed and calls, in this order.
  constexpr std::size_t kAll = 2 + kOthers + kCallCount;
  std::array<std::size_t, kAll> parameter{kMargin, kLogEndurance};
  std::size_t many = 2;
  for (std::size_t a = 0; a < others; ++a) parameter[many++] = kOther[a];
  const std::size_t first_call = many;
  for (int p = 0; p < calls; ++p) parameter[many++] = static_cast<std::size_t>(kCallFirst + p);

  for (std::size_t i = 0; i < nodes.node.size(); i += kLanes) {
    const AtNodes at = at_nodes(f, low, high, nodes, i);
    const Lanes &r = at.left, &u = at.u, &e = at.e;
    Lanes base = at.base;
    const Lanes off = f.speed ? (f.seen_speed - f.at_failure - f.slope * r) / f.noise : lanes(0);
    const Lanes lean = f.slope * r / f.noise;
    if (f.speed) base *= normal_density(off) / f.noise;

    Felt felt;
    last_rep(f, r, table, terms, order, calls, felt);
    if (f.has_before) reps_before(f, r, table, terms, order, calls, felt);
    const Lanes mass = base * felt.chance;
    sums.total += sum(mass);
    if (order == 0) continue;
    Lanes g[kAll]{};
    g[0] = at.gx;
    g[1] = at.gk;
    if (f.speed) {
      g[2] = off / f.noise;
      g[3] = off * lean;
      g[4] = off * off - 1;
    }
    for (std::size_t p = first_call; p < many; ++p) g[p] = felt.first[p - first_call];
    for (std::size_t a = 0; a < many; ++a) sums.first[parameter[a]] += sum(mass * g[a]);
    if (order < 2) continue;
    for (std::size_t a = 0; a < many; ++a) {
      for (std::size_t b = 0; b <= a; ++b) {
        Lanes bend = lanes(0);
        if (a == 0) {
          bend -= by_variance;
        } else if (a == 1) {
          bend = b == 0 ? -by_variance * u : -u * (u * by_variance + (g[0] + f.shape) * e);
        } else if (a >= first_call && b >= first_call) {
          bend = felt.second[a - first_call][b - first_call];
        }
        const auto [column, row] = std::minmax(parameter[a], parameter[b]);
        sums.second[row][column] += sum(mass * (g[a] * g[b] + bend));
      }
    }
    if (f.speed) {
      const double by_noise = 1 / f.noise;
      auto& second = sums.second;
      second[kSpeedAtFailure][kSpeedAtFailure] -= sum(mass) * (by_noise * by_noise);
      second[kLogSpeedSlope][kSpeedAtFailure] -= sum(mass * lean) * by_noise;
      second[kLogSpeedSlope][kLogSpeedSlope] += sum(mass * (off * lean - lean * lean));
      second[kLogSpeedNoise][kSpeedAtFailure] -= sum(mass * 2 * off) * by_noise;
      second[kLogSpeedNoise][kLogSpeedSlope] -= sum(mass * 2 * off * lean);
      second[kLogSpeedNoise][kLogSpeedNoise] -= sum(mass * 2 * off * off);
    }
  }
}

double first_felt(const Judgement& j, double capacity, const Cell& cue, double z) {
  constexpr int kFarAway = 40;  // reps left: nothing is felt there yet
  const double enough = normal_cdf(-z);
  const int whole = static_cast<int>(std::clamp(std::floor(capacity), 0.0, 1e6));
  const NormalTail& table = NormalTail::instance();
  const FeelingEnd bound{cue.high, 0, true};
  const JudgementPoint judgement{j.bias, j.gain, j.spread, j.spread_rise, j.cue_shift};
  double going_on = 1;
  for (int n = std::max(1, whole - kFarAway); n <= whole; n += kLanes) {
    const Lanes left = capacity - (lanes(n) + Lanes{0, 1, 2, 3});
    const Lanes above = normal_above(normal_end(end_at(bound, left, judgement).z, table));
    for (int lane = 0; lane < kLanes && n + lane <= whole; ++lane) {
      going_on *= above[lane];
      if (going_on <= enough) return n + lane;
    }
  }
  return whole + 1;  // failure comes first
}

int sets_with_cue(const TrainingLog& log) {
  int out = 0;
  for (const LoggedSession& session : log.sessions) {
    for (const LoggedSet& set : session.sets) {
      out += set.informs_strength && set.feeling && set.feeling->on_cue() ? 1 : 0;
    }
  }
  return out;
}

void feel_each_rep(TrainingLog& log, bool each_rep) {
  for (LoggedSession& session : log.sessions) {
    for (LoggedSet& set : session.sets) {
      if (set.feeling) set.feeling->each_rep = each_rep && set.feeling->on_cue();
    }
  }
}

}  // namespace ullage::capacity
