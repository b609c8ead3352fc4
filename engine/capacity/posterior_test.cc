// Storage of a posterior: exact, and safe against bytes that are not one. Forecasts from it: tests/model.
#include "engine/capacity/posterior.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace ullage::capacity {
namespace {

Posterior one_lift() {
  Posterior p;
  p.as_of = *make_date(2026, 3, 9);
  p.lifter = "ines";
  int next = 0;
  auto& i = p.index;
  for (int* variable : {&i.general, &i.log_a_fast, &i.log_a_slow, &i.log_tau_fast, &i.logit_lam, &i.log_a_day, &i.bias,
                        &i.log_gain, &i.log_spread, &i.log_spread_rise, &i.cue_shift, &i.log_layoff, &i.readiness}) {
    *variable = next++;
  }
  i.strength = {next++};
  i.trend = {next++};
  i.log_endurance = {next++};
  i.practice = {next++};
  i.size = next;
  LiftSummary lift;
  lift.exercise = "bench-press";
  lift.first = p.as_of - 30;
  lift.last = p.as_of;
  lift.new_here = true;
  lift.sessions = 2;
  lift.history = {{p.as_of, 100, 95, 105}};
  p.lifts = {lift};
  Component component;
  component.mean = Eigen::VectorXd::Constant(next, 0.5);
  component.covariance = Eigen::MatrixXd::Identity(next, next) * 0.01;
  p.components = {component, component};
  p.skews.resize(static_cast<std::size_t>(next));
  p.skews[static_cast<std::size_t>(i.strength[0])] = {0.4, 0.5, 0.1};
  p.scale_skewness = {0, -0.3, -0.2};
  p.residual_by_age = {{0.1, 0, 0, 0}};
  p.suspects = {{3, "a load of 1000 kg"}};
  p.remarks = {"one set only"};
  return p;
}

TEST(StoredPosterior, ComesBackTheSame) {
  const std::string bytes = serialise(one_lift());
  const auto back = deserialise(bytes);
  ASSERT_TRUE(back) << back.error().message;
  EXPECT_EQ(serialise(*back), bytes);
  EXPECT_EQ(back->lifts[0].history[0].date, back->as_of);
  EXPECT_EQ(back->components[1].covariance, one_lift().components[1].covariance);
  EXPECT_EQ(back->skews[static_cast<std::size_t>(back->index.strength[0])].skewness, 0.4);
}

TEST(StoredPosterior, CutShortIsRefusedAtEveryByte) {
  const std::string bytes = serialise(one_lift());
  for (std::size_t cut = 0; cut < bytes.size(); ++cut) {
    const auto back = deserialise(std::string_view(bytes).substr(0, cut));
    ASSERT_FALSE(back) << cut;
    EXPECT_TRUE(back.error().code == Code::corrupt || back.error().code == Code::newer_version) << cut;
  }
  EXPECT_FALSE(deserialise(bytes + '\0'));
}

// Every fifth byte set to 255 in turn: lengths, indices and flags that cannot be. What is still accepted can be drawn
// from.
TEST(StoredPosterior, AnyDamagedByteIsRefusedOrHarmless) {
  const std::string bytes = serialise(one_lift());
  int refused = 0;
  for (std::size_t at = 0; at < bytes.size(); at += 5) {
    std::string damaged = bytes;
    damaged[at] = '\xFF';
    const auto back = deserialise(damaged);
    refused += back ? 0 : 1;
    if (!back) continue;
    Exercise bench;
    bench.id = "bench-press";
    EXPECT_EQ(back->draw({{bench}}, back->as_of + 7, 75, 100, 1).draws.size(), 100U);
  }
  EXPECT_GT(refused, 50);
}

TEST(StoredPosterior, WhatCannotBeUsedIsRefused) {
  const auto refused = [](auto change) {
    Posterior p = one_lift();
    change(p);
    const auto back = deserialise(serialise(p));
    return !back && back.error().code == Code::corrupt;
  };
  EXPECT_FALSE(refused([](Posterior&) {}));
  EXPECT_TRUE(refused([](Posterior& p) { p.index.general = p.index.size; }));
  EXPECT_TRUE(refused([](Posterior& p) { p.index.strength[0] = -1; }));
  EXPECT_TRUE(refused([](Posterior& p) { p.index.practice.clear(); }));
  EXPECT_TRUE(refused([](Posterior& p) { p.lifts[0].endurance_index = 1; }));
  EXPECT_TRUE(refused([](Posterior& p) { p.lifts[0].side = static_cast<Side>(3); }));
  EXPECT_TRUE(refused([](Posterior& p) { p.lifts[0].last.days = std::numeric_limits<int>::min(); }));
  EXPECT_TRUE(refused([](Posterior& p) { p.components.clear(); }));
  EXPECT_TRUE(refused([](Posterior& p) { p.components[1].mean.conservativeResize(3); }));
  EXPECT_TRUE(refused([](Posterior& p) { p.components[0].covariance(0, 0) = std::nan(""); }));
  EXPECT_TRUE(refused([](Posterior& p) { p.components[0].weight = -1; }));
  EXPECT_TRUE(refused([](Posterior& p) { p.skews.pop_back(); }));
  EXPECT_TRUE(refused([](Posterior& p) { p.skews[0].sd = 0; }));
  EXPECT_TRUE(refused([](Posterior& p) { p.skews[0].skewness = 3; }));
  EXPECT_TRUE(refused([](Posterior& p) { p.scale_skewness[1] = std::nan(""); }));
}

}  // namespace
}  // namespace ullage::capacity
