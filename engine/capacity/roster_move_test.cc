#include "engine/capacity/roster_move.h"

#include <gtest/gtest.h>

#include <Eigen/Cholesky>
#include <cmath>

#include "engine/base/random.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/test_bench_press.h"

namespace ullage::capacity {
namespace {

// Three sets a session with calls, twice a week, drawn anew around 8 reps with 100 kg as the most.
std::vector<SetRecord> sets_of(int sessions, Stop stop = Stop::planned, bool called = true) {
  std::vector<SetRecord> out;
  Random random(5);
  for (int s = 0; s < sessions; ++s) {
    for (int i = 0; i < 3; ++i) {
      SetRecord set;
      set.date = *parse_date("2026-01-05") + (7 * s) / 2;
      set.exercise = "bench-press";
      set.load = {72.5 + 2.5 * random.integer(0, 3), Unit::kilogram};
      set.reps = 6 + random.integer(0, 3);
      set.stop = stop;
      if (stop == Stop::planned) set.planned_reps = set.reps;
      set.rest_s = 150;
      if (called) set.called = Call{static_cast<double>(random.integer(1, 4)), false};
      out.push_back(set);
    }
  }
  return out;
}

const Exercise kBench = [] {
  Exercise e = bench_press();
  e.endurance = 32;
  return e;
}();
const FindExercise kFind = [](const std::string& id) { return id == kBench.id ? &kBench : nullptr; };

TrainingLog log_of(const std::vector<SetRecord>& sets, const Exercise& exercise = kBench) {
  return prepare(Lifter{}, sets, [&](const std::string&) { return &exercise; }, sets.back().date);
}

double mean_of(const Posterior& p, int variable) {
  double mean = 0;
  for (const Component& c : p.components) mean += c.weight * c.mean(variable);
  return mean;
}
double sd_of(const Posterior& p, int variable) {
  const double mean = mean_of(p, variable);
  double square = 0;
  for (const Component& c : p.components) {
    const double off = c.mean(variable) - mean;
    square += c.weight * (c.covariance(variable, variable) + off * off);
  }
  return std::sqrt(square);
}

// How far two posteriors are apart, in sds of the second, in what matters.
double apart(const Posterior& a, const Posterior& b) {
  double most = 0;
  for (const int v :
       {b.index.strength[0], b.index.log_endurance[0], b.index.bias, b.index.log_gain, b.index.log_a_slow}) {
    most = std::max(most, std::fabs(mean_of(a, v) - mean_of(b, v)) / sd_of(b, v));
  }
  return most;
}

// A prior of b moved by d is the published one with every feeling's bounds d further up.
TEST(RosterMove, IsTheFitUnderTheMovedPriorOfJudgement) {
  for (const int sessions : {4, 24}) {
    const TrainingLog log = log_of(sets_of(sessions));
    const double d = 0.5;
    TrainingLog further = log;
    for (LoggedSession& session : further.sessions) {
      for (LoggedSet& set : session.sets) {
        for (FeelingEnd* end : {&set.feeling->low, &set.feeling->before, &set.feeling->high}) end->bound += d;
      }
    }
    Posterior wanted = *fit(further);
    for (Component& c : wanted.components) c.mean(wanted.index.bias) += d;
    const Posterior plain = *fit(log);
    const Posterior got = moved(plain, {}, {{{kMoveBias, d / kBias.sd, 9}}}, kFind);
    // Either fit stops where the next step promises less than 0.01 log units: 0.14 sds, and 0.2 between two of them.
    EXPECT_LT(apart(got, wanted), 0.2) << sessions;
    EXPECT_GT(apart(plain, wanted), 0.35) << sessions << ": the move is one that can be seen";
    EXPECT_NEAR(got.bias_reps.median - plain.bias_reps.median,
                mean_of(got, got.index.bias) - mean_of(plain, plain.index.bias), 0.04)
        << "of 800 draws";
  }
}

TEST(RosterMove, IsTheFitUnderTheMovedPriorOfEndurance) {
  const double d = 0.7;
  Exercise other = kBench;
  other.endurance = 32 * std::exp(d * log_endurance(kBench).sd);
  const std::vector<SetRecord> sets = sets_of(6);
  const Posterior plain = *fit(log_of(sets)), wanted = *fit(log_of(sets, other));
  const Posterior got = moved(plain, {}, {{{move_of_endurance(kBench.id), d, 9}}}, kFind);
  EXPECT_LT(apart(got, wanted), 0.1);
  EXPECT_GT(apart(plain, wanted), 0.3);
  EXPECT_NEAR(got.lifts[0].strength.median, wanted.lifts[0].strength.median, 0.5);
  EXPECT_NEAR(got.lifts[0].history.back().median, wanted.lifts[0].history.back().median, 0.5);
}

TEST(RosterMove, BackIsWhatWasThere) {
  const Posterior plain = *fit(log_of(sets_of(5)));
  const RosterMove there{{{kMoveBias, 0.6, 9}, {kMoveSlow, -0.4, 9}, {move_of_endurance(kBench.id), 0.5, 9}}};
  const RosterMove elsewhere{{{kMoveGain, -0.5, 9}}};
  const Posterior back = moved(moved(moved(plain, {}, there, kFind), there, elsewhere, kFind), elsewhere, {}, kFind);
  ASSERT_EQ(back.components.size(), plain.components.size());
  for (std::size_t i = 0; i < back.components.size(); ++i) {
    EXPECT_NEAR(back.components[i].weight, plain.components[i].weight, 1e-9);
    EXPECT_LT((back.components[i].mean - plain.components[i].mean).cwiseAbs().maxCoeff(), 1e-9);
    EXPECT_EQ(back.components[i].covariance, plain.components[i].covariance);
  }
  EXPECT_NEAR(back.lifts[0].strength.hi80, plain.lifts[0].strength.hi80, 1e-6);
}

TEST(Lesson, IsEmptyWhereALogTeachesNothing) {
  const auto lesson = [](const TrainingLog& log) { return lesson_of(*fit(log), log); };
  EXPECT_FALSE(lesson(log_of(sets_of(8))).empty());
  EXPECT_TRUE(lesson(log_of(sets_of(8, Stop::unknown, false))).empty()) << "ends not told";
  std::vector<SetRecord> same = sets_of(20);
  for (SetRecord& set : same) {
    set.load = {80, Unit::kilogram};
    set.reps = 8;
    set.planned_reps = 8;
    set.called = Call{2, false};
  }
  EXPECT_TRUE(lesson(log_of(same)).empty()) << "calls that repeat themselves";
  for (SetRecord& set : same) {
    set.called.reset();
    set.stop = Stop::unknown;
    set.planned_reps.reset();
  }
  EXPECT_TRUE(lesson(log_of(same)).empty()) << "reps that repeat themselves";
  const TrainingLog log = log_of(sets_of(8));
  Posterior unsettled = *fit(log);
  unsettled.converged = false;
  EXPECT_TRUE(lesson_of(unsettled, log).empty());
}

// Lessons of people who lie d prior sds from the prior in every unknown, as the model has it: W d + N(0, W).
std::vector<Lesson> lessons_of(int people, double d, Random& random, double learned = 0.5) {
  std::vector<Lesson> out;
  for (int i = 0; i < people; ++i) {
    Lesson one;
    one.unknowns = {kMoveBias, kMoveGain, move_of_endurance("bench-press")};
    const auto n = static_cast<Eigen::Index>(one.unknowns.size());
    // Strongly correlated, as b and log k are.
    Eigen::MatrixXd root = Eigen::MatrixXd::Identity(n, n);
    root(0, 2) = root(2, 0) = -0.4;
    one.weight = learned * root * root.transpose() / (root * root.transpose()).diagonal().maxCoeff();
    const Eigen::LLT<Eigen::MatrixXd> llt(one.weight);
    Eigen::VectorXd z(n);
    for (double& x : z) x = random.normal();
    one.told = one.weight * Eigen::VectorXd::Constant(n, d) + llt.matrixL() * z;
    out.push_back(one);
  }
  return out;
}

TEST(RosterMoves, FindWhereARosterLiesAndLeaveOneOnThePriorsAlone) {
  Random random(17);
  double found = 0, noise = 0, square = 0;
  constexpr int kRosters = 400;
  for (int i = 0; i < kRosters; ++i) {
    const RosterMoves off = roster_moves(lessons_of(60, 0.8, random)), on = roster_moves(lessons_of(60, 0, random));
    found += off.newcomer.by(kMoveGain) / kRosters;
    noise += on.newcomer.by(kMoveGain) / kRosters;
    square += on.newcomer.by(kMoveGain) * on.newcomer.by(kMoveGain) / kRosters;
    EXPECT_EQ(off.newcomer.teachers(), 60);
    EXPECT_EQ(off.own[3].teachers(), 59) << "nobody counts in their own start";
  }
  // 60 lessons of weight 0.43 are 26 against the 4 of how rosters differ: 0.69, of which 0.88 is beyond chance.
  EXPECT_NEAR(found, 0.61, 0.04);
  EXPECT_NEAR(noise, 0, 0.04);
  EXPECT_LT(std::sqrt(square), 0.15);
}

TEST(RosterMoves, NobodyCountsInTheirOwnStart) {
  Random random(18);
  std::vector<Lesson> lessons = lessons_of(12, 0.9, random);
  const RosterMoves before = roster_moves(lessons);
  lessons[4].told *= 5;
  const RosterMoves after = roster_moves(lessons);
  EXPECT_TRUE(same_start(before.own[4], after.own[4]));
  EXPECT_FALSE(same_start(before.own[5], after.own[5]));
}

TEST(RosterMoves, AHandfulOfTeachersIsNeeded) {
  Random random(19);
  EXPECT_TRUE(roster_moves({}).newcomer.empty());
  EXPECT_TRUE(roster_moves(lessons_of(kLeastTeachers - 1, 2, random)).newcomer.empty());
  EXPECT_FALSE(roster_moves(lessons_of(kLeastTeachers, 2, random)).newcomer.empty());
  EXPECT_TRUE(roster_moves(lessons_of(kLeastTeachers, 2, random)).own[0].empty()) << "four others";
  EXPECT_TRUE(roster_moves(lessons_of(30, 2, random, 0.2)).newcomer.empty()) << "nobody learned much";
  for (const auto& u : roster_moves(lessons_of(40, 9, random)).newcomer.unknowns)
    EXPECT_LE(std::fabs(u.by), 1) << u.name;
}

}  // namespace
}  // namespace ullage::capacity
