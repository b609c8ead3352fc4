// How a table that is not the open log format is read as one: made once, saved by name as TOML.
// docs/log-format.md documents every key.
//
// A column name may hold one *: "Set * kg" and "Set * reps" make a row as many sets as there are such columns. Names in
// round brackets are no columns of the table: "(sheet)", "(section)", "(comments)" and "(B1)" of a workbook, and
// "(heading)", the name of the column a set cell stands in.
//
//   [columns]
//   date = "Day"
//   exercise = ["Lift", "Variant"]
//   load = { column = "Weight", unit = "lb" }
//   reps = "Reps"
//   called_reserve = { column = "RPE", as = "rpe" }
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/base/units.h"
#include "service/interchange/compact_sets.h"
#include "service/interchange/csv_reader.h"
#include "service/interchange/log_columns.h"

namespace ullage::interchange {

// Order in which a date written in figures gives day, month and year.
enum class DateOrder { undecided, ymd, dmy, mdy };
std::string_view date_order_name(DateOrder order);  // "ymd", ...; "" when undecided
std::optional<DateOrder> parse_date_order(std::string_view text);

// What a cell holds when it is not what the log column holds.
enum class CellForm {
  plain,
  rpe,      // called_reserve, cue: 10 - RPE
  minutes,  // rest_s: minutes
  clock     // rest_s: m:ss or h:mm:ss
};

// Where the text of one log column comes from.
struct ColumnSource {
  std::vector<std::string> columns;  // of the table; several are joined, blank ones left out
  std::string join = " ";
  CellForm form = CellForm::plain;
  std::optional<Unit> unit;   // load, body_mass: unit of a cell that names none
  bool unit_in_cell = false;  // load, body_mass: every cell names its own
  bool operator==(const ColumnSource&) const = default;
};

// Columns whose cells each hold one or several sets ("100x8, 100x8"); a row is then an exercise.
struct SetCells {
  std::vector<std::string> columns;  // names, "Set *", or "(dates)": every column whose name is a date
  CompactForm form;
  std::optional<Unit> unit;  // of a load that names none
  bool operator==(const SetCells&) const = default;
};

// How the sheets of a workbook are taken. Names may hold one * that stands for any text.
struct WorkbookWay {
  std::vector<std::string> sheets;  // empty: every visible one with the columns needed
  std::vector<std::string> skip_sheets;
  int header_rows = 1;  // rows the names of the columns stand on; their texts are joined by a blank
  bool skip_hidden_rows = false;
  bool operator==(const WorkbookWay&) const = default;
};

// Rows in which `column` has one of `values` ("" is a blank cell).
struct RowRule {
  std::string column;
  std::vector<std::string> values;
  bool operator==(const RowRule&) const = default;
};

struct Mapping {
  std::string name;
  char delimiter = 0;  // 0: found
  Encoding encoding = Encoding::detect;
  int header_row = 1;  // row of the column names, empty lines not counted; 0: none, columns are 1, 2, ...
  int skip_rows = 0;   // rows passed over after the header
  bool decimal_comma = false;
  DateOrder date_order = DateOrder::undecided;
  std::optional<Date> start_date;  // day 0 of date_offsets
  std::map<LogColumn, ColumnSource> columns;
  std::map<LogColumn, std::string> constants;                      // as they would stand in a log
  std::map<LogColumn, std::string> blanks;                         // what a blank cell stands for
  std::map<LogColumn, std::map<std::string, std::string>> values;  // what a cell's text stands for
  std::map<std::string, int> date_offsets;                         // label -> days after start_date
  std::vector<RowRule> keep;                                       // a row must meet each
  std::vector<RowRule> drop;                                       // and none of these
  std::optional<SetCells> sets;
  std::vector<std::string> fill_down;  // columns in which a blank cell takes the text above it
  WorkbookWay workbook;
  std::string repeat;              // column with the number of like sets a row stands for
  bool keep_other_columns = true;  // columns not named here become notes
  bool operator==(const Mapping&) const = default;
};

// What the * of `pattern` stands for in `name`; empty optional when it does not fit, or there is no *.
std::optional<std::string> star_of(std::string_view pattern, std::string_view name);
// The same without a *: equal; with one: star_of fits.
bool fits(std::string_view pattern, std::string_view name);
inline bool has_star(std::string_view pattern) { return pattern.find('*') != std::string_view::npos; }

// Reads a mapping. Error: invalid_input, with the line and the key and what was expected there.
Result<Mapping> parse_mapping(std::string_view toml);
// TOML text with parse_mapping(mapping_text(m)) == m.
std::string mapping_text(const Mapping& mapping);

}  // namespace ullage::interchange
