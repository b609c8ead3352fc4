#include <gtest/gtest.h>

#include <cmath>

#include "engine/capacity/curve.h"
#include "engine/capacity/priors.h"
#include "engine/simulation/training_months.h"

namespace ullage::simulation {
namespace {

Exercise bench() {
  Exercise e;
  e.id = "bench-press";
  e.cls = ExerciseClass::barbell_compound;
  e.involvement[static_cast<std::size_t>(Muscle::chest)] = 1;
  e.involvement[static_cast<std::size_t>(Muscle::triceps)] = 0.5;
  e.strength_ratio = 1;
  e.strength_log_sd = 0.15;
  e.endurance = 32;
  return e;
}

Exercise squat() {
  Exercise e;
  e.id = "back-squat";
  e.cls = ExerciseClass::barbell_compound;
  e.involvement[static_cast<std::size_t>(Muscle::quadriceps)] = 1;
  e.strength_ratio = 1.35;
  e.strength_log_sd = 0.2;
  return e;
}

Exercise extension() {
  Exercise e;
  e.id = "leg-extension";
  e.cls = ExerciseClass::isolation;
  e.involvement[static_cast<std::size_t>(Muscle::quadriceps)] = 1;
  e.strength_ratio = 0.9;
  e.strength_log_sd = 0.45;
  return e;
}

// Nothing wanders and nothing is noisy: 100 kg, k 32.
Truth quiet(std::size_t lifts = 1) {
  Truth t;
  t.lifts.resize(lifts);
  for (LiftTruth& lift : t.lifts) {
    lift.log_strength = std::log(100.0);
    lift.drift = 0;
  }
  t.sigma = t.day_sd = 0;
  t.judgement = {0.5, 1.0, 1e-9, 0, 0};
  t.layoff_loss = 0;
  return t;
}

const Date kDay{20000};

SetOrder order(double load, int reps, Ending ending = Ending::planned, double rest = 3) {
  SetOrder o;
  o.total_load = load;
  o.reps = reps;
  o.ending = ending;
  o.rest = Minutes{rest};
  o.ask_call = true;
  return o;
}

TEST(SimulatedLifter, EndsSetsAsOrdered) {
  // At 80 kg of 100: C = 1 + 32 (100/80 - 1) = 9.
  const auto fresh = [] {
    SimulatedLifter lifter({{bench()}}, quiet(), 1);
    lifter.begin_day(kDay);
    return lifter;
  };
  auto a = fresh();
  const SetResult planned = a.perform(order(80.0001, 6));
  EXPECT_EQ(planned.reps, 6);
  EXPECT_FALSE(planned.failed);
  EXPECT_EQ(planned.stop, Stop::planned);
  EXPECT_NEAR(planned.capacity, 9, 1e-3);
  EXPECT_EQ(planned.called, (Call{2, false}));  // 2.9998 real reps left are two whole ones

  auto b = fresh();
  const SetResult missed = b.perform(order(80.0001, 12));
  EXPECT_TRUE(missed.failed);
  EXPECT_EQ(missed.reps, 8);
  EXPECT_EQ(missed.stop, Stop::failed);
  EXPECT_FALSE(missed.called);

  auto c = fresh();
  EXPECT_EQ(c.perform(order(79.9999, 1, Ending::failure)).reps, 9);

  auto d = fresh();
  SetOrder test = order(79.9999, 1, Ending::failure);
  test.call_at_rep = 5;
  const SetResult tested = d.perform(test);
  EXPECT_EQ(tested.called, (Call{4, false}));
  EXPECT_EQ(tested.called_at_rep, 5);

  auto e = fresh();
  SetOrder cue = order(80.0001, 20, Ending::cue);
  cue.cue = Call{2, false};
  const SetResult stopped = e.perform(cue);
  EXPECT_EQ(stopped.stop, Stop::cue);
  EXPECT_EQ(stopped.reps, 6);
  EXPECT_EQ(stopped.called, (Call{2, false}));

  auto f = fresh();
  EXPECT_EQ(f.perform(order(101, 3)).reps, 0);
  auto g = fresh();
  EXPECT_EQ(g.perform(order(60, 3)).called, (Call{5, true}));
}

TEST(SimulatedLifter, TiresAndRecovers) {
  std::vector<int> reps;
  for (const double rest : {1.0, 3.0, 30.0}) {
    SimulatedLifter lifter({{bench()}}, quiet(), 1);
    lifter.begin_day(kDay);
    lifter.perform(order(75, 1, Ending::failure));
    reps.push_back(lifter.perform(order(75, 1, Ending::failure, rest)).reps);
  }
  EXPECT_LT(reps[0], reps[1]);
  EXPECT_LT(reps[1], reps[2]);
  EXPECT_EQ(reps[2], 11);
}

TEST(SimulatedLifter, OtherMusclesTireLittle) {
  SimulatedLifter lifter({{bench()}, {squat()}}, quiet(2), 1);
  lifter.begin_day(kDay);
  lifter.perform(order(75, 1, Ending::failure));
  SetOrder other = order(75, 1, Ending::failure, 1);
  other.lift = 1;
  const double margin = lifter.perform(other).margin;
  EXPECT_LT(margin, std::log(100.0 / 75));
  EXPECT_GT(margin, std::log(100.0 / 75) - 0.02);
}

TEST(SimulatedLifter, ResidualFatigueFadesInThreeDays) {
  double margins[4];
  for (const int days : {0, 1, 2, 3}) {
    Truth truth = quiet();
    SimulatedLifter lifter({{bench()}}, truth, 1);
    lifter.begin_day(kDay);
    for (int s = 0; s < 6; ++s) lifter.perform(order(75, 1, Ending::failure, 4));
    lifter.begin_day(kDay + days);
    margins[days] = lifter.perform(order(75, 1)).margin;
  }
  EXPECT_LT(margins[0], margins[1]);
  EXPECT_LT(margins[1], margins[2]);
  EXPECT_NEAR(margins[3], std::log(100.0 / 75), 1e-12);
  // Six sets to failure leave about 1 % a day later (prior of A_day).
  EXPECT_NEAR(margins[3] - margins[1], 0.01, 0.001);
}

TEST(SimulatedLifter, PracticeAndLayOff) {
  Truth truth = quiet();
  truth.lifts[0].practice = 0.05;
  truth.layoff_loss = 0.001;
  SimulatedLifter lifter({{bench(), Side::both, true}}, truth, 1);
  for (int session = 0; session < 3; ++session) {
    lifter.begin_day(kDay + 4 * session);
    EXPECT_NEAR(lifter.log_strength_of_the_day(0),
                std::log(100.0) - 0.05 * (session == 0   ? 1
                                          : session == 1 ? 0.6
                                                         : 0),
                1e-12)
        << session;
    lifter.perform(order(60, 5));
  }
  lifter.begin_day(kDay + 8 + 14);
  EXPECT_NEAR(lifter.log_strength(0), std::log(100.0), 1e-12);
  lifter.begin_day(kDay + 8 + 14 + 54);
  EXPECT_NEAR(lifter.log_strength(0), std::log(100.0) - 0.040, 1e-12);
  lifter.begin_day(kDay + 8 + 14 + 54 + 20000);  // 42 days, and the 180 that years come to
  EXPECT_NEAR(lifter.log_strength(0), std::log(100.0) - 0.040 - 0.222, 1e-12);
}

TEST(SimulatedLifter, WandersAsItsDriftSays) {
  double square = 0;
  const int n = 4000;
  for (int i = 0; i < n; ++i) {
    Truth truth = quiet();
    truth.lifts[0].drift = 0.004;
    SimulatedLifter lifter({{bench()}}, truth, static_cast<std::uint64_t>(i));
    for (int day = 0; day <= 100; day += 4) lifter.begin_day(kDay + day);
    const double moved = lifter.log_strength(0) - std::log(100.0);
    square += moved * moved;
  }
  EXPECT_NEAR(std::sqrt(square / n), 0.04, 0.0018);  // four standard errors
}

TEST(SimulatedLifter, OwnStopsLeaveTheUsualReserve) {
  Truth truth = quiet();
  truth.stopping_reserve = {2.5, 2.5, 2.5};
  double mean = 0, square = 0;
  const int n = 8000;
  for (int i = 0; i < n; ++i) {
    SimulatedLifter lifter({{bench()}}, truth, static_cast<std::uint64_t>(i));
    lifter.begin_day(kDay);
    const SetResult done = lifter.perform(order(65 + 5.0 * i / n, 1, Ending::own_feeling));
    ASSERT_EQ(done.stop, Stop::unknown);
    mean += done.reserve / n;
    square += done.reserve * done.reserve / n;
  }
  // Gamma of shape 2: sd = mean / sqrt(2). The longest reserves are cut off at the first rep.
  EXPECT_NEAR(mean, 2.5, 0.1);
  EXPECT_NEAR(std::sqrt(square - mean * mean), 2.5 / std::sqrt(2.0), 0.1);
}

TEST(SimulatedLifter, CallsAreOffByTheBias) {
  Truth truth = quiet();
  truth.judgement = {2.5, 1.0, 0.5, 0.0, 0.0};
  truth.open_answers = false;
  double off = 0;
  const int n = 4000;
  for (int i = 0; i < n; ++i) {
    SimulatedLifter lifter({{bench()}}, truth, static_cast<std::uint64_t>(i));
    lifter.begin_day(kDay);
    const SetResult done = lifter.perform(order(70 + 2.0 * i / n, 8));
    off += (done.reserve - done.called->reserve) / n;
  }
  EXPECT_NEAR(off, 2.5, 0.05);
}

TEST(SimulatedLifter, FlawsDoWhatTheySay) {
  Truth truth = quiet();
  truth.lifts[0].trend = truth.lifts[0].trend_mean = 0.001;
  Flaws flaws;
  flaws.jump_on_day = 50;
  flaws.jump = 0.08;
  flaws.judgement_drift = 1;
  flaws.wrong_rest_sd = 0.5;
  SimulatedLifter lifter({{bench()}}, truth, 3, flaws);
  lifter.begin_day(kDay);
  lifter.begin_day(kDay + 48);
  EXPECT_DOUBLE_EQ(lifter.log_strength(0), std::log(100.0));
  lifter.begin_day(kDay + 100);
  EXPECT_NEAR(lifter.log_strength(0), std::log(100.0) + 0.08, 1e-12);
  EXPECT_NEAR(lifter.bias_now(), 1.5, 1e-12);
  lifter.perform(order(60, 5));
  EXPECT_NE(lifter.perform(order(60, 5)).rest_written.value, 3.0);

  Truth noisy = quiet();
  noisy.sigma = 0.02;
  int far = 0, far_normal = 0;
  for (int i = 0; i < 4000; ++i) {
    for (const bool heavy : {false, true}) {
      Flaws tails;
      tails.heavy_tails = heavy;
      SimulatedLifter one({{bench()}}, noisy, static_cast<std::uint64_t>(i), tails);
      one.begin_day(kDay);
      const SetResult done = one.perform(order(80, 1));
      const double noise = std::log1p((done.capacity - 1) / 32) - done.margin;
      (heavy ? far : far_normal) += std::abs(noise) > 0.08 ? 1 : 0;
    }
  }
  EXPECT_LT(far_normal, 5);
  EXPECT_GT(far, 60);  // P(|t3| > 4) = 0.028
}

TEST(SimulatedLifter, FeelingAnewEachRepStopsEarlier) {
  Truth truth = quiet();
  truth.judgement = {0.8, 0.8, 1.0, 0.1, 0.2};
  double once = 0, anew = 0;
  for (int i = 0; i < 2000; ++i) {
    for (const bool each : {false, true}) {
      Flaws flaws;
      flaws.feeling_anew = each ? 1 : 0;
      SimulatedLifter one({{bench()}}, truth, static_cast<std::uint64_t>(i), flaws);
      one.begin_day(kDay);
      (each ? anew : once) += one.perform(order(72, 30, Ending::cue)).reserve / 2000;
    }
  }
  EXPECT_GT(anew, once + 0.3);  // the lowest of many feelings comes first
}

LiftHabit habit(const Exercise& exercise, double guess, Scheme scheme) {
  LiftHabit h;
  h.exercise = exercise;
  for (int i = 0; i <= 120; ++i) h.loads.push_back({10 + 2.5 * i, Unit::kilogram});
  h.first_guess = guess;
  h.scheme = scheme;
  return h;
}

struct Year {
  TrainedLog log;
  SimulatedLifter lifter;
  double coach_strength;
};

Year year(std::uint64_t seed, Scheme scheme, Ending ending = Ending::planned, double call_chance = 1) {
  const std::vector<SimulatedLift> lifts{{bench()}, {squat()}, {extension()}};
  const Background background{Sex::unknown, 75, 2};
  Random random(seed, 10);
  Random guesses(seed, 11);
  SimulatedLifter lifter(lifts, draw_truth(lifts, background, random), seed);
  const std::vector<double> guess = first_guesses(lifts, background, guesses);
  std::vector<LiftHabit> habits;
  for (std::size_t i = 0; i < lifts.size(); ++i) {
    habits.push_back(habit(lifts[i].exercise, guess[i], scheme));
    habits.back().ending = ending;
    habits.back().call_chance = call_chance;
    habits.back().test_every = 24;
  }
  LoggingCoach coach(habits);
  const auto days = calendar(kDay, kDay + 364, {1, 3, 5}, {{{0}, {1}, {2}}}, 0.1, random);
  TrainedLog log = train(lifter, coach, days, {}, random);
  return {std::move(log), std::move(lifter), coach.guessed_strength(0)};
}

TEST(LoggingCoach, FindsWorkableLoads) {
  // Loads come from a guess that knows nothing of the lifter; work sets must still be neither trivial nor hopeless.
  for (const Scheme scheme : {Scheme::straight, Scheme::wave, Scheme::top_set}) {
    int sets = 0, failed = 0, trivial = 0, nothing = 0;
    for (std::uint64_t seed = 0; seed < 60; ++seed) {
      const Year y = year(seed, scheme);
      for (std::size_t i = 0; i < y.log.sets.size(); ++i) {
        if (y.log.sets[i].kind != SetKind::work) continue;
        ++sets;
        failed += y.log.sets[i].failed ? 1 : 0;
        nothing += y.log.sets[i].reps == 0 ? 1 : 0;
        trivial += y.log.sets[i].called && y.log.sets[i].called->open ? 1 : 0;  // as far as the lifter can tell
      }
    }
    EXPECT_GT(sets, 60 * 900);
    EXPECT_LT(failed, 0.25 * sets) << static_cast<int>(scheme);
    EXPECT_LT(trivial, 0.33 * sets) << static_cast<int>(scheme);
    EXPECT_LT(nothing, 0.01 * sets) << static_cast<int>(scheme);
  }
}

TEST(LoggingCoach, OrdersDependOnTheLogAlone) {
  // A coach that is shown the log of one lifter again orders that very log, with no lifter there.
  const Year y = year(7, Scheme::straight);
  std::vector<LiftHabit> habits;
  Random guesses(7, 11);
  const std::vector<SimulatedLift> lifts{{bench()}, {squat()}, {extension()}};
  const std::vector<double> guess = first_guesses(lifts, {Sex::unknown, 75, 2}, guesses);
  for (std::size_t i = 0; i < lifts.size(); ++i) {
    habits.push_back(habit(lifts[i].exercise, guess[i], Scheme::straight));
    habits.back().test_every = 24;
  }
  LoggingCoach coach(habits);
  Date day{0};
  for (const SetRecord& set : y.log.sets) {
    if (set.date != day) coach.begin_day(day = set.date);
    int lift = 0;
    while (habits[static_cast<std::size_t>(lift)].exercise.id != set.exercise) ++lift;
    const auto wanted = coach.next_set(lift);
    ASSERT_TRUE(wanted);
    ASSERT_EQ(wanted->load, set.load);
    ASSERT_EQ(wanted->kind, set.kind);
    if (set.planned_reps) {
      ASSERT_EQ(wanted->order.reps, *set.planned_reps);
    }
    coach.saw(lift, set);
  }
}

TEST(LoggingCoach, RaisesLoadsOfALifterWhoGrows) {
  Truth truth = quiet();
  truth.lifts[0].trend = truth.lifts[0].trend_mean = 0.0008;
  SimulatedLifter lifter({{bench()}}, truth, 5);
  LoggingCoach coach({habit(bench(), 70, Scheme::straight)});
  Random random(1);
  const auto days = calendar(kDay, kDay + 300, {2, 5}, {{{0}}}, 0, random);
  const TrainedLog log = train(lifter, coach, days, {}, random);
  double early = 0, late = 0;
  for (const SetRecord& set : log.sets) {
    if (set.kind != SetKind::work) continue;
    if (set.date < kDay + 30) early = std::max(early, set.load.amount);
    if (set.date > kDay + 270) late = std::max(late, set.load.amount);
  }
  EXPECT_GT(late, early * 1.1);
}

TEST(TrainingMonths, SameSeedSameLog) {
  EXPECT_EQ(year(3, Scheme::wave).log.sets, year(3, Scheme::wave).log.sets);
  EXPECT_NE(year(3, Scheme::wave).log.sets, year(4, Scheme::wave).log.sets);
}

TEST(TrainingMonths, AlternatedLiftsAndUnknowns) {
  Truth truth = quiet(2);
  SimulatedLifter lifter({{bench(), Side::left}, {bench(), Side::right}}, truth, 5);
  LiftHabit left = habit(bench(), 100, Scheme::straight), right = left;
  left.side = Side::left;
  right.side = Side::right;
  LoggingCoach coach({left, right});
  Random random(1);
  LogManner manner;
  manner.rest_known = 0;
  manner.stop_known = false;
  const TrainedLog log = train(lifter, coach, {{kDay, {{0, 1}}}, {kDay + 3, {{0, 1}}}}, manner, random);
  ASSERT_GT(log.sets.size(), 12U);
  for (std::size_t i = 0; i < log.sets.size(); ++i) {
    EXPECT_FALSE(log.sets[i].rest_s);
    EXPECT_FALSE(log.sets[i].planned_reps);
    EXPECT_NE(log.sets[i].stop, Stop::planned);
    EXPECT_EQ(log.sets[i].joined, "a");
  }
  EXPECT_EQ(log.sets[0].side, Side::left);
  EXPECT_EQ(log.sets[1].side, Side::right);
}

TEST(TrainingMonths, RestsAreThoseReallyTaken) {
  const Year y = year(11, Scheme::straight);
  int known = 0;
  for (std::size_t i = 0; i < y.log.sets.size(); ++i) {
    if (!y.log.sets[i].rest_s) continue;
    ++known;
    EXPECT_DOUBLE_EQ(*y.log.sets[i].rest_s, std::round(y.log.behind[i].rest_written.value * 60));
    EXPECT_DOUBLE_EQ(std::fmod(*y.log.sets[i].rest_s, 5), 0);
  }
  EXPECT_GT(known, 1000);
}

TEST(Truth, DrawsFollowThePriors) {
  const std::vector<SimulatedLift> lifts{{bench()}};
  Random random(12);
  double bias = 0, log_k = 0, log_k2 = 0, a_day = 0;
  const int n = 4000;
  for (int i = 0; i < n; ++i) {
    const Truth truth = draw_truth(lifts, {}, random);
    bias += truth.judgement.bias / n;
    log_k += std::log(truth.lifts[0].endurance) / n;
    log_k2 += std::pow(std::log(truth.lifts[0].endurance), 2) / n;
    a_day += std::log(truth.residual) / n;
    ASSERT_GT(truth.lifts[0].endurance, 2);
    ASSERT_GE(truth.layoff_loss, 0);
  }
  EXPECT_NEAR(bias, capacity::kBias.mean, 4 * 0.8 / std::sqrt(n));
  EXPECT_NEAR(log_k, std::log(32), 4 * 0.22 / std::sqrt(n));
  EXPECT_NEAR(std::sqrt(log_k2 - log_k * log_k), 0.22, 0.011);
  EXPECT_NEAR(a_day, capacity::log_a_day().mean, 4 * capacity::log_a_day().sd / std::sqrt(n));
}

}  // namespace
}  // namespace ullage::simulation
