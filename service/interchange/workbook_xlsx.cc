// XLSX: ECMA-376 part 1, chapter 18 (SpreadsheetML).
#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "engine/base/units.h"
#include "service/interchange/cell_text.h"
#include "service/interchange/fault.h"
#include "service/interchange/utf8.h"
#include "service/interchange/workbook_kinds.h"
#include "service/interchange/xml_reader.h"

namespace ullage::interchange {
namespace {

constexpr std::uint64_t kLargestSmallPart = 32ull << 20;  // bytes of workbook, styles, relations
constexpr std::uint64_t kLargestTextPart = 400ull << 20;  // bytes of the common texts
constexpr std::size_t kMostCommonText = 96u << 20;        // bytes of them that are kept
constexpr std::size_t kMostCommonTexts = 4000000;
constexpr std::size_t kMostMerges = 200000;
constexpr std::size_t kMostComments = 200000;
constexpr std::size_t kMostSheets = 2000;
constexpr std::size_t kMostRowText = 8u << 20;  // bytes

std::optional<std::int64_t> whole(std::string_view text) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return value;
}

bool truth(std::string_view text) { return text == "1" || text == "true"; }

// Signs that XML cannot hold are written as _x000D_, and an underscore before such a text as _x005F_.
void put_control_signs_right(std::string& text) {
  if (text.find("_x00") == std::string::npos) return;
  const auto hex = [](char c) {
    return c >= '0' && c <= '9'   ? c - '0'
           : c >= 'A' && c <= 'F' ? c - 'A' + 10
           : c >= 'a' && c <= 'f' ? c - 'a' + 10
                                  : -1;
  };
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text.compare(i, 4, "_x00") == 0 && i + 6 < text.size() && text[i + 6] == '_') {
      const int high = hex(text[i + 4]), low = hex(text[i + 5]);
      const int sign = high < 0 || low < 0 ? -1 : high * 16 + low;
      if ((sign > 0 && sign < 0x20) || sign == '_') {
        out += static_cast<char>(sign);
        i += 6;
        continue;
      }
    }
    out += text[i];
  }
  text = std::move(out);
}

XmlReader xml_of(ZipPart& part) {
  return XmlReader([&part](char* buffer, std::size_t size) { return part.read(buffer, size); });
}

// What is wrong with a part, with its name in front.
tl::unexpected<Error> in_part(const std::string& name, const Error& error) {
  if (error.message.rfind("its part", 0) == 0 || error.code == Code::cancelled) return tl::unexpected<Error>(error);
  return fail(error.code, "its part " + name_in_quotes(name) + " " + error.message);
}

// Collects the text of rich or plain text elements (si, is, comment) up to their end; phonetic help is left out.
Result<void> read_text(XmlReader& xml, std::string& text) {
  text.clear();
  const std::size_t outer = xml.depth();
  bool inside = false;
  for (;;) {
    const auto event = xml.next();
    if (!event) return tl::unexpected<Error>(event.error());
    if (*event == XmlReader::Event::start) {
      if (xml.name() == "rPh" || xml.name() == "phoneticPr") {
        if (auto skipped = xml.skip_element(); !skipped) return skipped;
        continue;
      }
      inside = xml.name() == "t";
    } else if (*event == XmlReader::Event::end) {
      if (xml.depth() == outer) break;
      inside = false;
    } else if (*event == XmlReader::Event::text && inside) {
      if (text.size() < kMostRowText) text += xml.text();
    }
  }
  put_control_signs_right(text);
  return {};
}

struct CommonTexts {
  std::string all;
  std::vector<std::uint32_t> ends;
};

// What stands beside the cells of a sheet.
struct Marks {
  std::vector<MergedCells> merged;
  std::map<std::pair<std::int64_t, int>, std::string> comments;
};

class Book;

class XlsxSheet : public SheetReader {
 public:
  XlsxSheet(const Book& book, std::string sheet, std::string part_name, std::unique_ptr<ZipPart> part,
            const Marks& marks, Progress progress);
  Result<bool> next(SheetRow& row) override;
  const std::vector<MergedCells>& merged() const override { return marks_.merged; }
  const std::map<std::pair<std::int64_t, int>, std::string>& comments() const override { return marks_.comments; }
  bool too_wide() const override { return too_wide_; }

