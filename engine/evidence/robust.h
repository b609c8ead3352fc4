// Standard errors that hold when the working model of how effects hang together is wrong: cluster-robust, with the
// bias-reduced adjustment CR2 and Satterthwaite's degrees of freedom.
//
// With working covariance F (block by block), W = F^-1, M = (X'WX)^-1, residuals e of cluster i:
//   V = M [sum_i X_i' W_i A_i e_i e_i' A_i' W_i X_i] M,   A_i = D_i' (D_i (F_i - X_i M X_i') D_i')^(-1/2) D_i, D_i'D_i
//   = F_i df of a coefficient c: (tr P)^2 / tr(P^2), P_ij = g_i' (F_i 1(i = j) - X_i M X_j') g_j, g_i = A_i W_i X_i M c
// Bell, McCaffrey 2002, Surv Methodol 28(2):169-181; Tipton 2015, doi 10.1037/met0000011; Pustejovsky, Tipton 2018, doi
// 10.1080/07350015.2016.1247004. Assumes clusters independent; few clusters are told by a small df, below 4 the p is
// not to be trusted (Tipton 2015).
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/pool.h"

namespace ullage::evidence {

// What the model said about the covariance of the effects.
struct WorkingCovariance {
  Eigen::VectorXd v;                     // sampling variances
  double tau2 = 0;                       // of each effect by itself
  std::vector<std::vector<int>> levels;  // as MultilevelData
  std::vector<double> sigma2;
  double correlation = 0;  // of sampling errors within levels[0]
};

struct RobustFit {
  std::vector<Coefficient> coefficients;  // df are Satterthwaite's
  Eigen::MatrixXd covariance;
  int clusters = 0;
};

// cluster: one number an effect. invalid_input: fewer than 2 clusters, or a study (levels[0]) that lies in several
// clusters. Cost: the cubes of the clusters' sizes.
Result<RobustFit> cluster_robust(const Eigen::VectorXd& y, const Eigen::MatrixXd& x,
                                 const std::vector<std::string>& names, const WorkingCovariance& working,
                                 const std::vector<int>& cluster, double level = 0.95);

// The same for weighted sums of the coefficients, one a row of `lines`: points of a curve, differences of levels.
// invalid_input also: not as many weights as coefficients.
Result<std::vector<Coefficient>> robust_contrasts(const Eigen::VectorXd& y, const Eigen::MatrixXd& x,
                                                  const std::vector<std::string>& names,
                                                  const WorkingCovariance& working, const std::vector<int>& cluster,
                                                  const Eigen::MatrixXd& lines, double level = 0.95);

}  // namespace ullage::evidence
