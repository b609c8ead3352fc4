#include "service/interchange/csv_reader.h"

#include <algorithm>
#include <map>
#include <utility>

#include "service/interchange/mapping.h"
#include "service/interchange/utf8.h"

namespace ullage::interchange {
namespace {

constexpr std::size_t kBuffer = 64 << 10;
constexpr char kNoCharacter = '\xFF';  // never part of UTF-8: check_text reports it where it stands

// Windows code page 1252, 0x80 to 0x9F; 0 where it has no character.
constexpr char16_t kWindows1252[32] = {0x20AC, 0,      0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
                                       0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, 0,      0x017D, 0,
                                       0,      0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
                                       0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, 0,      0x017E, 0x0178};

// Without a byte order mark: mostly Latin text in UTF-16 has a zero in every second byte.
Encoding guess_encoding(std::string_view bytes) {
  const std::size_t pairs = std::min<std::size_t>(bytes.size(), 512) / 2;
  std::size_t first_zero = 0;
  std::size_t second_zero = 0;
  for (std::size_t i = 0; i < pairs; ++i) {
    first_zero += bytes[2 * i] == 0 ? 1 : 0;
    second_zero += bytes[2 * i + 1] == 0 ? 1 : 0;
  }
  if (pairs >= 2 && first_zero == 0 && 2 * second_zero > pairs) return Encoding::utf16_little;
  if (pairs >= 2 && second_zero == 0 && 2 * first_zero > pairs) return Encoding::utf16_big;
  return Encoding::utf8;
}

// The separator that parts most rows into the same number of fields; a last, unfinished row is left out.
char guess_delimiter(std::string_view sample, bool complete) {
  constexpr std::string_view kCandidates = ",;\t|";
  constexpr std::size_t kRows = 100;
  std::vector<std::array<std::size_t, 4>> rows;
  std::array<std::size_t, 4> counts{};
  bool quoted = false;
  bool empty = true;
  for (const char c : sample) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if (c == '\n' || c == '\r') {
      if (!empty) rows.push_back(counts);
      counts = {};
      empty = true;
      if (rows.size() == kRows) break;
      continue;
    }
    empty = false;
    const std::size_t which = kCandidates.find(c);
    if (which != std::string_view::npos) ++counts[which];
  }
  if (!empty && (complete || rows.empty())) rows.push_back(counts);
  char best = ',';
  double best_score = 0;
  for (std::size_t which = 0; which < kCandidates.size(); ++which) {
    std::map<std::size_t, std::size_t> rows_with;
    for (const auto& row : rows) ++rows_with[row[which]];
    for (const auto& [count, number] : rows_with) {
      const double separators = static_cast<double>(count);
      const double score = static_cast<double>(number) * separators / (separators + 1);
      if (score > best_score) {
        best_score = score;
        best = kCandidates[which];
      }
    }
  }
  return best;
}

}  // namespace

std::string_view encoding_name(Encoding encoding) {
  switch (encoding) {
    case Encoding::detect: return "detect";
    case Encoding::utf8: return "utf-8";
    case Encoding::utf16_little: return "utf-16-little";
    case Encoding::utf16_big: return "utf-16-big";
    case Encoding::windows_1252: return "windows-1252";
  }
  return "utf-8";
}

std::vector<std::string> CsvReader::found() const {
  std::vector<std::string> out;
  if (encoding_ != Encoding::utf8) out.push_back("the text is in " + std::string(encoding_name(encoding_)));
  if (delimiter_ == '\t') {
    out.emplace_back("columns are parted by tabs");
  } else if (delimiter_ != ',') {
    out.push_back("columns are parted by \"" + std::string(1, delimiter_) + "\"");
  }
  return out;
}

CsvReader::CsvReader(ByteSource& source, const CsvOptions& options, Progress progress)
    : source_(source), options_(options), progress_(std::move(progress)), raw_(kBuffer) {}