 private:
  tl::unexpected<Error> broken(std::int64_t row, int column, const std::string& problem) const;
  Result<bool> read_row(SheetRow& row);
  Result<void> read_cell(SheetRow& row, int column);

  const Book& book_;
  const Marks& marks_;
  std::string sheet_, part_name_;
  std::unique_ptr<ZipPart> part_;
  Progress progress_;
  std::uint64_t done_ = 0;
  XmlReader xml_;
  std::int64_t last_row_ = 0;
  bool in_data_ = false, over_ = false, too_wide_ = false;
  std::string text_, value_;
};

class Book : public Workbook {
 public:
  explicit Book(std::unique_ptr<ZipParts> parts) : parts_(std::move(parts)) {}

  const std::vector<SheetInfo>& sheets() const override { return sheets_; }
  std::optional<std::string> day_of_serial(double serial) const override { return serial_day(serial, epoch_1904_); }

  Result<void> read_front() {
    std::string main = "xl/workbook.xml";
    if (parts_->has("_rels/.rels")) {
      const auto relations = read_relations("_rels/.rels", "");
      if (!relations) return tl::unexpected<Error>(relations.error());
      for (const auto& [id, relation] : *relations) {
        if (relation.type.ends_with("/officeDocument")) main = relation.target;
      }
    }
    const std::size_t slash = main.rfind('/');
    const std::string folder = slash == std::string::npos ? "" : main.substr(0, slash + 1);
    const std::string file = slash == std::string::npos ? main : main.substr(slash + 1);
    const auto relations = read_relations(folder + "_rels/" + file + ".rels", folder);
    if (!relations) return tl::unexpected<Error>(relations.error());
    if (auto read = read_sheets(main, *relations); !read) return read;
    for (const auto& [id, relation] : *relations) {
      if (relation.type.ends_with("/styles")) {
        if (auto read = read_styles(relation.target); !read) return read;
      } else if (relation.type.ends_with("/sharedStrings")) {
        if (auto read = read_common_texts(relation.target); !read) return read;
      }
    }
    return {};
  }

  Result<std::unique_ptr<SheetReader>> open_sheet(std::size_t sheet, Progress progress) override {
    const std::string& name = sheets_.at(sheet).name;
    const std::string& part_name = sheet_parts_.at(sheet);
    const auto located = [&](const Error& error) -> tl::unexpected<Error> {
      return fail(error.code, "the workbook cannot be read: sheet " + printable(name) + ": " + error.message);
    };
    auto part = parts_->part(part_name);
    if (!part) return located(part.error());
    if (marks_.count(sheet) == 0) {
      Marks marks;
      if (auto merged = read_merged(part_name, marks.merged); !merged) return located(merged.error());
      if (auto comments = read_comments(part_name, marks.comments); !comments) return located(comments.error());
      marks_.emplace(sheet, std::move(marks));
    }
    return std::make_unique<XlsxSheet>(*this, name, part_name, std::move(*part), marks_.at(sheet), std::move(progress));
  }

  const CommonTexts& texts() const { return texts_; }
  NumberFormat format(std::size_t style) const {
    return style < formats_.size() ? formats_[style] : NumberFormat::number;
  }

 private:
  struct Relation {
    std::string type, target;
  };
  using Relations = std::map<std::string, Relation>;

  // "xl/" and "../a/b.xml" -> "a/b.xml".
  static std::string resolved(const std::string& folder, const std::string& target) {
    const std::string path = !target.empty() && target[0] == '/' ? target.substr(1) : folder + target;
    std::vector<std::string> pieces;
    std::size_t at = 0;
    while (at <= path.size()) {
      const std::size_t end = std::min(path.find('/', at), path.size());
      const std::string piece = path.substr(at, end - at);
      if (piece == "..") {
        if (!pieces.empty()) pieces.pop_back();
      } else if (!piece.empty() && piece != ".") {
        pieces.push_back(piece);
      }
      at = end + 1;
    }
    std::string out;
    for (const std::string& piece : pieces) out += (out.empty() ? "" : "/") + piece;
    return out;
  }

