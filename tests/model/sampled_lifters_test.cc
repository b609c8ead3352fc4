// Fits of simulated lifters held against their own posterior, sampled with none of the fit's approximations
// (science/sampled_lifters.cc). The nine logs of the other sampler are few; these are of the kinds that
// science/results/calibration.csv counts, so that what is off there can be told from what is off in the model.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "engine/calibration/scenario.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/summary.h"

namespace ullage::calibration {
namespace {

struct Row {
  std::string kind, parameter;
  int number = 0;
  double mean = 0, sd = 0, r_hat = 0, draws = 0;  // of the sampler
  double fit_mean = 0, fit_sd = 0;
};

std::vector<Row> rows() {
  std::ifstream in(ULLAGE_SOURCE_DIR "/science/results/sampled_lifters.csv");
  std::vector<Row> out;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    std::istringstream fields(line);
    Row row;
    std::string number;
    std::getline(std::getline(std::getline(fields, row.kind, ','), number, ','), row.parameter, ',');
    row.number = std::stoi(number);
    char comma = 0;
    fields >> row.mean >> comma >> row.sd >> comma >> row.r_hat >> comma >> row.draws >> comma >> row.fit_mean >>
        comma >> row.fit_sd;
    out.push_back(row);
  }
  return out;
}

// Whether two chains agree on it. log q mixes slowly; of the lifters whose ends are not told, two have posteriors like
// a thread, in which chains get stuck.
bool counts(const Row& row) { return row.r_hat < 1.05 && row.draws >= 100; }

// Strength and log k of three lifts count together.
std::string family(const std::string& parameter) {
  for (const char* of : {"strength", "log k"}) {
    if (parameter.rfind(of, 0) == 0) return of;
  }
  return parameter;
}

struct Off {
  double mean = 0, log_ratio = 0;  // sums
  int count = 0;
};

}  // namespace

TEST(SampledLifters, ChainsAgree) {
  std::map<std::pair<std::string, int>, int> unsettled;  // rows by lifter, log q aside
  for (const Row& row : rows()) unsettled[{row.kind, row.number}] += !counts(row) && row.parameter != "log q";
  EXPECT_GE(unsettled.size(), 16U);
  for (const auto& [lifter, count] : unsettled) {
    if (lifter.first == "unknown") continue;
    EXPECT_LE(count, 2) << lifter.first << " " << lifter.second;
  }
}

// Bounds of the design for the nine logs, here for the average over lifters.
TEST(SampledLifters, FitsAreAsCloseAsStated) {
  const std::set<std::string> known{"cue: log A_slow"};  // -0.23 sds
  const std::map<std::string, double> bounds{{"strength", 0.15}, {"log k", 0.15},      {"b", 0.15},
                                             {"log g", 0.20},    {"log A_fast", 0.20}, {"log A_slow", 0.20}};
  std::map<std::pair<std::string, std::string>, Off> by;
  for (const Row& row : rows()) {
    if (!counts(row)) continue;
    Off& off = by[{row.kind, family(row.parameter)}];
    off.mean += (row.fit_mean - row.mean) / row.sd;
    off.log_ratio += std::log(row.fit_sd / row.sd);
    ++off.count;
  }
  std::set<std::string> missed;
  for (const auto& [which, off] : by) {
    const double mean = off.mean / off.count, ratio = std::exp(off.log_ratio / off.count);
    std::printf("%-8s %-12s off %+.3f sds, sd %.3f of the sampler's\n", which.first.c_str(), which.second.c_str(), mean,
                ratio);
    const auto bound = bounds.find(which.second);
    if (bound == bounds.end()) continue;
    const bool chief = bound->second < 0.2;
    if (!(std::fabs(mean) <= bound->second) || (chief && !(ratio >= 0.92 && ratio <= 1.09)))
      missed.insert(which.first + ": " + which.second);
  }
  EXPECT_EQ(missed, known);
}

// The rows are of fits as they are made now.
TEST(SampledLifters, RowsAreOfTodaysFits) {
  std::map<std::string, int> first;
  for (const Row& row : rows()) first.emplace(row.kind, row.number);
  for (const auto& [kind, number] : first) {
    Scenario scenario;
    scenario.weeks = 10;
    for (int k = 0; k < kKinds; ++k) {
      if (kind_name(Kind(k)) == kind) scenario.kind = Kind(k);
    }
    const Scene scene = make_scene(scenario, number);
    const auto log = capacity::prepare(
        scene.lifter, scene.sets, [&](const std::string& id) { return scene.find(id); }, scene.sets.back().date);
    const auto fit = capacity::fit(log);
    ASSERT_TRUE(fit) << fit.error().message;
    const capacity::Posterior::Index& index = fit->index;
    std::map<std::string, int> place{{"b", index.bias},
                                     {"log A_slow", index.log_a_slow},
                                     {"log tau_fast", index.log_tau_fast},
                                     {"logit lam", index.logit_lam}};
    for (std::size_t l = 0; l < fit->lifts.size(); ++l) {
      place["strength " + fit->lifts[l].exercise] = index.strength[l];
      place["log k " + fit->lifts[l].exercise] =
          index.log_endurance[static_cast<std::size_t>(fit->lifts[l].endurance_index)];
    }
    std::map<std::string, capacity::Prior> now;
    for (const auto& [parameter, variable] : place) now[parameter] = capacity::moments(fit->components, variable);
    // Scales stand in prior sds from the prior mean.
    const capacity::Prior sigma = capacity::log_moments(fit->components, &capacity::Component::sigma);
    const capacity::Prior& prior = capacity::kLogSigma;
    now["log sigma"] = {(sigma.mean - prior.mean) / prior.sd, sigma.sd / prior.sd};
    std::size_t met = 0;
    for (const Row& row : rows()) {
      const auto found = now.find(row.parameter);
      if (row.kind != kind || row.number != number || found == now.end()) continue;
      ++met;
      EXPECT_NEAR(found->second.mean, row.fit_mean, 0.01 * row.sd) << kind << " " << row.parameter;
      EXPECT_NEAR(found->second.sd, row.fit_sd, 0.01 * row.sd) << kind << " " << row.parameter;
    }
    EXPECT_EQ(met, now.size()) << kind;
  }
}

}  // namespace ullage::calibration
