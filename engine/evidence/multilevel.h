// Effects in groups in studies: random effects on nested levels, by REML or ML.
//
//   y_i = x_i' b + sum over levels l of u_l[group of i on l] + e_i,   u_l ~ N(0, sigma2_l),   e_i ~ N(0, v_i)
//
// Levels are nested, the outermost (the study) first; a level on which every effect is its own group is the effect
// level. Sampling errors within a study may be correlated by one assumed correlation: cov(e_i, e_j) = rho sqrt(v_i
// v_j). Assumes: studies independent, all parts normal, v known, rho as given. Konstantopoulos 2011,
// doi 10.1002/jrsm.35; Van den Noortgate et al. 2013, doi 10.3758/s13428-012-0261-6.
//
// No matrix over effects is ever formed. A group's inner products A'V^-1A, A = [x, y, 1, sqrt v], follow from those of
// the groups in it by rank-one steps, one for each random effect (and one for rho): (V + f aa')^-1 = V^-1 - f
// V^-1aa'V^-1/(1 + f a'V^-1a), log|V + f aa'| = log|V| + log(1 + f a'V^-1a). Cost of one likelihood with its gradient:
// O(effects p^2), linear in studies.
#pragma once

#include <Eigen/Core>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "engine/evidence/pool.h"

namespace ullage::evidence {

inline constexpr int kMostLevels = 4;

struct MultilevelData {
  Eigen::VectorXd y, v;
  Eigen::MatrixXd x;  // intercept first
  std::vector<std::string> names;
  // levels[l][i]: the group of effect i on level l, outermost first, any numbers; groups are nested by themselves: a
  // group is known by its numbers on all levels down to its own. Fewer distinct numbers than effects are expected
  // somewhere; 1 to 4 levels.
  std::vector<std::vector<int>> levels;
};

struct MultilevelOptions {
  bool restricted = true;                   // REML; false: ML
  Reference reference = Reference::normal;  // normal or student
  double correlation = 0;                   // rho within the outermost groups, 0 <= rho < 1
  double level = 0.95;
  bool profile_intervals = false;  // of each sigma2: some 60 constrained fits each
  std::vector<double> start;       // sigma2 to start from; empty: from the spread
};

struct MultilevelFit : Summary {
  bool restricted = true;
  double correlation = 0;
  std::vector<double> sigma2;            // one a level, outermost first
  std::vector<int> groups;               // how many groups each level has
  std::vector<Range> sigma2_intervals;   // likelihood profile; when asked for
  std::vector<std::string> level_notes;  // told in words: a level that cannot be told from another, a sigma2 of 0
};

// Errors: invalid_input from check_design, or when levels are not as described (says which). Starts from the whole
// spread, goes by Newton steps on the exact gradient, never below 0; not converged: converged = false.
Result<MultilevelFit> fit_multilevel(const MultilevelData& data, const MultilevelOptions& options = {});

// The log-likelihood (restricted or not) at given sigma2, as fit_multilevel maximises it.
Result<double> multilevel_log_likelihood(const MultilevelData& data, const std::vector<double>& sigma2,
                                         const MultilevelOptions& options = {});

// The data without the effects for which `leave_out` is true.
MultilevelData without(const MultilevelData& data, const std::vector<bool>& leave_out);

}  // namespace ullage::evidence
