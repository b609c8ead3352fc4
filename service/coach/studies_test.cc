#include "service/coach/studies.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "service/coach/testing/desk_test_base.h"

namespace ullage::coach {
namespace {

using ::testing::HasSubstr;

class Studies : public DeskTest {
 protected:
  static StudyTableKept table() {
    StudyTableKept t;
    t.name = "short or failure";
    t.file = "studies.csv";
    t.text = "code,g,error,outcome\nA,0.1,0.2,growth\nB,-0.1,0.2,growth\nC,0.2,0.3,strength\n";
    t.mapping = "[columns]\nstudy = \"code\"\neffect = \"g\"\nse = \"error\"\noutcome = \"outcome\"\n";
    t.compares = "short minus failure";
    return t;
  }
};

TEST_F(Studies, KeptAsTheyWereMeantAndTakenBack) {
  const auto change = keep_studies(*desk_, table());
  ASSERT_TRUE(change) << change.error().message;
  StudyTableKept again = *studies(*desk_, "short or failure");
  EXPECT_EQ(again.text, table().text);
  EXPECT_EQ(again.mapping, table().mapping);
  EXPECT_EQ(again.compares, table().compares);
  EXPECT_FALSE(again.measure);
  const auto read = gather(wish_for(again));
  ASSERT_TRUE(read);
  EXPECT_EQ(read->studies, 3);
  EXPECT_NEAR(read->v(2), 0.09, 1e-12);
  again.more_is_better = false;
  again.assumed_r = 0.5;
  again.measure = evidence::Measure::SMD;
  EXPECT_FALSE(keep_studies(*desk_, again)) << "there are no means to work a difference out from";
  again.measure.reset();
  ASSERT_TRUE(keep_studies(*desk_, again));
  EXPECT_EQ(kept_studies(*desk_)->size(), 1u);
  EXPECT_EQ(studies(*desk_, again.name)->more_is_better, false);
  EXPECT_EQ(studies(*desk_, again.name)->assumed_r, 0.5);
  ASSERT_TRUE(remove_studies(*desk_, again.name));
  EXPECT_THAT(studies(*desk_, "short or fail").error().message, HasSubstr("no studies are kept"));
  ASSERT_TRUE(desk_->store().undo());
  EXPECT_TRUE(studies(*desk_, again.name));
}

TEST_F(Studies, WhatCannotBeKeptIsSaid) {
  for (const char* name : {"", " a", "a\nb"}) {
    StudyTableKept t = table();
    t.name = name;
    EXPECT_EQ(keep_studies(*desk_, t).error().code, Code::invalid_input) << name;
  }
  StudyTableKept t = table();
  t.text += "D,0.1,-3,growth\n";
  EXPECT_THAT(keep_studies(*desk_, t).error().message, HasSubstr("cannot be used"));
  t.skip_bad = true;
  EXPECT_TRUE(keep_studies(*desk_, t));
  t.compares = "the other way";
  EXPECT_FALSE(keep_studies(*desk_, t));
  t = table();
  t.text.append(kLongestStudyTable, '\n');
  EXPECT_THAT(keep_studies(*desk_, t).error().message, HasSubstr("2 MB"));
  for (std::size_t i = 0; i < kMostStudyTables; ++i) {
    t = table();
    t.name = "table " + std::to_string(i);
    (void)keep_studies(*desk_, t);
  }
  t.name = "one too many";
  EXPECT_EQ(keep_studies(*desk_, t).error().code, Code::conflict);
}

}  // namespace
}  // namespace ullage::coach