  Result<Relations> read_relations(const std::string& name, const std::string& folder) {
    Relations relations;
    if (!parts_->has(name)) return relations;
    auto part = parts_->part(name, kLargestSmallPart);
    if (!part) return tl::unexpected<Error>(part.error());
    XmlReader xml = xml_of(**part);
    for (;;) {
      const auto event = xml.next();
      if (!event) return in_part(name, event.error());
      if (*event == XmlReader::Event::end_of_text) break;
      if (*event != XmlReader::Event::start || xml.name() != "Relationship") continue;
      if (xml.plain_attribute("TargetMode") == "External") continue;  // nothing outside the file is ever read
      if (relations.size() > 10000)
        return fail(Code::invalid_input, "its part " + name_in_quotes(name) + " is too long");
      relations[xml.attribute("Id").value_or("")] = {xml.attribute("Type").value_or(""),
                                                     resolved(folder, xml.attribute("Target").value_or(""))};
    }
    return relations;
  }

  Result<void> read_sheets(const std::string& name, const Relations& relations) {
    auto part = parts_->part(name, kLargestSmallPart);
    if (!part) return tl::unexpected<Error>(part.error());
    XmlReader xml = xml_of(**part);
    for (;;) {
      const auto event = xml.next();
      if (!event) return in_part(name, event.error());
      if (*event == XmlReader::Event::end_of_text) break;
      if (*event != XmlReader::Event::start) continue;
      if (xml.name() == "workbookPr") epoch_1904_ = truth(xml.plain_attribute("date1904"));
      if (xml.name() != "sheet") continue;
      const auto relation = relations.find(xml.attribute("id").value_or(""));
      if (relation == relations.end()) {
        return fail(Code::invalid_input,
                    "sheet " + name_in_quotes(xml.attribute("name").value_or("")) + " has no part");
      }
      if (!relation->second.type.ends_with("/worksheet")) continue;  // a chart on a sheet of its own
      if (sheets_.size() >= kMostSheets) return fail(Code::invalid_input, "it has more than 2000 sheets");
      const std::string_view state = xml.plain_attribute("state");
      sheets_.push_back({xml.attribute("name").value_or(""), state == "hidden" || state == "veryHidden"});
      sheet_parts_.push_back(relation->second.target);
    }
    if (sheets_.empty()) return fail(Code::invalid_input, "it has no sheets");
    return {};
  }

  Result<void> read_styles(const std::string& name) {
    auto part = parts_->part(name, kLargestSmallPart);
    if (!part) return tl::unexpected<Error>(part.error());
    XmlReader xml = xml_of(**part);
    std::map<std::int64_t, std::string> codes;
    bool cells = false;
    for (;;) {
      const auto event = xml.next();
      if (!event) return in_part(name, event.error());
      if (*event == XmlReader::Event::end_of_text) break;
      if (*event == XmlReader::Event::end && xml.name() == "cellXfs") cells = false;
      if (*event != XmlReader::Event::start) continue;
      if (xml.name() == "numFmt") {
        if (codes.size() > 10000) return fail(Code::invalid_input, "its part " + name_in_quotes(name) + " is too long");
        codes[whole(xml.plain_attribute("numFmtId")).value_or(-1)] = xml.attribute("formatCode").value_or("");
      } else if (xml.name() == "cellXfs") {
        cells = true;
      } else if (xml.name() == "xf" && cells) {
        if (formats_.size() > 100000)
          return fail(Code::invalid_input, "its part " + name_in_quotes(name) + " is too long");
        const std::int64_t id = whole(xml.plain_attribute("numFmtId")).value_or(0);
        const auto code = codes.find(id);
        formats_.push_back(number_format(static_cast<int>(std::clamp<std::int64_t>(id, 0, 10000)),
                                         code == codes.end() ? "" : code->second));
      }
    }
    return {};
  }

  Result<void> read_common_texts(const std::string& name) {
    auto part = parts_->part(name, kLargestTextPart);
    if (!part) return tl::unexpected<Error>(part.error());
    XmlReader xml = xml_of(**part);
    std::string text;
    for (;;) {
      const auto event = xml.next();
      if (!event) return in_part(name, event.error());
      if (*event == XmlReader::Event::end_of_text) break;
      if (*event != XmlReader::Event::start || xml.name() != "si") continue;
      if (auto read = read_text(xml, text); !read) return in_part(name, read.error());
      if (texts_.all.size() + text.size() > kMostCommonText || texts_.ends.size() >= kMostCommonTexts) {
        return fail(Code::invalid_input, "it holds more than " + std::to_string(kMostCommonText >> 20) + " MB of text");
      }
      texts_.all += text;
      texts_.ends.push_back(static_cast<std::uint32_t>(texts_.all.size()));
    }
    return {};
  }

