// Tables as an XLSX workbook: typed cells, units in the names of columns, a header that stays in sight.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"

namespace ullage::documents {

struct DayAndTime {
  Date date;
  int seconds = 0;  // of the day
  bool with_seconds = false;
};
// Nothing, a text, a number, a day, a day with its time, yes or no.
using CellValue = std::variant<std::monostate, std::string, double, Date, DayAndTime, bool>;

struct SheetColumn {
  std::string name;
  double width = 10;            // letters
  std::optional<int> decimals;  // of numbers; empty: as they are
};

// A line chart beside the table: columns by their place.
struct SheetChart {
  std::string title;
  std::size_t x = 0;  // dates or numbers
  std::vector<std::size_t> series;
  std::size_t first_row = 1, last_row = 1;  // from 1, below the header
  std::string y_title;
};

struct WorkbookSheet {
  std::string name;  // at most 31 letters, without []:*?/ and backslash
  std::vector<SheetColumn> columns;
  // Fills the next row, false at the end. Rows beyond what a sheet can hold go on on a further one.
  std::function<Result<bool>(std::vector<CellValue>&)> next;
  std::vector<SheetChart> charts;
};

// Writes beside its place and moves there. Memory does not grow with the rows. Errors: unavailable; invalid_input for a
// text of more than 32767 letters, which a cell cannot hold.
Result<void> write_workbook(const std::string& path, const std::vector<WorkbookSheet>& sheets);

}  // namespace ullage::documents
