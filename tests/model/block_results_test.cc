// The committed runs of the block planner: what it gives away at most over random instances (bench/block_gaps), and its
// bounds on the shipped templates beside those of another solver, GLPK's glpsol (bench/template_bounds).
#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <set>
#include <string>
#include <vector>

#include "tests/published/published_values.h"

namespace ullage {
namespace {

const std::string kRoot = ULLAGE_SOURCE_DIR;

std::vector<std::vector<std::string>> rows_of(const std::string& file, std::size_t columns) {
  std::ifstream in(kRoot + "/science/results/" + file);
  std::string line;
  std::getline(in, line);
  std::vector<std::vector<std::string>> rows;
  while (std::getline(in, line)) {
    rows.push_back(published::detail::fields(line));
    EXPECT_EQ(rows.back().size(), columns) << line;
  }
  return rows;
}

TEST(BlockResults, TheGapsAreThoseOfTheirPlansAndBounds) {
  std::vector<double> gaps;
  for (const auto& row : rows_of("block_gaps.csv", 11)) {
    if (row[3].empty()) continue;  // without a plan
    const double value = std::stod(row[3]), bound = std::stod(row[4]), gap = std::stod(row[5]);
    EXPECT_LE(value, bound) << "instance " << row[0];
    EXPECT_NEAR(100 * (bound - value) / value, gap, 0.006) << "instance " << row[0];
    gaps.push_back(gap);
    EXPECT_EQ(row[8], "0") << "instance " << row[0] << ": exercises change from one usual week to the next";
    // A week with a test may have a few sets fewer than the one before it.
    EXPECT_LE(std::stoi(row[10]), 4) << "instance " << row[0];
  }
  ASSERT_GE(gaps.size(), 46U);
  std::sort(gaps.begin(), gaps.end());
  // Wanted is 1 % for a typical block. How far the others are stands in docs/planning.md and must not get worse unseen.
  EXPECT_LE(gaps[gaps.size() / 2], 1.0);
  EXPECT_LE(gaps[gaps.size() * 95 / 100], 1.65);
}

TEST(BlockResults, NoBoundOnATemplateLiesBelowWhatTheOtherSolverFound) {
  std::set<std::string> looked_at;
  for (const auto& row : rows_of("template_bounds.csv", 6)) {
    looked_at.insert(row[0]);
    const double value = std::stod(row[1]), bound = std::stod(row[2]), other_bound = std::stod(row[4]);
    EXPECT_LE(value, bound * (1 + 1e-6)) << row[0];
    EXPECT_LE(value, other_bound * (1 + 1e-6)) << row[0];
    if (!row[3].empty()) {
      EXPECT_LE(std::stod(row[3]), bound * (1 + 1e-6)) << row[0];
    }
    EXPECT_EQ(row[5], "yes") << row[0];
  }
  for (const auto& file : std::filesystem::directory_iterator(kRoot + "/data/templates"))
    EXPECT_TRUE(looked_at.count(file.path().stem().string())) << file.path().stem() << " was not run";
}

}  // namespace
}  // namespace ullage
