#include "engine/capacity/balanced_points.h"

#include <gtest/gtest.h>

#include <cmath>

namespace ullage::capacity {
namespace {

double mean_of(const Eigen::ArrayXd& values) { return values.mean(); }

TEST(BalancedPoints, SecondMomentsAreThoseOfNormals) {
  for (const int pairs : {16, 32, 64}) {
    for (const int dims : {1, 4, 11, kMostBalanced}) {
      const Eigen::MatrixXd points = balanced_points(dims, pairs);
      ASSERT_EQ(points.rows(), dims);
      ASSERT_EQ(points.cols(), pairs);
      const Eigen::MatrixXd square = points * points.transpose() / pairs;
      EXPECT_LT((square - Eigen::MatrixXd::Identity(dims, dims)).cwiseAbs().maxCoeff(), 1e-12) << pairs << " " << dims;
    }
  }
}

// Fourth moments, root mean square off over all of them; 64 and 32 random pairs have 0.5 to 1 for a fourth power.
TEST(BalancedPoints, FourthMomentsNearly) {
  for (const auto& [pairs, most] : {std::pair{64, 0.02}, std::pair{32, 0.1}}) {
    const Eigen::MatrixXd points = balanced_points(kMostBalanced, pairs);
    const auto row = [&](int i) -> Eigen::ArrayXd { return points.row(i).transpose().array(); };
    double square = 0;
    int count = 0;
    const auto add = [&](const Eigen::ArrayXd& product, double wanted) {
      square += std::pow(mean_of(product) - wanted, 2);
      ++count;
    };
    for (int i = 0; i < kMostBalanced; ++i) {
      add(row(i).pow(4), 3);
      for (int j = 0; j < kMostBalanced; ++j) {
        if (j == i) continue;
        add(row(i).pow(3) * row(j), 0);
        add(row(i).square() * row(j).square(), 1);
        for (int k = 0; k < j; ++k) {
          if (k != i) add(row(i).square() * row(j) * row(k), 0);
        }
      }
    }
    EXPECT_LT(std::sqrt(square / count), most) << pairs;
  }
}

}  // namespace
}  // namespace ullage::capacity
