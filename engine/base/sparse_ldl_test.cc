#include "engine/base/sparse_ldl.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>

#include "engine/base/random.h"

namespace ullage {
namespace {

// Banded plus arrow, like a latent field over time with a few shared parameters.
Eigen::SparseMatrix<double> arrow(int n, int border, Random& random) {
  std::vector<Eigen::Triplet<double>> t;
  for (int i = 0; i < n; ++i) {
    t.emplace_back(i, i, 8 + random.uniform());
    if (i + 1 < n) t.emplace_back(i + 1, i, random.normal());
    if (i + 2 < n && random.chance(0.5)) t.emplace_back(i + 2, i, 0.5 * random.normal());
    for (int b = 0; b < border; ++b) {
      if (i < n - border && random.chance(0.6)) t.emplace_back(n - 1 - b, i, 0.3 * random.normal());
    }
  }
  for (int b = 0; b < border; ++b) t.emplace_back(n - 1 - b, n - 1 - b, 0.2 * n);
  Eigen::SparseMatrix<double> m(n, n);
  m.setFromTriplets(t.begin(), t.end());
  return m;
}

TEST(SparseLdl, InverseOnThePatternEqualsTheDenseInverse) {
  Random random(3);
  const auto lower = arrow(60, 4, random);
  SparseLdl ldl;
  ldl.analyse(lower);
  ASSERT_TRUE(ldl.factor(lower));
  ldl.invert();
  Eigen::MatrixXd dense = Eigen::MatrixXd(lower);
  dense = Eigen::MatrixXd(dense.selfadjointView<Eigen::Lower>());
  const Eigen::MatrixXd inverse = dense.inverse();
  EXPECT_NEAR(ldl.log_determinant(), std::log(dense.determinant()), 1e-9);
  int compared = 0;
  for (int j = 0; j < 60; ++j) {
    for (Eigen::SparseMatrix<double>::InnerIterator it(lower, j); it; ++it) {
      EXPECT_NEAR(ldl.inverse(static_cast<int>(it.row()), j), inverse(it.row(), j), 1e-12);
      EXPECT_NEAR(ldl.inverse(j, static_cast<int>(it.row())), inverse(it.row(), j), 1e-12);
      ++compared;
    }
  }
  EXPECT_GT(compared, 200);
}

TEST(SparseLdl, AnIndefiniteMatrixIsRefused) {
  std::vector<Eigen::Triplet<double>> t{{0, 0, 1.0}, {1, 0, 2.0}, {1, 1, 1.0}};
  Eigen::SparseMatrix<double> m(2, 2);
  m.setFromTriplets(t.begin(), t.end());
  SparseLdl ldl;
  ldl.analyse(m);
  EXPECT_FALSE(ldl.factor(m));
}

}  // namespace
}  // namespace ullage
