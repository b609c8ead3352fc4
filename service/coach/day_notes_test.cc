// What a day is: a lighter week as long as it stands, and the first sessions after a break.
#include "service/coach/day_notes.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "service/coach/read_in.h"
#include "service/coach/steering.h"
#include "service/coach/testing/desk_test_base.h"

namespace ullage::coach {
namespace {

using ::testing::HasSubstr;

class DayNotesTest : public DeskTest {
 protected:
  void SetUp() override {
    DeskTest::SetUp();
    ImportWish wish;
    wish.file = write("ines.csv", log_text("Ines", 6));
    ASSERT_TRUE(read_in(*desk_, wish));
  }
};

TEST_F(DayNotesTest, ALighterWeekIsToldUntilItIsTakenBack) {
  EXPECT_TRUE(notes_of_day(*desk_, "ines", desk_->today())->empty());
  DecisionWish wish;
  wish.kind = SteeringKind::lighter_week;
  wish.accepted = true;
  wish.unasked = true;
  store::ChangeId change = 0;
  const auto decided = decide(*desk_, "ines", wish, &change);
  ASSERT_TRUE(decided) << decided.error().message;
  const auto notes = notes_of_day(*desk_, "ines", decided->proposal.from);
  ASSERT_EQ(notes->size(), 1U);
  EXPECT_THAT(notes->front(), HasSubstr("A lighter week, accepted on"));
  EXPECT_TRUE(notes_of_day(*desk_, "ines", decided->proposal.until + 1)->empty());
  ASSERT_TRUE(desk_->store().undo(change));
  EXPECT_TRUE(notes_of_day(*desk_, "ines", decided->proposal.from)->empty());
}

TEST_F(DayNotesTest, TheFirstSessionsAfterABreakKeepOneMoreInReserve) {
  const Lifter ines = *desk_->lifter("ines");
  const Date day = desk_->today();
  const auto none = desk_->session_gate(ines, day, {day - 33, day - 30, day - 26, day - 5});
  for (const std::string& caution : none->cautions) EXPECT_EQ(caution.find("Back after"), std::string::npos);
  const auto back = desk_->session_gate(ines, day, {day - 98, day - 95, day - 91});
  EXPECT_EQ(back->extra_reserve, 1);
  EXPECT_FALSE(back->failure);
  EXPECT_THAT(back->cautions, ::testing::Contains(HasSubstr("Back after 91 days")));
  // The third is still one of them, also when a set of today is logged already; the fourth is not.
  const auto third = desk_->session_gate(ines, day, {day - 91, day - 7, day - 4, day});
  EXPECT_THAT(third->cautions, ::testing::Contains(HasSubstr("Back after 84 days")));
  const auto fourth = desk_->session_gate(ines, day, {day - 91, day - 10, day - 7, day - 4});
  for (const std::string& caution : fourth->cautions) EXPECT_EQ(caution.find("Back after"), std::string::npos);
  // Weeks that are planned ahead have sessions between, which are not in the log yet.
  const auto ahead = desk_->strict_gate(ines, day + 35, {day - 9, day - 7, day - 4});
  for (const std::string& caution : ahead->cautions) EXPECT_EQ(caution.find("Back after"), std::string::npos);
}

}  // namespace
}  // namespace ullage::coach
