#include "engine/capacity/training_log.h"

#include <gtest/gtest.h>

#include "engine/capacity/fit.h"
#include "engine/capacity/test_bench_press.h"

namespace ullage::capacity {
namespace {

const Exercise kBench = bench_press();
const Exercise* find(const std::string&) { return &kBench; }

SetRecord set_of(int day, double kg, int reps) { return bench_set(*parse_date("2026-01-05") + day, kg, reps); }

TEST(TrainingLog, NoRepWithMoreThanAllOthersOfTheDayIsAMissedAttempt) {
  std::vector<SetRecord> records{set_of(0, 100, 1), set_of(0, 110, 1), set_of(0, 120, 0),
                                 set_of(7, 100, 5), set_of(7, 100, 0), set_of(14, 120, 0)};
  const TrainingLog log = prepare(Lifter{}, records, find, records.back().date);
  ASSERT_EQ(log.sessions.size(), 3U);
  EXPECT_TRUE(log.sessions[0].sets[2].failed);
  EXPECT_EQ(log.sessions[0].sets[2].stop, Stop::failed);
  EXPECT_TRUE(log.sessions[0].sets[2].informs_strength);
  EXPECT_FALSE(log.sessions[1].sets[1].failed) << "no more than was done: left out";
  EXPECT_FALSE(log.sessions[2].sets[0].failed) << "nothing was done that day";
  ASSERT_EQ(log.remarks.size(), 2U);
  EXPECT_EQ(log.remarks[0],
            "bench-press: 0 reps with more than all others of the day: taken for a missed attempt (1 set)");
}

// Singles up to what goes, the last one missed every week: nobody is a fifth stronger than that.
TEST(TrainingLog, MissedAttemptsHoldStrengthDown) {
  std::vector<SetRecord> records;
  for (int week = 0; week < 16; ++week) {
    for (const double load : {150.0, 160.0, 170.0}) records.push_back(set_of(7 * week, load, 1));
    records.push_back(set_of(7 * week, 180, 0));
  }
  const auto fitted = fit(prepare(Lifter{}, records, find, records.back().date));
  ASSERT_TRUE(fitted);
  EXPECT_GT(fitted->lifts[0].strength.median, 170);
  EXPECT_LT(fitted->lifts[0].strength.median, 185);
}

}  // namespace
}  // namespace ullage::capacity
