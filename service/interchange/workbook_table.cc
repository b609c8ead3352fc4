#include "service/interchange/workbook_table.h"

#include <algorithm>
#include <map>
#include <set>

#include "service/interchange/cell_text.h"
#include "service/interchange/fault.h"
#include "service/interchange/log_columns.h"

namespace ullage::interchange {
namespace {

constexpr std::string_view kDates = "(dates)";

std::string one_line(std::string_view text) {
  std::string out(trimmed(text));
  for (char& c : out) {
    if (c == '\n' || c == '\r') c = ' ';
  }
  return out;
}

// What a mapping asks a table for.
struct Wanted {
  std::vector<std::string> names;      // columns, places and patterns, each once, in the mapping's order
  std::vector<std::string> bracketed;  // "(sheet)", "(B1)", ...
  std::set<std::string> needed;        // without these a sheet holds no sets
  std::set<std::string> sets;          // columns that make sets of a row
};

Wanted wanted_of(const Mapping& mapping) {
  Wanted out;
  const auto add = [&](const std::string& name) {
    if (name == "(heading)") return;
    auto& to = is_bracketed(name) && name != kDates ? out.bracketed : out.names;
    if (std::find(to.begin(), to.end(), name) == to.end()) to.push_back(name);
  };
  for (const auto& [column, source] : mapping.columns) {
    for (const std::string& name : source.columns) {
      add(name);
      const bool set = column == LogColumn::load || column == LogColumn::reps;
      if ((set || column == LogColumn::date || column == LogColumn::exercise) && !is_bracketed(name))
        out.needed.insert(name);
      if (set || has_star(name)) out.sets.insert(name);
    }
  }
  // Several names joined for one column need not all be there.
  for (const auto& [column, source] : mapping.columns) {
    if (source.columns.size() < 2) continue;
    for (const std::string& name : source.columns) out.needed.erase(name);
  }
  if (mapping.sets) {
    for (const std::string& name : mapping.sets->columns) {
      add(name);
      out.sets.insert(name);
      if (mapping.sets->columns.size() == 1) out.needed.insert(name);
    }
  }
  if (!mapping.repeat.empty()) add(mapping.repeat);
  for (const auto* rules : {&mapping.keep, &mapping.drop}) {
    for (const RowRule& rule : *rules) add(rule.column);
  }
  for (const std::string& name : mapping.fill_down) add(name);
  return out;
}

// "#D" or "#4".
std::optional<int> place_of(const std::string& name) {
  if (name.size() < 2 || name[0] != '#') return std::nullopt;
  if (const auto letters = parse_column_letters(std::string_view(name).substr(1))) return letters;
  const auto number = parse_whole(std::string_view(name).substr(1), false);
  if (number && *number >= 1 && *number <= kMostSheetColumns) return *number - 1;
  return std::nullopt;
}

bool is_date(const std::string& name) { return split_date(name).has_value(); }

// The columns that a name of the mapping stands for on a sheet.
std::vector<int> columns_of(const std::string& wanted, const std::vector<std::string>& names) {
  std::vector<int> out;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (names[i].empty()) continue;
    if (wanted == kDates ? is_date(names[i]) : fits(wanted, names[i])) out.push_back(static_cast<int>(i));
  }
  if (out.empty()) {
    if (const auto place = place_of(wanted)) out.push_back(*place);
  }
  return out;
}

struct Field {
  enum class From { column, sheet, section, comments, cell } from = From::column;
  std::string name;
};

struct SheetPlan {
  std::size_t sheet = 0;
  std::int64_t last_header_row = 0;  // number on the sheet
  std::vector<int> column;           // of each field; -1: none
  std::set<int> set_columns;
  std::vector<std::vector<std::string>> header_cells;   // as they stand, row by row
  std::vector<std::pair<std::string, CellKind>> cells;  // of each field that is a fixed cell
};

class Reader : public TableReader {
 public:
  Reader(Workbook& book, const Mapping* mapping, Progress progress)
      : book_(book), mapping_(mapping), progress_(std::move(progress)) {}

