// Pooling effects that each come from their own study: common effect, random effects, meta-regression.
//
//   y_i = x_i' b + u_i + e_i,   u_i ~ N(0, tau^2),   e_i ~ N(0, v_i) with v_i known
//
// Assumes: effects are independent (several from one study: multilevel.h), their errors normal with variances taken as
// known, and, with random effects, true effects normal around the regression. Common effect means tau^2 = 0.
// Estimators of tau^2: DL DerSimonian, Laird 1986, doi 10.1016/0197-2456(86)90046-2; HE Hedges, Olkin 1985; SJ Sidik,
// Jonkman 2005, doi 10.1111/j.1467-9876.2005.00489.x; PM Paule, Mandel 1982, doi 10.6028/jres.087.022; EB Morris 1983,
// doi 10.1080/01621459.1983.10477920; ML and REML by Fisher scoring, Raudenbush 2009 (Handbook of Research Synthesis,
// ch. 16). Comparison of them: Viechtbauer 2005, doi 10.3102/10769986030003261.
#pragma once

#include <Eigen/Core>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"

namespace ullage::evidence {

enum class Method { common, REML, ML, DL, PM, EB, HE, SJ };
std::string_view method_name(Method method);
std::optional<Method> parse_method(std::string_view text);

// Reference distribution of tests and intervals of coefficients.
enum class Reference {
  normal,
  student,       // t with k - p degrees of freedom, standard errors as they are
  knapp_hartung  // the same with errors scaled by the residual spread: Knapp, Hartung 2003, doi 10.1002/sim.1482
};

struct Range {
  double low = std::numeric_limits<double>::quiet_NaN(), high = std::numeric_limits<double>::quiet_NaN();
  bool known() const { return low == low && high == high; }
};

struct Coefficient {
  std::string term;
  double estimate = 0, se = 0;
  double statistic = 0;  // estimate / se
  double df = 0;         // of that statistic; infinity: normal
  double p = 0;          // two-sided
  Range interval;
};

// Part shared with multilevel fits: what is known of the coefficients and of heterogeneity.
struct Summary {
  int k = 0, p = 0;  // effects, coefficients
  std::vector<Coefficient> coefficients;
  Eigen::VectorXd estimate;
  Eigen::MatrixXd covariance;       // of the coefficients
  double critical = 0;              // of the intervals
  double q = 0, q_df = 0, q_p = 0;  // residual heterogeneity: Cochran's Q with weights 1/v
  double i2 = 0;                    // share of the total variance that is heterogeneity, %
  double heterogeneity = 0;         // tau^2, or the sum of the sigma^2
  // All coefficients but the intercept at once: chi-square (df2 infinite, qm itself) or F.
  double qm = 0, qm_df = 0, qm_df2 = 0, qm_p = 1;
  std::optional<double> log_likelihood;  // ML, REML, common
  // Where the true effect of a new study may lie; only without moderators. estimate -/+ critical sqrt(se^2 +
  // heterogeneity).
  Range prediction;
  bool converged = true;
  int iterations = 0;
  double level = 0.95;
};

struct PoolOptions {
  Method method = Method::REML;
  Reference reference = Reference::normal;
  double level = 0.95;
  bool tau2_interval = true;  // costs some 200 passes
};

struct PoolFit : Summary {
  Method method = Method::REML;
  double tau2 = 0;
  std::optional<double> tau2_se;  // ML, REML
  double scale = 1;               // of the squared errors: above or below 1 with Knapp-Hartung only
  // Q-profile: Viechtbauer 2007, doi 10.1002/sim.2514. An end that cannot be found below 1e6 times the mean variance is
  // infinity.
  Range tau2_interval;
};

// x: intercept first, one row an effect. v > 0. Errors: invalid_input from check_design; internal when the weights
// cannot be solved. Not converged: the fit comes back with converged = false. Cost O(k p^2) an iteration.
Result<PoolFit> pool(const Eigen::VectorXd& y, const Eigen::VectorXd& v, const Eigen::MatrixXd& x,
                     const std::vector<std::string>& names, const PoolOptions& options = {});
// Without moderators.
Result<PoolFit> pool(const Eigen::VectorXd& y, const Eigen::VectorXd& v, const PoolOptions& options = {});

// Fills coefficients and their tests from estimate and covariance; df infinite: normal. qm leaves out the first
// coefficient when there are several.
void describe_coefficients(Summary& summary, const std::vector<std::string>& names, double df);

}  // namespace ullage::evidence
