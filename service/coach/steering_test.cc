// From a log to a proposal, the coach's word, and what it changes.
#include "service/coach/steering.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "service/coach/block.h"
#include "service/coach/read_in.h"
#include "service/coach/records.h"
#include "service/coach/roster.h"
#include "service/coach/sessions.h"
#include "service/coach/testing/desk_test_base.h"
#include "service/solver/cbc.h"

namespace ullage::coach {
namespace {

using ::testing::HasSubstr;

class SteeringOf : public DeskTest {
 protected:
  void import(const std::string& text) {
    ImportWish wish;
    wish.file = write("log.csv", text);
    const auto report = read_in(*desk_, wish);
    ASSERT_TRUE(report) << report.error().message;
  }
  // Bench press and back squat, three sessions a week for twelve weeks; 3 x 8 and 3 x 6, all done with the same calls.
  // In the last two weeks, when `falls`, the lifter can do a third of the reps less and misses.
  std::string log(bool falls) const {
    std::ostringstream out;
    out << "lifter,date,exercise,load,reps,called_reserve,failed,rest_s,stop,planned_reps\n";
    const Date last = clock_today_ - 1;
    for (int day = 7 * 12; day >= 0; --day) {
      const Date date = last - day;
      if (weekday(date) != 1 && weekday(date) != 3 && weekday(date) != 5) continue;
      const bool low = falls && day < 14;
      const auto row = [&](const char* exercise, int load, int reps, int set) {
        const int done = low ? reps - 2 - set / 2 : reps;
        out << "Ines," << date_text(date) << ',' << exercise << ',' << load << ',' << done << ',';
        if (!low) out << 3 - set;
        out << ',' << (low ? 1 : 0) << ",180," << (low ? "failed" : "planned") << ',' << reps << '\n';
      };
      for (int set = 0; set < 3; ++set) row("bench press", 60, 8, set);
      for (int set = 0; set < 3; ++set) row("back squat", 90, 6, set);
    }
    return out.str();
  }
  static DecisionWish word(SteeringKind kind, bool accepted, const std::string& said = "", bool unasked = false) {
    DecisionWish wish;
    wish.kind = kind;
    wish.accepted = accepted;
    wish.said = said;
    wish.unasked = unasked;
    return wish;
  }
  SteeringView look() {
    const auto fitted = ensure_fitted(*desk_, "Ines");
    EXPECT_TRUE(fitted) << fitted.error().message;
    auto view = steering(*desk_, *fitted);
    EXPECT_TRUE(view) << view.error().message;
    return *view;
  }
};

TEST_F(SteeringOf, NothingForWhoIsAsForecast) {
  import(log(false));
  const SteeringView view = look();
  EXPECT_EQ(view.form.sessions, 6);
  EXPECT_EQ(view.form.planned, 36);
  EXPECT_EQ(view.form.missed, 0);
  EXPECT_TRUE(view.open.empty()) << view.open.front().why;
  const auto none = decide(*desk_, "Ines", word(SteeringKind::lighter_week, true));
  ASSERT_FALSE(none);
  EXPECT_EQ(none.error().code, Code::conflict);
  // The coach may have one all the same.
  const auto own = decide(*desk_, "Ines", word(SteeringKind::lighter_week, true, "exams", true));
  ASSERT_TRUE(own) << own.error().message;
  EXPECT_THAT(own->proposal.why, HasSubstr("You asked"));
}

TEST_F(SteeringOf, AcceptedItMakesTheWeekLighter) {
  import(log(true));
  const SteeringView view = look();
  ASSERT_EQ(view.open.size(), 1U);
  const SteeringProposal& p = view.open.front();
  EXPECT_EQ(p.kind, SteeringKind::lighter_week);
  EXPECT_THAT(p.why, HasSubstr("under what was forecast two weeks ago"));
  EXPECT_THAT(p.why, HasSubstr("36 of 36 planned sets were missed"));
  EXPECT_GT(p.probability, 0.9);
  EXPECT_EQ(weekday(p.from), 1);
  EXPECT_EQ(p.until - p.from, 6);
  // The stored estimate says the same without a fit, and so does the roster.
  auto again = open("studio.db");
  const auto rows = roster(*again);
  ASSERT_TRUE(rows);
  EXPECT_EQ(rows->rows.front().reasons.front().attention, Attention::lighter);
  EXPECT_THAT(rows->rows.front().reasons.front().text, HasSubstr("a lighter week?"));

  SessionWish wish;
  wish.lifter = "Ines";
  wish.keep = false;
  const auto usual = write_session(*desk_, wish);
  ASSERT_TRUE(usual) << usual.error().message;
  ASSERT_EQ(usual->proposals.size(), 1U) << "shown, not imposed";
  EXPECT_TRUE(usual->steered.empty());
  EXPECT_EQ(*usual->request.exercises.front().sets, 3);

  // What was decided on is what was shown, or nothing is decided.
  auto stale = word(SteeringKind::lighter_week, true);
  stale.shown = "a week long gone";
  const auto other = decide(*desk_, "Ines", stale);
  ASSERT_FALSE(other);
  EXPECT_EQ(other.error().code, Code::conflict);
  EXPECT_THAT(other.error().message, HasSubstr("another lighter week is proposed for Ines now"));
  store::ChangeId change = 0;
  auto seen = word(SteeringKind::lighter_week, true, "she looks tired");
  seen.shown = p.what;
  const auto decided = decide(*desk_, "Ines", seen, &change);
  ASSERT_TRUE(decided) << decided.error().message;
  EXPECT_GT(change, 0);
  wish.keep = true;
  wish.date = decided->proposal.from < desk_->today() ? desk_->today() : decided->proposal.from;
  for (int time = 0; time < 2; ++time) {  // written again it is not made lighter again
    const auto lighter = write_session(*desk_, wish);
    ASSERT_TRUE(lighter) << lighter.error().message;
    EXPECT_TRUE(lighter->proposals.empty());
    ASSERT_EQ(lighter->steered.size(), 1U);
    EXPECT_THAT(lighter->steered.front(), HasSubstr("A lighter week, accepted"));
    for (const planning::ExerciseRequest& e : lighter->request.exercises) {
      EXPECT_EQ(*e.sets, 2) << e.exercise;
      EXPECT_EQ(e.finish, planning::Finish::as_usual);
    }
    for (const planning::PlanItem& item : lighter->plan.items) {
      for (const planning::PlanItem& before : usual->plan.items) {
        if (before.exercise == item.exercise) {
          EXPECT_DOUBLE_EQ(item.band_low, before.band_low + planning::kLighterExtraReserve);
        }
      }
    }
    EXPECT_FALSE(lighter->test) << "no test is offered in a lighter week";
  }
  // Sets that the coach names stay as they are named.
  SessionWish named = wish;
  named.keep = false;
  named.exercises.resize(1);
  named.exercises.front().exercise = "bench press";
  named.exercises.front().sets = 4;
  const auto as_named = write_session(*desk_, named);
  ASSERT_TRUE(as_named);
  EXPECT_EQ(*as_named->request.exercises.front().sets, 4);
  // After the week all is as usual, and it is kept with its history.
  EXPECT_FALSE(*lighter_week_on(*desk_, desk_->lifter("Ines")->id, decided->proposal.until + 1));
  const SteeringView after = look();
  ASSERT_EQ(after.decided.size(), 1U);
  EXPECT_TRUE(after.decided.front().accepted);
  EXPECT_EQ(after.decided.front().said, "she looks tired");
  EXPECT_EQ(after.decided.front().proposal.why, p.why);
  ASSERT_TRUE(desk_->store().undo(change));
  EXPECT_EQ(look().open.size(), 1U) << "taken back, it is proposed again";
}

TEST_F(SteeringOf, RejectedItRests) {
  import(log(true));
  ASSERT_TRUE(decide(*desk_, "Ines", word(SteeringKind::lighter_week, false, "a cold, over now")));
  EXPECT_TRUE(look().open.empty());
  const SteeringView view = look();
  ASSERT_EQ(view.decided.size(), 1U);
  EXPECT_FALSE(view.decided.front().accepted);
  EXPECT_FALSE(*lighter_week_on(*desk_, desk_->lifter("Ines")->id, desk_->today()));
}

TEST_F(SteeringOf, OnHoldNothingIsProposed) {
  import(log(true));
  ASSERT_TRUE(change_health(*desk_, *desk_->lifter("Ines"), "hold", [&](safety::HealthRecord& record) -> Result<void> {
    safety::Hold hold;
    hold.id = "h";
    hold.since = clock_today_;
    hold.reason = "dizzy on the last set";
    record.holds.push_back(hold);
    return {};
  }));
  EXPECT_TRUE(look().open.empty());
  const auto refused = decide(*desk_, "Ines", word(SteeringKind::lighter_week, true, "", true));
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, Code::not_allowed);
}

// A lift as the estimate knows it after half a year in which nothing moved; the log decides what is tried.
TEST_F(SteeringOf, AStallHasAWayOut) {
  std::ostringstream out;
  out << "lifter,date,exercise,load,reps,called_reserve,failed,rest_s,stop,planned_reps\n";
  for (int day = 63; day >= 1; --day) {
    const Date date = clock_today_ - day;
    if (weekday(date) != 1 && weekday(date) != 4) continue;
    for (int set = 0; set < 3; ++set)
      out << "Ines," << date_text(date) << ",bench press,60,8," << 3 - set << ",0,180,planned,8\n";
  }
  import(out.str());
  Fitted fitted;
  fitted.lifter = *desk_->lifter("Ines");
  fitted.sets = *desk_->store().sets(fitted.lifter.id);
  capacity::LiftSummary lift;
  lift.exercise = "bench-press";
  lift.strength = {80, 79.5, 80.5, 0.4};
  lift.trend_pct_per_week = {0, -0.2, 0.2, 0.15};
  lift.sets_used = 160;
  lift.learned = 1;
  lift.last = clock_today_ - 1;
  for (int day = 180; day >= 1; day -= 20) lift.history.push_back({clock_today_ - day, 80.2, 79, 81});
  fitted.posterior.lifts = {lift};
  const auto look_now = [&] {
    auto view = steering(*desk_, fitted);
    EXPECT_TRUE(view) << view.error().message;
    return view->open;
  };
  const auto open = look_now();
  ASSERT_EQ(open.size(), 1U);
  EXPECT_EQ(open.front().kind, SteeringKind::stall);
  EXPECT_EQ(open.front().step, StallStep::more_sets);
  EXPECT_THAT(open.front().why, HasSubstr("Bench press: -0.2 % in 22 weeks"));
  EXPECT_THAT(open.front().why, HasSubstr("sets a week of 8-8 reps end with"));
  // Rejected, the next step is proposed; accepted, sessions that repeat the log have it.
  const auto say = [&](int number, const std::string& state, const std::string& step) {
    const std::string json = R"({"exercise":"bench-press","name":"bench press","side":"both","step":")" + step +
                             R"(","from":")" + date_text(clock_today_) + R"(","until":")" +
                             date_text(clock_today_ + 41) +
                             R"(","probability":0,"why":"w","what":"heavier, 4-6 reps"})";
    ASSERT_TRUE(desk_->store().change("said", [&](store::Writer& writer) {
      return writer.put_advice({fitted.lifter.id, number, "stall", state, "", clock_today_, json});
    }));
  };
  say(1, "rejected", "more sets");
  ASSERT_EQ(look_now().size(), 1U);
  EXPECT_EQ(look_now().front().step, StallStep::lower_reps);
  std::vector<planning::ExerciseRequest> exercises(1);
  exercises.front().exercise = "bench-press";
  EXPECT_TRUE(take_steps(*desk_, fitted.lifter, clock_today_, exercises)->empty()) << "nothing is accepted yet";
  say(2, "accepted", "lower reps");
  EXPECT_TRUE(look_now().empty()) << "under way";
  const auto said = take_steps(*desk_, fitted.lifter, clock_today_, exercises);
  ASSERT_TRUE(said) << said.error().message;
  ASSERT_EQ(said->size(), 1U);
  EXPECT_THAT(said->front(), HasSubstr("heavier, 4-6 reps until"));
  EXPECT_EQ(*exercises.front().most_reps, 6);
  exercises.front().least_reps = exercises.front().most_reps = 10;
  ASSERT_TRUE(take_steps(*desk_, fitted.lifter, clock_today_, exercises));
  EXPECT_EQ(*exercises.front().most_reps, 10) << "what the coach asks for stays";
  exercises.front().least_reps = exercises.front().most_reps = std::nullopt;
  ASSERT_TRUE(take_steps(*desk_, fitted.lifter, clock_today_ + 42, exercises));
  EXPECT_FALSE(exercises.front().most_reps) << "over";
}

