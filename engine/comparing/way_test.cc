#include "engine/comparing/way.h"

#include <gtest/gtest.h>

namespace ullage::comparing {
namespace {

TEST(Ways, AreReadFromWords) {
  const Way failure = *parse_way("failure");
  EXPECT_EQ(failure.name, "all to failure");
  EXPECT_EQ(failure.end_of(0, 4), std::nullopt);
  EXPECT_TRUE(failure.fails(1));

  const Way two = *parse_way("reserve:2");
  EXPECT_EQ(two.name, "2 in reserve");
  for (int k = 0; k < 6; ++k) EXPECT_EQ(two.end_of(k, 6), 2);
  EXPECT_FALSE(two.fails(6));

  const Way last = *parse_way("last-failure");
  EXPECT_EQ(last.name, "last set to failure");
  EXPECT_EQ(last.end_of(2, 4), kOthersOfLastFailure);
  EXPECT_EQ(last.end_of(3, 4), std::nullopt);
  EXPECT_EQ(last.end_of(3, 5), kOthersOfLastFailure);
  EXPECT_FALSE(last.own_count());

  const Way list = *parse_way("list:3,2,1,0");
  EXPECT_EQ(list.name, "3, 2, 1, failure");
  EXPECT_EQ(list.own_count(), 4);
  EXPECT_EQ(list.end_of(0, 4), 3);
  EXPECT_EQ(list.end_of(3, 4), std::nullopt);
  EXPECT_EQ(list.end_of(5, 6), std::nullopt);  // sets added end as the last one
  EXPECT_EQ(parse_way("list:10,2")->name, "10, 2 in reserve");
}

TEST(Ways, RefuseWhatMakesNoSense) {
  for (const char* text : {"", "fail", "reserve", "reserve:", "reserve:0", "reserve:11", "reserve:-1", "reserve:2.5",
                           "list:", "list:3,,1", "list:3,x", "list:1,2,", "list:11", "reserve:2 ", "last"}) {
    const auto way = parse_way(text);
    ASSERT_FALSE(way) << text;
    EXPECT_EQ(way.error().code, Code::invalid_input);
    EXPECT_NE(way.error().message.find(text), std::string::npos);
  }
  std::string many = "list:1";
  for (int i = 0; i < 20; ++i) many += ",1";
  EXPECT_FALSE(parse_way(many));
}

}  // namespace
}  // namespace ullage::comparing
