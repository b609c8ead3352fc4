// What single effects and studies do to a result: left out one at a time, and measures of influence.
// Measures: Viechtbauer, Cheung 2010, doi 10.1002/jrsm.11.
#pragma once

#include <Eigen/Core>
#include <functional>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/pool.h"

namespace ullage::evidence {

struct Influence {
  double rstudent = 0;     // residual from the fit without it, in its standard errors
  double dffits = 0;       // how far its own prediction moves, in standard errors
  double cook = 0;         // how far all coefficients move together
  double cov_ratio = 0;    // spread of the coefficients without it, as a ratio
  double tau2 = 0, q = 0;  // without it
  double hat = 0;          // its leverage in the fit with it
  // First coefficient without it.
  double estimate = 0, se = 0, p = 0;
  bool possible = true;  // false: without it the design is singular, and the rest is NaN
};
// One an effect, in order. Cost: k fits.
Result<std::vector<Influence>> influence(const Eigen::VectorXd& y, const Eigen::VectorXd& v, const Eigen::MatrixXd& x,
                                         const std::vector<std::string>& names, const PoolOptions& options);

struct WithoutGroup {
  int group = 0;    // number on the outermost level
  int effects = 0;  // how many were left out
  double estimate = 0, se = 0;
  Range interval;
  double p = 0, heterogeneity = 0;
  bool possible = true;  // false: not possible without it (singular, or one study left)
};
// Each group of the outermost level left out in turn, started from the whole fit. keep_going(done, all) is asked before
// each; false ends with `cancelled`. Which: the coefficient that is followed.
Result<std::vector<WithoutGroup>> leave_one_group_out(const MultilevelData& data, const MultilevelFit& whole,
                                                      const MultilevelOptions& options, int which = 0,
                                                      const std::function<bool(int, int)>& keep_going = {});

}  // namespace ullage::evidence