// One more in reserve, as the proposal says, and its share of the sets: of those done before, since this block has no
// other weeks.
TEST_F(SteeringOf, AnAcceptedLighterWeekIsOneOfTheBlocks) {
  if (!solver::find_cbc()) GTEST_SKIP() << "CBC is not installed";
  import(log(false));
  const auto block_from = [&](Date monday) {
    BlockWish wish;
    wish.lifter = "Ines";
    wish.own_request = true;
    wish.request = *read_request("weeks = 1\n[[day]]\non = \"Tue\"\nminutes = 60\n");
    wish.request.from = monday;
    wish.seconds = 0.3;
    wish.keep = false;
    return plan_block(*desk_, wish);
  };
  const Date monday = desk_->today() + (8 - weekday(desk_->today()));
  const auto usual = block_from(monday);
  ASSERT_TRUE(usual) << usual.error().message;
  auto asked = word(SteeringKind::lighter_week, true, "exams", true);
  asked.week = monday;
  ASSERT_TRUE(decide(*desk_, "Ines", asked));
  const auto lighter = block_from(monday);
  ASSERT_TRUE(lighter) << lighter.error().message;
  ASSERT_FALSE(lighter->none);
  const auto sets_and_least = [](const BlockSheet& sheet) {
    std::pair<int, int> out{0, 99};
    for (const auto& day : sheet.weeks.front().days) {
      for (const BlockItem& item : day.items) {
        out.first += item.total();
        for (const BlockSets& s : item.sets) out.second = std::min(out.second, s.reserve);
      }
    }
    return out;
  };
  const auto [usual_sets, usual_least] = sets_and_least(usual->sheet);
  const auto [sets, least] = sets_and_least(lighter->sheet);
  EXPECT_GT(sets, 0);
  EXPECT_LE(sets, 0.7 * usual_sets);
  EXPECT_GE(least, 2) << "the policy's nearest to failure is 1";
  EXPECT_EQ(usual_least, 1);
}

TEST_F(SteeringOf, EraseLeavesNothingOfIt) {
  import(log(false));
  ASSERT_TRUE(decide(*desk_, "Ines", word(SteeringKind::lighter_week, true, "", true)));
  const std::string id = desk_->lifter("Ines")->id;
  ASSERT_TRUE(desk_->store().erase_lifter(id));
  const auto left = desk_->store().advice(id);
  ASSERT_TRUE(left);
  EXPECT_TRUE(left->empty());
}

}  // namespace
}  // namespace ullage::coach
