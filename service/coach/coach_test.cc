#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "service/coach/archive.h"
#include "service/coach/estimates.h"
#include "service/coach/pains.h"
#include "service/coach/read_in.h"
#include "service/coach/records.h"
#include "service/coach/roster.h"
#include "service/coach/sessions.h"
#include "service/coach/testing/desk_test_base.h"
#include "service/coach/views.h"
#include "service/interchange/fault.h"

namespace ullage::coach {
namespace {

using testing::HasSubstr;

class Coach : public DeskTest {
 protected:
  ImportReport import(const std::string& text, bool update = false, bool skip_bad = false, bool dry_run = false) {
    ImportWish wish;
    wish.file = write("log.csv", text);
    wish.update = update;
    wish.skip_bad = skip_bad;
    wish.dry_run = dry_run;
    const auto report = read_in(*desk_, wish);
    EXPECT_TRUE(report) << (report ? "" : report.error().message);
    return report ? *report : ImportReport{};
  }
  std::string id(const std::string& name) { return desk_->lifter(name)->id; }
  std::size_t sets_of(const std::string& name) { return desk_->store().sets(id(name))->size(); }
};

LogWish set_of(const std::string& exercise, double load, int reps, bool pain = false) {
  LogWish wish;
  wish.lifter = "Ines";
  wish.set.exercise = exercise;
  wish.set.load = {load, Unit::kilogram};
  wish.set.reps = reps;
  wish.set.pain = pain;
  return wish;
}
SessionWish session_of(std::vector<std::string> exercises) {
  SessionWish wish;
  wish.lifter = "Ines";
  for (std::string& name : exercises) {
    wish.exercises.emplace_back();
    wish.exercises.back().exercise = std::move(name);
  }
  return wish;
}

TEST_F(Coach, TheSameLogTwiceAddsNothing) {
  const std::string log = log_text("Ines", 4);
  const ImportReport first = import(log);
  EXPECT_EQ(first.merged.added, 48);
  EXPECT_EQ(first.new_lifters, std::vector<std::string>{"Ines"});
  EXPECT_GT(first.change, 0);
  const ImportReport again = import(log);
  EXPECT_EQ(again.merged.added, 0);
  EXPECT_EQ(again.merged.unchanged, 48);
  EXPECT_EQ(again.change, 0);
  EXPECT_EQ(sets_of("Ines"), 48U);
}

TEST_F(Coach, ALongerLogAddsOnlyWhatIsNew) {
  const std::string log = log_text("Ines", 4);
  import(log.substr(0, log.size() / 2).substr(0, log.substr(0, log.size() / 2).rfind('\n') + 1));
  const std::size_t before = sets_of("Ines");
  ASSERT_GT(before, 10U);
  const ImportReport longer = import(log);
  EXPECT_EQ(longer.merged.unchanged, static_cast<int>(before));
  EXPECT_EQ(longer.merged.added, 48 - static_cast<int>(before));
}

TEST_F(Coach, AnImportIsUndoneAsOne) {
  const ImportReport report = import(log_text("Ines", 4));
  ASSERT_TRUE(desk_->store().undo(report.change));
  EXPECT_EQ(desk_->lifter("Ines").error().code, Code::not_found);
  EXPECT_TRUE(desk_->store().imports()->empty());
}

TEST_F(Coach, ADryRunCountsAndStoresNothing) {
  const ImportReport report = import(log_text("Ines", 4), false, false, true);
  EXPECT_EQ(report.merged.added, 48);
  EXPECT_EQ(report.change, 0);
  EXPECT_TRUE(desk_->store().lifters()->empty());
  EXPECT_TRUE(desk_->store().history(10)->empty());
}

TEST_F(Coach, ABadRowStopsTheImportUnlessSkipped) {
  std::string log = log_text("Ines", 1);
  log += "Ines,2026-03-08,bench press,60,kg,-3,,,,,\n";
  log += "Ines,2026-03-08,bensh press,60,kg,5,,,,,\n";
  const ImportReport refused = import(log);
  EXPECT_TRUE(refused.refused);
  EXPECT_TRUE(desk_->store().lifters()->empty());
  std::string faults;
  for (const auto& fault : refused.summary.faults) faults += interchange::fault_text(fault) + "\n";
  EXPECT_THAT(faults, HasSubstr("line 14, column reps"));
  ASSERT_EQ(refused.summary.unknown_exercises.size(), 1U);
  EXPECT_THAT(refused.summary.unknown_exercises[0].nearest, testing::Contains("bench press"));
  const ImportReport skipped = import(log, false, true);
  EXPECT_EQ(skipped.merged.added, 12);
  EXPECT_EQ(skipped.summary.bad_rows, 2U);
}

TEST_F(Coach, ChangedRowsAreListedAndAppliedOnlyWithUpdate) {
  std::string log = log_text("Ines", 1);
  import(log);
  const std::size_t at = log.find("bench press,60");
  log.replace(at, 14, "bench press,65");
  const ImportReport listed = import(log);
  EXPECT_EQ(listed.merged.changed.size(), 1U);
  EXPECT_EQ(listed.merged.applied, 0);
  EXPECT_DOUBLE_EQ(desk_->store().sets(id("Ines"))->front().set.load.amount, 60);
  const ImportReport applied = import(log, true);
  EXPECT_EQ(applied.merged.applied, 1);
  EXPECT_DOUBLE_EQ(desk_->store().sets(id("Ines"))->front().set.load.amount, 65);
}

using CoachSlow = Coach;  // left out under the sanitizers
TEST_F(CoachSlow, AFarTooLargeLogGoesInPiecesAndComesOutWhole) {
  // More rows than are held at once, several sessions for two lifters, not in one run each.
  std::string log = "lifter,date,exercise,load,reps\n";
  int rows = 0;
  for (int day = 0; day < 180; ++day) {
    for (const char* name : {"A", "B"}) {
      for (int set = 0; set < 150; ++set, ++rows) {
        log += std::string(name) + "," + date_text(clock_today_ - 200 + day) + ",bench press," +
               std::to_string(50 + set % 7) + ",5\n";
      }
    }
  }
  const ImportReport first = import(log);
  EXPECT_EQ(first.merged.added, rows);
  EXPECT_EQ(import(log).merged.unchanged, rows);
}

TEST_F(Coach, AnEstimateIsMadeOnceAndKept) {
  import(log_text("Ines", 8));
  const auto first = ensure_fitted(*desk_, "Ines");
  ASSERT_TRUE(first) << first.error().message;
  EXPECT_TRUE(first->fresh);
  EXPECT_FALSE(ensure_fitted(*desk_, "Ines")->fresh);
  auto other = open("studio.db");  // another program on the same file
  EXPECT_FALSE(ensure_fitted(*other, "Ines")->fresh);
  EXPECT_TRUE(*is_fitted(*desk_, first->lifter));
}

TEST_F(Coach, AnEstimateIsMadeAnewWhenWhatItRestsOnChanged) {
  import(log_text("Ines", 8));
  ASSERT_TRUE(ensure_fitted(*desk_, "Ines"));
  Lifter lifter = *desk_->lifter("Ines");
  lifter.body_mass.push_back({clock_today_, {70, Unit::kilogram}});
  ASSERT_TRUE(put_lifter(*desk_, lifter));
  EXPECT_FALSE(*is_fitted(*desk_, lifter));
  EXPECT_TRUE(ensure_fitted(*desk_, "Ines")->fresh);
  ASSERT_TRUE(put_exercises(*desk_, "[[exercise]]\nid = \"bench-press\"\nstrength_log_sd = 0.3\n"));
  EXPECT_TRUE(ensure_fitted(*desk_, "Ines")->fresh);
  EXPECT_FALSE(ensure_fitted(*desk_, "Ines")->fresh);
}

TEST_F(Coach, AnEarlierDayIsFittedWithoutTheLaterSetsAndNotKept) {
  import(log_text("Ines", 8));
  ASSERT_TRUE(ensure_fitted(*desk_, "Ines"));
  auto past = open("studio.db", clock_today_ - 28);
  const auto then = ensure_fitted(*past, "Ines");
  ASSERT_TRUE(then);
  EXPECT_TRUE(then->fresh);
  EXPECT_LE(then->posterior.as_of, clock_today_ - 28);
  EXPECT_LT(then->sets.size(), 96U);
  EXPECT_FALSE(ensure_fitted(*desk_, "Ines")->fresh);  // today's is still there
}

TEST_F(Coach, EveryoneIsFittedOnSeveralThreadsTheSameAsOneByOne) {
  for (const char* name : {"Ann", "Bo", "Cy", "Di", "Ed"}) import(log_text(name, 5));
  FitWish wish;
  wish.workers = 3;
  int last = 0;
  wish.progress = [&](int done, int total, const std::string&) {
    EXPECT_EQ(total, 5);
    EXPECT_GE(done, last);
    last = done;
    return true;
  };
  const auto report = fit_lifters(*desk_, wish);
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->fitted, 5);
  EXPECT_EQ(last, 5);
  last = 0;
  EXPECT_EQ(fit_lifters(*desk_, wish)->current, 5);
  const auto together = estimate(*desk_, "Cy");
  ASSERT_TRUE(desk_->store().drop_derived(id("Cy")));
  const auto alone = estimate(*desk_, "Cy");
  ASSERT_EQ(together->lifts.size(), alone->lifts.size());
  EXPECT_DOUBLE_EQ(together->lifts[0].summary.strength.median, alone->lifts[0].summary.strength.median);
}

TEST_F(Coach, StoppedFittingKeepsWhatIsDone) {
  for (const char* name : {"Ann", "Bo", "Cy", "Di", "Ed", "Flo"}) import(log_text(name, 3));
  FitWish wish;
  wish.workers = 1;
  wish.progress = [](int done, int, const std::string&) { return done < 2; };
  const auto report = fit_lifters(*desk_, wish);
  ASSERT_FALSE(report);
  EXPECT_EQ(report.error().code, Code::cancelled);
  int kept = 0;
  const auto lifters = desk_->store().lifters();
  for (const Lifter& lifter : *lifters) kept += *is_fitted(*desk_, lifter);
  EXPECT_GE(kept, 2);
  EXPECT_LT(kept, 6);
}

TEST_F(Coach, AHoldStopsTheSessionAndNothingElse) {
  import(log_text("Ines", 8));
  const Lifter lifter = *desk_->lifter("Ines");
  safety::Intake intake;
  intake.date = clock_today_;
  intake.recorded_by = "tester";
  intake.answers = {{safety::Question::heart_disease, safety::Answer::yes, "told years ago"}};
  ASSERT_TRUE(record_intake(*desk_, lifter, intake));
  SessionWish wish;
  wish.lifter = "Ines";
  const auto held = write_session(*desk_, wish);
  ASSERT_FALSE(held);
  EXPECT_EQ(held.error().code, Code::not_allowed);
  EXPECT_THAT(held.error().message, HasSubstr("lifts"));
  EXPECT_TRUE(desk_->store().sheets(lifter.id)->empty());
  // Estimates, forecasts and logging go on; the next set is not prescribed.
  EXPECT_TRUE(estimate(*desk_, "Ines"));
  LogWish log;
  log.lifter = "Ines";
  log.set.exercise = "bench press";
  log.set.load = {60, Unit::kilogram};
  log.set.reps = 8;
  const auto logged = log_set(*desk_, log);
  ASSERT_TRUE(logged) << logged.error().message;
  EXPECT_FALSE(logged->rest);
  EXPECT_THAT(logged->no_next, HasSubstr("lifts"));
  // Lifted: the session is written.
  ASSERT_TRUE(change_health(*desk_, lifter, "lift", [&](safety::HealthRecord& record) -> Result<void> {
    const auto hold = open_hold(record, "");
    EXPECT_TRUE(hold);
    for (auto& h : record.holds) {
      h.lifted = clock_today_;
      h.lifted_by = "tester: seen by a clinician";
    }
    return {};
  }));
  EXPECT_TRUE(write_session(*desk_, wish)) << "after lifting";
}

TEST_F(Coach, TheSessionRepeatsTheOneLongestAgo) {
  std::string log = "lifter,date,exercise,load,reps,called_reserve\n";
  const auto day = [&](int ago) { return date_text(clock_today_ - ago); };
  for (int week = 8; week >= 0; --week) {
    for (int set = 0; set < 3; ++set) log += "Ines," + day(7 * week + 6) + ",bench press,60,8,2\n";
    for (int set = 0; set < 4; ++set) log += "Ines," + day(7 * week + 4) + ",back squat,80,6,3\n";
    for (int set = 0; set < 2; ++set) log += "Ines," + day(7 * week + 2) + ",lat pulldown,50,10,2\n";
  }
  import(log);
  SessionWish wish;
  wish.lifter = "Ines";
  const auto sheet = write_session(*desk_, wish);
  ASSERT_TRUE(sheet) << sheet.error().message;
  ASSERT_EQ(sheet->request.exercises.size(), 1U);
  EXPECT_EQ(sheet->request.exercises[0].exercise, "bench-press");
  EXPECT_EQ(sheet->request.exercises[0].sets, 3);
  EXPECT_EQ(sheet->repeats, clock_today_ - 6);
  EXPECT_TRUE(sheet->place_assumed);
  EXPECT_EQ(desk_->store().sheets(id("Ines"))->size(), 1U);
}

TEST_F(Coach, ALoggedSetPlansTheRestAgainAndFitsNothing) {
  import(log_text("Ines", 10));
  SessionWish wish;
  wish.lifter = "Ines";
  wish.exercises = {{}, {}};
  wish.exercises[0].exercise = "bench press";
  wish.exercises[1].exercise = "back squat";
  const auto sheet = write_session(*desk_, wish);
  ASSERT_TRUE(sheet) << sheet.error().message;
  const auto fitted_at = (*desk_->store().estimate(id("Ines")))->blob;
  const auto work = [](const planning::SessionPlan& plan, const std::string& exercise) {
    std::vector<planning::PlanSet> out;
    for (const auto& item : plan.items) {
      for (const auto& set : item.sets) {
        if (item.exercise == exercise && set.kind == SetKind::work) out.push_back(set);
      }
    }
    return out;
  };
  const auto planned = work(sheet->plan, "bench-press");
  ASSERT_EQ(planned.size(), 3U);
  LogWish log;
  log.lifter = "Ines";
  log.set.exercise = "bench";
  log.set.load = planned[0].load;
  log.set.reps = planned[0].reps;
  log.set.called = Call{1, false};
  const auto first = log_set(*desk_, log);
  ASSERT_TRUE(first) << first.error().message;
  ASSERT_TRUE(first->rest);
  EXPECT_EQ(work(*first->rest, "bench-press").size(), 2U);
  EXPECT_EQ(work(*first->rest, "back-squat").size(), 3U);
  EXPECT_EQ(first->set.planned_reps, planned[0].reps);  // taken from the sheet
  EXPECT_EQ(first->set.stop, Stop::planned);
  // A second one at once, a miss well below the plan: the third set asks for less.
  log.set.rest_s = 120;
  log.set.reps = 3;
  log.set.failed = true;
  log.set.called.reset();
  const auto second = log_set(*desk_, log);
  ASSERT_TRUE(second) << second.error().message;
  const auto left = work(*second->rest, "bench-press");
  ASSERT_LE(left.size(), 1U);
  const auto before = work(*first->rest, "bench-press");
  if (!left.empty()) {
    EXPECT_LT(left[0].capacity.median, before[1].capacity.median);
  }
  EXPECT_EQ(second->set.stop, Stop::failed);
  EXPECT_EQ((*desk_->store().estimate(id("Ines")))->blob, fitted_at);  // the stored fit is still the same
  EXPECT_FALSE(ensure_fitted(*desk_, "Ines")->fresh);
  EXPECT_EQ(ensure_fitted(*desk_, "Ines")->live_sets, 2);
  // Each set was one change with the sheet; undoing takes both back.
  ASSERT_TRUE(take_back(*desk_, second->change));
  EXPECT_EQ(sets_of("Ines"), 121U);
  const auto again =
      write_session(*desk_, {.lifter = "Ines", .date = {}, .session = "", .place = "", .exercises = {}, .keep = true});
  ASSERT_TRUE(again);
  EXPECT_EQ(again->done.size(), 1U);
  EXPECT_EQ(work(again->plan, "bench-press").size(), 2U);
}

TEST_F(Coach, ASetJustLoggedIsCorrectedWithoutAFit) {
  import(log_text("Ines", 6));
  LogWish log;
  log.lifter = "Ines";
  log.set.exercise = "bench press";
  log.set.load = {6, Unit::kilogram};
  log.set.reps = 8;
  const auto logged = log_set(*desk_, log);
  ASSERT_TRUE(logged) << logged.error().message;
  SetRecord set = logged->set;
  set.load.amount = 60;
  ASSERT_TRUE(edit_set(*desk_, logged->id, set));
  EXPECT_FALSE(ensure_fitted(*desk_, "Ines")->fresh);
  set.reps = -1;
  EXPECT_EQ(edit_set(*desk_, logged->id, set).error().code, Code::invalid_input);
  ASSERT_TRUE(remove_set(*desk_, logged->id));
  EXPECT_FALSE(ensure_fitted(*desk_, "Ines")->fresh);
  ASSERT_TRUE(take_back(*desk_, std::nullopt));  // there again
  EXPECT_EQ(sets_of("Ines"), 73U);
  // A set that is in the fit itself: a new fit.
  ASSERT_TRUE(remove_set(*desk_, desk_->store().sets(id("Ines"))->front().id));
  EXPECT_TRUE(ensure_fitted(*desk_, "Ines")->fresh);
}

TEST_F(Coach, ASetLoggedAfterAFitInTheMiddleOfASessionCountsOnce) {
  import(log_text("Ines", 8));
  LogWish log;
  log.lifter = "Ines";
  log.set.exercise = "bench press";
  log.set.load = {65, Unit::kilogram};
  log.set.reps = 8;
  log.set.called = Call{2, false};
  ASSERT_TRUE(log_set(*desk_, log));
  const auto all_live = ensure_fitted(*desk_, "Ines");
  EXPECT_EQ(all_live->live_sets, 1);
  ASSERT_TRUE(fit_lifters(*desk_, {.lifters = {"Ines"}, .anew = true, .workers = 1, .progress = {}}));
  const auto in_fit = ensure_fitted(*desk_, "Ines");
  EXPECT_EQ(in_fit->live_sets, 0);
  EXPECT_EQ(in_fit->posterior.set_count, all_live->posterior.set_count);
  ASSERT_TRUE(log_set(*desk_, log));
  const auto one_more = ensure_fitted(*desk_, "Ines");
  EXPECT_EQ(one_more->live_sets, 1);
  EXPECT_EQ(one_more->posterior.set_count, in_fit->posterior.set_count + 1);
}

TEST_F(Coach, WrongSetsAreNamedAndNotStored) {
  import(log_text("Ines", 2));
  LogWish log;
  log.lifter = "Ines";
  log.set.exercise = "bench press";
  log.set.load = {5000, Unit::kilogram};
  log.set.reps = 8;
  log.set.date = clock_today_ + 3;
  const auto logged = log_set(*desk_, log);
  ASSERT_FALSE(logged);
  EXPECT_EQ(logged.error().code, Code::invalid_input);
  EXPECT_EQ(std::count(logged.error().message.begin(), logged.error().message.end(), '\n'), 1);
  EXPECT_EQ(sets_of("Ines"), 24U);
}

TEST_F(Coach, PoundsDoNotDrift) {
  import(log_text("Lou", 8, "lb"));
  Lifter lou = *desk_->lifter("Lou");
  lou.unit = Unit::pound;
  ASSERT_TRUE(put_lifter(*desk_, lou));
  SessionWish wish;
  wish.lifter = "Lou";
  wish.exercises.resize(1);
  wish.exercises[0].exercise = "bench press";
  const auto sheet = write_session(*desk_, wish);
  ASSERT_TRUE(sheet) << sheet.error().message;
  ASSERT_FALSE(sheet->plan.items.empty());
  const planning::PlanSet set = sheet->plan.items[0].sets.back();
  EXPECT_EQ(set.load.unit, Unit::pound);
  EXPECT_DOUBLE_EQ(std::fmod(set.load.amount, 5), 0);  // pairs of 2.5 lb on a 45 lb bar
  LogWish log;
  log.lifter = "Lou";
  log.set.exercise = "bench press";
  log.set.load = set.load;
  log.set.reps = set.reps;
  ASSERT_TRUE(log_set(*desk_, log));
  ASSERT_TRUE(export_all(*desk_, path("out")));
  desk_ = open("fresh.db");
  ImportWish again;
  again.file = path("out/log.csv");
  ASSERT_TRUE(read_in(*desk_, again));
  const auto sets = desk_->store().sets(id("Lou"));
  EXPECT_EQ(sets->front().set.load, (Load{150, Unit::pound}));
  EXPECT_EQ(sets->back().set.load, set.load);
}

// What was done that day tires what comes after, though it is not planned on.
TEST_F(Coach, ExercisesDoneThatDayTireThoseThatAreAsked) {
  import(log_text("Ines", 10));
  const auto plan = [&] {
    SessionWish wish = session_of({"close-grip bench press"});
    wish.exercises[0].load = Load{40, Unit::kilogram};
    const auto sheet = write_session(*desk_, wish);
    EXPECT_TRUE(sheet) << (sheet ? "" : sheet.error().message);
    return sheet ? sheet->plan : planning::SessionPlan{};
  };
  const planning::SessionPlan fresh = plan();
  LogWish log = set_of("bench press", 60, 9);
  log.set.rest_s = 60;
  for (int set = 0; set < 3; ++set) ASSERT_TRUE(log_set(*desk_, log));
  const planning::SessionPlan tired = plan();
  for (const std::string& caution : tired.cautions) {
    EXPECT_EQ(caution.find("could not be counted"), std::string::npos) << caution;
  }
  const auto first = [](const planning::SessionPlan& of) {
    for (const planning::PlanSet& set : of.items.at(0).sets) {
      if (set.kind == SetKind::work) return set.capacity.median;
    }
    return 0.0;
  };
  ASSERT_FALSE(fresh.items.empty() || tired.items.empty());
  EXPECT_LT(first(tired), first(fresh) - 0.5);
}

TEST_F(Coach, AStopByFailureIsAFailedSet) {
  import(log_text("Ines", 4));
  LogWish log = set_of("bench press", 60, 6);
  log.set.stop = Stop::failed;
  log.stop_given = true;
  const auto logged = log_set(*desk_, log);
  ASSERT_TRUE(logged) << logged.error().message;
  EXPECT_TRUE(logged->set.failed);
  const auto stored = desk_->store().sets(id("Ines"));
  ASSERT_TRUE(stored);
  EXPECT_TRUE(stored->back().set.failed);
}

TEST_F(Coach, ASetThatFailedHadNoneLeft) {
  SetRecord s;
  s.date = clock_today_;
  s.exercise = "bench-press";
  s.load = {60, Unit::kilogram};
  s.reps = 5;
  s.failed = true;
  s.called = Call{0, false};
  EXPECT_TRUE(faults_of(s, clock_today_).empty());
  s.called = Call{1, false};
  EXPECT_EQ(faults_of(s, clock_today_),
            std::vector<std::string>{"--called: a failed set had none left; leave --called or --failed out"});
  s.called_at_rep = 4;
  EXPECT_TRUE(faults_of(s, clock_today_).empty()) << "called a rep before";
}

TEST_F(Coach, ExportAndImportGiveEverySetBack) {
  SetRecord s;
  s.date = clock_today_ - 2;
  s.time = "18:40+01:00";
  s.session = "evening";
  s.exercise = "split-squat";
  s.side = Side::left;
  s.load = {12.5, Unit::kilogram};
  s.reps = 7;
  s.failed = true;
  s.called = Call{5, true};
  s.called_at_rep = 5;
  s.rest_s = 92.5;
  s.last_rep_speed = 0.37;
  s.kind = SetKind::test;
  s.stop = Stop::failed;
  s.planned_reps = 8;
  s.cue = Call{1.5, false};
  s.pain = true;
  s.note = "knee, \"a bit\"\nthen fine";
  s.place = "garage";
  s.joined = "A";
  s.part_of = "drop";
  s.part = 2;
  s.body_mass = Load{151.5, Unit::pound};
  s.tempo = "3-1-1";
  s.partial_reps = 2;
  s.extra_kind = ExtraKind::chain;
  s.extra = {{"mood", "fine"}, {"shoes", "flat; \"old\""}};
  SetRecord plain;
  plain.date = clock_today_ - 1;
  plain.exercise = "pull-up";
  plain.load = {-20, Unit::kilogram};
  plain.reps = 0;
  SetRecord marks = plain;
  marks.exercise = "leg-curl";
  marks.load = {7.5, Unit::mark};
  marks.reps = 12;
  Lifter lifter;
  lifter.name = "Ö. \"Quoted\", Jr";
  lifter = *take_on(*desk_, lifter);
  ASSERT_TRUE(desk_->store().change("sets", [&](store::Writer& writer) -> Result<void> {
    for (const SetRecord& set : {s, plain, marks}) {
      if (const auto id = writer.append_set(lifter.id, set); !id) return tl::unexpected(id.error());
    }
    return {};
  }));
  const auto exported = export_all(*desk_, path("out"));
  ASSERT_TRUE(exported) << exported.error().message;
  EXPECT_EQ(exported->sets, 3);
  EXPECT_EQ(export_all(*desk_, path("out")).error().code, Code::conflict);
  EXPECT_FALSE(Json::parse(read("out/profiles.json"))["lifters"].empty());
  EXPECT_TRUE(Json::parse(read("out/studio.json")).contains("places"));
  desk_ = open("fresh.db");
  ImportWish wish;
  wish.file = path("out/log.csv");
  const auto report = read_in(*desk_, wish);
  ASSERT_TRUE(report) << report.error().message;
  ASSERT_FALSE(report->refused) << interchange::fault_text(report->summary.faults[0]);
  const auto back = desk_->store().sets(id(lifter.name));
  ASSERT_TRUE(back);
  ASSERT_EQ(back->size(), 3U);
  EXPECT_EQ((*back)[0].set, s);
  EXPECT_EQ((*back)[1].set, plain);
  EXPECT_EQ((*back)[2].set, marks);
}

TEST_F(Coach, TheRosterSaysWhoNeedsAttentionAndWhy) {
  import(log_text("Fine", 6));
  import(log_text("Held", 6));
  import(log_text("Unfitted", 6));
  ASSERT_TRUE(fit_lifters(*desk_, {.lifters = {"Fine", "Held"}, .anew = false, .workers = 1, .progress = {}}));
  ASSERT_TRUE(change_health(*desk_, *desk_->lifter("Held"), "hold", [&](safety::HealthRecord& record) -> Result<void> {
    safety::Hold hold;
    hold.id = "h";
    hold.since = clock_today_;
    hold.reason = "dizzy on the last set";
    record.holds.push_back(hold);
    return {};
  }));
  const auto view = roster(*desk_);
  ASSERT_TRUE(view) << view.error().message;
  ASSERT_EQ(view->rows.size(), 3U);
  EXPECT_EQ(view->rows[0].lifter.name, "Held");
  EXPECT_EQ(view->rows[0].reasons.front().attention, Attention::hold);
  EXPECT_THAT(view->rows[0].reasons.front().text, HasSubstr("dizzy"));
  for (const RosterRow& row : view->rows) {
    const bool said = std::any_of(row.reasons.begin(), row.reasons.end(),
                                  [](const Reason& r) { return r.attention == Attention::not_fitted; });
    EXPECT_EQ(said, row.lifter.name == "Unfitted") << row.lifter.name;
  }
  // Three weeks on, everyone has been away.
  auto later = open("studio.db", clock_today_ + 21);
  const auto weeks_on = roster(*later);
  for (const RosterRow& row : weeks_on->rows) {
    EXPECT_TRUE(std::any_of(row.reasons.begin(), row.reasons.end(), [](const Reason& r) {
      return r.attention == Attention::unseen;
    })) << row.lifter.name;
  }
}

TEST_F(Coach, MissesBeyondChanceStandOut) {
  std::string log = "lifter,date,exercise,load,reps,failed,stop,planned_reps\n";
  for (int i = 0; i < 11; ++i) {
    const bool miss = i % 2 == 0;
    log +=
        "Ines," + date_text(clock_today_ - 20 + i) + ",bench press,60," + (miss ? "6,1,failed,8\n" : "8,0,planned,8\n");
  }
  import(log);
  const auto view = roster(*desk_);
  ASSERT_TRUE(view);
  EXPECT_EQ(view->rows[0].reasons.front().attention, Attention::misses);
  EXPECT_THAT(view->rows[0].reasons.front().text, HasSubstr("missed 6 of 11"));
  EXPECT_NEAR(at_least(0, 11, 0.15), 1, 1e-12);
  EXPECT_NEAR(at_least(11, 11, 0.5), std::pow(0.5, 11), 1e-15);
  EXPECT_GT(at_least(3, 11, kMissesExpected), kMissesChance);  // three of eleven may be chance
}

TEST_F(Coach, AnExerciseWithSetsIsNotRemoved) {
  ASSERT_TRUE(put_exercises(*desk_,
                            "[[exercise]]\nid = \"barge-pull\"\nname = \"barge pull\"\nclass = \"supported compound\"\n"
                            "implement = \"plates\"\nmuscles = { lats = 1 }\n"));
  import("lifter,date,exercise,load,reps\nInes,2026-03-01,barge pull,40,8\n");
  EXPECT_EQ(remove_exercise(*desk_, "barge-pull").error().code, Code::conflict);
  EXPECT_EQ(remove_exercise(*desk_, "bench-press").error().code, Code::not_found);
  EXPECT_EQ(put_exercises(*desk_, "[[exercise]]\nid = \"x\"\n").error().code, Code::invalid_input);
}

TEST_F(Coach, TheForecastIsOfTheSetsInOrder) {
  import(log_text("Ines", 10));
  ForecastWish wish;
  wish.lifter = "Ines";
  wish.exercise = "bench press";
  wish.load = {67.5, Unit::kilogram};
  wish.reps = {8, 8, 8};
  wish.rest_s = 90;
  const auto view = forecast(*desk_, wish);
  ASSERT_TRUE(view) << view.error().message;
  ASSERT_EQ(view->sets.size(), 3U);
  EXPECT_GT(view->sets[0].capacity.median, view->sets[2].capacity.median);
  EXPECT_GE(view->sets[0].p_complete, view->sets[2].p_complete);
  EXPECT_NEAR(view->sets[0].reserve.median, view->sets[0].capacity.median - 8, 0.3);
  const Json json = to_json(*view);
  for (const char* field : {"exercise", "load_kg", "sets"}) EXPECT_TRUE(json.contains(field)) << field;
  for (const char* field : {"reps", "capacity", "reserve", "p_complete"})
    EXPECT_TRUE(json["sets"][0].contains(field)) << field;
  wish.exercise = "overhead press";  // never done
  EXPECT_FALSE(forecast(*desk_, wish)->known);
}

// ---- Pain.

TEST_F(Coach, ASetThatHurtTakesItsExerciseOut) {
  import(log_text("Ines", 10));
  ASSERT_TRUE(write_session(*desk_, session_of({"bench press", "back squat"})));
  const auto fine = log_set(*desk_, set_of("bench press", 60, 8));
  ASSERT_TRUE(fine) << fine.error().message;
  ASSERT_TRUE(fine->rest && !fine->rest->items.empty());
  EXPECT_EQ(fine->rest->items.front().exercise, "bench-press");
  const auto hurt = log_set(*desk_, set_of("bench press", 60, 7, true));
  ASSERT_TRUE(hurt) << hurt.error().message;
  EXPECT_TRUE(hurt->pain_opened);
  ASSERT_TRUE(hurt->rest && !hurt->rest->items.empty());
  for (const auto& item : hurt->rest->items) EXPECT_NE(item.exercise, "bench-press");
  EXPECT_EQ(hurt->rest->items.front().exercise, "back-squat");
  EXPECT_FALSE(log_set(*desk_, set_of("bench press", 40, 7, true))->pain_opened);
  ASSERT_EQ(desk_->store().health(id("Ines"))->pains.size(), 1U);
  EXPECT_EQ(desk_->store().health(id("Ines"))->pains[0].exercise, "bench-press");
  // Nothing but that exercise wished: a refusal that names why, not an empty sheet.
  SessionWish more = session_of({"bench press"});
  more.exercises[0].sets = 6;
  const auto refused = write_session(*desk_, more);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, Code::not_allowed);
  EXPECT_THAT(refused.error().message, HasSubstr("bench press: pain since 2026-03-09"));
  // The set and its pain are one change.
  ASSERT_TRUE(take_back(*desk_, std::nullopt));
  ASSERT_TRUE(take_back(*desk_, hurt->change));
  EXPECT_TRUE(desk_->store().health(id("Ines"))->pains.empty());
  EXPECT_TRUE(*is_fitted(*desk_, *desk_->lifter("Ines")));
}