  Result<void> plan() {
    if (mapping_ != nullptr) wanted_ = wanted_of(*mapping_);
    struct Head {
      std::size_t sheet;
      SheetHead head;
      std::vector<std::string> names;
      std::size_t first = 0, last = 0;  // rows of the head with the names
      bool without_names = false;
    };
    std::vector<Head> heads;
    std::string missing_somewhere;
    const WorkbookWay way = mapping_ != nullptr ? mapping_->workbook : WorkbookWay{};
    for (std::size_t i = 0; i < book_.sheets().size(); ++i) {
      const SheetInfo& info = book_.sheets()[i];
      const auto one_of = [&](const std::vector<std::string>& patterns) {
        return std::any_of(patterns.begin(), patterns.end(), [&](const auto& p) { return fits(p, info.name); });
      };
      if (one_of(way.skip_sheets) || (!way.sheets.empty() && !one_of(way.sheets))) continue;
      if (way.sheets.empty() && info.hidden) {
        found_.push_back("the hidden sheet " + in_quotes(info.name) + " was passed over");
        continue;
      }
      auto head = read_sheet_head(book_, i);
      if (!head) return tl::unexpected<Error>(head.error());
      Head next{i, std::move(*head), {}, 0, 0, false};
      const std::string missing = find_names(next.head, next.names, next.first, next.last, next.without_names);
      if (!missing.empty()) {
        const bool by_name = std::any_of(way.sheets.begin(), way.sheets.end(),
                                         [&](const auto& p) { return !has_star(p) && fits(p, info.name); });
        if (by_name) return fail(Code::invalid_input, "sheet " + in_quotes(info.name) + " has no column " + missing);
        found_.push_back("sheet " + in_quotes(info.name) + " was passed over: it has no column " + missing);
        if (missing_somewhere.empty())
          missing_somewhere = "sheet " + in_quotes(info.name) + " has no column " + missing;
        continue;
      }
      heads.push_back(std::move(next));
    }
    for (const std::string& pattern : way.sheets) {
      const bool there = std::any_of(book_.sheets().begin(), book_.sheets().end(),
                                     [&](const SheetInfo& info) { return fits(pattern, info.name); });
      if (!there) {
        std::string names;
        for (const SheetInfo& info : book_.sheets()) names += (names.empty() ? "" : ", ") + printable(info.name);
        return fail(Code::invalid_input,
                    "the mapping names a sheet " + in_quotes(pattern) + "; the workbook has: " + printable(names, 300));
      }
    }
    if (heads.empty()) {
      return fail(Code::invalid_input,
                  (missing_somewhere.empty() ? "no sheet holds anything that could be read" : missing_somewhere) +
                      (mapping_ == nullptr ? "; a table with other names is read through a mapping" : ""));
    }
    // The columns of all sheets together: those the mapping names first, then the others.
    std::set<std::string> taken;
    const auto add = [&](Field::From from, const std::string& name) {
      if (fields_.size() < kMostColumns && taken.insert(lower_case(name)).second) fields_.push_back({from, name});
    };
    for (const std::string& name : wanted_.bracketed) {
      const auto address = parse_cell_address(std::string_view(name).substr(1, name.size() - 2));
      if (name != "(sheet)" && name != "(section)" && name != "(comments)" && !address) {
        return fail(Code::invalid_input,
                    "the mapping names " + in_quotes(name) +
                        ", which is none of (sheet), (section), (comments), (heading) and a cell such as (B1)");
      }
      add(name == "(sheet)"      ? Field::From::sheet
          : name == "(section)"  ? Field::From::section
          : name == "(comments)" ? Field::From::comments
                                 : Field::From::cell,
          name);
    }
    for (const std::string& name : wanted_.names) {
      if (has_star(name) || name == kDates) {
        for (const Head& head : heads) {
          for (const int at : columns_of(name, head.names))
            add(Field::From::column, head.names[static_cast<std::size_t>(at)]);
        }
      } else {
        add(Field::From::column, name);
      }
    }
    for (const Head& head : heads) {
      for (std::size_t i = 0; i < head.names.size(); ++i) {
        const std::string& name = head.names[i];
        if (name.empty()) continue;
        const bool named = std::any_of(wanted_.names.begin(), wanted_.names.end(), [&](const std::string& wanted) {
          const auto at = columns_of(wanted, head.names);
          return std::find(at.begin(), at.end(), static_cast<int>(i)) != at.end();
        });
        if (!named) add(Field::From::column, name);
      }
    }
    for (Head& head : heads) {
      SheetPlan& plan = plans_.emplace_back();
      plan.sheet = head.sheet;
      if (!head.without_names) {
        plan.last_header_row = head.head.rows[head.last].number;
        for (std::size_t i = head.first; i <= head.last; ++i) plan.header_cells.push_back(head.head.rows[i].cells);
      }
      std::string absent;
      for (const Field& field : fields_) {
        int at = -1;
        std::pair<std::string, CellKind> cell;
        if (field.from == Field::From::column) {
          const auto columns = columns_of(field.name, head.names);
          if (!columns.empty()) at = columns[0];
          const bool asked = std::find(wanted_.names.begin(), wanted_.names.end(), field.name) != wanted_.names.end();
          if (at < 0 && asked) absent += (absent.empty() ? "" : ", ") + in_quotes(field.name);
        } else if (field.from == Field::From::cell) {
          const auto address = parse_cell_address(std::string_view(field.name).substr(1, field.name.size() - 2));
          for (const SheetHead::Row& row : head.head.rows) {
            if (row.number != address->first || static_cast<std::size_t>(address->second) >= row.cells.size()) continue;
            cell = {row.cells[static_cast<std::size_t>(address->second)],
                    row.kinds[static_cast<std::size_t>(address->second)]};
          }
        }
        plan.column.push_back(at);
        plan.cells.push_back(std::move(cell));
      }
      for (const std::string& name : wanted_.sets) {
        for (const int at : columns_of(name, head.names)) plan.set_columns.insert(at);
      }
      if (!absent.empty())
        found_.push_back("sheet " + in_quotes(book_.sheets()[plan.sheet].name) + " has no column " + absent);
    }
    return {};
  }

