// What is more likely a slip than a set: asked about wherever somebody can answer, kept and marked where nobody can.
#include "service/coach/doubt.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "service/coach/floor.h"
#include "service/coach/read_in.h"
#include "service/coach/roster.h"
#include "service/coach/sessions.h"
#include "service/coach/testing/desk_test_base.h"
#include "service/coach/views.h"

namespace ullage::coach {
namespace {

using ::testing::HasSubstr;

class DoubtTest : public DeskTest {
 protected:
  void SetUp() override {
    DeskTest::SetUp();
    ImportWish wish;
    wish.file = write("ines.csv", log_text("Ines", 6));
    ASSERT_TRUE(read_in(*desk_, wish));
    ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  }
  static LogWish set(double load, int reps, const std::string& exercise = "bench press") {
    LogWish wish;
    wish.lifter = "ines";
    wish.set.exercise = exercise;
    wish.set.load = {load, Unit::kilogram};
    wish.set.reps = reps;
    return wish;
  }
};

// Bench press at 60 to 62.5 kg x 8 with 1 to 3 left: some 80 kg at most.
TEST_F(DoubtTest, ASlipIsAskedAboutAndAnHonestRecordIsNot) {
  const Lifter ines = *desk_->lifter("ines");
  const auto doubts = [&](double load, int reps, const std::string& exercise = "bench press") {
    SetRecord one = set(load, reps, exercise).set;
    one.date = desk_->today();
    const auto found = doubts_about(*desk_, ines, {one});
    EXPECT_TRUE(found);
    return *found;
  };
  for (const auto& [load, reps] : {std::pair{1000.0, 8}, {600.0, 8}, {125.0, 8}, {60.0, 80}, {62.5, 28}}) {
    const auto asked = doubts(load, reps);
    ASSERT_EQ(asked.size(), 1U) << load << " x " << reps;
    EXPECT_THAT(asked[0], HasSubstr("is far above what is expected"));
  }
  for (const auto& [load, reps] :
       {std::pair{65.0, 8}, {70.0, 8}, {60.0, 12}, {80.0, 2}, {85.0, 1}, {20.0, 25}, {0.1, 8}})
    EXPECT_TRUE(doubts(load, reps).empty()) << load << " x " << reps;
  // An exercise never done is not known that well; still nobody does this.
  EXPECT_EQ(doubts(1000, 5, "leg extension").size(), 1U);
  EXPECT_TRUE(doubts(60, 8, "leg extension").empty());
  // Without an estimate the log alone is enough.
  ASSERT_TRUE(desk_->store().drop_derived(""));
  EXPECT_EQ(doubts(600, 8).size(), 1U);
  EXPECT_TRUE(doubts(70, 8).empty());
}

// A set that is corrected is no witness for itself.
TEST_F(DoubtTest, ACorrectionIsHeldAgainstTheOthers) {
  LogWish slip = set(625, 8);
  const auto logged = log_set(*desk_, slip);
  ASSERT_TRUE(logged);
  const Lifter ines = *desk_->lifter("ines");
  SetRecord again = logged->set;
  again.reps = 7;
  EXPECT_EQ(doubts_about(*desk_, ines, {again}, logged->id)->size(), 1U);
}

// From a phone that was away nobody can be asked: the set is kept, its plan does not follow it, and the coach is told.
TEST_F(DoubtTest, AFloorSetIsKeptAndMarked) {
  SessionWish whole;
  whole.lifter = "ines";
  ASSERT_TRUE(start_floor(*desk_, whole));
  LogWish wish = set(600, 8);
  wish.client_id = "client-id-0";
  wish.content = "600";
  const auto logged = log_on_floor(*desk_, wish);
  ASSERT_TRUE(logged);
  EXPECT_GT(logged->report.change, 0);
  ASSERT_FALSE(logged->report.remarks.empty());
  EXPECT_THAT(logged->report.remarks[0], HasSubstr("far above"));
  EXPECT_THAT(desk_->store().history(1)->front().what, HasSubstr("; to be checked"));
  const auto view = estimate(*desk_, "ines");
  ASSERT_TRUE(view);
  ASSERT_EQ(view->suspects.size(), 1U);
  EXPECT_EQ(view->suspects[0].set.id, logged->report.id);
  const auto all = roster(*desk_);
  const auto& reasons = all->rows.front().reasons;
  EXPECT_TRUE(
      std::any_of(reasons.begin(), reasons.end(), [](const Reason& r) { return r.attention == Attention::suspects; }));
  if (logged->report.rest) {
    for (const auto& item : logged->report.rest->items) {
      if (item.exercise != "bench-press") continue;
      for (const auto& s : item.sets) EXPECT_LT(s.load.amount, 100);
    }
  }
}

TEST_F(DoubtTest, RowsOfAFileAreAskedAboutBesideTheirOwnLifter) {
  const std::string head = "lifter,date,exercise,load,reps\n";
  std::string rows = head;
  for (int i = 1; i <= 9; ++i) rows += "Bo,2026-02-0" + std::to_string(i) + ",back squat,100,5\n";
  ImportWish wish;
  wish.file = write("bo.csv", rows +
                                  "Bo,2026-02-10,back squat,1025,5\nBo,2026-02-11,back squat,105,90\n"
                                  "Bo,2026-02-12,back squat,130,3\n");
  wish.ask = true;
  const auto asked = read_in(*desk_, wish);
  ASSERT_TRUE(asked);
  EXPECT_TRUE(asked->refused);
  EXPECT_EQ(asked->change, 0U);
  ASSERT_EQ(asked->doubts.size(), 2U);
  EXPECT_EQ(asked->doubts[0].line, 11U);
  EXPECT_EQ(asked->doubts[0].value, "1025");
  EXPECT_EQ(asked->doubts[1].line, 12U);
  // Looked through beforehand, and in a dry run, the same is told.
  wish.before_storing = [] {};
  EXPECT_EQ(read_in(*desk_, wish)->doubts.size(), 2U);
  wish.before_storing = nullptr;
  wish.dry_run = true;
  const auto tried = read_in(*desk_, wish);
  EXPECT_EQ(tried->doubts.size(), 2U);
  EXPECT_FALSE(tried->refused);
  wish.dry_run = wish.ask = false;
  EXPECT_EQ(read_in(*desk_, wish)->merged.added, 12);
  wish.ask = true;
  // What is stored was decided on: the same file asks nothing, a new slip does.
  EXPECT_TRUE(read_in(*desk_, wish)->doubts.empty());
  wish.file = write("more.csv", head + "Ines,2026-03-01,bench press,600,8\n");
  EXPECT_EQ(read_in(*desk_, wish)->doubts.size(), 1U);
  // The first rows of somebody new, against anyone.
  wish.file = write("new.csv", head + "Ada,2026-03-01,bench press,1000,5\nAda,2026-03-01,back squat,120,5\n");
  EXPECT_EQ(read_in(*desk_, wish)->doubts.size(), 1U);
}

TEST_F(DoubtTest, ASessionPastedAgainIsAskedAbout) {
  const std::string head = "lifter,date,exercise,load,reps\n";
  const std::string monday =
      "Bo,2026-02-02,back squat,100,5\nBo,2026-02-02,back squat,100,5\nBo,2026-02-02,bench press,70,8\n";
  const std::string friday = "Bo,2026-02-06,back squat,105,5\nBo,2026-02-06,bench press,70,9\n";
  ImportWish wish;
  wish.ask = true;
  const auto doubts = [&](const std::string& rows) {
    wish.file = write("pasted.csv", head + rows);
    const auto report = read_in(*desk_, wish);
    EXPECT_TRUE(report);
    EXPECT_EQ(report->refused, !report->doubts.empty() && !wish.dry_run);
    return report->doubts;
  };
  wish.dry_run = true;
  const auto week = doubts(monday + friday + monday + friday);
  ASSERT_EQ(week.size(), 2U);
  EXPECT_EQ(interchange::fault_text(week[0]),
            "line 7: the 3 sets of Bo on 2026-02-02 stand in the file already (line 2), and would be stored twice");
  EXPECT_EQ(week[1].line, 10U);
  // At once again: sets that follow each other are told from exercises in turn, and from the same set three times over.
  EXPECT_EQ(doubts(monday + monday).size(), 1U);
  EXPECT_TRUE(doubts(friday + friday).empty());
  EXPECT_TRUE(doubts("Bo,2026-02-02,back squat,100,5\nBo,2026-02-02,back squat,100,5\n").empty());
  // Another's rows in between are no sign, nor is another session of that day.
  EXPECT_TRUE(doubts(friday + "Ada,2026-02-06,back squat,60,5\n" + monday).empty());
  EXPECT_TRUE(doubts(friday + monday + "Bo,2026-02-06,back squat,105,5\nBo,2026-02-06,bench press,70,8\n").empty());
  wish.dry_run = false;
  EXPECT_EQ(doubts(monday + friday + monday).size(), 1U);
  wish.ask = false;  // meant so
  EXPECT_EQ(read_in(*desk_, wish)->merged.added, 8);
  wish.ask = true;
  EXPECT_TRUE(doubts(monday + friday + monday).empty()) << "all of it is stored";
}

// Half a log in kilograms, the rest in pounds that nobody named: no training doubles what a lifter can do from one day
// to the next, and stays there.
TEST_F(DoubtTest, AnotherUnitFromADayOnIsAskedAbout) {
  const auto rows = [](const std::vector<int>& loads) {
    std::string out = "lifter,date,exercise,load,reps\n";
    for (std::size_t i = 0; i < loads.size(); ++i) {
      for (int set = 0; set < 3; ++set)
        out += "Bo,2026-01-" + std::to_string(10 + i) + ",bench press," + std::to_string(loads[i]) + ",8\n";
    }
    return out;
  };
  ImportWish wish;
  wish.ask = true;
  const auto doubts = [&](const std::vector<int>& loads) {
    wish.file = write("units.csv", rows(loads));
    const auto report = read_in(*desk_, wish);
    EXPECT_TRUE(report);
    return report->doubts;
  };
  wish.dry_run = true;
  const auto up = doubts({75, 75, 78, 78, 170, 175, 175});
  ASSERT_EQ(up.size(), 1U);
  EXPECT_EQ(up[0].line, 14U);
  EXPECT_THAT(up[0].problem, HasSubstr("bench press 170 kg x 8 on 2026-01-14 after 78 kg x 8 on 2026-01-13"));
  EXPECT_THAT(up[0].problem, HasSubstr("is lb meant from here on?"));
  EXPECT_EQ(doubts({170, 170, 175, 78, 78, 80}).size(), 1U);
  // A lighter day, a good start, a heavy single among light days.
  EXPECT_TRUE(doubts({100, 100, 100, 50, 100, 102}).empty());
  EXPECT_TRUE(doubts({40, 50, 60, 70, 80, 90, 100}).empty());
  EXPECT_TRUE(doubts({100, 50, 50, 100, 50, 100, 50, 50}).empty());
  wish.dry_run = wish.ask = false;
  EXPECT_TRUE(doubts({75, 75, 78, 78, 170, 175, 175}).empty());
  wish.ask = true;
  EXPECT_TRUE(doubts({75, 75, 78, 78, 170, 175, 175}).empty()) << "stored is decided on";
}

// In a workbook the sheet and cell say where to look: as with faults.
TEST_F(DoubtTest, ADoubtSaysWhereInAWorkbookItStands) {
  ImportReport report;
  interchange::Fault& doubt = report.doubts.emplace_back();
  doubt.place = "Week 3!D14";
  EXPECT_EQ(to_json(report)["doubts"][0]["place"], "Week 3!D14");
}

}  // namespace
}  // namespace ullage::coach
