// Blocks from request to accepted plan, over a data file of its own.
#include "service/coach/block.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <set>

#include "engine/planning/block_rules.h"
#include "service/coach/block_problem.h"
#include "service/coach/day_notes.h"
#include "service/coach/documents.h"
#include "service/coach/records.h"
#include "service/coach/sessions.h"
#include "service/coach/testing/desk_test_base.h"
#include "service/solver/cbc.h"

namespace ullage::coach {
namespace {

using ::testing::AllOf;
using ::testing::HasSubstr;

TEST(BlockRequests, ReadBackAsTheyWereWritten) {
  const char* text = R"(
name = "Everything"
weeks = 5
from = "2026-03-09"
most_exercises = 6
most_rise = 0.3
alternate = true
lifters_on_rack = 2
exercises = ["back squat", "bench press"]
readings = ["plateau", "our studies"]
[[day]]
on = "Mon"
minutes = 60
place = "garage"
[goals]
chest = 2
side_shoulder = 0.5
[[lift]]
exercise = "back squat"
weight = 2
least_heavy = 3
[every_muscle]
most_week = 18
[[muscle]]
name = "chest"
least_week = 6
recovery_hours = 72
[[must]]
exercise = "back squat"
days = 2
[[ban]]
muscle = "calves"
from = "2026-03-16"
until = "2026-03-22"
why = "sore ankle"
[[fixed]]
exercise = "bench press"
on = "Mon"
sets = 3
reserve = 2
[[order]]
first = "back squat"
then = "bench press"
[[balance]]
name = "press and pull"
of = ["chest"]
against = ["lats", "upper_back"]
ratio = 1.2
[[test]]
exercise = "back squat"
week = 5
[[week]]
number = 4
kind = "lighter"
share = 0.5
why = "exams"
note = "keep it short"
[[travel]]
from = "2026-03-23"
until = "2026-03-29"
place = "hotel"
[[travel.day]]
on = "Tue"
minutes = 40
[target]
date = "2026-04-11"
kind = "photo"
[return]
from = "2026-03-09"
weeks = 3
why = "a cold"
[[day_change]]
date = "2026-03-10"
minutes = 25
)";
  const auto read = read_request(text);
  ASSERT_TRUE(read) << read.error().message;
  EXPECT_EQ(read->days.size(), 1u);
  EXPECT_EQ(read->travel.front().days.size(), 1u);
  const auto again = read_request(request_toml(*read));
  ASSERT_TRUE(again) << again.error().message;
  EXPECT_EQ(request_toml(*again), request_toml(*read));
  EXPECT_EQ(again->special.front().note, "keep it short");
}

TEST(BlockRequests, FaultsAreToldOneALine) {
  const auto read = read_request("weks = 4\n[goals]\nchset = 1\n[[must]]\ndays = 9\n[[day]]\non = \"Funday\"\n");
  ASSERT_FALSE(read);
  const std::string& said = read.error().message;
  EXPECT_THAT(said, HasSubstr("line 1: unknown key \"weks\": did you mean week or weeks?"));
  EXPECT_THAT(said, HasSubstr("line 3: goals: no muscle \"chset\""));
  EXPECT_THAT(said, HasSubstr("\"exercise\" is missing"));
  EXPECT_THAT(said, HasSubstr("days must be a whole number from 1 to 7"));
  EXPECT_THAT(said, HasSubstr("day of the week"));
  EXPECT_FALSE(read_request("[[["));
}

class BlockTest : public DeskTest {
 protected:
  void SetUp() override {
    DeskTest::SetUp();
    if (!solver::find_cbc()) GTEST_SKIP() << "CBC is not installed";
    const auto report = make_demo(*desk_, 1);
    ASSERT_TRUE(report) << report.error().message;
  }
  BlockWish wish(const std::string& lifter, const std::string& request) {
    BlockWish w;
    w.lifter = lifter;
    const auto read = read_request(request);
    EXPECT_TRUE(read) << (read ? "" : read.error().message);
    if (read) w.request = *read;
    w.own_request = true;
    w.seconds = 2;
    return w;
  }
  // One fit and one solve serve all of this.
  void nobody_wants_it_and_nothing_is_kept() {
    BlockWish asked = wish("Maren Tolvik", kTwoDays);
    asked.seconds = 0.2;
    asked.wanted = [] { return false; };
    EXPECT_EQ(plan_block(*desk_, asked).error().code, Code::cancelled);
    EXPECT_TRUE(kept_blocks(*desk_, "maren")->empty());
  }
  void changes_by_hand_are_checked_at_once(const BlockSheet& before) {
    const auto names = [](const BlockDayPlan& day) {
      std::set<std::string> out;
      for (const BlockItem& i : day.items) out.insert(i.exercise);
      return out;
    };
    // A change that breaks nothing leaves every figure as the planner gave it.
    const BlockItem& first = before.weeks[0].days[0].items[0];
    const auto same = edit_block(*desk_, "maren", {1, 1, 1, first.exercise, first.total(), {}});
    ASSERT_TRUE(same) << same.error().message;
    EXPECT_TRUE(same->sheet.edited);
    EXPECT_EQ(same->sheet.weeks[0].days[0].minutes, before.weeks[0].days[0].minutes);
    EXPECT_NEAR(same->sheet.figures.sets, before.figures.sets, 1e-9);
    ASSERT_TRUE(desk_->store().undo());

    // Far too many sets: the minutes are counted anew, and the broken rules told with day and number.
    const auto many = edit_block(*desk_, "maren", {1, 1, 1, first.exercise, 10, {}});
    ASSERT_TRUE(many) << many.error().message;
    EXPECT_GT(many->sheet.weeks[0].days[0].minutes, before.weeks[0].days[0].minutes);
    ASSERT_FALSE(many->sheet.faults.empty());
    EXPECT_EQ(many->sheet.faults.front().week, 1);
    std::string said;
    for (const BlockFault& f : many->sheet.faults) said += f.rule + ": " + f.found + "\n";
    EXPECT_THAT(said, HasSubstr("at most 60 minutes"));
    EXPECT_EQ(block_json(*read_block(block_json(many->sheet))), block_json(many->sheet));
    ASSERT_TRUE(desk_->store().undo());

    // What the policy does not know at all is refused, and nothing is kept of it.
    const auto refused = edit_block(*desk_, "maren", {1, 1, 99, first.exercise, {}, 9});
    ASSERT_FALSE(refused);
    EXPECT_THAT(refused.error().message, HasSubstr("in reserve"));
    EXPECT_FALSE(kept_blocks(*desk_, "maren")->front().sheet.edited);

    // Two sessions change places; a session moves to a free day and back to where it was, and nothing is left behind.
    const auto swapped = move_in_block(*desk_, "maren", {1, 4, 1, 99, ""});
    ASSERT_TRUE(swapped) << swapped.error().message;
    for (std::size_t w = 0; w < 2; ++w) {
      EXPECT_EQ(names(swapped->sheet.weeks[w].days[0]), names(before.weeks[w].days[1]));
      EXPECT_EQ(names(swapped->sheet.weeks[w].days[1]), names(before.weeks[w].days[0]));
    }
    ASSERT_TRUE(desk_->store().undo());
    const auto moved = move_in_block(*desk_, "maren", {1, 3, 2, 2, ""});
    ASSERT_TRUE(moved) << moved.error().message;
    EXPECT_EQ(moved->sheet.weeks[0].days[0].date, before.weeks[0].days[0].date);
    EXPECT_EQ(moved->sheet.weeks[1].days[0].date, before.weeks[1].days[0].date + 2);
    ASSERT_EQ(moved->sheet.request.day_changes.size(), 1u);
    const auto back = move_in_block(*desk_, "maren", {3, 1, 2, 2, ""});
    ASSERT_TRUE(back) << back.error().message;
    EXPECT_EQ(back->sheet.weeks[1].days[0].date, before.weeks[1].days[0].date);
    EXPECT_TRUE(back->sheet.request.day_changes.empty());
    EXPECT_TRUE(back->sheet.faults.empty());
    EXPECT_EQ(move_in_block(*desk_, "maren", {2, 5, 1, 99, ""}).error().code, Code::invalid_input);

    // An exercise of one day alone moves to the other; a second time it is not there any more.
    for (const BlockItem& i : before.weeks[0].days[0].items) {
      if (names(before.weeks[0].days[1]).count(i.exercise)) continue;
      const auto one = move_in_block(*desk_, "maren", {1, 4, 1, 99, i.exercise});
      ASSERT_TRUE(one) << one.error().message;
      EXPECT_TRUE(names(one->sheet.weeks[1].days[1]).count(i.exercise));
      EXPECT_FALSE(names(one->sheet.weeks[1].days[0]).count(i.exercise));
      EXPECT_EQ(move_in_block(*desk_, "maren", {1, 4, 1, 99, i.exercise}).error().code, Code::invalid_input);
      break;
    }
  }
  static constexpr const char* kTwoDays =
      "weeks = 2\n[[day]]\non = \"Mon\"\nminutes = 60\n[[day]]\non = \"Thu\"\nminutes = 60\n";
};

using BlockTestSlow = BlockTest;  // left out under the sanitizers
TEST_F(BlockTestSlow, AProposalIsChangedByHandAcceptedFollowedAndTakenBack) {
  nobody_wants_it_and_nothing_is_kept();
  const auto made = plan_block(*desk_, wish("Maren Tolvik", kTwoDays));
  ASSERT_TRUE(made) << made.error().message;
  ASSERT_FALSE(made->none);
  EXPECT_TRUE(planning::breaches_of(made->problem, made->plan).empty());
  ASSERT_EQ(made->sheet.weeks.size(), 2u);
  for (const BlockWeekPlan& w : made->sheet.weeks) {
    for (const BlockDayPlan& d : w.days) {
      EXPECT_FALSE(d.items.empty());
      EXPECT_LE(d.minutes, d.limit + 1e-6);
      for (const BlockItem& i : d.items) EXPECT_THAT(i.why, HasSubstr("without it")) << i.name;
    }
  }
  const auto back = read_block(block_json(made->sheet));
  ASSERT_TRUE(back) << back.error().message;
  EXPECT_EQ(block_json(*back), block_json(made->sheet));

  changes_by_hand_are_checked_at_once(made->sheet);
  for (int i = 0; i < 4 && kept_blocks(*desk_, "maren")->front().sheet.edited; ++i) ASSERT_TRUE(desk_->store().undo());

  EXPECT_FALSE(accepted_block(*desk_, "Maren Tolvik", made->sheet.weeks[0].days[0].date)->has_value());
  ASSERT_TRUE(accept_block(*desk_, "Maren Tolvik", "good"));
  EXPECT_EQ(accept_block(*desk_, "Maren Tolvik", "again").error().code, Code::conflict);
  const Date day = made->sheet.weeks[0].days[0].date;
  const auto session = write_session(
      *desk_, {.lifter = "Maren Tolvik", .date = day, .session = "", .place = "", .exercises = {}, .keep = false});
  ASSERT_TRUE(session) << session.error().message;
  EXPECT_EQ(session->block_week, 1);
  ASSERT_EQ(session->request.exercises.size(), made->sheet.weeks[0].days[0].items.size());
  EXPECT_EQ(session->request.exercises[0].exercise, made->sheet.weeks[0].days[0].items[0].exercise);

  ASSERT_TRUE(note_week(*desk_, "Maren Tolvik", 1, "new shoes"));
  EXPECT_EQ((*accepted_block(*desk_, "Maren Tolvik", day))->sheet.weeks[0].note, "new shoes");
  EXPECT_EQ(*notes_of_day(*desk_, "Maren Tolvik", day), std::vector<std::string>{"new shoes"});
  EXPECT_EQ(notes_of_day(*desk_, "Maren Tolvik", day + 1)->front(), "The plan leaves " + date_text(day + 1) + " free.");
  ASSERT_TRUE(desk_->store().undo());  // the note
  ASSERT_TRUE(desk_->store().undo());  // the acceptance
  EXPECT_FALSE(accepted_block(*desk_, "Maren Tolvik", day)->has_value());
  EXPECT_EQ(kept_blocks(*desk_, "Maren Tolvik")->front().state, "proposed");
}

TEST_F(BlockTestSlow, SolvedAgainItStaysAndSaysWhatChangesAndWhy) {
  const auto made = plan_block(*desk_, wish("Maren Tolvik", kTwoDays));
  ASSERT_TRUE(made) << made.error().message;
  ASSERT_TRUE(accept_block(*desk_, "Maren Tolvik", ""));
  BlockWish again;
  again.lifter = "Maren Tolvik";
  again.seconds = 2;
  const auto same = plan_block(*desk_, again);
  ASSERT_TRUE(same) << same.error().message;
  EXPECT_TRUE(same->resolved);
  const Date cut = made->sheet.weeks[0].days[1].date;
  again.day_changes = {{cut, {}, 25.0}};
  const auto shorter = plan_block(*desk_, again);
  ASSERT_TRUE(shorter) << shorter.error().message;
  ASSERT_FALSE(shorter->none);
  EXPECT_LE(shorter->sheet.weeks[0].days[1].minutes, 25);
  std::string said;
  for (const std::string& line : shorter->sheet.changes) said += line + "\n";
  EXPECT_THAT(said, HasSubstr("at most 25 minutes"));
  // The other days keep their exercises.
  for (std::size_t w = 0; w < 2; ++w) {
    std::set<std::string> before, after;
    for (const BlockItem& i : made->sheet.weeks[w].days[0].items) before.insert(i.exercise);
    for (const BlockItem& i : shorter->sheet.weeks[w].days[0].items) after.insert(i.exercise);
    EXPECT_EQ(before, after) << w;
  }

  // A day that moves takes its exercises along, and its entry in calendars.
  AheadWish ahead;
  ahead.lifter = "Maren Tolvik";
  ahead.days = 21;
  const auto first = planned_sessions(*desk_, ahead);
  ASSERT_TRUE(first) << first.error().message;
  again.day_changes = {{cut, cut + 1, {}}};
  const auto moved = plan_block(*desk_, again);
  ASSERT_TRUE(moved) << moved.error().message;
  ASSERT_FALSE(moved->none);
  EXPECT_EQ(moved->sheet.changes.at(0), "Thu " + date_text(cut) + " moved to Fri " + date_text(cut + 1));
  EXPECT_EQ(moved->sheet.weeks[0].days[1].date, cut + 1);
  std::set<std::string> planned, kept;
  for (const BlockItem& i : made->sheet.weeks[0].days[1].items) planned.insert(i.exercise);
  for (const BlockItem& i : moved->sheet.weeks[0].days[1].items) kept.insert(i.exercise);
  EXPECT_EQ(planned, kept);
  ASSERT_TRUE(accept_block(*desk_, "Maren Tolvik", ""));
  const auto after = planned_sessions(*desk_, ahead);
  ASSERT_TRUE(after) << after.error().message;
  ASSERT_EQ(after->sessions.size(), first->sessions.size());
  for (std::size_t i = 0; i < first->sessions.size(); ++i) {
    EXPECT_EQ(after->sessions[i].id, first->sessions[i].id);
    EXPECT_EQ(after->sessions[i].date, first->sessions[i].date + (first->sessions[i].date == cut ? 1 : 0));
  }
}

TEST_F(BlockTestSlow, FaultsAndContradictionsLeaveNothingKept) {
  const auto said = [&](const std::string& request) {
    const auto made = plan_block(*desk_, wish("Maren Tolvik", request));
    if (!made) return made.error().message;
    std::string out = "no fault";
    if (made->none) {
      out = "";
      for (const std::string& rule : made->none->rules) out += rule + "\n";
    }
    return out;
  };
  EXPECT_THAT(said("[[must]]\nexercise = \"bak squat\"\n"), HasSubstr("back squat"));
  EXPECT_THAT(said("[[day]]\non = \"Mon\"\nplace = \"nowhere\"\n"), HasSubstr("nowhere"));
  // A must-have lift that is ruled out.
  const std::string out =
      said(std::string(kTwoDays) +
           "[[must]]\nexercise = \"back squat\"\n[[ban]]\nexercise = \"back squat\"\nwhy = \"his knee\"\n");
  EXPECT_THAT(out, HasSubstr("back squat on at least 1 day a week"));
  EXPECT_THAT(out, HasSubstr("his knee"));
  EXPECT_TRUE(kept_blocks(*desk_, "Maren Tolvik")->empty());
  EXPECT_TRUE(desk_->store().plans("maren")->empty());
}

TEST_F(BlockTestSlow, RepMaxTestsOnlyWhereFailureIsAllowedAndSpaced) {
  auto fitted = ensure_fitted(*desk_, "osric");
  ASSERT_TRUE(fitted) << fitted.error().message;
  const Date monday = first_monday({}, desk_->today()), day = monday + 66;
  const auto said = [&](const std::string& text, bool followed = false) {
    const auto request = read_request("weeks = 10\n[[day]]\non = \"Mon\"\nminutes = 60\n" + text);
    EXPECT_TRUE(request) << (request ? "" : request.error().message);
    if (!request) return std::string();
    const auto made = block_material(*desk_, *fitted, *request, "", monday, desk_->today(), followed);
    if (!made) return made.error().message;
    std::string out = fmt::format("{} planned\n", made->problem.tests.size());
    for (const std::string& remark : made->remarks) out += remark + "\n";
    return out;
  };
  const auto test = [](int week) { return fmt::format("[[test]]\nexercise = \"leg press\"\nweek = {}\n", week); };
  const auto refused = [](int week, const std::string& open, const std::string& because) {
    return fmt::format("no rep-max test of the leg press in week {} (open for it: week {}): {}", week, open, because);
  };
  EXPECT_THAT(said(test(10)), HasSubstr("1 planned"));
  const std::string meet = fmt::format("[target]\ndate = \"{}\"\nkind = \"meet\"\n", date_text(day));
  const std::string before_meet =
      refused(9, "1, 2, 3, 4, 5, 6, 7", "no sets to failure in the last 14 days before " + date_text(day));
  EXPECT_EQ(said(test(9) + meet), before_meet);
  EXPECT_THAT(said(test(7) + meet), HasSubstr("1 planned"));
  EXPECT_EQ(said("[return]\nfrom = \"" + date_text(monday) + "\"\nweeks = 3\n" + test(1)),
            refused(1, "4, 5, 6, 7, 8, 9, 10", "no sets to failure in week 1"));
  EXPECT_EQ(said("[[week]]\nnumber = 4\nkind = \"lighter\"\nleast_reserve = 3\n" + test(4)),
            refused(4, "1, 2, 3, 5, 6, 7, 8, 9, 10", "at least 3 in reserve in week 4"));
  EXPECT_EQ(said(test(1) + test(4)), refused(4, "9, 10", "one is planned in week 1, at most one in 56 days"));
  EXPECT_THAT(said(test(1) + test(9)), HasSubstr("2 planned"));
  // In a plan that is followed it is left out and said.
  EXPECT_THAT(said(test(9) + meet, true), AllOf(HasSubstr("0 planned"), HasSubstr(before_meet)));
  // The log tells the last one too.
  store::StoredSet last;
  last.set.exercise = "leg-press";
  last.set.date = monday - 1;
  last.set.kind = SetKind::test;
  fitted->sets.push_back(last);
  EXPECT_EQ(said(test(3)), refused(3, "9, 10",
                                   "the last test was on " + date_text(monday - 1) +
                                       "; at most one in 56 days, so from " + date_text(monday + 55)));
  fitted->sets.pop_back();
  // A lighter week that gives way to the taper is said.
  EXPECT_THAT(said("[[week]]\nnumber = 10\nkind = \"lighter\"\n" + meet),
              HasSubstr("week 10 is no lighter week as asked for: meet on "));
}

TEST_F(BlockTestSlow, WhatASessionCouldNotWriteIsNotPlanned) {
  Place hotel;
  hotel.id = hotel.name = "hotel";
  for (int mass = 4; mass <= 20; mass += 2) hotel.dumbbells.push_back({static_cast<double>(mass), Unit::kilogram});
  ASSERT_TRUE(desk_->store().change("place", [&](store::Writer& w) { return w.put_place(hotel); }));
  const auto fitted = ensure_fitted(*desk_, "tamsin");
  ASSERT_TRUE(fitted) << fitted.error().message;
  const Date monday = first_monday({}, desk_->today());
  const auto request = read_request("weeks = 1\n[[day]]\non = \"Mon\"\nminutes = 60\nplace = \"hotel\"\n");
  ASSERT_TRUE(request);
  const auto made = block_material(*desk_, *fitted, *request, "", monday, desk_->today());
  ASSERT_TRUE(made) << made.error().message;
  const planning::BlockProblem& p = made->problem;
  SessionWish wish;
  wish.lifter = "tamsin";
  wish.date = monday;
  wish.place = "hotel";
  wish.keep = false;
  std::set<std::string> out;
  for (std::size_t e = 0; e < p.exercises.size(); ++e) {
    if (!p.no_equipment[0][e].empty()) {
      out.insert(p.exercises[e].exercise.id);
      continue;
    }
    planning::ExerciseRequest one;
    one.exercise = p.exercises[e].exercise.id;
    one.sets = 2;
    wish.exercises = {one};
    const auto session = write_session(*desk_, wish);
    if (!session || !p.weeks[0].barred[e].empty()) continue;
    EXPECT_FALSE(session->plan.items.empty()) << one.exercise << ": " << session->why_empty;
  }
  EXPECT_TRUE(out.count("dip"));
  EXPECT_FALSE(out.count("goblet-squat"));
  std::string remarks;
  for (const std::string& remark : made->remarks) remarks += remark + "\n";
  EXPECT_THAT(remarks, HasSubstr("too heavy at hotel even with the least load: "));
}

TEST_F(BlockTest, AHoldPlansNothing) {
  const auto made = plan_block(*desk_, wish("Casimir Doyle-Nakata", kTwoDays));
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, Code::not_allowed);
}

