#include "engine/capacity/judgement.h"

#include <algorithm>
#include <limits>

#include "engine/base/lanes.h"

namespace ullage::capacity {

Cell call_cell(const Call& call, bool halves) {
  constexpr double kInfinity = std::numeric_limits<double>::infinity();
  const double half_width = halves ? 0.25 : 0.5;
  if (call.open) return {call.reserve - 0.5, kInfinity};
  return {call.reserve <= 0 ? -kInfinity : call.reserve - half_width, call.reserve + half_width};
}

double call_probability(const Judgement& j, double rho, const Cell& cell, bool on_cue) {
  const double mean = heard_mean(j, rho, on_cue);
  const double sd = heard_sd(j, rho);
  return normal_between((cell.low - mean) / sd, (cell.high - mean) / sd);
}

namespace {

// The first rep n >= 1 up to which the chance of going on has come down to P(Z > z).
double first_felt(const Judgement& j, double capacity, const Cell& cue, double z) {
  constexpr int kFarAway = 40;  // reps left: nothing is felt there yet
  const double enough = normal_cdf(-z);
  const int whole = static_cast<int>(std::clamp(std::floor(capacity), 0.0, 1e6));
  const NormalTail& table = NormalTail::instance();
  double going_on = 1;
  for (int n = std::max(1, whole - kFarAway); n <= whole; n += kLanes) {
    const Lanes rho = capacity - (lanes(n) + Lanes{0, 1, 2, 3});
    const Lanes sd = j.spread + j.spread_rise * larger(rho, lanes(0));
    const NormalEnd end = normal_end((j.gain * rho - (j.bias + j.cue_shift + cue.high)) / sd, table);
    const Lanes above = end.z > 0 ? 1.0 - end.tail : end.tail;
    for (int lane = 0; lane < kLanes && n + lane <= whole; ++lane) {
      going_on *= above[lane];
      if (going_on <= enough) return n + lane;
    }
  }
  return whole + 1;  // failure comes first
}

}  // namespace

double cue_stop_rep(const Judgement& j, double capacity, const Cell& cue, double z) {
  if (j.each_rep) return first_felt(j, capacity, cue, z);
  // heard(rho) = (g + s1 z) rho - b - shift + s0 z <= cue.high  <=>  rho <= threshold
  const double slope = j.gain + j.spread_rise * z;
  const double level = cue.high + j.bias + j.cue_shift - j.spread * z;
  if (slope <= 1e-3) return level >= 0 ? 0.0 : std::ceil(capacity);  // feels the same all along
  const double threshold = level / slope;
  return std::max(0.0, std::ceil(capacity - threshold));
}

}  // namespace ullage::capacity
