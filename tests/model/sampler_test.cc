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

// The chains behind the summaries: four a log, mixed, 2000 effective draws of every compared quantity, no divergent
// step. What falls short of that stands here, and in docs/model.md.
TEST(Sampler, ChainsAgree) {
  const std::map<std::string, double> divergent{{"several", 1}};
  const std::map<std::string, double> effective{{"several", 1480}};
  const std::map<std::string, double> chains{};
  const auto known = [](const std::map<std::string, double>& of, const std::string& log, double otherwise) {
    const auto found = of.find(log);
    return found == of.end() ? otherwise : found->second;
  };
  for (const Row& row : table_of(kScience + "/results/stan_chains.csv")) {
    EXPECT_GE(std::stod(row[1]), known(chains, row[0], 4)) << row[0] << ": chains";
    EXPECT_LE(std::stod(row[4]), known(divergent, row[0], 0)) << row[0] << ": divergent";
    EXPECT_LT(std::stod(row[7]), 1.01) << row[0] << ": R-hat";
  }
  const std::set<std::string> compared{"strength", "log_k", "bias", "log_a_fast", "log_a_slow", "log_gain"};
  for (const Row& row : table_of(kScience + "/results/stan_posterior.csv")) {
    if (!compared.count(row[1].substr(0, row[1].find(':')))) continue;
    EXPECT_GE(std::stod(row[12]), known(effective, row[0], 2000)) << row[0] << " " << row[1];
    EXPECT_LT(std::stod(row[14]), 1.01) << row[0] << " " << row[1];
  }
}

// Every bound holds that is said to hold in stan_comparison.csv, and what does not hold is no further off than is said
// there: known misses, listed in docs/model.md.
TEST(Sampler, FitIsAsCloseAsStated) {
  const auto known = stated(kScience);
  int bounds = 0, misses = 0;
  std::set<std::string> logs;
  for (const FixedLog& fixed : fixed_logs()) {
    for (const Compared& c : compare(kScience, fixed)) {
      logs.insert(c.log);
      const auto was = known.find({c.log, c.quantity});
      ASSERT_NE(was, known.end()) << c.log << " " << c.quantity << ": run stan_compare";
      const std::string worse = worse_than(was->second, c);
      EXPECT_TRUE(worse.empty()) << worse;
      bounds += (c.bounded() ? 1 : 0) + (c.sd_bound ? 1 : 0);
      misses += (c.mean_holds() ? 0 : 1) + (c.sd_holds() ? 0 : 1);
      if (!c.mean_holds()) {
        std::printf("known miss: %-9s %-34s off %6.2f, bound %.2f\n", c.log.c_str(), c.quantity.c_str(), c.off(),
                    c.mean_bound);
      }
      if (!c.sd_holds()) {
        std::printf("known miss: %-9s %-34s ratio of sds %.2f, bounds 0.92-1.09\n", c.log.c_str(), c.quantity.c_str(),
                    c.ratio());
      }
    }
  }
  std::printf("%d of %d bounds hold on %zu logs\n", bounds - misses, bounds, logs.size());
  EXPECT_EQ(logs.size(), table_of(kScience + "/results/stan_chains.csv").size());
}

// The scales, which the fit looks for apart from everything else: their spread is right only where the shared unknowns
// go along with them (0.82 of the sampler's sd of log sigma on two logs where those were held). Bounds of our own. Left
// out is the log whose calls repeat themselves, which nobody's fit takes as it is written.
TEST(Sampler, ScalesAreAsUncertainAsTheSamplers) {
  int scales = 0;
  for (const FixedLog& fixed : fixed_logs()) {
    if (fixed.regular) continue;
    for (const Compared& c : compare(kScience, fixed)) {
      if (c.quantity != "log_sigma" && c.quantity != "log_drift" && c.quantity != "log_day_sd") continue;
      ++scales;
      EXPECT_LT(std::fabs(c.off()), 0.25) << c.log << " " << c.quantity;
      EXPECT_GT(c.ratio(), 0.90) << c.log << " " << c.quantity;
      EXPECT_LT(c.ratio(), 1.09) << c.log << " " << c.quantity;
    }
  }
  EXPECT_EQ(scales, 24);
}

}  // namespace
}  // namespace ullage::science
