// ODS: OpenDocument 1.2 part 1, chapter 9 (tables). All sheets stand in one part, one after the other.
#include <algorithm>
#include <charconv>
#include <set>

#include "service/interchange/cell_text.h"
#include "service/interchange/fault.h"
#include "service/interchange/workbook_kinds.h"
#include "service/interchange/xml_reader.h"

namespace ullage::interchange {
namespace {

constexpr std::size_t kMostRowText = 8u << 20;  // bytes
constexpr std::size_t kMostSheets = 2000;
constexpr std::size_t kMostMarks = 200000;  // joined cells, remarks
const char* const kPart = "content.xml";

std::int64_t repeats(std::string_view text) {
  std::int64_t value = 1;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc() || end != text.data() + text.size()) return 1;
  return std::max<std::int64_t>(value, 1);
}

// PT02H30M05S as a span of days.
std::optional<double> span_days(std::string_view text) {
  double seconds = 0, number = 0;
  bool figures = false;
  if (text.substr(0, 2) != "PT") return std::nullopt;
  for (const char c : text.substr(2)) {
    if (c >= '0' && c <= '9' && number < 1e9) {
      number = number * 10 + (c - '0');
      figures = true;
    } else if (figures && (c == 'H' || c == 'M' || c == 'S')) {
      seconds += number * (c == 'H' ? 3600 : c == 'M' ? 60 : 1);
      number = 0;
      figures = false;
    } else {
      return seconds > 0 ? std::optional<double>(seconds / 86400) : std::nullopt;  // fractions of a second
    }
  }
  return seconds / 86400;
}

class OdsSheet : public SheetReader {
 public:
  OdsSheet(std::string sheet, std::unique_ptr<ZipPart> part, std::size_t place, Progress progress)
      : sheet_(std::move(sheet)),
        part_(std::move(part)),
        progress_(std::move(progress)),
        place_(place),
        xml_([this](char* buffer, std::size_t size) -> Result<std::size_t> {
          auto count = part_->read(buffer, size);
          if (!count) return count;
          done_ += *count;
          if (progress_ && !progress_(std::min(done_, part_->unpacked_size()), part_->unpacked_size())) {
            return fail(Code::cancelled, "stopped while reading");
          }
          return count;
        }) {}

  const std::vector<MergedCells>& merged() const override { return merged_; }
  const std::map<std::pair<std::int64_t, int>, std::string>& comments() const override { return comments_; }
  bool too_wide() const override { return too_wide_; }

  Result<bool> next(SheetRow& row) override {
    auto read = read_next(row);
    if (!read && read.error().code != Code::cancelled) {
      return fail(read.error().code, "the workbook cannot be read: sheet " + printable(sheet_) +
                                         (last_row_ > 0 ? ", row " + std::to_string(last_row_) : "") + ": " +
                                         read.error().message);
    }
    return read;
  }

 private:
  Result<bool> read_next(SheetRow& row) {
    if (again_ > 0) {  // the same row once more
      --again_;
      ++last_row_;
      row = kept_;
      row.number = last_row_;
      return true;
    }
    while (!over_) {
      const auto event = xml_.next();
      if (!event) return tl::unexpected<Error>(event.error());
      if (*event == XmlReader::Event::end_of_text) break;
      if (*event == XmlReader::Event::start && xml_.name() == "table" && !inside_) {
        if (seen_++ < place_) {
          if (auto skipped = xml_.skip_element(); !skipped) return tl::unexpected<Error>(skipped.error());
          continue;
        }
        inside_ = true;
        depth_ = xml_.depth();
      } else if (*event == XmlReader::Event::end && inside_ && xml_.depth() == depth_) {
        break;
      } else if (*event == XmlReader::Event::start && inside_ && xml_.name() == "table-row") {
        const std::int64_t count = repeats(xml_.plain_attribute("number-rows-repeated"));
        const std::string_view seen = xml_.plain_attribute("visibility");
        row.hidden = seen == "collapse" || seen == "filter";
        row.number = last_row_ + 1;
        if (auto read = read_cells(row); !read) return tl::unexpected<Error>(read.error());
        if (row.cells.empty()) {
          last_row_ = std::min(last_row_ + count, kMostSheetRows + 1);
          continue;
        }
        if (last_row_ + count > kMostSheetRows) return fail(Code::invalid_input, "more than 1048576 rows");
        ++last_row_;
        again_ = count - 1;
        if (again_ > 0) kept_ = row;
        return true;
      }
    }
    over_ = true;
    return false;
  }

