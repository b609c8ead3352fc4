// Live updates, one after another without a new fit.
#include <gtest/gtest.h>

#include <Eigen/Eigenvalues>
#include <cmath>
#include <cstdlib>

#include "engine/base/random.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/test_bench_press.h"

namespace ullage::capacity {
namespace {

// Two years of sets (ULLAGE_UPDATES=10000: twenty) without a new fit: nothing grows without bound, turns negative or
// stops being a number.
TEST(Update, StaysSoundOverManySets) {
  const int sets = std::getenv("ULLAGE_UPDATES") ? std::atoi(std::getenv("ULLAGE_UPDATES")) : 1000;
  Lifter lifter;
  const Exercise exercise = bench_press();
  const Date first{20000};
  const auto log_of = [&](const std::vector<SetRecord>& records, Date day) {
    return prepare(lifter, records, [&](const std::string&) { return &exercise; }, day);
  };
  auto posterior = fit(log_of({}, first));
  ASSERT_TRUE(posterior);
  Random random(7);
  std::vector<SetRecord> today;
  for (int i = 0; i < sets; ++i) {
    const Date day = first + 2 * (i / 4);
    if (i % 4 == 0) today.clear();
    SetRecord r;
    r.date = day;
    r.exercise = exercise.id;
    r.load = {80, Unit::kilogram};
    r.reps = random.integer(6, 10);
    r.stop = i % 7 == 0 ? Stop::failed : i % 3 == 0 ? Stop::unknown : Stop::planned;
    if (r.stop == Stop::planned) {
      r.planned_reps = r.reps;
      r.called = Call{static_cast<double>(random.integer(0, 4)), false};
    }
    r.rest_s = 150;
    today.push_back(r);
    posterior = update(*posterior, log_of(today, day), static_cast<int>(today.size()) - 1);
    ASSERT_TRUE(posterior) << posterior.error().message;
  }
  double weight = 0;
  for (const Component& c : posterior->components) {
    weight += c.weight;
    ASSERT_TRUE(c.mean.allFinite() && c.covariance.allFinite());
    const double least = Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd>(c.covariance).eigenvalues().minCoeff();
    EXPECT_GT(least, -1e-10);
    EXPECT_EQ(c.covariance, c.covariance.transpose());
  }
  EXPECT_NEAR(weight, 1, 1e-9);
  // 80 kg for about eight is a strength of about 100.
  const Interval& strength = posterior->lifts.front().strength;
  EXPECT_GT(strength.median, 85);
  EXPECT_LT(strength.median, 130);
  EXPECT_GT(strength.sd, 0.2);
}

}  // namespace
}  // namespace ullage::capacity
