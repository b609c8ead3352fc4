#include "engine/evidence/small_study.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <vector>

#include "engine/evidence/design.h"
#include "engine/evidence/distributions.h"

namespace ullage::evidence {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

Result<MatrixXd> on_errors(const VectorXd& v) {
  MatrixXd x(v.size(), 2);
  x.col(0).setOnes();
  x.col(1) = v.array().sqrt();
  if (const auto good = check_design(x, {"intercept", "standard error"}); !good)
    return fail(Code::invalid_input,
                "a test of small studies needs 3 effects or more that are not all equally precise");
  return x;
}

EggerTest told(const PoolFit& fit) {
  EggerTest out;
  out.slope = fit.coefficients[1].estimate;
  out.statistic = fit.coefficients[1].statistic;
  out.df = fit.coefficients[1].df;
  out.p = fit.coefficients[1].p;
  out.limit = fit.coefficients[0].estimate;
  out.limit_interval = fit.coefficients[0].interval;
  return out;
}

// P(number of agreeing pairs <= c) for n in random order: counts of permutations by inversions, as shares.
double kendall_below(double c, int n) {
  const int pairs = n * (n - 1) / 2;
  if (c < 0) return 0;
  if (c >= pairs) return 1;
  std::vector<double> share{1};
  for (int m = 2; m <= n; ++m) {
    std::vector<double> next(share.size() + static_cast<std::size_t>(m) - 1, 0.0);
    double window = 0;
    for (std::size_t i = 0; i < next.size(); ++i) {
      if (i < share.size()) window += share[i];
      if (i >= static_cast<std::size_t>(m) && i - static_cast<std::size_t>(m) < share.size())
        window -= share[i - static_cast<std::size_t>(m)];
      next[i] = window / m;
    }
    share = std::move(next);
  }
  double sum = 0;
  for (int i = 0; i <= static_cast<int>(c); ++i) sum += share[static_cast<std::size_t>(i)];
  return std::min(sum, 1.0);
}

// Sums over groups of equal values that a rank correlation's variance needs.
struct Ties {
  double pairs = 0, t3 = 0, t12 = 0, cubic = 0;
};
Ties ties_of(const VectorXd& x) {
  std::map<double, double> count;
  for (const double value : x) ++count[value];
  Ties out;
  for (const auto& [value, t] : count) {
    out.pairs += t * (t - 1) / 2;
    out.t12 += t * (t - 1);
    out.t3 += t * (t - 1) * (t - 2);
    out.cubic += t * (t - 1) * (2 * t + 5);
  }
  return out;
}

}  // namespace

Result<EggerTest> egger(const VectorXd& y, const VectorXd& v, double level) {
  const auto x = on_errors(v);
  if (!x) return tl::unexpected(x.error());
  // Weighted least squares with a free residual variance is the common-effect regression with errors scaled by it.
  PoolOptions options;
  options.method = Method::common;
  options.reference = Reference::knapp_hartung;
  options.level = level;
  const auto fit = pool(y, v, *x, {"intercept", "standard error"}, options);
  if (!fit) return tl::unexpected(fit.error());
  return told(*fit);
}

Result<EggerTest> egger_mixed(const VectorXd& y, const VectorXd& v, Method method, double level) {
  const auto x = on_errors(v);
  if (!x) return tl::unexpected(x.error());
  PoolOptions options;
  options.method = method;
  options.level = level;
  options.tau2_interval = false;
  const auto fit = pool(y, v, *x, {"intercept", "standard error"}, options);
  if (!fit) return tl::unexpected(fit.error());
  return told(*fit);
}

Result<RankTest> rank_test(const VectorXd& y, const VectorXd& v) {
  const Index n = y.size();
  if (n < 3) return fail(Code::invalid_input, "a rank test needs 3 effects or more");
  const VectorXd w = v.array().inverse();
  const double mean = w.dot(y) / w.sum();
  const VectorXd standardised = (y.array() - mean) / (v.array() - 1 / w.sum()).sqrt();
  double score = 0;
  for (Index i = 0; i < n; ++i) {
    for (Index j = 0; j < i; ++j) {
      const double a = standardised(i) - standardised(j), b = v(i) - v(j);
      if (a != 0 && b != 0) score += (a > 0) == (b > 0) ? 1 : -1;
    }
  }
  const Ties a = ties_of(standardised), b = ties_of(v);
  const double nn = static_cast<double>(n), pairs = nn * (nn - 1) / 2;
  RankTest out;
  out.tau = score / std::sqrt((pairs - a.pairs) * (pairs - b.pairs));
  out.exact = a.pairs == 0 && b.pairs == 0;
  if (out.exact) {
    const double agreeing = std::round((score + pairs) / 2);
    const int size = static_cast<int>(n);
    out.p = std::min(1.0, 2 * std::min(kendall_below(agreeing, size), 1 - kendall_below(agreeing - 1, size)));
  } else {
    const double variance = (nn * (nn - 1) * (2 * nn + 5) - a.cubic - b.cubic) / 18 +
                            a.t12 * b.t12 / (2 * nn * (nn - 1)) + a.t3 * b.t3 / (9 * nn * (nn - 1) * (nn - 2));
    out.p = student_two_sided_p(score / std::sqrt(variance), std::numeric_limits<double>::infinity());
  }
  return out;
}

}  // namespace ullage::evidence