void CsvReader::start() {
  started_ = true;
  encoding_ = options_.encoding;
  // The first bytes decide encoding and separator, so take as many as are there, however they come.
  std::size_t size = 0;
  while (size < raw_.size()) {
    const auto count = source_.read(raw_.data() + size, raw_.size() - size);
    if (!count) {
      state_ = tl::unexpected<Error>(count.error());
      return;
    }
    if (*count == 0) break;
    size += *count;
  }
  done_ = size;
  at_end_ = size < raw_.size();
  const std::string_view bytes(raw_.data(), size);
  std::size_t mark = 0;
  const auto starts = [&](std::string_view with) { return bytes.substr(0, with.size()) == with; };
  if (starts(std::string_view("\xFF\xFE\0\0", 4)) || starts(std::string_view("\0\0\xFE\xFF", 4))) {
    state_ = fail(Code::invalid_input, "the file is in UTF-32; save it as UTF-8 and try again");
    return;
  }
  if (starts("\xEF\xBB\xBF") && (encoding_ == Encoding::detect || encoding_ == Encoding::utf8)) {
    mark = 3;
    encoding_ = Encoding::utf8;
  } else if (starts("\xFF\xFE") && (encoding_ == Encoding::detect || encoding_ == Encoding::utf16_little)) {
    mark = 2;
    encoding_ = Encoding::utf16_little;
  } else if (starts("\xFE\xFF") && (encoding_ == Encoding::detect || encoding_ == Encoding::utf16_big)) {
    mark = 2;
    encoding_ = Encoding::utf16_big;
  } else if (encoding_ == Encoding::detect) {
    encoding_ = guess_encoding(bytes);
  }
  if (mark > 0) raw_.erase(raw_.begin(), raw_.begin() + static_cast<std::ptrdiff_t>(mark));
  decode(size - mark);
  raw_.resize(kBuffer);
  at_ = encoding_ == Encoding::utf8 ? raw_.data() : decoded_.data();
  end_ = at_ + (encoding_ == Encoding::utf8 ? size - mark : decoded_.size());

  const std::size_t held = static_cast<std::size_t>(end_ - at_);
  const std::string_view sample(at_, held);
  // Some spreadsheets name the separator on a first line of its own.
  if (sample.size() > 5 && (sample.substr(0, 4) == "sep=" || sample.substr(0, 4) == "SEP=") &&
      (sample[5] == '\r' || sample[5] == '\n') && static_cast<unsigned char>(sample[4]) < 0x80 && sample[4] != '"' &&
      sample[4] != '\r' && sample[4] != '\n') {
    delimiter_ = sample[4];
    at_ += 5;
  } else {
    delimiter_ = guess_delimiter(sample, at_end_);
  }
  if (options_.delimiter != 0) delimiter_ = options_.delimiter;
  for (const char c : {delimiter_, '\r', '\n', '\0'}) stops_[static_cast<unsigned char>(c)] = true;
  if (progress_ && !progress_(done_, source_.total())) state_ = fail(Code::cancelled, "stopped while reading");
}

// Turns the first `size` bytes of raw_ into decoded_; UTF-8 is used where it stands.
void CsvReader::decode(std::size_t size) {
  if (encoding_ == Encoding::utf8) return;
  decoded_.clear();
  if (encoding_ == Encoding::windows_1252) {
    for (std::size_t i = 0; i < size; ++i) {
      const auto byte = static_cast<unsigned char>(raw_[i]);
      const char32_t character = byte >= 0x80 && byte < 0xA0 ? kWindows1252[byte - 0x80] : byte;
      if (character == 0 && byte != 0) {
        decoded_ += kNoCharacter;
      } else {
        append_utf8(decoded_, character);
      }
    }
    return;
  }
  const auto unit = [&](unsigned first, unsigned second) {
    const unsigned value = encoding_ == Encoding::utf16_little ? first | (second << 8) : (first << 8) | second;
    const bool low = value >= 0xDC00 && value <= 0xDFFF;
    if (high_surrogate_ != 0) {
      const char32_t pair = 0x10000 + ((high_surrogate_ - 0xD800) << 10) + (value - 0xDC00);
      high_surrogate_ = 0;
      if (low) {
        append_utf8(decoded_, pair);
        return;
      }
      decoded_ += kNoCharacter;
    }
    if (value >= 0xD800 && value <= 0xDBFF) {
      high_surrogate_ = value;
    } else if (low) {
      decoded_ += kNoCharacter;
    } else {
      append_utf8(decoded_, value);
    }
  };
  std::size_t at = 0;
  if (!left_over_.empty() && size > 0) {
    unit(static_cast<unsigned char>(left_over_[0]), static_cast<unsigned char>(raw_[0]));
    left_over_.clear();
    at = 1;
  }
  for (; at + 1 < size; at += 2) unit(static_cast<unsigned char>(raw_[at]), static_cast<unsigned char>(raw_[at + 1]));
  if (at < size) left_over_ = raw_[at];
  if (at_end_ && (high_surrogate_ != 0 || !left_over_.empty())) {
    decoded_ += kNoCharacter;
    high_surrogate_ = 0;
    left_over_.clear();
  }
}

