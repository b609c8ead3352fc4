#include "engine/base/normal.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>

#include "engine/base/lanes.h"

namespace ullage {
namespace {
constexpr double kSqrtHalf = 0.70710678118654752440;
constexpr double kInverseSqrtTwoPi = 0.39894228040143267794;
constexpr double kLogSqrtTwoPi = 0.91893853320467274178;

// A ratio of two polynomials of degree 7, lowest coefficient first. T: double or Lanes.
using Coefficients = std::array<double, 8>;
template <class T>
ULLAGE_INLINE T ratio(const Coefficients& above, const Coefficients& below, const T& x) {
  T numerator = above[7] * x + above[6], denominator = below[7] * x + below[6];
  for (std::size_t i = 6; i-- > 0;) {
    numerator = numerator * x + above[i];
    denominator = denominator * x + below[i];
  }
  return numerator / denominator;
}

// M. J. Wichura 1988, Applied Statistics 37:477-484: three ratios of polynomials, in the middle and in two parts of the
// tail. Its coefficients are checked through the cumulative chance and exact values (normal_test.cc).
constexpr double kMiddle = 0.425;  // either side of 1/2
constexpr Coefficients kMiddleAbove{3.3871328727963666080e0,  1.3314166789178437745e+2, 1.9715909503065514427e+3,
                                    1.3731693765509461125e+4, 4.5921953931549871457e+4, 6.7265770927008700853e+4,
                                    3.3430575583588128105e+4, 2.5090809287301226727e+3};
constexpr Coefficients kMiddleBelow{1.0,
                                    4.2313330701600911252e+1,
                                    6.8718700749205790830e+2,
                                    5.3941960214247511077e+3,
                                    2.1213794301586595867e+4,
                                    3.9307895800092710610e+4,
                                    2.8729085735721942674e+4,
                                    5.2264952788528545610e+3};
template <class T>
ULLAGE_INLINE T middle_quantile(const T& off) {
  return off * ratio<T>(kMiddleAbove, kMiddleBelow, 0.180625 - off * off);
}

ULLAGE_WIDE void middle_quantiles(const double* chances, double* out, std::size_t count) {
  for (std::size_t i = 0; i + kLanes <= count; i += kLanes) {
    const Lanes z = middle_quantile<Lanes>(lanes_from(chances + i) - 0.5);
    std::memcpy(out + i, &z, sizeof z);
  }
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
  static constexpr Coefficients kTailAbove{
      1.42343711074968357734e0, 4.63033784615654529590e0,  5.76949722146069140550e0,  3.64784832476320460504e0,
      1.27045825245236838258e0, 2.41780725177450611770e-1, 2.27238449892691845833e-2, 7.74545014278341407640e-4};
  static constexpr Coefficients kTailBelow{1.0,
                                           2.05319162663775882187e0,
                                           1.67638483018380384940e0,
                                           6.89767334985100004550e-1,
                                           1.48103976427480074590e-1,
                                           1.51986665636164571966e-2,
                                           5.47593808499534494600e-4,
                                           1.05075007164441684324e-9};
  static constexpr Coefficients kFarAbove{
      6.65790464350110377720e0,  5.46378491116411436990e0,  1.78482653991729133580e0,  2.96560571828504891230e-1,
      2.65321895265761230930e-2, 1.24266094738807843860e-3, 2.71155556874348757815e-5, 2.01033439929228813265e-7};
  static constexpr Coefficients kFarBelow{1.0,
                                          5.99832206555887937690e-1,
                                          1.36929880922735805310e-1,
                                          1.48753612908506148525e-2,
                                          7.86869131145613259100e-4,
                                          1.84631831751005468180e-5,
                                          1.42151175831644588870e-7,
                                          2.04426310338993978564e-15};
  const double off = p - 0.5;
  if (std::fabs(off) <= kMiddle) return middle_quantile(off);
  const double t = std::sqrt(-std::log(off < 0 ? p : 1.0 - p));
  const double z = t <= 5 ? ratio(kTailAbove, kTailBelow, t - 1.6) : ratio(kFarAbove, kFarBelow, t - 5);
  return off < 0 ? -z : z;
}

void normal_quantiles(double* values, std::size_t count) {
  constexpr std::size_t kBlock = 64;
  std::array<double, kBlock> middle;
  for (std::size_t from = 0; from < count; from += kBlock) {
    const std::size_t here = std::min(kBlock, count - from);
    const std::size_t whole = here - here % kLanes;
    middle_quantiles(values + from, middle.data(), whole);
    for (std::size_t i = 0; i < here; ++i) {
      double& value = values[from + i];
      value = i < whole && std::fabs(value - 0.5) <= kMiddle ? middle[i] : normal_quantile(value);
    }
  }
}

}  // namespace ullage
