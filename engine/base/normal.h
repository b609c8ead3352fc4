// The standard normal distribution, stable in both tails.
#pragma once

#include <cstddef>

namespace ullage {

// Density at z.
double normal_density(double z);
// P(Z <= z) through erfc; relative error below 1e-15 + 2.3e-16 z^2, also in the lower tail.
double normal_cdf(double z);
// P(low < Z <= high) without cancellation when both lie in the same tail. low <= high; either may
// be infinite.
double normal_between(double low, double high);
// log P(Z <= z), finite down to z = -1e8 (asymptotic series below -30).
double normal_log_cdf(double z);
// z with P(Z <= z) = p, 0 < p < 1; relative error below 1e-14 (ratios of polynomials).
double normal_quantile(double p);
// Each of the `count` chances by its quantile: the same numbers to the bit, at a third of the cost.
void normal_quantiles(double* values, std::size_t count);

}  // namespace ullage
