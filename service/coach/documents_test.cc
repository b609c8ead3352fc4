#include "service/coach/documents.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <regex>

#include "engine/drawing/svg.h"
#include "service/coach/block.h"
#include "service/coach/paper.h"
#include "service/coach/read_in.h"
#include "service/coach/records.h"
#include "service/coach/roster.h"
#include "service/coach/session_log.h"
#include "service/coach/testing/desk_test_base.h"
#include "service/documents/translated.h"

namespace ullage::coach {
namespace {

class Documents : public DeskTest {
 protected:
  void take_on() {
    ImportWish wish;
    wish.file = write("log.csv", log_text("Ines Aalto", 10));
    const auto report = read_in(*desk_, wish);
    ASSERT_TRUE(report) << report.error().message;
    ASSERT_FALSE(report->refused);
  }
};

TEST_F(Documents, AWorkbookOfTheDataComesBackWhole) {
  const std::string odd =
      "lifter,date,exercise,load,unit,reps,called_reserve,failed,rest_s,last_rep_speed,kind,stop,planned_reps,cue,"
      "called_at_rep,session,place,side,joined,"
      "part_of,part,body_mass,tempo,partial_reps,extra_kind,pain,note,weather,extra:reps\n"
      "Ines Aalto,2026-03-01T18:40,bench "
      "press,102.05828325,kg,8,5+,0,150,0.31,work,planned,8,2,7,a,home,left,A,x,2,142 lb,3-1-1,2,chain,0,"
      "\"two\nlines, \"\"quoted\"\" _x000D_ =1+1\",rain,many\n"
      "Ines Aalto,2026-03-01T18:40:05,bench press,-7.5,lb,0,,1,,,test,failed,,,,,,both,,,,,,,,0,,,\n"
      "Bo,2026-03-02T18:40+02:00,bench press,12,mark,5,1.5,0,,,warmup,cue,6,5+,,,,right,,,,71.25 kg,,,,0,,,\n"
      "Bo,2026-03-02T00:00,bench press,12,mark,5,1.5,0,,,work,unknown,6,5+,,,,right,,,,,,,,0,,,\n";
  ImportWish wish;
  wish.file = write("odd.csv", odd);
  auto report = read_in(*desk_, wish);
  ASSERT_TRUE(report) << report.error().message;
  ASSERT_FALSE(report->refused) << interchange::fault_text(report->summary.faults.at(0));
  take_on();
  const auto count = write_data_workbook(*desk_, path("data.xlsx"));
  ASSERT_TRUE(count) << count.error().message;
  EXPECT_EQ(*count, 4 + 120);

  // Again into the same data: nothing is new. Into an empty one: every set comes back as it was.
  wish.file = path("data.xlsx");
  report = read_in(*desk_, wish);
  ASSERT_TRUE(report) << report.error().message;
  ASSERT_FALSE(report->refused) << interchange::fault_text(report->summary.faults.at(0));
  EXPECT_EQ(report->merged.added, 0);
  EXPECT_EQ(report->merged.changed.size(), 0u);
  EXPECT_EQ(report->merged.unchanged, 124);
  const auto fresh = open("fresh.db");
  report = read_in(*fresh, wish);
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->merged.added, 124);
  for (const char* name : {"Ines Aalto", "Bo"}) {
    const auto before = desk_->store().sets(desk_->lifter(name)->id),
               after = fresh->store().sets(fresh->lifter(name)->id);
    ASSERT_TRUE(before && after);
    ASSERT_EQ(before->size(), after->size());
    for (std::size_t i = 0; i < before->size(); ++i) EXPECT_EQ((*before)[i].set, (*after)[i].set) << name << " " << i;
  }
}

TEST_F(Documents, ASheetHasEverySetWithItsCue) {
  take_on();
  SessionWish wish;
  wish.lifter = "Ines Aalto";
  const auto sheet = write_session(*desk_, wish);
  ASSERT_TRUE(sheet) << sheet.error().message;
  const documents::SessionSheetPage page = sheet_page(*sheet);
  ASSERT_EQ(page.exercises.size(), sheet->plan.items.size());
  EXPECT_EQ(page.cautions, sheet->plan.cautions);
  EXPECT_FALSE(page.cautions.empty());
  for (std::size_t i = 0; i < page.exercises.size(); ++i) {
    std::size_t work = 0;
    for (const auto& set : sheet->plan.items[i].sets) work += set.kind == SetKind::warmup ? 0 : 1;
    EXPECT_EQ(page.exercises[i].sets.size(), work);
    EXPECT_FALSE(page.exercises[i].bars.empty());
    double plates = 0;  // what is drawn weighs what is written
    for (const auto& plate : page.exercises[i].bars[0].plates) plates += 2 * plate.kilograms;
    for (const auto& set : sheet->plan.items[i].sets) {
      if (set.kind != SetKind::warmup) {
        EXPECT_NEAR(plates + 20, kilograms(set.load).value, 1e-9);
        break;
      }
    }
  }
}

// Every text of a paper, with the words in its drawings.
void texts_of(const documents::Document& paper, std::vector<std::string>& out) {
  std::vector<std::string> all;
  documents::translated(paper, "xx", [&](std::string_view text) {
    all.emplace_back(text);
    return std::string(text);
  });
  out.insert(out.end(), all.begin(), all.end());
}

TEST_F(Documents, PapersAreWrittenInGermanAsAWhole) {
  take_on();
  const Result<Ahead> ahead = planned_sessions(*desk_, {.lifter = "Ines Aalto", .from = {}, .days = 14});
  ASSERT_TRUE(ahead) << ahead.error().message;
  ASSERT_FALSE(ahead->sheets.empty());
  const auto report = lifter_report(*desk_, "Ines Aalto");
  ASSERT_TRUE(report) << report.error().message;
  const auto papers = [&](PaperForm form) {
    std::vector<std::string> texts;
    texts_of(session_paper(ahead->sheets.front(), form), texts);
    texts_of(sheets_paper(*ahead, form), texts);
    texts_of(report_paper(*report, form), texts);
    texts_of(overview_paper(*ahead, desk_->today(), 14, form), texts);
    return texts;
  };
  const std::vector<std::string> english = papers({}), german = papers({documents::Paper::a4, Language::german});
  ASSERT_EQ(english.size(), german.size());
  ASSERT_GT(english.size(), 100U);
  std::size_t changed = 0;
  const std::regex left("\\b(the|of|with|sets?|reps?|load|leaves?|week|rest|end|at|by|is|and|for|minutes|you)\\b");
  for (std::size_t i = 0; i < english.size(); ++i) {
    if (german[i] != english[i]) ++changed;
    EXPECT_FALSE(std::regex_search(german[i], left)) << german[i] << "\nof: " << english[i];
  }
  EXPECT_GT(changed, english.size() / 3);  // the rest are numbers and names
  const documents::Document paper = report_paper(*report, {documents::Paper::letter, Language::german});
  EXPECT_EQ(paper.language, "de");
  EXPECT_EQ(paper.title.rfind("Ines Aalto: Bericht vom ", 0), 0U) << paper.title;
  // Names of exercises are as the library has them; people write as they like.
  EXPECT_EQ(in_language(Language::german, "Saltmarsh studio"), "Saltmarsh studio");
  EXPECT_EQ(in_language(Language::english, "set"), "set");
}

TEST_F(Documents, SessionsAheadKeepTheirIdsAndStopAtAHold) {
  take_on();
  AheadWish wish;
  wish.lifter = "Ines Aalto";
  wish.days = 14;
  const auto first = planned_sessions(*desk_, wish), again = planned_sessions(*desk_, wish);
  ASSERT_TRUE(first) << first.error().message;
  ASSERT_FALSE(first->sessions.empty());
  ASSERT_EQ(first->sessions.size(), again->sessions.size());
  for (std::size_t i = 0; i < first->sessions.size(); ++i) {
    EXPECT_EQ(first->sessions[i].id, again->sessions[i].id);
    EXPECT_GE(first->sessions[i].date, desk_->today());
    EXPECT_LT(first->sessions[i].date, desk_->today() + 14);
  }
  // A session that is written takes the place of those that would be guessed.
  SessionWish session;
  session.lifter = "Ines Aalto";
  session.date = desk_->today() + 2;
  ASSERT_TRUE(write_session(*desk_, session));
  const auto written = planned_sessions(*desk_, wish);
  ASSERT_TRUE(written);
  ASSERT_EQ(written->sessions.size(), 1u);
  EXPECT_EQ(written->sessions[0].id, "ines-aalto.2026-03-11@ullage");

  const auto report = lifter_report(*desk_, "Ines Aalto");
  ASSERT_TRUE(report) << report.error().message;
  ASSERT_GE(report->findings.size(), 4u);
  EXPECT_EQ(report->findings.back().heading, "What comes next, and why");

  auto health = *desk_->store().health("ines-aalto");
  safety::Hold hold;
  hold.id = "h1";
  hold.reason = "a test hold";
  hold.since = desk_->today();
  health.holds.push_back(hold);
  ASSERT_TRUE(
      desk_->store().change("hold", [&](store::Writer& writer) { return writer.put_health("ines-aalto", health); }));
  const auto held = planned_sessions(*desk_, wish);
  ASSERT_FALSE(held);
  EXPECT_EQ(held.error().code, Code::not_allowed);
  const auto told = lifter_report(*desk_, "Ines Aalto");
  ASSERT_TRUE(told) << told.error().message;
  EXPECT_EQ(told->findings.back().heading, "Nothing is prescribed at present");
}

// A session that moves takes its id along, so that a calendar updates its entry; what is written for the day it left is
// another session.
TEST_F(Documents, AMovedSessionKeepsItsId) {
  take_on();
  AheadWish wish;
  wish.lifter = "Ines Aalto";
  wish.days = 14;
  SessionWish session;
  session.lifter = "Ines Aalto";
  session.date = desk_->today() + 2;
  const auto written = write_session(*desk_, session);
  ASSERT_TRUE(written) << written.error().message;
  const std::string id = planned_sessions(*desk_, wish)->sessions.at(0).id;

  for (const int to : {3, 5}) {
    session.moved_from = session.date;
    session.date = desk_->today() + to;
    const auto moved = write_session(*desk_, session);
    ASSERT_TRUE(moved) << moved.error().message;
    ASSERT_EQ(moved->plan.items.size(), written->plan.items.size());
    const auto ahead = planned_sessions(*desk_, wish);
    ASSERT_EQ(ahead->sessions.size(), 1u);
    EXPECT_EQ(ahead->sessions[0].date, *session.date);
    EXPECT_EQ(ahead->sessions[0].id, id);
  }
  SessionWish another;
  another.lifter = "Ines Aalto";
  another.date = desk_->today() + 2;
  ASSERT_TRUE(write_session(*desk_, another));
  const auto both = planned_sessions(*desk_, wish);
  ASSERT_EQ(both->sessions.size(), 2u);
  EXPECT_EQ(both->sessions[0].id, "ines-aalto.2026-03-11.again@ullage");
  EXPECT_EQ(both->sessions[1].id, id);

  session.moved_from = desk_->today() + 9;
  session.date = desk_->today() + 10;
  EXPECT_EQ(write_session(*desk_, session).error().code, Code::not_found);
  session.moved_from = desk_->today() + 5;
  session.date = desk_->today() + 2;
  EXPECT_EQ(write_session(*desk_, session).error().code, Code::conflict);
  session.date = session.moved_from;
  EXPECT_EQ(write_session(*desk_, session).error().code, Code::invalid_input);
}

// Days of an accepted block lie ahead without being written one by one, and keep their ids when the block moves them.
TEST_F(Documents, DaysOfABlockLieAhead) {
  take_on();
  BlockSheet block;
  block.lifter = "ines-aalto";
  block.made = desk_->today();
  BlockWeekPlan& week = block.weeks.emplace_back();
  week.monday = desk_->today() - (weekday(desk_->today()) - 1) + 7;
  for (const int day : {0, 3}) {
    BlockDayPlan& one = week.days.emplace_back();
    one.date = week.monday + day;
    one.minutes = 30;
    BlockItem& item = one.items.emplace_back();
    item.exercise = "bench-press";
    item.name = "bench press";
    item.sets = {{3, 2, 5, 8, false}};
  }
  const auto keep = [&] {
    return desk_->store().change("plan", [&](store::Writer& writer) {
      return writer.put_plan({"ines-aalto", 1, "accepted", "", week.monday, block_json(block)});
    });
  };
  ASSERT_TRUE(keep());
  AheadWish wish;
  wish.lifter = "Ines Aalto";
  wish.days = 14;
  const auto first = planned_sessions(*desk_, wish);
  ASSERT_TRUE(first) << first.error().message;
  ASSERT_EQ(first->sessions.size(), 2u);
  EXPECT_EQ(first->sessions[0].date, week.monday);
  EXPECT_EQ(first->sessions[0].exercises.at(0).vessels.size(), 3u);
  EXPECT_NE(first->notes[0].find("2 days of the accepted plan"), std::string::npos) << first->notes[0];

  block.request.day_changes = {{week.monday, week.monday + 1, {}}};
  week.days[0].date = week.monday + 1;
  ASSERT_TRUE(keep());
  const auto moved = planned_sessions(*desk_, wish);
  ASSERT_TRUE(moved) << moved.error().message;
  ASSERT_EQ(moved->sessions.size(), 2u);
  EXPECT_EQ(moved->sessions[0].date, week.monday + 1);
  EXPECT_EQ(moved->sessions[0].id, first->sessions[0].id);
  EXPECT_EQ(moved->sessions[1].id, first->sessions[1].id);

  const auto files = data_csv(*desk_);
  ASSERT_TRUE(files) << files.error().message;
  ASSERT_EQ(files->size(), 3u);
  EXPECT_EQ((*files)[1].name, "plan.csv");
  EXPECT_NE(
      (*files)[1].text.find("Ines Aalto,1,1,usual," + date_text(week.monday + 1) + ",,30,bench press,3,2,5,8,no,no,"),
      std::string::npos)
      << (*files)[1].text;
}

// The sheets that were written go out set by set.
TEST_F(Documents, WrittenSessionsGoOutSetBySet) {
  take_on();
  SessionWish session;
  session.lifter = "Ines Aalto";
  const auto sheet = write_session(*desk_, session);
  ASSERT_TRUE(sheet) << sheet.error().message;
  const auto files = data_csv(*desk_);
  ASSERT_TRUE(files) << files.error().message;
  const std::string& text = files->at(2).text;
  std::size_t sets = 0;
  for (const auto& item : sheet->plan.items) sets += item.sets.size();
  EXPECT_EQ(static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')), sets + 1);
  EXPECT_NE(text.find("Ines Aalto," + date_text(sheet->plan.date) + ",," + sheet->plan.items[0].name + ",both,1,"),
            std::string::npos)
      << text;
}

// Cells are shown where they stand, for picking.
TEST_F(Documents, CellsOfATableAreShownWithTheirPlaces) {
  auto sheets = cells_of(ULLAGE_SOURCE_DIR "/tests/data/workbooks/two-header-rows.xlsx", "", 3);
  ASSERT_TRUE(sheets) << sheets.error().message;
  ASSERT_EQ(sheets->at(0).lines.size(), 3u);
  EXPECT_TRUE(sheets->at(0).more);
  const auto& names = sheets->at(0).lines[0].cells;
  EXPECT_EQ(names.at(0).text, "Date");
  EXPECT_EQ(names.at(2).text, "Set 1");
  EXPECT_EQ(names.at(2).column, 2);
  EXPECT_EQ(sheets->at(0).lines[2].cells.at(0).kind, interchange::CellKind::date);
  EXPECT_EQ(cells_of(ULLAGE_SOURCE_DIR "/tests/data/workbooks/two-header-rows.xlsx", "nowhere", 3).error().code,
            Code::not_found);
  sheets = cells_of(write("a.csv", "Day;Reps\n1.2.2026;8\n"), "", 3);
  ASSERT_TRUE(sheets) << sheets.error().message;
  EXPECT_EQ(sheets->at(0).lines.at(1).cells.at(1).text, "8");
  EXPECT_FALSE(sheets->at(0).more);
}

TEST_F(Documents, AWholeSessionIsLoggedAsOneChange) {
  take_on();
  SessionLogWish wish;
  wish.lifter = "Ines Aalto";
  wish.text = "bench press: 70 kg x 8 left 2; x 8 left 1; x 7 failed; rest 180 s; back squat: 100 x 5 left 3 pain";
  wish.dry_run = true;
  auto report = log_session(*desk_, wish);
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->sets.size(), 4u);
  EXPECT_EQ(report->change, 0);
  wish.dry_run = false;
  report = log_session(*desk_, wish);
  ASSERT_TRUE(report) << report.error().message;
  EXPECT_EQ(report->pains, (std::vector<std::string>{"back squat"}));
  store::SetFilter today;
  today.from = desk_->today();
  EXPECT_EQ(desk_->store().sets("ines-aalto", today)->size(), 4u);
  EXPECT_EQ(desk_->store().sets("ines-aalto", today)->at(2).set.stop, Stop::failed);
  ASSERT_TRUE(desk_->store().undo(report->change));
  EXPECT_TRUE(desk_->store().sets("ines-aalto", today)->empty());
  EXPECT_TRUE(desk_->store().health("ines-aalto")->pains.empty());

  wish.text = "bensh press: 70 x 8; bench press: 7000 x 8";
  report = log_session(*desk_, wish);
  ASSERT_FALSE(report);
  EXPECT_EQ(report.error().code, Code::invalid_input);
  EXPECT_NE(report.error().message.find("bensh press: 70 x 8; bench press: 7000 x 8\n^ an exercise of the library"),
            std::string::npos)
      << report.error().message;
  EXPECT_NE(report.error().message.find("did you mean bench press"), std::string::npos) << report.error().message;
  EXPECT_NE(report.error().message.find("\n                                  ^ --load: 7000 is outside"),
            std::string::npos)
      << report.error().message;
}

// What the kept sheet asked is written beside sets typed in afterwards.
TEST_F(Documents, TheSheetsPlanStandsBesideSetsTypedAfterwards) {
  take_on();
  SessionWish session;
  session.lifter = "Ines Aalto";
  const auto sheet = write_session(*desk_, session);
  ASSERT_TRUE(sheet) << sheet.error().message;
  ASSERT_FALSE(sheet->plan.items.empty()) << sheet->why_empty;
  std::vector<planning::PlanSet> work;
  for (const auto& set : sheet->plan.items.at(0).sets) {
    if (set.kind != SetKind::warmup) work.push_back(set);
  }
  SessionLogWish wish;
  wish.lifter = "Ines Aalto";
  wish.text = sheet->plan.items[0].name + ": ";
  for (const auto& set : work)
    wish.text += number_text(set.load.amount) + " kg x " + std::to_string(set.reps) + " left 2; ";
  const auto report = log_session(*desk_, wish);
  ASSERT_TRUE(report) << report.error().message;
  ASSERT_EQ(report->sets.size(), work.size());
  for (std::size_t i = 0; i < work.size(); ++i) {
    EXPECT_EQ(report->sets[i].planned_reps, work[i].reps);
    EXPECT_EQ(report->sets[i].stop, Stop::planned);
  }
}

TEST_F(Documents, PicturesSayTheSameTwice) {
  take_on();
  const auto view = estimate(*desk_, "Ines Aalto");
  ASSERT_TRUE(view);
  const std::string svg = drawing::svg_text(estimate_picture(*view));
  EXPECT_EQ(svg, drawing::svg_text(estimate_picture(*view)));
  EXPECT_NE(svg.find("Ines Aalto: strength over time"), std::string::npos);
  ForecastWish wish;
  wish.lifter = "Ines Aalto";
  wish.exercise = "bench press";
  wish.load = {70, Unit::kilogram};
  wish.reps = {8, 8, 8};
  const auto forecast_view = forecast(*desk_, wish);
  ASSERT_TRUE(forecast_view);
  EXPECT_NE(drawing::svg_text(forecast_picture(*forecast_view)).find("bench press at 70 kg"), std::string::npos);
  const auto roster_view = roster(*desk_);
  ASSERT_TRUE(roster_view);
  EXPECT_NE(drawing::svg_text(roster_picture(*roster_view)).find("stand out on"), std::string::npos);
}

}  // namespace
}  // namespace ullage::coach
