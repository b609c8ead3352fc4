#include "engine/base/random.h"

#include <cmath>

#include "engine/base/normal.h"

namespace ullage {

Random::Random(std::uint64_t seed, std::uint64_t stream) : state_(0), increment_((stream << 1U) | 1U) {
  bits();
  state_ += seed;
  bits();
}

std::uint32_t Random::bits() {
  const std::uint64_t old = state_;
  state_ = old * 6364136223846793005ULL + increment_;
  const auto shifted = static_cast<std::uint32_t>(((old >> 18U) ^ old) >> 27U);
  const auto rotate = static_cast<std::uint32_t>(old >> 59U);
  return (shifted >> rotate) | (shifted << ((32U - rotate) & 31U));
}

double Random::uniform() {
  const std::uint64_t high = bits() >> 5U;
  const std::uint64_t low = bits() >> 6U;
  return (static_cast<double>(high * 67108864ULL + low) + 0.5) / 9007199254740992.0;
}

double Random::uniform(double low, double high) { return low + (high - low) * uniform(); }

int Random::integer(int low, int high) {
  // Unsigned throughout: the range may hold more numbers than int has above 0, or all there are (span 0).
  const auto first = static_cast<std::uint32_t>(low);
  const std::uint32_t span = static_cast<std::uint32_t>(high) - first + 1;
  if (span == 0) return static_cast<int>(bits());
  std::uint32_t draw = bits();
  if (draw < span) {  // the limit lies below the span, and is a division
    const std::uint32_t limit = (0U - span) % span;
    while (draw < limit) draw = bits();
  }
  return static_cast<int>(first + draw % span);
}

double Random::normal() { return normal_quantile(uniform()); }

double Random::log_normal(double log_mean, double log_sd) { return std::exp(normal(log_mean, log_sd)); }

double Random::exponential(double mean) { return -mean * std::log(uniform()); }

// G. Marsaglia, W. W. Tsang, A simple method for generating gamma variables, ACM TOMS 26(3), 2000.
double Random::gamma(double shape, double mean) {
  const double d = shape - 1.0 / 3.0;
  const double c = 1.0 / std::sqrt(9.0 * d);
  for (;;) {
    const double x = normal();
    const double t = 1.0 + c * x;
    if (t <= 0) continue;
    const double v = t * t * t;
    if (std::log(uniform()) < 0.5 * x * x + d - d * v + d * std::log(v)) return d * v * mean / shape;
  }
}

}  // namespace ullage
