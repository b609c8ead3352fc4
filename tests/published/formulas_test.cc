// The formulas of engine/capacity/formulas.h against the published coefficients and their worked values.
#include "engine/capacity/formulas.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "tests/published/published_values.h"

namespace ullage::capacity {
namespace {

using published::row;
using published::value;

// T01-103..151 (derived from T01-090..102): 1RM per unit load after 1, 3, 5, 8, 10, 12, 15 reps, printed to six
// decimals; half a digit is the tolerance. Sources: Epley 1985, Brzycki 1993, Lander 1985, Lombardi 1989, Mayhew et al.
// 1992, O'Conner et al. 1989, Wathen 1994.
TEST(PublishedFormulas, WorkedValuesToTheirPrintedDigits) {
  const Formula order[] = {Formula::epley,  Formula::brzycki, Formula::lander, Formula::lombardi,
                           Formula::mayhew, Formula::oconner, Formula::wathen};
  const char* const names[] = {"epley", "brzycki", "lander", "lombardi", "mayhew", "oconner", "wathen"};
  const int reps[] = {1, 3, 5, 8, 10, 12, 15};
  int id = 103;
  for (int f = 0; f < 7; ++f) {
    for (const int n : reps) {
      const std::string row_id = "T01-" + std::to_string(id++);
      // The row is the one meant: its words name the formula and the reps.
      ASSERT_NE(row(row_id).quantity.find("after " + std::to_string(n) + " reps"), std::string::npos) << row_id;
      ASSERT_NE(row(row_id).quantity.find(names[f]), std::string::npos) << row_id;
      EXPECT_NEAR(one_rep_maximum(order[f], 1, n), value(row_id), 5e-7) << row_id;
    }
  }
  EXPECT_EQ(id, 152);
}

// T01-152 (derived): Epley and Brzycki in the 36/(37 - n) form agree exactly at 10 reps, and only there beyond 1.
TEST(PublishedFormulas, EpleyAndBrzyckiMeetAtTen) {
  const double n = value("T01-152");
  EXPECT_NEAR(one_rep_maximum(Formula::epley, 100, n), one_rep_maximum(Formula::brzycki, 100, n), 1e-12);
  EXPECT_GT(one_rep_maximum(Formula::epley, 100, n - 1), one_rep_maximum(Formula::brzycki, 100, n - 1));
  EXPECT_LT(one_rep_maximum(Formula::epley, 100, n + 1), one_rep_maximum(Formula::brzycki, 100, n + 1));
}

// T01-090..102: the coefficients as listed, through differences of the formula itself.
TEST(PublishedFormulas, Coefficients) {
  const auto slope = [](Formula f) { return one_rep_maximum(f, 1, 5) - one_rep_maximum(f, 1, 4); };
  EXPECT_NEAR(slope(Formula::epley), value("T01-090"), 5e-5);     // Epley 1985, printed 0.0333
  EXPECT_NEAR(slope(Formula::oconner), value("T01-099"), 1e-12);  // O'Conner et al. 1989
  const auto share = [](Formula f, double n) { return 1 / one_rep_maximum(f, 1, n); };
  // Brzycki 1993: 1.0278 - 0.0278 n and 36/(37 - n) differ in the fourth digit (printed coefficients are rounded).
  EXPECT_NEAR(share(Formula::brzycki, 4) - share(Formula::brzycki, 5), value("T01-092"), 5e-5);
  EXPECT_NEAR(share(Formula::brzycki, 1) + value("T01-092"), value("T01-091"), 5e-5);
  EXPECT_NEAR(100 * (share(Formula::lander, 4) - share(Formula::lander, 5)), value("T01-094"), 1e-10);  // Lander 1985
  EXPECT_NEAR(100 * share(Formula::lander, 4) + 4 * value("T01-094"), value("T01-093"), 1e-10);
  EXPECT_NEAR(std::log10(one_rep_maximum(Formula::lombardi, 1, 10)), value("T01-095"), 1e-12);  // Lombardi 1989
  for (const double n : {2.0, 9.0}) {  // Mayhew et al. 1992; Wathen 1994
    EXPECT_NEAR(100 * share(Formula::mayhew, n), value("T01-096") + value("T01-097") * std::exp(-value("T01-098") * n),
                1e-10);
    EXPECT_NEAR(100 * share(Formula::wathen, n), value("T01-100") + value("T01-101") * std::exp(-value("T01-102") * n),
                1e-10);
  }
}

// T02-013 (definition): k reps with q in reserve weigh as much as k + q reps to failure.
TEST(PublishedFormulas, ReserveCountsAsReps) {
  for (const Formula f : kFormulas) {
    EXPECT_NEAR(reps_to_failure(f, one_rep_maximum(f, 100, 5 + 3), 100), 8, 1e-9) << formula_name(f);
  }
}

}  // namespace
}  // namespace ullage::capacity
