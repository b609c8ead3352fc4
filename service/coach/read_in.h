// Reading a log file or a workbook into the store: looked through first, then stored as one change that can be taken
// back.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "service/coach/desk.h"
#include "service/interchange/read_log.h"
#include "service/interchange/suggest_mapping.h"

namespace ullage::coach {

struct ImportWish {
  std::string file;
  std::string name;          // for the history; empty: the file's
  std::string mapping;       // name of a saved mapping; empty: see mapping_text
  std::string mapping_text;  // a mapping that is not saved; empty: the open log format
  std::string lifter;        // for rows that name none; made when there is none of that name
  bool dry_run = false;
  bool update = false;    // apply rows that differ from what is stored
  bool skip_bad = false;  // leave bad rows out instead of stopping
  // Rows that are more likely slips (service/coach/doubt.h) and sessions that stand twice (written_twice.h) are told,
  // and stop what is no dry run.
  bool ask = false;
  interchange::Progress progress;
  // When given the table is looked through first, and this is called when a change is about to be made.
  std::function<void()> before_storing;
};

inline constexpr std::size_t kMostPreviews = 24;  // sets a dry run through a mapping shows beside their cells

struct PainRow {
  std::string lifter;    // name
  std::string exercise;  // name
  Date date;
};

struct ImportReport {
  interchange::LogSummary summary;
  store::MergeReport merged;
  std::vector<std::string> new_lifters;    // names taken on by this import
  std::vector<PainRow> pains;              // exercises taken out by rows that say it hurt
  store::ChangeId change = 0;              // 0: nothing was written
  bool refused = false;                    // faults, and skip_bad was not wished, or doubts: nothing is stored
  std::vector<interchange::Fault> doubts;  // what ask found: slips in the order of the file, then what stands twice
};

// not_found: no such file or mapping. Faults in rows are no error of the call: see ImportReport::refused.
// Cost: two passes over the file, which is never held.
Result<ImportReport> read_in(Desk& desk, const ImportWish& wish);

// The first rows of a table as they stand, for picking columns and cells from.
struct TableCell {
  int column = 0;    // from 0; its letters are interchange::column_letters(column)
  std::string text;  // as a mapping would read it: days as 2026-03-09
  interchange::CellKind kind = interchange::CellKind::text;
};
struct TableLine {
  std::int64_t number = 0;  // row of the sheet, line of a text file
  bool hidden = false;
  std::vector<TableCell> cells;  // those with something in them
};
struct TableSheet {
  std::string name;  // empty: a text file
  bool hidden = false;
  std::vector<TableLine> lines;
  bool more = false;  // there are rows below these
};
// `sheet`: only the one of this name. not_found: no such file or sheet; else as open_table.
Result<std::vector<TableSheet>> cells_of(const std::string& file, const std::string& sheet, std::size_t rows);

// Whether the table can be read in the open log format, without a mapping; faults of single rows do not count.
bool reads_as_log(Desk& desk, const std::string& file);
// Looks at a table and offers a mapping for it; nothing is stored.
Result<interchange::Suggestion> look_at_table(Desk& desk, const std::string& file);
// Saves a mapping under a name. invalid_input: the text is no mapping.
Result<store::ChangeId> save_mapping(Desk& desk, const std::string& name, const std::string& toml);

}  // namespace ullage::coach
