#include "engine/planning/set_search.h"

#include <gtest/gtest.h>

#include <cmath>
#include <tuple>

#include "engine/planning/test_lifter.h"

namespace ullage::planning {
namespace {

using namespace testing;
using capacity::SessionForecast;

Aim small_aim(Strategy strategy) {
  Aim aim;
  aim.strategy = strategy;
  aim.sets = 3;
  aim.least_reps = 5;
  aim.most_reps = 9;
  aim.band_low = 1;
  aim.band_high = 3;
  aim.miss_limit = 0.15;
  aim.rest_s = 120;
  aim.cues = {Call{1, false}};
  return aim;
}

// Value of a path as the header says. Fixed reps: chances from the forecast's own looks. With a cue the forecast does
// not tell the reps done inside the zone, so a scorer with noise of its own judges.
double value_of(SessionForecast forecast, const SetScorer& judge, const std::vector<double>& totals, const Aim& aim,
                const std::vector<Step>& steps, bool& admitted, std::vector<double>* misses = nullptr) {
  double sum = 0, caps = 0;
  admitted = true;
  std::vector<SetScore> scores;
  for (const Step& step : steps) {
    const double log_total = std::log(totals[static_cast<std::size_t>(step.load)]);
    judge.score(forecast, 0, log_total, aim, aim.band_high, step.cue, step.reps, step.reps, scores);
    SetScore score = scores.front();
    if (!step.cue) {
      const auto out = forecast.look(0, log_total, {step.reps, {}, false}, aim.band_low, aim.band_high);
      score.good = out.p_band;
      score.miss = out.p_miss;
    }
    if (misses) misses->push_back(score.miss);
    forecast.perform(0, log_total, {step.reps, step.cue, false});
    forecast.rest(Minutes{aim.rest_s / 60});
    admitted = admitted && score.miss <= aim.miss_limit && score.under_zone <= 0.5;
    sum += score.good - kPerRepAbove * score.above - kPerRepOfCap * (step.reps - aim.least_reps) -
           kPerShort * std::max(0.0, score.short_of_cap - 0.5);
    caps += step.reps;
  }
  const double middle = (aim.least_reps + aim.most_reps) / 2.0;
  return sum / aim.sets - kPerRepFromMiddle * std::abs(caps / aim.sets - middle);
}

// Every path the strategy allows over these loads and the one cue.
void all_paths(const Aim& aim, const std::vector<double>& totals, std::vector<Step>& steps,
               std::vector<std::vector<Step>>& out) {
  if (static_cast<int>(steps.size()) == aim.sets) {
    out.push_back(steps);
    return;
  }
  for (int load = 0; load < static_cast<int>(totals.size()); ++load) {
    for (int reps = aim.least_reps; reps <= aim.most_reps; ++reps) {
      if (steps.empty() && aim.strategy == Strategy::top_set && 2 * reps > aim.least_reps + aim.most_reps) continue;
      if (!steps.empty()) {
        const Step& before = steps.back();
        if (aim.strategy == Strategy::same_load && (load != before.load || reps > before.reps)) continue;
        if (aim.strategy == Strategy::same_reps && (load > before.load || reps != before.reps)) continue;
        if (aim.strategy == Strategy::top_set) {
          const double share = totals[static_cast<std::size_t>(load)] / totals[static_cast<std::size_t>(steps[0].load)];
          if (share < kBackOffLow - 0.05 || share > kBackOffHigh) continue;
          if (steps.size() > 1 && (load != before.load || reps > before.reps)) continue;
        }
      }
      steps.push_back({load, reps, aim.cues.front(), false});
      all_paths(aim, totals, steps, out);
      steps.pop_back();
    }
  }
}

class AgainstExhaustive : public ::testing::TestWithParam<std::tuple<Strategy, bool>> {};

TEST_P(AgainstExhaustive, FindsAPlanAsGood) {
  const auto [strategy, cued] = GetParam();
  for (std::uint64_t seed = 1; seed <= 2; ++seed) {
    Random random(seed);
    const auto draws = sample({{leg_press(), 100 + random.uniform(-3, 3), 35}}, kWellKnown, 1500, seed);
    const SessionForecast forecast(draws, seed);
    const SetScorer scorer(draws, seed + 100), judge(draws, seed + 200);
    Aim aim = small_aim(strategy);
    if (!cued) aim.cues = {std::nullopt};
    const std::vector<double> totals = {72.5, 75, 77.5, 80, 82.5};
    const auto found = search_sets(forecast, scorer, 0, totals, aim, 4);
    ASSERT_FALSE(found.empty());
    std::vector<std::vector<Step>> paths;
    std::vector<Step> steps;
    all_paths(aim, totals, steps, paths);
    double best = -1;
    for (const auto& path : paths) {
      bool admitted = false;
      const double value = value_of(forecast, judge, totals, aim, path, admitted);
      if (admitted && value > best) best = value;
    }
    bool admitted = false;
    std::vector<double> misses;
    const double mine = value_of(forecast, judge, totals, aim, found.front().steps, admitted, &misses);
    // The third set's chance is held like the first's; other noise moves a chance of 15 % by 0.009 (one sd).
    for (const double miss : misses) EXPECT_LT(miss, aim.miss_limit + 0.025);
    // The plan is chosen on other noise than it is judged by: the mean of three probabilities near 0.5 has sd 0.0075
    // at 1500 possibilities, and the best of all paths is the luckiest one.
    EXPECT_GT(mine, best - 0.02) << paths.size() << " paths, seed " << seed;
  }
}
INSTANTIATE_TEST_SUITE_P(Strategies, AgainstExhaustive,
                         ::testing::Combine(::testing::Values(Strategy::same_load, Strategy::same_reps,
                                                              Strategy::top_set),
                                            ::testing::Bool()));

// Exercises are planned one after the other, each with the fatigue of those before it and none of the care for those
// after it: against every pair of plans of two exercises that tire each other, in both orders. What going one by one
// gives away is no more than the noise.
TEST(JointOverExercises, OneByOneIsAsGoodAsEveryPair) {
  const auto draws = sample({{leg_press(), 100, 35}, {squat(), 100, 32}}, kWellKnown, 600, 4);
  Aim aim = small_aim(Strategy::same_load);
  aim.sets = 2;
  aim.most_reps = 7;
  aim.cues = {std::nullopt};
  const std::vector<double> totals = {72.5, 75, 77.5, 80};
  std::vector<std::vector<Step>> paths;
  std::vector<Step> steps;
  all_paths(aim, totals, steps, paths);
  ASSERT_EQ(paths.size(), 24U);
  const auto play = [&](SessionForecast& forecast, int lift, const std::vector<Step>& path, bool& admitted) {
    double sum = 0;
    for (const Step& step : path) {
      const double log_total = std::log(totals[static_cast<std::size_t>(step.load)]);
      const auto out = forecast.perform(lift, log_total, {step.reps, {}, false}, aim.band_low, aim.band_high);
      forecast.rest(Minutes{aim.rest_s / 60});
      admitted = admitted && out.p_miss <= aim.miss_limit;
      sum += out.p_band;
    }
    return sum / static_cast<double>(path.size());
  };
  for (const auto& [first, second] : {std::pair{0, 1}, std::pair{1, 0}}) {
    const SessionForecast start(draws, 9);
    const SetScorer scorer(draws, 109);
    SessionForecast mine = start;
    bool fine = true;
    double value = 0;
    std::vector<Step> chosen;
    for (const int lift : {first, second}) {
      const auto found = search_sets(mine, scorer, lift, totals, aim, 1);
      ASSERT_FALSE(found.empty());
      value += play(mine, lift, found.front().steps, fine) / 2;
      if (lift == second) chosen = found.front().steps;
    }
    double best = 0;
    for (const auto& a : paths) {
      SessionForecast after = start;
      bool admitted = true;
      const double one = play(after, first, a, admitted);
      if (!admitted) continue;
      for (const auto& b : paths) {
        SessionForecast then = after;
        bool both = true;
        const double two = play(then, second, b, both);
        if (both) best = std::max(best, (one + two) / 2);
      }
    }
    EXPECT_GT(best, 0);
    // Prices for reps and for the middle of the zone are in the search's value and not in this one: up to 0.02.
    EXPECT_GT(value, best - 0.03) << "order " << first << second;
    // Order matters: the exercise done second has less in it than done first.
    const double total = std::log(totals[static_cast<std::size_t>(chosen.front().load)]);
    const double fresh = start.look(second, total, {chosen.front().reps, {}, false}).capacity.median;
    SessionForecast tired = start;
    bool unused = true;
    play(tired, first, paths.back(), unused);
    EXPECT_LT(tired.look(second, total, {chosen.front().reps, {}, false}).capacity.median, fresh);
  }
}

TEST(SetScorer, AgreesWithTheForecast) {
  const auto draws = sample({{bench(), 100, 32}}, kLittleKnown, 4000, 3);
  const SessionForecast forecast(draws, 5);
  const SetScorer scorer(draws, 6);
  Aim aim = small_aim(Strategy::same_load);
  aim.least_reps = 1;  // so that no set counts as too short for the zone
  std::vector<SetScore> scores;
  for (double load : {75.0, 85.0}) {
    for (const std::optional<Call>& cue : {std::optional<Call>{}, std::optional<Call>{Call{1, false}}}) {
      scorer.score(forecast, 0, std::log(load), aim, aim.band_high, cue, 4, 9, scores);
      for (int reps = 4; reps <= 9; ++reps) {
        const auto out = forecast.look(0, std::log(load), {reps, cue, false}, aim.band_low, aim.band_high);
        const SetScore& score = scores[static_cast<std::size_t>(reps - 4)];
        EXPECT_NEAR(score.miss, out.p_miss, 0.025);
        EXPECT_NEAR(score.good, out.p_band, 0.025);
        EXPECT_NEAR(score.short_of_cap, out.p_short, 0.025);
      }
    }
  }
}

TEST(Search, NothingAdmittedGivesNothing) {
  const auto draws = sample({{bench(), 50, 32}}, kWellKnown, 100, 3);
  const SessionForecast forecast(draws, 5);
  const SetScorer scorer(draws, 6);
  for (Strategy strategy : {Strategy::same_load, Strategy::same_reps, Strategy::top_set}) {
    Aim aim = small_aim(strategy);
    aim.cues = {std::nullopt};
    EXPECT_TRUE(search_sets(forecast, scorer, 0, {60, 70}, aim, 4).empty());
    EXPECT_TRUE(search_sets(forecast, scorer, 0, {}, aim, 4).empty());
    EXPECT_FALSE(search_sets(forecast, scorer, 0, {20, 60, 70}, aim, 4).empty()) << "a light load is always found";
  }
}

}  // namespace
}  // namespace ullage::planning