TEST_F(Coach, PainInACorrectedSetTakesTheExerciseOut) {
  import(log_text("Ines", 2));
  store::StoredSet last = desk_->store().sets(id("Ines"))->back();
  last.set.note = "slow";
  ASSERT_TRUE(edit_set(*desk_, last.id, last.set));
  EXPECT_TRUE(desk_->store().health(id("Ines"))->pains.empty());
  last.set.pain = true;
  ASSERT_TRUE(edit_set(*desk_, last.id, last.set));
  ASSERT_EQ(desk_->store().health(id("Ines"))->pains.size(), 1U);
  EXPECT_EQ(desk_->store().health(id("Ines"))->pains[0].exercise, last.set.exercise);
}

TEST_F(Coach, RowsThatHurtLatelyTakeTheirExerciseOut) {
  const auto row = [&](int days_ago, const std::string& exercise, int pain) {
    return "Ines," + date_text(clock_today_ - days_ago) + "," + exercise + ",60,8," + std::to_string(pain) + "\n";
  };
  const std::string log = "lifter,date,exercise,load,reps,pain\n" + row(kPainRowDays + 1, "overhead press", 1) +
                          row(kPainRowDays, "back squat", 1) + row(5, "bench press", 1) + row(3, "bench press", 0);
  EXPECT_EQ(import(log, false, false, true).pains.size(), 2U);
  EXPECT_TRUE(desk_->store().lifters()->empty());
  const ImportReport report = import(log);
  ASSERT_EQ(report.pains.size(), 2U);
  EXPECT_EQ(report.pains[0].exercise, "back squat");
  EXPECT_EQ(report.pains[1].exercise, "bench press");
  EXPECT_EQ(report.pains[1].date, clock_today_ - 5);
  const auto rows = roster(*desk_)->rows;
  EXPECT_TRUE(std::any_of(rows[0].reasons.begin(), rows[0].reasons.end(), [](const Reason& r) {
    return r.attention == Attention::pain && r.text.find("bench press") != std::string::npos;
  }));
  const auto sheet = write_session(*desk_, session_of({"bench press", "overhead press"}));
  ASSERT_TRUE(sheet) << sheet.error().message;
  ASSERT_EQ(sheet->plan.items.size(), 1U);
  EXPECT_EQ(sheet->plan.items[0].exercise, "overhead-press");
  // Once cleared, the same log does not take it out again; a new row that hurts does.
  ASSERT_TRUE(change_health(*desk_, *desk_->lifter("Ines"), "cleared", [&](safety::HealthRecord& r) -> Result<void> {
    for (safety::Pain& p : r.pains) p.cleared = clock_today_;
    return {};
  }));
  EXPECT_TRUE(import(log).pains.empty());
  EXPECT_EQ(import(log + row(0, "bench press", 1)).pains.size(), 1U);
}

