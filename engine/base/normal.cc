#include "engine/base/normal.h"

#include <cmath>
#include <initializer_list>
#include <limits>

namespace ullage {
namespace {
constexpr double kSqrtHalf = 0.70710678118654752440;
constexpr double kInverseSqrtTwoPi = 0.39894228040143267794;
constexpr double kLogSqrtTwoPi = 0.91893853320467274178;

// First guess: the classical three-term rational approximation for the normal quantile,
// M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.2.23, |error| < 4.5e-4.
double rational_upper(double tail) {
  const double t = std::sqrt(-2.0 * std::log(tail));
  return t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
}
}  // namespace

double normal_density(double z) { return kInverseSqrtTwoPi * std::exp(-0.5 * z * z); }

double normal_cdf(double z) { return 0.5 * std::erfc(-z * kSqrtHalf); }

double normal_between(double low, double high) {
  if (low > 0) return normal_cdf(-low) - normal_cdf(-high);
  return normal_cdf(high) - normal_cdf(low);
}

double normal_log_cdf(double z) {
  if (z > 5) return std::log1p(-0.5 * std::erfc(z * kSqrtHalf));
  if (z > -30) return std::log(normal_cdf(z));
  const double inverse_square = 1.0 / (z * z);
  const double tail = 15.0 - inverse_square * (105.0 - inverse_square * 945.0);
  const double series = 1.0 - inverse_square * (1.0 - inverse_square * (3.0 - inverse_square * tail));
  return -0.5 * z * z - kLogSqrtTwoPi - std::log(-z) + std::log(series);
}

double normal_quantile(double p) {
  if (!(p > 0)) return -std::numeric_limits<double>::infinity();
  if (!(p < 1)) return std::numeric_limits<double>::infinity();
  if (p == 0.5) return 0;
  const bool lower = p < 0.5;
  const double tail = lower ? p : 1.0 - p;
  double z = -rational_upper(tail);
  for (int step = 0; step < 3; ++step) {  // Halley on log-free residual, in the lower tail
    // Near the middle both are close to a half, which is taken off first.
    const double difference = z > -1 ? 0.5 * std::erf(z * kSqrtHalf) - (tail - 0.5) : normal_cdf(z) - tail;
    const double residual = difference / normal_density(z);
    z -= residual / (1.0 + 0.5 * z * residual);
  }
  return lower ? z : -z;
}

}  // namespace ullage
