#include "engine/planning/why.h"

#include <gtest/gtest.h>

namespace ullage::planning {
namespace {

TEST(Why, EndsWithTheNumberThatDecided) {
  WhyFacts facts;
  facts.called = 1;
  facts.have = 2.4;
  facts.more = 5;
  facts.p_more = 0.47;
  EXPECT_EQ(why_line(facts),
            "You say 1 and have about 2: stop at 'would call 1'; 5 reps more would be a coin toss (47 %).");
  facts.more = 1;
  facts.p_more = 0.31;
  EXPECT_EQ(why_line(facts),
            "You say 1 and have about 2: stop at 'would call 1'; 1 rep more would be reached in 31 % of cases.");
  facts.decided = WhyFacts::Decided::limit;
  facts.miss_now = 0.04;
  facts.miss_next = 0.09;
  facts.miss_limit = 0.05;
  EXPECT_EQ(
      why_line(facts),
      "You say 1 and have about 2: stop at 'would call 1'; one rep more would take the chance of a miss from 4 % to "
      "9 %, over the limit of 5 %.");
  facts.called.reset();
  facts.decided = WhyFacts::Decided::floor;
  facts.floor = 3;
  facts.floor_from = "under 18";
  facts.under_floor = 0.07;
  EXPECT_EQ(why_line(facts),
            "When you say 0 you still have about 2, too early to stop on: the reps are fixed; at least 3 must stay in "
            "reserve (under 18), and the chance of less is 7 %.");
}

TEST(Why, PercentsNeverClaimCertainty) {
  EXPECT_EQ(percent_text(0.001), "under 1 %");
  EXPECT_EQ(percent_text(0.999), "over 99 %");
  EXPECT_EQ(percent_text(0), "0 %");
  EXPECT_EQ(percent_text(0.146), "15 %");
  EXPECT_EQ(reps_text(1), "1 rep");
}

}  // namespace
}  // namespace ullage::planning
