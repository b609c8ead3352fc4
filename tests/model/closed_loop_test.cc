// The set planner in a closed loop against fixed plans (science/closed_loop.h): the committed run, made by
// bench/closed_loop, and a short one that every test run repeats.
#include "science/closed_loop.h"

#include <gtest/gtest.h>

#include <fstream>

#include "tests/published/published_values.h"

namespace ullage::science {
namespace {

using Row = std::map<std::string, std::string>;

std::vector<Row> table(const std::string& name) {
  std::ifstream in(ULLAGE_SOURCE_DIR "/science/results/" + name);
  std::string line;
  std::getline(in, line);
  const auto head = published::detail::fields(line);
  std::vector<Row> out;
  while (std::getline(in, line)) {
    const auto f = published::detail::fields(line);
    Row row;
    for (std::size_t i = 0; i < head.size() && i < f.size(); ++i) row[head[i]] = f[i];
    out.push_back(std::move(row));
  }
  return out;
}
double number(const Row& row, const std::string& name) { return std::stod(row.at(name)); }

struct Mean {
  int n = 0;
  double sum = 0, square = 0;
  void add(double x) {
    ++n;
    sum += x;
    square += x * x;
  }
  double mean() const { return sum / n; }
  double error() const { return std::sqrt(std::max(0.0, square / n - mean() * mean()) / std::max(1, n - 1)); }
};

// Over the lifters of the committed run and against each fixed plan: more stimulus under both readings, by more than
// two standard errors, at no more fatigue of both kinds and no more minutes; and fewer misses.
TEST(ClosedLoop, CommittedRunBeatsEachFixedPlan) {
  const auto run = table("closed_loop_run.csv");
  ASSERT_EQ(run.size(), 1U);
  const auto rows = table("closed_loop.csv");
  ASSERT_EQ(rows.size(), 3 * static_cast<std::size_t>(number(run[0], "lifters")));
  int breaking = 0;
  for (const Row& row : rows) breaking += row.at("flaw") != "none";
  EXPECT_GT(breaking, static_cast<int>(rows.size()) / 3) << "lifters that break the model";
  for (const char* plan : kFixedPlans) {
    std::map<std::string, Mean> ratio;
    double fixed_missed = 0, fixed_planned = 0, missed = 0, planned = 0;
    for (const Row& row : rows) {
      if (row.at("plan") != plan) continue;
      for (const char* what : {"plateau", "linear", "spent", "lost", "minutes"}) {
        ratio[what].add(std::log(number(row, what) / number(row, std::string("fixed_") + what)));
      }
      fixed_missed += number(row, "fixed_missed");
      fixed_planned += number(row, "fixed_planned");
      missed += number(row, "missed");
      planned += number(row, "planned");
    }
    for (const char* reading : {"plateau", "linear"}) {
      EXPECT_GT(ratio[reading].mean(), 2 * ratio[reading].error()) << plan << " " << reading;
    }
    for (const char* cost : {"spent", "lost", "minutes"}) EXPECT_LE(ratio[cost].mean(), 0) << plan << " " << cost;
    if (fixed_planned > 0) {
      EXPECT_LT(missed / planned, fixed_missed / fixed_planned) << plan;
    } else {
      EXPECT_STREQ(plan, "failure");  // every set of it ends in a rep not completed
    }
  }
}

// What was told of a miss against what happened, on lifters of the model: the sets of the plan, and what-ifs of fixed
// reps whose chances reach from nothing to one, each set for itself: within 2 points, or within two and a half standard
// errors of as many sets where those are more.
TEST(ClosedLoop, ChancesOfAMissAreToldWithinTwoPoints) {
  struct Sum {
    double told = 0, missed = 0, sets = 0;
  };
  std::map<std::string, Sum> sums;
  for (const Row& bin : table("miss_calibration.csv")) {
    if (bin.at("lifters") != "of the model") continue;
    Sum& sum = sums[bin.at("what")];
    sum.told += number(bin, "sets") * number(bin, "told");
    sum.missed += number(bin, "missed");
    sum.sets += number(bin, "sets");
  }
  ASSERT_EQ(sums.size(), 4U);
  for (const auto& [what, sum] : sums) {
    ASSERT_GT(sum.sets, 40) << what;
    const double p = sum.told / sum.sets;
    EXPECT_NEAR(sum.missed / sum.sets, p, std::max(0.02, 2.5 * std::sqrt(p * (1 - p) / sum.sets))) << what;
  }
  EXPECT_GT(sums["what-if set 1"].told / sums["what-if set 1"].sets, 0.03);
}

// Two lifters for three weeks: that the loop still runs as told, keeps inside fatigue and minutes, and hardly ever
// misses.
TEST(ClosedLoopSlow, AShortRunKeepsInside) {
  LoopWish wish;
  wish.weeks = 3;
  Balance fixed, planned;
  int sets = 0, misses = 0;
  double told = 0;
  for (const int number : {0, 2}) {
    for (const Pair& pair : run_lifter(wish, number)) {
      EXPECT_EQ(pair.flaw, 0);
      EXPECT_EQ(pair.fixed.sets, 54);
      for (const auto& [to, from] : {std::pair{&fixed, &pair.fixed}, {&planned, &pair.planned}}) {
        to->plateau += from->plateau;
        to->linear += from->linear;
        to->spent += from->spent;
        to->lost += from->lost;
        to->minutes += from->minutes;
      }
      for (const Told& one : pair.told) {
        if (one.what_if > 0) continue;
        ++sets;
        told += one.p_miss;
        misses += one.missed;
      }
    }
  }
  EXPECT_GT(planned.plateau, fixed.plateau);
  EXPECT_GT(planned.linear, fixed.linear);
  EXPECT_LT(planned.spent, fixed.spent);
  EXPECT_LT(planned.lost, fixed.lost);
  EXPECT_LT(planned.minutes, fixed.minutes);
  EXPECT_NEAR(static_cast<double>(misses) / sets, told / sets, 0.02);
}

}  // namespace
}  // namespace ullage::science
