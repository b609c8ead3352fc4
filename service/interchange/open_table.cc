#include "service/interchange/open_table.h"

#include "service/interchange/csv_reader.h"
#include "service/interchange/workbook_table.h"

namespace ullage::interchange {

Result<OpenTable> open_table(const std::string& path) {
  OpenTable out;
  auto file = FileSource::open(path);
  if (!file) return tl::unexpected<Error>(file.error());
  char first[4] = {};
  const auto count = file->read(first, sizeof first);
  if (!count) return tl::unexpected<Error>(count.error());
  if (looks_like_workbook({first, *count})) {
    auto book = Workbook::open(path);
    if (!book) return tl::unexpected<Error>(book.error());
    out.book = std::move(*book);
    out.table = std::make_unique<WorkbookTable>(*out.book);
    return out;
  }
  if (const auto rewound = file->rewind(); !rewound) return tl::unexpected<Error>(rewound.error());
  out.text = std::make_unique<FileSource>(std::move(*file));
  out.table = std::make_unique<CsvTable>(*out.text);
  return out;
}

}  // namespace ullage::interchange
