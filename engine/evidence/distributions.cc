#include "engine/evidence/distributions.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

namespace ullage::evidence {
namespace {

// Errors come back as NaN, never as exceptions: a statistic that is not a number has no tail.
namespace policies = boost::math::policies;
using Quiet =
    policies::policy<policies::domain_error<policies::ignore_error>, policies::pole_error<policies::ignore_error>,
                     policies::overflow_error<policies::ignore_error>,
                     policies::evaluation_error<policies::ignore_error>, policies::promote_double<false>>;
using Normal = boost::math::normal_distribution<double, Quiet>;
using Student = boost::math::students_t_distribution<double, Quiet>;
using ChiSquare = boost::math::chi_squared_distribution<double, Quiet>;
using FisherF = boost::math::fisher_f_distribution<double, Quiet>;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

}  // namespace

double student_two_sided_p(double t, double df) {
  if (std::isnan(t) || !(df > 0)) return kNone;
  if (std::isinf(t)) return 0;
  if (std::isinf(df)) return 2 * boost::math::cdf(boost::math::complement(Normal(), std::abs(t)));
  return 2 * boost::math::cdf(boost::math::complement(Student(df), std::abs(t)));
}

double student_quantile(double p, double df) {
  if (!(p > 0 && p < 1) || !(df > 0)) return kNone;
  return std::isinf(df) ? boost::math::quantile(Normal(), p) : boost::math::quantile(Student(df), p);
}

double chi_square_upper(double x, double df) {
  if (std::isnan(x)) return kNone;
  if (!(df > 0) || x <= 0) return 1;
  return std::isinf(x) ? 0 : boost::math::cdf(boost::math::complement(ChiSquare(df), x));
}

double chi_square_quantile(double p, double df) {
  if (!(p > 0 && p < 1) || !(df > 0)) return kNone;
  return boost::math::quantile(ChiSquare(df), p);
}

double f_upper(double f, double df1, double df2) {
  if (std::isnan(f) || !(df1 > 0) || !(df2 > 0)) return kNone;
  if (f <= 0) return 1;
  if (std::isinf(f)) return 0;
  if (std::isinf(df2)) return chi_square_upper(f * df1, df1);
  return boost::math::cdf(boost::math::complement(FisherF(df1, df2), f));
}

}  // namespace ullage::evidence