  Result<bool> next(TableRow& row) override {
    if (!names_given_) {
      names_given_ = true;
      row.begin(book_.sheets()[plans_[0].sheet].name, static_cast<std::uint64_t>(plans_[0].last_header_row));
      for (std::size_t i = 0; i < fields_.size(); ++i) row.add(fields_[i].name, {CellKind::text, plans_[0].column[i]});
      return true;
    }
    for (;;) {
      if (!sheet_) {
        if (at_ == plans_.size()) return false;
        auto opened = book_.open_sheet(plans_[at_].sheet, sheet_progress());
        if (!opened) return tl::unexpected<Error>(opened.error());
        sheet_ = std::move(*opened);
        section_.clear();
        next_merged_ = 0;
        covering_.clear();
      }
      const auto more = sheet_->next(read_);
      if (!more) return more;
      if (!*more) {
        end_sheet();
        continue;
      }
      if (take(row)) return true;
    }
  }

  std::vector<std::string> found() const override {
    std::vector<std::string> out = found_;
    if (hidden_read_ > 0) {
      out.push_back(std::to_string(hidden_read_) +
                    (hidden_read_ == 1 ? " hidden row was read (" : " hidden rows were read (") + first_hidden_ +
                    " is the first); workbook.skip_hidden_rows leaves them out");
    }
    if (hidden_skipped_ > 0)
      out.push_back(std::to_string(hidden_skipped_) +
                    (hidden_skipped_ == 1 ? " hidden row was left out" : " hidden rows were left out"));
    if (headings_ > 0) {
      out.push_back(std::to_string(headings_) +
                    (headings_ == 1 ? " row with a single cell was" : " rows with a single cell were") +
                    " taken for a heading: " + heading_examples_ + (headings_ > 3 ? ", ..." : ""));
    }
    if (beside_ > 0) {
      out.push_back(std::to_string(beside_) + (beside_ == 1 ? " cell stands" : " cells stand") +
                    " under no name and was not read; the first is " + first_beside_);
    }
    if (too_wide_) out.push_back("cells right of column " + column_letters(kMostSheetColumns - 1) + " were not read");
    return out;
  }