  Result<void> read_cells(SheetRow& row) {
    row.cells.clear();
    row.own_text.clear();
    row.common_text = {};
    std::int64_t column = 0;
    const std::size_t outer = xml_.depth();
    for (;;) {
      const auto event = xml_.next();
      if (!event) return tl::unexpected<Error>(event.error());
      if (*event == XmlReader::Event::end && xml_.depth() == outer) return {};
      if (*event != XmlReader::Event::start || (xml_.name() != "table-cell" && xml_.name() != "covered-table-cell")) {
        continue;
      }
      const std::int64_t count = repeats(xml_.plain_attribute("number-columns-repeated"));
      if (auto read = read_cell(row, column, count); !read) return read;
      column = std::min<std::int64_t>(column + count, 1 << 20);
    }
  }

  Result<void> read_cell(SheetRow& row, std::int64_t column, std::int64_t count) {
    const std::string type(xml_.plain_attribute("value-type"));
    const std::int64_t wide = repeats(xml_.plain_attribute("number-columns-spanned"));
    const std::int64_t high = repeats(xml_.plain_attribute("number-rows-spanned"));
    const std::string value = xml_.attribute(type == "date"      ? "date-value"
                                             : type == "time"    ? "time-value"
                                             : type == "boolean" ? "boolean-value"
                                             : type == "string"  ? "string-value"
                                                                 : "value")
                                  .value_or("");
    std::string text, remark;
    bool remark_open = false;
    std::size_t remark_depth = 0;
    const std::size_t outer = xml_.depth();
    for (;;) {
      const auto event = xml_.next();
      if (!event) return tl::unexpected<Error>(event.error());
      std::string& to = remark_open ? remark : text;
      if (*event == XmlReader::Event::end) {
        if (xml_.depth() == outer) break;
        if (remark_open && xml_.depth() == remark_depth) remark_open = false;
      } else if (*event == XmlReader::Event::start) {
        if (xml_.name() == "annotation") {
          remark_open = true;
          remark_depth = xml_.depth();
        } else if (xml_.name() == "creator" || xml_.name() == "date" || xml_.name() == "table") {
          if (auto skipped = xml_.skip_element(); !skipped) return skipped;
        } else if (xml_.name() == "p" || xml_.name() == "line-break") {
          if (!to.empty()) to += '\n';
        } else if (xml_.name() == "s" || xml_.name() == "tab") {
          to += ' ';
        }
      } else if (*event == XmlReader::Event::text && xml_.depth() > outer) {
        if (to.size() < kMostRowText) to += xml_.text();
      }
    }
    if (column >= kMostSheetColumns) {
      too_wide_ = too_wide_ || !text.empty() || !value.empty();
      return {};
    }
    if ((wide > 1 || high > 1) && merged_.size() < kMostMarks) {
      merged_.push_back({row.number, std::min(row.number + high - 1, kMostSheetRows), static_cast<int>(column),
                         static_cast<int>(std::min<std::int64_t>(column + wide - 1, 16383))});
    }
    if (!remark.empty() && comments_.size() < kMostMarks) {
      comments_[{row.number, static_cast<int>(column)}] = std::move(remark);
    }
    SheetCell cell;
    if (type == "float" || type == "percentage" || type == "currency") {
      const auto number = plain_number(value);
      if (!number) return fail(Code::invalid_input, printable(value) + " stands where a number belongs");
      cell.kind = CellKind::number;
      text = *number;
    } else if (type == "date") {
      cell.kind = CellKind::date;
      text = value;
      if (text.size() >= 11 && text.ends_with("T00:00:00")) text.resize(10);
    } else if (type == "time") {
      cell.kind = CellKind::time;
      if (const auto days = span_days(value)) text = serial_time(*days, false);
    } else if (type == "boolean") {
      cell.kind = CellKind::yes_no;
      text.assign(1, value == "true" ? '1' : '0');
    } else {
      cell.kind = CellKind::text;
      if (text.empty()) text = value;
      if (!text.empty() && text[0] == '#' && xml_error(text)) cell.kind = CellKind::error;
    }
    if (text.empty()) return {};
    if (row.own_text.size() + text.size() > kMostRowText)
      return fail(Code::invalid_input, "the row is longer than 8 MB");
    cell.begin = static_cast<std::uint32_t>(row.own_text.size());
    cell.size = static_cast<std::uint32_t>(text.size());
    row.own_text += text;
    const std::int64_t end = std::min<std::int64_t>(column + count, kMostSheetColumns);
    for (std::int64_t at = column; at < end; ++at) {
      cell.column = static_cast<int>(at);
      row.cells.push_back(cell);
    }
    too_wide_ = too_wide_ || column + count > kMostSheetColumns;
    return {};
  }
  static bool xml_error(std::string_view text) {
    return text == "#DIV/0!" || text == "#N/A" || text == "#REF!" || text == "#VALUE!" || text == "#NAME?";
  }