TEST_F(BlockTestSlow, AMinorKeepsThreeInReserve) {
  const auto made = plan_block(*desk_, wish("Rune Achterberg", kTwoDays));
  ASSERT_TRUE(made) << made.error().message;
  for (const BlockWeekPlan& w : made->sheet.weeks) {
    for (const BlockDayPlan& d : w.days) {
      for (const BlockItem& i : d.items) {
        for (const BlockSets& s : i.sets) EXPECT_GE(s.reserve, 3) << i.name;
      }
    }
  }
}

TEST_F(BlockTest, NoSolverIsAClearError) {
  BlockWish w = wish("Maren Tolvik", kTwoDays);
  w.solver = "/nowhere/cbc";
  const auto made = plan_block(*desk_, w);
  ASSERT_FALSE(made);
  EXPECT_EQ(made.error().code, Code::unavailable);
}

TEST_F(BlockTest, TemplatesAreReadAndNoneStepsReserveDownWeekByWeek) {
  const auto all = block_templates(*desk_);
  ASSERT_TRUE(all) << all.error().message;
  EXPECT_GE(all->size(), 12u);
  std::set<std::string> names;
  for (const TemplateEntry& t : *all) {
    EXPECT_TRUE(names.insert(t.name).second);
    EXPECT_FALSE(t.request.about.empty()) << t.name;
    EXPECT_FALSE(t.request.days.empty()) << t.name;
    EXPECT_TRUE(t.request.special.empty()) << t.name << ": weeks follow the lifter's data, not a fixed pattern";
    for (const auto& f : t.request.fixed) EXPECT_FALSE(f.reserve) << t.name;
  }
  EXPECT_FALSE(block_template(*desk_, "whole-body-thre"));
}

}  // namespace
}  // namespace ullage::coach
