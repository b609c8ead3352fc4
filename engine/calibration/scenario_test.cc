#include "engine/calibration/scenario.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/random.h"
#include "engine/capacity/light_sets.h"
#include "engine/capacity/repeated_reps.h"

namespace ullage::calibration {
namespace {

TEST(ChiSquared, AgreesWithHandbookTables) {
  // Upper points of the chi-squared distribution with 9 degrees of freedom: 16.919 at 0.05, 21.666 at 0.01, 8.343 at
  // 0.5 (NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.7.4; from memory).
  EXPECT_NEAR(chi_squared_above(16.919, 9), 0.05, 1e-5);
  EXPECT_NEAR(chi_squared_above(21.666, 9), 0.01, 1e-5);
  EXPECT_NEAR(chi_squared_above(8.343, 9), 0.5, 1e-4);
  EXPECT_NEAR(chi_squared_above(3.841, 1), 0.05, 1e-4);
}

// Whose sets end where they like keep their stops: nothing in the log looks like a plan. Of 320 (numbers 20000-20199
// with 10 weeks, 21000-21119 with 16) one has too many light sets, of none are the reps too even.
TEST(EndsNotTold, OfSimulatedLiftersAreTakenAsTheyAre) {
  int light = 0;
  double light_share = 0, near_share = 0;
  for (int i = 0; i < 40; ++i) {
    const Scene scene = make_scene({Kind::unknown, Variant::none, 10}, 20000 + i);
    const auto log = capacity::prepare(
        scene.lifter, scene.sets, [&](const std::string& id) { return scene.find(id); }, scene.sets.back().date);
    const capacity::LightSets found = capacity::light_sets(log);
    light += found.by_plan() ? 1 : 0;
    light_share += static_cast<double>(found.light) / found.compared / 40;
    const capacity::RepeatedReps reps = capacity::repeated_reps(log);
    EXPECT_FALSE(reps.by_plan()) << i;
    EXPECT_FALSE(reps.by_evenness()) << i;
    near_share += static_cast<double>(reps.near_uncalled) / reps.beside_uncalled / 40;
  }
  EXPECT_LE(light, 1);
  EXPECT_LT(light_share, 0.12);
  EXPECT_LT(near_share, 0.36);
}

// The model takes a warm-up for planned: what ended where the lifter liked, as a search for the load, is none. Warm-ups
// are ordered with six reps and three.
TEST(EndsNotTold, WarmUpsOfSimulatedLiftersWerePlanned) {
  int warmups = 0;
  for (int i = 0; i < 10; ++i) {
    for (const SetRecord& set : make_scene({Kind::unknown, Variant::none, 10}, 20000 + i).sets) {
      if (set.kind != SetKind::warmup) continue;
      ++warmups;
      EXPECT_TRUE(set.failed || set.reps == 6 || set.reps == 3) << i << ": " << set.reps;
    }
  }
  EXPECT_GT(warmups, 500);
}

TEST(Holm, MultipliesTheSmallestByHowManyAreLeft) {
  const std::vector<double> p = holm({0.01, 0.04, 0.03, 0.005});
  EXPECT_NEAR(p[3], 0.02, 1e-12);
  EXPECT_NEAR(p[0], 0.03, 1e-12);
  EXPECT_NEAR(p[2], 0.06, 1e-12);
  EXPECT_NEAR(p[1], 0.06, 1e-12);  // never below a smaller one's
}

TEST(Tally, SeesARightAndAWrongPosterior) {
  Random random(3);
  std::vector<std::vector<double>> right, narrow;
  for (int i = 0; i < 2000; ++i) {
    right.emplace_back();
    narrow.emplace_back();
    for (std::size_t k = 0; k < parameter_names().size(); ++k) {
      const double u = random.uniform();
      right.back().push_back(u);
      narrow.back().push_back(u < 0.5 ? u * u * 2 : 1 - 2 * (1 - u) * (1 - u));
    }
  }
  for (const ParameterTally& t : tally(right)) {
    EXPECT_NEAR(t.coverage80, 0.8, 0.03);
    EXPECT_GT(t.p_holm, 0.01);
  }
  for (const ParameterTally& t : tally(narrow)) {
    EXPECT_LT(t.coverage80, 0.65);
    EXPECT_LT(t.p_holm, 1e-6);
  }
}

// What the coach's choices rest on: the truth comes in through what the lifter does alone.
TEST(Scene, IsTheSameEveryTimeAndWithinBounds) {
  for (int kind = 0; kind < kKinds; ++kind) {
    const Scenario scenario{static_cast<Kind>(kind), Variant::none, 4};
    const Scene a = make_scene(scenario, 3);
    const Scene b = make_scene(scenario, 3);
    EXPECT_EQ(a.sets, b.sets);
    EXPECT_EQ(a.next_capacity, b.next_capacity);
    EXPECT_NE(a.sets, make_scene(scenario, 4).sets);
    EXPECT_GT(a.sets.size(), 40U);
    if (scenario.kind == Kind::unknown) {
      for (const SetRecord& r : a.sets) EXPECT_FALSE(r.called);
    }
  }
}

}  // namespace
}  // namespace ullage::calibration
