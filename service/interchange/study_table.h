// Reads study tables: one row an effect, with what the effect is computed from, and moderators.
//
// The open form has the column names of StudyColumn below; further columns are moderators under their own names. Any
// other table is read through a mapping with the same keys as one for logs ([file], [columns], [constants], [blanks],
// [values],
// [[keep]], [[drop]]; docs/log-format.md), in which [columns] names study columns and moderators:
//
//   [columns]
//   study = "study_code"
//   pre_mean = "pre_m"
//   failure = "task_failure_y_n"          # a moderator, under a name of your own
//   [values.better]
//   increase = "more"
//
// What cannot be is named by line and column; whether such rows stop everything or are left out is the caller's choice.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"
#include "service/interchange/byte_source.h"
#include "service/interchange/fault.h"
#include "service/interchange/mapping.h"
#include "service/interchange/read_log.h"

namespace ullage::interchange {

enum class StudyColumn {
  // Words.
  study,  // which study; without it every row is its own
  group,  // group, arm or sample within the study
  effect_id,
  label,   // for pictures: authors and year
  better,  // more or less: whether more of the outcome is better
  // Numbers: an effect as published.
  effect,
  variance,
  se,
  ci_lo,
  ci_hi,
  // Two groups.
  n1,
  mean1,
  sd1,
  se1,
  n2,
  mean2,
  sd2,
  se2,
  events1,
  events2,
  // One group before and after.
  n,
  pre_mean,
  pre_sd,
  pre_se,
  post_mean,
  post_sd,
  post_se,
  change_mean,
  change_sd,
  change_se,
  change_t,
  r  // correlation of before and after
};
inline constexpr std::size_t kStudyColumnCount = 32;
inline constexpr std::size_t kStudyWords = 5;  // the first are words
std::string_view study_column_name(StudyColumn column);
std::optional<StudyColumn> parse_study_column(std::string_view text);

struct StudyMapping {
  Mapping file;                                 // its [file] keys, keep and drop only
  std::map<std::string, ColumnSource> columns;  // study columns and moderators by name
  std::map<std::string, std::string> constants, blanks;
  std::map<std::string, std::map<std::string, std::string>> values;
};
// Error: invalid_input, with the line and the key and what was expected there.
Result<StudyMapping> parse_study_mapping(std::string_view toml);

struct StudyRow {
  std::uint64_t line = 0;
  std::vector<std::string> words;              // kStudyWords of them
  std::vector<std::optional<double>> numbers;  // the rest, by StudyColumn less kStudyWords
  std::vector<std::string> moderators;         // as StudyTable::moderators
  bool bad = false;                            // has a fault
  const std::string& word(StudyColumn c) const { return words[static_cast<std::size_t>(c)]; }
  std::optional<double> number(StudyColumn c) const { return numbers[static_cast<std::size_t>(c) - kStudyWords]; }
};

struct StudyTable {
  std::vector<std::string> moderators;  // names of the further columns
  std::vector<StudyRow> rows;           // kept by the rules, bad ones too
  std::uint64_t read = 0;               // rows below the header
  std::vector<DroppedRows> dropped;     // by the mapping's rules
  std::vector<Fault> faults;            // impossible or not a number
  std::vector<Fault> remarks;           // accepted, but worth a look
  bool has(StudyColumn c) const { return present[static_cast<std::size_t>(c)]; }
  std::vector<bool> present;  // which study columns the table has
};

// Faults found: no number where one is needed; n below 2 or not whole; sd, se or variance not above 0; an interval that
// is not around its effect or the wrong way round; events beyond n; r not between -1 and 1; an effect of the other sign
// than the means it is of. Remarks: a standardised difference above 5 (an se taken for an sd?), an interval that does
// not fit the standard error. Errors of the call: invalid_input when the table as a whole cannot be read; cancelled;
// what the source says. Held in memory: at most 200 000 rows.
Result<StudyTable> read_study_table(ByteSource& source, const StudyMapping* mapping = nullptr);

}  // namespace ullage::interchange
