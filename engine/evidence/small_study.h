// Whether small studies say something else than large ones. They may for reasons other than unpublished results: other
// people, other programmes, chance. With fewer than 10 studies the tests find little: Sterne et al. 2011,
// doi 10.1136/bmj.d4002.
#pragma once

#include <Eigen/Core>

#include "engine/base/result.h"
#include "engine/evidence/pool.h"

namespace ullage::evidence {

inline constexpr int kFewestForFunnel = 10;

// Egger's regression: effects on their standard errors. Egger et al. 1997, doi 10.1136/bmj.315.7109.629.
struct EggerTest {
  double slope = 0;      // of the effect per unit of standard error
  double statistic = 0;  // t, or z for the mixed form
  double df = 0;         // infinite for the mixed form
  double p = 0;
  double limit = 0;  // effect where the standard error is 0
  Range limit_interval;
};
// Weights 1/v and a free residual variance, Student's t with k - 2. invalid_input: fewer than 3 effects, or all equally
// precise.
Result<EggerTest> egger(const Eigen::VectorXd& y, const Eigen::VectorXd& v, double level = 0.95);
// The same slope in a random-effects regression, so that heterogeneity is not taken for it.
Result<EggerTest> egger_mixed(const Eigen::VectorXd& y, const Eigen::VectorXd& v, Method method = Method::REML,
                              double level = 0.95);

// Rank correlation of standardised effects with their variances. Begg, Mazumdar 1994, doi 10.2307/2533446.
struct RankTest {
  double tau = 0;  // Kendall's, tau-b with ties
  double p = 0;    // exact without ties, else normal
  bool exact = true;
};
Result<RankTest> rank_test(const Eigen::VectorXd& y, const Eigen::VectorXd& v);

}  // namespace ullage::evidence
