#include "service/interchange/csv_reader.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "engine/base/random.h"
#include "service/interchange/utf8.h"
#include "service/interchange/write_log.h"

namespace ullage::interchange {
namespace {

using Rows = std::vector<std::vector<std::string>>;

struct Reading {
  Rows rows;
  std::vector<std::uint64_t> lines;
  std::vector<std::string> faults;
  bool cut_short = false;
};

Reading read(std::string_view text, const CsvOptions& options = {}, std::size_t chunk = 1 << 20) {
  StringSource source(text, chunk);
  CsvReader reader(source, options);
  TableRow row;
  Reading reading;
  for (;;) {
    const auto more = reader.next(row);
    EXPECT_TRUE(more.has_value());
    if (!more || !*more) return reading;
    reading.lines.push_back(row.line());
    std::vector<std::string> fields;
    for (std::size_t i = 0; i < row.size(); ++i) fields.emplace_back(row.field(i));
    reading.rows.push_back(std::move(fields));
    for (const CellFault& fault : row.faults()) {
      reading.faults.push_back(std::to_string(fault.line) + "/" + std::to_string(fault.column) + " " + fault.problem);
    }
    reading.cut_short = reading.cut_short || row.cut_short();
  }
}

TEST(CsvReader, ReadsTheExampleOfTheHeader) {
  const Reading reading = read("a;b\n1;\"x\ny\"\n");
  EXPECT_EQ(reading.rows, (Rows{{"a", "b"}, {"1", "x\ny"}}));
  EXPECT_EQ(reading.lines, (std::vector<std::uint64_t>{1, 2}));
}

TEST(CsvReader, AllLineEndsAndNoneAtTheEnd) {
  for (const char* text : {"a,b\nc,d", "a,b\r\nc,d\r\n", "a,b\rc,d\r", "\n\na,b\n\r\nc,d\n\n"}) {
    EXPECT_EQ(read(text).rows, (Rows{{"a", "b"}, {"c", "d"}})) << text;
  }
  EXPECT_TRUE(read("").rows.empty());
  EXPECT_TRUE(read("\r\n \n").rows.empty());
}

TEST(CsvReader, QuotesAsInRfc4180) {
  EXPECT_EQ(read("\"a,b\",\"c\"\"d\",\"\"\n").rows, (Rows{{"a,b", "c\"d", ""}}));
  EXPECT_EQ(read("x,\"two\r\nlines\",y\nz,,\n").rows, (Rows{{"x", "two\r\nlines", "y"}, {"z", "", ""}}));
  EXPECT_EQ(read("x,\"two\r\nlines\",y\nz,,\n").lines, (std::vector<std::uint64_t>{1, 3}));
}

TEST(CsvReader, BlanksAroundUnquotedFieldsGoThoseInQuotesStay) {
  EXPECT_EQ(read(" a ,\" b \" , c d\n").rows, (Rows{{"a", " b ", "c d"}}));
  EXPECT_EQ(read("a 5\" block,b\n").rows, (Rows{{"a 5\" block", "b"}}));
}

TEST(CsvReader, FindsTheDelimiter) {
  EXPECT_EQ(read("a;b;c\n1,5;2,5;3,5\n").rows[1], (std::vector<std::string>{"1,5", "2,5", "3,5"}));
  EXPECT_EQ(read("a\tb\n1,5\t2\n").rows[1], (std::vector<std::string>{"1,5", "2"}));
  EXPECT_EQ(read("a|b|c\n1|2|3\n").rows[1].size(), 3u);
  EXPECT_EQ(read("sep=;\na;b\n1,2;3\n").rows, (Rows{{"a", "b"}, {"1,2", "3"}}));
  EXPECT_EQ(read("sep=;\na;b\n").lines, (std::vector<std::uint64_t>{2}));
  EXPECT_EQ(read("\"x;y;z\",b\n\"p;q;r\",d\n").rows[0].size(), 2u);
  EXPECT_EQ(read("a;b,c\n", {';', Encoding::detect}).rows[0], (std::vector<std::string>{"a", "b,c"}));
}

TEST(CsvReader, ByteOrderMarksAndUtf16) {
  EXPECT_EQ(read("\xEF\xBB\xBF"
                 "a,b\n")
                .rows,
            (Rows{{"a", "b"}}));
  const auto utf16 = [](std::u16string_view text, bool little) {
    std::string bytes;
    for (const char16_t unit : text) {
      const char low = static_cast<char>(unit & 0xFF);
      const char high = static_cast<char>(unit >> 8);
      bytes += little ? low : high;
      bytes += little ? high : low;
    }
    return bytes;
  };
  for (const bool little : {true, false}) {
    EXPECT_EQ(read(utf16(u"\uFEFFé,\U0001F4AA\n", little)).rows, (Rows{{"é", "💪"}}));
    EXPECT_EQ(read(utf16(u"a,b\nc,é\n", little)).rows, (Rows{{"a", "b"}, {"c", "é"}}));
    EXPECT_EQ(read(utf16(u"\uFEFFé,\U0001F4AA\n", little), {}, 1).rows, (Rows{{"é", "💪"}}));
  }
  // A lone half of a pair and an odd last byte.
  const std::string lone = utf16(std::u16string(u"\uFEFF"
                                                "a,b\nc,") +
                                     char16_t{0xD83D} + u"\n",
                                 true);
  ASSERT_EQ(read(lone).faults.size(), 1u);
  EXPECT_EQ(read(lone).faults[0], "2/1 holds bytes that are not text in utf-16-little");
  EXPECT_EQ(read(utf16(u"\uFEFF"
                       "a,b",
                       true) +
                 "x")
                .faults.size(),
            1u);
}

TEST(CsvReader, Utf32IsRefused) {
  StringSource source(std::string_view("\xFF\xFE\0\0a\0\0\0", 8));
  CsvReader reader(source);
  TableRow row;
  const auto more = reader.next(row);
  ASSERT_FALSE(more);
  EXPECT_EQ(more.error().code, Code::invalid_input);
}

TEST(CsvReader, Windows1252WhenTold) {
  EXPECT_EQ(read("\xC5sa,5 \x80\n", {0, Encoding::windows_1252}).rows, (Rows{{"Åsa", "5 €"}}));
  EXPECT_EQ(read("a,\x81\n", {0, Encoding::windows_1252}).faults.size(), 1u);
}

TEST(CsvReader, BrokenBytesAreNamedByLineAndColumn) {
  const Reading reading = read(std::string_view("a,b\nc,caf\xE9\nd\0e,f\ng,\"x\ny\xFF\"\n", 26));
  EXPECT_EQ(
      reading.faults,
      (std::vector<std::string>{
          "2/1 holds bytes that are not text in utf-8: save the file as UTF-8, or name its encoding in a mapping",
          "3/0 holds a NUL byte",
          "5/1 holds bytes that are not text in utf-8: save the file as UTF-8, or name its encoding in a mapping"}));
}

TEST(CsvReader, UnclosedQuoteIsNamedByTheLineItOpenedOn) {
  const Reading reading = read("a,b\n1,2\n3,\"four\n5,6\n7,8\n");
  ASSERT_EQ(reading.faults.size(), 1u);
  EXPECT_EQ(reading.faults[0], "3/1 a quote opened on line 3 is never closed: nothing from here on could be read");
  EXPECT_TRUE(reading.cut_short);
}

TEST(CsvReader, TextAfterTheClosingQuote) {
  const Reading reading = read("a,b\n\"x\"y,2\n3,4\n");
  ASSERT_EQ(reading.faults.size(), 1u);
  EXPECT_EQ(reading.faults[0], "2/0 text after the closing quote: a quote inside a text must be doubled");
  EXPECT_EQ(reading.rows.size(), 3u);
}

TEST(CsvReader, CapsOfFieldAndColumns) {
  const std::string longest(kLongestField, 'x');
  EXPECT_TRUE(read(longest + ",b\n").faults.empty());
  const Reading too_long = read("a,b\n" + longest + "x,c\nd,\"" + longest + longest + "\"\ne,f\n");
  ASSERT_EQ(too_long.faults.size(), 2u);
  EXPECT_EQ(too_long.faults[0].substr(0, 20), "2/0 longer than 1 MB");
  EXPECT_EQ(too_long.faults[1].substr(0, 20), "3/1 longer than 1 MB");
  EXPECT_EQ(too_long.rows.back(), (std::vector<std::string>{"e", "f"}));
  const Reading wide = read(std::string(kMostColumns - 1, ',') + "\n" + std::string(kMostColumns, ',') + "\na\n");
  ASSERT_EQ(wide.faults.size(), 1u);
  EXPECT_EQ(wide.faults[0], "2/1000 more than 1000 columns");
  EXPECT_EQ(wide.rows[1].size(), kMostColumns);
  EXPECT_EQ(wide.rows[2].size(), 1u);
}

TEST(CsvReader, ProgressAndStop) {
  const std::string text(1 << 20, '\n');
  StringSource source(text);
  std::uint64_t last = 0;
  CsvReader reader(source, {}, [&](std::uint64_t done, std::uint64_t total) {
    EXPECT_EQ(total, text.size());
    EXPECT_GE(done, last);
    last = done;
    return done < text.size() / 2;
  });
  TableRow row;
  const auto more = reader.next(row);
  ASSERT_FALSE(more);
  EXPECT_EQ(more.error().code, Code::cancelled);
  EXPECT_GE(last, text.size() / 2);
}

// The rows do not depend on how many bytes come at a time, and what the writer writes is read back.
TEST(CsvReader, RandomTablesComeBackWhateverTheChunk) {
  Random random(20260309);
  const std::vector<std::string> pieces{"a", "bc", " ", "\"", ",", ";", "\n", "\r\n", "\r", "é", "💪", "7", "-", "\t"};
  for (int round = 0; round < 300; ++round) {
    const int columns = random.integer(2, 6);
    Rows rows(static_cast<std::size_t>(random.integer(1, 6)));
    std::string text;
    for (auto& row : rows) {
      for (int column = 0; column < columns; ++column) {
        std::string field = column == 0 ? "k" : "";
        const int size = random.integer(0, 5);
        for (int i = 0; i < size; ++i) {
          field += pieces[static_cast<std::size_t>(random.integer(0, static_cast<int>(pieces.size()) - 1))];
        }
        if (column > 0) text += ',';
        append_csv_field(text, field);
        row.push_back(std::move(field));
      }
      text += "\r\n";
    }
    for (const std::size_t chunk : {std::size_t{1}, std::size_t{7}, std::size_t{1} << 20}) {
      const Reading reading = read(text, {',', Encoding::utf8}, chunk);
      ASSERT_EQ(reading.rows, rows) << text;
      ASSERT_TRUE(reading.faults.empty());
    }
  }
}

TEST(Utf8, TellsValidFromInvalid) {
  for (const char* text : {"", "plain", "é", "€", "💪", "\xF4\x8F\xBF\xBF"}) {
    EXPECT_EQ(first_invalid_utf8(text), std::string_view::npos) << text;
  }
  // Overlong, surrogate, above U+10FFFF, cut off, stray continuation.
  for (const char* text :
       {"\xC0\x80", "\xE0\x80\x80", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xE2\x82", "\x80", "\xFF"}) {
    EXPECT_EQ(first_invalid_utf8(text), 0u);
  }
}

}  // namespace
}  // namespace ullage::interchange
