// A workbook as one table: the sheets one after the other, their columns found by name.
//
// On each sheet the row is looked for on which the names stand that the mapping asks for; sheets without the columns
// needed are passed over, which is told. Cells joined downwards hold their text for all rows they cover. A row with a
// single filled cell is no set but a heading: its text is "(section)" for the rows below. A row that repeats the names
// is passed over.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "service/interchange/mapping.h"
#include "service/interchange/table_row.h"
#include "service/interchange/workbook.h"

namespace ullage::interchange {

class WorkbookTable : public TableSource {
 public:
  // The workbook must outlive the table.
  explicit WorkbookTable(Workbook& book) : book_(book) {}
  // Error: invalid_input when no sheet has the columns needed, or one named in the mapping does not: says which.
  Result<std::unique_ptr<TableReader>> start(const Mapping* mapping, Progress progress) override;
  bool is_workbook() const override { return true; }
  std::optional<std::string> day_of_serial(double serial) const override { return book_.day_of_serial(serial); }

 private:
  Workbook& book_;
};

// The first rows of a sheet as a person sees them: cells joined in any way hold their text everywhere.
struct SheetHead {
  struct Row {
    std::int64_t number = 0;
    bool hidden = false;
    std::vector<std::string> cells;
    std::vector<CellKind> kinds;
    int own = 0;  // filled cells, without those that are filled by being joined
  };
  std::vector<Row> rows;
  bool comments = false;  // some cell has a remark attached
};
inline constexpr std::size_t kHeadRows = 40;
// Rows without anything in them are left out.
Result<SheetHead> read_sheet_head(Workbook& book, std::size_t sheet, std::size_t most_rows = kHeadRows);

// Names of the columns when they stand on rows `first` to `last` of the head (places in SheetHead::rows): texts joined
// by a blank, the same text only once. A name that stands on several columns is counted: "kg 1", "kg 2".
std::vector<std::string> joined_names(const SheetHead& head, std::size_t first, std::size_t last);

// A name of a mapping that is no column: "(sheet)".
bool is_bracketed(std::string_view name);

}  // namespace ullage::interchange
