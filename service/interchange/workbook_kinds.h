// The two kinds of workbook behind Workbook::open; each takes the zipped parts over.
#pragma once

#include <memory>

#include "service/interchange/workbook.h"
#include "service/interchange/zip_parts.h"

namespace ullage::interchange {

Result<std::unique_ptr<Workbook>> open_xlsx(std::unique_ptr<ZipParts> parts);
Result<std::unique_ptr<Workbook>> open_ods(std::unique_ptr<ZipParts> parts);

// A number as a log has it, with the 15 figures a spreadsheet keeps; empty when `text` is none.
std::optional<std::string> plain_number(std::string_view text);

}  // namespace ullage::interchange
