// Workbooks: any bytes as a zipped file, or as the parts of one: the text of a sheet, and after a line "===" the common
// texts. What is read has rising rows and columns and valid text, or one line says what is wrong.
#include <zip.h>

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "fuzz/require.h"
#include "service/interchange/read_log.h"
#include "service/interchange/suggest_mapping.h"
#include "service/interchange/utf8.h"
#include "service/interchange/workbook.h"
#include "service/interchange/workbook_table.h"

namespace {

using namespace ullage;
using namespace ullage::interchange;

constexpr std::string_view kBook =
    "<workbook xmlns:r=\"r\"><sheets><sheet name=\"Week 3\" sheetId=\"1\" r:id=\"rId1\"/></sheets></workbook>";
constexpr std::string_view kRelations =
    "<Relationships><Relationship Id=\"rId1\" Type=\"x/worksheet\" Target=\"sheet.xml\"/>"
    "<Relationship Id=\"rId2\" Type=\"x/sharedStrings\" Target=\"texts.xml\"/></Relationships>";

std::string zipped(std::string_view sheet, std::string_view texts) {
  zip_error_t error;
  zip_error_init(&error);
  zip_source_t* source = zip_source_buffer_create(nullptr, 0, 0, &error);
  zip_source_keep(source);
  zip_t* zip = zip_open_from_source(source, ZIP_TRUNCATE, &error);
  const auto add = [&](const char* name, std::string_view text) {
    const auto at = zip_file_add(zip, name, zip_source_buffer(zip, text.data(), text.size(), 0), 0);
    zip_set_file_compression(zip, static_cast<zip_uint64_t>(at), ZIP_CM_STORE, 0);
  };
  add("xl/workbook.xml", kBook);
  add("xl/_rels/workbook.xml.rels", kRelations);
  add("xl/sheet.xml", sheet);
  add("xl/texts.xml", texts);
  REQUIRE(zip_close(zip) == 0);
  zip_source_open(source);
  zip_source_seek(source, 0, SEEK_END);
  std::string bytes(static_cast<std::size_t>(zip_source_tell(source)), '\0');
  zip_source_seek(source, 0, SEEK_SET);
  zip_source_read(source, bytes.data(), bytes.size());
  zip_source_close(source);
  zip_source_free(source);
  zip_error_fini(&error);
  return bytes;
}

void require_message(const Error& error) {
  REQUIRE(!error.message.empty() && error.message.find('\n') == std::string::npos);
  REQUIRE(first_invalid_utf8(error.message) == std::string_view::npos);
}

void read(std::string_view bytes) {
  auto book = Workbook::open_bytes(bytes);
  if (!book) return require_message(book.error());
  for (std::size_t i = 0; i < (*book)->sheets().size() && i < 4; ++i) {
    auto sheet = (*book)->open_sheet(i);
    if (!sheet) {
      require_message(sheet.error());
      continue;
    }
    SheetRow row;
    std::int64_t before = 0;
    for (int rows = 0; rows < 2000; ++rows) {
      const auto more = (*sheet)->next(row);
      if (!more) {
        require_message(more.error());
        break;
      }
      if (!*more) break;
      REQUIRE(row.number > before && row.number <= kMostSheetRows);
      before = row.number;
      int column = -1;
      for (const SheetCell& cell : row.cells) {
        REQUIRE(cell.column > column && cell.column < kMostSheetColumns);
        column = cell.column;
        REQUIRE(cell.size > 0 && first_invalid_utf8(row.text(cell)) == std::string_view::npos);
      }
    }
  }
  ReadLogOptions options;
  options.today = *make_date(2026, 3, 10);
  options.lifter = "someone";
  options.most_previews = 3;
  WorkbookTable table(**book);
  if (const auto summary = read_log(table, options, {}); !summary) require_message(summary.error());
  const auto offer = suggest_mapping(**book, options);
  if (!offer) return require_message(offer.error());
  const auto mapping = parse_mapping(mapping_text(offer->mapping));
  REQUIRE(mapping && *mapping == offer->mapping);
  options.mapping = &*mapping;
  const auto summary = read_log(table, options, {});
  if (!summary) return;
  for (const Fault& fault : summary->faults) {
    const std::string text = fault_text(fault);
    REQUIRE(!text.empty() && text.find('\n') == std::string::npos &&
            first_invalid_utf8(text) == std::string_view::npos);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  if (bytes.substr(0, 2) == "PK") {
    read(bytes);
    return 0;
  }
  const std::size_t cut = bytes.find("\n===\n");
  const std::string_view texts = cut == std::string_view::npos ? std::string_view("<sst/>") : bytes.substr(cut + 5);
  read(zipped(bytes.substr(0, cut), texts));
  return 0;
}
