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
  std::string name;     // for the history; empty: the file's
  std::string mapping;  // name of a saved mapping; empty: the open log format
  std::string lifter;   // for rows that name none; made when there is none of that name
  bool dry_run = false;
  bool update = false;    // apply rows that differ from what is stored
  bool skip_bad = false;  // leave bad rows out instead of stopping
  interchange::Progress progress;
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
  std::vector<std::string> new_lifters;  // names taken on by this import
  std::vector<PainRow> pains;            // exercises taken out by rows that say it hurt
  store::ChangeId change = 0;            // 0: nothing was written
  bool refused = false;                  // faults, and skip_bad was not wished: nothing is stored
};

// not_found: no such file or mapping. Faults in rows are no error of the call: see ImportReport::refused.
// Cost: two passes over the file, which is never held.
Result<ImportReport> read_in(Desk& desk, const ImportWish& wish);

// Whether the table can be read in the open log format, without a mapping; faults of single rows do not count.
bool reads_as_log(Desk& desk, const std::string& file);
// Looks at a table and offers a mapping for it; nothing is stored.
Result<interchange::Suggestion> look_at_table(Desk& desk, const std::string& file);
// Saves a mapping under a name. invalid_input: the text is no mapping.
Result<store::ChangeId> save_mapping(Desk& desk, const std::string& name, const std::string& toml);

}  // namespace ullage::coach
