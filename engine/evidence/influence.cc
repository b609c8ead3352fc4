#include "engine/evidence/influence.h"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <cmath>
#include <limits>
#include <set>

namespace ullage::evidence {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

}  // namespace

Result<std::vector<Influence>> influence(const VectorXd& y, const VectorXd& v, const MatrixXd& x,
                                         const std::vector<std::string>& names, const PoolOptions& wish) {
  PoolOptions options = wish;
  options.tau2_interval = false;
  const auto whole = pool(y, v, x, names, options);
  if (!whole) return tl::unexpected(whole.error());
  const Index k = y.size();
  const VectorXd w = (v.array() + whole->tau2).inverse();
  const MatrixXd c = (x.transpose() * w.asDiagonal() * x).ldlt().solve(MatrixXd::Identity(x.cols(), x.cols()));
  const auto inverse = whole->covariance.ldlt();
  const double det = whole->covariance.determinant();
  std::vector<Influence> out;
  std::vector<Index> rest(static_cast<std::size_t>(k - 1));
  for (Index i = 0; i < k; ++i) {
    for (Index j = 0; j + 1 < k; ++j) rest[static_cast<std::size_t>(j)] = j < i ? j : j + 1;
    Influence one;
    one.hat = w(i) * x.row(i).dot(c * x.row(i).transpose());
    const auto part = pool(VectorXd(y(rest)), VectorXd(v(rest)), MatrixXd(x(rest, Eigen::all)), names, options);
    if (!part) {
      one.possible = false;
      one.rstudent = one.dffits = one.cook = one.cov_ratio = one.tau2 = one.q = one.estimate = one.se = one.p = kNone;
      out.push_back(one);
      continue;
    }
    const VectorXd moved = whole->estimate - part->estimate;
    const double predicted = x.row(i).dot(part->estimate);
    const double spread = x.row(i).dot(part->covariance * x.row(i).transpose());
    one.rstudent = (y(i) - predicted) / std::sqrt(part->scale * (v(i) + part->tau2) + spread);
    one.dffits = x.row(i).dot(moved) / std::sqrt(part->scale * one.hat * (part->tau2 + v(i)));
    one.cook = moved.dot(inverse.solve(moved));
    one.cov_ratio = part->covariance.determinant() / det;
    one.tau2 = part->tau2;
    one.q = part->q;
    one.estimate = part->coefficients[0].estimate;
    one.se = part->coefficients[0].se;
    one.p = part->coefficients[0].p;
    out.push_back(one);
  }
  return out;
}

Result<std::vector<WithoutGroup>> leave_one_group_out(const MultilevelData& data, const MultilevelFit& whole,
                                                      const MultilevelOptions& wish, int which,
                                                      const std::function<bool(int, int)>& keep_going) {
  MultilevelOptions options = wish;
  options.profile_intervals = false;
  options.start = whole.sigma2;
  std::vector<int> order;  // of first appearance
  std::set<int> seen;
  for (const int g : data.levels[0]) {
    if (seen.insert(g).second) order.push_back(g);
  }
  std::vector<WithoutGroup> out;
  for (std::size_t i = 0; i < order.size(); ++i) {
    if (keep_going && !keep_going(static_cast<int>(i), static_cast<int>(order.size())))
      return fail(Code::cancelled, "stopped");
    WithoutGroup one;
    one.group = order[i];
    std::vector<bool> leave(data.levels[0].size());
    for (std::size_t j = 0; j < leave.size(); ++j) {
      leave[j] = data.levels[0][j] == order[i];
      one.effects += leave[j] ? 1 : 0;
    }
    const auto fit = fit_multilevel(without(data, leave), options);
    if (fit) {
      const Coefficient& c = fit->coefficients[static_cast<std::size_t>(which)];
      one.estimate = c.estimate;
      one.se = c.se;
      one.interval = c.interval;
      one.p = c.p;
      one.heterogeneity = fit->heterogeneity;
    } else {
      one.possible = false;
      one.estimate = one.se = one.p = one.heterogeneity = kNone;
    }
    out.push_back(one);
  }
  return out;
}

}  // namespace ullage::evidence
