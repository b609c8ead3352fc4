// Reads delimited text row by row: RFC 4180 and the mess of real life.
//
// Understood without being told: byte order marks, UTF-8 and UTF-16 (either byte order), rows ended
// by LF, CRLF or CR, quoted fields with line breaks and doubled quotes, and which of , ; tab | parts
// the fields. Unquoted fields lose blanks at both ends; empty lines are passed over. Memory stays
// within a fixed buffer and the longest allowed row, however long the file.
//
//   StringSource source("a;b\n1;\"x\ny\"\n");
//   CsvReader reader(source);
//   TableRow row;
//   while (*reader.next(row)) use(row.field(0), row.line());
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"
#include "service/interchange/byte_source.h"
#include "service/interchange/table_row.h"

namespace ullage::interchange {

enum class Encoding { detect, utf8, utf16_little, utf16_big, windows_1252 };
std::string_view encoding_name(Encoding encoding);  // "utf-8", ...

struct CsvOptions {
  char delimiter = 0;                    // 0: found from the first rows
  Encoding encoding = Encoding::detect;  // detect never chooses windows_1252
};

class CsvReader : public TableReader {
 public:
  // The source must outlive the reader and is read from where it stands.
  explicit CsvReader(ByteSource& source, const CsvOptions& options = {}, Progress progress = {});

  // Reads the next row; false at the end. Error: what the source says, or cancelled.
  Result<bool> next(TableRow& row) override;

  // Known after the first call of next.
  char delimiter() const override { return delimiter_; }
  Encoding encoding() const { return encoding_; }
  std::vector<std::string> found() const override;

 private:
  void start();
  bool refill();
  int peek();
  void decode(std::size_t size);
  void read_field(TableRow& row);
  void read_quoted(TableRow& row, std::size_t begin);
  void add(TableRow& row, std::size_t begin, std::size_t size);
  void check_text(TableRow& row, std::size_t begin, std::uint64_t line);
  void add_fault(TableRow& row, std::uint64_t line, std::string problem);

  ByteSource& source_;
  CsvOptions options_;
  Progress progress_;
  std::vector<char> raw_;
  std::string decoded_;
  const char* at_ = nullptr;
  const char* end_ = nullptr;
  std::array<bool, 256> stops_{};
  std::uint64_t done_ = 0;
  std::uint64_t line_ = 1;
  std::string left_over_;  // bytes of a UTF-16 unit that the last read cut in two
  unsigned high_surrogate_ = 0;
  char delimiter_ = 0;
  Encoding encoding_ = Encoding::detect;
  bool started_ = false;
  bool at_end_ = false;
  bool too_long_ = false;
  bool odd_bytes_ = false;
  Result<void> state_;
};

// Delimited text as a table that can be read again.
class CsvTable : public TableSource {
 public:
  // The source must outlive the table.
  explicit CsvTable(ByteSource& source) : source_(source) {}
  Result<std::unique_ptr<TableReader>> start(const Mapping* mapping, Progress progress) override;

 private:
  ByteSource& source_;
  bool started_ = false;
};

}  // namespace ullage::interchange