bool CsvReader::refill() {
  while (state_ && !at_end_) {
    const auto count = source_.read(raw_.data(), raw_.size());
    if (!count) {
      state_ = tl::unexpected<Error>(count.error());
      return false;
    }
    done_ += *count;
    at_end_ = *count == 0;
    decode(*count);
    at_ = encoding_ == Encoding::utf8 ? raw_.data() : decoded_.data();
    end_ = at_ + (encoding_ == Encoding::utf8 ? *count : decoded_.size());
    if (progress_ && !progress_(done_, source_.total())) {
      state_ = fail(Code::cancelled, "stopped while reading");
      return false;
    }
    if (at_ != end_) return true;
  }
  return false;
}

int CsvReader::peek() {
  if (at_ == end_ && !refill()) return -1;
  return static_cast<unsigned char>(*at_);
}

void CsvReader::add(TableRow& row, std::size_t begin, std::size_t size) {
  const std::size_t room =
      std::min(kLongestField - std::min(kLongestField, row.text_.size() - begin), kLongestRow - row.text_.size());
  if (size > room) too_long_ = true;
  row.text_.append(at_, std::min(size, room));
  at_ += size;
}

void CsvReader::add_fault(TableRow& row, std::uint64_t line, std::string problem) {
  row.faults_.push_back({line, row.ends_.size(), std::move(problem)});
}

// Reports a field that is too long or holds bytes that are no text. `line` is where it begins.
void CsvReader::check_text(TableRow& row, std::size_t begin, std::uint64_t line) {
  if (too_long_) {
    row.text_.resize(std::min(row.text_.size(), begin + 100));
    add_fault(row, line, "longer than 1 MB in one field or 8 MB in one row: is a closing quote missing?");
    return;
  }
  const std::string_view text = std::string_view(row.text_).substr(begin);
  const std::size_t bad = first_invalid_utf8(text);
  if (bad == std::string_view::npos) return;
  const std::string_view before = text.substr(0, bad);
  for (std::size_t i = 0; i < before.size(); ++i) {
    line += before[i] == '\n' || (before[i] == '\r' && (i + 1 == text.size() || text[i + 1] != '\n')) ? 1 : 0;
  }
  add_fault(row, line,
            "holds bytes that are not text in " + std::string(encoding_name(encoding_)) +
                (encoding_ == Encoding::utf8 ? ": save the file as UTF-8, or name its encoding in a mapping" : ""));
}

