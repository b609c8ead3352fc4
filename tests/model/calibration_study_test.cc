// The committed outcome of `ullage simulate` (science/results/calibration.csv): simulated lifters drawn from the
// priors, fitted, the place of each truth in its posterior. The rule was set before the first run (docs/model.md
// section 7); what does not hold of it stands here by name, so that it can neither grow nor be mended in words only.
#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <map>
#include <numeric>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "service/coach/simulate.h"

namespace ullage::coach {
namespace {

using calibration::ParameterTally;
using calibration::Scenario;

struct Committed {
  Scenario scenario;
  std::vector<ParameterTally> parameters;
};

std::vector<Committed> committed() {
  std::vector<Committed> out;
  std::ifstream in(ULLAGE_SOURCE_DIR "/science/results/calibration.csv");
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    std::istringstream cells(line);
    std::vector<std::string> f;
    for (std::string cell; std::getline(cells, cell, ',');) f.push_back(cell);
    EXPECT_EQ(f.size(), 18U) << line;
    if (f.size() != 18) continue;
    Scenario scenario;
    scenario.weeks = std::stoi(f[0]);
    for (int k = 0; k < calibration::kKinds; ++k) {
      if (calibration::kind_name(static_cast<calibration::Kind>(k)) == f[1])
        scenario.kind = static_cast<calibration::Kind>(k);
    }
    for (int v = 0; v < calibration::kVariants; ++v) {
      if (calibration::variant_name(static_cast<calibration::Variant>(v)) == f[2])
        scenario.variant = static_cast<calibration::Variant>(v);
    }
    if (out.empty() || out.back().parameters.size() == calibration::parameter_names().size())
      out.push_back({scenario, {}});
    ParameterTally t;
    t.parameter = f[3];
    t.n = std::stoi(f[4]);
    for (std::size_t bin = 0; bin < 10; ++bin) t.bins[bin] = std::stoi(f[5 + bin]);
    t.coverage80 = std::stod(f[15]);
    t.p = std::strtod(f[16].c_str(), nullptr);  // may be below what a double holds in full
    t.p_holm = std::strtod(f[17].c_str(), nullptr);
    out.back().parameters.push_back(t);
  }
  return out;
}

std::string name_of(const Scenario& s) {
  return std::string(calibration::kind_name(s.kind)) + ", " + std::string(calibration::variant_name(s.variant));
}

// Every kind and variant is there, every lifter counted once, and the p of each parameter is that of its bins.
TEST(CalibrationStudy, CountsAddUp) {
  const std::vector<Committed> study = committed();
  std::set<std::string> seen;
  for (const Committed& c : study) {
    seen.insert(name_of(c.scenario));
    ASSERT_EQ(c.parameters.size(), calibration::parameter_names().size()) << name_of(c.scenario);
    std::vector<double> p;
    for (std::size_t k = 0; k < c.parameters.size(); ++k) {
      const ParameterTally& t = c.parameters[k];
      EXPECT_EQ(t.parameter, calibration::parameter_names()[k]);
      EXPECT_GE(t.n, c.scenario.variant == calibration::Variant::none ? 1000 : 250) << name_of(c.scenario);
      EXPECT_EQ(std::accumulate(t.bins.begin(), t.bins.end(), 0), t.n) << name_of(c.scenario) << " " << t.parameter;
      double x = 0;
      for (const int count : t.bins) x += (count - t.n / 10.0) * (count - t.n / 10.0) / (t.n / 10.0);
      EXPECT_NEAR(calibration::chi_squared_above(x, 9), t.p, 1e-3 + 0.01 * t.p) << t.parameter;
      // The middle eight bins are the 80 % interval, but for places on their edges.
      EXPECT_NEAR(t.coverage80, 1 - static_cast<double>(t.bins.front() + t.bins.back()) / t.n, 0.011) << t.parameter;
      p.push_back(t.p);
    }
    const std::vector<double> adjusted = calibration::holm(p);
    for (std::size_t k = 0; k < p.size(); ++k) {
      EXPECT_NEAR(adjusted[k], c.parameters[k].p_holm, 1e-3 + 0.02 * adjusted[k]) << c.parameters[k].parameter;
    }
  }
  EXPECT_EQ(seen.size(), static_cast<std::size_t>(calibration::kKinds + calibration::kVariants - 1));
}

TEST(CalibrationStudy, WhatDoesNotHoldIsKnown) {
  const std::map<std::string, std::set<std::string>> known{
      {"planned, none", {"log A_slow"}},
      {"mixed, none", {"log sigma"}},
      {"cue, none", {"log q"}},
      {"unknown, none", {"log A_slow", "logit lam", "log q"}},
      {"planned, heavy tails", {"log sigma"}},
      {"planned, wrong rests", {"log A_fast"}},
      {"planned, drifting judgement", {"b"}},
      {"planned, plateau then jump", {"log q", "log sigma_d"}},
  };
  for (const Committed& c : committed()) {
    std::set<std::string> faulty;
    for (const std::string& fault : calibration_faults(c.scenario, c.parameters)) {
      std::printf("known miss: %s: %s\n", name_of(c.scenario).c_str(), fault.c_str());
      faulty.insert(fault.substr(0, fault.find(':')));
    }
    const auto stated = known.find(name_of(c.scenario));
    EXPECT_EQ(faulty, stated == known.end() ? std::set<std::string>{} : stated->second) << name_of(c.scenario);
  }
}

}  // namespace
}  // namespace ullage::coach
