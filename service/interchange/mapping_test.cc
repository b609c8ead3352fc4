#include "service/interchange/mapping.h"

#include <gtest/gtest.h>

namespace ullage::interchange {
namespace {

std::string error_of(std::string_view toml) {
  const auto mapping = parse_mapping(toml);
  return mapping ? "no error" : mapping.error().message;
}

TEST(Mapping, ReadsTheExampleOfTheHeader) {
  const auto mapping = parse_mapping(R"([columns]
date = "Day"
exercise = ["Lift", "Variant"]
load = { column = "Weight", unit = "lb" }
reps = "Reps"
called_reserve = { column = "RPE", as = "rpe" }
)");
  ASSERT_TRUE(mapping) << mapping.error().message;
  EXPECT_EQ(mapping->columns.at(LogColumn::exercise).columns, (std::vector<std::string>{"Lift", "Variant"}));
  EXPECT_EQ(mapping->columns.at(LogColumn::load).unit, Unit::pound);
  EXPECT_EQ(mapping->columns.at(LogColumn::called_reserve).form, CellForm::rpe);
  EXPECT_EQ(mapping->date_order, DateOrder::undecided);
}

TEST(Mapping, EveryKeyComesBackFromItsText) {
  const auto mapping = parse_mapping(R"(name = "the \"old\" sheet"
[file]
delimiter = "tab"
encoding = "windows-1252"
header_row = 3
skip_rows = 1
decimal_comma = true
date_order = "dmy"
start_date = 2026-01-05
repeat = "Sets"
keep_other_columns = false
[columns]
date = ["Day", "Time"]
exercise = { columns = ["Lift", "Grip"], join = ", " }
load = { column = "Weight", unit = "cell" }
body_mass = { column = "BW", unit = "lb" }
rest_s = { column = "Rest", as = "minutes" }
called_reserve = { column = "RPE", as = "rpe" }
reps = "#5"
[constants]
failed = true
kind = "test"
lifter = "Ida Roos"
planned_reps = 5
[blanks]
load = 0
[values.date]
"first week" = "2026-01-07"
"second week" = 9
[values.exercise]
SQ = "squat"
[[keep]]
column = "ok"
values = ["yes", "y"]
[[drop]]
column = "Weight"
values = [""]
)");
  ASSERT_TRUE(mapping) << mapping.error().message;
  EXPECT_EQ(mapping->constants.at(LogColumn::failed), "1");
  EXPECT_EQ(mapping->date_offsets.at("second week"), 9);
  EXPECT_EQ(mapping->values.at(LogColumn::date).at("first week"), "2026-01-07");
  EXPECT_EQ(mapping->delimiter, '\t');
  EXPECT_EQ(mapping->repeat, "Sets");
  const auto again = parse_mapping(mapping_text(*mapping));
  ASSERT_TRUE(again) << again.error().message << "\n" << mapping_text(*mapping);
  EXPECT_EQ(*again, *mapping) << mapping_text(*mapping);
}

TEST(Mapping, SaysWhatIsWrongAndWhere) {
  EXPECT_EQ(error_of("[columns\n").substr(0, 16), "mapping, line 1:");
  for (const std::string_view text : {std::string_view("[?]"), std::string_view("[[=]]"), std::string_view("[\t\0]", 4),
                                      std::string_view("name = ]"), std::string_view("name = \"\xFF\"")}) {
    EXPECT_EQ(error_of(text).substr(0, 16), "mapping, line 1:") << text;
  }
  for (const std::string_view text :
       {"# é\nÜbung = \"x\"\n", "name = \"\\\"é\"\né = 'é'\n", "[values.exercise]\n'\"' = \"a\" é\n"}) {
    EXPECT_EQ(error_of(text).substr(0, 16), "mapping, line 2:") << text;
  }
  EXPECT_EQ(error_of("\xEF\xBB\xBFname = \"\"\"é\n\"é\\\"\"\"\"\n[columns]\n"
                     "exercise = 'Übung'  # é\nnote = \"\"\n[values.exercise]\n\"é\" = 'é'\n"),
            "no error");
  EXPECT_EQ(error_of("[colums]\nreps = \"x\"\n"),
            "mapping, line 1: colums is not a key of a mapping (file, workbook, columns, constants, blanks, values, "
            "keep, drop)");
  EXPECT_EQ(error_of("[columns]\nrep = \"x\"\n"), "mapping, line 2: columns.rep is not a column of the log");
  EXPECT_EQ(error_of("[columns]\nreps = 3\n"), "mapping, line 2: columns.reps must be a text in quotes");
  EXPECT_EQ(error_of("[columns]\nreps = []\n"), "mapping, line 2: columns.reps must name at least one");
  EXPECT_EQ(error_of("[file]\ndate_order = \"ydm\"\n"),
            "mapping, line 2: file.date_order must be ymd, dmy or mdy; leave it out to let the file's dates decide");
  EXPECT_EQ(error_of("[file]\ndelimiter = \"x\"\n"),
            "mapping, line 2: file.delimiter must be one of \",\" \";\" \"|\" \":\" \"tab\"");
  EXPECT_EQ(error_of("[columns]\nreps = {column = \"R\", as = \"rpe\"}\n"),
            "mapping, line 2: columns.reps.as must be rpe for called_reserve and cue, minutes or clock for rest_s");
  EXPECT_EQ(error_of("[columns]\nreps = \"R\"\n[constants]\nreps = 1\n"),
            "the mapping has both a column and a constant for reps: for blank cells use [blanks]");
  EXPECT_EQ(error_of("[columns]\ndate = \"D\"\n[values.date]\na = 3\n"),
            "the mapping counts days in [values.date] from file.start_date, which is missing");
  EXPECT_EQ(error_of("[[keep]]\ncolumn = \"x\"\n"), "mapping, line 1: keep must list values (\"\" is a blank cell)");
}

}  // namespace
}  // namespace ullage::interchange
