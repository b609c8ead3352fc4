#include "engine/drawing/scale.h"

#include <algorithm>
#include <cmath>

#include "engine/drawing/words.h"

namespace ullage::drawing {
namespace {

double power_of_ten(int exponent) {
  double power = 1;
  for (int i = 0; i < std::abs(exponent); ++i) power *= 10;
  return exponent < 0 ? 1 / power : power;
}

constexpr double kSlack = 1e-9;  // of a step: what rounding may do to a tick at an end

// Round values of a log axis from `low` to `high`: all 1-2-5 values, or only the powers of ten when those are many.
std::vector<double> log_ticks(double low, double high, int about) {
  const int from = static_cast<int>(std::floor(std::log10(low) - kSlack));
  const int to = static_cast<int>(std::ceil(std::log10(high) + kSlack));
  std::vector<double> all, tens;
  for (int e = from; e <= to; ++e) {
    for (const double m : {1.0, 2.0, 5.0}) {
      const double tick = m * power_of_ten(e);
      if (tick < low * (1 - kSlack) || tick > high * (1 + kSlack)) continue;
      all.push_back(tick);
      if (m == 1.0) tens.push_back(tick);
    }
  }
  if (static_cast<int>(all.size()) <= about + about / 2 || tens.size() < 2) return all;
  std::vector<double> thinned;
  const std::size_t every = std::max<std::size_t>(1, tens.size() / static_cast<std::size_t>(std::max(about, 1)));
  for (std::size_t i = 0; i < tens.size(); i += every) thinned.push_back(tens[i]);
  return thinned;
}

}  // namespace

double nice_step(double span, int about) {
  const double rough = span / std::max(about, 1);
  if (!(rough > 0) || !std::isfinite(rough)) return 1;
  const double power = power_of_ten(static_cast<int>(std::floor(std::log10(rough))));
  const double share = rough / power;
  return (share < 1.5 ? 1 : share < 3.5 ? 2 : share < 7.5 ? 5 : 10) * power;
}

Scale Scale::linear(double low, double high) {
  Scale s;
  s.low_ = low;
  s.high_ = high > low ? high : low + 1;
  return s;
}

Scale Scale::log(double low, double high) {
  Scale s;
  s.log_ = true;
  s.low_ = low > 0 ? low : 1e-12;
  s.high_ = high > s.low_ ? high : 2 * s.low_;
  return s;
}

Scale Scale::around(const std::vector<double>& values, bool log, int about_ticks) {
  double low = INFINITY, high = -INFINITY;
  for (const double v : values) {
    if (!std::isfinite(v) || (log && v <= 0)) continue;
    low = std::min(low, v);
    high = std::max(high, v);
  }
  if (!(low <= high)) return log ? Scale::log(1, 10) : Scale::linear(0, 1);
  if (log) {
    const std::vector<double> round = log_ticks(low / 10, high * 10, 1000);
    double from = low, to = high;
    for (const double r : round) {
      if (r <= low * (1 + kSlack)) from = r;
    }
    for (auto r = round.rbegin(); r != round.rend(); ++r) {
      if (*r >= high * (1 - kSlack)) to = *r;
    }
    return Scale::log(from, to);
  }
  if (low == high) {
    const double pad = low == 0 ? 1 : std::abs(low) / 2;
    low -= pad;
    high += pad;
  }
  const double step = nice_step(high - low, about_ticks);
  return linear(std::floor(low / step + kSlack) * step, std::ceil(high / step - kSlack) * step);
}

Scale Scale::onto(double at_low, double at_high) const {
  Scale s = *this;
  s.at_low_ = at_low;
  s.at_high_ = at_high;
  return s;
}

double Scale::operator()(double value) const {
  const double share = log_ ? (std::log(std::max(value, 1e-300)) - std::log(low_)) / (std::log(high_) - std::log(low_))
                            : (value - low_) / (high_ - low_);
  return at_low_ + share * (at_high_ - at_low_);
}

double Scale::clamped(double value) const { return std::clamp(value, low_, high_); }

std::vector<double> Scale::ticks(int about) const {
  if (log_) return log_ticks(low_, high_, about);
  const double step = nice_step(high_ - low_, about);
  std::vector<double> ticks;
  const double first = std::ceil(low_ / step - kSlack), last = std::floor(high_ / step + kSlack);
  for (double i = first; i <= last && ticks.size() < 1000; ++i) ticks.push_back(i == 0 ? 0 : i * step);
  return ticks;
}

std::string Scale::tick_text(double value, int about) const {
  const double step = log_ ? value : nice_step(high_ - low_, about);
  int decimals = 0;
  while (decimals < 9 && std::abs(step * power_of_ten(decimals) - std::round(step * power_of_ten(decimals))) > 1e-6) {
    ++decimals;
  }
  return number_text(value, decimals);
}

}  // namespace ullage::drawing