  // Joined cells stand behind the cells, so the part is looked through for them first, without taking it apart.
  Result<void> read_merged(const std::string& name, std::vector<MergedCells>& merged) {
    auto part = parts_->part(name);
    if (!part) return tl::unexpected<Error>(part.error());
    std::string window;
    std::vector<char> buffer(256 << 10);
    constexpr std::string_view kMark = "mergeCell ";
    for (;;) {
      const auto count = (*part)->read(buffer.data(), buffer.size());
      if (!count) return tl::unexpected<Error>(count.error());
      if (*count == 0) break;
      window.append(buffer.data(), *count);
      std::size_t at = 0;
      for (;;) {
        const std::size_t found = window.find(kMark, at);
        if (found == std::string::npos) break;
        const std::size_t end = window.find('>', found);
        if (end == std::string::npos) {
          at = found;
          break;
        }
        at = end;
        const std::string_view tag = std::string_view(window).substr(found, end - found);
        const std::size_t ref = tag.find("ref=\"");
        if (ref == std::string_view::npos) continue;
        const std::string_view range = tag.substr(ref + 5, tag.find('"', ref + 5) - ref - 5);
        const std::size_t colon = range.find(':');
        if (colon == std::string_view::npos) continue;
        const auto first = parse_cell_address(range.substr(0, colon));
        const auto last = parse_cell_address(range.substr(colon + 1));
        if (!first || !last || last->first < first->first || last->second < first->second) {
          return fail(Code::invalid_input, "the joined cells " + name_in_quotes(range) + " are no range");
        }
        if (merged.size() >= kMostMerges) return fail(Code::invalid_input, "it has more than 200000 joined cells");
        merged.push_back({first->first, last->first, first->second, last->second});
      }
      // What is left over may hold the beginning of the next one.
      const std::size_t keep = at > 0 && window.find(kMark, at) == at
                                   ? window.size() - at
                                   : std::min(window.size() - std::min(at, window.size()), kMark.size() - 1);
      window.erase(0, window.size() - std::min<std::size_t>(keep, 100000));
    }
    std::sort(merged.begin(), merged.end(), [](const MergedCells& a, const MergedCells& b) {
      return std::pair(a.first_row, a.first_column) < std::pair(b.first_row, b.first_column);
    });
    return {};
  }

  Result<void> read_comments(const std::string& sheet_part,
                             std::map<std::pair<std::int64_t, int>, std::string>& comments) {
    const std::size_t slash = sheet_part.rfind('/');
    const std::string folder = slash == std::string::npos ? "" : sheet_part.substr(0, slash + 1);
    const auto relations = read_relations(folder + "_rels/" + sheet_part.substr(folder.size()) + ".rels", folder);
    if (!relations) return tl::unexpected<Error>(relations.error());
    for (const auto& [id, relation] : *relations) {
      if (!relation.type.ends_with("/comments")) continue;
      auto part = parts_->part(relation.target, kLargestSmallPart);
      if (!part) return tl::unexpected<Error>(part.error());
      XmlReader xml = xml_of(**part);
      for (;;) {
        const auto event = xml.next();
        if (!event) return in_part(relation.target, event.error());
        if (*event == XmlReader::Event::end_of_text) break;
        if (*event != XmlReader::Event::start || xml.name() != "comment") continue;
        const auto address = parse_cell_address(xml.plain_attribute("ref"));
        std::string text;
        if (auto read = read_text(xml, text); !read) return in_part(relation.target, read.error());
        if (!address) continue;
        if (comments.size() >= kMostComments) return fail(Code::invalid_input, "it has more than 200000 remarks");
        comments[*address] = std::move(text);
      }
    }
    return {};
  }

  std::unique_ptr<ZipParts> parts_;
  std::vector<SheetInfo> sheets_;
  std::vector<std::string> sheet_parts_;
  std::map<std::size_t, Marks> marks_;  // of the sheets opened so far
  std::vector<NumberFormat> formats_;
  CommonTexts texts_;
  bool epoch_1904_ = false;
};