void CsvReader::read_quoted(TableRow& row, std::size_t begin) {
  const std::uint64_t opened = line_;
  ++at_;
  for (;;) {
    const int next = peek();
    if (next < 0) {
      add_fault(
          row, opened,
          "a quote opened on line " + std::to_string(opened) + " is never closed: nothing from here on could be read");
      row.cut_short_ = true;
      row.text_.resize(std::min(row.text_.size(), begin + 100));
      return;
    }
    const char* stop = at_;
    while (stop != end_ && *stop != '"' && *stop != '\n' && *stop != '\r' && *stop != '\0') ++stop;
    add(row, begin, static_cast<std::size_t>(stop - at_));
    if (at_ == end_) continue;
    switch (*at_) {
      case '"':
        ++at_;
        if (peek() != '"') return;
        add(row, begin, 1);
        break;
      case '\n':
        add(row, begin, 1);
        ++line_;
        break;
      case '\r':
        add(row, begin, 1);
        ++line_;
        if (peek() == '\n') add(row, begin, 1);
        break;
      default:
        if (!odd_bytes_) add_fault(row, line_, "holds a NUL byte");
        odd_bytes_ = true;
        ++at_;
    }
  }
}

void CsvReader::read_field(TableRow& row) {
  const std::size_t begin = row.text_.size();
  const std::uint64_t line = line_;
  too_long_ = false;
  odd_bytes_ = false;
  const auto blank = [&](int c) { return (c == ' ' || c == '\t') && c != static_cast<unsigned char>(delimiter_); };
  while (blank(peek())) ++at_;
  bool quoted = false;
  if (peek() == '"' && delimiter_ != '"') {
    quoted = true;
    read_quoted(row, begin);
    if (row.cut_short_) return;
    while (blank(peek())) ++at_;
  }
  const std::size_t quoted_end = row.text_.size();
  for (;;) {
    if (peek() < 0) break;
    const char* stop = at_;
    while (stop != end_ && !stops_[static_cast<unsigned char>(*stop)]) ++stop;
    if (quoted && stop != at_) {
      add_fault(row, line_, "text after the closing quote: a quote inside a text must be doubled");
      quoted = false;
    }
    add(row, begin, static_cast<std::size_t>(stop - at_));
    if (at_ == end_) continue;
    if (*at_ != '\0') break;
    if (!odd_bytes_) add_fault(row, line_, "holds a NUL byte");
    odd_bytes_ = true;
    ++at_;
  }
  std::size_t size = row.text_.size();
  while (size > quoted_end && blank(static_cast<unsigned char>(row.text_[size - 1]))) --size;
  row.text_.resize(size);
  check_text(row, begin, line);
}

Result<bool> CsvReader::next(TableRow& row) {
  if (!started_) start();
  const auto end_line = [&] {
    if (*at_++ == '\r' && peek() == '\n') ++at_;
    ++line_;
  };
  for (;;) {
    row.text_.clear();
    row.ends_.clear();
    row.faults_.clear();
    row.cut_short_ = false;
    row.line_ = line_;
    if (!state_ || peek() < 0) break;
    const bool quoted = *at_ == '"';
    bool too_many = false;
    for (;;) {
      const std::size_t begin = row.text_.size();
      const std::size_t faults = row.faults_.size();
      read_field(row);
      if (row.ends_.size() < kMostColumns) {
        row.ends_.push_back(row.text_.size());
      } else {
        row.text_.resize(begin);
        row.faults_.resize(faults);
        too_many = true;
      }
      if (row.cut_short_ || peek() != static_cast<unsigned char>(delimiter_)) break;
      ++at_;
    }
    if (too_many) add_fault(row, row.line_, "more than " + std::to_string(kMostColumns) + " columns");
    if (!state_) break;
    if (at_ != end_) end_line();
    const bool empty = row.ends_.size() == 1 && row.text_.empty() && row.faults_.empty() && !quoted;
    if (!empty) return true;
  }
  if (!state_) return tl::unexpected<Error>(state_.error());
  return false;
}

Result<std::unique_ptr<TableReader>> CsvTable::start(const Mapping* mapping, Progress progress) {
  if (started_) {
    if (const auto rewound = source_.rewind(); !rewound) return tl::unexpected<Error>(rewound.error());
  }
  started_ = true;
  CsvOptions options;
  if (mapping != nullptr) {
    options.delimiter = mapping->delimiter;
    options.encoding = mapping->encoding;
  }
  return std::make_unique<CsvReader>(source_, options, std::move(progress));
}

}  // namespace ullage::interchange
