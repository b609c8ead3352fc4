// Chances of a miss as the set planner tells them on simulated lifters (science/miss_calibration.h): the committed run,
// made by bench/miss_calibration, and a few lifters that every run of these tests repeats.
#include "science/miss_calibration.h"

#include <gtest/gtest.h>

#include <fstream>

#include "tests/published/published_values.h"

namespace ullage::science {
namespace {

// On lifters of the model, over all sets and each place of a set by itself: what happened is within 2 points of what
// was told, or within two and a half standard errors where those are more.
TEST(MissCalibration, CommittedRun) {
  std::ifstream in(ULLAGE_SOURCE_DIR "/science/results/miss_planned.csv");
  std::string line;
  std::getline(in, line);
  int rows = 0, places = 0;
  while (std::getline(in, line)) {
    const auto f = published::detail::fields(line);
    ASSERT_EQ(f.size(), 8U);
    ++rows;
    if (f[0] != "of the model") continue;
    const double told = std::stod(f[5]), happened = std::stod(f[6]), error = std::stod(f[7]);
    EXPECT_NEAR(happened, told, std::max(0.02, 2.5 * error)) << f[1] << ", set " << f[2];
    if (f[1] == "all") {
      EXPECT_LT(error, 0.012) << "enough lifters to tell 2 points, set " << f[2];
      ++places;
    }
  }
  EXPECT_EQ(rows, 24);
  EXPECT_EQ(places, 4);
}

TEST(MissCalibrationSlow, AFewLiftersAreDoneAsPlanned) {
  for (const int number : {0, 1}) {
    double told = 0;
    int sets = 0;
    for (const ToldSets& one : told_of_lifter(number, 0, 8, 3)) {
      sets += one.sets;
      told += one.told;
      EXPECT_LE(one.missed, one.sets);
    }
    EXPECT_EQ(sets, 3 * 9) << "three lifts of three sets, three times";
    EXPECT_GE(told, 0);
    EXPECT_LT(told / sets, 0.25) << "within the highest limit";
  }
}

}  // namespace
}  // namespace ullage::science
