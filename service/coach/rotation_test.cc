// How many work sets of an exercise a session of the past had, where nobody said which were warm-ups or parts of a
// unit.
#include <gtest/gtest.h>

#include "service/coach/sessions.h"

namespace ullage::coach {
namespace {

struct Done {
  double load;
  int reps;
  std::optional<double> rest_s = std::nullopt;
};

int work_sets(const std::vector<Done>& done) {
  std::vector<store::StoredSet> sets;
  for (const Done& d : done) {
    store::StoredSet one;
    one.set.date = *parse_date("2026-03-02");
    one.set.exercise = "bench-press";
    one.set.load = {d.load, Unit::kilogram};
    one.set.reps = d.reps;
    one.set.rest_s = d.rest_s;
    sets.push_back(one);
  }
  const auto past = session_rotation(sets, *parse_date("2026-03-05"));
  return past.empty() ? 0 : past.front().exercises.front().sets.value_or(0);
}

TEST(SessionRotation, WarmUpsThatNobodyMarkedAreNoWorkSets) {
  EXPECT_EQ(work_sets({{20, 10}, {40, 8}, {60, 5}, {87.5, 9}, {87.5, 8}, {87.5, 7}}), 3);
  EXPECT_EQ(work_sets({{100, 5}, {85, 8}, {85, 8}}), 3);            // back-offs
  EXPECT_EQ(work_sets({{70, 12}, {75, 10}, {80, 8}, {85, 6}}), 4);  // rising
  EXPECT_EQ(work_sets({{-20, 8}, {-15, 6}, {0, 3}}), 3);            // less assistance
}

TEST(SessionRotation, DropAndRestPausePartsAreNoSetsOfTheirOwn) {
  EXPECT_EQ(work_sets({{45, 12}, {35, 5, 15}, {25, 6, 15}, {45, 11, 120}, {35, 5, 15}, {25, 5, 15}}), 2);
  EXPECT_EQ(work_sets({{150, 11}, {150, 4, 15}, {150, 3, 20}}), 1);
  EXPECT_EQ(work_sets({{150, 11}, {150, 9, 60}, {150, 8, 90}}), 3);
}

}  // namespace
}  // namespace ullage::coach