 private:
  // Where the names stand; what is missing, in words, when they do not.
  std::string find_names(const SheetHead& head, std::vector<std::string>& names, std::size_t& first, std::size_t& last,
                         bool& without) const {
    const auto rows = head.rows.size();
    if (mapping_ != nullptr && mapping_->header_row == 0) {
      without = true;
      return rows == 0 ? "at all" : "";
    }
    const std::size_t high = mapping_ != nullptr ? static_cast<std::size_t>(mapping_->workbook.header_rows) : 1;
    std::size_t best = 0;
    bool any = false;
    std::string missing;
    for (std::size_t i = 0; i + high <= rows; ++i) {
      if (mapping_ != nullptr && mapping_->header_row > 1 && head.rows[i].number != mapping_->header_row) continue;
      std::vector<std::string> here = joined_names(head, i, i + high - 1);
      std::size_t score = 0;
      std::string absent;
      if (mapping_ == nullptr) {
        std::set<LogColumn> known;
        for (const std::string& name : here) {
          if (const auto column = parse_log_column(name)) known.insert(*column);
        }
        score = known.size();
        for (const LogColumn needed : {LogColumn::date, LogColumn::exercise, LogColumn::load, LogColumn::reps}) {
          if (known.count(needed) == 0) absent += (absent.empty() ? "" : ", ") + std::string(log_column_name(needed));
        }
      } else {
        for (const std::string& name : wanted_.names) {
          if (columns_of(name, here).empty()) {
            if (wanted_.needed.count(name) > 0) absent += (absent.empty() ? "" : ", ") + in_quotes(name);
          } else {
            ++score;
          }
        }
      }
      if (any && score <= best) continue;
      best = score;
      any = true;
      missing = std::move(absent);
      names = std::move(here);
      first = i;
      last = i + high - 1;
    }
    if (!any) return "at all";
    return missing;
  }

  Progress sheet_progress() const {
    if (!progress_) return {};
    return [this](std::uint64_t done, std::uint64_t total) {
      constexpr std::uint64_t kParts = 1000;
      const std::uint64_t share = total == 0 ? 0 : std::min(done * kParts / total, kParts);
      return progress_(at_ * kParts + share, plans_.size() * kParts);
    };
  }

  void end_sheet() {
    too_wide_ = too_wide_ || sheet_->too_wide();
    sheet_.reset();
    ++at_;
  }

  std::string_view own(int column) const {
    const auto at = std::lower_bound(read_.cells.begin(), read_.cells.end(), column,
                                     [](const SheetCell& cell, int c) { return cell.column < c; });
    if (at == read_.cells.end() || at->column != column) return {};
    return read_.text(*at);
  }

