#include "engine/capacity/judgement.h"

#include <limits>

#include "engine/capacity/felt_each_rep.h"

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
