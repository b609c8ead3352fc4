// A file as a table, whether it is delimited text or a workbook: its first bytes decide, not its name.
#pragma once

#include <memory>
#include <string>

#include "engine/base/result.h"
#include "service/interchange/byte_source.h"
#include "service/interchange/table_row.h"
#include "service/interchange/workbook.h"

namespace ullage::interchange {

struct OpenTable {
  std::unique_ptr<FileSource> text;  // of a text file
  std::unique_ptr<Workbook> book;    // of a workbook
  std::unique_ptr<TableSource> table;
};

// Error: not_found, unavailable, or what is wrong with the workbook.
Result<OpenTable> open_table(const std::string& path);

}  // namespace ullage::interchange
