#include "service/interchange/suggest_mapping.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "service/interchange/compact_sets.h"

namespace ullage::interchange {
namespace {

using Texts = std::vector<std::string>;

ReadLogOptions options_today() {
  ReadLogOptions options;
  options.today = *make_date(2026, 3, 10);
  return options;
}

Suggestion suggest(std::string_view text, ReadLogOptions options = options_today()) {
  StringSource source(text);
  auto suggestion = suggest_mapping(source, options);
  if (!suggestion) {
    ADD_FAILURE() << suggestion.error().message;
    return {};
  }
  return *suggestion;
}

Suggestion suggest_file(const std::string& name) {
  auto source = FileSource::open(std::string(ULLAGE_SOURCE_DIR) + "/tests/data/" + name);
  auto suggestion = suggest_mapping(*source, options_today());
  if (!suggestion) {
    ADD_FAILURE() << suggestion.error().message;
    return {};
  }
  return *suggestion;
}

Texts required(const Suggestion& suggestion) {
  Texts keys;
  for (const Question& question : suggestion.questions) {
    if (question.required) keys.push_back(question.key);
  }
  return keys;
}

TEST(SuggestMapping, ReadsHeadersInSeveralSpellings) {
  const Suggestion suggestion = suggest(
      "Athlete,Training Date,Exercise Name,Set #,Weight (lbs),Repetitions,RPE,Rest (min),Notes,Leg,Weather\n"
      "Ida Roos,2026-03-09,squat,1,225,5,8,3,good,L,rain\n");
  const auto& columns = suggestion.mapping.columns;
  EXPECT_EQ(columns.at(LogColumn::lifter).columns, Texts{"Athlete"});
  EXPECT_EQ(columns.at(LogColumn::date).columns, Texts{"Training Date"});
  EXPECT_EQ(columns.at(LogColumn::exercise).columns, Texts{"Exercise Name"});
  EXPECT_EQ(columns.at(LogColumn::load).unit, Unit::pound);
  EXPECT_EQ(columns.at(LogColumn::reps).columns, Texts{"Repetitions"});
  EXPECT_EQ(columns.at(LogColumn::called_reserve).form, CellForm::rpe);
  EXPECT_EQ(columns.at(LogColumn::rest_s).form, CellForm::minutes);
  EXPECT_EQ(columns.at(LogColumn::note).columns, Texts{"Notes"});
  EXPECT_EQ(suggestion.mapping.values.at(LogColumn::side).at("L"), "left");
  EXPECT_EQ(suggestion.not_mapped, (Texts{"Set #", "Weather"}));
  EXPECT_EQ(required(suggestion), Texts{});
}

TEST(SuggestMapping, AsksWhatTheTableDoesNotSay) {
  const Suggestion suggestion = suggest("When,Lift,Load,Count\n03/04/2025,squat,100,5\n05/06/2025,squat,\"1,000\",5\n");
  EXPECT_EQ(required(suggestion),
            (Texts{"file.decimal_comma", "constants.unit", "file.date_order", "columns.reps", "columns.lifter"}));
  for (const Question& question : suggestion.questions) {
    if (question.key == "file.date_order") {
      EXPECT_EQ(question.choices, (Texts{"dmy", "mdy"}));
      EXPECT_EQ(question.text,
                "Is line 2: \"03/04/2025\" to be read day first or month first? No date in the file decides it");
    }
    if (question.key == "constants.unit") {
      EXPECT_EQ(question.choices, (Texts{"kg", "lb", "mark"}));
    }
  }
}

TEST(SuggestMapping, TakesTheDateOrderFromADateThatDecides) {
  const Suggestion suggestion = suggest_file("messy/day-first-dates.csv");
  EXPECT_EQ(suggestion.mapping.date_order, DateOrder::dmy);
  EXPECT_EQ(required(suggestion), Texts{});
  EXPECT_EQ(suggestion.mapping.columns.at(LogColumn::load).unit, Unit::kilogram) << "the header is only a unit";
  EXPECT_EQ(required(suggest_file("messy/ambiguous-dates.csv")), Texts{"file.date_order"});
  EXPECT_EQ(required(suggest_file("messy/contradictory-dates.csv")), Texts{"file.date_order"});
}

TEST(SuggestMapping, FindsHeaderDelimiterAndDecimalComma) {
  const Suggestion suggestion = suggest(
      "Training of Mara Lind;;;\n;;;\nDay;Lift;Weight kg;Reps\n9.3.2026;Squat;102,5;8\n13.3.2025;Squat;105;8\n");
  EXPECT_EQ(suggestion.mapping.header_row, 3);
  EXPECT_EQ(suggestion.mapping.delimiter, ';');
  EXPECT_TRUE(suggestion.mapping.decimal_comma);
  EXPECT_EQ(suggestion.mapping.date_order, DateOrder::dmy);
  EXPECT_EQ(required(suggestion), Texts{"columns.lifter"});
}

TEST(SuggestMapping, TableWithoutHeader) {
  const Suggestion suggestion = suggest_file("messy/missing-header.csv");
  EXPECT_EQ(suggestion.mapping.header_row, 0);
  EXPECT_EQ(required(suggestion).front(), "file.header_row");
  EXPECT_EQ(suggestion.headers.size(), 5u);
}

TEST(SuggestMapping, ListsUnknownExercisesWithTheNearest) {
  ReadLogOptions options = options_today();
  options.resolve = [](std::string_view text) -> ExerciseMatch {
    if (text == "squat") return {"squat", {}};
    return {"", {"bench press"}};
  };
  const Suggestion suggestion = suggest(
      "Who,Date,Lift,kg,Reps\nIda,2026-03-09,squat,80,8\nIda,2026-03-09,bensh,80,8\nIda,2026-03-09,bensh,80,8\n",
      options);
  ASSERT_EQ(suggestion.unknown_exercises.size(), 1u);
  EXPECT_EQ(suggestion.unknown_exercises[0].text, "bensh");
  EXPECT_EQ(suggestion.unknown_exercises[0].rows, 2u);
  EXPECT_EQ(suggestion.unknown_exercises[0].nearest, Texts{"bench press"});
}

// The sets of a table, read with the mapping that was offered for it, after that was written as text and read again.
std::vector<LoggedSet> read_as_offered(const std::string& text, const Suggestion& suggestion) {
  EXPECT_EQ(required(suggestion), Texts{});
  std::vector<LoggedSet> sets;
  const auto again = parse_mapping(mapping_text(suggestion.mapping));
  EXPECT_TRUE(again);
  if (!again) return sets;
  EXPECT_EQ(*again, suggestion.mapping);
  StringSource source(text);
  ReadLogOptions options = options_today();
  options.mapping = &*again;
  const auto summary = read_log(source, options, [&](LoggedSet&& set) { sets.push_back(std::move(set)); });
  EXPECT_TRUE(summary) << summary.error().message;
  if (summary) {
    EXPECT_EQ(summary->fault_count, 0u);
  }
  return sets;
}

// What is offered for a table that leaves nothing open can be imported as it is.
TEST(SuggestMapping, AnOfferWithoutQuestionsImports) {
  const std::string text =
      "Who;Date;Time;Lift;Weight;Unit;Sets;Reps;RIR;Failed;Set type\n"
      "Ida;25/12/2025;18:40;squat;102,5;kg;2;5;2;no;warm-up\nIda;01/02/2026;18:45;squat;225;lb;1;5;0;x;work\n";
  const Suggestion suggestion = suggest(text);
  const std::vector<LoggedSet> sets = read_as_offered(text, suggestion);
  ASSERT_EQ(sets.size(), 3u);
  EXPECT_EQ(date_text(sets[2].set.date), "2026-02-01");
  EXPECT_EQ(sets[2].set.time, "18:45");
  EXPECT_EQ(sets[2].set.load, (Load{225, Unit::pound}));
  EXPECT_TRUE(sets[2].set.failed);
  EXPECT_EQ(sets[0].set.kind, SetKind::warmup);
  EXPECT_EQ(sets[0].set.load, (Load{102.5, Unit::kilogram}));
}

TEST(SuggestMapping, TheStudyTableAsksForItsLabels) {
  const Suggestion suggestion = suggest_file("exscidata-strength/strengthvolume.csv");
  EXPECT_EQ(suggestion.mapping.columns.at(LogColumn::lifter).columns, Texts{"participant"});
  EXPECT_EQ(suggestion.mapping.values.at(LogColumn::side).at("R"), "right");
  EXPECT_EQ(required(suggestion), (Texts{"constants.unit", "columns.date", "columns.reps"}));
}

// A star after a name points to a note below the table; in a mapping it would stand for a run of columns.
TEST(SuggestMapping, NamesWithAStarAreNamedByTheirPlace) {
  const std::string text = "Lifter,Date,Exercise*,Load**,Reps*\nIda,2026-02-01,squat,100 kg,5\n";
  const Suggestion suggestion = suggest(text);
  EXPECT_EQ(suggestion.mapping.columns.at(LogColumn::exercise).columns, Texts{"#3"});
  EXPECT_EQ(suggestion.mapping.columns.at(LogColumn::load).columns, Texts{"#4"});
  EXPECT_EQ(suggestion.mapping.columns.at(LogColumn::reps).columns, Texts{"#5"});
  const std::vector<LoggedSet> sets = read_as_offered(text, suggestion);
  ASSERT_EQ(sets.size(), 1u);
  EXPECT_EQ(sets[0].set.load, (Load{100, Unit::kilogram}));
  EXPECT_EQ(sets[0].set.reps, 5);
}

TEST(SuggestMapping, EmptyFile) {
  StringSource source("");
  const auto suggestion = suggest_mapping(source, options_today());
  ASSERT_FALSE(suggestion);
  EXPECT_EQ(suggestion.error().code, Code::invalid_input);
}

// Sets across the columns of a text file, or several in a cell.
TEST(SuggestMapping, FindsSetsInCellsOfATextFile) {
  const Suggestion across = suggest(
      "Who,Date,Exercise,Set 1,Set 2,Comment\n"
      "Ida Roos,2026-03-09,squat,80kgx12,80 kg x 10 | 80kgx9,fine\n"
      "Ida Roos,2026-03-11,squat,85kgx8,,\n");
  ASSERT_TRUE(across.mapping.sets);
  EXPECT_EQ(across.mapping.sets->columns, (Texts{"Set 1", "Set 2"}));
  EXPECT_EQ(across.mapping.sets->form.order, (std::vector<SetPart>{SetPart::load, SetPart::reps}));
  EXPECT_TRUE(across.not_mapped.empty());
  for (const std::string& key : required(across)) EXPECT_EQ(key, "columns.lifter");

  const Suggestion commas = suggest(
      "Wer;Datum;\xC3\x9C"
      "bung;Satz 1;Satz 2;Notiz\n"
      "Ida Roos;2026-03-09;squat;62,5kgx8;60kgx8;\n"
      "Ida Roos;2026-03-11;squat;65 kg x 8, 62,5 kg x 7;;gut\n");
  ASSERT_TRUE(commas.mapping.sets);
  EXPECT_EQ(commas.mapping.sets->columns, (Texts{"Satz 1", "Satz 2"}));
  EXPECT_TRUE(commas.mapping.decimal_comma);
  EXPECT_EQ(commas.mapping.sets->unit, Unit::kilogram);

  const Suggestion counted = suggest(
      "Lifter,Date,Exercise,Sets x Reps,Weight kg\n"
      "Ida Roos,2026-03-09,squat,3x10,60\n"
      "Ida Roos,2026-03-11,squat,5x5,100\n");
  ASSERT_TRUE(counted.mapping.sets);
  EXPECT_EQ(counted.mapping.sets->columns, Texts{"Sets x Reps"});
  EXPECT_EQ(counted.mapping.sets->form.order, (std::vector<SetPart>{SetPart::sets, SetPart::reps}));
  EXPECT_TRUE(required(counted).empty());

  const Suggestion bare = suggest("Lifter,Date,Exercise,Work\nIda Roos,2026-03-09,squat,80x12; 80x10\n");
  ASSERT_TRUE(bare.mapping.sets);
  EXPECT_EQ(required(bare), Texts{"constants.unit"});
  // Reps in a column of their own: a cell that looks like sets is a note.
  EXPECT_FALSE(suggest("Lifter,Date,Exercise,Load kg,Reps,Plan\nIda Roos,2026-03-09,squat,80,12,3x12\n").mapping.sets);
}

// "5x100" is no hundred reps at 5 kg unless it says so.
TEST(SuggestMapping, ACellThatMayBeReadTwoWaysIsNotGuessed) {
  const CompactForm form;
  std::vector<CompactSet> sets;
  EXPECT_TRUE(parse_compact("5x100", form, false, sets));
  EXPECT_TRUE(parse_compact("100x8, 3x60", form, false, sets));
  sets.clear();
  EXPECT_FALSE(parse_compact("5kgx100, 80kgx12, 20x30, 12.5x45", form, false, sets));
  ASSERT_EQ(sets.size(), 4U);
  EXPECT_EQ(sets[1].load, "80 kg");
  EXPECT_EQ(sets[1].reps, "12");
}

}  // namespace
}  // namespace ullage::interchange
