#include "engine/calibration/backtest.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/simulation/training_months.h"

namespace ullage::calibration {
namespace {

Exercise bench_press() {
  Exercise e;
  e.id = "bench-press";
  e.name = "bench press";
  e.cls = ExerciseClass::barbell_compound;
  e.involvement[static_cast<std::size_t>(Muscle::chest)] = 1;
  e.strength_ratio = 1;
  e.strength_log_sd = 0.1;
  e.endurance = 32;
  return e;
}

struct Log {
  Lifter lifter;
  std::vector<SetRecord> sets;
};

// Loads, reps and cues depend on earlier entries and a first guess drawn without the truth.
Log simulated(std::uint64_t seed, simulation::Ending ending, double call_chance, int weeks) {
  const std::vector<simulation::SimulatedLift> lifts{{bench_press()}};
  const simulation::Background background{Sex::male, 80, 2};
  Random random(seed);
  const simulation::Truth truth = simulation::draw_truth(lifts, background, random);
  simulation::LiftHabit habit;
  habit.exercise = lifts[0].exercise;
  for (double load = 5; load < 400; load += 2.5) habit.loads.push_back({load, Unit::kilogram});
  habit.first_guess = simulation::first_guesses(lifts, background, random)[0];
  habit.scheme = simulation::Scheme::wave;
  habit.ending = ending;
  habit.call_chance = call_chance;
  habit.test_every = 4;
  simulation::SimulatedLifter lifter(lifts, truth, seed + 1);
  simulation::LoggingCoach coach({habit});
  const Date start = *make_date(2025, 1, 6);
  const auto days = simulation::calendar(start, start + weeks * 7, {1, 4}, {{{0}}}, 0.05, random);
  simulation::LogManner manner;
  manner.stop_known = ending != simulation::Ending::own_feeling;
  Log out;
  out.sets = simulation::train(lifter, coach, days, manner, random).sets;
  out.lifter.id = out.lifter.name = "simulated";
  out.lifter.sex = Sex::male;
  out.lifter.training_years = 2;
  out.lifter.body_mass = {{start, {80, Unit::kilogram}}};
  return out;
}

const Exercise* find(const std::string& id) {
  static const Exercise kBench = bench_press();
  return id == kBench.id ? &kBench : nullptr;
}

double best_formula(const Backtest& b) {
  double best = 1e9;
  for (const FormulaScore& f : b.formulas) best = std::min(best, f.mae_reps);
  return best;
}

// Simulation-only lifters: what is checked is that the walk forecasts from the past alone and scores it rightly.
TEST(BacktestSlow, OnSimulatedLogsTheModelBeatsTheFormulasAndItsIntervalsHold) {
  Backtest all;
  for (std::uint64_t seed = 500; seed < 508; ++seed) {
    const bool cue = seed % 2 == 1;
    const Log log = simulated(seed, cue ? simulation::Ending::cue : simulation::Ending::planned, 1, 14);
    BacktestOptions options;
    options.draws = 250;
    const auto one = backtest(log.lifter, log.sets, find, options);
    ASSERT_TRUE(one) << one.error().message;
    EXPECT_GT(one->total.n, 30);
    merge(all, *one);
  }
  std::printf("%d sets: model %.2f reps, best formula %.2f, held %.3f, log score %.2f against %.2f\n", all.total.n,
              all.total.mae_reps, best_formula(all), all.total.coverage80, all.total.log_score,
              all.formulas[0].log_score);
  EXPECT_LT(all.total.mae_reps, best_formula(all));
  EXPECT_GT(all.total.coverage80, 0.74);
  EXPECT_LT(all.total.coverage80, 0.86);
  for (const FormulaScore& f : all.formulas) EXPECT_GT(all.total.log_score, f.log_score) << f.name;
  double sum = 0;
  for (const double share : all.total.histogram) sum += share;
  EXPECT_NEAR(sum, 1, 1e-9);
}

// What a set is scored with must not depend on anything logged later.
TEST(Backtest, LooksAtThePastAlone) {
  const Log log = simulated(511, simulation::Ending::planned, 1, 7);
  BacktestOptions options;
  options.draws = 100;
  const auto whole = backtest(log.lifter, log.sets, find, options);
  ASSERT_TRUE(whole);
  ASSERT_FALSE(whole->sets.empty());
  // Every later load doubled: forecasts up to there stay the same, to the last digit.
  std::vector<SetRecord> changed = log.sets;
  const std::size_t from = log.sets.size() / 2;
  for (std::size_t i = from; i < changed.size(); ++i) changed[i].load.amount *= 2;
  const auto other = backtest(log.lifter, changed, find, options);
  ASSERT_TRUE(other);
  std::size_t compared = 0;
  for (std::size_t i = 0; i < whole->sets.size() && whole->sets[i].record < static_cast<int>(from); ++i) {
    ASSERT_LT(i, other->sets.size());
    EXPECT_EQ(whole->sets[i].forecast, other->sets[i].forecast);
    EXPECT_EQ(whole->sets[i].chance, other->sets[i].chance);
    EXPECT_EQ(whole->sets[i].formulas, other->sets[i].formulas);
    ++compared;
  }
  EXPECT_GT(compared, 5U);
}

TEST(Backtest, SetsThatTellNothingAreNotScored) {
  Log log = simulated(512, simulation::Ending::own_feeling, 0, 6);
  std::erase_if(log.sets, [](const SetRecord& r) { return r.failed; });
  BacktestOptions options;
  options.draws = 100;
  const auto result = backtest(log.lifter, log.sets, find, options);
  ASSERT_TRUE(result) << result.error().message;
  EXPECT_EQ(result->total.n, 0);
  EXPECT_EQ(result->total.endings, 0);
  EXPECT_GT(result->not_told, 5);
  const auto nothing = backtest(log.lifter, {}, find, options);
  ASSERT_TRUE(nothing);
  EXPECT_EQ(nothing->total.n, 0);
}

TEST(Backtest, StopsWhenAsked) {
  const Log log = simulated(513, simulation::Ending::planned, 1, 6);
  BacktestOptions options;
  options.progress = [](double share) { return share < 0.3; };
  const auto result = backtest(log.lifter, log.sets, find, options);
  ASSERT_FALSE(result);
  EXPECT_EQ(result.error().code, Code::cancelled);
}

}  // namespace
}  // namespace ullage::calibration