  // Makes the row; false when it is none of the table.
  bool take(TableRow& row) {
    const SheetPlan& plan = plans_[at_];
    const std::string& sheet = book_.sheets()[plan.sheet].name;
    // Cells joined downwards that begin here.
    const std::vector<MergedCells>& merged = sheet_->merged();
    for (; next_merged_ < merged.size() && merged[next_merged_].first_row <= read_.number; ++next_merged_) {
      const MergedCells& cells = merged[next_merged_];
      if (cells.first_row != read_.number || cells.last_row == cells.first_row) continue;
      for (const SheetCell& cell : read_.cells) {
        if (cell.column == cells.first_column) {
          covering_[cell.column] = {std::string(read_.text(cell)), cell.kind, cells.last_row};
        }
      }
    }
    if (read_.number <= plan.last_header_row) return false;
    if (repeats_names(plan)) return false;
    if (read_.hidden) {
      if (mapping_ != nullptr && mapping_->workbook.skip_hidden_rows) {
        ++hidden_skipped_;
        return false;
      }
      if (hidden_read_++ == 0) first_hidden_ = printable(sheet) + ", row " + std::to_string(read_.number);
    }
    if (read_.cells.size() == 1 && plan.set_columns.count(read_.cells[0].column) == 0) {
      section_ = one_line(read_.text(read_.cells[0]));
      section_kind_ = read_.cells[0].kind;
      if (++headings_ <= 3) heading_examples_ += (headings_ == 1 ? "" : ", ") + ("\"" + printable(section_, 30) + "\"");
      return false;
    }
    row.begin(sheet, static_cast<std::uint64_t>(read_.number));
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      switch (fields_[i].from) {
        case Field::From::sheet: row.add(sheet, {CellKind::text, -1}); break;
        case Field::From::section: row.add(section_, {section_.empty() ? CellKind::empty : section_kind_, -1}); break;
        case Field::From::comments: row.add(comments_of_row(), {CellKind::text, -1}); break;
        case Field::From::cell: row.add(plan.cells[i].first, {plan.cells[i].second, -1}); break;
        case Field::From::column: add_cell(row, plan.column[i]); break;
      }
    }
    for (const SheetCell& cell : read_.cells) {
      if (std::find(plan.column.begin(), plan.column.end(), cell.column) != plan.column.end()) continue;
      if (beside_++ == 0)
        first_beside_ = printable(sheet) + "!" + column_letters(cell.column) + std::to_string(read_.number);
    }
    return true;
  }

  void add_cell(TableRow& row, int column) {
    if (column < 0) return row.add({}, {CellKind::empty, -1});
    const auto at = std::lower_bound(read_.cells.begin(), read_.cells.end(), column,
                                     [](const SheetCell& cell, int c) { return cell.column < c; });
    if (at != read_.cells.end() && at->column == column) {
      return row.add(read_.text(*at), {at->kind, column});
    }
    const auto over = covering_.find(column);
    if (over != covering_.end() && over->second.last_row >= read_.number) {
      return row.add(over->second.text, {over->second.kind, column});
    }
    row.add({}, {CellKind::empty, column});
  }

  bool repeats_names(const SheetPlan& plan) const {
    if (read_.cells.size() < 2) return false;
    for (const auto& names : plan.header_cells) {
      const bool same = std::all_of(read_.cells.begin(), read_.cells.end(), [&](const SheetCell& cell) {
        return static_cast<std::size_t>(cell.column) < names.size() &&
               !names[static_cast<std::size_t>(cell.column)].empty() &&
               names[static_cast<std::size_t>(cell.column)] == one_line(read_.text(cell));
      });
      if (same) return true;
    }
    return false;
  }

  std::string comments_of_row() const {
    std::string out;
    const auto& comments = sheet_->comments();
    for (auto at = comments.lower_bound({read_.number, 0}); at != comments.end() && at->first.first == read_.number;
         ++at) {
      if (!out.empty()) out += "; ";
      out += one_line(at->second);
    }
    return out;
  }

  struct Covering {
    std::string text;
    CellKind kind;
    std::int64_t last_row;
  };

