// The search for the marginal maximum of the shared unknowns settles: from two places far apart it comes to the same
// one, also on the logs that say least about fatigue (ends not told) and on logs of months.
#include <gtest/gtest.h>

#include <Eigen/LU>
#include <cmath>

#include "engine/calibration/scenario.h"
#include "engine/capacity/field_solver.h"
#include "engine/capacity/fit.h"

namespace ullage::capacity {
namespace {

// Distance between where the two searches end, in sds of the shared unknowns there. Each stops where the next step
// promises less than 0.01 log units, 0.14 sds away in all.
double apart(const calibration::Scenario& scenario, int number) {
  const calibration::Scene scene = calibration::make_scene(scenario, number);
  const TrainingLog log =
      prepare(scene.lifter, scene.sets, [&](const std::string& id) { return scene.find(id); }, scene.sets.back().date);
  const Scales scales;
  LatentField field(log);
  field.set_precision(Precision::coarse);
  const FieldLayout& f = field.layout();
  const std::vector<int> shared{f.log_a_fast, f.log_a_slow,      f.log_tau_fast,    f.logit_lam,
                                f.bias,       f.log_gain,        f.log_spread,      f.log_spread_rise,
                                f.cue_shift,  f.log_stopping[0], f.log_stopping[1], f.log_stopping[2]};
  FieldSolver first(field), second(field);
  Eigen::VectorXd here = field.start();
  field.freeze(here, scales);
  Eigen::VectorXd there = here;
  there(f.log_a_fast) -= 0.7;
  there(f.log_a_slow) += 0.7;
  there(f.log_tau_fast) += 0.5;
  EXPECT_TRUE(first.marginalise(here, scales, shared, 40));
  EXPECT_TRUE(second.marginalise(there, scales, shared, 40));
  EXPECT_TRUE(first.curvature(here, scales));
  const Eigen::MatrixXd covariance = first.following(shared).covariance;
  Eigen::VectorXd move(static_cast<Eigen::Index>(shared.size()));
  for (std::size_t i = 0; i < shared.size(); ++i)
    move(static_cast<Eigen::Index>(i)) = there(shared[i]) - here(shared[i]);
  return std::sqrt(move.dot(covariance.inverse() * move));
}

TEST(Settling, EndsNotTold) {
  for (const int number : {9002, 9003, 9008}) {
    EXPECT_LT(apart({calibration::Kind::unknown, calibration::Variant::none, 10}, number), 0.4) << number;
  }
}

TEST(Settling, HalfAYearOfCalls) {
  EXPECT_LT(apart({calibration::Kind::planned, calibration::Variant::none, 26}, 9000), 0.4);
}

}  // namespace
}  // namespace ullage::capacity
