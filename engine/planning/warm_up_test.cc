#include "engine/planning/warm_up.h"

#include <gtest/gtest.h>

namespace ullage::planning {
namespace {

std::vector<double> totals(double from, double to, double step) {
  std::vector<double> out;
  for (double t = from; t <= to + 1e-9; t += step) out.push_back(t);
  return out;
}

TEST(WarmUp, RisesBelowTheWorkLoadWithFallingReps) {
  for (ExerciseClass cls :
       {ExerciseClass::barbell_compound, ExerciseClass::supported_compound, ExerciseClass::isolation}) {
    for (double step : {1.25, 2.5, 5.0, 20.0}) {
      const auto loads = totals(20, 200, step);
      for (std::size_t work = 0; work < loads.size(); ++work) {
        for (bool warmed : {false, true}) {
          const auto ramp = warm_up_ramp(cls, loads, static_cast<int>(work), 0.9, warmed);
          int load = -1, reps = 100;
          for (const WarmUp& step_up : ramp) {
            EXPECT_GT(step_up.load, load);
            EXPECT_LT(step_up.load, static_cast<int>(work));
            EXPECT_LE(loads[static_cast<std::size_t>(step_up.load)], 0.93 * loads[work]);
            EXPECT_LT(step_up.reps, reps);
            load = step_up.load;
            reps = step_up.reps;
          }
        }
      }
    }
  }
}

TEST(WarmUp, MoreForHeavyBarbellLiftsFewerWhenWarm) {
  const auto loads = totals(20, 200, 2.5);
  const int work = 40;  // 120 kg
  const auto barbell = [&](double share, bool warmed) {
    return warm_up_ramp(ExerciseClass::barbell_compound, loads, work, share, warmed).size();
  };
  EXPECT_EQ(barbell(0.75, false), 3U);
  EXPECT_EQ(barbell(0.90, false), 4U);
  EXPECT_EQ(barbell(0.75, true), 2U);
  EXPECT_EQ(warm_up_ramp(ExerciseClass::supported_compound, loads, work, 0.75, false).size(), 2U);
  EXPECT_EQ(warm_up_ramp(ExerciseClass::isolation, loads, work, 0.75, false).size(), 1U);
  EXPECT_TRUE(warm_up_ramp(ExerciseClass::isolation, loads, work, 0.75, true).empty());
}

TEST(WarmUp, NoneWhenNothingLighterCanBeBuilt) {
  EXPECT_TRUE(warm_up_ramp(ExerciseClass::barbell_compound, {20, 40}, 0, 0.7, false).empty());
  EXPECT_TRUE(warm_up_ramp(ExerciseClass::barbell_compound, {38, 40}, 1, 0.7, false).empty());
}

}  // namespace
}  // namespace ullage::planning