  Workbook& book_;
  const Mapping* mapping_;
  Progress progress_;
  Wanted wanted_;
  std::vector<Field> fields_;
  std::vector<SheetPlan> plans_;
  std::vector<std::string> found_;
  std::size_t at_ = 0;
  std::unique_ptr<SheetReader> sheet_;
  SheetRow read_;
  std::map<int, Covering> covering_;
  std::size_t next_merged_ = 0;
  std::string section_;
  CellKind section_kind_ = CellKind::empty;
  bool names_given_ = false, too_wide_ = false;
  std::uint64_t hidden_read_ = 0, hidden_skipped_ = 0, headings_ = 0, beside_ = 0;
  std::string first_hidden_, heading_examples_, first_beside_;
};

}  // namespace

bool is_bracketed(std::string_view name) { return name.size() > 2 && name.front() == '(' && name.back() == ')'; }

Result<SheetHead> read_sheet_head(Workbook& book, std::size_t sheet, std::size_t most_rows) {
  SheetHead head;
  auto reader = book.open_sheet(sheet);
  if (!reader) return tl::unexpected<Error>(reader.error());
  SheetRow row;
  while (head.rows.size() < most_rows) {
    const auto more = (*reader)->next(row);
    if (!more) return tl::unexpected<Error>(more.error());
    if (!*more) break;
    SheetHead::Row& to = head.rows.emplace_back();
    to.number = row.number;
    to.hidden = row.hidden;
    to.own = static_cast<int>(row.cells.size());
    for (const SheetCell& cell : row.cells) {
      to.cells.resize(static_cast<std::size_t>(cell.column) + 1);
      to.kinds.resize(to.cells.size());
      to.cells.back() = one_line(row.text(cell));
      to.kinds.back() = cell.kind;
    }
  }
  head.comments = !(*reader)->comments().empty();
  for (const MergedCells& cells : (*reader)->merged()) {
    const auto first = std::find_if(head.rows.begin(), head.rows.end(),
                                    [&](const SheetHead::Row& r) { return r.number == cells.first_row; });
    const auto column = static_cast<std::size_t>(cells.first_column);
    if (first == head.rows.end() || column >= first->cells.size()) continue;
    const std::string text = first->cells[column];
    const CellKind kind = first->kinds[column];
    const auto right = static_cast<std::size_t>(std::min(cells.last_column, kMostSheetColumns - 1));
    for (auto at = first; at != head.rows.end() && at->number <= cells.last_row; ++at) {
      for (std::size_t c = column; c <= right; ++c) {
        if (c >= at->cells.size()) {
          at->cells.resize(c + 1);
          at->kinds.resize(c + 1);
        }
        if (at->cells[c].empty()) {
          at->cells[c] = text;
          at->kinds[c] = kind;
        }
      }
    }
  }
  return head;
}

std::vector<std::string> joined_names(const SheetHead& head, std::size_t first, std::size_t last) {
  std::size_t width = 0;
  for (std::size_t i = first; i <= last; ++i) width = std::max(width, head.rows[i].cells.size());
  std::vector<std::string> names(width);
  for (std::size_t c = 0; c < width; ++c) {
    std::string before;
    for (std::size_t i = first; i <= last; ++i) {
      if (c >= head.rows[i].cells.size()) continue;
      const std::string& text = head.rows[i].cells[c];
      if (text.empty() || text == before) continue;
      names[c] += (names[c].empty() ? "" : " ") + text;
      before = text;
    }
  }
  std::map<std::string, std::pair<int, int>> times;  // how often in all, and up to here
  for (const std::string& name : names) ++times[lower_case(name)].first;
  std::vector<std::string> counted = names;
  for (std::string& name : counted) {
    auto& [all, here] = times[lower_case(name)];
    ++here;
    if (!name.empty() && all > 1) name += " " + std::to_string(here);
  }
  return counted;
}

Result<std::unique_ptr<TableReader>> WorkbookTable::start(const Mapping* mapping, Progress progress) {
  auto reader = std::make_unique<Reader>(book_, mapping, std::move(progress));
  if (const auto planned = reader->plan(); !planned) return tl::unexpected<Error>(planned.error());
  return reader;
}

}  // namespace ullage::interchange
