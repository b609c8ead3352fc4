#include "service/interchange/study_table.h"

#include <gmock/gmock.h>

namespace ullage::interchange {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

Result<StudyTable> read(std::string_view text, const StudyMapping* mapping = nullptr) {
  StringSource source(text);
  return read_study_table(source, mapping);
}

std::vector<std::string> told(const std::vector<Fault>& faults) {
  std::vector<std::string> out;
  for (const Fault& f : faults) out.push_back(fault_text(f));
  return out;
}

TEST(StudyTable, ReadsEffectsAndKeepsTheRestAsModerators) {
  const auto t = read("Study,effect,se,ci_lo,ci_hi,weeks,Trained\nA,0.5,0.1,0.3,0.7,8,yes\nB,,0.2,,,NA,no\n");
  ASSERT_TRUE(t) << t.error().message;
  EXPECT_THAT(t->moderators, ElementsAre("weeks", "Trained"));
  ASSERT_EQ(t->rows.size(), 2U);
  EXPECT_EQ(t->rows[0].number(StudyColumn::effect), 0.5);
  EXPECT_EQ(t->rows[1].number(StudyColumn::effect), std::nullopt);
  EXPECT_EQ(t->rows[1].moderators[0], "");
  EXPECT_TRUE(t->faults.empty());
}

TEST(StudyTable, NamesWhatCannotBe) {
  const auto t = read(
      "study,n1,mean1,sd1,n2,mean2,sd2,effect,ci_lo,ci_hi,se\n"
      "A,1,5,2,10,4,2,,,,\n"
      "B,10,5,-2,10,4,2,,,,\n"
      "C,10,5,2,10,4,2,0.5,0.6,0.9,\n"
      "D,10,5,2,10,4,2,-0.5,,,\n"
      "E,10,5,2,10,4,2,0.5,0.9,0.1,\n"
      "F,10,five,2,10,4,2,,,,\n"
      "G,10,50,2,10,4,2,,,,\n"
      "H,10,5,2,10,4,2,0.5,0.1,0.9,0.9\n");
  ASSERT_TRUE(t);
  EXPECT_THAT(
      told(t->faults),
      ElementsAre("line 2, column n1: \"1\" is not a whole number of 2 or more people",
                  "line 3, column sd1: \"-2\" is not above 0",
                  "line 4, column effect: the effect 0.5 lies outside its own interval",
                  "line 5, column effect: the effect -0.5 is on the other side than the first mean less the second",
                  "line 6, column ci_lo: the interval's lower end is not below its upper end",
                  HasSubstr("line 7, column mean1: \"five\" is not a number")));
  EXPECT_THAT(told(t->remarks), ElementsAre(HasSubstr("line 8, column sd2: the means differ by more than 5"),
                                            HasSubstr("line 9, column se: the standard error does not fit")));
  EXPECT_FALSE(t->rows[6].bad);
}

TEST(StudyTable, CountsAndChanges) {
  const auto t = read("events1,n1,events2,n2,r,pre_mean,post_mean,change_mean\n12,10,1,10,1.5,1,2,-1\n");
  ASSERT_TRUE(t);
  EXPECT_THAT(told(t->faults), ElementsAre("line 2, column r: \"1.5\" is not between -1 and 1",
                                           "line 2, column events1: \"12\" is not from 0 to n1",
                                           HasSubstr("the change -1 is on the other side")));
}

TEST(StudyTable, GoesThroughAMapping) {
  const auto mapping = parse_study_mapping(
      "[file]\ndelimiter = \";\"\ndecimal_comma = true\n"
      "[columns]\nstudy = \"Studie\"\neffect = \"d\"\nvariance = \"v\"\nbetter = \"way\"\nlabel = { columns = "
      "[\"Who\", \"Year\"], join = \", \" }\n"
      "[values.better]\nup = \"more\"\ndown = \"less\"\n"
      "[[drop]]\ncolumn = \"use\"\nvalues = [\"no\"]\n");
  ASSERT_TRUE(mapping) << mapping.error().message;
  const auto t =
      read("Studie;d;v;way;use;Who;Year;kg\nA;0,5;0,04;up;yes;Ro;1999;3,5\nB;0,2;0,04;down;no;Bo;;1\n", &*mapping);
  ASSERT_TRUE(t) << t.error().message;
  ASSERT_EQ(t->rows.size(), 1U);
  EXPECT_EQ(t->rows[0].number(StudyColumn::effect), 0.5);
  EXPECT_EQ(t->rows[0].word(StudyColumn::better), "more");
  EXPECT_EQ(t->rows[0].word(StudyColumn::label), "Ro, 1999");
  EXPECT_EQ(t->dropped[0].rows, 1U);
  EXPECT_THAT(t->moderators, ElementsAre("use", "kg"));
}

TEST(StudyTable, RefusesWhatIsNoStudyTable) {
  for (const char* text : {"", "a,b\n1,2\n", "study,study\nA,B\n"}) EXPECT_FALSE(read(text)) << text;
  const auto no_text = read("study,effect,\x93weeks\nA,0.2,8\n");
  ASSERT_FALSE(no_text);
  EXPECT_NE(no_text.error().message.find("#3"), std::string::npos) << no_text.error().message;
  EXPECT_FALSE(parse_study_mapping("[columns]\nstudy = 3\n"));
  EXPECT_FALSE(parse_study_mapping("[colums]\n"));
  EXPECT_FALSE(parse_study_mapping("[values.better]\nup = \"more\"\n"));
}

}  // namespace
}  // namespace ullage::interchange