TEST_F(Coach, WhatIsCloseToAPainfulExerciseGetsACaution) {
  const auto library = desk_->library();
  safety::HealthRecord record;
  open_pain(record, "back-squat", clock_today_, "");
  const Exercise* hurts = (*library)->find("back-squat");
  Exercise same = *hurts, other = *hurts;
  same.id = same.name = "close one";
  other.id = other.name = "other one";
  other.involvement = {};
  other.involvement[static_cast<std::size_t>(Muscle::neck)] = 1;
  ASSERT_EQ(overlap(*hurts, other), 0);
  const auto said = related_cautions(record, **library, {*hurts, same, other}, clock_today_);
  ASSERT_EQ(said.size(), 1U);
  EXPECT_THAT(said[0], HasSubstr("close one works the same muscles"));
  EXPECT_TRUE(related_cautions(record, **library, {same}, clock_today_ - 1).empty());
  // Of the library: another angle or grip of a press is close, a row is not.
  safety::HealthRecord press;
  open_pain(press, "bench-press", clock_today_, "");
  for (const char* close : {"incline-bench-press", "close-grip-bench-press", "dumbbell-bench-press"}) {
    EXPECT_EQ(related_cautions(press, **library, {*(*library)->find(close)}, clock_today_).size(), 1U) << close;
  }
  EXPECT_TRUE(related_cautions(press, **library, {*(*library)->find("barbell-row")}, clock_today_).empty());
  // And it stands on the sheet.
  import(log_text("Ines", 4));
  ASSERT_TRUE(log_set(*desk_, set_of("back squat", 90, 5, true)));
  const auto sheet = write_session(*desk_, session_of({"front squat"}));
  ASSERT_TRUE(sheet) << sheet.error().message;
  EXPECT_THAT(sheet->plan.cautions, testing::Contains(HasSubstr("Pain on back squat")));
}

