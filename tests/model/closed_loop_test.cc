// The set planner in a closed loop against fixed plans (science/closed_loop.h): the committed run, made by
// bench/closed_loop, and a short one that every test run repeats.
#include "science/closed_loop.h"

#include <gtest/gtest.h>

#include <algorithm>
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

struct Against {
  std::map<std::string, Mean> ratio;  // log of the planner's amount over the fixed plan's, one a lifter
  double fixed_missed = 0, fixed_planned = 0, missed = 0, planned = 0;
};
Against against(const std::string& plan, const std::string& file = "closed_loop.csv") {
  Against out;
  for (const Row& row : table(file)) {
    if (row.at("plan") != plan) continue;
    for (const char* what : {"plateau", "linear", "spent", "lost", "minutes"}) {
      out.ratio[what].add(std::log(number(row, what) / number(row, std::string("fixed_") + what)));
    }
    out.fixed_missed += number(row, "fixed_missed");
    out.fixed_planned += number(row, "fixed_planned");
    out.missed += number(row, "missed");
    out.planned += number(row, "planned");
  }
  return out;
}

// The committed run, against each fixed plan: no more fatigue of either kind and no more minutes, and where sets are
// planned fewer misses. More stimulus under both readings than 3 x 10 and percentage charts, by more than two standard
// errors; in four weeks not told from sets to failure where only nearness to failure counts.
TEST(ClosedLoop, CommittedRun) {
  const auto run = table("closed_loop_run.csv");
  ASSERT_EQ(run.size(), 1U);
  const auto rows = table("closed_loop.csv");
  ASSERT_EQ(rows.size(), 3 * static_cast<std::size_t>(number(run[0], "lifters")));
  const auto breaking =
      std::count_if(rows.begin(), rows.end(), [](const Row& row) { return row.at("flaw") != "none"; });
  EXPECT_GT(breaking, static_cast<std::ptrdiff_t>(rows.size()) / 3) << "lifters that break the model";
  for (const char* plan : kFixedPlans) {
    Against a = against(plan);
    for (const char* cost : {"spent", "lost", "minutes"}) EXPECT_LE(a.ratio[cost].mean(), 0) << plan << " " << cost;
    EXPECT_LT(a.missed / a.planned, 0.02) << plan;
    EXPECT_GT(a.ratio["plateau"].mean(), 2 * a.ratio["plateau"].error()) << plan;
    if (a.fixed_planned > 0) {
      EXPECT_LT(a.missed / a.planned, a.fixed_missed / a.fixed_planned) << plan;
      EXPECT_GT(a.ratio["linear"].mean(), 2 * a.ratio["linear"].error()) << plan;
    }
  }
  Against failure = against("failure");
  EXPECT_LT(std::abs(failure.ratio["linear"].mean()), 2 * failure.ratio["linear"].error()) << "is told as level";
}

// A year each of fifty lifters (docs/comparing.md): against every fixed plan less fatigue of either kind, fewer minutes
// and fewer misses, and more stimulus under both readings.
TEST(ClosedLoop, AYear) {
  const auto run = table("year/closed_loop_run.csv");
  ASSERT_EQ(run.size(), 1U);
  EXPECT_EQ(number(run[0], "weeks"), 52);
  EXPECT_EQ(number(run[0], "lifters"), 50);
  const auto rows = table("year/closed_loop.csv");
  ASSERT_EQ(rows.size(), 3U * 50);
  const auto breaking =
      std::count_if(rows.begin(), rows.end(), [](const Row& row) { return row.at("flaw") != "none"; });
  EXPECT_EQ(breaking, 3 * 25) << "lifters that break the model";
  for (const char* plan : kFixedPlans) {
    Against a = against(plan, "year/closed_loop.csv");
    for (const char* cost : {"spent", "lost", "minutes"})
      EXPECT_LT(a.ratio[cost].mean(), -2 * a.ratio[cost].error()) << plan << " " << cost;
    for (const char* reading : {"plateau", "linear"})
      EXPECT_GT(a.ratio[reading].mean(), 3 * a.ratio[reading].error()) << plan << " " << reading;
    EXPECT_LT(a.missed / a.planned, 0.02) << plan;
    if (a.fixed_planned > 0) {
      EXPECT_LT(a.missed / a.planned, 0.5 * a.fixed_missed / a.fixed_planned) << plan;
    }
  }
}

// What was told of a miss against what happened, on lifters of the model. The what-ifs of fixed reps, whose chances
// reach from nothing to one, each set for itself: within 2 points, or within two and a half standard errors of as many
// sets where those are more. Of the planned sets more misses were told than happened (docs/comparing.md): on the safe
// side, and not by more than 3 points.
TEST(ClosedLoop, ChancesOfAMissAgainstWhatHappened) {
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
    if (what == "planned") {
      EXPECT_GT(p - sum.missed / sum.sets, -0.02);
      EXPECT_LT(p - sum.missed / sum.sets, 0.03);
    } else {
      EXPECT_NEAR(sum.missed / sum.sets, p, std::max(0.02, 2.5 * std::sqrt(p * (1 - p) / sum.sets))) << what;
    }
  }
}

// The same over the year, on lifters of the model and on those that break it: each set of three within 2 points.
TEST(ClosedLoop, ChancesOfAMissOverAYear) {
  std::map<std::pair<std::string, std::string>, std::array<double, 3>> sums;  // sets, told, missed
  for (const Row& bin : table("year/miss_calibration.csv")) {
    auto& sum = sums[{bin.at("lifters"), bin.at("what")}];
    sum[0] += number(bin, "sets");
    sum[1] += number(bin, "sets") * number(bin, "told");
    sum[2] += number(bin, "missed");
  }
  ASSERT_EQ(sums.size(), 8U);
  for (const auto& [what, sum] : sums) {
    EXPECT_GE(sum[0], 7800) << what.first << " " << what.second;
    EXPECT_NEAR(sum[2] / sum[0], sum[1] / sum[0], 0.02) << what.first << " " << what.second;
  }
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
  EXPECT_LT(planned.spent, fixed.spent);
  EXPECT_LT(planned.lost, fixed.lost);
  EXPECT_LT(planned.minutes, fixed.minutes);
  EXPECT_LT(static_cast<double>(misses) / sets, told / sets + 0.02);
}

}  // namespace
}  // namespace ullage::science
