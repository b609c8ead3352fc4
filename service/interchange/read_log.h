// Reads sets from the open log format, or from any other table through a mapping, in one pass.
//
// Good rows go to the sink as they come; faults are collected. Whether one fault stops the whole
// import is the caller's decision, made before anything is stored. The file is never held, only the
// row being read.
//
//   std::vector<LoggedSet> sets;
//   auto summary = read_log(source, options, [&](LoggedSet&& set) { sets.push_back(std::move(set)); });
//   if (summary && summary->fault_count == 0) ...
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/training/set_record.h"
#include "service/interchange/byte_source.h"
#include "service/interchange/fault.h"
#include "service/interchange/mapping.h"
#include "service/interchange/table_row.h"

namespace ullage::interchange {

// Limits outside which a number is taken for a slip.
inline constexpr int kMostReps = 500;
inline constexpr double kHeaviestLoadKg = 1500;  // either sign
inline constexpr double kLongestRestS = 24 * 3600.0;
inline constexpr double kFastestRep = 5;  // m/s
inline constexpr double kLightestBodyKg = 20;
inline constexpr double kHeaviestBodyKg = 400;
inline constexpr int kEarliestYear = 1950;

// What an exercise text means. `id` empty: unknown, `nearest` are names or ids close to it.
struct ExerciseMatch {
  std::string id;
  std::vector<std::string> nearest;
};
using ExerciseResolver = std::function<ExerciseMatch(std::string_view text)>;

// One set with what the file says about it. The line is where its row begins.
struct LoggedSet {
  std::string lifter;
  SetRecord set;
  std::uint64_t line = 0;
  std::string place{};  // in a workbook: "Week 3!D14"
};
// Gets each good set, in the file's order.
using SetSink = std::function<void(LoggedSet&&)>;

struct ReadLogOptions {
  Date today;                        // dates after the day that follows are faults
  std::string lifter;                // for rows that name none
  const Mapping* mapping = nullptr;  // none: the open log format
  ExerciseResolver resolve;          // none: the text is the id
  Progress progress;
  std::size_t most_faults = 1000;  // kept; all are counted
  std::size_t most_previews = 0;   // sets shown beside their cells
};

struct UnknownExercise {
  std::string text;
  std::uint64_t rows = 0;
  std::uint64_t first_line = 0;
  std::vector<std::string> nearest;
  std::string first_place{};  // in a workbook
};

// How many rows a rule of the mapping left out.
struct DroppedRows {
  std::string rule;  // 'load is blank', 'exercise is not one of "legpress", "legext"'
  std::uint64_t rows = 0;
};

// A set beside the cells it was read from.
struct SetPreview {
  std::string place;               // "line 12", "Week 3!D14"
  std::vector<std::string> cells;  // as they stand
  LoggedSet logged;
};

struct LogSummary {
  std::uint64_t rows = 0;  // below the header
  std::uint64_t sets = 0;  // given to the sink
  std::uint64_t bad_rows = 0;
  std::uint64_t fault_count = 0;
  std::vector<Fault> faults;
  std::uint64_t remark_count = 0;
  std::vector<Fault> remarks;  // accepted, but worth a look
  std::vector<DroppedRows> dropped;
  std::vector<UnknownExercise> unknown_exercises;  // at most 1000
  std::vector<std::string> kept_as_notes;          // columns the log format does not know
  std::vector<std::string> found;                  // what was taken from the file itself, one line each
  std::vector<SetPreview> previews;
  bool cut_short = false;  // a quote is never closed: nothing after the last fault's line was read
};

// Error: invalid_input when the table as a whole cannot be read (no header, a needed column missing or
// twice, units or date order not decided); cancelled; what the source says. A mapping that leaves the
// date order to the file costs one more pass over the source, which is rewound. An empty sink only
// counts. Time linear in bytes, about 1 us a row.
// A row whose cells of sets are all blank is counted under `dropped`.
Result<LogSummary> read_log(TableSource& source, const ReadLogOptions& options, const SetSink& sink);
Result<LogSummary> read_log(ByteSource& source, const ReadLogOptions& options, const SetSink& sink);

}  // namespace ullage::interchange
