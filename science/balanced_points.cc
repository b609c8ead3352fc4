// The points at which a fit weighs scales and shared unknowns (engine/capacity/balanced_points.cc), made anew:
//
//   balanced_points > engine/capacity/balanced_points.inc        balanced_points PAIRS SEED: one set alone
//
// Opposite pairs have no odd moments. Their second moments, and as far as there are numbers enough the fourth ones, are
// made those of independent normals by least squares (Levenberg 1944, Marquardt 1963) from normal draws: E z_i^2 = 1,
// E z_i z_j = 0, E z_i^4 = 3, E z_i^2 z_j^2 = 1, E z_i^3 z_j = 0, E z_i^2 z_j z_k = 0. Takes 40 s.
#include "engine/capacity/balanced_points.h"

#include <Eigen/Cholesky>
#include <array>
#include <cstdio>
#include <string>
#include <utility>
#include <vector>

#include "engine/base/random.h"

namespace {

struct Moment {
  std::array<int, 4> of;
  int order;
  double wanted, weight;
};

std::vector<Moment> moments(int dims) {
  constexpr double kSecond = 3, kThreeFold = 0.3;  // weights beside 1
  std::vector<Moment> out;
  for (int i = 0; i < dims; ++i) {
    out.push_back({{i, i, 0, 0}, 2, 1, kSecond});
    out.push_back({{i, i, i, i}, 4, 3, 1});
    for (int j = 0; j < dims; ++j) {
      if (j == i) continue;
      if (j < i) {
        out.push_back({{i, j, 0, 0}, 2, 0, kSecond});
        out.push_back({{i, i, j, j}, 4, 1, 1});
      }
      out.push_back({{i, i, i, j}, 4, 0, 1});
      for (int k = 0; k < j; ++k) {
        if (k != i) out.push_back({{i, i, j, k}, 4, 0, kThreeFold});
      }
    }
  }
  return out;
}

Eigen::VectorXd off(const std::vector<Moment>& wanted, const Eigen::MatrixXd& points) {
  Eigen::VectorXd out(static_cast<Eigen::Index>(wanted.size()));
  for (Eigen::Index m = 0; m < out.size(); ++m) {
    const Moment& w = wanted[static_cast<std::size_t>(m)];
    Eigen::ArrayXd product = Eigen::ArrayXd::Ones(points.cols());
    for (int q = 0; q < w.order; ++q) product *= points.row(w.of[static_cast<std::size_t>(q)]).transpose().array();
    out(m) = w.weight * (product.mean() - w.wanted);
  }
  return out;
}

Eigen::MatrixXd slopes(const std::vector<Moment>& wanted, const Eigen::MatrixXd& points) {
  const Eigen::Index dims = points.rows(), pairs = points.cols();
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(wanted.size()), points.size());
  for (Eigen::Index m = 0; m < out.rows(); ++m) {
    const Moment& w = wanted[static_cast<std::size_t>(m)];
    for (Eigen::Index p = 0; p < pairs; ++p) {
      for (int q = 0; q < w.order; ++q) {
        double product = w.weight / static_cast<double>(pairs);
        for (int other = 0; other < w.order; ++other) {
          if (other != q) product *= points(w.of[static_cast<std::size_t>(other)], p);
        }
        out(m, p * dims + w.of[static_cast<std::size_t>(q)]) += product;
      }
    }
  }
  return out;
}

Eigen::MatrixXd balanced(int pairs, std::uint64_t seed) {
  constexpr int kMostSteps = 200;
  const std::vector<Moment> wanted = moments(ullage::capacity::kMostBalanced);
  ullage::Random random(seed);
  Eigen::MatrixXd points(ullage::capacity::kMostBalanced, pairs);
  for (double& z : points.reshaped()) z = random.normal();
  Eigen::VectorXd amiss = off(wanted, points);
  double damping = 1e-3;
  for (int step = 0; step < kMostSteps && amiss.squaredNorm() > 1e-12; ++step) {
    const Eigen::MatrixXd slope = slopes(wanted, points);
    const Eigen::MatrixXd square = slope.transpose() * slope;
    const Eigen::VectorXd pull = slope.transpose() * amiss;
    const double before = amiss.squaredNorm();
    bool better = false;
    for (int attempt = 0; attempt < 12 && !better; ++attempt) {
      Eigen::MatrixXd damped = square;
      damped.diagonal().array() += damping;
      const Eigen::VectorXd move = damped.llt().solve(-pull);
      const Eigen::MatrixXd to = points + move.reshaped(points.rows(), points.cols());
      const Eigen::VectorXd there = off(wanted, to);
      better = there.squaredNorm() < before;
      if (better) {
        points = to;
        amiss = there;
      }
      damping *= better ? 0.3 : 4;
    }
    if (!better || before - amiss.squaredNorm() < 1e-7 * before) break;
  }
  std::fprintf(stderr, "%d pairs: squares left %.3g\n", pairs, amiss.squaredNorm());
  return points;
}

}  // namespace

int main(int count, char** words) {
  std::vector<std::pair<int, std::uint64_t>> sets{{16, 1}, {32, 1}, {64, 1}};
  if (count > 2) sets = {{std::stoi(words[1]), std::stoull(words[2])}};
  std::puts("// Made by science/balanced_points.cc: a line for each pair.");
  for (const auto& [pairs, seed] : sets) {
    const Eigen::MatrixXd points = balanced(pairs, seed);
    for (Eigen::Index p = 0; p < points.cols(); ++p) {
      for (Eigen::Index i = 0; i < points.rows(); ++i)
        std::printf("%.5f,%s", points(i, p), i + 1 < points.rows() ? " " : "\n");
    }
  }
}