// ---- Holds.

safety::Intake answers(Date day, safety::Question question, safety::Answer answer, const std::string& by = "tester") {
  return {day, by, {{question, answer, ""}}};
}

TEST_F(Coach, AYesAfterALiftedHoldIsAFreshHold) {
  import(log_text("Ines", 1));
  const Lifter ines = *desk_->lifter("Ines");
  const auto yes = answers(clock_today_, safety::Question::pain_now, safety::Answer::yes);
  ASSERT_TRUE(
      record_intake(*desk_, ines, answers(clock_today_, safety::Question::symptoms, safety::Answer::no, "Ada")));
  ASSERT_TRUE(record_intake(*desk_, ines, yes));
  ASSERT_TRUE(record_intake(*desk_, ines, yes));  // said twice, one hold
  auto record = *desk_->store().health(ines.id);
  ASSERT_EQ(record.holds.size(), 1U);
  ASSERT_EQ(record.intakes.size(), 1U);  // one day, one intake, with both answers
  EXPECT_EQ(record.intakes[0].answers.size(), 2U);
  EXPECT_EQ(record.intakes[0].recorded_by, "Ada, tester");
  ASSERT_TRUE(change_health(*desk_, ines, "lifted", [&](safety::HealthRecord& r) -> Result<void> {
    const auto lifted = lift_hold(r, "", clock_today_, "Ada", "gone");
    return lifted ? Result<void>{} : tl::unexpected(lifted.error());
  }));
  EXPECT_TRUE(desk_->gate(ines, clock_today_, {})->allowed());
  // An answer to another question does not bring it back, the same yes does.
  ASSERT_TRUE(record_intake(*desk_, ines, answers(clock_today_, safety::Question::pregnancy, safety::Answer::no)));
  EXPECT_TRUE(desk_->gate(ines, clock_today_, {})->allowed());
  ASSERT_TRUE(record_intake(*desk_, ines, yes));
  record = *desk_->store().health(ines.id);
  ASSERT_EQ(record.holds.size(), 2U);
  EXPECT_NE(record.holds[0].id, record.holds[1].id);
  EXPECT_TRUE(record.holds[0].lifted);
  EXPECT_FALSE(desk_->gate(ines, clock_today_, {})->allowed());
  // The same where a clinician's word had lifted it.
  ASSERT_TRUE(change_health(*desk_, ines, "word", [&](safety::HealthRecord& r) -> Result<void> {
    safety::ClinicianWord word;
    word.id = "w";
    word.date = clock_today_;
    word.lifts_holds = {r.holds.back().id};
    r.words.push_back(word);
    return {};
  }));
  EXPECT_TRUE(desk_->gate(ines, clock_today_, {})->allowed());
  ASSERT_TRUE(record_intake(*desk_, ines, yes));
  EXPECT_FALSE(desk_->gate(ines, clock_today_, {})->allowed());
  EXPECT_EQ(desk_->store().health(ines.id)->holds.size(), 3U);
}

