#include "engine/planning/block_played.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/planning/block_costs.h"

namespace ullage::planning {
namespace {

// A lifter without doubt, noise or wrong feelings; one press of the chest, 8 reps with 2 left or to failure.
struct Scene {
  BlockProblem problem;
  capacity::LifterDraws draws;
};
constexpr double kRestMinutes = 3;

Scene sure_lifter() {
  Scene s;
  capacity::Draw draw;
  draw.lifts = {{std::log(100.0), 32, 0}};
  draw.judgement = {0.5, 1, 1e-6, 1e-6, 0};
  draw.sigma = 1e-9;
  capacity::LiftInfo info;
  info.exercise = "bench-press";
  s.draws.info = {info};
  s.draws.draws.assign(4, draw);
  s.draws.overlap = {{1}};
  BlockExercise press;
  press.exercise.id = "bench-press";
  press.exercise.involvement[static_cast<std::size_t>(Muscle::chest)] = 1;
  for (const int reserve : {2, 0}) {
    BlockMode mode;
    mode.reserve = reserve;
    mode.least_reps = mode.most_reps = 8;
    mode.minutes = kRestMinutes + 8 * capacity::kSecondsPerRep / 60;
    mode.fatigue = set_fatigue(s.draws, 0, press.exercise, 8, reserve, kRestMinutes, draw.a_day * std::exp(-2));
    press.modes.push_back(mode);
  }
  s.problem.exercises = {press};
  s.problem.muscles[static_cast<std::size_t>(Muscle::chest)].weight = 1;
  for (std::size_t r = 0; r < s.problem.stimulus.size(); ++r) s.problem.stimulus[r] = 1 - 0.05 * static_cast<double>(r);
  return s;
}
BlockPlan of_sets(int in_reserve, int to_failure, int days = 1) {
  BlockPlan plan;
  plan.weeks.resize(1);
  for (int d = 0; d < days; ++d) plan.weeks[0].push_back({{PlannedExercise{0, {in_reserve, to_failure}, false}}});
  return plan;
}

TEST(BlockPlayed, OneSetFromFreshIsWhatThePlannerCounts) {
  const Scene s = sure_lifter();
  const BlockPlan plan = of_sets(1, 0);
  const PlayedPlan played = play_plan(s.problem, plan, s.draws, 0, 1);
  const PlanWorth planned = worth_of(s.problem, plan);
  ASSERT_EQ(played.weeks.size(), 1U);
  EXPECT_NEAR(played.weeks[0].ended[0][2], 1, 1e-12) << "two reps left";
  EXPECT_NEAR(played.fatigue(), planned.fatigue, 1e-6 * planned.fatigue);
  EXPECT_NEAR(played_effect(s.problem, plan, played, s.problem.stimulus), planned.effect, 1e-12);
  EXPECT_EQ(played.missed(), 0);
}

// The load stays while the lifter tires: less is left, and a tired set spends less (docs/model.md, section 3).
TEST(BlockPlayed, LaterSetsAreDoneTired) {
  const Scene s = sure_lifter();
  const BlockPlan plan = of_sets(4, 0);
  const PlayedPlan played = play_plan(s.problem, plan, s.draws, 0, 1);
  EXPECT_LT(played.fatigue(), 0.97 * worth_of(s.problem, plan).fatigue);
  double sets = 0;
  for (const double n : played.weeks[0].ended[0]) sets += n;
  EXPECT_NEAR(sets, 4, 1e-12);
}

TEST(BlockPlayed, SetsToFailureEndThereAndAreNoMisses) {
  const Scene s = sure_lifter();
  const PlayedPlan played = play_plan(s.problem, of_sets(1, 1), s.draws, 0, 1);
  EXPECT_NEAR(played.weeks[0].ended[0][0], 1, 1e-12);
  EXPECT_NEAR(played.weeks[0].planned, 1, 1e-12);
  EXPECT_EQ(played.missed(), 0);
  EXPECT_GT(played.fatigue(), play_plan(s.problem, of_sets(2, 0), s.draws, 0, 1).fatigue());
}

// Feelings that are known to be wrong are allowed for; those that are wrong in a way nobody can know end sets in
// misses.
TEST(BlockPlayed, KnownErrorsOfFeelingAreAllowedFor) {
  Scene s = sure_lifter();
  for (capacity::Draw& d : s.draws.draws) d.judgement.bias = -1.5;  // feels two more than there are
  const BlockPlan plan = of_sets(1, 0, 3);
  const PlayedPlan known = play_plan(s.problem, plan, s.draws, 0, 1);
  EXPECT_EQ(known.missed(), 0);
  EXPECT_NEAR(known.weeks[0].ended[0][2], 3, 1e-12);
  // Half of what the lifter may be like feels nothing coming: those run into failure once they are tired.
  for (std::size_t i = 0; i < s.draws.draws.size(); ++i) s.draws.draws[i].judgement.bias = i % 2 == 0 ? -12 : 0.5;
  for (BlockMode& mode : s.problem.exercises[0].modes) mode.minutes = 1;  // hardly any rest
  const double missed = play_plan(s.problem, of_sets(6, 0), s.draws, 0, 1).missed();
  EXPECT_GT(missed, 0.1);
  EXPECT_LE(missed, 0.5);
}

TEST(BlockPlayed, EmptyPlansCostNothing) {
  const Scene s = sure_lifter();
  BlockPlan plan;
  plan.weeks.resize(2);
  const PlayedPlan played = play_plan(s.problem, plan, s.draws, 0.01, 1);
  EXPECT_EQ(played.fatigue(), 0);
  EXPECT_EQ(played.missed(), 0);
  EXPECT_EQ(played_effect(s.problem, plan, played, s.problem.stimulus), 0);
}

}  // namespace
}  // namespace ullage::planning
