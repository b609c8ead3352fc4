// Fatigue inside a session against published drop-off (T04 rows), through science/fatigue_protocols.h, which plays each
// study's sets through the engine's own functions.
//
// What was fitted is no validation: the engine's constants were fitted to most of these figures. The validation is
// the fit with each study left out, whose constants stand in science/results/fatigue_constants.csv (made by
// science/run).
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "science/fatigue_protocols.h"
#include "tests/published/published_values.h"

namespace ullage::science {
namespace {

using published::value;

struct Figure {
  std::string id, study;
  double published, tolerance, left_out;  // tolerance on the log
};

std::vector<std::vector<std::string>> table(const std::string& name) {
  std::ifstream in(ULLAGE_SOURCE_DIR "/science/results/" + name);
  std::vector<std::vector<std::string>> rows;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) rows.push_back(published::detail::fields(line));
  return rows;
}

// Bench press figures with their tolerances; the squat has its own test.
std::vector<Figure> figures() {
  std::vector<Figure> out;
  for (const auto& f : table("fatigue_residuals.csv")) {
    if (f[1].rfind("squat", 0) == 0) continue;
    out.push_back({f[0], f[1], std::stod(f[2]), std::stod(f[3]) / 100, std::stod(f[6])});
  }
  return out;
}

double off(double predicted, const Figure& f) { return std::log(predicted / f.published) / f.tolerance; }

// The three sets at 50 %: the curve, not fatigue, gives too many reps so far from strength. See KnownMisses.
constexpr const char* kLongSets = "T04-017";

// Fitted. T04-001, 002 Willardson & Burkett 2005; 012, 013 Richmond & Godard 2004; 014, 015 Speretta et al. 2012; 018
// Silva et al. 2014; 022..024 Ratamess et al. 2007; 046..049 Refalo et al. 2023. The tolerance of each figure is about
// its standard error (science/data/fatigue_figures.csv says from what), so two of them for one figure, and 1.3 for the
// root mean square of fourteen.
TEST(PublishedFatigue, EngineConstantsMeetTheFiguresTheyWereFittedTo) {
  const FatigueConstants engine;
  double square = 0;
  int count = 0;
  for (const Figure& f : figures()) {
    if (f.id == kLongSets) continue;
    const double z = off(predicted(f.id, engine), f);
    EXPECT_LT(std::abs(z), 2) << f.id << " " << f.study;
    square += z * z;
    ++count;
  }
  ASSERT_EQ(count, 14);
  EXPECT_LT(std::sqrt(square / count), 1.3);
}

// The figures of the residual table are the published ones (Ratamess: printed as reductions, kept in the table as
// shares).
TEST(PublishedFatigue, ResidualTableHoldsThePublishedValues) {
  for (const Figure& f : figures()) {
    if (f.study == "Ratamess 2007") {
      EXPECT_NEAR(1 - value(f.id) / 100, f.published, 1e-9) << f.id;
    } else {
      EXPECT_NEAR(value(f.id), f.published, 1e-9) << f.id;
    }
  }
}

// Validation: each figure by constants fitted without its study. Three tolerances for one figure, 1.5 for the root mean
// square: the doubt of the figure and about as much again from constants that five studies leave open.
TEST(PublishedFatigue, LeftOutStudiesArePredicted) {
  std::map<std::string, FatigueConstants> constants;
  for (const auto& f : table("fatigue_constants.csv")) {
    if (f[0].rfind("without ", 0) == 0) {
      constants[f[0].substr(8)] = {std::stod(f[1]), std::stod(f[2]), std::stod(f[3]),
                                   std::stod(f[4]), std::stod(f[5]), std::stod(f[6])};
    }
  }
  ASSERT_EQ(constants.size(), 6U);
  double square = 0;
  int count = 0;
  for (const Figure& f : figures()) {
    ASSERT_TRUE(constants.count(f.study)) << f.study;
    const double now = predicted(f.id, constants[f.study]);
    // The committed table is what today's functions give: constants are printed to 1e-4, and at whole reps that can
    // move a crowd of 400 by a rep or two.
    EXPECT_NEAR(now / f.left_out, 1, 0.01) << f.id << ": science/run must be run again";
    if (f.id == kLongSets) continue;
    const double z = off(now, f);
    EXPECT_LT(std::abs(z), 3) << f.id << " " << f.study;
    square += z * z;
    ++count;
  }
  EXPECT_LT(std::sqrt(square / count), 1.5);
}

// The documented constants are no worse than the refit by more than the six constants are free to take (a drop of the
// misfit by six is what chance gives).
TEST(PublishedFatigue, EngineConstantsAreWithinTheRefit) {
  double engine = 0, refit = 0;
  for (const auto& f : table("fatigue_constants.csv")) {
    if (f[0] == "engine") engine = std::stod(f[7]);
    if (f[0] == "fit to all") refit = std::stod(f[7]);
  }
  ASSERT_GT(refit, 0);
  EXPECT_LT(engine - refit, 6);
  double now = 0;
  for (const Figure& f : figures()) now += std::pow(off(predicted(f.id, FatigueConstants{}), f), 2);
  EXPECT_NEAR(now, engine, 0.1) << "the engine's constants changed: science/run must be run again";
}

// Refalo et al. 2023, T04-046..049: failure tires more than stopping 1 short, that more than 3 short, 4 minutes later
// and from set to set.
TEST(PublishedFatigue, NearerFailureTiresMore) {
  const FatigueConstants c;
  for (const auto& [one, three] : {std::pair{"T04-046", "T04-047"}, {"T04-048", "T04-049"}}) {
    ASSERT_LT(value(three), value(one));
    EXPECT_LT(predicted(one, c), 1);
    EXPECT_LT(predicted(three, c), predicted(one, c));
  }
}

// T04-034, 037, 040, Refalo et al. 2023: at 24 h failure and 1 short are 3 % slower, 3 short not. What residual fatigue
// is counted from, sum(D), must stand in that order, failure and 1 short nearer to each other than to 3 short.
TEST(PublishedFatigue, DepletionStandsInTheOrderOfTheNextDay) {
  const FatigueConstants c;
  const auto depletion = [&](int reserve) {
    capacity::FatigueStores stores;
    double sum = 0;
    for (int set = 0; set < 6; ++set) {
      const double margin = -std::log(0.75) - stores.total();
      const int reps = static_cast<int>(capacity::reps_to_failure(margin, capacity::Curve{32, 1})) - reserve;
      const auto spent = capacity::spend<double>(margin, 32, 1, reps, reserve == 0, c.lam, c.rho_f);
      sum += spent.depletion;
      stores.add(spent, c);
      stores.rest(4, c);
    }
    return sum;
  };
  EXPECT_GT(depletion(0), depletion(1));
  EXPECT_GT(depletion(1), depletion(3));
  EXPECT_LT(depletion(0) - depletion(1), depletion(1) - depletion(3));
}

// Not fitted: T04-016 (Speretta et al. 2012, 1 against 2 minutes, tolerance the doubt of both totals), T04-019 (rough,
// two studies: one tenth of an absolute share), T04-020, T04-021 (Ratamess et al. 2007, reductions of 15 and 55 % from
// set 2 to 5 at 30 s or 1 minute: two tolerances of 8 % on what is kept).
TEST(PublishedFatigue, FurtherRows) {
  const FatigueConstants c;
  EXPECT_NEAR(std::log(predicted("T04-016", c) / value("T04-016")), 0,
              std::hypot(3.44 / 26.67, 6.14 / 33.16) / std::sqrt(6));
  const Played silva = play({{0.7, 0.7, 0.7}, 1}, c);
  EXPECT_NEAR((silva.reps[1] + silva.reps[2]) / 2 / silva.reps[0], value("T04-019"), 0.1);
  const auto tens = play({{0.75, 0.75, 0.75, 0.75, 0.75}, 1, 0, 10}, c).reps;
  const auto fives = play({{0.85, 0.85, 0.85, 0.85, 0.85}, 1, 0, 5}, c).reps;
  EXPECT_NEAR(std::log((tens[1] / tens[0] + fives[1] / fives[0]) / 2 / (1 - value("T04-020") / 100)), 0, 0.16);
  EXPECT_NEAR(std::log((tens[4] / tens[0] + fives[4] / fives[0]) / 2 / (1 - value("T04-021") / 100)), 0, 0.16);
}

// T04-026 (Senna et al. 2011), T04-028 (Miranda et al. 2007), T04-029 (Rahimi 2005): more rest, more reps, in every
// lift.
TEST(PublishedFatigue, MoreRestMoreReps) {
  for (const double endurance : {26.0, 32.0, 48.0}) {
    double before = 0;
    for (const double rest : {1.0, 3.0, 5.0}) {
      Crowd crowd;
      crowd.endurance = endurance;
      const double total = play({{-10, -10, -10, -10, -10}, rest}, {}, crowd).total;
      EXPECT_GT(total, before + 1) << endurance << " " << rest;
      before = total;
    }
  }
}

// Where the model is wrong, and by how much: docs/model.md tells these numbers. Model over published.
TEST(PublishedFatigue, KnownMisses) {
  const FatigueConstants c;
  EXPECT_NEAR(predicted("T04-017", c) / value("T04-017"), 1.27, 0.02);  // Silva et al. 2014, three sets at 50 %
  Crowd squat;
  squat.endurance = 36;                                                        // T01-089
  EXPECT_NEAR(predicted("T04-003", c, squat) / value("T04-003"), 1.13, 0.02);  // Willardson & Burkett 2005, squat
  EXPECT_NEAR(predicted("T04-004", c, squat) / value("T04-004"), 1.30, 0.02);
}

}  // namespace
}  // namespace ullage::science