TEST_F(Coach, WhatNeedsAClinicianIsNotLiftedByACoach) {
  for (int q = 0; q < safety::kQuestionCount; ++q) {
    const auto question = static_cast<safety::Question>(q);
    safety::HealthRecord record;
    record.holds = safety::holds_from(answers(clock_today_, question, safety::Answer::yes));
    ASSERT_EQ(record.holds.size(), 1U);
    EXPECT_EQ(lift_hold(record, "", clock_today_, "Ada", "  ").error().code, Code::invalid_input);
    const auto lifted = lift_hold(record, "", clock_today_, "Ada", "seen");
    EXPECT_EQ(bool(lifted), question == safety::Question::pain_now) << q;
    EXPECT_EQ(record.holds[0].lifted.has_value(), bool(lifted)) << q;
    if (lifted) continue;
    EXPECT_EQ(lifted.error().code, Code::not_allowed);
    EXPECT_THAT(lifted.error().message, HasSubstr("ullage word add"));
  }
  safety::HealthRecord record;
  record.holds.push_back({"hold-1", clock_today_, "dizzy", std::nullopt, std::nullopt, ""});
  EXPECT_TRUE(lift_hold(record, "", clock_today_, "Ada", "rested"));
}

TEST_F(Coach, AnotherDayTakenForTodayLiftsNothing) {
  import(log_text("Ines", 10));
  ASSERT_TRUE(change_health(*desk_, *desk_->lifter("Ines"), "hold", [&](safety::HealthRecord& r) -> Result<void> {
    r.holds.push_back({"hold-1", clock_today_, "dizzy", std::nullopt, std::nullopt, ""});
    return {};
  }));
  auto earlier = open("studio.db", clock_today_ - 4);
  SessionWish wish = session_of({"bench press"});
  const auto refused = write_session(*earlier, wish);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, Code::not_allowed);
  EXPECT_THAT(refused.error().message, HasSubstr("dizzy"));
  const auto logged = log_set(*earlier, set_of("bench press", 60, 8));
  ASSERT_TRUE(logged) << logged.error().message;
  EXPECT_FALSE(logged->rest);
  EXPECT_THAT(logged->no_next, HasSubstr("dizzy"));
  EXPECT_FALSE(logged->expected);  // nothing was worked out, and nothing is made up
  EXPECT_TRUE(to_json(*logged)["expected"].is_null());
  // Lifted now, it still stood on the day asked for.
  ASSERT_TRUE(change_health(*desk_, *desk_->lifter("Ines"), "lifted", [&](safety::HealthRecord& r) -> Result<void> {
    r.holds[0].since = clock_today_ - 10;
    r.holds[0].lifted = clock_today_;
    return {};
  }));
  EXPECT_EQ(write_session(*earlier, wish).error().code, Code::not_allowed);
  EXPECT_TRUE(write_session(*desk_, wish));
  // Pain noted today keeps the exercise out of what is written for an earlier day.
  ASSERT_TRUE(log_set(*desk_, set_of("bench press", 60, 8, true)));
  EXPECT_EQ(write_session(*open("studio.db", clock_today_ - 1), wish).error().code, Code::not_allowed);
}