  std::string sheet_;
  std::unique_ptr<ZipPart> part_;
  Progress progress_;
  std::size_t place_, seen_ = 0, depth_ = 0;
  std::uint64_t done_ = 0;
  XmlReader xml_;
  std::int64_t last_row_ = 0, again_ = 0;
  SheetRow kept_;
  bool inside_ = false, over_ = false, too_wide_ = false;
  std::vector<MergedCells> merged_;
  std::map<std::pair<std::int64_t, int>, std::string> comments_;
};

class Book : public Workbook {
 public:
  explicit Book(std::unique_ptr<ZipParts> parts) : parts_(std::move(parts)) {}
  const std::vector<SheetInfo>& sheets() const override { return sheets_; }
  std::optional<std::string> day_of_serial(double serial) const override { return serial_day(serial, false); }

  Result<void> read_front() {
    auto part = parts_->part(kPart);
    if (!part) return tl::unexpected<Error>(part.error());
    XmlReader xml([&part](char* buffer, std::size_t size) { return (*part)->read(buffer, size); });
    std::set<std::string> hidden_styles;
    std::string style;
    bool tables = false;
    for (;;) {
      const auto event = xml.next();
      if (!event) {
        return fail(event.error().code, event.error().message.rfind("its part", 0) == 0
                                            ? event.error().message
                                            : "its part \"content.xml\" " + event.error().message);
      }
      if (*event == XmlReader::Event::end_of_text) break;
      if (*event != XmlReader::Event::start) continue;
      if (xml.name() == "style") style = xml.attribute("name").value_or("");
      if (xml.name() == "table-properties" && xml.plain_attribute("display") == "false") hidden_styles.insert(style);
      if (xml.name() == "spreadsheet") tables = true;
      if (xml.name() != "table" || !tables) continue;
      if (sheets_.size() >= kMostSheets) return fail(Code::invalid_input, "it has more than 2000 sheets");
      sheets_.push_back(
          {xml.attribute("name").value_or(""), hidden_styles.count(xml.attribute("style-name").value_or("")) > 0});
      if (auto skipped = xml.skip_element(); !skipped) {
        return fail(skipped.error().code, skipped.error().message.rfind("its part", 0) == 0
                                              ? skipped.error().message
                                              : "its part \"content.xml\" " + skipped.error().message);
      }
    }
    if (sheets_.empty()) return fail(Code::invalid_input, "it has no sheets");
    return {};
  }

  Result<std::unique_ptr<SheetReader>> open_sheet(std::size_t sheet, Progress progress) override {
    auto part = parts_->part(kPart);
    if (!part) return tl::unexpected<Error>(part.error());
    return std::make_unique<OdsSheet>(sheets_.at(sheet).name, std::move(*part), sheet, std::move(progress));
  }

 private:
  std::unique_ptr<ZipParts> parts_;
  std::vector<SheetInfo> sheets_;
};

}  // namespace

Result<std::unique_ptr<Workbook>> open_ods(std::unique_ptr<ZipParts> parts) {
  auto book = std::make_unique<Book>(std::move(parts));
  if (const auto read = book->read_front(); !read) return tl::unexpected<Error>(read.error());
  return book;
}

}  // namespace ullage::interchange
