#include "engine/capacity/repeated_calls.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/random.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/test_bench_press.h"

namespace ullage::capacity {
namespace {

// 8 reps with calls of 3, 2, 1 in each of so many sessions; `change` alters the call of one set.
TrainingLog log_of(int sessions, const std::function<double(int session, int set)>& change = {}) {
  std::vector<SetRecord> records;
  for (int s = 0; s < sessions; ++s) {
    for (int i = 0; i < 3; ++i) {
      SetRecord set;
      set.date = *parse_date("2026-01-05") + 4 * s;
      set.exercise = "bench-press";
      set.load = {60, Unit::kilogram};
      set.reps = 8;
      set.stop = Stop::planned;
      set.planned_reps = 8;
      set.rest_s = 150;
      set.called = Call{3.0 - i + (change ? change(s, i) : 0), false};
      records.push_back(set);
    }
  }
  const Exercise exercise = bench_press();
  return prepare(Lifter{}, records, [&](const std::string&) { return &exercise; }, *parse_date("2026-06-01"));
}

TEST(RepeatedCalls, AreCountedAgainstTheSessionBefore) {
  const RepeatedCalls all = repeated_calls(log_of(11));
  EXPECT_EQ(all.compared, 30);
  EXPECT_EQ(all.same, 30);
  EXPECT_TRUE(all.by_habit());
  // One other call makes two comparisons differ.
  const RepeatedCalls but_one = repeated_calls(log_of(11, [](int s, int i) { return s == 4 && i == 1 ? 1 : 0; }));
  EXPECT_EQ(but_one.same, 28);
  EXPECT_TRUE(but_one.by_habit());
}

TEST(RepeatedCalls, AFewProveNothing) {
  EXPECT_FALSE(repeated_calls(log_of(5)).by_habit());  // 12 of 12: 1 in 4096
  EXPECT_TRUE((RepeatedCalls{14, 14}.by_habit()));     // 1 in 16384
  EXPECT_FALSE((RepeatedCalls{14, 13}.by_habit()));
  EXPECT_FALSE((RepeatedCalls{100, 65}.by_habit()));
  EXPECT_TRUE((RepeatedCalls{100, 75}.by_habit()));
  EXPECT_FALSE((RepeatedCalls{0, 0}.by_habit()));
}

TEST(RepeatedCalls, OnlyTheLastSessionsCallsAreKept) {
  TrainingLog log = log_of(8);
  keep_last_calls(log, repeated_calls(log));
  for (std::size_t s = 0; s < log.sessions.size(); ++s) {
    for (const LoggedSet& set : log.sessions[s].sets) EXPECT_EQ(set.feeling.has_value(), s + 1 == log.sessions.size());
  }
  ASSERT_FALSE(log.remarks.empty());
  EXPECT_NE(log.remarks.back().find("21 of 21"), std::string::npos) << log.remarks.back();
}

// Two left and two called in every set, the reps as they come: 80 kg of a lifter who can do 105 kg.
TrainingLog steady_log(int sessions) {
  std::vector<SetRecord> records;
  for (int s = 0; s < sessions; ++s) {
    for (int i = 0; i < 3; ++i) {
      Random random(static_cast<std::uint64_t>(7 * s + i), 1);
      const double strength = 105 * std::exp(0.02 * random.normal());
      SetRecord set;
      set.date = *parse_date("2026-01-05") + 7 * (s / 2) + 3 * (s % 2);
      set.exercise = "bench-press";
      set.load = {80, Unit::kilogram};
      set.reps = static_cast<int>(1 + 32 * (strength / 80 - 1) - 2 - 0.7 * i);
      set.called = Call{2, false};
      set.rest_s = 150;
      records.push_back(set);
    }
  }
  const Exercise exercise = bench_press();
  return prepare(Lifter{}, records, [&](const std::string&) { return &exercise; }, records.back().date);
}

TEST(SteadyCalls, CountOnceWhateverTheReps) {
  TrainingLog log = steady_log(12);
  EXPECT_FALSE(repeated_calls(log).by_habit());
  const RepeatedCalls found = steady_calls(log);
  EXPECT_EQ(found.compared, 33);
  EXPECT_EQ(found.same, 33);
  EXPECT_TRUE(found.by_habit());
  log.sessions[3].sets[1].stop = Stop::planned;  // its end is told: the call is one of its own
  keep_last_calls(log, found, CallsOf::untold_ends);
  int calls = 0;
  for (const LoggedSession& session : log.sessions) {
    for (const LoggedSet& set : session.sets) calls += set.feeling ? 1 : 0;
  }
  EXPECT_EQ(calls, 4);
  EXPECT_TRUE(log.sessions[3].sets[1].feeling.has_value());
  EXPECT_TRUE(log.sessions.back().sets[0].feeling.has_value());
}

// Nothing in such a log says how the lifter's calls compare with what is left: no bias is learned surely from it.
TEST(SteadyCalls, TeachNoBias) {
  const auto fitted = fit(steady_log(30));
  ASSERT_TRUE(fitted);
  EXPECT_GT(fitted->bias_reps.hi80, -0.5);
  EXPECT_LT(fitted->bias_reps.lo80, 0.5);
  EXPECT_GT(fitted->bias_reps.hi80 - fitted->bias_reps.lo80, 0.8);
  // All at one load: strength and endurance are told apart by the prior alone, and the interval is as wide as that.
  const Interval& strength = fitted->lifts[0].strength;
  EXPECT_LT(strength.lo80, 105);
  EXPECT_GT(strength.hi80, 105);
  EXPECT_NEAR(strength.median, 105, strength.sd);
  EXPECT_LT(strength.sd, 0.1 * 105);
}

// 60 kg for 8 with 3, 2 and 1 called: about 80 kg by any formula (Epley 1985 with the calls as reps: 82, 80, 78). Taken
// at their word the same calls ten weeks long make it more than 100.
TEST(RepeatedCalls, DoNotMakeTheLifterStronger) {
  const auto fitted = fit(log_of(20));
  ASSERT_TRUE(fitted);
  EXPECT_LT(fitted->lifts[0].strength.median, 92);
  EXPECT_GT(fitted->lifts[0].strength.median, 70);
  EXPECT_NE(fitted->remarks.front().find("repeat themselves"), std::string::npos);
  FitOptions every;
  every.as_written = true;
  const auto believed = fit(log_of(20), every);
  ASSERT_TRUE(believed);
  EXPECT_GT(believed->lifts[0].strength.median, fitted->lifts[0].strength.median);
}

}  // namespace
}  // namespace ullage::capacity
