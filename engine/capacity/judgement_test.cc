#include "engine/capacity/judgement.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <vector>

namespace ullage::capacity {
namespace {

TEST(Judgement, WholeAnswersCoverEveryFeelingOnce) {
  const Judgement j;
  for (double rho = -1; rho < 30; rho += 0.7) {
    for (const bool on_cue : {false, true}) {
      double sum = 0;
      for (int c = 0; c <= 4; ++c)
        sum += call_probability(j, rho, call_cell({static_cast<double>(c), false}, false), on_cue);
      sum += call_probability(j, rho, call_cell({5, true}, false), on_cue);
      EXPECT_NEAR(sum, 1, 1e-14) << rho;
    }
  }
}

TEST(Judgement, HalfAnswersCoverEveryFeelingOnce) {
  const Judgement j;
  for (double rho = -1; rho < 30; rho += 0.7) {
    double sum = 0;
    for (int c = 0; c <= 20; ++c) sum += call_probability(j, rho, call_cell({c / 2.0, false}, true), false);
    sum += call_probability(j, rho, {10.25, INFINITY}, false);
    EXPECT_NEAR(sum, 1, 1e-14) << rho;
  }
}

TEST(Judgement, Cells) {
  EXPECT_EQ(call_cell({0, false}, false).low, -INFINITY);
  EXPECT_EQ(call_cell({0, false}, false).high, 0.5);
  EXPECT_EQ(call_cell({2, false}, true).low, 1.75);
  EXPECT_EQ(call_cell({5, true}, false).low, 4.5);
  EXPECT_EQ(call_cell({5, true}, false).high, INFINITY);
}

// Perfect judgement in whole reps: g = 1, b = 0.5, no noise, is rounding down.
TEST(Judgement, PerfectJudgementRoundsDown) {
  Judgement j;
  j.bias = 0.5;
  j.gain = 1;
  j.spread = 1e-9;
  j.spread_rise = 0;
  for (double rho = 0.05; rho < 5; rho += 0.1) {
    EXPECT_NEAR(call_probability(j, rho, call_cell({std::floor(rho), false}, false), false), 1, 1e-12) << rho;
  }
}

TEST(Judgement, CueShiftLowersWhatIsHeard) {
  const Judgement j;
  EXPECT_DOUBLE_EQ(heard_mean(j, 3, false) - heard_mean(j, 3, true), j.cue_shift);
  EXPECT_DOUBLE_EQ(heard_sd(j, -2), j.spread);
}

// Against counting rep by rep: the first rep at which the feeling has come down to the cue's cell.
TEST(Judgement, CueStopAgainstCountingReps) {
  int compared = 0, unheard = 0;
  for (const double gain : {0.6, 0.78, 1.0}) {
    for (const double bias : {-0.5, 0.8, 2.0}) {
      for (double z = -2.95; z < 3; z += 0.37) {
        for (double capacity = 0.6; capacity < 25; capacity += 0.613) {
          for (const double cue : {0.0, 1.0, 2.0, 3.0}) {
            Judgement j;
            j.gain = gain;
            j.bias = bias;
            const Cell cell = call_cell({cue, false}, false);
            int counted = -1;
            for (int n = 0; n <= static_cast<int>(capacity) && counted < 0; ++n) {
              const double rho = capacity - n;
              if (heard_mean(j, rho, true) + heard_sd(j, rho) * z <= cell.high) counted = n;
            }
            const double solved = cue_stop_rep(j, capacity, cell, z);
            if (counted < 0) {
              EXPECT_GT(solved, std::floor(capacity));
              ++unheard;
            } else {
              EXPECT_EQ(solved, counted) << "gain " << gain << " bias " << bias << " z " << z << " capacity "
                                         << capacity;
            }
            ++compared;
          }
        }
      }
    }
  }
  EXPECT_GT(compared, 10000);
  EXPECT_GT(unheard, 100);  // both ends are met
}

// Felt anew at each rep: over all z the first rep at which one of many feelings is down.
TEST(Judgement, CueStopFeltAnewAgainstItsChances) {
  Judgement j;
  j.each_rep = true;
  for (const double capacity : {0.7, 6.4, 14.2}) {
    for (const double cue : {0.0, 2.0, 4.0}) {
      const Cell cell = call_cell({cue, false}, false);
      constexpr int kMany = 20000;
      std::vector<double> share(40);
      for (int i = 0; i < kMany; ++i) {
        const double stop = cue_stop_rep(j, capacity, cell, normal_quantile((i + 0.5) / kMany));
        share.at(static_cast<std::size_t>(stop)) += 1.0 / kMany;
      }
      double going_on = 1;
      for (int n = 1; n <= static_cast<int>(capacity); ++n) {
        const double felt =
            call_probability(j, capacity - n, {-std::numeric_limits<double>::infinity(), cell.high}, true);
        EXPECT_NEAR(share[static_cast<std::size_t>(n)], going_on * felt, 2.0 / kMany) << capacity << " " << cue;
        going_on *= 1 - felt;
      }
      EXPECT_NEAR(share[static_cast<std::size_t>(capacity) + 1], going_on, 2.0 / kMany);  // failure comes first
    }
  }
}

}  // namespace
}  // namespace ullage::capacity
