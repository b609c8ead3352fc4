// The formulas on lanes against those they repeat.
#include "engine/capacity/lane_formulas.h"

#include <gtest/gtest.h>

#include <cmath>

namespace ullage::capacity {
namespace {

TEST(LaneFormulas, CurveAgreesWithItsOwnHeader) {
  for (const double shape : {0.0, 0.2, 1.0}) {
    for (const double k : {3.0, 18.0, 32.0, 90.0}) {
      for (double x = -0.4; x < 1.2; x += 0.013) {
        const double reps = reps_to_failure(x, k, shape);
        EXPECT_NEAR(reps_to_failure(lanes(x), lanes(k), shape)[1], reps, 1e-12);
        if (reps < 0) continue;
        EXPECT_NEAR(margin_for_reps(lanes(reps), lanes(k), shape)[2], margin_for_reps(reps, k, shape), 1e-13);
      }
    }
  }
}

TEST(LaneFormulas, FatigueAgreesWithItsOwnHeader) {
  for (double gap = -200; gap < 200; gap += 0.37) {
    EXPECT_NEAR(smooth_max(lanes(gap + 3), lanes(3.0))[0], smooth_max(gap + 3, 3.0), 1e-13) << gap;
  }
  for (const double shape : {0.0, 0.2, 1.0}) {
    for (const double k : {3.0, 32.0, 90.0}) {
      for (double x = -0.3; x < 1; x += 0.0171) {
        for (const int reps : {0, 1, 5, 12, 30}) {
          for (const bool failed : {false, true}) {
            const Spent<double> want = spend<double>(x, k, shape, reps, failed, 0.3, 0.68);
            const LaneBits flag{failed ? -1 : 0, failed ? -1 : 0, failed ? -1 : 0, failed ? -1 : 0};
            const SpentLanes got = spend(lanes(x), lanes(k), shape, lanes(reps), flag, lanes(0.3), lanes(0.68));
            EXPECT_NEAR(got.depletion[3], want.depletion, 1e-13) << x << " " << k << " " << reps;
            EXPECT_NEAR(got.slow[0], want.slow, 1e-13);
          }
        }
      }
    }
  }
}

}  // namespace
}  // namespace ullage::capacity