TEST_F(Coach, ACapThatLeavesNoLoadIsARefusalThatSaysSo) {
  import(log_text("Ines", 6));
  ASSERT_TRUE(change_health(*desk_, *desk_->lifter("Ines"), "word", [&](safety::HealthRecord& r) -> Result<void> {
    safety::ClinicianWord word;
    word.id = "w";
    word.date = clock_today_;
    word.clinician = "Dr Example";
    word.load_cap_share = 0.05;  // less than the empty bar
    r.words.push_back(word);
    return {};
  }));
  const auto refused = write_session(*desk_, session_of({"bench press"}));
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, Code::not_allowed);
  EXPECT_THAT(refused.error().message, HasSubstr("bench press: "));
  // A place where it cannot be done is no limit: an empty sheet that says why.
  ASSERT_TRUE(change_health(*desk_, *desk_->lifter("Ines"), "no word", [&](safety::HealthRecord& r) -> Result<void> {
    r.words.clear();
    return {};
  }));
  Place bare;
  bare.id = bare.name = "boathouse";
  ASSERT_TRUE(desk_->store().change("place", [&](store::Writer& w) { return w.put_place(bare); }));
  SessionWish there = session_of({"bench press"});
  there.place = "boathouse";
  const auto sheet = write_session(*desk_, there);
  ASSERT_TRUE(sheet) << sheet.error().message;
  EXPECT_TRUE(sheet->plan.items.empty());
  EXPECT_THAT(sheet->why_empty, HasSubstr("bench press: "));
}

