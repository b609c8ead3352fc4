#include "engine/planning/test_proposal.h"

#include <gtest/gtest.h>

#include <cmath>

#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/judgement.h"
#include "engine/planning/set_planner.h"
#include "engine/planning/test_lifter.h"

namespace ullage::planning {
namespace {

using namespace testing;

// Twelve sets of 6 at 80 kg stopped on a call of 1.
std::vector<ComingSet> coming_sets(int lift = 0, double total = 80) {
  return {{lift, std::log(total), {12, Call{1, false}, false}, 12}};
}
const capacity::PlannedSet kUsual{6, {}, false};

std::optional<TestForm> form_of(const capacity::LifterDraws& draws, double total = 80) {
  return best_rep_max_test(draws, 0, {total}, coming_sets(), kUsual, std::log(80.0), 7);
}

TEST(RepMaxTest, TeachesMoreTheLessIsKnown) {
  const auto nothing_open = form_of(sample({{bench(), 100, 32}}, kNoDoubt, 256, 1));
  const auto well = form_of(sample({{bench(), 100, 32}}, kWellKnown, 256, 1));
  const auto little = form_of(sample({{bench(), 100, 32}}, kLittleKnown, 256, 1));
  ASSERT_TRUE(nothing_open && well && little);
  EXPECT_NEAR(nothing_open->gain, 0, 0.01);  // outcomes rarer than 1e-5 are left out
  EXPECT_FALSE(nothing_open->worth_it);
  EXPECT_GT(well->gain, 0);
  EXPECT_GT(little->gain, 1.5 * well->gain);
  EXPECT_TRUE(little->worth_it);
  EXPECT_NEAR(little->gain, 12 * (little->sd_before - little->sd_after), 1e-9);
  EXPECT_GT(little->minutes, kTestExtraRestS / 60);
}

// Judgement open: the call on the way is what teaches, and it is part of the best form.
TEST(RepMaxTest, TheBestFormCallsAndGoesOn) {
  Doubt judgement_open = kNoDoubt;
  judgement_open.bias = 1;
  judgement_open.strength = 0.02;
  const auto form = form_of(sample({{bench(), 100, 32}}, judgement_open, 256, 1));
  ASSERT_TRUE(form);
  ASSERT_TRUE(form->call_at_rep);
  EXPECT_LT(*form->call_at_rep, form->reps.median);
  EXPECT_GT(form->gain, 1);
}

// The expectation by simulation: draw who the lifter is, let them do the test, weigh the draws by what was seen.
// Outcomes are simulated with capacity as a real number, so this also checks the middle of the rep taken for it.
TEST(RepMaxTest, ExpectationAgreesWithSimulatedTests) {
  const auto draws = sample({{bench(), 100, 32}}, kLittleKnown, 256, 3);
  const auto form = form_of(draws);
  ASSERT_TRUE(form && form->call_at_rep);
  const int j = *form->call_at_rep;
  Random random(5);
  // Reserve of the coming sets, with noise of its own.
  std::vector<double> rho;
  const double other_day = std::hypot(std::sqrt(2.0) * 0.012, 0.004 * std::sqrt(14.0));
  for (int repeat = 0; repeat < 20; ++repeat) {
    for (const capacity::Draw& d : draws.draws) {
      const double x = d.lifts[0].log_strength - std::log(80.0) + random.normal(0, std::hypot(other_day, d.sigma));
      const double c = capacity::reps_to_failure(x, d.lifts[0].endurance, 1);
      const double stop =
          std::min(12.0, std::max(1.0, capacity::cue_stop_rep(d.judgement, c, capacity::call_cell({1, false}, false),
                                                              random.normal())));
      rho.push_back(c - stop);
    }
  }
  const auto sd = [&](const std::vector<double>& weights) {
    double sum = 0, mean = 0, square = 0;
    for (std::size_t i = 0; i < rho.size(); ++i) {
      const double w = weights[i % weights.size()];
      sum += w;
      mean += w * rho[i];
      square += w * rho[i] * rho[i];
    }
    mean /= sum;
    return std::sqrt(square / sum - mean * mean);
  };
  const double before = sd(std::vector<double>(256, 1.0));
  double after = 0;
  constexpr int kTests = 600;
  for (int t = 0; t < kTests; ++t) {
    const capacity::Draw& truth = draws.draws[static_cast<std::size_t>(random.integer(0, 255))];
    const double c = capacity::reps_to_failure(
        truth.lifts[0].log_strength - std::log(80.0) + random.normal(0, truth.sigma), truth.lifts[0].endurance, 1);
    const int n = std::max(0, static_cast<int>(std::floor(c)));
    std::optional<capacity::Cell> cell;
    if (j <= n) {
      const double heard = capacity::heard_mean(truth.judgement, c - j, false) +
                           capacity::heard_sd(truth.judgement, c - j) * random.normal();
      const bool open = heard > 4.5;
      cell = capacity::call_cell({open ? 5 : std::max(0.0, std::floor(heard + 0.5)), open}, false);
    }
    std::vector<double> weights;
    for (const capacity::Draw& d : draws.draws) {
      const double x = d.lifts[0].log_strength - std::log(80.0);
      const auto reach = [&](double reps) {
        return normal_cdf((x - capacity::margin_for_reps(reps, d.lifts[0].endurance, 1)) / d.sigma);
      };
      double w = (n == 0 ? 1 : reach(n)) - reach(n + 1);
      if (cell) w *= capacity::call_probability(d.judgement, n + 0.5 - j, *cell, false);
      weights.push_back(w);
    }
    after += sd(weights) / kTests;
  }
  // The planner takes 192 of the 256 draws: an sd from so many is good to some 4 %. 600 tests: the standard error of
  // the mean drop is about 0.02 reps.
  EXPECT_NEAR(form->sd_before, before, 0.04 * 2 * before);
  EXPECT_NEAR(form->sd_before - form->sd_after, before - after, 0.1);
  EXPECT_GT(before - after, 0.3);
}

TEST(RepMaxTest, LoadsThatMayAllowTooFewRepsAreLeftOut) {
  const auto draws = sample({{bench(), 100, 32}}, kLittleKnown, 256, 1);
  EXPECT_FALSE(form_of(draws, 97));  // one to three reps
  const auto form = best_rep_max_test(draws, 0, {70, 75, 80, 85, 90, 97}, coming_sets(), kUsual, std::log(80.0), 7);
  ASSERT_TRUE(form);
  EXPECT_LT(form->p_few, kFewRepsChance);
  EXPECT_FALSE(best_rep_max_test(draws, 0, {80}, {}, kUsual, std::log(80.0), 7));
}

struct Scene {
  capacity::LifterDraws draws = sample({{pulldown(), 90, 38}, {curl(), 30, 40}}, kLittleKnown, 256, 9);
  safety::Gate gate;
  PlanningInput input;
  SessionPlan plan;
  Scene() {
    input.draws = &draws;
    input.gate = &gate;
    input.offers = {{pulldown(), loads(20, 120, 5), "", {}, {}}, {curl(), loads(4, 40, 2), "", {}, {}}};
    SessionRequest request;
    request.lifter = "test";
    request.date = draws.day;
    for (const char* id : {"pulldown", "curl"}) {
      request.exercises.emplace_back();
      request.exercises.back().exercise = id;
    }
    plan = *plan_session(request, input);
  }
};

TEST(RepMaxTest, AProposalSaysWhyInOneSentence) {
  Scene s;
  const auto test = propose_test(s.plan, s.input, 8);
  ASSERT_TRUE(test);
  EXPECT_TRUE(test->form.worth_it);
  EXPECT_NE(test->why.find("rep-max test"), std::string::npos);
  EXPECT_NE(test->why.find("48 sets"), std::string::npos) << test->why;
  EXPECT_EQ(test->why.back(), '.');
}

TEST(RepMaxTest, NeverAgainstAGate) {
  const auto refused = [](auto change) {
    Scene s;
    change(s);
    return !propose_test(s.plan, s.input, 8);
  };
  EXPECT_FALSE(refused([](Scene&) {}));
  EXPECT_TRUE(refused([](Scene& s) { s.gate.holds = {{"h", "dizzy", "a clinician's word"}}; }));
  EXPECT_TRUE(refused([](Scene& s) {  // a minor, as evaluate() makes the gate
    s.gate.failure = false;
    s.gate.no_failure = "under 18";
    s.gate.least_reserve = 3;
  }));
  EXPECT_TRUE(refused([](Scene& s) {
    s.gate.extra_reserve = 1;  // a beginner
  }));
  EXPECT_TRUE(refused([](Scene& s) { s.gate.barred = {{"pulldown", "pain"}, {"curl", "pain"}}; }));
  EXPECT_TRUE(refused([](Scene& s) {
    for (ExerciseOffer& o : s.input.offers) o.last_test = s.plan.date - 55;
  }));
  EXPECT_FALSE(refused([](Scene& s) {
    for (ExerciseOffer& o : s.input.offers) o.last_test = s.plan.date - 56;
  }));
  // A free bar without spotters.
  ExerciseOffer offer{bench(), {}, "", {}, {}};
  EXPECT_NE(test_refused({}, ReservePolicy{}.of(ExerciseClass::barbell_compound), offer, false, Date{20000}), "");
  EXPECT_EQ(test_refused({}, ReservePolicy{}.of(ExerciseClass::barbell_compound), offer, true, Date{20000}), "");
}

}  // namespace
}  // namespace ullage::planning
