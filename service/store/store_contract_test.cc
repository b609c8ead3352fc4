// What every store must do, whatever it keeps its data in. A store of another kind is added to the list
// of makers at the end.
#include <gmock/gmock.h>

#include <cmath>
#include <functional>
#include <limits>

#include "service/store/testing/samples.h"

namespace ullage::store {
namespace {

using Maker = std::function<std::unique_ptr<Store>(const std::string& path, Clock& clock)>;

struct Kind {
  const char* name;
  Maker make;
};

class StoreContract : public testing::TestWithParam<Kind> {
 protected:
  void SetUp() override { reopen(); }
  void reopen() {
    store_.reset();
    store_ = GetParam().make(folder_.file("data.ullage"), clock_);
  }
  ChangeId write(const std::string& what, const std::function<Result<void>(Writer&)>& work) {
    return must(store_->change(what, work));
  }
  void add_lifters() {
    write("take on two", [](Writer& writer) -> Result<void> {
      must(writer.put_lifter(sample_lifter("ines", "Ines Maro")));
      must(writer.put_lifter(sample_lifter("bo", "Bo Tamsin")));
      return {};
    });
  }
  MergeReport merge(const std::string& lifter, const std::vector<SetRecord>& sets, MergeOptions options = {}) {
    MergeReport report;
    write("import", [&](Writer& writer) -> Result<void> {
      report = must(writer.merge_sets(lifter, sets, options));
      return {};
    });
    return report;
  }
  std::vector<SetRecord> sets_of(const std::string& lifter) { return records(must(store_->sets(lifter))); }

