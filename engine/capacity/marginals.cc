#include "engine/capacity/marginals.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <array>
#include <cmath>

#include "engine/capacity/skewness.h"

namespace ullage::capacity {
namespace {

constexpr double kAway = 1.5;             // sds, of each unknown of a point
constexpr double kLeastOfSd = 2.0 / 3.0;  // what an sd by points may be of the curvature's
constexpr double kMostOfSd = 1.25;

// The log marginal about a place.
struct Around {
  FieldSolver& solver;
  const Eigen::VectorXd& centre;
  const Scales& scales;
  double middle;
  // By how much it falls to both sides of a step, together.
  double falls(const Eigen::VectorXd& step) const {
    Eigen::VectorXd up = centre + step, down = centre - step;
    return 2 * middle - solver.near_value(up, scales) - solver.near_value(down, scales);
  }
};

// Mean precision of several unknowns, in units of the curvature's: the identity where the marginal is the Gaussian that
// the curvature says. along: the field by standard normals of these.
Eigen::MatrixXd precision_together(const Around& around, const Eigen::MatrixXd& along) {
  const Eigen::Index n = along.cols();
  Eigen::MatrixXd out(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const double as_far = kAway * std::sqrt(2.0);  // as the pairs are
    out(i, i) = around.falls(as_far * along.col(i)) / (as_far * as_far);
    for (Eigen::Index j = 0; j < i; ++j) {
      const Eigen::VectorXd same = kAway * (along.col(i) + along.col(j)), other = kAway * (along.col(i) - along.col(j));
      out(i, j) = out(j, i) = (around.falls(same) - around.falls(other)) / (4 * kAway * kAway);
    }
  }
  return out;
}

}  // namespace

Eigen::MatrixXd spread_of_shared(FieldSolver& solver, const Eigen::VectorXd& centre, const Scales& scales,
                                 double middle, const FieldSolver::Following& way,
                                 const std::vector<Eigen::Index>& together) {
  constexpr double kLeastAlone = 0.87;
  const Eigen::Index count = way.covariance.rows();
  const bool pairs = together.size() > 1;
  const Around around{solver, centre, scales, middle};
  Eigen::MatrixXd out = Eigen::MatrixXd::Identity(count, count);
  for (Eigen::Index j = 0; j < count; ++j) {
    if (pairs && std::find(together.begin(), together.end(), j) != together.end()) continue;
    const double sd = std::sqrt(way.covariance(j, j));
    const double precision = around.falls(kAway / sd * (way.follow * way.covariance.col(j))) / (kAway * kAway);
    if (std::isfinite(precision)) {
      out(j, j) = std::clamp(1 / std::sqrt(std::max(precision, 0.1)), kLeastAlone, kMostOfSd);
    }
  }
  if (!pairs) return out;
  const auto n = static_cast<Eigen::Index>(together.size());
  Eigen::MatrixXd own(n, n), columns(count, n);
  for (Eigen::Index a = 0; a < n; ++a) {
    const Eigen::Index i = together[static_cast<std::size_t>(a)];
    columns.col(a) = way.covariance.col(i);
    for (Eigen::Index b = 0; b < n; ++b) own(a, b) = way.covariance(i, together[static_cast<std::size_t>(b)]);
  }
  const Eigen::LLT<Eigen::MatrixXd> factor(own);
  if (factor.info() != Eigen::Success) return out;
  const Eigen::MatrixXd root = factor.matrixL();
  // The others go along as the curvature has it.
  const Eigen::MatrixXd along = way.follow * columns * factor.solve(root);
  const Eigen::MatrixXd precision = precision_together(around, along);
  if (!precision.allFinite()) return out;
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> parts(precision);
  const Eigen::VectorXd sds =
      parts.eigenvalues().cwiseMax(1e-3).cwiseSqrt().cwiseInverse().cwiseMin(kMostOfSd).cwiseMax(kLeastOfSd);
  const Eigen::MatrixXd covariance =
      root * parts.eigenvectors() * sds.cwiseAbs2().asDiagonal() * parts.eigenvectors().transpose() * root.transpose();
  const Eigen::MatrixXd to = covariance.llt().matrixL();
  const Eigen::MatrixXd map = to * factor.matrixL().solve(Eigen::MatrixXd::Identity(n, n));
  for (Eigen::Index a = 0; a < n; ++a) {
    for (Eigen::Index b = 0; b < n; ++b) {
      out(together[static_cast<std::size_t>(a)], together[static_cast<std::size_t>(b)]) = map(a, b);
    }
  }
  return out;
}

std::vector<Shape> shape_of_strength(FieldSolver& solver, const FieldLayout& layout, const Eigen::VectorXd& centre,
                                     const Scales& scales) {
  constexpr double kGone = 4.5;                    // log units below the middle: farther out there is next to nothing
  constexpr int kFarthest = 6;                     // sds
  constexpr double kLeastSd = 0.8, kMostSd = 1.4;  // beyond them the points are no density of one hump
  const auto lifts = static_cast<Eigen::Index>(layout.strength.size());
  const auto last = [&](Eigen::Index l) { return layout.strength[static_cast<std::size_t>(l)].back(); };
  std::vector<Shape> out(layout.strength.size());
  solver.pin_shared();
  Eigen::VectorXd middle = centre;
  if (!std::isfinite(solver.near_value(middle, scales, 1))) return out;
  Eigen::MatrixXd along = Eigen::MatrixXd::Zero(centre.size(), lifts);
  for (Eigen::Index l = 0; l < lifts; ++l) along(last(l), l) = 1;
  along = solver.own_ldl().solve(along);
  for (Eigen::Index l = 0; l < lifts; ++l) {
    const double sd = std::sqrt(along(last(l), l));
    if (!(sd > 0)) continue;  // the curvature broke down
    solver.pin_shared_and(last(l));
    Eigen::VectorXd at = centre;
    const double top = solver.near_value(at, scales, 1);
    ShapeSums sums;  // at whole sds they are integrals, and very nearly exact
    sums.add(0, 1);
    bool good = std::isfinite(top);
    for (const int side : {-1, 1}) {
      // Each point starts where the two before it lead to.
      Eigen::VectorXd before = centre, here = centre;
      for (int sds = 1; good && sds <= kFarthest; ++sds) {
        const Eigen::VectorXd start = sds == 1 ? Eigen::VectorXd(centre + side / sd * along.col(l)) : 2 * here - before;
        before = std::move(here);
        here = start;
        const double value = solver.near_value(here, scales, 1) - top;
        good = std::isfinite(value);
        sums.add(side * sds, std::exp(std::min(value, 2.0)));
        if (value < -kGone) break;
      }
    }
    const Shape shape = sums.shape();
    if (good && shape.sd > kLeastSd && shape.sd < kMostSd) out[static_cast<std::size_t>(l)] = shape;
  }
  return out;
}

OverEndurance over_endurance(FieldSolver& solver, const FieldLayout& layout, const Eigen::VectorXd& centre,
                             const Scales& scales) {
  constexpr double kMostOff = 1.5;                  // sds: farther than that the points say nothing
  constexpr double kLeastSd = 0.9, kMostSd = 1.25;  // two sds to either side do not show more
  OverEndurance out;
  out.move = Eigen::VectorXd::Zero(centre.size());
  const auto count = static_cast<Eigen::Index>(layout.log_endurance.size());
  Eigen::MatrixXd along = Eigen::MatrixXd::Zero(centre.size(), count);
  for (Eigen::Index e = 0; e < count; ++e) along(layout.log_endurance[static_cast<std::size_t>(e)], e) = 1;
  solver.pin_shared();
  Eigen::VectorXd there = centre;
  if (!std::isfinite(solver.near_value(there, scales, 1))) return out;
  along = solver.own_ldl().solve(along);
  for (Eigen::Index e = 0; e < count; ++e) {
    const int k = layout.log_endurance[static_cast<std::size_t>(e)];
    const double sd = std::sqrt(along(k, e));
    if (!(sd > 0)) continue;
    solver.pin_shared_and(k);
    std::array<Eigen::VectorXd, 5> field;
    std::array<double, 5> value{};
    for (std::size_t i = 0; i < 5; ++i) {
      field[i] = centre + (static_cast<double>(i) - 2) / sd * along.col(e);
      value[i] = solver.near_value(field[i], scales);
    }
    const auto shape = shape_of({value[0] - value[2], value[1] - value[2], value[3] - value[2], value[4] - value[2]});
    if (!shape || std::fabs(shape->mean) > kMostOff || shape->sd > kMostOff) continue;
    out.integrated.push_back({k, std::clamp(shape->sd, kLeastSd, kMostSd)});
    // The parabola through the middle that lies nearest to the other four.
    const Eigen::VectorXd slope = (2 * (field[4] - field[0]) + field[3] - field[1]) / 10;
    const Eigen::VectorXd bend = (4 * (field[4] + field[0] - 2 * field[2]) + field[3] + field[1] - 2 * field[2]) / 34;
    out.move += shape->mean * slope + (shape->sd * shape->sd + shape->mean * shape->mean) * bend;
  }
  return out;
}

}  // namespace ullage::capacity
