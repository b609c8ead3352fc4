// The solver as a child process, and the programme against another solver: GLPK's glpsol, a program of its own from
// Debian's glpk-utils, reads the exported MPS.
#include "service/solver/cbc.h"

#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "engine/planning/block_infeasible.h"
#include "engine/planning/block_instances.h"
#include "engine/planning/block_model.h"
#include "engine/planning/block_rules.h"
#include "engine/planning/block_search.h"
#include "engine/planning/block_summed.h"

namespace ullage::solver {
namespace {

using namespace planning;  // NOLINT: a test of both
using planning::testing::InstanceSize;
using planning::testing::random_problem;

Mip knapsack() {
  Mip mip;
  const int x = mip.add_column("x", 0, 10, 3, true), y = mip.add_column("y", 0, 10, 2, true);
  mip.add_row("room", -kNoLimit, 19, {{x, 4}, {y, 3}}, mip.add_rule("room for 19"));
  return mip;
}

std::string folder() {
  static const std::string path = [] {
    std::string name = (std::filesystem::temp_directory_path() / "ullage-cbc-test-XXXXXX").string();
    return std::string(::mkdtemp(name.data()) ? name : "");
  }();
  return path;
}

TEST(Cbc, SolvesAndProves) {
  const auto answer = cbc_solver()(knapsack(), {.seconds = 5, .gap = 0, .start = {}, .progress = {}});
  ASSERT_TRUE(answer) << answer.error().message;
  EXPECT_EQ(answer->end, MipEnd::optimal);
  EXPECT_DOUBLE_EQ(answer->value, 14);
  EXPECT_NEAR(answer->bound, 14, 1e-6);
}

TEST(Cbc, StartsFromAStartAndKeepsItWhenStoppedAtOnce) {
  MipWish wish;
  wish.start = {2, 3};
  wish.progress = [](double, std::optional<double>, std::optional<double>) { return false; };
  const auto answer = cbc_solver()(knapsack(), wish);
  ASSERT_TRUE(answer) << answer.error().message;
  EXPECT_EQ(answer->end, MipEnd::cancelled);
  EXPECT_EQ(answer->at, (std::vector<double>{2, 3}));
  EXPECT_DOUBLE_EQ(answer->value, 12);
}

TEST(Cbc, SaysInfeasible) {
  Mip mip = knapsack();
  mip.add_row("much", 30, kNoLimit, {{0, 4}, {1, 3}}, mip.add_rule("at least 30"));
  const auto answer = cbc_solver()(mip, {});
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->end, MipEnd::infeasible);
  EXPECT_TRUE(answer->at.empty());
}

TEST(Cbc, AMissingProgramIsAClearError) {
  const auto answer = cbc_solver("/nowhere/cbc")(knapsack(), {});
  ASSERT_FALSE(answer);
  EXPECT_EQ(answer.error().code, Code::unavailable);
  EXPECT_NE(answer.error().message.find("/nowhere/cbc"), std::string::npos);
  // Something that is no solver.
  const auto other = cbc_solver("/bin/true")(knapsack(), {});
  ASSERT_FALSE(other);
  EXPECT_EQ(other.error().code, Code::unavailable);
}

TEST(Cbc, ADeafChildIsKilledAndTheStartStands) {
  const std::string deaf = folder() + "/deaf";
  std::ofstream(deaf) << "#!/bin/sh\necho 'Welcome to the CBC MILP Solver'\nexec sleep 60\n";
  std::filesystem::permissions(deaf, std::filesystem::perms::owner_all);
  const auto begun = std::chrono::steady_clock::now();
  MipWish wish;
  wish.seconds = 0.2;
  wish.start = {2, 3};
  const auto answer = cbc_solver(deaf)(knapsack(), wish);
  const double gone = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
  ASSERT_TRUE(answer) << answer.error().message;
  EXPECT_EQ(answer->end, MipEnd::deadline);
  EXPECT_DOUBLE_EQ(answer->value, 12);
  EXPECT_LT(gone, 30);
}

// What the program says at its deadline is no proof that there is no solution.
TEST(Cbc, OutOfTimeIsNotInfeasible) {
  EXPECT_FALSE(says_infeasible("No feasible solution found"));
  EXPECT_TRUE(says_infeasible("Result - Problem proven infeasible"));
  EXPECT_TRUE(says_infeasible("Problem is infeasible - 0.01 seconds"));
  const std::string slow = folder() + "/slow";
  std::ofstream(slow) << "#!/bin/sh\necho 'Welcome to the CBC MILP Solver'\necho 'Result - Stopped on time limit'\n"
                         "echo\necho 'No feasible solution found'\n";
  std::filesystem::permissions(slow, std::filesystem::perms::owner_all);
  const auto answer = cbc_solver(slow)(knapsack(), {});
  ASSERT_TRUE(answer) << answer.error().message;
  EXPECT_EQ(answer->end, MipEnd::deadline);
  // The program itself, with no time for anything: it must not be taken to have proved anything.
  const BlockProblem p = random_problem({}, 3);
  const auto none = cbc_solver()(write_model(p).mip, {.seconds = 0.05, .gap = 0, .start = {}, .progress = {}});
  ASSERT_TRUE(none) << none.error().message;
  EXPECT_NE(none->end, MipEnd::infeasible);
}

TEST(Cbc, ReadsItsProgress) {
  const auto nodes = read_progress(
      "Cbc0010I After 100 nodes, 54 on tree, -406.59929 best solution, best possible -421.89907 (30.20 seconds)");
  EXPECT_DOUBLE_EQ(*nodes.value, 406.59929);
  EXPECT_DOUBLE_EQ(*nodes.bound, 421.89907);
  const auto none = read_progress("Cbc0010I After 0 nodes, 1 on tree, 1e+50 best solution, best possible -421.9 (7 s)");
  EXPECT_FALSE(none.value);
  EXPECT_DOUBLE_EQ(*none.bound, 421.9);
  EXPECT_DOUBLE_EQ(*read_progress("Lower bound:                    -14.25").bound, 14.25);
  EXPECT_DOUBLE_EQ(*read_progress("Continuous objective value is -422.079 - 0.07 seconds").bound, 422.079);
  EXPECT_FALSE(read_progress("Cgl0003I 0 fixed").value);
}

// Optimum by glpsol of the MPS text; empty when it found none, with `proven` false when it ran out of time.
std::optional<double> by_glpsol(const std::string& mps, bool& proven) {
  const std::string model = folder() + "/model.mps", out = folder() + "/out.txt";
  std::ofstream(model) << mps;
  const std::string command =
      "glpsol --freemps " + model + " --cuts --tmlim 120 -o " + out + " > " + folder() + "/log.txt 2>&1";
  if (std::system(command.c_str()) != 0) return std::nullopt;
  std::ifstream in(out);
  proven = false;
  std::optional<double> value;
  for (std::string line; std::getline(in, line);) {
    if (line.rfind("Status:", 0) == 0) proven = line.find("INTEGER OPTIMAL") != std::string::npos;
    if (line.rfind("Objective:", 0) == 0) value = -std::strtod(line.c_str() + line.find('=') + 1, nullptr);
  }
  return value;
}

// Random instances of three small sizes, which both solvers prove within seconds; the same optimum to 1e-6 relative,
// and the same answer where there is none.
TEST(AgainstGlpkSlow, SmallInstancesHaveTheSameOptimum) {
  if (std::system("glpsol --version > /dev/null 2>&1") != 0) GTEST_SKIP() << "glpsol (glpk-utils) is not installed";
  struct Size {
    int days, exercises, weeks, count;
  };
  int compared = 0;
  for (const Size& some : {Size{2, 4, 1, 12}, Size{2, 4, 2, 14}, Size{3, 5, 1, 9}}) {
    for (std::uint64_t seed = 1; seed <= static_cast<std::uint64_t>(some.count); ++seed) {
      const std::string which = std::to_string(some.days) + " days, " + std::to_string(some.exercises) +
                                " exercises, " + std::to_string(some.weeks) + " weeks, seed " + std::to_string(seed);
      InstanceSize size;
      size.days = some.days;
      size.exercises = some.exercises;
      size.weeks = some.weeks;
      size.alternate = seed % 3 == 0;
      const BlockModel model = write_model(random_problem(size, seed));
      const Mip& mip = model.mip;
      const auto ours = cbc_solver()(mip, {.seconds = 60, .gap = 0, .start = {}, .progress = {}});
      ASSERT_TRUE(ours) << ours.error().message;
      bool proven = false;
      const auto theirs = by_glpsol(to_mps(mip), proven);
      if (ours->end == MipEnd::infeasible) {
        EXPECT_FALSE(theirs && proven) << which;
        continue;
      }
      ASSERT_EQ(ours->end, MipEnd::optimal) << which;
      ASSERT_TRUE(theirs && proven) << which;
      EXPECT_NEAR(ours->value, *theirs, 1e-6 * std::abs(*theirs)) << which;
      // Summed over its days, with the cuts that its bound is found with: the same optimum, and none below the block's.
      const Mip summed = planning::summed_over_days(model).mip;
      const auto sum = cbc_solver()(summed, {.seconds = 60, .gap = 0, .start = {}, .progress = {}, .hard_cuts = true});
      ASSERT_TRUE(sum) << sum.error().message;
      const auto their_sum = by_glpsol(to_mps(summed), proven);
      ASSERT_EQ(sum->end, MipEnd::optimal) << which;
      ASSERT_TRUE(their_sum && proven) << which;
      EXPECT_NEAR(sum->bound, *their_sum, 1e-6 * std::abs(*their_sum)) << which;
      EXPECT_GE(sum->bound, ours->value - 1e-6 * std::abs(ours->value)) << which;
      ++compared;
    }
  }
  EXPECT_GE(compared, 24);
}

TEST(SolvedSlow, PlansKeepTheRules) {
  int found = 0;
  for (std::uint64_t seed = 1; seed <= 12; ++seed) {
    InstanceSize size;
    size.days = 3;
    size.exercises = 14;
    size.weeks = 3;
    const BlockProblem p = random_problem(size, seed);
    const BlockModel model = write_model(p);
    const auto answer = cbc_solver()(model.mip, {.seconds = 3, .gap = 0.02, .start = {}, .progress = {}});
    ASSERT_TRUE(answer) << answer.error().message;
    if (answer->at.empty()) continue;
    ++found;
    const BlockPlan plan = plan_at(p, model, answer->at);
    const auto breaches = breaches_of(p, plan);
    EXPECT_TRUE(breaches.empty()) << seed << ": " << breaches.front().rule << ", found " << breaches.front().found;
    EXPECT_NEAR(worth_of(p, plan).value, answer->value, 1e-5);
  }
  EXPECT_GE(found, 6);
}

TEST(Contradictions, DropAnyOneRuleAndItSolves) {
  InstanceSize size;
  size.days = 2;
  size.exercises = 12;
  size.weeks = 2;
  size.rules = false;
  BlockProblem p = random_problem(size, 4);
  for (auto& rule : p.muscles) rule.least_week = 0;
  // Squats on both days, though the thighs rest four days between sessions; and another demand that is no part of it.
  for (auto& place : p.no_equipment) place[0].clear(), place[1].clear();
  for (auto& rule : p.muscles) rule.recovery_hours = 24;
  p.muscles[static_cast<std::size_t>(Muscle::quadriceps)].recovery_hours = 120;
  p.must = {{0, 2, 0, 99}, {1, 1, 0, 99}};
  const Mip mip = write_model(p).mip;
  const auto why = find_contradiction(mip, cbc_solver(), 60);
  ASSERT_TRUE(why) << why.error().message;
  ASSERT_FALSE(why->feasible);
  EXPECT_TRUE(why->irreducible);
  EXPECT_EQ(why->rules,
            (std::vector<std::string>{"120 h between sessions of the quadriceps", "squat on at least 2 days a week"}));
  // Together they cannot be kept; without any one of them they can.
  for (std::size_t left_out = 0; left_out <= why->rules.size(); ++left_out) {
    std::vector<bool> kept(mip.rules.size(), false);
    for (std::size_t i = 0; i < mip.rules.size(); ++i) {
      for (std::size_t r = 0; r < why->rules.size(); ++r)
        kept[i] = kept[i] || (r != left_out && mip.rules[i] == why->rules[r]);
    }
    const auto answer = cbc_solver()(with_rules(mip, kept), {});
    ASSERT_TRUE(answer);
    EXPECT_EQ(answer->end == MipEnd::infeasible, left_out == why->rules.size()) << left_out;
  }
}

}  // namespace
}  // namespace ullage::solver
