// Tails and quantiles of the distributions that tests and intervals rest on. Boost.Math is kept inside the one .cc.
#pragma once

namespace ullage::evidence {

// df = infinity: the normal distribution.
double student_two_sided_p(double t, double df);
// The point with `p` below it.
double student_quantile(double p, double df);
double chi_square_upper(double x, double df);     // P(X > x); 1 for df = 0
double chi_square_quantile(double p, double df);  // the point with `p` below it
// P(F > f); df2 = infinity: chi-square over df1.
double f_upper(double f, double df1, double df2);

}  // namespace ullage::evidence
