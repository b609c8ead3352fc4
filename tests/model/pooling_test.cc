// Pooling over a roster on simulated rosters (science/pooling.h): the committed run, made by bench/pooling, and one
// small roster that every run of these tests repeats.
#include "science/pooling.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <map>

#include "tests/published/published_values.h"

namespace ullage::science {
namespace {

// Error after over before of all rosters of a case together, with its spread over rosters.
struct Gain {
  int rosters = 0;
  double ratio = 0, error = 0, worst = 0;  // of the parameters; standard error over rosters
  double reps_ratio = 0, reps_error = 0;
  double held_before = 0, held_after = 0;            // share of 80 % intervals
  double next_held_before = 0, next_held_after = 0;  // of the next set's
};

struct Column {
  double before = 0, after = 0;
  std::vector<double> by_roster;
  void add(double b, double a) {
    before += b;
    after += a;
    by_roster.push_back(std::sqrt(a / b));
  }
  double ratio() const { return std::sqrt(after / before); }
  double error() const {
    const auto n = static_cast<double>(by_roster.size());
    double mean = 0, square = 0;
    for (const double r : by_roster) mean += r / n;
    for (const double r : by_roster) square += (r - mean) * (r - mean);
    return std::sqrt(square / (n - 1) / n);
  }
};

std::map<std::pair<std::string, int>, Gain> committed() {
  struct Sums {
    Column all, reps;
    double intervals = 0, held_before = 0, held_after = 0, lifters = 0, next_before = 0, next_after = 0;
  };
  std::map<std::pair<std::string, int>, Sums> sums;
  std::ifstream in(ULLAGE_SOURCE_DIR "/science/results/pooling.csv");
  std::string line;
  std::getline(in, line);
  EXPECT_EQ(line, pooling::kColumns);
  while (std::getline(in, line)) {
    const auto f = published::detail::fields(line);
    if (f.size() != 14) {
      ADD_FAILURE() << line;
      continue;
    }
    Sums& s = sums[{f[0], std::stoi(f[2])}];
    s.all.add(std::stod(f[4]), std::stod(f[5]));
    s.reps.add(std::stod(f[6]), std::stod(f[7]));
    s.lifters += std::stod(f[3]);
    s.intervals += std::stod(f[8]);
    s.held_before += std::stod(f[9]);
    s.held_after += std::stod(f[10]);
    s.next_before += std::stod(f[11]);
    s.next_after += std::stod(f[12]);
  }
  std::map<std::pair<std::string, int>, Gain> out;
  for (const auto& [key, s] : sums) {
    Gain& g = out[key];
    g.rosters = static_cast<int>(s.all.by_roster.size());
    g.ratio = s.all.ratio();
    g.error = s.all.error();
    g.worst = *std::max_element(s.all.by_roster.begin(), s.all.by_roster.end());
    g.reps_ratio = s.reps.ratio();
    g.reps_error = s.reps.error();
    g.held_before = s.held_before / s.intervals;
    g.held_after = s.held_after / s.intervals;
    g.next_held_before = s.next_before / s.lifters;
    g.next_held_after = s.next_after / s.lifters;
    std::printf(
        "%-26s %2d weeks, %d rosters: %.3f (%.3f), worst %.3f; next set %.3f (%.3f); held %.3f to %.3f, next %.3f to "
        "%.3f\n",
        key.first.c_str(), key.second, g.rosters, g.ratio, g.error, g.worst, g.reps_ratio, g.reps_error, g.held_before,
        g.held_after, g.next_held_before, g.next_held_after);
  }
  return out;
}

// The figures of docs/model.md section 7.
TEST(Pooling, CommittedRun) {
  const auto gains = committed();
  ASSERT_EQ(gains.size(), 2 * kRosterCases.size());
  for (const RosterCase& which : kRosterCases) {
    const Gain& little = gains.at({which.name, kShortWeeks});
    const Gain& much = gains.at({which.name, kLongWeeks});
    EXPECT_GE(little.rosters, 6) << which.name;
    if (which.off > 0) {
      EXPECT_LT(little.ratio + 2 * little.error, 1) << which.name << ": narrows errors of those with little";
    } else {
      EXPECT_LE(little.ratio, 1.01) << which.name << ": costs next to nothing where there is nothing to learn";
    }
    if (which.off >= 1) {
      EXPECT_LT(little.ratio, 0.92) << which.name;
    }
    EXPECT_LE(much.ratio, 1.01) << which.name;
    EXPECT_LE(much.worst, 1.02) << which.name << ": of no roster are those with much harmed by more than 2 %";
    // One set a lifter, most of its error being the set's own noise: no worse by 2 % and two standard errors.
    EXPECT_LE(much.reps_ratio, 1.02 + 2 * much.reps_error) << which.name;
    EXPECT_LE(little.reps_ratio, 1.02 + 2 * little.reps_error) << which.name;
    // Intervals hold as often as without it, or more often.
    EXPECT_GE(little.held_after, little.held_before - 0.015) << which.name;
    EXPECT_GE(much.held_after, much.held_before - 0.015) << which.name;
  }
}

TEST(PoolingSlow, ARosterOffThePriorsIsFoundOut) {
  const PooledRoster roster = pool_roster(kRosterCases[2], 900, 10);
  EXPECT_EQ(roster.short_logs.lifters, 5);
  EXPECT_EQ(roster.long_logs.lifters, 5);
  EXPECT_GT(roster.largest_move, 0.3);
  EXPECT_LT(roster.short_logs.after, roster.short_logs.before);
  EXPECT_LT(roster.long_logs.after, 1.02 * 1.02 * roster.long_logs.before);
}

}  // namespace
}  // namespace ullage::science