TEST(Gates, TheStricterOfTwoHasTheLimitsOfBoth) {
  safety::Gate a, b;
  a.least_reserve = 2;
  b.least_reserve = 3;
  b.least_reserve_from = "b";
  a.load_cap_share = 0.7;
  b.load_cap_share = 0.8;
  a.barred = {{"x", "pain"}};
  b.barred = {{"y", "pain"}};
  b.failure = false;
  b.no_failure = "because";
  b.extra_reserve = 1;
  a.only_some = b.only_some = true;
  a.only_exercises = {"p", "q"};
  b.only_exercises = {"q", "r"};
  b.holds = {{"h", "reason", "lifts"}};
  a.cautions = {"c"};
  b.cautions = {"c", "d"};
  for (const safety::Gate& both : {stricter(a, b), stricter(b, a)}) {
    EXPECT_EQ(both.least_reserve, 3);
    EXPECT_EQ(both.least_reserve_from, "b");
    EXPECT_EQ(both.load_cap_share, 0.7);
    EXPECT_EQ(both.extra_reserve, 1);
    EXPECT_EQ(both.barred.size(), 2U);
    EXPECT_EQ(both.only_exercises, std::vector<std::string>{"q"});
    EXPECT_FALSE(both.failure);
    EXPECT_EQ(both.no_failure, "because");
    EXPECT_FALSE(both.allowed());
    EXPECT_EQ(both.cautions.size(), 2U);
  }
}

