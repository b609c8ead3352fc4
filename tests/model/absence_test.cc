// Years without training: what is forecast, and what a first session afterwards makes of it.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "engine/calibration/scenario.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/priors.h"
#include "science/stan/fixed_logs.h"

namespace ullage::capacity {
namespace {

using calibration::Scene;

TrainingLog log_of(const Scene& scene, const std::vector<SetRecord>& sets) {
  return prepare(scene.lifter, sets, [&](const std::string& id) { return scene.find(id); }, sets.back().date);
}

double longest_gap(const TrainingLog& log) {
  double longest = 0;
  for (const LoggedSession& session : log.sessions) longest = std::max(longest, session.days_since_last);
  return longest;
}

// What was measured on simulated lifters stands: no such log has a gap beyond eight weeks, and up to there nothing
// differs to the bit (engine/capacity/absence_test.cc).
TEST(Absence, IsInNoLogThatCalibrationOrTheSamplersChainsRestOn) {
  for (int kind = 0; kind < calibration::kKinds; ++kind) {
    for (int number = 0; number < 100; ++number) {
      const Scene s = calibration::make_scene({static_cast<calibration::Kind>(kind), {}, 10}, number);
      ASSERT_LE(longest_gap(log_of(s, s.sets)), kAbsenceAfterDays) << kind << " " << number;
    }
  }
  for (int variant = 0; variant < calibration::kVariants; ++variant) {
    for (int number = 0; number < 40; ++number) {
      const Scene s =
          calibration::make_scene(calibration::scenario_of(static_cast<calibration::Variant>(variant), 10), number);
      ASSERT_LE(longest_gap(log_of(s, s.sets)), kAbsenceAfterDays) << variant << " " << number;
    }
  }
  for (const science::FixedLog& fixed : science::fixed_logs()) {
    const double gap = longest_gap(prepared(fixed, read_fixed_log(ULLAGE_SOURCE_DIR "/science", fixed)));
    if (fixed.name == "returning") {
      EXPECT_GT(gap, 1000);
    } else {
      EXPECT_LE(gap, kAbsenceAfterDays) << fixed.name;
    }
  }
}

struct Spread {
  double mean = 0, sd = 0;
};
Spread strength_on(const Posterior& p, const Exercise& exercise, Date day) {
  const LifterDraws draws = p.draw_rested({{exercise}}, day, 2000, 5);
  double sum = 0, square = 0;
  for (const Draw& d : draws.draws) {
    sum += d.lifts[0].log_strength;
    square += d.lifts[0].log_strength * d.lifts[0].log_strength;
  }
  const double n = static_cast<double>(draws.draws.size());
  return {sum / n, std::sqrt(square / n - sum * sum / n / n)};
}

TEST(Absence, ForecastsGoBackTowardsPeopleAlikeAndAreNeverWiderThanTheyAre) {
  const Scene s = calibration::make_scene({calibration::Kind::planned, {}, 6}, 3);
  const auto p = fit(log_of(s, s.sets));
  ASSERT_TRUE(p) << p.error().message;
  for (const simulation::SimulatedLift& lift : s.lifts) {
    const auto& summary = p->lifts[static_cast<std::size_t>(p->find_lift(lift.exercise.id, Side::both))];
    const Spread now = strength_on(*p, lift.exercise, p->as_of);
    double narrowest = now.sd;
    for (const int days : {30, 90, 200, 400, 800, 1600, 4000, 15000}) {
      const Spread then = strength_on(*p, lift.exercise, p->as_of + days);
      EXPECT_LT(then.sd, 1.04 * summary.prior_log_sd) << lift.exercise.id << " " << days;  // 1.6 % from 2000 draws
      EXPECT_GT(then.sd, 0.97 * narrowest) << lift.exercise.id << " " << days;
      narrowest = std::max(narrowest, then.sd);
      EXPECT_GT(then.mean, std::min(now.mean, summary.untrained_log_mean) - 0.3) << days;
      EXPECT_LT(then.mean, std::max(now.mean, summary.untrained_log_mean) + 0.1) << days;
    }
  }
  // An exercise never done goes the same way.
  Exercise dip = s.lifts[0].exercise;
  dip.id = "dip";
  const Spread cold = strength_on(*p, dip, p->as_of), later = strength_on(*p, dip, p->as_of + 4000);
  EXPECT_GT(later.sd, cold.sd);
  EXPECT_LT(later.sd, 1.04 * std::hypot(p->general_prior_sd, dip.strength_log_sd));
}

// The first evening after three years, live and by a new fit, with a lift that was done before and one that was not.
TEST(Absence, AReturnIsTakenUpLiveAsByANewFit) {
  const Scene s = calibration::make_scene({calibration::Kind::planned, {}, 8}, 5);
  std::vector<SetRecord> sets;
  for (const SetRecord& set : s.sets) {
    if (set.exercise != "curl") sets.push_back(set);
  }
  const auto before = fit(log_of(s, sets));
  ASSERT_TRUE(before) << before.error().message;
  const Date day = sets.back().date + 1100;
  std::vector<SetRecord> evening;
  for (const char* exercise : {"press", "curl"}) {
    const auto like = std::find_if(s.sets.rbegin(), s.sets.rend(), [&](const SetRecord& set) {
      return set.exercise == exercise && set.kind == SetKind::work && set.called;
    });
    ASSERT_NE(like, s.sets.rend()) << exercise;
    SetRecord set = *like;
    set.date = day;
    set.load.amount = std::round(0.75 * set.load.amount);
    set.called = Call{2, false};
    for (int i = 0; i < 2; ++i) evening.push_back(set);
  }
  const auto live = update(*before, log_of(s, evening));
  ASSERT_TRUE(live) << live.error().message;
  std::vector<SetRecord> all = sets;
  all.insert(all.end(), evening.begin(), evening.end());
  const auto again = fit(log_of(s, all));
  ASSERT_TRUE(again) << again.error().message;
  EXPECT_DOUBLE_EQ(live->absent_days, again->absent_days);
  EXPECT_GT(live->absent_days, 1000);
  for (const char* exercise : {"press", "curl", "row"}) {
    const Exercise& e = *s.find(exercise);
    const Spread a = strength_on(*live, e, day), b = strength_on(*again, e, day);
    const auto& summary = again->lifts[static_cast<std::size_t>(again->find_lift(exercise, Side::both))];
    std::printf("%-6s live %.3f (%.3f), fitted again %.3f (%.3f)\n", exercise, a.mean, a.sd, b.mean, b.sd);
    EXPECT_NEAR(a.mean, b.mean, 0.5 * b.sd) << exercise;
    EXPECT_NEAR(a.sd / b.sd, 1, 0.3) << exercise;
    EXPECT_LT(b.sd, summary.prior_log_sd) << exercise;
  }
}

}  // namespace
}  // namespace ullage::capacity
