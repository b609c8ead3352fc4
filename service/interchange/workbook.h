// Workbooks as their cells: XLSX (ECMA-376) and ODS (OpenDocument), read row by row within fixed memory.
//
//   auto book = Workbook::open("spring.xlsx");
//   auto sheet = (*book)->open_sheet(0);
//   SheetRow row;
//   while (*(*sheet)->next(row)) for (const SheetCell& cell : row.cells) use(row.text(cell), cell.kind);
//
// Formulas are never computed: the value the spreadsheet program stored is taken. Macros, links and pictures are not
// looked at.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"
#include "service/interchange/byte_source.h"

namespace ullage::interchange {

inline constexpr std::int64_t kMostSheetRows = 1048576;  // of a sheet, as the format has it
inline constexpr int kMostSheetColumns = 1000;           // read; what stands right of them is told, not read

enum class CellKind {
  empty,
  text,
  number,   // "102.5": decimal point, at most 15 figures
  date,     // "2026-03-09" or "2026-03-09T18:40"
  time,     // a time of day or a span: "18:40", "2:30"
  yes_no,   // "1" or "0"
  error,    // "#DIV/0!"
  no_value  // a formula without a stored value
};

struct SheetCell {
  int column = 0;  // from 0
  CellKind kind = CellKind::empty;
  // Where the text is: in the row, or in the workbook's common texts.
  bool common = false;
  std::uint32_t begin = 0, size = 0;
};

struct SheetRow {
  std::int64_t number = 0;  // from 1
  bool hidden = false;
  std::vector<SheetCell> cells;  // those with something in them, rising by column
  std::string own_text;
  std::string_view common_text;  // valid as long as the workbook
  std::string_view text(const SheetCell& cell) const {
    return (cell.common ? common_text : std::string_view(own_text)).substr(cell.begin, cell.size);
  }
};

// Cells joined into one: what stands in the first holds for all of them. Rows from 1, columns from 0, ends included.
struct MergedCells {
  std::int64_t first_row = 0, last_row = 0;
  int first_column = 0, last_column = 0;
};

struct SheetInfo {
  std::string name;
  bool hidden = false;
};

class SheetReader {
 public:
  virtual ~SheetReader() = default;
  // The next row that holds anything; false at the end. Error: invalid_input with what is wrong and where
  // ("sheet Week 3, D14: ..."), cancelled.
  virtual Result<bool> next(SheetRow& row) = 0;
  // Cells joined, by first row. Of an ODS sheet, known only for the rows read so far.
  virtual const std::vector<MergedCells>& merged() const = 0;
  // Remarks attached to cells, by row and column; those of an ODS sheet as far as it was read.
  virtual const std::map<std::pair<std::int64_t, int>, std::string>& comments() const = 0;
  // Something stood right of the columns that are read.
  virtual bool too_wide() const = 0;
};

class Workbook {
 public:
  virtual ~Workbook() = default;
  // By its bytes, not by its name. Error: not_found; invalid_input when it is no workbook, damaged, locked or beyond
  // the limits.
  static Result<std::unique_ptr<Workbook>> open(const std::string& path);
  // Bytes held by someone else, who must keep them alive.
  static Result<std::unique_ptr<Workbook>> open_bytes(std::string_view bytes);

  virtual const std::vector<SheetInfo>& sheets() const = 0;
  // Must not outlive the workbook; one at a time.
  virtual Result<std::unique_ptr<SheetReader>> open_sheet(std::size_t sheet, Progress progress = {}) = 0;
  // The day a serial number stands for in this workbook, as a log has it, with the time where there is one.
  virtual std::optional<std::string> day_of_serial(double serial) const = 0;
};

// True when the file begins as a zipped workbook or an old binary one does.
bool looks_like_workbook(std::string_view first_bytes);

// "A", "Z", "AA" of a column from 0, and back.
std::string column_letters(int column);
std::optional<int> parse_column_letters(std::string_view text);
// "D14" -> row 14, column 3.
std::optional<std::pair<std::int64_t, int>> parse_cell_address(std::string_view text);

// A serial number as a log writes it; `epoch_1904`: days count from 1904-01-01. Empty outside 1900 to 9999.
std::optional<std::string> serial_day(double serial, bool epoch_1904);
// A span of days as hours and minutes: 0.5 is "12:00"; seconds are written when there are any.
std::string serial_time(double days, bool minutes_only);
// What a number format shows: a date, a time, or neither.
enum class NumberFormat { number, date, time, minutes };
NumberFormat number_format(int id, std::string_view code);

}  // namespace ullage::interchange