XlsxSheet::XlsxSheet(const Book& book, std::string sheet, std::string part_name, std::unique_ptr<ZipPart> part,
                     const Marks& marks, Progress progress)
    : book_(book),
      marks_(marks),
      sheet_(std::move(sheet)),
      part_name_(std::move(part_name)),
      part_(std::move(part)),
      progress_(std::move(progress)),
      xml_([this](char* buffer, std::size_t size) -> Result<std::size_t> {
        auto count = part_->read(buffer, size);
        if (!count) return count;
        done_ += *count;
        if (progress_ && !progress_(std::min(done_, part_->unpacked_size()), part_->unpacked_size())) {
          return fail(Code::cancelled, "stopped while reading");
        }
        return count;
      }) {}

tl::unexpected<Error> XlsxSheet::broken(std::int64_t row, int column, const std::string& problem) const {
  std::string where = "sheet " + printable(sheet_);
  if (row > 0)
    where += column >= 0 ? ", " + column_letters(column) + std::to_string(row) : ", row " + std::to_string(row);
  return fail(Code::invalid_input, "the workbook cannot be read: " + where + ": " + problem);
}

Result<bool> XlsxSheet::next(SheetRow& row) {
  while (!over_) {
    const auto event = xml_.next();
    if (!event) {
      if (event.error().code == Code::cancelled) return tl::unexpected<Error>(event.error());
      return broken(last_row_, -1,
                    (event.error().message.rfind("its part", 0) == 0 ? "" : "the part ") + event.error().message);
    }
    if (*event == XmlReader::Event::end_of_text) break;
    if (*event == XmlReader::Event::start && xml_.name() == "sheetData") in_data_ = true;
    if (*event == XmlReader::Event::end && xml_.name() == "sheetData") break;
    if (*event != XmlReader::Event::start || xml_.name() != "row" || !in_data_) continue;
    const auto read = read_row(row);
    if (!read) return read;
    if (*read) return true;
  }
  over_ = true;
  return false;
}

// True when the row holds anything.
Result<bool> XlsxSheet::read_row(SheetRow& row) {
  row.cells.clear();
  row.own_text.clear();
  row.common_text = book_.texts().all;
  row.number = last_row_ + 1;
  if (const std::string_view at = xml_.plain_attribute("r"); !at.empty()) {
    const auto number = whole(at);
    if (!number || *number <= last_row_)
      return broken(last_row_, -1, "the row after it calls itself " + name_in_quotes(at));
    row.number = *number;
  }
  if (row.number > kMostSheetRows) return broken(last_row_, -1, "more than 1048576 rows");
  last_row_ = row.number;
  row.hidden = truth(xml_.plain_attribute("hidden"));
  int column = -1;
  for (;;) {
    const auto event = xml_.next();
    if (!event) {
      if (event.error().code == Code::cancelled) return tl::unexpected<Error>(event.error());
      return broken(row.number, -1,
                    (event.error().message.rfind("its part", 0) == 0 ? "" : "the part ") + event.error().message);
    }
    if (*event == XmlReader::Event::end && xml_.name() == "row") break;
    if (*event != XmlReader::Event::start || xml_.name() != "c") continue;
    int at = column + 1;
    if (const std::string_view address = xml_.plain_attribute("r"); !address.empty()) {
      const auto parsed = parse_cell_address(address);
      if (!parsed || parsed->first != row.number || parsed->second <= column) {
        return broken(row.number, -1, "a cell in it calls itself " + name_in_quotes(address));
      }
      at = parsed->second;
    }
    column = at;
    if (const auto read = read_cell(row, column); !read) {
      if (read.error().code == Code::cancelled) return tl::unexpected<Error>(read.error());
      return broken(row.number, column,
                    (read.error().message.rfind("its part", 0) == 0 ? "" : "it ") + read.error().message);
    }
  }
  return !row.cells.empty();
}

