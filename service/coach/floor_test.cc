// Sessions on the floor, the estimates at hand for them, and the roster at hand.
#include "service/coach/floor.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "service/coach/estimate_cache.h"
#include "service/coach/read_in.h"
#include "service/coach/records.h"
#include "service/coach/roster_index.h"
#include "service/coach/testing/desk_test_base.h"

namespace ullage::coach {
namespace {

class FloorTest : public DeskTest {
 protected:
  void SetUp() override {
    DeskTest::SetUp();
    ImportWish wish;
    wish.file = write("ines.csv", log_text("Ines", 6));
    ASSERT_TRUE(read_in(*desk_, wish));
  }
  static SessionWish whole_session() {
    SessionWish wish;
    wish.lifter = "ines";
    return wish;
  }
  static LogWish set(const std::string& client_id, int reps = 8) {
    LogWish wish;
    wish.lifter = "ines";
    wish.set.exercise = "bench press";
    wish.set.load = {60, Unit::kilogram};
    wish.set.reps = reps;
    wish.set.called = Call{2};
    wish.client_id = client_id;
    wish.content = "reps " + std::to_string(reps);
    wish.done_at = "2026-03-09T11:40:05.000Z";
    return wish;
  }
};

// What is at hand may be let go between two sets: read again from what is kept, it is the same to the last digit.
TEST_F(FloorTest, ReadAgainIsWhatWasAtHand) {
  ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  auto quick = open("studio.db");
  quick->share_estimates(std::make_shared<EstimateCache>());
  ASSERT_TRUE(start_floor(*quick, whole_session()));
  for (int i = 0; i < 4; ++i) {
    LogWish wish = set("client-id-" + std::to_string(i), 8 - i % 2);
    if (i == 2) wish.set.exercise = "back squat";
    ASSERT_TRUE(log_on_floor(*quick, wish));
  }
  const auto at_hand = stored_estimate(*quick, "ines"), read_again = stored_estimate(*desk_, "ines");
  ASSERT_TRUE(at_hand && *at_hand && read_again && *read_again);
  EXPECT_EQ((*at_hand)->live_sets, 4);
  EXPECT_EQ((*read_again)->live_sets, 4);
  ASSERT_EQ((*at_hand)->sets.size(), (*read_again)->sets.size());
  for (std::size_t i = 0; i < (*at_hand)->posterior.lifts.size(); ++i) {
    const auto& a = (*at_hand)->posterior.lifts[i];
    const auto& b = (*read_again)->posterior.lifts[i];
    EXPECT_EQ(a.strength.median, b.strength.median) << a.exercise;
    EXPECT_EQ(a.strength.sd, b.strength.sd) << a.exercise;
    EXPECT_EQ(a.sets_used, b.sets_used);
  }
  EXPECT_EQ(capacity::serialise((*at_hand)->posterior), capacity::serialise((*read_again)->posterior));
}

// What another desk, or another program, writes is seen at once.
TEST_F(FloorTest, WhatIsAtHandHoldsOnlyForTheLogAsItIs) {
  ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  auto quick = open("studio.db");
  quick->share_estimates(std::make_shared<EstimateCache>());
  ASSERT_TRUE(*stored_estimate(*quick, "ines"));
  const auto sets = desk_->store().sets("ines");
  ASSERT_TRUE(sets);
  SetRecord changed = sets->front().set;
  changed.reps += 1;
  ASSERT_TRUE(edit_set(*desk_, sets->front().id, changed));
  const auto now = stored_estimate(*quick, "ines");
  ASSERT_TRUE(now);
  EXPECT_FALSE(*now) << "a set of the fit was changed: it has to be fitted again";
}

TEST_F(FloorTest, WithoutAnEstimateTheSetIsLoggedAndNothingPlanned) {
  const auto started = start_floor(*desk_, whole_session());
  ASSERT_FALSE(started);
  EXPECT_EQ(started.error().code, Code::unavailable);
  const auto logged = log_on_floor(*desk_, set("client-id-1"));
  ASSERT_TRUE(logged) << logged.error().message;
  EXPECT_FALSE(logged->view.plan);
  EXPECT_FALSE(logged->view.no_next.empty());
  EXPECT_EQ(logged->view.done.size(), 1u);
  EXPECT_TRUE(log_on_floor(*desk_, set("client-id-1"))->duplicate);
  EXPECT_TRUE(log_on_floor(*desk_, set("client-id-1", 5))->clash);
}

// A sheet written again for the day keeps what was sent.
TEST_F(FloorTest, AnotherSheetKeepsWhatWasSent) {
  ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  ASSERT_TRUE(start_floor(*desk_, whole_session()));
  ASSERT_TRUE(log_on_floor(*desk_, set("client-id-1")));
  SessionWish other;
  other.lifter = "ines";
  planning::ExerciseRequest squat;
  squat.exercise = "back squat";
  other.exercises = {squat};
  ASSERT_TRUE(write_session(*desk_, other));
  EXPECT_TRUE(log_on_floor(*desk_, set("client-id-1"))->duplicate);
  const auto view = floor_view(*desk_, {"ines", {}, ""});
  ASSERT_TRUE(view);
  EXPECT_FALSE(view->started.empty());
  EXPECT_EQ(view->done.front().client_id, "client-id-1");
}

// A set typed on the wrong exercise or side: with the last of its sets it leaves the session, however it was taken
// back.
TEST_F(FloorTest, AnExerciseOnlyASetBroughtInGoesWithItsLastSet) {
  ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  ASSERT_TRUE(start_floor(*desk_, whole_session()));
  const auto planned = [&](const std::string& exercise, Side side = Side::both) {
    const auto view = floor_view(*desk_, {"ines", {}, ""});
    EXPECT_TRUE(view && view->plan) << (view ? view->no_next : view.error().message);
    if (!view || !view->plan) return false;
    const auto& items = view->plan->items;
    return std::any_of(items.begin(), items.end(),
                       [&](const auto& item) { return item.exercise == exercise && item.side == side; });
  };
  ASSERT_FALSE(planned("deadlift"));
  LogWish wrong = set("client-id-1", 5);
  wrong.set.exercise = "deadlift";
  wrong.set.load = {40, Unit::kilogram};
  LogWish wrong_side = set("client-id-2");
  wrong_side.set.side = Side::left;
  ASSERT_TRUE(log_on_floor(*desk_, wrong));
  const auto left = log_on_floor(*desk_, wrong_side);
  ASSERT_TRUE(left);
  EXPECT_TRUE(planned("deadlift"));
  EXPECT_TRUE(planned("bench-press", Side::left));
  ASSERT_TRUE(withdraw(*desk_, {"ines", {}, ""}, "client-id-1"));
  EXPECT_FALSE(planned("deadlift"));
  EXPECT_TRUE(planned("bench-press", Side::left)) << "its set stands";
  ASSERT_TRUE(remove_set(*desk_, left->report.id));
  EXPECT_FALSE(planned("bench-press", Side::left));
  // By hand, without a client's id, and by undo.
  LogWish plain = wrong;
  plain.client_id.clear();
  const auto again = log_set(*desk_, plain);
  ASSERT_TRUE(again);
  EXPECT_TRUE(planned("deadlift"));
  ASSERT_TRUE(take_back(*desk_, again->change));
  EXPECT_FALSE(planned("deadlift"));
  // What was planned stays when its set goes.
  const auto bench = log_on_floor(*desk_, set("client-id-3"));
  ASSERT_TRUE(bench);
  ASSERT_TRUE(withdraw(*desk_, {"ines", {}, ""}, "client-id-3"));
  EXPECT_TRUE(planned("bench-press"));
}

// Begun with a set alone that was taken back, the day's session is written as if nothing had been.
TEST_F(FloorTest, ASessionOfNothingButASetTakenBackIsNotStarted) {
  ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  LogWish wrong = set("client-id-1", 5);
  wrong.set.exercise = "deadlift";
  wrong.set.load = {40, Unit::kilogram};
  ASSERT_TRUE(log_on_floor(*desk_, wrong));
  const auto gone = withdraw(*desk_, {"ines", {}, ""}, "client-id-1");
  ASSERT_TRUE(gone);
  EXPECT_FALSE(gone->view.plan);
  EXPECT_EQ(gone->view.no_next, "the session has not been started");
  const auto started = start_floor(*desk_, whole_session());
  ASSERT_TRUE(started && started->view.plan);
  ASSERT_FALSE(started->view.plan->items.empty());
  EXPECT_NE(started->view.plan->items.front().exercise, "deadlift");
}

// Begun at 23:30, it goes on past midnight, and ends by itself when nothing was done for hours.
TEST_F(FloorTest, ASessionGoesOnPastMidnight) {
  ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  clock_.set(clock_today_, (23 * 60 + 30) * 60000);
  ASSERT_TRUE(start_floor(*desk_, whole_session()));
  const Date night = clock_today_;
  clock_.set(night + 1, 20 * 60000);
  auto later = open("studio.db");
  const FloorOf of{"ines", night, ""};
  const auto view = floor_view(*later, of);
  ASSERT_TRUE(view);
  ASSERT_TRUE(view->plan) << view->no_next;
  EXPECT_FALSE(view->plan->items.empty());
  LogWish wish = set("client-id-1");
  wish.set.date = night;
  wish.done_at = "2026-03-10T00:19:00.000Z";
  const auto logged = log_on_floor(*later, wish);
  ASSERT_TRUE(logged) << logged.error().message;
  ASSERT_TRUE(logged->view.plan) << logged->view.no_next;
  EXPECT_FALSE(logged->view.plan->items.empty());
  EXPECT_TRUE(logged->report.expected);
  EXPECT_EQ(logged->view.done.size(), 1u);
  EXPECT_TRUE(floor_view(*later, of)->plan);
  // Hours after the last set it is over; and a day later whatever its times say.
  clock_.set(night + 1, (5 * 60) * 60000);
  EXPECT_FALSE(floor_view(*later, of)->plan);
  clock_.set(night + 2, 0);
  EXPECT_FALSE(floor_view(*open("studio.db"), of)->plan);
}

// A hold, and an exercise that hurts, count past midnight as they do before.
TEST_F(FloorTest, PastMidnightAHoldHolds) {
  ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  clock_.set(clock_today_, (23 * 60 + 30) * 60000);
  ASSERT_TRUE(start_floor(*desk_, whole_session()));
  const FloorOf of{"ines", clock_today_, ""};
  clock_.set(clock_today_ + 1, 20 * 60000);
  auto later = open("studio.db");
  const auto hurt = pain_on_floor(*later, of, "bench press", "shoulder");
  ASSERT_TRUE(hurt && hurt->view.plan);
  for (const auto& item : hurt->view.plan->items) EXPECT_NE(item.exercise, "bench-press");
  ASSERT_TRUE(change_health(*later, *later->lifter("ines"), "hold", [&](safety::HealthRecord& r) -> Result<void> {
    r.holds.push_back({"hold-1", later->today(), "a fall", {}, {}, ""});
    return {};
  }));
  EXPECT_FALSE(floor_view(*later, of)->plan);
  LogWish wish = set("client-id-1");
  wish.set.date = of.date.value();
  wish.done_at = "2026-03-10T00:19:00.000Z";
  const auto logged = log_on_floor(*later, wish);
  ASSERT_TRUE(logged);
  EXPECT_FALSE(logged->view.plan);
  EXPECT_FALSE(logged->report.expected);
  SessionWish again = whole_session();
  again.date = of.date;
  const auto written = write_session(*later, again);
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, Code::not_allowed);
}

// Whatever is undone in a session, what comes next is planned on without a new fit.
TEST_F(FloorTest, AnUndoInASessionDoesNotStopThePlanning) {
  ASSERT_TRUE(ensure_fitted(*desk_, "ines"));
  auto quick = open("studio.db");
  quick->share_estimates(std::make_shared<EstimateCache>());
  ASSERT_TRUE(start_floor(*quick, whole_session()));
  const FloorOf of{"ines", {}, ""};
  const auto planned = [&] {
    const auto view = floor_view(*quick, of);
    return view && view->plan && !view->plan->items.empty();
  };
  for (const char* id : {"client-id-1", "client-id-2", "client-id-3"}) ASSERT_TRUE(log_on_floor(*quick, set(id)));
  ASSERT_TRUE(take_back(*quick, {}));
  EXPECT_TRUE(planned()) << "a set";
  const auto gone = withdraw(*quick, of, "client-id-1");
  ASSERT_TRUE(gone);
  EXPECT_TRUE(planned());
  ASSERT_TRUE(take_back(*quick, gone->change));
  EXPECT_TRUE(planned()) << "a withdrawal, with the sets behind it numbered anew";
  EXPECT_EQ(floor_view(*quick, of)->done.size(), 2u);
  const auto swapped = swap_exercise(*quick, of, "back squat", Side::both, "leg press");
  ASSERT_TRUE(swapped);
  ASSERT_TRUE(take_back(*quick, swapped->change));
  EXPECT_TRUE(planned()) << "an exchange";
  const auto hurt = pain_on_floor(*quick, of, "back squat", "knee");
  ASSERT_TRUE(hurt);
  ASSERT_TRUE(take_back(*quick, hurt->change));
  EXPECT_TRUE(planned()) << "pain";
  LogWish pain = set("client-id-4");
  pain.set.pain = true;
  const auto with_pain = log_on_floor(*quick, pain);
  ASSERT_TRUE(with_pain);
  ASSERT_TRUE(take_back(*quick, with_pain->report.change));
  EXPECT_TRUE(planned()) << "a set with pain";
  LogWish noted = set("client-id-5");
  const auto last = log_on_floor(*quick, noted);
  ASSERT_TRUE(last);
  SetRecord changed = last->report.set;
  changed.reps = 6;
  const auto edited = edit_set(*quick, last->report.id, changed);
  ASSERT_TRUE(edited);
  EXPECT_TRUE(planned());
  ASSERT_TRUE(take_back(*quick, *edited));
  EXPECT_TRUE(planned()) << "a correction";
}

TEST_F(FloorTest, TheRosterAtHandIsTheRoster) {
  for (const char* name : {"Bea", "Arno", "Cleo"}) {
    Lifter lifter;
    lifter.name = name;
    ASSERT_TRUE(take_on(*desk_, lifter));
  }
  RosterIndex index;
  ASSERT_TRUE(*index.refresh(*desk_, std::chrono::seconds(60)));
  const auto same = [&] {
    const auto plain = roster(*desk_);
    RosterQuery query;
    query.limit = 1000;
    const RosterPage page = index.page(query);
    ASSERT_EQ(page.rows.size(), plain->rows.size());
    for (std::size_t i = 0; i < page.rows.size(); ++i) {
      EXPECT_EQ(page.rows[i].row.lifter.id, plain->rows[i].lifter.id);
      ASSERT_EQ(page.rows[i].row.reasons.size(), plain->rows[i].reasons.size()) << page.rows[i].row.lifter.id;
      for (std::size_t k = 0; k < page.rows[i].row.reasons.size(); ++k)
        EXPECT_EQ(page.rows[i].row.reasons[k].text, plain->rows[i].reasons[k].text);
      EXPECT_FALSE(page.rows[i].pending);
    }
  };
  same();
  ASSERT_TRUE(change_health(*desk_, *desk_->lifter("cleo"), "hold", [&](safety::HealthRecord& r) -> Result<void> {
    r.holds.push_back({"hold-1", desk_->today(), "a fall", {}, {}, ""});
    return {};
  }));
  ASSERT_TRUE(*index.refresh(*desk_, std::chrono::seconds(60)));
  same();
  // Written through another desk: noticed by its change.
  auto other = open("studio.db");
  ASSERT_TRUE(other->store().change("gone", [](store::Writer& w) { return w.remove_lifter("arno"); }));
  ASSERT_TRUE(*index.refresh(*desk_, std::chrono::seconds(60)));
  same();
  // Without time nothing is worked out, and that is told.
  RosterIndex cold;
  EXPECT_FALSE(*cold.refresh(*desk_, std::chrono::milliseconds(0)));
  EXPECT_EQ(cold.page({}).pending, 3);
  EXPECT_EQ(cold.page({}).rows.size(), 3u);
}

}  // namespace
}  // namespace ullage::coach
