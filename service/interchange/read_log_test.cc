#include "service/interchange/read_log.h"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "engine/base/random.h"
#include "service/interchange/csv_reader.h"
#include "service/interchange/write_log.h"

namespace ullage::interchange {
namespace {

const Date kToday = *make_date(2026, 3, 10);
const std::string kData = std::string(ULLAGE_SOURCE_DIR) + "/tests/data/";

using Texts = std::vector<std::string>;

struct Reading {
  std::string error;  // of the whole
  Texts faults;
  Texts remarks;
  LogSummary summary;
  std::vector<LoggedSet> sets;
};

Reading read(ByteSource& source, ReadLogOptions options = {}) {
  if (options.today.days == 0) options.today = kToday;
  Reading reading;
  auto summary = read_log(source, options, [&](LoggedSet&& set) { reading.sets.push_back(std::move(set)); });
  if (!summary) {
    reading.error = summary.error().message;
    return reading;
  }
  for (const Fault& fault : summary->faults) reading.faults.push_back(fault_text(fault));
  for (const Fault& remark : summary->remarks) reading.remarks.push_back(fault_text(remark));
  EXPECT_EQ(summary->sets, reading.sets.size());
  reading.summary = std::move(*summary);
  return reading;
}

Reading read_text(std::string_view text, ReadLogOptions options = {}) {
  StringSource source(text);
  return read(source, std::move(options));
}

Reading read_file(const std::string& name, ReadLogOptions options = {}) {
  auto source = FileSource::open(kData + name);
  if (!source) {
    ADD_FAILURE() << source.error().message;
    return {};
  }
  return read(*source, std::move(options));
}

Mapping mapping_of(std::string_view toml) {
  auto mapping = parse_mapping(toml);
  if (!mapping) {
    ADD_FAILURE() << mapping.error().message;
    return {};
  }
  return *mapping;
}

Reading read_mapped(const std::string& name, const Mapping& mapping, ReadLogOptions options = {}) {
  options.mapping = &mapping;
  return read_file(name, std::move(options));
}

ExerciseMatch small_library(std::string_view text) {
  if (text == "squat" || text == "Squat" || text == "Kniebeuge") return {"squat", {}};
  if (text == "leg press") return {"leg-press", {}};
  if (text == "Bankdrücken") return {"", {"bench press", "incline press"}};
  return {"", {}};
}

TEST(ReadLog, ASetThatFailedHadNoneLeft) {
  const Reading reading = read_text(
      "lifter,date,exercise,load,reps,called_reserve,failed,stop,called_at_rep\n"
      "Ida,2026-03-09,squat,80,4,2,1,,\nIda,2026-03-09,squat,80,4,5+,,failed,\nIda,2026-03-09,squat,80,4,0,1,,\n"
      "Ida,2026-03-09,squat,80,4,2,1,,3\nIda,2026-03-09,squat,80,4,2,0,,\n");
  EXPECT_EQ(reading.faults,
            (Texts{"line 2, column called_reserve: \"2\" is not 0 or blank, as of a set that failed",
                   "line 3, column called_reserve: \"5+\" is not 0 or blank, as of a set that failed"}));
}

TEST(ReadLog, EveryColumnOfTheLog) {
  const Reading reading = read_text(
      "note,lifter,date,exercise,load,unit,reps,called_reserve,failed,rest_s,last_rep_speed,kind,pain,stop,planned_"
      "reps,"
      "cue,called_at_rep,session,place,side,joined,part_of,part,body_mass,tempo,partial_reps,extra_kind,Mood\n"
      "a note,Ida "
      "Roos,2026-03-09T18:40+01:00,squat,225,lb,5,5+,yes,180.5,0.31,test,1,cue,6,1.5,4,evening,cellar,left,A,"
      "d1,2,142 lb,3-1-1,2,band,fine\n");
  ASSERT_EQ(reading.error, "");
  ASSERT_EQ(reading.faults, Texts{});
  ASSERT_EQ(reading.sets.size(), 1u);
  SetRecord expected;
  expected.date = *make_date(2026, 3, 9);
  expected.time = "18:40+01:00";
  expected.session = "evening";
  expected.exercise = "squat";
  expected.side = Side::left;
  expected.load = {225, Unit::pound};
  expected.reps = 5;
  expected.failed = true;
  expected.called = Call{5, true};
  expected.called_at_rep = 4;
  expected.rest_s = 180.5;
  expected.last_rep_speed = 0.31;
  expected.kind = SetKind::test;
  expected.stop = Stop::cue;
  expected.planned_reps = 6;
  expected.cue = Call{1.5, false};
  expected.pain = true;
  expected.note = "a note";
  expected.place = "cellar";
  expected.joined = "A";
  expected.part_of = "d1";
  expected.part = 2;
  expected.body_mass = Load{142, Unit::pound};
  expected.tempo = "3-1-1";
  expected.partial_reps = 2;
  expected.extra_kind = ExtraKind::band;
  expected.extra = {{"Mood", "fine"}};
  EXPECT_TRUE(reading.sets[0].set == expected);
  EXPECT_EQ(reading.sets[0].lifter, "Ida Roos");
  EXPECT_EQ(reading.sets[0].line, 2u);
  EXPECT_EQ(reading.summary.kept_as_notes, Texts{"Mood"});
}

TEST(ReadLog, TheLifterMayComeFromTheCaller) {
  ReadLogOptions options;
  options.lifter = "Ida Roos";
  const Reading reading = read_text("date,exercise,load,reps\n2026-03-09,squat,80,8\n", options);
  ASSERT_EQ(reading.sets.size(), 1u);
  EXPECT_EQ(reading.sets[0].lifter, "Ida Roos");
  EXPECT_EQ(read_text("date,exercise,load,reps\n2026-03-09,squat,80,8\n").error.substr(0, 33),
            "the header has no column lifter (");
  EXPECT_EQ(read_text("lifter,date,exercise,load,reps\n,2026-03-09,squat,80,8\n").faults,
            Texts{"line 2, column lifter: \"\" is not a lifter's name"});
  EXPECT_EQ(read_text("lifter,date,exercise,load,reps\n\"Ida\nRoos\",2026-03-09,squat,80,8\n").faults.size(), 1u);
}

TEST(ReadLog, NotAttemptedAndFailedSets) {
  const Reading reading = read_text(
      "lifter,date,exercise,load,reps,failed,stop\nIda,2026-03-09,squat,80,0,0,\nIda,2026-03-09,squat,80,0,1,\n"
      "Ida,2026-03-09,squat,80,4,,failed\nIda,2026-03-09,squat,80,4,0,failed\n");
  EXPECT_EQ(reading.faults, Texts{});
  EXPECT_EQ(reading.remarks,
            (Texts{"line 2, column reps: 0 reps and no failed one: kept as a set that was not attempted",
                   "line 5, column stop: the set ended by failing, but no failed rep is recorded"}));
  ASSERT_EQ(reading.sets.size(), 4u);
  EXPECT_TRUE(reading.sets[1].set.failed);
  EXPECT_TRUE(reading.sets[2].set.failed) << "a stop by failing says it when the column failed is blank";
  EXPECT_FALSE(reading.sets[3].set.failed);
}

TEST(ReadLog, UnknownExercisesAreListedWithTheNearest) {
  ReadLogOptions options;
  options.resolve = small_library;
  const Reading reading = read_text(
      "lifter,date,exercise,load,reps\nIda,2026-03-09,Bankdrücken,80,8\nIda,2026-03-09,squat,80,8\n"
      "Ida,2026-03-09,Bankdrücken,80,8\nIda,2026-03-09,xyz,80,8\n",
      options);
  EXPECT_EQ(reading.faults,
            (Texts{"line 2, column exercise: \"Bankdrücken\" is not an exercise in the library; nearest: bench press, "
                   "incline press",
                   "line 4, column exercise: \"Bankdrücken\" is not an exercise in the library; nearest: bench press, "
                   "incline press",
                   "line 5, column exercise: \"xyz\" is not an exercise in the library"}));
  ASSERT_EQ(reading.summary.unknown_exercises.size(), 2u);
  EXPECT_EQ(reading.summary.unknown_exercises[0].rows, 2u);
  EXPECT_EQ(reading.summary.unknown_exercises[0].first_line, 2u);
  EXPECT_EQ(reading.sets.size(), 1u);
}

TEST(ReadLog, FaultsAreCountedBeyondThoseKept) {
  std::string text = "lifter,date,exercise,load,reps\n";
  for (int i = 0; i < 50; ++i) text += "Ida,2026-03-09,squat,80,x\n";
  ReadLogOptions options;
  options.most_faults = 10;
  const Reading reading = read_text(text, options);
  EXPECT_EQ(reading.faults.size(), 10u);
  EXPECT_EQ(reading.summary.fault_count, 50u);
  EXPECT_EQ(reading.summary.bad_rows, 50u);
  EXPECT_EQ(reading.summary.rows, 50u);
}

TEST(ReadLog, StopsWhenTold) {
  std::string text = "lifter,date,exercise,load,reps\n";
  while (text.size() < 2000000) text += "Ida,2026-03-09,squat,80,8\n";
  ReadLogOptions options;
  options.today = kToday;
  options.progress = [](std::uint64_t done, std::uint64_t total) { return done < total / 2; };
  StringSource source(text);
  const auto summary = read_log(source, options, {});
  ASSERT_FALSE(summary);
  EXPECT_EQ(summary.error().code, Code::cancelled);
}

TEST(ReadLog, NothingToRead) {
  EXPECT_EQ(read_text("").error, "the file is empty");
  EXPECT_EQ(read_text("lifter,date,exercise,load,reps\n").summary.rows, 0u);
  const auto missing = FileSource::open(kData + "no-such-file.csv");
  ASSERT_FALSE(missing);
  EXPECT_EQ(missing.error().code, Code::not_found);
}

// ---- messy files ----

TEST(MessyFiles, SemicolonsAndDecimalCommas) {
  const Mapping mapping = mapping_of(R"toml([file]
header_row = 3
decimal_comma = true
date_order = "dmy"
[columns]
date = "Day"
exercise = "Lift"
load = "Weight (kg)"
reps = "Reps"
called_reserve = "RIR"
note = "Comment"
[constants]
lifter = "Mara Lind"
unit = "kg"
)toml");
  const Reading reading = read_mapped("messy/semicolon-comma.csv", mapping);
  EXPECT_EQ(reading.error, "");
  EXPECT_EQ(
      reading.faults,
      (Texts{
          "line 6, column Weight (kg): \"1.102,5\" is not a number with a decimal comma and no thousands separators",
          "line 7, column Weight (kg): \"105.0\" is not a number with a decimal comma and no thousands separators"}));
  ASSERT_EQ(reading.sets.size(), 2u);
  EXPECT_EQ(reading.sets[0].set.load.amount, 102.5);
  EXPECT_EQ(reading.sets[0].set.called, (Call{2.5, false}));
  EXPECT_EQ(date_text(reading.sets[1].set.date), "2025-03-11");
  EXPECT_EQ(reading.sets[1].set.exercise, "Bankdrücken");
  EXPECT_EQ(reading.sets[1].set.note, "schwer; aber sauber");
  EXPECT_EQ(reading.sets[1].lifter, "Mara Lind");
}

TEST(MessyFiles, Utf16) {
  const Reading little = read_file("messy/utf16-little.csv");
  EXPECT_EQ(little.faults, Texts{"line 3, column reps: \"åtta\" is not a whole number of 0 or more"});
  ASSERT_EQ(little.sets.size(), 1u);
  EXPECT_EQ(little.sets[0].lifter, "Åsa Ek");
  EXPECT_EQ(little.sets[0].set.note, "bra 💪 dag");
  EXPECT_EQ(little.summary.found, (Texts{"the text is in utf-16-little", "columns are parted by tabs"}));
  const Reading big = read_file("messy/utf16-big-unmarked.csv");
  EXPECT_EQ(big.faults, Texts{});
  ASSERT_EQ(big.sets.size(), 1u);
  EXPECT_EQ(big.sets[0].lifter, "Åsa Ek");
}

TEST(MessyFiles, QuotesWithLineBreaks) {
  const Reading reading = read_file("messy/quoted-lines.csv");
  EXPECT_EQ(reading.faults,
            (Texts{"line 5, column reps: \"-3\" is not a whole number of 0 or more",
                   "line 8, column note: text after the closing quote: a quote inside a text must be doubled"}));
  ASSERT_EQ(reading.sets.size(), 2u);
  EXPECT_EQ(reading.sets[0].set.note, "first line\nsecond line, with a comma\r\nthird \"quoted\" line");
  EXPECT_EQ(reading.sets[1].set.note, "a 5\" block under the heel");
  EXPECT_EQ(reading.sets[1].line, 7u);
}

TEST(MessyFiles, StrayDelimiters) {
  const Reading reading = read_file("messy/stray-delimiters.csv");
  EXPECT_EQ(reading.faults,
            (Texts{"line 3: 7 columns where the header has 6: a text with \",\" in it must stand in quotes",
                   "line 4: 7 columns where the header has 6: a text with \",\" in it must stand in quotes",
                   "line 5: 4 columns where the header has 6"}));
  EXPECT_EQ(reading.sets.size(), 2u);
}

TEST(MessyFiles, ImpossibleNumbers) {
  const Reading reading = read_file("messy/impossible-numbers.csv");
  EXPECT_EQ(
      reading.faults,
      (Texts{
          "line 3, column reps: \"-3\" is not a whole number of 0 or more",
          "line 4, column reps: \"7.5\" is not a whole number of 0 or more",
          "line 5, column reps: \"501\" is not a number of 500 or less",
          "line 6, column load: \"5000\" is not a load between -1500 and 1500 kg",
          "line 7, column load: \"-3400\" is not a load between -1500 and 1500 kg",
          "line 8, column load: \"1,000\" is not a number with a decimal point and no thousands separators",
          "line 9, column unit: \"stone\" is not kg, lb or mark",
          "line 10, column called_reserve: \"11\" is not a reserve of 0 to 10 in halves, or an open one such as 5+",
          "line 11, column called_reserve: \"1.3\" is not a reserve of 0 to 10 in halves, or an open one such as 5+",
          "line 12, column failed: \"maybe\" is not 0, 1, yes or no",
          "line 13, column rest_s: \"-5\" is not a rest of 0 to 86400 seconds (24 hours)",
          "line 14, column rest_s: \"90000\" is not a rest of 0 to 86400 seconds (24 hours)",
          "line 15, column last_rep_speed: \"7\" is not a speed of 0 to 5 m/s",
          "line 16, column kind: \"hard\" is not work, warmup or test",
          "line 17, column side: \"middle\" is not both, left or right",
          "line 18, column body_mass: \"645\" is not a body mass between 20 and 400 kg",
          "line 19, column stop: \"tired\" is not planned, cue, failed or unknown",
          "line 20, column pain: \"ouch\" is not 0, 1, yes or no",
          "line 21, column exercise: \"\" is not an exercise",
          "line 21, column load: \"\" is not a load; 0 says that none was added",
          "line 21, column reps: \"\" is not a whole number of 0 or more",
          "line 23, column load: \"nan\" is not a number",
          "line 23, column reps: \"inf\" is not a whole number of 0 or more",
      }));
  EXPECT_EQ(reading.sets.size(), 2u);
  EXPECT_EQ(reading.summary.bad_rows, 20u);
  EXPECT_EQ(reading.remarks.size(), 1u);
}

TEST(MessyFiles, BadDates) {
  const Reading reading = read_file("messy/bad-dates.csv");
  const std::string iso = "a date such as 2026-03-09, or 2026-03-09T18:40";
  const std::string range = "a day from 1950-01-01 to 2026-03-11";
  EXPECT_EQ(reading.faults, (Texts{
                                "line 4, column date: \"2026-03-12\" is not " + range,
                                "line 5, column date: \"2030-01-01\" is not " + range,
                                "line 6, column date: \"2026-02-30\" is not a day of the calendar",
                                "line 7, column date: \"1949-12-31\" is not " + range,
                                "line 8, column date: \"03/04/2026\" is not " + iso +
                                    " (other ways of writing one are read through a mapping)",
                                "line 9, column date: \"yesterday\" is not " + iso,
                                "line 10, column date: \"\" is not " + iso,
                                "line 11, column date: \"2026-03-09T25:10\" is not " + iso,
                            }));
  ASSERT_EQ(reading.sets.size(), 3u);
  EXPECT_EQ(reading.sets[2].set.time, "18:40+02:00");
}

TEST(MessyFiles, DuplicateHeaders) {
  EXPECT_EQ(read_file("messy/duplicate-headers.csv").error,
            "the header has reps twice (columns 4 and 6): rename or remove one");
  const std::string toml =
      "[columns]\ndate = \"Date\"\nexercise = \"Lift\"\nreps = \"Reps\"\nlifter = \"Who\"\n[constants]\nunit = "
      "\"kg\"\n";
  Mapping mapping = mapping_of(toml);
  mapping.columns[LogColumn::load].columns = {"Weight"};
  EXPECT_EQ(
      read_mapped("messy/duplicate-source-headers.csv", mapping).error,
      "the table has the column \"Weight\" twice (columns 4 and 5): name it by its place in the mapping, such as #4");
  mapping.columns[LogColumn::load].columns = {"#4"};
  const Reading reading = read_mapped("messy/duplicate-source-headers.csv", mapping);
  EXPECT_EQ(reading.error, "");
  ASSERT_EQ(reading.sets.size(), 1u);
  EXPECT_EQ(reading.sets[0].set.load, (Load{80, Unit::kilogram}));
  EXPECT_EQ(reading.sets[0].set.extra, (std::vector<std::pair<std::string, std::string>>{{"Weight", "176"}}));
}

TEST(MessyFiles, MissingHeaderAndMissingColumn) {
  EXPECT_EQ(read_file("messy/missing-header.csv").error,
            "the first row names none of the log's columns (it has: Ida Roos, 2026-03-09, squat, 80, 8): is the header "
            "line missing? A table with other names is read through a mapping");
  EXPECT_EQ(read_file("messy/missing-column.csv").error,
            "the header has no column load (it has: lifter, date, exercise, weight, reps); a table with other names is "
            "read through a mapping");
  const Mapping mapping = mapping_of(
      "[file]\nheader_row = 0\n[columns]\nlifter = \"#1\"\ndate = \"#2\"\nexercise = \"#3\"\nload = \"#4\"\nreps = "
      "\"#5\"\n[constants]\nunit = \"kg\"\n");
  const Reading reading = read_mapped("messy/missing-header.csv", mapping);
  EXPECT_EQ(reading.error, "");
  EXPECT_EQ(reading.sets.size(), 2u);
}

TEST(MessyFiles, MixedUnits) {
  const Reading reading = read_file("messy/mixed-units.csv");
  EXPECT_EQ(reading.faults, (Texts{"line 5, column load: \"225 lb\" is not in kg, as the row's unit says",
                                   "line 8, column load: \"225 st\" is not a number"}));
  ASSERT_EQ(reading.sets.size(), 5u);
  EXPECT_EQ(reading.sets[0].set.load, (Load{225, Unit::pound}));
  EXPECT_EQ(reading.sets[1].set.load, (Load{102.5, Unit::kilogram}));
  EXPECT_EQ(reading.sets[1].set.body_mass, (Load{64.5, Unit::kilogram}));
  EXPECT_EQ(reading.sets[2].set.load, (Load{225, Unit::pound}));
  EXPECT_EQ(reading.sets[2].set.body_mass, (Load{142, Unit::pound}));
  EXPECT_EQ(reading.sets[3].set.load, (Load{12, Unit::mark}));
  EXPECT_EQ(reading.sets[3].set.body_mass, (Load{64.5, Unit::kilogram}));
  EXPECT_EQ(reading.sets[4].set.body_mass, (Load{142, Unit::pound})) << "a bare body mass is in the row's unit";
}

TEST(MessyFiles, TrailingBlankColumns) {
  const Reading reading = read_file("messy/trailing-blanks.csv");
  EXPECT_EQ(reading.faults,
            (Texts{"line 3: 11 columns where the header has 8: a text with \",\" in it must stand in quotes",
                   "line 4: 5 columns where the header has 8"}));
  ASSERT_EQ(reading.sets.size(), 2u);
  EXPECT_TRUE(reading.sets[0].set.extra.empty());
  EXPECT_EQ(reading.sets[1].set.extra, (std::vector<std::pair<std::string, std::string>>{{"#7", "x"}}));
  EXPECT_TRUE(reading.summary.kept_as_notes.empty());
  EXPECT_EQ(reading.summary.rows, 4u);
}

TEST(MessyFiles, AmbiguousDatesAreAskedNeverGuessed) {
  const std::string toml =
      "[columns]\nlifter = \"Who\"\ndate = \"Date\"\nexercise = \"Lift\"\nload = { column = \"kg\", unit = \"kg\" "
      "}\nreps "
      "= \"Reps\"\n";
  Mapping mapping = mapping_of(toml);
  EXPECT_EQ(
      read_mapped("messy/ambiguous-dates.csv", mapping).error,
      "the dates can be read day first or month first (line 2: \"03/04/2025\") and no date in the file decides it: "
      "set date_order = \"dmy\" or \"mdy\" in the mapping");
  const Reading day_first = read_mapped("messy/day-first-dates.csv", mapping);
  EXPECT_EQ(day_first.summary.found, Texts{"dates are read day first, because of line 3: \"25/12/2025\""});
  ASSERT_EQ(day_first.sets.size(), 2u);
  EXPECT_EQ(date_text(day_first.sets[0].set.date), "2025-04-03");
  const Reading month_first = read_mapped("messy/month-first-dates.csv", mapping);
  EXPECT_EQ(month_first.summary.found, Texts{"dates are read month first, because of line 3: \"2/28/25 6:40 PM\""});
  ASSERT_EQ(month_first.sets.size(), 2u);
  EXPECT_EQ(date_text(month_first.sets[0].set.date), "2025-03-04");
  EXPECT_EQ(month_first.sets[1].set.time, "18:40");
  EXPECT_EQ(
      read_mapped("messy/contradictory-dates.csv", mapping).error,
      "the dates do not agree on one order: line 3: \"12/25/2024\" cannot be day first, line 2: \"25/12/2024\" cannot "
      "be month first. Correct the file, or set date_order in the mapping to have the others listed as faults");
  mapping.date_order = DateOrder::mdy;
  EXPECT_EQ(date_text(read_mapped("messy/ambiguous-dates.csv", mapping).sets.at(0).set.date), "2025-03-04");
  const Reading contradictory = read_mapped("messy/contradictory-dates.csv", mapping);
  EXPECT_EQ(contradictory.faults,
            Texts{"line 2, column Date: \"25/12/2024\" is not a day of the calendar (date_order = \"mdy\")"});
}

TEST(MessyFiles, BrokenText) {
  const Reading reading = read_file("messy/broken-text.csv");
  const std::string utf8 =
      "holds bytes that are not text in utf-8: save the file as UTF-8, or name its encoding in a mapping";
  EXPECT_EQ(
      reading.faults,
      (Texts{"line 2, column note: " + utf8, "line 3, column note: holds a NUL byte", "line 5, column note: " + utf8,
             "line 6, column note: a quote opened on line 6 is never closed: nothing from here on could be read"}));
  EXPECT_TRUE(reading.summary.cut_short);
  EXPECT_TRUE(reading.sets.empty());
}

TEST(MessyFiles, Windows1252) {
  const Mapping mapping = mapping_of(
      "[file]\nencoding = \"windows-1252\"\n[columns]\nlifter = \"Wer\"\ndate = \"Datum\"\nexercise = \"Übung\"\nload "
      "= { "
      "column = \"kg\", unit = \"kg\" }\nreps = \"Reps\"\nnote = \"Note\"\n");
  const Reading reading = read_mapped("messy/windows-1252.csv", mapping);
  EXPECT_EQ(reading.error, "");
  ASSERT_EQ(reading.sets.size(), 1u);
  EXPECT_EQ(reading.sets[0].lifter, "Åsa Ek");
  EXPECT_EQ(reading.sets[0].set.note, "gut – 5 €");
}

TEST(MessyFiles, OldLineEnds) {
  const Reading reading = read_file("messy/old-line-ends.csv");
  EXPECT_EQ(reading.faults, Texts{"line 4, column reps: \"x\" is not a whole number of 0 or more"});
  EXPECT_EQ(reading.sets.size(), 1u);
}

// ---- mappings ----

constexpr std::string_view kTwoSets = "Who,When,Lift,Grip,W,Reps,RPE,Rest,Arm,Sets,BW,Weather\n";

Reading read_mapped_text(const std::string& rows, const std::string& more_toml,
                         std::string_view rest_form = "minutes") {
  const Mapping mapping = mapping_of(
      "[file]\ndate_order = \"dmy\"\nrepeat = \"Sets\"\n[columns]\nlifter = \"Who\"\ndate = \"When\"\nexercise = "
      "[\"Lift\", "
      "\"Grip\"]\nload = { column = \"W\", unit = \"lb\" }\nreps = \"Reps\"\ncalled_reserve = { column = \"RPE\", as = "
      "\"rpe\" }\nrest_s = { column = \"Rest\", as = \"" +
      std::string(rest_form) +
      "\" }\nside = \"Arm\"\nbody_mass = { column = \"BW\", unit = \"kg\" }\n[values.side]\nL = \"left\"\nR = "
      "\"right\"\n[values.exercise]\n\"curl wide\" = \"wide-curl\"\n" +
      more_toml);
  ReadLogOptions options;
  options.mapping = &mapping;
  return read_text(std::string(kTwoSets) + rows, options);
}

TEST(MappedLog, ColumnsJoinedUnitsFormsAndRepeats) {
  const Reading reading = read_mapped_text(
      "Ida,9.3.2026,curl,wide,25,8,8.5,2.5,l,3,64.5,rain\n"
      "Ida,9.3.2026,Squat,,20 kg,8,4,1,,1,64.5,\n",
      "");
  ASSERT_EQ(reading.error, "");
  ASSERT_EQ(reading.faults, Texts{});
  ASSERT_EQ(reading.sets.size(), 4u);
  const SetRecord& first = reading.sets[0].set;
  EXPECT_TRUE(reading.sets[2].set == first);
  EXPECT_EQ(first.exercise, "wide-curl");
  EXPECT_EQ(first.load, (Load{25, Unit::pound}));
  EXPECT_EQ(first.called, (Call{1.5, false}));
  EXPECT_EQ(first.rest_s, 150);
  EXPECT_EQ(first.side, Side::left);
  EXPECT_EQ(first.body_mass, (Load{64.5, Unit::kilogram}));
  EXPECT_EQ(first.extra, (std::vector<std::pair<std::string, std::string>>{{"Weather", "rain"}}));
  const SetRecord& last = reading.sets[3].set;
  EXPECT_EQ(last.exercise, "Squat");
  EXPECT_EQ(last.load, (Load{20, Unit::kilogram}));
  EXPECT_EQ(last.side, Side::both);
}

// Published values T02-001 to T02-004 (Zourdos et al. 2016, doi 10.1519/JSC.0000000000001049) and
// T02-005, T02-006 (Zourdos et al. 2021, doi 10.1519/JSC.0000000000002995): reserve at an RPE.
TEST(MappedLog, ReserveOfRpeAsPublished) {
  const std::map<std::string, double> published{{"10", 0}, {"9", 1}, {"8", 2}, {"7", 3}, {"5", 5}};
  for (const auto& [rpe, reserve] : published) {
    const Reading reading = read_mapped_text("Ida,9.3.2026,curl,,25,8," + rpe + ",1,,1,,\n", "");
    ASSERT_EQ(reading.sets.size(), 1u) << rpe;
    EXPECT_EQ(reading.sets[0].set.called, (Call{reserve, false})) << rpe;
  }
  // T02-011, T02-012 (Helms et al. 2016, from memory): below 5 the scale names no number of reps.
  EXPECT_EQ(read_mapped_text("Ida,9.3.2026,curl,,25,8,4.5,1,,1,,\n", "").sets.at(0).set.called, (Call{5, true}));
  EXPECT_EQ(read_mapped_text("Ida,9.3.2026,curl,,25,8,11,1,,1,,\n", "").faults,
            Texts{"line 2, column RPE: \"11\" is not an RPE from 1 to 10 in halves"});
}

TEST(MappedLog, FaultsNameTheTablesOwnColumns) {
  EXPECT_EQ(read_mapped_text("Ida,31.2.2026,curl,,25,8,8,1:30,M,0,64.5,\n", "", "clock").faults,
            (Texts{"line 2, column Sets: \"0\" is not a number of sets from 1 to 50",
                   "line 2, column When: \"31.2.2026\" is not a day of the calendar (date_order = \"dmy\")",
                   "line 2, column Arm: \"M\" is not both, left or right"}));
  EXPECT_EQ(read_mapped_text("Ida,9.3.2026,curl,,25,8,8,90,,1,64.5,\n", "", "clock").faults,
            Texts{"line 2, column Rest: \"90\" is not a rest such as 2:30"});
}

TEST(MappedLog, RowsKeptDroppedAndBlanks) {
  const Reading reading = read_mapped_text(
      "Ida,9.3.2026,curl,,25,8,8,1,,1,,rain\nIda,9.3.2026,curl,,,8,8,1,,1,,rain\nIda,9.3.2026,curl,,,8,8,1,,1,,sun\n"
      "Ida,9.3.2026,curl,,25,,8,1,,1,,rain\n",
      "[blanks]\nload = 0\n[[keep]]\ncolumn = \"weather\"\nvalues = [\"Rain\", \"snow\"]\n[[drop]]\ncolumn = "
      "\"Reps\"\nvalues = [\"\"]\n");
  EXPECT_EQ(reading.error, "");
  ASSERT_EQ(reading.sets.size(), 2u);
  EXPECT_EQ(reading.sets[1].set.load, (Load{0, Unit::pound}));
  ASSERT_EQ(reading.summary.dropped.size(), 2u);
  EXPECT_EQ(reading.summary.dropped[0].rule, "weather is none of \"Rain\", \"snow\"");
  EXPECT_EQ(reading.summary.dropped[0].rows, 1u);
  EXPECT_EQ(reading.summary.dropped[1].rule, "Reps is blank");
  EXPECT_EQ(reading.summary.dropped[1].rows, 1u);
}

TEST(MappedLog, WhatTheMappingMustDecide) {
  const std::string base =
      "[columns]\nlifter = \"Who\"\ndate = \"Date\"\nexercise = \"Lift\"\nload = \"kg\"\nreps = \"Reps\"\n";
  Mapping mapping = mapping_of(base);
  EXPECT_EQ(
      read_mapped("messy/day-first-dates.csv", mapping).error,
      "the mapping does not say in which unit the load is: set unit = \"kg\", \"lb\" or \"mark\" under [constants], or "
      "a column for it under [columns]");
  mapping.columns[LogColumn::load].unit_in_cell = true;
  EXPECT_EQ(read_mapped("messy/day-first-dates.csv", mapping).faults.at(0),
            "line 2, column kg: \"80\" is not a load with its unit, such as 100 kg");
  mapping.columns[LogColumn::load].columns = {"Weight"};
  EXPECT_EQ(read_mapped("messy/day-first-dates.csv", mapping).error,
            "the mapping names a column \"Weight\" that the table does not have (it has: Date, Who, Lift, kg, Reps)");
  mapping.columns.erase(LogColumn::reps);
  EXPECT_EQ(read_mapped("messy/day-first-dates.csv", mapping).error.substr(0, 33),
            "the mapping names a column \"Weigh");
  mapping.columns[LogColumn::load].columns = {"kg"};
  EXPECT_EQ(read_mapped("messy/day-first-dates.csv", mapping).error.substr(0, 36),
            "the mapping says nothing for reps (t");
}

// ---- the open data ----

TEST(StrengthStudy, IsReadThroughItsMapping) {
  std::ifstream file(kData + "exscidata-strength/mapping.toml");
  std::stringstream toml;
  toml << file.rdbuf();
  const Mapping mapping = mapping_of(toml.str());
  const Reading reading = read_mapped("exscidata-strength/strengthvolume.csv", mapping);
  ASSERT_EQ(reading.error, "");
  EXPECT_EQ(reading.faults, Texts{});
  EXPECT_EQ(reading.remarks, Texts{});
  EXPECT_EQ(reading.summary.rows, 3276u);
  // Counted in the source table with another program: 816 rows of people included and the two exercises
  // in kg, 102 of them without a load.
  EXPECT_EQ(reading.sets.size(), 714u);
  ASSERT_EQ(reading.summary.dropped.size(), 3u);
  EXPECT_EQ(reading.summary.dropped[0].rule, "include is not \"incl\"");
  EXPECT_EQ(reading.summary.dropped[1].rule, "exercise is none of \"legpress\", \"legext\"");
  EXPECT_EQ(reading.summary.dropped[2].rule, "load is blank");
  EXPECT_EQ(reading.summary.dropped[2].rows, 102u);
  std::map<std::string, int> lifters;
  std::map<std::string, int> days;
  std::map<std::string, int> exercises;
  for (const LoggedSet& set : reading.sets) {
    ++lifters[set.lifter];
    ++days[date_text(set.set.date)];
    ++exercises[set.set.exercise];
    EXPECT_EQ(set.set.reps, 1);
    EXPECT_TRUE(set.set.failed);
    EXPECT_EQ(set.set.kind, SetKind::test);
    EXPECT_EQ(set.set.load.unit, Unit::kilogram);
    EXPECT_NE(set.set.side, Side::both);
  }
  EXPECT_EQ(lifters.size(), 34u);
  EXPECT_EQ(exercises, (std::map<std::string, int>{{"single-leg-extension", 363}, {"single-leg-press", 351}}));
  EXPECT_EQ(days, (std::map<std::string, int>{{"2024-01-01", 136},
                                              {"2024-01-08", 135},
                                              {"2024-01-22", 134},
                                              {"2024-02-12", 106},
                                              {"2024-03-11", 73},
                                              {"2024-04-01", 130}}));
  // The first row: FP13, pre, single, R, legpress, 115. What each leg trained with stays as a note.
  EXPECT_EQ(reading.sets[0].lifter, "FP13");
  EXPECT_EQ(reading.sets[0].set.load.amount, 115);
  EXPECT_EQ(reading.sets[0].set.side, Side::right);
  EXPECT_EQ(reading.sets[0].set.extra,
            (std::vector<std::pair<std::string, std::string>>{{"sex", "male"}, {"sets", "single"}}));
}

// ---- writing and reading back ----

SetRecord random_set(Random& random) {
  const auto pick = [&](std::initializer_list<const char*> from) {
    return std::string(*(from.begin() + random.integer(0, static_cast<int>(from.size()) - 1)));
  };
  const auto text = [&] {
    std::string out;
    const int size = random.integer(0, 4);
    for (int i = 0; i < size; ++i) {
      out += pick({"a", " ", "\"", ",", ";", "\n", "\r\n", "\r", "é", "💪", "=1+1", "'", "\t", "|", "extra:", "0"});
    }
    return out;
  };
  const auto maybe = [&](auto value) { return random.chance(0.5) ? std::optional(value) : std::nullopt; };
  const auto call = [&] { return Call{random.integer(0, 20) / 2.0, random.chance(0.3)}; };
  const auto number = [&](double high) {
    return random.chance(0.3) ? random.integer(0, static_cast<int>(high)) : random.uniform(0, high);
  };
  SetRecord set;
  set.date = *make_date(1950, 1, 1) + random.integer(0, kToday + 1 - *make_date(1950, 1, 1));
  set.time = pick({"", "18:40", "00:00", "23:59:60", "06:05:07.125", "18:40+02:00", "18:40-09:30", "18:40Z"});
  set.session = text();
  set.exercise = pick({"squat", "bench-press", "x\"y", "a,b"});
  set.side = static_cast<Side>(random.integer(0, 2));
  set.load.unit = static_cast<Unit>(random.integer(0, 2));
  set.load.amount = random.chance(0.5) ? random.integer(-3000, 3000) / 2.0 * 0.9 : random.uniform(-1500, 1500);
  if (random.chance(0.05)) set.load.amount = std::pow(10, random.uniform(-300, 0));
  set.reps = random.integer(0, kMostReps);
  set.failed = random.chance(0.5);
  set.called = maybe(call());
  set.called_at_rep = maybe(random.integer(0, kMostReps));
  // A set that failed had none left at its last rep.
  if ((set.failed || set.stop == Stop::failed) && set.called_at_rep.value_or(set.reps) >= set.reps) set.called.reset();
  set.rest_s = maybe(number(86400));
  set.last_rep_speed = maybe(number(5));
  set.kind = static_cast<SetKind>(random.integer(0, 2));
  set.stop = static_cast<Stop>(random.integer(0, 3));
  set.planned_reps = maybe(random.integer(0, kMostReps));
  set.cue = maybe(call());
  set.pain = random.chance(0.5);
  set.note = text();
  set.place = text();
  set.joined = text();
  set.part_of = text();
  set.part = maybe(random.integer(0, kMostReps));
  const Unit body_unit = random.chance(0.5) ? Unit::kilogram : Unit::pound;
  set.body_mass = maybe(Load{random.uniform(50, 400), body_unit});
  set.tempo = text();
  set.partial_reps = maybe(random.integer(0, kMostReps));
  set.extra_kind = static_cast<ExtraKind>(random.integer(0, 2));
  for (const char* name : {"Mood", "reps", "extra:", "extra:Mood", "Mood", "", "a,b"}) {
    const std::string value = text();
    if (!value.empty()) set.extra.emplace_back(name, value);
  }
  return set;
}

// Whatever a set holds within the limits, reading what was written gives the same set: amount and unit
// to the last bit, times with their offsets, texts with their line breaks.
TEST(RoundTrip, EverySetComesBackExactly) {
  Random random(7);
  for (int round = 0; round < 200; ++round) {
    std::vector<SetRecord> sets(static_cast<std::size_t>(random.integer(0, 20)));
    for (SetRecord& set : sets) set = random_set(random);
    const std::string lifter = round % 2 == 0 ? "Ida Roos" : "Åsa \"the rock\", Ek";
    std::string text;
    write_log([&](std::string_view piece) { text += piece; }, lifter, sets);
    const Reading reading = read_text(text);
    ASSERT_EQ(reading.error, "");
    ASSERT_EQ(reading.faults, Texts{}) << text;
    ASSERT_EQ(reading.sets.size(), sets.size());
    const std::vector<std::string> order = extra_columns(sets);
    for (std::size_t i = 0; i < sets.size(); ++i) {
      // Extra columns come back in the file's order, which is that of extra_columns.
      SetRecord expected = sets[i];
      std::vector<std::pair<std::string, std::string>> left = expected.extra;
      expected.extra.clear();
      for (const std::string& name : order) {
        for (auto item = left.begin(); item != left.end(); ++item) {
          if (item->first != name) continue;
          expected.extra.push_back(*item);
          left.erase(item);
          break;
        }
      }
      ASSERT_TRUE(left.empty());
      ASSERT_TRUE(reading.sets[i].set == expected) << text;
      ASSERT_EQ(reading.sets[i].lifter, lifter);
    }
    // And a second time, without that allowance: what was read once is stable.
    std::vector<SetRecord> once;
    for (const LoggedSet& set : reading.sets) once.push_back(set.set);
    std::string again;
    write_log([&](std::string_view piece) { again += piece; }, lifter, once);
    const Reading second = read_text(again);
    ASSERT_EQ(second.sets.size(), once.size());
    for (std::size_t i = 0; i < once.size(); ++i) ASSERT_EQ(second.sets[i].set.extra.size(), once[i].extra.size());
  }
}

TEST(RoundTrip, TheHeaderNamesEveryColumn) {
  std::string text;
  write_log([&](std::string_view piece) { text += piece; }, "Ida", {});
  EXPECT_EQ(
      text,
      "lifter,date,exercise,load,unit,reps,called_reserve,failed,rest_s,last_rep_speed,kind,stop,planned_reps,cue,"
      "called_at_rep,session,place,side,joined,part_of,part,body_mass,tempo,partial_reps,extra_kind,pain,note\r\n");
}

TEST(RoundTrip, WhatIsNoTextIsReplaced) {
  std::string row;
  append_csv_field(row, std::string_view("a\xFF"
                                         "b\0c",
                                         5));
  EXPECT_EQ(row,
            "a\xEF\xBF\xBD"
            "b\xEF\xBF\xBD"
            "c");
}

}  // namespace
}  // namespace ullage::interchange
