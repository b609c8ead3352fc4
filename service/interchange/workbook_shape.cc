#include "service/interchange/workbook_shape.h"

#include <algorithm>
#include <map>
#include <set>

#include "service/interchange/cell_text.h"
#include "service/interchange/header_words.h"
#include "service/interchange/workbook_table.h"

namespace ullage::interchange {
namespace {

constexpr std::size_t kSampleRows = 25;
constexpr int kMostHeaderRows = 3;
constexpr double kMostly = 0.8;  // share of cells that makes a column one of sets

// A name with its last number taken out: "Set 2 kg" is "Set * kg".
std::optional<std::string> starred(const std::string& name) {
  std::size_t end = name.size();
  while (end > 0 && (name[end - 1] < '0' || name[end - 1] > '9')) --end;
  std::size_t begin = end;
  while (begin > 0 && name[begin - 1] >= '0' && name[begin - 1] <= '9') --begin;
  if (begin == end || name.find('*') != std::string::npos) return std::nullopt;
  return name.substr(0, begin) + "*" + name.substr(end);
}

// What a starred name says of its cells: the words beside the number, without those that only say "set".
std::optional<HeaderMeaning> meaning_of_run(const std::string& pattern) {
  std::string words;
  std::string word;
  for (const char c : lower_case(pattern) + ' ') {
    if ((c >= 'a' && c <= 'z') || static_cast<unsigned char>(c) >= 0x80) {
      word += c;
      continue;
    }
    if (word != "set" && word != "sets" && word != "s" && word != "no" && word != "nr" && !word.empty()) {
      words += (words.empty() ? "" : " ") + word;
    }
    word.clear();
  }
  if (words.empty()) return std::nullopt;
  auto what = meaning(words);
  if (what && what->part != Part::log) return std::nullopt;
  return what;
}

// Whether the texts look like several sets each: numbers with x between, or lists of numbers.
struct SetLook {
  std::size_t filled = 0, parsed = 0, sets = 0, with_x = 0, effort_alone = 0, three = 0, first_small = 0;
};
SetLook look_at(const std::vector<std::string>& texts) {
  SetLook look;
  for (const std::string& text : texts) {
    if (text.empty()) continue;
    ++look.filled;
    std::vector<CompactSet> sets;
    CompactForm form;
    form.effort = CompactForm::Effort::reserve;
    bool good = false;
    for (const bool comma : {false, true}) {
      for (const char* order : {"load x reps", "sets x reps x load"}) {
        form.order = *parse_set_order(order);
        sets.clear();
        if (parse_compact(text, form, comma, sets) || sets.empty()) continue;
        good = true;
        if (form.order.size() == 3) ++look.three;
        break;
      }
      if (good) break;
    }
    if (!good) continue;
    ++look.parsed;
    const bool x = text.find('x') != std::string::npos || text.find('X') != std::string::npos ||
                   text.find('*') != std::string::npos || text.find("\xC3\x97") != std::string::npos;
    if (!x && sets.size() < 2) continue;
    ++look.sets;
    if (x) ++look.with_x;
    const std::string lower = lower_case(text);
    if (text.find('@') != std::string::npos && lower.find("rpe") == std::string::npos &&
        lower.find("rir") == std::string::npos) {
      ++look.effort_alone;
    }
    // 3x8: few sets of some reps, not a load.
    if (const auto first = parse_number(sets.front().load, false); first && *first <= 10) ++look.first_small;
  }
  return look;
}

struct Layout {
  std::size_t first = 0, last = 0;  // rows of the head
  std::vector<std::string> names;
  std::map<LogColumn, std::string> columns;  // names with a meaning of their own
  std::map<LogColumn, ColumnSource> runs;
  std::optional<SetCells> sets;
  bool effort_alone = false;
  bool order_open = false;
  bool loads_beside = false;  // the load has a column of its own
  std::size_t score = 0;
};

Layout layout_of(const SheetHead& head, std::size_t first, std::size_t last) {
  Layout out;
  out.first = first;
  out.last = last;
  out.names = joined_names(head, first, last);
  std::vector<std::vector<std::string>> below(out.names.size());
  for (std::size_t i = last + 1; i < head.rows.size() && i <= last + kSampleRows; ++i) {
    if (head.rows[i].own < 2) continue;
    for (std::size_t c = 0; c < head.rows[i].cells.size() && c < below.size(); ++c)
      below[c].push_back(head.rows[i].cells[c]);
  }
  std::map<std::string, std::vector<std::size_t>> patterns;
  std::vector<std::size_t> dates;
  std::vector<std::size_t> set_columns;
  for (std::size_t c = 0; c < out.names.size(); ++c) {
    if (out.names[c].empty()) continue;
    const SetLook look = look_at(below[c]);
    const bool sets = look.filled > 0 && look.with_x > 0 &&
                      static_cast<double>(look.sets) >= kMostly * static_cast<double>(look.filled);
    const auto what = meaning(out.names[c]);
    const bool list =
        look.sets > 0 && look.parsed == look.filled && what && what->column == LogColumn::reps;  // 8, 8, 6
    if (sets || list) {
      out.loads_beside = out.loads_beside || look.with_x == 0;
      set_columns.push_back(c);
      out.effort_alone = out.effort_alone || look.effort_alone > 0;
      if (look.first_small * 2 > look.sets) out.order_open = true;
    }
    if (split_date(out.names[c])) dates.push_back(c);
    if (const auto pattern = starred(out.names[c])) patterns[*pattern].push_back(c);
  }
  if (!set_columns.empty()) {
    out.sets = SetCells{};
    const bool all_dates = std::all_of(set_columns.begin(), set_columns.end(),
                                       [&](std::size_t c) { return split_date(out.names[c]).has_value(); });
    std::set<std::string> names;
    for (const std::size_t c : set_columns) {
      const auto pattern = starred(out.names[c]);
      names.insert(all_dates ? "(dates)" : pattern && patterns[*pattern].size() > 1 ? *pattern : out.names[c]);
    }
    out.sets->columns.assign(names.begin(), names.end());
    out.score += 3;
    if (out.order_open) out.sets->form.order = *parse_set_order("sets x reps");
  } else {
    for (const auto& [pattern, at] : patterns) {
      if (at.size() < 2) continue;
      const auto what = meaning_of_run(pattern);
      if (!what || out.runs.count(what->column) > 0) continue;
      ColumnSource source;
      source.columns = {pattern};
      source.form = what->form;
      if (what->column == LogColumn::load || what->column == LogColumn::body_mass) source.unit = what->unit;
      out.runs[what->column] = std::move(source);
    }
    if (out.runs.count(LogColumn::reps) == 0 && out.runs.count(LogColumn::load) == 0) out.runs.clear();
    out.score += out.runs.size() * 2;
  }
  for (const std::string& name : out.names) {
    const bool in_run = std::any_of(out.runs.begin(), out.runs.end(),
                                    [&](const auto& run) { return fits(run.second.columns[0], name); });
    const bool in_sets =
        out.sets && std::any_of(out.sets->columns.begin(), out.sets->columns.end(), [&](const auto& c) {
          return c == "(dates)" ? split_date(name).has_value() : fits(c, name);
        });
    if (name.empty() || in_run || in_sets) continue;
    const auto what = meaning(name);
    if (!what || what->part != Part::log || out.runs.count(what->column) > 0) continue;
    if (out.sets && what->column == LogColumn::reps) continue;
    if (out.sets && what->column == LogColumn::load && !out.order_open && !out.loads_beside) continue;
    if (out.columns.emplace(what->column, name).second) ++out.score;
  }
  return out;
}

// Names that say a time, a plan or nothing: no lifter is called so. Common practice, no source.
bool may_be_lifter(const std::string& sheet) {
  const std::string lower = lower_case(sheet);
  for (const char* word :
       {"week", "block", "sheet", "tab",   "day",  "phase", "log",  "train", "month", "cycle", "program",
        "data", "jan",   "feb",   "mar ",  "apr",  "may ",  "jun",  "jul",   "aug",   "sep",   "oct",
        "nov",  "dec",   "upper", "lower", "push", "pull",  "legs", "squat", "bench"}) {
    if (lower.find(word) != std::string::npos) return false;
  }
  return lower.find_first_of("0123456789") == std::string::npos;
}

}  // namespace

Result<WorkbookShape> find_shape(Workbook& book, const ReadLogOptions& options) {
  WorkbookShape out;
  Layout best;
  SheetHead best_head;
  std::size_t best_sheet = 0;
  bool any = false, hidden_rows = false;
  for (std::size_t i = 0; i < book.sheets().size(); ++i) {
    if (book.sheets()[i].hidden) continue;
    auto head = read_sheet_head(book, i);
    if (!head) return tl::unexpected<Error>(head.error());
    for (const SheetHead::Row& row : head->rows) hidden_rows = hidden_rows || row.hidden;
    out.comments = out.comments || head->comments;
    for (std::size_t height = 1; height <= kMostHeaderRows; ++height) {
      for (std::size_t first = 0; first + height < head->rows.size() && first < 20; ++first) {
        Layout layout = layout_of(*head, first, first + height - 1);
        if (layout.score > best.score) {
          best = std::move(layout);
          best_head = *head;
          best_sheet = i;
          any = true;
        }
      }
    }
  }
  if (!any || best.score < 2) {
    return fail(
        Code::invalid_input,
        "no row of the workbook names its columns in words known here: write the mapping by hand (docs/log-format.md), "
        "columns may be called by their letters, such as \"#D\"");
  }
  Mapping& mapping = out.mapping;
  mapping.workbook.header_rows = static_cast<int>(best.last - best.first) + 1;
  for (const auto& [column, name] : best.columns) mapping.columns[column].columns = {name};
  for (const auto& [column, source] : best.runs) mapping.columns[column] = source;
  mapping.sets = best.sets;
  const std::string& sheet = book.sheets()[best_sheet].name;
  std::string rows = "row " + std::to_string(best_head.rows[best.first].number);
  if (best.last > best.first)
    rows = "rows " + std::to_string(best_head.rows[best.first].number) + " to " +
           std::to_string(best_head.rows[best.last].number);
  out.found.push_back("the column names stand on " + rows + " of sheet \"" + printable(sheet) +
                      "\" and are looked for on every sheet");
  // A column that no sheet needs must not keep the others out: only what stands on the best sheet is asked for.
  const bool has_date = mapping.columns.count(LogColumn::date) > 0;
  if (!has_date) {
    if (best.sets && best.sets->columns == std::vector<std::string>{"(dates)"}) {
      mapping.columns[LogColumn::date].columns = {"(heading)"};
    } else {
      std::size_t lone_dates = 0;
      for (std::size_t i = 0; i < best_head.rows.size(); ++i) {
        const SheetHead::Row& row = best_head.rows[i];
        if (row.own != 1) continue;
        for (const std::string& cell : row.cells) {
          if (split_date(cell)) {
            ++lone_dates;
            break;
          }
        }
      }
      if (lone_dates > 0) mapping.columns[LogColumn::date].columns = {"(section)"};
    }
  }
  std::vector<std::string> with_sets;
  {
    WorkbookTable table(book);
    Mapping probe = mapping;
    for (std::size_t i = 0; i < book.sheets().size(); ++i) {
      if (book.sheets()[i].hidden) continue;
      probe.workbook.sheets = {book.sheets()[i].name};
      if (has_star(book.sheets()[i].name)) continue;
      if (const auto started = table.start(&probe, {}); started) with_sets.push_back(book.sheets()[i].name);
    }
  }
  if (mapping.columns.count(LogColumn::lifter) == 0 && options.lifter.empty()) {
    // "Lifter" with a name beside it, above the table.
    std::string cell;
    for (std::size_t i = 0; i < best.first && cell.empty(); ++i) {
      const SheetHead::Row& row = best_head.rows[i];
      for (std::size_t c = 0; c + 1 < row.cells.size(); ++c) {
        const auto what = meaning(row.cells[c]);
        const bool says =
            lower_case(row.cells[c]).rfind("lifter", 0) == 0 || (what && what->column == LogColumn::lifter);
        if (!says || row.cells[c + 1].empty()) continue;
        cell = '(' + column_letters(static_cast<int>(c) + 1) + std::to_string(row.number) + ')';
        break;
      }
    }
    const bool names = std::all_of(with_sets.begin(), with_sets.end(), may_be_lifter);
    if (!cell.empty()) {
      mapping.columns[LogColumn::lifter].columns = {cell};
      out.found.push_back("the lifter is read from cell " + cell.substr(1, cell.size() - 2) + " of each sheet");
    } else if (names && !with_sets.empty()) {
      mapping.columns[LogColumn::lifter].columns = {"(sheet)"};
      out.questions.push_back(
          {"columns.lifter", "Is each sheet a lifter, with the name it bears? It is taken so", {"(sheet)"}, false});
    }
  }
  if (best.sets && best.effort_alone) {
    out.questions.push_back(
        {"columns.sets.effort", "What is the number after @, RPE or reps in reserve?", {"rpe", "reserve"}, true});
  }
  if (best.order_open) {
    out.questions.push_back(
        {"columns.sets.order",
         "Are the numbers of a cell sets x reps? It is taken so; the load then comes from its own column",
         {"sets x reps", "load x reps", "reps x load"},
         false});
  }
  if (hidden_rows) {
    out.questions.push_back({"workbook.skip_hidden_rows",
                             "There are hidden rows. They are read; shall they be left out?",
                             {"false", "true"},
                             false});
  }
  return out;
}

}  // namespace ullage::interchange
