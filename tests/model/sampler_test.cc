// The program held against a full sampler of the same model (science/stan): a second, independent writing of the
// equations in Stan, whose summaries on fixed logs stand in science/results. science/README.md says how they are made.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <map>
#include <set>

#include "science/stan/compare.h"

namespace ullage::science {
namespace {

const std::string kScience = ULLAGE_SOURCE_DIR "/science";

// Two writings of the same equations: the log density of everything unknown and of all sets together, at three points
// of every log, constants included. The likelihood's quadratures differ, so this holds to their accuracy.
TEST(Sampler, LogDensityIsTheSameInBothWritings) {
  const std::vector<DensityPoint> points = density_points(kScience);
  std::map<std::string, int> seen;
  for (const FixedLog& fixed : fixed_logs()) {
    const std::vector<SetRecord> sets = read_fixed_log(kScience, fixed);
    ASSERT_FALSE(sets.empty()) << fixed.name;
    const capacity::TrainingLog log = prepared(fixed, sets);
    for (const DensityPoint& point : points) {
      if (point.log != fixed.name) continue;
      ++seen[fixed.name];
      const double engine = engine_density(log, point);
      const double sampler = point.at("log_density");
      std::printf("%-9s point %d: %.9f %.9f %+.1e\n", fixed.name.c_str(), point.number, engine, sampler,
                  engine - sampler);
      EXPECT_NEAR(engine, sampler, 1e-8 * std::fabs(sampler)) << fixed.name << " point " << point.number;
    }
  }
  EXPECT_EQ(seen.size(), fixed_logs().size());
}

}  // namespace
}  // namespace ullage::science