  ScratchFolder folder_;
  FakeClock clock_;
  std::unique_ptr<Store> store_;
  const Date day_ = *parse_date("2026-03-09");
};

TEST_P(StoreContract, GivesEveryFieldOfALifterBack) {
  Lifter lifter = sample_lifter("ines", "Ines Maro");
  lifter.born = parse_date("1990-02-28");
  lifter.sex = Sex::female;
  lifter.training_years = 4.1 + 0.2;
  lifter.since = parse_date("2025-01-07");
  lifter.body_mass = {{*parse_date("2025-01-07"), {61.3, Unit::kilogram}},
                      {*parse_date("2025-06-01"), {140.1, Unit::pound}}};
  lifter.goal = "first pull-up";
  lifter.unit = Unit::pound;
  lifter.days_per_week = 4;
  lifter.minutes_per_session = 75;
  lifter.place = "boathouse";
  lifter.avoid = {"deadlift", "dip"};
  lifter.answers_in_halves = true;
  lifter.note = "left knee";
  write("take on", [&](Writer& writer) { return writer.put_lifter(lifter); });
  reopen();
  const Lifter read = must(store_->lifter("ines"));
  EXPECT_EQ(read.name, lifter.name);
  EXPECT_EQ(read.born, lifter.born);
  EXPECT_EQ(read.sex, lifter.sex);
  EXPECT_EQ(read.training_years, lifter.training_years);
  EXPECT_EQ(read.since, lifter.since);
  ASSERT_EQ(read.body_mass.size(), 2u);
  EXPECT_EQ(read.body_mass[1].date, lifter.body_mass[1].date);
  EXPECT_EQ(read.body_mass[1].mass, lifter.body_mass[1].mass);
  EXPECT_EQ(read.goal, lifter.goal);
  EXPECT_EQ(read.unit, lifter.unit);
  EXPECT_EQ(read.days_per_week, 4);
  EXPECT_EQ(read.minutes_per_session, 75);
  EXPECT_EQ(read.place, lifter.place);
  EXPECT_EQ(read.avoid, lifter.avoid);
  EXPECT_TRUE(read.answers_in_halves);
  EXPECT_EQ(read.note, lifter.note);
  EXPECT_EQ(must(store_->find_lifter("ines maro")).id, "ines");
  EXPECT_EQ(store_->lifter("nobody").error().code, Code::not_found);
  EXPECT_EQ(store_->find_lifter("nobody").error().code, Code::not_found);
}

TEST_P(StoreContract, KeepsNamesUniqueAndBodyMassesByDay) {
  add_lifters();
  const auto taken =
      store_->change("rename", [](Writer& writer) { return writer.put_lifter(sample_lifter("bo", "Ines Maro")); });
  EXPECT_EQ(taken.error().code, Code::conflict);
  for (const std::string name : {"", "  ", "Ines\nMaro", "\x1b[31mInes"}) {
    const auto odd =
        store_->change("rename", [&](Writer& writer) { return writer.put_lifter(sample_lifter("bo", name)); });
    EXPECT_EQ(odd.error().code, Code::invalid_input) << name;
  }
  write("weigh", [&](Writer& writer) { return writer.put_body_mass("bo", {day_, {80, Unit::kilogram}}); });
  write("weigh again", [&](Writer& writer) { return writer.put_body_mass("bo", {day_, {80.5, Unit::kilogram}}); });
  EXPECT_EQ(must(store_->lifter("bo")).body_mass.size(), 1u);
  write("no masses", [&](Writer& writer) { return writer.put_lifter(sample_lifter("bo", "Bo Tamsin")); });
  EXPECT_TRUE(must(store_->lifter("bo")).body_mass.empty());
}

TEST_P(StoreContract, GivesEveryFieldOfASetBackExactly) {
  add_lifters();
  const SetRecord full = full_set(day_);
  const SetRecord bare = sample_set(day_, "squat", 102.05828325, 5);
  merge("ines", {full, bare});
  reopen();
  const auto stored = must(store_->sets("ines"));
  ASSERT_EQ(stored.size(), 2u);
  EXPECT_EQ(stored[0].set, bare);  // session "" comes before "evening"
  EXPECT_EQ(stored[1].set, full);
  EXPECT_EQ(stored[1].lifter, "ines");
  EXPECT_EQ(must(store_->set(stored[1].id)).set, full);
}

TEST_P(StoreContract, ReadsNumbersBackExactlyThroughTheHistory) {
  add_lifters();
  const std::vector<double> hard{0.1 + 0.2,
                                 1e-300,
                                 102.05828325,
                                 -1.0 / 3,
                                 5e-324,
                                 std::numeric_limits<double>::max(),
                                 std::numeric_limits<double>::min(),
                                 9007199254740993.0,
                                 std::nextafter(100.0, 200.0)};
  for (const double value : hard) {
    SetRecord set = sample_set(day_, "squat", value, 5);
    set.rest_s = value;
    SetId id = 0;
    write("log", [&](Writer& writer) -> Result<void> {
      id = must(writer.append_set("ines", set));
      return {};
    });
    const auto edited =
        write("edit", [&](Writer& writer) { return writer.update_set(id, sample_set(day_, "squat", 1, 1)); });
    must(store_->undo(edited));
    EXPECT_EQ(must(store_->set(id)).set, set) << value;
    const auto removed = write("remove", [&](Writer& writer) { return writer.remove_set(id); });
    must(store_->undo(removed));
    EXPECT_EQ(must(store_->set(id)).set, set) << value;
    write("remove", [&](Writer& writer) { return writer.remove_set(id); });
  }
}

TEST_P(StoreContract, RefusesWhatItCannotGiveBack) {
  add_lifters();
  const auto log = [&](const SetRecord& set) {
    return store_->change("log", [&](Writer& writer) -> Result<void> {
      const auto id = writer.append_set("ines", set);
      if (!id) return tl::unexpected<Error>(id.error());
      return {};
    });
  };
  SetRecord set = sample_set(day_, "squat", std::nan(""), 5);
  EXPECT_EQ(log(set).error().code, Code::invalid_input);
  set.load.amount = std::numeric_limits<double>::infinity();
  EXPECT_EQ(log(set).error().code, Code::invalid_input);
  set.load.amount = 100;
  for (const std::string& bad :
       {std::string("a\0b", 3), std::string("\xff"), std::string("\xc3"), std::string("\xed\xa0\x80"),
        std::string("\xc0\x80"), std::string("\xf4\x90\x80\x80")}) {
    set.note = bad;
    EXPECT_EQ(log(set).error().code, Code::invalid_input);
    set.note.clear();
    set.extra = {{"column", bad}};
    if (bad.find('\0') == std::string::npos) {
      EXPECT_EQ(log(set).error().code, Code::invalid_input);
    }
    set.extra.clear();
  }
  EXPECT_EQ(must(store_->set_count("ines")), 0);
  set.note = "\xf0\x9f\x8f\x8b fine";
  EXPECT_TRUE(log(set));
  EXPECT_EQ(store_
                ->change("log",
                         [&](Writer& writer) -> Result<void> {
                           const auto id = writer.append_set("nobody", set);
                           return id ? Result<void>() : tl::unexpected<Error>(id.error());
                         })
                .error()
                .code,
            Code::not_found);
}

TEST_P(StoreContract, TheSameLogTwiceAddsNothing) {
  add_lifters();
  const auto log = sample_log(day_, 5);
  EXPECT_EQ(merge("ines", log).added, 100);
  const auto history_before = must(store_->history(100)).size();
  const auto again = merge("ines", log);
  EXPECT_EQ(again.added, 0);
  EXPECT_EQ(again.unchanged, 100);
  EXPECT_TRUE(again.changed.empty());
  EXPECT_EQ(must(store_->history(100)).size(), history_before) << "nothing written is no change";
  EXPECT_EQ(sets_of("ines"), log);
  EXPECT_TRUE(sets_of("bo").empty());
}

TEST_P(StoreContract, ALongerLogAddsOnlyWhatIsNewAndAMissingRowRemovesNothing) {
  add_lifters();
  const auto log = sample_log(day_, 6);
  const std::vector<SetRecord> shorter(log.begin(), log.begin() + 50);
  EXPECT_EQ(merge("ines", shorter).added, 50);
  const auto longer = merge("ines", log);
  EXPECT_EQ(longer.added, 70);
  EXPECT_EQ(longer.unchanged, 50);
  EXPECT_EQ(sets_of("ines"), log);
  const std::vector<SetRecord> tail(log.begin() + 60, log.end());
  EXPECT_EQ(merge("ines", tail).unchanged, 60);
  EXPECT_EQ(sets_of("ines"), log);
}

TEST_P(StoreContract, ChangedRowsAreListedAndAppliedOnlyWithUpdate) {
  add_lifters();
  auto log = sample_log(day_, 2);
  merge("ines", log);
  const auto before = log;
  log[3].reps += 1;
  log[17].note = "belt";
  auto report = merge("ines", log);
  EXPECT_EQ(report.unchanged, 38);
  ASSERT_EQ(report.changed.size(), 2u);
  EXPECT_EQ(report.changed[0].before, before[3]);
  EXPECT_EQ(report.changed[0].after, log[3]);
  EXPECT_EQ(report.applied, 0);
  EXPECT_EQ(sets_of("ines"), before);

  MergeOptions update;
  update.update = true;
  update.dry_run = true;
  report = merge("ines", log, update);
  EXPECT_EQ(report.applied, 2);
  EXPECT_EQ(sets_of("ines"), before) << "a dry run writes nothing";
  update.dry_run = false;
  report = merge("ines", log, update);
  EXPECT_EQ(report.applied, 2);
  EXPECT_EQ(sets_of("ines"), log);
  must(store_->undo());
  EXPECT_EQ(sets_of("ines"), before);
}

TEST_P(StoreContract, NewRowsTakeTheirPlaceInPerformedOrder) {
  add_lifters();
  const auto squat = [&](double load) { return sample_set(day_, "squat", load, 5); };
  const auto curl = [&](double load) { return sample_set(day_, "curl", load, 10); };
  merge("ines", {squat(100), squat(110)});
  merge("ines", {curl(10), squat(100), curl(11), squat(110), curl(12)});
  EXPECT_EQ(sets_of("ines"), (std::vector<SetRecord>{curl(10), squat(100), curl(11), squat(110), curl(12)}));
  const SetRecord row = sample_set(day_, "row", 60, 8);
  merge("ines", {row});
  EXPECT_EQ(sets_of("ines").back(), row) << "an exercise from another file comes last";
  MergeOptions update;
  update.update = true;
  merge("ines", {squat(100), row, curl(10), curl(11), curl(12), squat(110)}, update);
  EXPECT_EQ(sets_of("ines"), (std::vector<SetRecord>{squat(100), row, curl(10), curl(11), curl(12), squat(110)}));
  must(store_->undo());
  EXPECT_EQ(sets_of("ines"), (std::vector<SetRecord>{curl(10), squat(100), curl(11), squat(110), curl(12), row}));
}

TEST_P(StoreContract, SidesSessionsAndDaysAreApart) {
  add_lifters();
  SetRecord left = sample_set(day_, "one-arm-row", 30, 8);
  left.side = Side::left;
  SetRecord right = left;
  right.side = Side::right;
  SetRecord evening = left;
  evening.session = "evening";
  SetRecord next_day = left;
  next_day.date = day_ + 1;
  EXPECT_EQ(merge("ines", {left, right, evening, next_day, left}).added, 5);
  EXPECT_EQ(merge("ines", {right, evening, next_day, left, left}).added, 0);
  const auto stored = must(store_->sets("ines"));
  EXPECT_EQ(stored[2].ordinal, 2);
  EXPECT_EQ(stored[1].ordinal, 1);
}

TEST_P(StoreContract, MergesInPiecesAsInOne) {
  add_lifters();
  const auto log = sample_log(day_, 9);
  for (const int piece : {1, 7, 20, 33}) {
    write("pieces", [&](Writer& writer) -> Result<void> {
      const auto merge = writer.start_merge({});
      for (std::size_t at = 0; at < log.size(); at += static_cast<std::size_t>(piece)) {
        const auto end = std::min(log.size(), at + static_cast<std::size_t>(piece));
        must(merge->add(
            "ines", {log.begin() + static_cast<std::ptrdiff_t>(at), log.begin() + static_cast<std::ptrdiff_t>(end)}));
      }
      EXPECT_EQ(merge->report().added, 180);
      return {};
    });
    EXPECT_EQ(sets_of("ines"), log);
    must(store_->undo());
    EXPECT_EQ(must(store_->set_count("ines")), 0);
  }
}

TEST_P(StoreContract, LogsEditsAndRemovesSingleSets) {
  add_lifters();
  std::vector<SetId> ids;
  for (int i = 0; i < 4; ++i) {
    write("log", [&](Writer& writer) -> Result<void> {
      ids.push_back(must(writer.append_set("ines", sample_set(day_, i == 1 ? "curl" : "squat", 100 + i, 5))));
      return {};
    });
  }
  auto stored = must(store_->sets("ines"));
  ASSERT_EQ(stored.size(), 4u);
  EXPECT_EQ(stored[3].ordinal, 3);
  EXPECT_TRUE(ids[0] < ids[1] && ids[1] < ids[2]);

  write("remove", [&](Writer& writer) { return writer.remove_set(ids[0]); });
  stored = must(store_->sets("ines"));
  ASSERT_EQ(stored.size(), 3u);
  EXPECT_EQ(stored[1].ordinal, 1);
  EXPECT_EQ(stored[2].ordinal, 2);
  EXPECT_EQ(merge("ines", records(stored)).unchanged, 3) << "what is stored, given again, adds nothing";

  write("was a curl", [&](Writer& writer) { return writer.update_set(ids[2], sample_set(day_, "curl", 12, 9)); });
  stored = must(store_->sets("ines"));
  EXPECT_EQ(stored[1].id, ids[2]) << "stays in its place";
  EXPECT_EQ(stored[1].ordinal, 2);
  EXPECT_EQ(stored[2].ordinal, 1);
  must(store_->undo());
  EXPECT_EQ(must(store_->set(ids[2])).set.exercise, "squat");
  EXPECT_EQ(store_->change("remove", [](Writer& writer) { return writer.remove_set(1); }).error().code,
            Code::not_found);
}

TEST_P(StoreContract, FiltersSets) {
  add_lifters();
  const auto log = sample_log(day_, 5);
  merge("ines", log);
  SetFilter filter;
  filter.from = day_ + 2;
  filter.to = day_ + 4;
  EXPECT_EQ(must(store_->sets("ines", filter)).size(), 40u);
  filter.exercise = "curl";
  EXPECT_EQ(must(store_->sets("ines", filter)).size(), 8u);
  EXPECT_EQ(must(store_->set_count("ines", filter)), 8);

  // A part of them, from either end.
  const auto all = must(store_->sets("ines", filter));
  filter.skip = 2;
  filter.most = 3;
  auto part = must(store_->sets("ines", filter));
  ASSERT_EQ(part.size(), 3u);
  EXPECT_EQ(part.front().id, all[2].id);
  EXPECT_EQ(part.back().id, all[4].id);
  filter.newest_first = true;
  part = must(store_->sets("ines", filter));
  ASSERT_EQ(part.size(), 3u);
  EXPECT_EQ(part.front().id, all[5].id);
  EXPECT_EQ(part.back().id, all[3].id);
  EXPECT_EQ(must(store_->set_count("ines", filter)), 8) << "a part is counted as the whole";
  filter.most.reset();
  filter.skip = 7;
  part = must(store_->sets("ines", filter));
  ASSERT_EQ(part.size(), 1u);
  EXPECT_EQ(part.front().id, all[0].id);
  EXPECT_EQ(must(store_->set_count("ines")), 100);

  EXPECT_EQ(must(store_->session_days("ines")), (std::vector<Date>{day_, day_ + 2, day_ + 4, day_ + 6, day_ + 8}));
  SetRecord evening = sample_set(day_ + 4, "squat", 60, 5);
  evening.session = "evening";
  merge("ines", {evening});
  EXPECT_EQ(must(store_->session_days("ines")),
            (std::vector<Date>{day_, day_ + 2, day_ + 4, day_ + 4, day_ + 6, day_ + 8}));
  EXPECT_TRUE(must(store_->session_days("bo")).empty());
}

TEST_P(StoreContract, KeepsTextsPlacesPoliciesSheetsAndImports) {
  add_lifters();
  Place place = plain_gym();
  place.id = "boathouse";
  place.name = "The boathouse";
  place.unit = Unit::pound;
  place.bars.push_back({"short", {33.07, Unit::pound}});
  place.stacks = {{"leg-curl", {{1, Unit::mark}, {2.5, Unit::mark}}}};
  place.kettlebells = {{16, Unit::kilogram}};
  place.without = {"leg-press"};
  place.safety_bars = true;
  ReservePolicy policy;
  policy.of(ExerciseClass::isolation).most_reserve = 1.5;
  policy.of(ExerciseClass::barbell_compound).last_set_failure = true;
  policy.light_share = 0.1 + 0.2;
  ImportRecord import{make_id(), "march.csv", "", "club sheet", 10, 7, 1, 2, 0, 0};
  const Sheet sheet{"ines", day_, "", R"({"items":[]})"};
  write("set up", [&](Writer& writer) -> Result<void> {
    must(writer.put_mapping("club sheet", "unit = \"lb\""));
    must(writer.put_exercise_edit("squat", "name = \"squat\""));
    must(writer.put_template("three days", "..."));
    must(writer.put_setting("week-start", "Mon"));
    must(writer.put_setting("week-start", "Sun"));
    must(writer.put_place(place));
    must(writer.put_policy("", ReservePolicy{}));
    must(writer.put_policy("ines", policy));
    must(writer.put_import(import));
    must(writer.put_sheet(sheet));
    EXPECT_EQ(writer.put_policy("nobody", policy).error().code, Code::not_found);
    EXPECT_EQ(writer.remove_mapping("none").error().code, Code::not_found);
    return {};
  });
  reopen();
  EXPECT_EQ(must(store_->mapping("club sheet")), "unit = \"lb\"");
  EXPECT_EQ(must(store_->mapping("other")), std::nullopt);
  EXPECT_EQ(must(store_->mappings()).size(), 1u);
  EXPECT_EQ(must(store_->exercise_edits())[0].name, "squat");
  EXPECT_EQ(must(store_->exercise_edit("squat")), "name = \"squat\"");
  EXPECT_EQ(must(store_->template_text("three days")), "...");
  EXPECT_EQ(must(store_->setting("week-start")), "Sun");
  EXPECT_EQ(must(store_->settings()), (std::vector<NamedText>{{"week-start", "Sun"}}));
  EXPECT_EQ(must(store_->place("boathouse")), place);
  EXPECT_EQ(must(store_->places()).size(), 1u);
  const auto read = must(store_->policy("ines"));
  ASSERT_TRUE(read);
  EXPECT_EQ(read->of(ExerciseClass::isolation).most_reserve, 1.5);
  EXPECT_TRUE(read->of(ExerciseClass::barbell_compound).last_set_failure);
  EXPECT_EQ(read->light_share, 0.1 + 0.2);
  EXPECT_EQ(must(store_->policy("bo")).has_value(), false);
  EXPECT_EQ(must(store_->policy(""))->light_share, 0.5);
  const auto imports = must(store_->imports());
  ASSERT_EQ(imports.size(), 1u);
  EXPECT_EQ(imports[0].time, "2026-03-09T12:00:00.000Z");
  EXPECT_EQ(imports[0].added, 7);
  EXPECT_EQ(must(store_->sheet("ines", day_, "")), sheet);
  EXPECT_EQ(must(store_->sheets("ines")).size(), 1u);
  write("tidy", [&](Writer& writer) -> Result<void> {
    must(writer.remove_mapping("club sheet"));
    must(writer.remove_exercise_edit("squat"));
    must(writer.remove_template("three days"));
    must(writer.remove_setting("week-start"));
    must(writer.remove_place("boathouse"));
    must(writer.remove_policy("ines"));
    must(writer.remove_sheet("ines", day_, ""));
    return {};
  });
  EXPECT_TRUE(must(store_->places()).empty());
  must(store_->undo());
  EXPECT_EQ(must(store_->place("boathouse")), place);
}

TEST_P(StoreContract, KeepsTheHealthRecord) {
  add_lifters();
  safety::HealthRecord record;
  record.intakes.push_back({day_,
                            "coach",
                            {{safety::Question::heart_disease, safety::Answer::yes, "since birth"},
                             {safety::Question::pregnancy, safety::Answer::not_asked, ""}}});
  record.intakes.push_back({day_ + 3, "coach", {}});
  record.holds.push_back({"h2", day_, "heart", safety::Question::heart_disease, std::nullopt, ""});
  record.holds.push_back({"h1", day_, "the coach's", std::nullopt, day_ + 1, "coach, on the phone"});
  record.words.push_back(
      {"w", day_ + 2, "Dr Invented", "coach", 3.0, 0.7, {"squat"}, {"dip"}, day_ + 60, {"h2"}, "slowly"});
  record.consent = safety::GuardianConsent{day_, "A. Parent", "coach"};
  record.pains.push_back({"p", day_, "dip", "shoulder", std::nullopt, ""});
  record.extra_reserve_lifted = safety::ExtraReserveLifted{day_ + 9, "coach"};
  const auto first = write("intake", [&](Writer& writer) { return writer.put_health("ines", record); });
  reopen();
  auto read = must(store_->health("ines"));
  ASSERT_EQ(read.intakes.size(), 2u);
  EXPECT_EQ(read.intakes[0].answers[0].detail, "since birth");
  EXPECT_EQ(read.intakes[0].answers[0].answer, safety::Answer::yes);
  EXPECT_EQ(read.intakes[0].answers[1].question, safety::Question::pregnancy);
  ASSERT_EQ(read.holds.size(), 2u);
  EXPECT_EQ(read.holds[0].id, "h2");
  EXPECT_EQ(read.holds[0].question, safety::Question::heart_disease);
  EXPECT_EQ(read.holds[1].lifted, day_ + 1);
  ASSERT_EQ(read.words.size(), 1u);
  EXPECT_EQ(read.words[0].least_reserve, 3.0);
  EXPECT_EQ(read.words[0].load_cap_share, 0.7);
  EXPECT_EQ(read.words[0].only_exercises, std::vector<std::string>{"squat"});
  EXPECT_EQ(read.words[0].lifts_holds, std::vector<std::string>{"h2"});
  EXPECT_EQ(read.words[0].until, day_ + 60);
  EXPECT_EQ(read.consent->guardian, "A. Parent");
  EXPECT_EQ(read.pains[0].note, "shoulder");
  EXPECT_EQ(read.extra_reserve_lifted->date, day_ + 9);

  record.holds.erase(record.holds.begin());
  record.consent.reset();
  record.pains[0].cleared = day_ + 5;
  write("lift", [&](Writer& writer) { return writer.put_health("ines", record); });
  read = must(store_->health("ines"));
  EXPECT_EQ(read.holds.size(), 1u);
  EXPECT_FALSE(read.consent);
  EXPECT_EQ(read.pains[0].cleared, day_ + 5);
  must(store_->undo());
  EXPECT_EQ(must(store_->health("ines")).holds[0].id, "h2");
  must(store_->undo(first));
  EXPECT_TRUE(must(store_->health("ines")).intakes.empty());
  record.holds.push_back(record.holds[0]);
  EXPECT_EQ(store_->change("twice", [&](Writer& writer) { return writer.put_health("ines", record); }).error().code,
            Code::invalid_input);
}

TEST_P(StoreContract, AChangeIsAllOrNothing) {
  add_lifters();
  const auto outcome = store_->change("fails late", [&](Writer& writer) -> Result<void> {
    must(writer.merge_sets("ines", sample_log(day_, 3), {}));
    must(writer.put_setting("a", "b"));
    EXPECT_EQ(must(store_->set_count("ines")), 60) << "reads see the change's own writes";
    return fail(Code::cancelled, "stopped");
  });
  EXPECT_EQ(outcome.error().code, Code::cancelled);
  EXPECT_THROW((void)store_->change("throws",
                                    [&](Writer& writer) -> Result<void> {
                                      must(writer.put_setting("a", "b"));
                                      throw std::runtime_error("a fault");
                                    }),
               std::runtime_error);
  EXPECT_EQ(must(store_->set_count("ines")), 0);
  EXPECT_TRUE(must(store_->settings()).empty());
  EXPECT_EQ(must(store_->history(100)).size(), 1u);
  EXPECT_EQ(must(store_->change("nothing", [](Writer&) -> Result<void> { return {}; })), 0);
  EXPECT_EQ(store_
                ->change("outer",
                         [&](Writer&) -> Result<void> {
                           const auto inner = store_->change("inner", [](Writer&) -> Result<void> { return {}; });
                           return inner ? Result<void>() : tl::unexpected<Error>(inner.error());
                         })
                .error()
                .code,
            Code::internal);
}

TEST_P(StoreContract, AFailedWriteInsideAChangeLeavesTheRest) {
  add_lifters();
  write("part", [&](Writer& writer) -> Result<void> {
    must(writer.put_setting("a", "b"));
    auto log = sample_log(day_, 2);
    log[30].note = "\xff";
    EXPECT_EQ(writer.merge_sets("ines", log, {}).error().code, Code::invalid_input);
    return {};
  });
  EXPECT_EQ(must(store_->set_count("ines")), 0);
  EXPECT_EQ(must(store_->setting("a")), "b");
  must(store_->undo());
  EXPECT_EQ(must(store_->setting("a")), std::nullopt);
}

TEST_P(StoreContract, HistoryTellsWhoWhatAndWhen) {
  add_lifters();
  clock_.move_milliseconds(1500);
  const auto id =
      write("weigh Bo", [&](Writer& writer) { return writer.put_body_mass("bo", {day_, {80, Unit::kilogram}}); });
  merge("bo", sample_log(day_, 1));
  const auto history = must(store_->history(2));
  ASSERT_EQ(history.size(), 2u);
  EXPECT_EQ(history[0].rows, 20);
  EXPECT_EQ(history[1].id, id);
  EXPECT_EQ(history[1].what, "weigh Bo");
  EXPECT_EQ(history[1].who, "tester");
  EXPECT_EQ(history[1].time, "2026-03-09T12:00:01.500Z");
  EXPECT_EQ(history[1].rows, 1);
  const auto rows = must(store_->change_rows(id));
  ASSERT_EQ(rows.size(), 1u);
  EXPECT_EQ(rows[0].table, "body_mass");
  EXPECT_EQ(rows[0].before, "");
  EXPECT_THAT(rows[0].after, testing::HasSubstr("\"amount\":\"80\""));
  EXPECT_EQ(must(store_->change_rows(history[0].id)).size(), 20u);
  EXPECT_EQ(store_->change_rows(99).error().code, Code::not_found);
}

TEST_P(StoreContract, UndoGoesBackStepByStepAlsoAfterReopening) {
  add_lifters();
  write("a", [](Writer& writer) { return writer.put_setting("k", "1"); });
  const auto second = write("b", [](Writer& writer) { return writer.put_setting("k", "2"); });
  reopen();
  const auto undo = must(store_->undo());
  EXPECT_EQ(must(store_->setting("k")), "1");
  EXPECT_EQ(must(store_->history(1))[0].undoes, second);
  EXPECT_EQ(must(store_->history(2))[1].undone_by, undo);
  EXPECT_EQ(store_->undo(second).error().code, Code::conflict) << "already undone";
  must(store_->undo());
  EXPECT_EQ(must(store_->setting("k")), std::nullopt);
  must(store_->undo());
  EXPECT_TRUE(must(store_->lifters()).empty());
  EXPECT_EQ(store_->undo().error().code, Code::not_found);
  EXPECT_EQ(store_->undo(99).error().code, Code::not_found);
}

TEST_P(StoreContract, AnUndoCanBeUndone) {
  add_lifters();
  const auto log = sample_log(day_, 4);
  const auto import = write("import", [&](Writer& writer) -> Result<void> {
    must(writer.merge_sets("ines", log, {}));
    return {};
  });
  const auto stored = must(store_->sets("ines"));
  const auto undo = must(store_->undo(import));
  EXPECT_TRUE(sets_of("ines").empty());
  const auto redo = must(store_->undo(undo));
  EXPECT_EQ(sets_of("ines"), log);
  EXPECT_EQ(must(store_->sets("ines"))[7].id, stored[7].id);
  EXPECT_EQ(store_->undo(undo).error().code, Code::conflict);
  must(store_->undo(import));
  EXPECT_TRUE(sets_of("ines").empty());
  (void)redo;
}

TEST_P(StoreContract, UndoRefusesWhenALaterChangeTouchedTheSameRowsAndNamesIt) {
  add_lifters();
  const auto import = write("read march.csv", [&](Writer& writer) -> Result<void> {
    must(writer.merge_sets("ines", sample_log(day_, 2), {}));
    return {};
  });
  const auto stored = must(store_->sets("ines"));
  auto set = stored[5].set;
  set.note = "slow";
  const auto edit = write("note on a set", [&](Writer& writer) { return writer.update_set(stored[5].id, set); });
  auto refused = store_->undo(import);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, Code::conflict);
  EXPECT_THAT(refused.error().message, testing::HasSubstr("change " + std::to_string(edit) + " (note on a set)"));
  must(store_->undo(edit));
  must(store_->undo(import));
  EXPECT_EQ(must(store_->set_count("ines")), 0);

