// Gauss-Legendre rules on [-1, 1].
#pragma once

#include <vector>

namespace ullage {

struct QuadratureRule {
  std::vector<double> node;    // rising
  std::vector<double> weight;  // sum 2
};

// The n-point rule, exact for polynomials of degree 2n - 1. Computed by Newton on the Legendre
// polynomial; n 1..200. Cost n^2: keep the result.
QuadratureRule gauss_legendre(int n);

}  // namespace ullage
