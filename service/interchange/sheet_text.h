// A sheet of a workbook as delimited text, for what reads text alone.
#pragma once

#include <string>

#include "engine/base/result.h"
#include "service/interchange/workbook.h"

namespace ullage::interchange {

struct SheetText {
  std::string sheet;  // its name
  std::string text;  // CSV with commas; the rows keep their numbers as lines, for as long as no cell holds a line break
};

// The first sheet that is not hidden and has cells. Dates and times as SheetCell has them. invalid_input: no such
// sheet, text of more than `most` bytes, more columns than are read, or what is wrong with the workbook.
Result<SheetText> first_sheet_as_csv(Workbook& book, std::size_t most);

}  // namespace ullage::interchange
