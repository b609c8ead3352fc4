// Looks at a table and offers a mapping, with the questions only its owner can answer.
#pragma once

#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "service/interchange/mapping.h"
#include "service/interchange/read_log.h"
#include "service/interchange/workbook.h"

namespace ullage::interchange {

// Something the table does not say. The import fails until it is answered in the mapping.
struct Question {
  std::string key;                   // key of the mapping the answer goes to: "date_order", "columns.load.unit"
  std::string text;                  // "03/04/2026: day first or month first? ..."
  std::vector<std::string> choices;  // values of that key, where there are few
  bool required = true;              // false: may stay as offered
};

struct Suggestion {
  Mapping mapping;
  std::vector<Question> questions;
  std::vector<std::string> found;       // "column Weight (lb) is read as load, in lb"
  std::vector<std::string> headers;     // of the table, in order
  std::vector<std::string> not_mapped;  // columns that would be kept as notes
  std::vector<UnknownExercise> unknown_exercises;
  std::vector<std::vector<std::string>> sample;  // first rows below the header, at most 5
};

// Reads the whole table once, without holding it. Only options.today, resolve and progress are used.
// Error: invalid_input when there are no rows; cancelled; what the source says.
Result<Suggestion> suggest_mapping(ByteSource& source, const ReadLogOptions& options);
// The same of a workbook: which sheets, where the names of the columns stand, and how sets lie on a row as well.
Result<Suggestion> suggest_mapping(Workbook& book, const ReadLogOptions& options);

}  // namespace ullage::interchange
