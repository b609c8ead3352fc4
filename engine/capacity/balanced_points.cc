#include "engine/capacity/balanced_points.h"

#include <Eigen/Cholesky>
#include <array>
#include <cassert>

namespace ullage::capacity {
namespace {

constexpr std::array<double, (16 + 32 + 64) * kMostBalanced> kPoints{
#include "engine/capacity/balanced_points.inc"
};

}  // namespace

Eigen::MatrixXd balanced_points(int dims, int pairs) {
  assert(dims >= 1 && dims <= kMostBalanced && (pairs == 16 || pairs == 32 || pairs == 64));
  // One set after the other, the pairs before this one being as many less 16.
  const Eigen::Map<const Eigen::MatrixXd> all(kPoints.data() + (pairs - 16) * kMostBalanced, kMostBalanced, pairs);
  const Eigen::MatrixXd points = all.topRows(dims);
  // What is left in the second moments goes.
  return (points * points.transpose() / pairs).llt().matrixL().solve(points);
}

}  // namespace ullage::capacity
