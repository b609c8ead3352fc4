#include "service/interchange/sheet_text.h"

#include <algorithm>

namespace ullage::interchange {
namespace {

void add_field(std::string& out, std::string_view text) {
  if (text.find_first_of(",;\t\"\r\n") == std::string_view::npos) {
    out += text;
    return;
  }
  out += '"';
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c == '\r' || c == '\n' ? ' ' : c;
  }
  out += '"';
}

}  // namespace

Result<SheetText> first_sheet_as_csv(Workbook& book, std::size_t most) {
  for (std::size_t i = 0; i < book.sheets().size(); ++i) {
    if (book.sheets()[i].hidden) continue;
    const auto sheet = book.open_sheet(i, {});
    if (!sheet) return tl::unexpected(sheet.error());
    SheetText out;
    out.sheet = book.sheets()[i].name;
    std::int64_t lines = 0;
    for (SheetRow row;;) {
      const auto more = (*sheet)->next(row);
      if (!more) return tl::unexpected(more.error());
      if (!*more) break;
      if (row.cells.empty()) continue;
      out.text.append(static_cast<std::size_t>(std::max<std::int64_t>(row.number - 1 - lines, 0)), '\n');
      int column = 0;
      for (const SheetCell& cell : row.cells) {
        out.text.append(static_cast<std::size_t>(cell.column - column), ',');
        column = cell.column;
        if (cell.kind != CellKind::error && cell.kind != CellKind::no_value) add_field(out.text, row.text(cell));
      }
      out.text += '\n';
      lines = row.number;
      if (out.text.size() > most)
        return fail(Code::invalid_input,
                    "sheet \"" + out.sheet + "\" holds more than " + std::to_string(most >> 20) + " MB of text");
    }
    if ((*sheet)->too_wide())
      return fail(Code::invalid_input,
                  "sheet \"" + out.sheet + "\" has more than " + std::to_string(kMostSheetColumns) + " columns");
    if (!out.text.empty()) return out;
  }
  return fail(Code::invalid_input, "the workbook has no sheet with cells that is not hidden");
}

}  // namespace ullage::interchange
