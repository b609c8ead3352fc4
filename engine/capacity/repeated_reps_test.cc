#include "engine/capacity/repeated_reps.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "engine/base/random.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/test_bench_press.h"

namespace ullage::capacity {
namespace {

const Exercise kBench = bench_press();
const Exercise* find(const std::string&) { return &kBench; }

// Three sets of 80 kg, twice a week, ends not told and nothing called.
std::vector<SetRecord> records_of(int sessions, const std::function<int(int session, int set)>& reps) {
  std::vector<SetRecord> records;
  for (int s = 0; s < sessions; ++s) {
    for (int i = 0; i < 3; ++i) {
      SetRecord set;
      set.date = *parse_date("2026-01-05") + 7 * (s / 2) + 3 * (s % 2);
      set.exercise = "bench-press";
      set.load = {80, Unit::kilogram};
      set.reps = reps(s, i);
      set.rest_s = 150;
      records.push_back(set);
    }
  }
  return records;
}
TrainingLog log_of(int sessions, const std::function<int(int session, int set)>& reps) {
  const auto records = records_of(sessions, reps);
  return prepare(Lifter{}, records, find, records.back().date);
}
int eight(int, int) { return 8; }

TEST(RepeatedReps, AreCountedBesideTheSessionAndTheSetBefore) {
  const RepeatedReps all = repeated_reps(log_of(5, eight));
  EXPECT_EQ(all.beside_session, 12);
  EXPECT_EQ(all.same_as_session, 12);
  EXPECT_EQ(all.beside_set, 10);
  EXPECT_EQ(all.same_as_set, 10);
  EXPECT_TRUE(all.by_plan());
  // 10, 8 and 6 each time: never the set's before, always the session's.
  const RepeatedReps falling = repeated_reps(log_of(5, [](int, int i) { return 10 - 2 * i; }));
  EXPECT_EQ(falling.same_as_set, 0);
  EXPECT_EQ(falling.same_as_session, 12);
  EXPECT_TRUE(falling.by_plan());
}

TEST(RepeatedReps, AFewOrAFewAlikeProveNothing) {
  EXPECT_FALSE(repeated_reps(log_of(3, eight)).by_plan());  // 6 of 6 and 6 of 6: one in 729
  EXPECT_FALSE((RepeatedReps{0, 0, 0, 0}.by_plan()));
  EXPECT_FALSE((RepeatedReps{300, 120, 200, 80}.by_plan()));
  EXPECT_TRUE((RepeatedReps{300, 140, 200, 60}.by_plan()));
}

TEST(RepeatedReps, OtherEndsAreLeftAlone) {
  auto records = records_of(8, eight);
  records.back().reps = 12;            // as many as there were
  records[5].failed = true;            // a rep missed
  records[7].called = Call{2, false};  // the call still tells
  TrainingLog log = prepare(Lifter{}, records, find, records.back().date);
  take_for_planned(log, repeated_reps(log));
  EXPECT_EQ(log.sessions.back().sets.back().stop, Stop::unknown);
  EXPECT_EQ(log.sessions[1].sets[2].stop, Stop::failed);
  EXPECT_EQ(log.sessions[2].sets[1].stop, Stop::planned);
  EXPECT_TRUE(log.sessions[2].sets[1].feeling.has_value());
  EXPECT_EQ(log.sessions[3].sets[0].stop, Stop::planned);
  ASSERT_FALSE(log.remarks.empty());
  EXPECT_NE(log.remarks.back().find("the reps repeat themselves"), std::string::npos) << log.remarks.back();
}

// Half a year of 80 kg, three sets of eight. The eight are in the lifter: Epley's formula (1985) makes that 101 kg at
// least. How much more nobody can say. Taken for stops of the lifter's own it is more than twice the load, surely.
TEST(RepeatedReps, DoNotMakeTheLifterStronger) {
  const auto log = log_of(52, eight);
  const auto fitted = fit(log);
  ASSERT_TRUE(fitted);
  EXPECT_TRUE(fitted->reps_planned);
  const Interval strength = fitted->lifts[0].strength;
  EXPECT_GT(strength.median, 101);
  EXPECT_LT(strength.median, 140);
  EXPECT_LT(strength.lo80, 115);
  EXPECT_GT(strength.hi80, 125);
  EXPECT_NEAR(fitted->lifts[0].learned_fatigability, 0, 0.1);
  FitOptions as_written;
  as_written.as_written = true;
  const auto believed = fit(log, as_written);
  ASSERT_TRUE(believed);
  EXPECT_GT(believed->lifts[0].strength.lo80, 160) << "what this is for: when it fails, think again";
}

// An ordinary log: one load, two left each time, nothing called. The lifter can do 105 kg.
int about_two_left(int session, int set) {
  Random random(static_cast<std::uint64_t>(7 * session + set), 1);
  const double strength = 105 * std::exp(0.015 * random.normal());
  return static_cast<int>(1 + 32 * (strength / 80 - 1) - 2 - 0.7 * set);
}

TEST(RepeatedReps, EvenOnesAreCountedWithoutCalls) {
  const auto even = [](int s, int i) { return 8 + (s + i) % 2; };
  const RepeatedReps found = repeated_reps(log_of(12, even));
  EXPECT_EQ(found.beside_uncalled, 33);
  EXPECT_EQ(found.near_uncalled, 33);
  EXPECT_TRUE(found.by_evenness());
  EXPECT_FALSE(repeated_reps(log_of(5, even)).by_evenness());  // 12 of 12: one in 1300
  EXPECT_FALSE(repeated_reps(log_of(40, [](int s, int i) { return 6 + (5 * s + 3 * i) % 7; })).by_evenness());
  auto records = records_of(12, even);
  for (SetRecord& r : records) r.called = Call{2, false};
  EXPECT_EQ(repeated_reps(prepare(Lifter{}, records, find, records.back().date)).beside_uncalled, 0);
}

TEST(RepeatedReps, OfEvenOnesOneHardSetOfLateIsAStop) {
  auto records = records_of(30, about_two_left);
  records[2].reps = 20;   // long ago
  records[81].reps = 14;  // the best of late
  records[84].called = Call{2, false};
  TrainingLog log = prepare(Lifter{}, records, find, records.back().date);
  take_one_for_a_stop(log, repeated_reps(log));
  int stops = 0;
  for (const LoggedSession& session : log.sessions) {
    for (const LoggedSet& set : session.sets) {
      if (set.stop != Stop::unknown) continue;
      ++stops;
      EXPECT_GT(set.record, 60);
      EXPECT_NE(set.record, 81);
      EXPECT_GE(set.reps, 8);
    }
  }
  EXPECT_EQ(stops, 2);
  EXPECT_NE(log.remarks.back().find("the reps are very even"), std::string::npos) << log.remarks.back();
}

TEST(RepeatedReps, EvenOnesDoNotMakeTheLifterStrongerEither) {
  const auto log = log_of(40, about_two_left);
  const auto fitted = fit(log);
  ASSERT_TRUE(fitted);
  EXPECT_TRUE(fitted->reps_planned);
  EXPECT_TRUE(fitted->converged);
  const Interval strength = fitted->lifts[0].strength;
  EXPECT_NEAR(strength.median, 112, 0.08 * 112);  // the best set, 80 kg x 10, and two left: Epley 1985
  EXPECT_LT(strength.lo80, 105);
  EXPECT_GT(strength.hi80, 105);
  EXPECT_GT(strength.hi80 / strength.lo80, 1.12);
  FitOptions as_written;
  as_written.as_written = true;
  const auto believed = fit(log, as_written);
  ASSERT_TRUE(believed);
  EXPECT_GT(believed->lifts[0].strength.lo80, 108) << "what this is for: when it fails, think again";
}

// A set taken up live tells no more than it would in a fit.
TEST(RepeatedReps, HoldInALiveUpdateToo) {
  auto records = records_of(12, eight);
  const auto before = fit(prepare(Lifter{}, records, find, records.back().date));
  ASSERT_TRUE(before && before->reps_planned);
  std::vector<SetRecord> today{records.back()};
  today[0].date = records.back().date + 4;
  const TrainingLog session = prepare(Lifter{}, today, find, today[0].date);
  const auto after = update(*before, session);
  ASSERT_TRUE(after);
  const double now = after->lifts[0].strength.median, then = before->lifts[0].strength.median;
  EXPECT_NEAR(now, then, 0.02 * then);
  const auto stored = deserialise(serialise(*after));
  ASSERT_TRUE(stored);
  EXPECT_TRUE(stored->reps_planned);
}

}  // namespace
}  // namespace ullage::capacity
