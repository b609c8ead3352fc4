#include "engine/base/quadrature.h"

#include <cmath>

namespace ullage {

QuadratureRule gauss_legendre(int n) {
  constexpr double kPi = 3.14159265358979323846;
  QuadratureRule rule;
  rule.node.resize(static_cast<std::size_t>(n));
  rule.weight.resize(static_cast<std::size_t>(n));
  for (int i = 0; i < n; ++i) {
    double x = -std::cos(kPi * (i + 0.75) / (n + 0.5));
    double derivative = 1;
    for (int step = 0; step < 100; ++step) {
      double previous = 1;
      double current = x;
      for (int j = 2; j <= n; ++j) {
        const double next = ((2 * j - 1) * x * current - (j - 1) * previous) / j;
        previous = current;
        current = next;
      }
      if (n == 1) previous = 1;
      derivative = n * (previous - x * current) / (1 - x * x);
      const double move = current / derivative;
      x -= move;
      if (std::fabs(move) < 1e-15) break;
    }
    rule.node[static_cast<std::size_t>(i)] = x;
    rule.weight[static_cast<std::size_t>(i)] = 2 / ((1 - x * x) * derivative * derivative);
  }
  return rule;
}

}  // namespace ullage
