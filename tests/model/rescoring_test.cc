// How well plans keep their rank under the whole capacity model (science/rescoring.h): the committed run, made by
// bench/rescoring.
#include <gtest/gtest.h>

#include <fstream>

#include "tests/published/published_values.h"

namespace ullage::science {
namespace {

TEST(Rescoring, CommittedRun) {
  std::ifstream in(ULLAGE_SOURCE_DIR "/science/results/rescoring.csv");
  std::string line;
  std::getline(in, line);
  int lifters = 0;
  double all = 0, equal_sets = 0;
  while (std::getline(in, line)) {
    const auto f = published::detail::fields(line);
    ASSERT_EQ(f.size(), 5U);
    EXPECT_GE(std::stoi(f[1]), 200) << "plans";
    all += std::stod(f[2]);
    equal_sets += std::stod(f[3]);
    EXPECT_GE(std::stod(f[2]), 0.9) << "lifter " << f[0];
    EXPECT_GE(std::stod(f[3]), 0.9) << "lifter " << f[0];
    ++lifters;
  }
  ASSERT_GE(lifters, 20);
  EXPECT_GE(all / lifters, 0.9);
  EXPECT_GE(equal_sets / lifters, 0.9);
}

}  // namespace
}  // namespace ullage::science
