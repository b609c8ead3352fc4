#include "engine/capacity/set_site.h"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>

namespace ullage::capacity {
namespace {

// Gauss and Hermite for the standard normal (Abramowitz and Stegun 1964, table 25.10, rescaled).
constexpr std::array<double, 9> kNode{-4.512745863399783, -3.20542900285647, -2.07684797867783, -1.023255663789133, 0,
                                      1.023255663789133,  2.07684797867783,  3.20542900285647,  4.512745863399783};
constexpr std::array<double, 9> kWeight{2.23458440077466e-05, 0.00278914132123177, 0.0499164067652179,
                                        0.244097502894939,    0.406349206349206,   0.244097502894939,
                                        0.0499164067652179,   0.00278914132123177, 2.23458440077466e-05};
constexpr std::array<double, 3> kNodeAcross{-1.7320508075688772, 0, 1.7320508075688772};
constexpr std::array<double, 3> kWeightAcross{1.0 / 6, 2.0 / 3, 1.0 / 6};
constexpr double kDamping = 0.8;  // share of each step taken; all sites are matched at once

}  // namespace

SetSite site_from_curvature(const LocalVector& at, const SetTerms& terms) {
  SetSite site;
  site.precision = -terms.hessian.topLeftCorner<2, 2>();
  site.pull = terms.gradient.head<2>() + site.precision * Eigen::Vector2d(at[kMargin], at[kLogEndurance]);
  return site;
}

double match_site(const SetObservation& set, const LocalVector& at, double shape, double sigma,
                  const Eigen::Matrix2d& spread, SetSite& site) {
  const Eigen::LLT<Eigen::Matrix2d> root(spread);
  if (root.info() != Eigen::Success) return 0;
  const Eigen::Matrix2d lower = root.matrixL();
  // Finely along the direction in which margin is gained on what the reps need, coarsely across it.
  const double above = (std::max(set.reps, 1) - 1) / std::exp(at[kLogEndurance]);
  Eigen::Vector2d along = lower.transpose() * Eigen::Vector2d(1, above / (1 + shape * above));
  along.normalize();
  Eigen::Matrix2d ways;
  ways << along(0), -along(1), along(1), along(0);
  ways = lower * ways;

  // What is believed now is all else times the site, so the likelihood over the site weighs it anew.
  const Eigen::Vector2d here(at[kMargin], at[kLogEndurance]);
  constexpr std::size_t kMany = kNode.size() * kNodeAcross.size();
  std::array<Eigen::Vector2d, kMany> off;
  std::array<double, kMany> log_weight;
  for (std::size_t i = 0; i < kMany; ++i) {
    off[i] = ways * Eigen::Vector2d(kNode[i / 3], kNodeAcross[i % 3]);
    const Eigen::Vector2d there = here + off[i];
    LocalVector moved = at;
    moved[kMargin] = there(0);
    moved[kLogEndurance] = there(1);
    log_weight[i] = set_log_likelihood(set, moved, shape, sigma, 0, Precision::coarse).log_likelihood -
                    site.pull.dot(there) + 0.5 * there.dot(site.precision * there);
  }
  const double top = *std::max_element(log_weight.begin(), log_weight.end());
  double total = 0;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  Eigen::Matrix2d square = Eigen::Matrix2d::Zero();
  for (std::size_t i = 0; i < kMany; ++i) {
    const double weight = kWeight[i / 3] * kWeightAcross[i % 3] * std::exp(log_weight[i] - top);
    total += weight;
    mean += weight * off[i];
    square += weight * off[i] * off[i].transpose();
  }
  mean /= total;
  const Eigen::Matrix2d matched = square / total - mean * mean.transpose();
  if (!matched.allFinite() || Eigen::LLT<Eigen::Matrix2d>(matched).info() != Eigen::Success) return 0;
  const Eigen::Matrix2d now = matched.inverse();
  const Eigen::Matrix2d before = spread.inverse();
  site.precision += kDamping * (now - before);
  site.pull += kDamping * (now * (here + mean) - before * here);
  return std::sqrt(mean.dot(before * mean));
}

}  // namespace ullage::capacity
