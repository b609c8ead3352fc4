#include "engine/capacity/session_forecast.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/normal.h"
#include "engine/base/random.h"

namespace ullage::capacity {
namespace {

// Two lifts, strength 100 and 60 kg give or take 4 %, half of the first lift's fatigue felt by the second.
LifterDraws lifter(int n) {
  LifterDraws out;
  out.info.resize(2);
  out.info[1].shape = 0.2;
  out.overlap = {{1, 0.5}, {0.1, 1}};
  Random random(11);
  for (int i = 0; i < n; ++i) {
    Draw d;
    d.lifts = {{std::log(100.0) + 0.04 * random.normal(), 32 * std::exp(0.2 * random.normal()), 0.01},
               {std::log(60.0) + 0.04 * random.normal(), 42, 0}};
    d.sigma = 0.025 * std::exp(0.2 * random.normal());
    d.judgement.bias = random.normal(0.8, 0.8);
    out.draws.push_back(d);
  }
  return out;
}

constexpr double kLoad = 75;

TEST(Interval, QuantilesOfOrderedValues) {
  std::vector<double> values;
  for (int i = 1; i <= 100; ++i) values.push_back(101 - i);
  const Interval v = interval_of(values);
  EXPECT_DOUBLE_EQ(v.median, 50.5);
  EXPECT_DOUBLE_EQ(v.lo80, 10.5);
  EXPECT_DOUBLE_EQ(v.hi80, 90.5);
  EXPECT_NEAR(v.sd, std::sqrt(100 * 101 / 12.0), 1e-12);
  EXPECT_EQ(interval_of({}).sd, 0);
}

// The exact chance against counting with fresh noise.
TEST(SessionForecast, ChanceOfFinishingAgainstCounting) {
  const LifterDraws draws = lifter(500);
  const SessionForecast forecast(draws, 3);
  for (const int reps : {6, 9, 11}) {
    const SetOutcome outcome = SessionForecast(draws, 3).look(0, std::log(kLoad), {.reps = reps});
    Random random(99);
    int done = 0;
    constexpr int kRepeats = 400;
    for (const Draw& d : draws.draws) {
      const double margin = d.lifts[0].log_strength - d.lifts[0].residual - std::log(kLoad);
      for (int i = 0; i < kRepeats; ++i) {
        done += reps_to_failure(margin + d.sigma * random.normal(), d.lifts[0].endurance, 1) >= reps ? 1 : 0;
      }
    }
    // Counting error at most 0.5/sqrt(200000) = 0.0011; four of them.
    EXPECT_NEAR(outcome.p_complete, static_cast<double>(done) / (500.0 * kRepeats), 0.0045) << reps;
    EXPECT_NEAR(outcome.p_complete + outcome.p_miss, 1, 1e-12);
    EXPECT_EQ(outcome.p_short, 0);
  }
}

// A cue that is felt anew at each rep stops each draw where its own z says.
TEST(SessionForecast, ACueFeltAnewStopsEachDraw) {
  LifterDraws draws = lifter(500);
  const PlannedSet on_cue{.reps = 12, .cue = Call{2, false}};
  const auto reserve = [&] { return SessionForecast(draws, 3).look(0, std::log(kLoad), on_cue).reserve; };
  const Interval once = reserve();
  for (Draw& d : draws.draws) d.judgement.each_rep = true;
  const Interval anew = reserve();
  EXPECT_GT(anew.median, once.median + 0.2);  // the hardest of many feelings comes first
  Random random(99);
  std::vector<double> left;
  for (const Draw& d : draws.draws) {
    const double margin = d.lifts[0].log_strength - d.lifts[0].residual - std::log(kLoad);
    for (int i = 0; i < 200; ++i) {
      const double capacity = reps_to_failure(margin + d.sigma * random.normal(), d.lifts[0].endurance, 1);
      int reps = 0;
      bool heard = false;
      while (!heard && reps < 12 && reps + 1 <= capacity) {
        ++reps;
        const double rho = capacity - reps;
        heard = heard_mean(d.judgement, rho, true) + heard_sd(d.judgement, rho) * random.normal() <= 2.5;
      }
      left.push_back(!heard && reps < 12 ? 0 : capacity - reps);
    }
  }
  const Interval counted = interval_of(left);
  EXPECT_NEAR(anew.median, counted.median, 0.25);
  EXPECT_NEAR(anew.lo80, counted.lo80, 0.25);
  EXPECT_NEAR(anew.hi80, counted.hi80, 0.4);
}

// What is written is taken as done by the sets after it, in every draw, also where it could not be done.
TEST(SessionForecast, PlannedRepsAreSpentAsWritten) {
  const LifterDraws draws = lifter(50);
  SessionForecast forecast(draws, 3);
  forecast.perform(0, std::log(kLoad), {.reps = 14});
  for (std::size_t i = 0; i < draws.draws.size(); ++i) {
    const Draw& d = draws.draws[i];
    const double fresh = d.lifts[0].log_strength - d.lifts[0].residual - std::log(kLoad);
    FatigueStores stores;
    stores.add(spend<double>(fresh, d.lifts[0].endurance, 1, 14, false, d.fatigue.lam, d.fatigue.rho_f), d.fatigue);
    stores.rest(14 * kSecondsPerRep / 60, d.fatigue);
    EXPECT_NEAR(forecast.margin(i, 0, std::log(kLoad)), fresh - stores.total(), 1e-12);
  }
}

TEST(SessionForecast, LookChangesNothing) {
  const LifterDraws draws = lifter(200);
  SessionForecast forecast(draws, 3);
  const SetOutcome before = forecast.look(0, std::log(kLoad), {.reps = 8});
  forecast.look(0, std::log(90.0), {.reps = 3, .to_failure = true});
  const SetOutcome after = forecast.look(0, std::log(kLoad), {.reps = 8});
  EXPECT_EQ(before.p_complete, after.p_complete);
  EXPECT_EQ(before.reserve.median, after.reserve.median);
  EXPECT_EQ(forecast.mean_fatigue(0), 0);
}

TEST(SessionForecast, SameSeedSameSession) {
  const LifterDraws draws = lifter(300);
  const auto run = [&](std::uint64_t seed) {
    SessionForecast forecast(draws, seed);
    std::vector<double> out;
    for (int set = 0; set < 4; ++set) {
      const SetOutcome o = forecast.perform(0, std::log(kLoad), {.reps = 10, .cue = Call{2, false}});
      out.insert(out.end(), {o.p_complete, o.p_short, o.p_miss, o.reserve.median, o.reps.median, o.capacity.sd});
      forecast.rest(Minutes{2});
    }
    return out;
  };
  EXPECT_EQ(run(7), run(7));
  EXPECT_NE(run(7), run(8));
}

TEST(SessionForecast, LaterSetsAreHarderAndRestHelps) {
  const LifterDraws draws = lifter(300);
  SessionForecast forecast(draws, 3);
  const double first = forecast.perform(0, std::log(kLoad), {.reps = 8}).p_complete;
  const double at_once = forecast.look(0, std::log(kLoad), {.reps = 8}).p_complete;
  forecast.rest(Minutes{3});
  const double rested = forecast.look(0, std::log(kLoad), {.reps = 8}).p_complete;
  forecast.rest(Minutes{60});
  const double fresh = forecast.look(0, std::log(kLoad), {.reps = 8}).p_complete;
  EXPECT_LT(at_once, rested);
  EXPECT_LT(rested, first);
  EXPECT_NEAR(fresh, first, 1e-4);
}

TEST(SessionForecast, FatigueReachesTheOtherLiftByOverlap) {
  const LifterDraws draws = lifter(100);
  SessionForecast forecast(draws, 3);
  forecast.perform(0, std::log(kLoad), {.reps = 8});
  EXPECT_NEAR(forecast.mean_fatigue(1), 0.5 * forecast.mean_fatigue(0), 1e-12);
}

// An end by cue, by cap or by a miss: the three chances make one, and reps never pass the cap.
TEST(SessionForecast, CuedSetsEndInOneOfThreeWays) {
  const LifterDraws draws = lifter(1000);
  const SessionForecast forecast(draws, 3);
  for (const double load : {65.0, 75.0, 85.0}) {
    const SetOutcome o = forecast.look(0, std::log(load), {.reps = 8, .cue = Call{1, false}});
    EXPECT_NEAR(o.p_complete + o.p_short + o.p_miss, 1, 1e-12) << load;
    EXPECT_LE(o.reps.hi80, 8);
    EXPECT_GE(o.reserve.lo80, 0);
  }
}

TEST(SessionForecast, ToFailureLeavesNothing) {
  const LifterDraws draws = lifter(200);
  const SetOutcome o = SessionForecast(draws, 3).look(0, std::log(kLoad), {.reps = 5, .to_failure = true});
  EXPECT_EQ(o.reserve.hi80, 0);
  EXPECT_EQ(o.p_miss, 0);
  EXPECT_LE(o.reps.median, o.capacity.median);
  EXPECT_GE(o.reps.median, o.capacity.median - 1);
}

// The set that happened tires as the same set performed does.
TEST(SessionForecast, HappenedSpendsWhatWasDone) {
  const LifterDraws draws = lifter(100);
  SessionForecast planned(draws, 3), logged(draws, 3);
  planned.perform(0, std::log(kLoad), {.reps = 8});
  logged.happened(0, std::log(kLoad), 8, false);
  EXPECT_DOUBLE_EQ(planned.mean_fatigue(0), logged.mean_fatigue(0));
}

// Played sets end as each draw ends them: the shares are those that look() tells, a miss is a miss, and what is spent
// is what the same set spends when it is logged.
TEST(SessionForecast, PlayedSetsEndAsEachDrawEndsThem) {
  const LifterDraws draws = lifter(400);
  const std::vector<double> load(draws.draws.size(), std::log(kLoad));
  for (const PlannedSet& set : {PlannedSet{10, {}, false}, {10, Call{1, false}, false}, {1, {}, true}}) {
    SessionForecast forecast(draws, 3);
    const SetOutcome seen = forecast.look(0, std::log(kLoad), set);
    const std::vector<SetEnd> ends = forecast.play(0, load, set);
    ASSERT_EQ(ends.size(), draws.draws.size());
    double failed = 0, by_cue = 0;
    for (std::size_t i = 0; i < ends.size(); ++i) {
      failed += ends[i].failed;
      by_cue += ends[i].by_cue;
      EXPECT_EQ(ends[i].failed, ends[i].reserve == 0);
      EXPECT_EQ(ends[i].reps, ends[i].failed ? std::max(0, static_cast<int>(ends[i].capacity))
                                             : static_cast<int>(std::lround(ends[i].capacity - ends[i].reserve)));
      EXPECT_GT(ends[i].depletion, 0);
      if (i % 50 != 0) continue;
      SessionForecast one(draws, 3);
      one.happened(0, std::log(kLoad), ends[i].reps, ends[i].failed);
      EXPECT_NEAR(one.fatigue(i, 0), forecast.fatigue(i, 0), 1e-12);
    }
    // In the set noise look() is exact for fixed reps; the draws' own noise is spread evenly over them.
    if (!set.to_failure) {
      EXPECT_NEAR(failed / 400, seen.p_miss, set.cue ? 1e-12 : 0.03);
    }
    EXPECT_NEAR(by_cue / 400, seen.p_short, 1e-12);
    if (set.to_failure) {
      EXPECT_EQ(failed, 400);
    }
  }
}

}  // namespace
}  // namespace ullage::capacity
