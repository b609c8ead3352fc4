#include "engine/capacity/light_sets.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/random.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/test_bench_press.h"

namespace ullage::capacity {
namespace {

const Exercise kBench = bench_press();
const Exercise* find(const std::string&) { return &kBench; }

TrainingLog log_of(const std::vector<SetRecord>& records) {
  return prepare(Lifter{}, records, find, records.back().date);
}
const Date kMonday = *parse_date("2026-01-05");

// Percentages of 110 kg in waves of four weeks, the last set of a day as many as there are but one: of a lifter who can
// do 122 kg.
std::vector<SetRecord> waves(int weeks) {
  std::vector<SetRecord> out;
  const double share[4][3] = {{0.60, 0.72, 0.84}, {0.64, 0.76, 0.88}, {0.70, 0.82, 0.94}, {0.4, 0.45, 0.55}};
  const int reps[4][3] = {{6, 4, 0}, {4, 4, 0}, {4, 2, 0}, {6, 6, 6}};
  for (int w = 0; w < weeks; ++w) {
    Random random(static_cast<std::uint64_t>(w), 1);
    for (int i = 0; i < 3; ++i) {
      const double load = 2.5 * std::round(110 * share[w % 4][i] / 2.5);
      const double strength = 122 * std::exp(0.015 * random.normal());
      const int there = static_cast<int>(1 + 32 * (strength / load - 1) - 1);
      out.push_back(bench_set(kMonday + 7 * w, load, reps[w % 4][i] > 0 ? reps[w % 4][i] : std::max(1, there)));
    }
  }
  return out;
}

TEST(LightSets, AreThoseThatAHeavierOneShowsToBe) {
  // 40, 60 and 80 kg on the way to 100 kg; two as hard as they look; a lighter day; the day after a long gap.
  const auto log = log_of({bench_set(kMonday, 40, 8), bench_set(kMonday, 60, 5), bench_set(kMonday, 80, 3),
                           bench_set(kMonday, 100, 5), bench_set(kMonday, 90, 7), bench_set(kMonday + 3, 60, 5),
                           bench_set(kMonday + 3, 60, 5), bench_set(kMonday + 60, 60, 5)});
  const LightSets found = light_sets(log);
  EXPECT_EQ(found.compared, 8);
  EXPECT_EQ(found.light, 5);
  TrainingLog taken = log;
  take_light_for_planned(taken, found);
  EXPECT_EQ(taken.sessions[0].sets[2].stop, Stop::planned);
  EXPECT_EQ(taken.sessions[0].sets[3].stop, Stop::unknown);
  EXPECT_EQ(taken.sessions[0].sets[4].stop, Stop::unknown);
  EXPECT_EQ(taken.sessions[1].sets[1].stop, Stop::planned);
  EXPECT_EQ(taken.sessions[2].sets[0].stop, Stop::unknown);
  EXPECT_NE(taken.remarks.back().find("5 of 8 sets were far from failure"), std::string::npos);
}

TEST(LightSets, AFewProveNothing) {
  EXPECT_FALSE((LightSets{100, 35}.by_plan()));
  EXPECT_FALSE((LightSets{6, 6}.by_plan()));
  EXPECT_TRUE((LightSets{100, 50}.by_plan()));
}

// Tired sets of one load are no lighter ones, however few their reps become.
TEST(LightSets, TiredSetsAreNone) {
  std::vector<SetRecord> records;
  for (int s = 0; s < 10; ++s) {
    for (const int reps : {14, 9, 6}) records.push_back(bench_set(kMonday + 3 * s, 80, reps));
  }
  EXPECT_EQ(light_sets(log_of(records)).light, 0);
}

// Taken for stops the first sets of each day would say that the lifter fails early at any load: far more strength with
// hardly any endurance.
TEST(LightSets, DoNotMakeTheLifterStronger) {
  const auto log = log_of(waves(28));
  EXPECT_TRUE(light_sets(log).by_plan());
  const auto fitted = fit(log);
  ASSERT_TRUE(fitted);
  const Interval strength = fitted->lifts[0].strength;
  EXPECT_NEAR(strength.median, 122, 0.06 * 122);
  EXPECT_LT(strength.lo80, 124);
  FitOptions as_written;
  as_written.as_written = true;
  const auto believed = fit(log, as_written);
  ASSERT_TRUE(believed);
  EXPECT_GT(believed->lifts[0].strength.lo80, 126) << "what this is for: when it fails, think again";
}

}  // namespace
}  // namespace ullage::capacity