Result<void> XlsxSheet::read_cell(SheetRow& row, int column) {
  const std::string type(xml_.plain_attribute("t"));
  const std::size_t style = static_cast<std::size_t>(whole(xml_.plain_attribute("s")).value_or(0));
  bool formula = false, has_value = false;
  value_.clear();
  text_.clear();
  bool inside = false;
  const std::size_t outer = xml_.depth();
  for (;;) {
    const auto event = xml_.next();
    if (!event) return tl::unexpected<Error>(event.error());
    if (*event == XmlReader::Event::end) {
      if (xml_.depth() == outer) break;
      inside = false;
    } else if (*event == XmlReader::Event::start) {
      inside = xml_.name() == "v";
      has_value = has_value || inside;
      formula = formula || xml_.name() == "f";
      if (xml_.name() == "is") {
        if (auto read = read_text(xml_, text_); !read) return read;
      }
    } else if (*event == XmlReader::Event::text && inside) {
      if (value_.size() < kMostRowText) value_ += xml_.text();
    }
  }
  SheetCell cell;
  cell.column = column;
  if (type == "s") {
    if (!has_value) return {};
    const auto index = whole(value_);
    const CommonTexts& texts = book_.texts();
    if (!index || *index < 0 || static_cast<std::size_t>(*index) >= texts.ends.size()) {
      return fail(Code::invalid_input, "names a text " + name_in_quotes(value_) + " that the workbook does not have");
    }
    const auto i = static_cast<std::size_t>(*index);
    cell.kind = CellKind::text;
    cell.common = true;
    cell.begin = i == 0 ? 0 : texts.ends[i - 1];
    cell.size = texts.ends[i] - cell.begin;
    if (cell.size == 0) return {};
  } else {
    if (type == "inlineStr") {
      cell.kind = CellKind::text;
      value_ = text_;
    } else if (type == "str") {
      cell.kind = CellKind::text;
      put_control_signs_right(value_);
    } else if (type == "b") {
      cell.kind = CellKind::yes_no;
    } else if (type == "e") {
      cell.kind = CellKind::error;
    } else if (type == "d") {
      cell.kind = CellKind::date;
      if (value_.size() >= 11 && value_.ends_with("T00:00:00")) value_.resize(10);
    } else if (type.empty() || type == "n") {
      cell.kind = CellKind::number;
      if (has_value) {
        const auto number = plain_number(value_);
        if (!number) return fail(Code::invalid_input, "holds " + name_in_quotes(value_) + " where a number belongs");
        value_ = *number;
        const double value = book_.format(style) == NumberFormat::number ? 0 : std::strtod(value_.c_str(), nullptr);
        switch (book_.format(style)) {
          case NumberFormat::number: break;
          case NumberFormat::time:
          case NumberFormat::minutes:
            cell.kind = CellKind::time;
            value_ = serial_time(value, book_.format(style) == NumberFormat::minutes);
            break;
          case NumberFormat::date:
            if (const auto day = book_.day_of_serial(value)) {
              cell.kind = CellKind::date;
              value_ = *day;
            }
            break;
        }
      }
    } else {
      return fail(Code::invalid_input, "is of an unknown type " + name_in_quotes(type));
    }
    if (value_.empty() && formula && !has_value) {
      cell.kind = CellKind::no_value;
      value_ = "(a formula without a stored value)";
    }
    if (value_.empty()) return {};
    if (row.own_text.size() + value_.size() > kMostRowText)
      return fail(Code::invalid_input, "makes its row longer than 8 MB");
    cell.begin = static_cast<std::uint32_t>(row.own_text.size());
    cell.size = static_cast<std::uint32_t>(value_.size());
    row.own_text += value_;
  }
  if (column >= kMostSheetColumns) {
    too_wide_ = true;
    return {};
  }
  row.cells.push_back(cell);
  return {};
}

}  // namespace

namespace {

// A number as number_text writes it: figures without zeros too many, at most 15 of them and 6 after the point.
bool written_plainly(std::string_view text) {
  if (!text.empty() && text.front() == '-') text.remove_prefix(1);
  const std::size_t point = std::min(text.find('.'), text.size());
  if (point == 0 || text.size() > 15 || text.size() > point + 7 || point + 1 == text.size()) return false;
  if (text.front() == '0') return text == "0";
  if (point < text.size() && text.back() == '0') return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (i != point && (text[i] < '0' || text[i] > '9')) return false;
  }
  return true;
}

}  // namespace

std::optional<std::string> plain_number(std::string_view text) {
  text = trimmed(text);
  if (written_plainly(text)) return std::string(text == "-0" ? "0" : text);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc() || end != text.data() + text.size() || !std::isfinite(value))
    return std::nullopt;
  char figures[40];
  std::snprintf(figures, sizeof figures, "%.15g", value);
  return number_text(std::strtod(figures, nullptr));
}

Result<std::unique_ptr<Workbook>> open_xlsx(std::unique_ptr<ZipParts> parts) {
  auto book = std::make_unique<Book>(std::move(parts));
  if (const auto read = book->read_front(); !read) return tl::unexpected<Error>(read.error());
  return book;
}

}  // namespace ullage::interchange