  // A lifter cannot go while sets rest on them, nor can a set come back where another one stands now.
  const auto log_set = [&](const char* what) {
    return write(what, [&](Writer& writer) -> Result<void> {
      must(writer.append_set("bo", sample_set(day_, "squat", 100, 5)));
      return {};
    });
  };
  const auto logged = log_set("log a set");
  refused = store_->undo(1);
  EXPECT_EQ(refused.error().code, Code::conflict);
  EXPECT_THAT(refused.error().message, testing::HasSubstr("change " + std::to_string(logged) + " (log a set)"));
  const auto removed =
      write("remove it", [&](Writer& writer) { return writer.remove_set(must(store_->sets("bo"))[0].id); });
  const auto other = log_set("log it anew");
  refused = store_->undo(removed);
  EXPECT_EQ(refused.error().code, Code::conflict);
  EXPECT_THAT(refused.error().message, testing::HasSubstr("change " + std::to_string(other) + " (log it anew)"));
  must(store_->undo(other));
  must(store_->undo(removed));
  EXPECT_EQ(must(store_->set_count("bo")), 1);
}

TEST_P(StoreContract, RemovingALifterCanBeUndone) {
  add_lifters();
  const auto log = sample_log(day_, 3);
  merge("ines", log);
  write("policy", [](Writer& writer) { return writer.put_policy("ines", ReservePolicy{}); });
  must(store_->put_estimate({"ines", "1", "", must(store_->truth_mark("ines")), "bytes"}));
  const auto removed = write("remove", [](Writer& writer) { return writer.remove_lifter("ines"); });
  EXPECT_EQ(store_->lifter("ines").error().code, Code::not_found);
  EXPECT_EQ(must(store_->set_count("ines")), 0);
  must(store_->undo(removed));
  EXPECT_EQ(sets_of("ines"), log);
  EXPECT_TRUE(must(store_->policy("ines")));
  EXPECT_FALSE(must(store_->estimate("ines"))) << "derived entries do not come back";
}

TEST_P(StoreContract, DerivedEntriesStandOutsideHistoryAndKnowWhenTheyAreOld) {
  add_lifters();
  merge("ines", sample_log(day_, 1));
  const std::string blob("\0\xff bytes\0", 9);
  const auto mark = must(store_->truth_mark("ines"));
  const auto changes = must(store_->history(100)).size();
  must(store_->put_estimate({"ines", "3", "", mark, blob}));
  EXPECT_EQ(must(store_->history(100)).size(), changes);
  const auto estimate = must(store_->estimate("ines"));
  EXPECT_EQ(estimate->blob, blob);
  EXPECT_EQ(estimate->model_version, "3");
  EXPECT_EQ(estimate->fitted_at, "2026-03-09T12:00:00.000Z");
  write("sheet", [&](Writer& writer) { return writer.put_sheet({"ines", day_, "", "{}"}); });
  write("Bo", [&](Writer& writer) { return writer.put_body_mass("bo", {day_, {80, Unit::kilogram}}); });
  EXPECT_EQ(must(store_->truth_mark("ines")), mark);
  write("log", [&](Writer& writer) -> Result<void> {
    must(writer.append_set("ines", sample_set(day_, "squat", 100, 5)));
    return {};
  });
  const auto after_log = must(store_->truth_mark("ines"));
  EXPECT_NE(after_log, mark);
  write("library", [&](Writer& writer) { return writer.put_exercise_edit("squat", "x"); });
  EXPECT_NE(must(store_->truth_mark("ines")), after_log);
  EXPECT_EQ(store_->put_estimate({"nobody", "3", "", mark, blob}).error().code, Code::not_found);
  must(store_->drop_derived(""));
  EXPECT_FALSE(must(store_->estimate("ines")));
}

TEST_P(StoreContract, CountsWhatIsHeld) {
  add_lifters();
  merge("ines", sample_log(day_, 2));
  write("weigh", [&](Writer& writer) { return writer.put_body_mass("ines", {day_, {60, Unit::kilogram}}); });
  std::map<std::string, std::int64_t> held;
  for (const auto& each : must(store_->what_is_held("ines"))) held[each.table] = each.rows;
  EXPECT_EQ(held["training_set"], 40);
  EXPECT_EQ(held["lifter"], 1);
  EXPECT_EQ(held["body_mass"], 1);
  EXPECT_TRUE(must(store_->what_is_held("nobody")).empty());
}

INSTANTIATE_TEST_SUITE_P(Kinds, StoreContract,
                         testing::Values(Kind{"sqlite",
                                              [](const std::string& path, Clock& clock) {
                                                return must(open_sqlite(path, clock, "tester"));
                                              }}),
                         [](const auto& kind) { return kind.param.name; });

}  // namespace
}  // namespace ullage::store
