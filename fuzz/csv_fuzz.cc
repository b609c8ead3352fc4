// The CSV reader: any bytes, in any pieces. What comes out does not depend on the pieces, rows without
// a fault are valid UTF-8, and writing them and reading them again gives the same rows.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fuzz/require.h"
#include "service/interchange/csv_reader.h"
#include "service/interchange/utf8.h"
#include "service/interchange/write_log.h"

namespace {

using namespace ullage::interchange;

struct Row {
  std::uint64_t line = 0;
  std::vector<std::string> fields;
  std::vector<std::string> faults;
  bool operator==(const Row&) const = default;
};

std::vector<Row> read(std::string_view bytes, const CsvOptions& options, std::size_t chunk) {
  StringSource source(bytes, chunk);
  CsvReader reader(source, options);
  TableRow row;
  std::vector<Row> rows;
  std::uint64_t last_line = 0;
  for (;;) {
    const auto more = reader.next(row);
    if (!more || !*more) return rows;
    REQUIRE(row.line() > last_line);
    REQUIRE(row.size() >= 1 && row.size() <= kMostColumns);
    last_line = row.line();
    Row& out = rows.emplace_back();
    out.line = row.line();
    for (std::size_t i = 0; i < row.size(); ++i) out.fields.emplace_back(row.field(i));
    for (const CellFault& fault : row.faults()) out.faults.push_back(std::to_string(fault.line) + fault.problem);
    for (const std::string& field : out.fields) {
      REQUIRE(!out.faults.empty() || first_invalid_utf8(field) == std::string_view::npos);
    }
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size < 1) return 0;
  const unsigned choice = data[0];
  const std::string_view bytes(reinterpret_cast<const char*>(data) + 1, size - 1);
  CsvOptions options;
  options.delimiter = std::string_view("\0\0,;\t|", 6)[choice % 6];
  if ((choice & 0x80) != 0) options.encoding = Encoding::windows_1252;
  const std::vector<Row> rows = read(bytes, options, static_cast<std::size_t>(-1));
  REQUIRE(rows == read(bytes, options, 1 + choice % 3));

  std::string text;
  std::vector<std::vector<std::string>> good;
  for (const Row& row : rows) {
    if (!row.faults.empty()) continue;
    good.push_back(row.fields);
    for (std::size_t i = 0; i < row.fields.size(); ++i) {
      if (i > 0) text += ',';
      const std::size_t before = text.size();
      append_csv_field(text, row.fields[i]);
      if (row.fields.size() == 1 && text.size() == before) text += "\"\"";  // a row that is one blank field
    }
    text += "\r\n";
  }
  const std::vector<Row> again = read(text, {',', Encoding::utf8}, static_cast<std::size_t>(-1));
  // A text that begins with the byte order mark or the separator's own line is the only one that changes.
  if (text.substr(0, 3) == "\xEF\xBB\xBF" || text.substr(0, 3) == "sep" || text.substr(0, 3) == "SEP") return 0;
  REQUIRE(again.size() == good.size());
  for (std::size_t i = 0; i < good.size(); ++i) REQUIRE(again[i].fields == good[i]);
  return 0;
}
