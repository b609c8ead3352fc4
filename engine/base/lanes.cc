#include "engine/base/lanes.h"

#include <cmath>

namespace ullage {
namespace {

// (1 - Phi(a))/phi(a): by erfc where it is large, by Laplace's continued fraction beyond.
double tail_ratio(double a) {
  if (a < 6) return std::sqrt(std::acos(-1.0) / 2) * std::erfc(a / std::sqrt(2.0)) * std::exp(0.5 * a * a);
  double fraction = a;
  for (int k = 120; k > 0; --k) fraction = a + k / fraction;
  return 1 / fraction;
}

}  // namespace

NormalTail::NormalTail() {
  constexpr int kPoints = 64;
  const double pi = std::acos(-1.0);
  for (int k = 0; k < kTerms; ++k) {
    double sum = 0;
    for (int j = 0; j < kPoints; ++j) {
      const double angle = pi * (j + 0.5) / kPoints;
      const double t = std::cos(angle);
      const double a = kCentre * (1 - t) / (1 + t);
      sum += tail_ratio(a) * (1 + a / kCentre) * std::cos(k * angle);
    }
    coefficient_[static_cast<std::size_t>(k)] = (k == 0 ? 1.0 : 2.0) * sum / kPoints;
  }
}

const NormalTail& NormalTail::instance() {
  static const NormalTail kTable;
  return kTable;
}

}  // namespace ullage
