#include "engine/planning/lighter_week.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/random.h"

namespace ullage::planning {
namespace {

using ::testing::HasSubstr;

std::string same(const std::string& id) { return id; }

// Two weeks of a lifter whose strength is 4 % under forecast, tired, with misses.
RecentForm low() {
  RecentForm form;
  form.sessions = 6;
  form.planned = 40;
  form.missed = 5;
  form.told = 1.6;
  form.chance = 0.02;
  form.lifts = 3;
  form.against = {-0.021, -0.034, -0.008, 0.01};
  form.p_under = 0.97;
  form.most_under = "bench press";
  form.readiness = -0.012;
  form.p_tired = 0.95;
  form.spent = 1.1;
  return form;
}

TEST(LighterWeek, SaysTheNumbersThatCausedIt) {
  const auto lighter = propose_lighter_week(low(), same);
  ASSERT_TRUE(lighter);
  EXPECT_EQ(
      lighter->why,
      "Strength is 2.1 % under what was forecast two weeks ago (80 %: 3.4 % under to 0.8 % under, under it with "
      "97 %, most in bench press); 5 of 40 planned sets were missed where 1.6 were told; readiness was 1.2 % below "
      "usual.");
  EXPECT_EQ(lighter->brief, "strength is under forecast by 2.1 %");
  EXPECT_DOUBLE_EQ(lighter->probability, 0.97);
}

TEST(LighterWeek, OneWeakSignIsNotEnough) {
  RecentForm form = low();
  form.missed = 2;
  form.readiness = 0;
  EXPECT_FALSE(propose_lighter_week(form, same)) << "a little under forecast, and nothing beside it";
  form = low();
  form.against = {0.004, -0.01, 0.02, 0.01};
  form.p_under = 0.3;
  EXPECT_FALSE(propose_lighter_week(form, same)) << "some misses and a tired look at full strength";
  form.chance = 0.001;
  EXPECT_TRUE(propose_lighter_week(form, same)) << "misses that chance does not explain speak alone";
  form = low();
  form.missed = 0;
  form.readiness = 0;
  form.against.median = -0.035;
  EXPECT_FALSE(propose_lighter_week(form, same)) << "far under, but not surely";
  form.p_under = 0.98;
  EXPECT_TRUE(propose_lighter_week(form, same)) << "far under and surely";
}

TEST(LighterWeek, NotForWhoHasHardlyTrained) {
  RecentForm form = low();
  form.spent = 0.5;
  EXPECT_FALSE(propose_lighter_week(form, same)) << "half of the usual work: not tired of it";
  form = low();
  form.sessions = 2;
  EXPECT_FALSE(propose_lighter_week(form, same));
  EXPECT_FALSE(propose_lighter_week({}, same)) << "nothing known";
}

// Against adding up every outcome.
TEST(RecentForm, ChanceOfSoManyMisses) {
  const std::vector<double> chances = {0.02, 0.5, 0.13, 0.9, 0.001, 0.3};
  for (int k = 0; k <= 7; ++k) {
    double exact = 0;
    for (unsigned outcome = 0; outcome < 64; ++outcome) {
      double p = 1;
      int misses = 0;
      for (unsigned i = 0; i < 6; ++i) {
        const bool miss = (outcome >> i & 1U) != 0;
        p *= miss ? chances[i] : 1 - chances[i];
        misses += miss ? 1 : 0;
      }
      if (misses >= k) exact += p;
    }
    EXPECT_NEAR(at_least_so_many(k, chances), exact, 1e-12) << k;
  }
  EXPECT_EQ(at_least_so_many(0, {}), 1);
  EXPECT_EQ(at_least_so_many(1, {}), 0);
}

TEST(RecentForm, TooLittleToSay) {
  Lifter who;
  who.id = who.name = "new";
  const auto none = recent_form(who, {}, [](const std::string&) { return nullptr; }, Date{20000});
  ASSERT_TRUE(none) << none.error().message;
  EXPECT_EQ(none->sessions, 0);
  EXPECT_FALSE(propose_lighter_week(*none, same));
}

}  // namespace
}  // namespace ullage::planning
