#include "engine/comparing/compare.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/capacity/priors.h"
#include "engine/comparing/average_lifter.h"
#include "engine/planning/test_lifter.h"

namespace ullage::comparing {
namespace {

using planning::testing::bench;
using planning::testing::kNoDoubt;
using planning::testing::kWellKnown;
using planning::testing::sample;

const std::vector<planning::Reading>& readings() {
  static const std::vector<planning::Reading> both{planning::plateau_reading(400, 1), planning::linear_reading(400, 2)};
  return both;
}

// At their own load for 10 reps.
CompareRequest request_of(const capacity::LifterDraws& draws, const std::vector<std::string>& ways, int sets = 4) {
  CompareRequest request;
  for (const std::string& text : ways)
    request.contenders.push_back({*parse_way(text), load_for_reps(draws, 0, 10), false});
  request.sets = sets;
  return request;
}

// One possibility without noise, by hand: C(x), the set, what it spends, the rest, again.
TEST(Comparing, OneKnownLifterIsPlayedByTheModelsFormulas) {
  capacity::LifterDraws draws = sample({{bench(), 100, 32}}, kNoDoubt, 1, 1, {0.5, 1, 0, 0, 0});
  draws.draws[0].sigma = 0;
  draws.draws[0].a_day = 0.02;
  CompareRequest request = request_of(draws, {"failure", "reserve:2"}, 3);
  for (Contender& c : request.contenders) c.log_total_loads = {std::log(75.0)};
  request.rest_s = 180;
  const Comparison c = *compare(draws, readings(), request);
  for (std::size_t w = 0; w < 2; ++w) {
    const capacity::FatigueConstants constants = draws.draws[0].fatigue;
    capacity::FatigueStores stores;
    double total = 0, spent_in_all = 0, lost = 0, seconds = 0;
    for (int k = 0; k < 3; ++k) {
      if (k > 0) stores.rest(3, constants);
      const double margin = std::log(100.0 / 75) - stores.total();
      const double reach = capacity::reps_to_failure(margin, capacity::Curve{32, 1});
      // A perfect judge who stops on 2 stops at the first rep with less than 3 left.
      const int reps = w == 0 ? static_cast<int>(reach) : static_cast<int>(std::floor(reach)) - 2;
      const auto spent = capacity::spend<double>(margin, 32, 1, reps, w == 0, constants.lam, constants.rho_f);
      stores.add(spent, constants);
      stores.rest(reps * capacity::kSecondsPerRep / 60, constants);
      total += reps;
      spent_in_all += spent.depletion;
      seconds += reps * capacity::kSecondsPerRep + (k > 0 ? 180 : 0);
      lost = stores.total();
      EXPECT_EQ(c.ways[w].each[static_cast<std::size_t>(k)].reps.median, reps) << w << " " << k;
    }
    const Outcome& o = c.ways[w].outcome;
    EXPECT_EQ(o.total_reps.mean, total);
    EXPECT_NEAR(o.tonnage_kg.mean, 75 * total, 1e-9);
    EXPECT_NEAR(o.minutes.mean, seconds / 60, 1e-9);
    EXPECT_NEAR(o.margin_lost_end.mean, lost, 1e-12);
    EXPECT_NEAR(o.residual_24h.mean, 0.02 * spent_in_all * std::exp(-1.0), 1e-12);
    EXPECT_EQ(o.hard_sets.mean, 3);
    EXPECT_EQ(c.ways[w].p_miss, 0);
    double plateau = 0;
    for (int k = 0; k < 3; ++k) plateau += readings()[0].stimulus(0, w == 0 ? 0 : 2);
    EXPECT_NEAR(o.stimulus[0].mean, plateau, 1e-12);
  }
}

TEST(Comparing, DifferencesAreDrawByDraw) {
  const auto draws = sample({{bench(), 100, 32}}, kWellKnown, 400, 5);
  const Comparison c = *compare(draws, readings(), request_of(draws, {"failure", "failure", "reserve:2"}));
  const auto zero = [](const Measure& m) {
    return m.mean == 0 && m.interval.median == 0 && m.interval.lo80 == 0 && m.interval.hi80 == 0;
  };
  for (const std::size_t same : {0U, 1U}) {
    const Outcome& o = c.against_first[same];
    for (const Measure& m : {o.total_reps, o.tonnage_kg, o.hard_sets, o.minutes, o.margin_lost_end, o.residual_24h,
                             o.stimulus[0], o.stimulus[1]}) {
      EXPECT_TRUE(zero(m));
    }
  }
  // The difference is far better known than either: the doubt about the lifter is the same in both.
  const Measure& lost = c.against_first[2].margin_lost_end;
  EXPECT_NEAR(lost.mean, c.ways[2].outcome.margin_lost_end.mean - c.ways[0].outcome.margin_lost_end.mean, 1e-12);
  EXPECT_LT(lost.interval.hi80, 0);
  EXPECT_LT(c.against_first[2].stimulus[1].interval.hi80, 0);
}

// Facts of the trade (common practice, no source): after a first set to failure at a 10RM the next falls to 3-6 by
// lifter and rest; stopping 2-3 short, three sets stay doable for most, at less cost.
TEST(Comparing, FailureCostsTheLaterSets) {
  const auto draws = average_lifter(bench(), 2000, 3);
  CompareRequest request = request_of(draws, {"failure", "reserve:2", "reserve:3"}, 3);
  request.rest_s = 90;
  const Comparison c = *compare(draws, readings(), request);
  const auto reps = [&](std::size_t way, std::size_t set) { return c.ways[way].each[set].reps.median; };
  EXPECT_EQ(reps(0, 0), 10);
  EXPECT_GE(reps(0, 1), 3);
  EXPECT_LE(reps(0, 1), 6);
  for (const std::size_t way : {1U, 2U}) {
    EXPECT_GE(reps(way, 2), 3);
    EXPECT_LT(reps(way, 0) - reps(way, 2), reps(0, 0) - reps(0, 2));
    EXPECT_LT(c.against_first[way].margin_lost_end.interval.hi80, 0);
    EXPECT_LT(c.against_first[way].residual_24h.mean, 0);
    // Some of the stimulus goes too, less under the plateau than if every rep counts.
    EXPECT_LT(c.against_first[way].stimulus[0].mean, 0);
    EXPECT_LT(c.against_first[way].stimulus[1].mean, c.against_first[way].stimulus[0].mean);
  }
  EXPECT_EQ(c.ways[0].p_miss, 0);  // sets to failure are left out
  EXPECT_GT(c.ways[1].p_miss, c.ways[2].p_miss);
}

TEST(Comparing, EqualVolumeAddsSetsAndShowsThePart) {
  const auto draws = average_lifter(bench(), 500, 3);
  CompareRequest request = request_of(draws, {"failure", "reserve:4"});
  request.basis = Basis::volume;
  const Comparison c = *compare(draws, readings(), request);
  const double failure = c.ways[0].outcome.total_reps.mean, four = c.ways[1].outcome.total_reps.mean;
  EXPECT_NEAR(failure, four, 1e-6 * failure);
  EXPECT_FALSE(c.by_tonnage);
  // One of the two stays at the sets asked for, the other has more, with the last a part.
  const WayResult& longer = c.ways[0].sets > c.ways[1].sets ? c.ways[0] : c.ways[1];
  EXPECT_EQ(std::min(c.ways[0].sets, c.ways[1].sets), 4);
  EXPECT_GT(longer.sets, 4);
  ASSERT_EQ(longer.each.size(), static_cast<std::size_t>(std::ceil(longer.sets)));
  EXPECT_NEAR(longer.each.back().share, longer.sets - std::floor(longer.sets), 1e-9);
  // The part lies between doing the set never and always.
  const auto at = [&](int sets) {
    CompareRequest whole = request_of(draws, {longer.key}, sets);
    return compare(draws, readings(), whole)->ways[0].outcome;
  };
  const Outcome few = at(static_cast<int>(std::floor(longer.sets))),
                many = at(static_cast<int>(std::ceil(longer.sets)));
  const double part = longer.each.back().share;
  EXPECT_NEAR(longer.outcome.minutes.mean, (1 - part) * few.minutes.mean + part * many.minutes.mean, 1e-9);
  EXPECT_NEAR(longer.outcome.stimulus[1].mean, (1 - part) * few.stimulus[1].mean + part * many.stimulus[1].mean, 1e-9);
}

TEST(Comparing, AtDifferentLoadsVolumeIsTonnage) {
  const auto draws = sample({{bench(), 100, 32}}, kWellKnown, 300, 5);
  CompareRequest request = request_of(draws, {"reserve:2", "reserve:2"});
  request.basis = Basis::volume;
  for (double& load : request.contenders[1].log_total_loads) load -= 0.2;
  request.contenders[1].at_own_load = true;
  const Comparison c = *compare(draws, readings(), request);
  EXPECT_TRUE(c.by_tonnage);
  EXPECT_NEAR(c.ways[0].outcome.tonnage_kg.mean / c.ways[1].outcome.tonnage_kg.mean, 1, 1e-6);
  EXPECT_GT(std::abs(c.ways[0].outcome.total_reps.mean - c.ways[1].outcome.total_reps.mean), 1);
}

TEST(Comparing, EqualMinutes) {
  const auto draws = average_lifter(bench(), 500, 3);
  CompareRequest request = request_of(draws, {"failure", "reserve:3", "last-failure", "list:3,2,1,0"});
  request.basis = Basis::minutes;
  const Comparison c = *compare(draws, readings(), request);
  for (const WayResult& way : c.ways) {
    EXPECT_TRUE(way.reached);
    EXPECT_NEAR(way.outcome.minutes.mean, c.ways[0].outcome.minutes.mean, 1e-6) << way.key;
  }
}

TEST(Comparing, WhatCannotBeReachedIsSaid) {
  const auto draws = sample({{bench(), 100, 32}}, kWellKnown, 200, 5);
  CompareRequest request = request_of(draws, {"failure", "reserve:10"}, 18);
  request.basis = Basis::volume;
  const Comparison c = *compare(draws, readings(), request);
  EXPECT_TRUE(c.ways[0].reached);
  EXPECT_FALSE(c.ways[1].reached);
  EXPECT_EQ(c.ways[1].sets, kMostSetsOfWay);
}

// Someone who always has more than they say stops on fixed reps where even "0" comes too early.
TEST(Comparing, FixedRepsWhereACallOfNoneIsTooEarly) {
  const auto draws = sample({{bench(), 100, 32}}, kWellKnown, 400, 5, {3.5, 0.8, 0.4, 0.1, 0});
  const Comparison c = *compare(draws, readings(), request_of(draws, {"reserve:1", "reserve:5"}));
  EXPECT_FALSE(c.ways[0].each[0].cue);
  EXPECT_GT(c.ways[0].each[0].fixed_reps, 0);
  EXPECT_GT(c.ways[0].p_miss, 0.1);
  ASSERT_TRUE(c.ways[1].each[0].cue);
  EXPECT_EQ(static_cast<int>(c.ways[1].each[0].true_reserve.median), 5);
}

TEST(Comparing, RefusesWhatMakesNoSense) {
  const auto draws = sample({{bench(), 100, 32}}, kWellKnown, 20, 5);
  const auto message = [&](auto spoil) {
    CompareRequest request = request_of(draws, {"failure"});
    spoil(request);
    const auto result = compare(draws, readings(), request);
    EXPECT_FALSE(result);
    return result ? std::string() : result.error().message;
  };
  EXPECT_NE(message([](auto& r) { r.contenders.clear(); }).find("strategies"), std::string::npos);
  EXPECT_NE(message([](auto& r) { r.sets = 0; }).find("sets"), std::string::npos);
  EXPECT_NE(message([](auto& r) { r.rest_s = -1; }).find("rest"), std::string::npos);
  EXPECT_NE(message([](auto& r) { r.lift = 1; }).find("lift"), std::string::npos);
  EXPECT_NE(message([](auto& r) { r.contenders[0].log_total_loads.pop_back(); }).find("load"), std::string::npos);
  EXPECT_NE(message([](auto& r) { r.contenders[0].log_total_loads[3] = std::log(0.0); }).find("load"),
            std::string::npos);
  EXPECT_NE(message([](auto& r) { r.contenders[0].way = *parse_way("list:2,2,1"); }).find("3 sets"), std::string::npos);
  EXPECT_NE(message([](auto& r) { r.rest_s = std::nan(""); }).find("rest"), std::string::npos);
}

// A load above strength: nothing can be done, and that is what comes out.
TEST(Comparing, ALoadAboveStrengthBringsNothing) {
  const auto draws = sample({{bench(), 100, 32}}, kWellKnown, 100, 5);
  CompareRequest request = request_of(draws, {"failure", "reserve:2"});
  for (Contender& c : request.contenders) c.log_total_loads.assign(100, std::log(200.0));
  const Comparison c = *compare(draws, readings(), request);
  EXPECT_EQ(c.ways[0].outcome.total_reps.mean, 0);
  EXPECT_EQ(c.ways[1].p_miss, 1);
}

}  // namespace
}  // namespace ullage::comparing
