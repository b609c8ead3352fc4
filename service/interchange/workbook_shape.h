// How a workbook is laid out, seen from its first rows: which sheets hold sets, on which rows the names of the columns
// stand, and whether a row is a set or an exercise with its sets beside each other.
#pragma once

#include <string>
#include <vector>

#include "service/interchange/suggest_mapping.h"

namespace ullage::interchange {

struct WorkbookShape {
  // [workbook], sets, and columns that hold a * or a name in brackets; columns of one name only so that the sheets with
  // that name are found.
  Mapping mapping;
  bool comments = false;  // some cell has a remark attached
  std::vector<std::string> found;
  std::vector<Question> questions;
};

// Error: invalid_input when no sheet holds a table, or what the workbook says.
Result<WorkbookShape> find_shape(Workbook& book, const ReadLogOptions& options);

}  // namespace ullage::interchange