// ---- Names and days.

// A slip of the pen would make a second lifter, without the holds of the first.
TEST_F(Coach, AnImportAsksAboutANameNearAnother) {
  const std::string head = "lifter,date,exercise,load,reps\n", rest = ",2026-03-01,bench press,60,8\n";
  import(head + "Ingrid Halvorsen-Pahl" + rest + "Lifter 07" + rest);
  const auto asked = [&](const std::string& text) {
    ImportWish wish;
    wish.file = write("near.csv", text);
    wish.ask = true;
    const auto report = read_in(*desk_, wish);
    EXPECT_TRUE(report) << report.error().message;
    return report ? report->doubts.size() : 0;
  };
  EXPECT_EQ(asked(head + "Ingrid Halvorsen-Phal" + rest), 1U);
  EXPECT_EQ(sets_of("Ingrid Halvorsen-Pahl"), 1U);
  EXPECT_FALSE(desk_->lifter("Ingrid Halvorsen-Phal")) << "nothing was stored";
  EXPECT_EQ(asked(head + "Marta Lindqvist" + rest + "Marta Lindqivst" + rest), 1U) << "two in one file";
  EXPECT_EQ(asked(head + "Lifter 08" + rest + "Ingolf Sorensen" + rest), 0U) << "another number, another name";
}

TEST_F(Coach, AnImportKnowsALifterHoweverTheNameIsWritten) {
  Lifter ines;
  ines.name = "  Ines   Maro ";
  const auto taken_on = take_on(*desk_, ines);
  ASSERT_TRUE(taken_on) << taken_on.error().message;
  EXPECT_EQ(taken_on->name, "Ines Maro");
  const std::string head = "lifter,date,exercise,load,reps\n", rest = ",2026-03-01,bench press,60,8\n";
  const ImportReport report =
      import(head + "Ines Maro" + rest + "ines  maro" + rest + "ines-maro" + rest + "INES MARO" + rest);
  EXPECT_TRUE(report.new_lifters.empty());
  EXPECT_EQ(sets_of("Ines Maro"), 4U);
  const ImportReport fresh = import(head + "Lina" + rest + "Li  Na" + rest + "li na" + rest);
  EXPECT_EQ(fresh.new_lifters, (std::vector<std::string>{"Lina", "Li Na"}));
  EXPECT_EQ(sets_of("Li Na"), 2U);
}

TEST_F(Coach, ASetIsOfADayAnImportWouldTake) {
  import(log_text("Ines", 2));
  LogWish wish = set_of("bench press", 60, 8);
  for (const auto& [text, good] : std::vector<std::pair<const char*, bool>>{
           {"1949-12-31", false}, {"1950-01-01", true}, {"2026-03-10", true}, {"2026-03-11", false}}) {
    wish.set.date = *parse_date(text);
    const auto logged = log_set(*desk_, wish);
    EXPECT_EQ(bool(logged), good) << text;
    if (logged) continue;
    EXPECT_EQ(logged.error().code, Code::invalid_input);
    EXPECT_THAT(logged.error().message, HasSubstr("a day from 1950-01-01 to 2026-03-10"));
  }
}

TEST_F(Coach, TheDemoRosterNeedsAnEmptyFile) {
  import(log_text("Ines", 1));
  EXPECT_EQ(make_demo(*desk_, 1).error().code, Code::conflict);
}

TEST(Names, NearOnesAreOffered) {
  EXPECT_EQ(near_names("Inez", {"Ines", "Bo", "Maren"}, 3), std::vector<std::string>{"Ines"});
  EXPECT_EQ(did_you_mean({"a", "b", "c"}), ": did you mean a, b or c?");
  EXPECT_EQ(did_you_mean({}), "");
  EXPECT_EQ(make_name_id("Ines O'Neill", {}), "ines-o-neill");
  EXPECT_EQ(make_name_id("Ines", {"ines"}), "ines-2");
  EXPECT_EQ(make_name_id("***", {}), "lifter");
}

}  // namespace
}  // namespace ullage::coach
