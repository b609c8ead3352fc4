#include "service/interchange/workbook.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>

#include "engine/base/dates.h"
#include "service/interchange/cell_text.h"
#include "service/interchange/workbook_kinds.h"
#include "service/interchange/zip_parts.h"

namespace ullage::interchange {
namespace {

Result<std::unique_ptr<Workbook>> opened(Result<std::unique_ptr<ZipParts>> parts) {
  if (!parts) {
    return fail(parts.error().code, parts.error().code == Code::not_found
                                        ? parts.error().message
                                        : "the workbook cannot be read: " + parts.error().message);
  }
  Result<std::unique_ptr<Workbook>> book =
      fail(Code::invalid_input, "it is neither an XLSX nor an ODS workbook: save it as one of these, or as CSV");
  if ((*parts)->has("xl/workbook.xml") || (*parts)->has("_rels/.rels")) {
    book = open_xlsx(std::move(*parts));
  } else if ((*parts)->has("content.xml")) {
    book = open_ods(std::move(*parts));
  }
  if (!book) return fail(book.error().code, "the workbook cannot be read: " + book.error().message);
  return book;
}

constexpr std::string_view kZip("PK\3\4", 4);
constexpr std::string_view kOldBinary("\xD0\xCF\x11\xE0", 4);

Result<void> check_start(std::string_view bytes) {
  if (bytes.substr(0, 4) == kOldBinary) {
    return fail(Code::invalid_input,
                "it is an old binary workbook (.xls) or locked with a password: save it as XLSX without one");
  }
  return {};
}

}  // namespace

bool looks_like_workbook(std::string_view first_bytes) {
  return first_bytes.substr(0, 4) == kZip || first_bytes.substr(0, 4) == kOldBinary;
}

Result<std::unique_ptr<Workbook>> Workbook::open(const std::string& path) {
  char start[4] = {};
  std::ifstream(path, std::ios::binary).read(start, 4);
  if (const auto checked = check_start({start, 4}); !checked) return tl::unexpected<Error>(checked.error());
  return opened(ZipParts::open(path));
}

Result<std::unique_ptr<Workbook>> Workbook::open_bytes(std::string_view bytes) {
  if (const auto checked = check_start(bytes); !checked) return tl::unexpected<Error>(checked.error());
  return opened(ZipParts::open_bytes(bytes));
}

std::string column_letters(int column) {
  std::string letters;
  for (++column; column > 0; column = (column - 1) / 26) {
    letters.insert(letters.begin(), static_cast<char>('A' + (column - 1) % 26));
  }
  return letters;
}

std::optional<int> parse_column_letters(std::string_view text) {
  if (text.empty() || text.size() > 3) return std::nullopt;
  int column = 0;
  for (const char c : text) {
    const char upper = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    if (upper < 'A' || upper > 'Z') return std::nullopt;
    column = column * 26 + (upper - 'A' + 1);
  }
  return column <= 16384 ? std::optional<int>(column - 1) : std::nullopt;
}

std::optional<std::pair<std::int64_t, int>> parse_cell_address(std::string_view text) {
  std::size_t letters = 0;
  while (letters < text.size() && (text[letters] < '0' || text[letters] > '9')) ++letters;
  const auto column = parse_column_letters(text.substr(0, letters));
  if (!column || letters == text.size() || text.size() - letters > 7) return std::nullopt;
  std::int64_t row = 0;
  for (const char c : text.substr(letters)) {
    if (c < '0' || c > '9') return std::nullopt;
    row = row * 10 + (c - '0');
  }
  if (row < 1 || row > kMostSheetRows) return std::nullopt;
  return std::make_pair(row, *column);
}

std::optional<std::string> serial_day(double serial, bool epoch_1904) {
  if (!std::isfinite(serial) || serial < 0 || serial > 2958465) return std::nullopt;
  double day = std::floor(serial);
  auto seconds = static_cast<int>(std::lround((serial - day) * 86400));
  if (seconds == 86400) {
    seconds = 0;
    day += 1;
  }
  // In the 1900 count day 60 is a 29 February 1900 that never was.
  if (!epoch_1904 && day == 60) return std::nullopt;
  const Date first = epoch_1904 ? *make_date(1904, 1, 1)
                     : day < 60 ? *make_date(1899, 12, 31)
                                : *make_date(1899, 12, 30);
  std::string text = date_text(first + static_cast<int>(day));
  if (seconds == 0) return text;
  char time[40];
  if (seconds % 60 == 0) {
    std::snprintf(time, sizeof time, "T%02d:%02d", seconds / 3600, seconds / 60 % 60);
  } else {
    std::snprintf(time, sizeof time, "T%02d:%02d:%02d", seconds / 3600, seconds / 60 % 60, seconds % 60);
  }
  return text + time;
}

std::string serial_time(double days, bool minutes_only) {
  const auto seconds = static_cast<long long>(std::llround(std::clamp(days, -10000.0, 10000.0) * 86400));
  const long long all = seconds < 0 ? -seconds : seconds;
  char text[40];
  if (minutes_only) {
    std::snprintf(text, sizeof text, "%s%lld:%02lld", seconds < 0 ? "-" : "", all / 60, all % 60);
  } else if (all % 60 == 0) {
    std::snprintf(text, sizeof text, "%s%lld:%02lld", seconds < 0 ? "-" : "", all / 3600, all / 60 % 60);
  } else {
    std::snprintf(text, sizeof text, "%s%lld:%02lld:%02lld", seconds < 0 ? "-" : "", all / 3600, all / 60 % 60,
                  all % 60);
  }
  return text;
}

NumberFormat number_format(int id, std::string_view code) {
  // The built-in formats (ECMA-376 part 1, 18.8.30).
  if (code.empty()) {
    if ((id >= 14 && id <= 17) || id == 22 || (id >= 27 && id <= 31) || id == 36 || (id >= 50 && id <= 58)) {
      return NumberFormat::date;
    }
    if (id == 45 || id == 47) return NumberFormat::minutes;
    if ((id >= 18 && id <= 21) || id == 46 || (id >= 32 && id <= 35)) return NumberFormat::time;
    return NumberFormat::number;
  }
  bool day_or_year = false, hour = false, minute = false, second = false;
  for (std::size_t i = 0; i < code.size(); ++i) {
    const char c = code[i];
    if (c == ';') break;  // what follows is for negative numbers
    if (c == '"') {
      i = code.find('"', i + 1);
      if (i == std::string_view::npos) break;
    } else if (c == '\\' || c == '_' || c == '*') {
      ++i;
    } else if (c == '[') {
      const std::size_t end = code.find(']', i);
      if (end == std::string_view::npos) break;
      const std::string inside = lower_case(code.substr(i + 1, end - i - 1));
      if (!inside.empty() && inside.find_first_not_of("hms") == std::string::npos) {
        hour = hour || inside[0] == 'h';
        minute = minute || inside[0] == 'm';
        second = second || inside[0] == 's';
      }
      i = end;
    } else if (c == 'y' || c == 'Y' || c == 'd' || c == 'D') {
      day_or_year = true;
    } else if (c == 'h' || c == 'H') {
      hour = true;
    } else if (c == 's' || c == 'S') {
      second = true;
    } else if (c == 'm' || c == 'M') {
      minute = true;
    } else if (c == '0' || c == '#' || c == '?') {
      if (!second) return NumberFormat::number;  // figures; after seconds they are their fractions
    }
  }
  if (day_or_year) return NumberFormat::date;
  if (hour) return NumberFormat::time;
  if (second) return NumberFormat::minutes;
  return minute ? NumberFormat::date : NumberFormat::number;  // "mmm" alone is a month
}

}  // namespace ullage::interchange
