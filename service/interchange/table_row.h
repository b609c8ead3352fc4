// One row of a table, whatever the table comes from, and the interface of what reads it row by row.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"
#include "service/interchange/byte_source.h"
#include "service/interchange/workbook.h"

namespace ullage::interchange {

struct Mapping;

inline constexpr std::size_t kLongestField = 1 << 20;  // bytes
inline constexpr std::size_t kLongestRow = 8 << 20;    // bytes
inline constexpr std::size_t kMostColumns = 1000;

// Something wrong inside one row; the row's other fields are as they stand.
struct CellFault {
  std::uint64_t line = 0;
  std::size_t column = 0;  // place of the field, from 0
  std::string problem;
};

class TableRow {
 public:
  std::size_t size() const { return ends_.size(); }
  // Valid until the row is read into again.
  std::string_view field(std::size_t i) const {
    const std::size_t begin = i == 0 ? 0 : ends_[i - 1];
    return std::string_view(text_).substr(begin, ends_[i] - begin);
  }
  std::uint64_t line() const { return line_; }  // on which it begins
  const std::vector<CellFault>& faults() const { return faults_; }
  // Nothing after this row could be read (a quote that is never closed).
  bool cut_short() const { return cut_short_; }

  // ---- Rows of a workbook; a row of text has none of these.
  bool of_sheet() const { return !cells_.empty(); }
  std::string_view sheet() const { return sheet_; }
  // What the cell is: text for every field of a text file.
  CellKind kind(std::size_t i) const { return i < cells_.size() ? cells_[i].kind : CellKind::text; }
  // Written as in a log, whatever the table's way of writing numbers.
  bool typed(std::size_t i) const { return kind(i) != CellKind::text && kind(i) != CellKind::empty; }
  // "Week 3!D14"; of a field without a cell of its own "Week 3, row 14"; "" in a text file.
  std::string place(std::size_t i) const {
    if (!of_sheet()) return "";
    if (i >= cells_.size() || cells_[i].column < 0) return std::string(sheet_) + ", row " + std::to_string(line_);
    return std::string(sheet_) + "!" + column_letters(cells_[i].column) + std::to_string(line_);
  }
  std::string place() const { return place(static_cast<std::size_t>(-1)); }

  // ---- For those who make rows.
  struct Cell {
    CellKind kind = CellKind::empty;
    int column = -1;  // of the sheet; -1: none of its own
  };
  // `sheet` must live as long as the row is used.
  void begin(std::string_view sheet, std::uint64_t line) {
    text_.clear();
    ends_.clear();
    faults_.clear();
    cells_.clear();
    cut_short_ = false;
    sheet_ = sheet;
    line_ = line;
  }
  void add(std::string_view text, const Cell& cell) {
    if (text.size() > kLongestField || text_.size() + text.size() > kLongestRow) {
      faults_.push_back({line_, ends_.size(), "longer than 1 MB in one cell or 8 MB in one row"});
      text = {};
    }
    text_ += text;
    ends_.push_back(text_.size());
    cells_.push_back(cell);
  }

 private:
  friend class CsvReader;
  std::string text_;
  std::vector<std::size_t> ends_;
  std::vector<Cell> cells_;
  std::vector<CellFault> faults_;
  std::string_view sheet_;
  std::uint64_t line_ = 0;
  bool cut_short_ = false;
};

class TableReader {
 public:
  virtual ~TableReader() = default;
  // Reads the next row; false at the end. Error: what the source says, or cancelled.
  virtual Result<bool> next(TableRow& row) = 0;
  // What parts the fields; 0 in a workbook.
  virtual char delimiter() const { return 0; }
  // What was taken from the table itself, one line each; complete at the end.
  virtual std::vector<std::string> found() const = 0;
};

// A table that can be read from its beginning as often as needed.
class TableSource {
 public:
  virtual ~TableSource() = default;
  // From the first row. Of a workbook the first row holds the names of the columns the mapping asks for and of all
  // others. `mapping` may be null and must outlive the reader. One reader at a time.
  virtual Result<std::unique_ptr<TableReader>> start(const Mapping* mapping, Progress progress) = 0;
  virtual bool is_workbook() const { return false; }
  // The day of a bare number in a column of dates.
  virtual std::optional<std::string> day_of_serial(double) const { return std::nullopt; }
};

}  // namespace ullage::interchange
