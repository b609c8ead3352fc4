#include "service/interchange/read_log.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <unordered_map>
#include <utility>

#include "service/interchange/cell_text.h"
#include "service/interchange/compact_sets.h"
#include "service/interchange/csv_reader.h"
#include "service/interchange/log_columns.h"
#include "service/interchange/row_parser.h"
#include "service/interchange/table_header.h"

namespace ullage::interchange {
namespace {

constexpr std::string_view kEscape = "extra:";
constexpr int kMostRepeats = 50;

std::string count_text(std::size_t count, const char* thing) {
  return std::to_string(count) + " " + thing + (count == 1 ? "" : "s");
}

// Where the cells of a row go. One plan for both ways of reading: the open format is a plan in which
// every column has the field of its own name.
struct ColumnPlan {
  LogColumn column{};
  std::vector<std::size_t> fields;
  std::string join;
  CellForm form = CellForm::plain;
  std::optional<std::string> blank;
  std::unordered_map<std::string, std::string> values;        // as written
  std::unordered_map<std::string, std::string> lower_values;  // in lower case
  std::string text;                                           // a constant, or the row's joined text
  std::string as_log;                                         // the row's converted text
  bool heading = false;                                       // one of `fields` is the name of the column of sets
  std::vector<std::size_t> star;                              // field of each run of columns (Plan::runs)
};

// A field number that stands for the name of the column in which the set's cell is.
constexpr std::size_t kHeading = static_cast<std::size_t>(-2);

struct RulePlan {
  std::size_t field = 0;
  std::vector<std::string> values;  // in lower case
  bool keep = false;
  std::size_t counter = 0;
};

struct Plan {
  std::vector<std::string> headers;  // "" where the table gives no name
  std::vector<ColumnPlan> columns;
  std::vector<std::pair<std::size_t, std::string>> extra;
  std::vector<RulePlan> rules;
  std::optional<std::size_t> repeat;
  std::vector<std::string> runs;        // what each * stands for: a row is as many sets
  std::vector<std::size_t> set_fields;  // cells that hold sets
  CompactForm set_form;
  std::vector<bool> fill_down;
  RowForm form;
  std::vector<DroppedRows> dropped;
};

// The names with those that stand several times counted: "kg 1", "kg 2".
std::vector<std::string> counted_names(const std::vector<std::string>& headers) {
  std::unordered_map<std::string, std::pair<int, int>> times;
  for (const std::string& name : headers) ++times[lower_case(name)].first;
  std::vector<std::string> out = headers;
  for (std::string& name : out) {
    auto& [all, here] = times[lower_case(name)];
    ++here;
    if (!name.empty() && all > 1) name += " " + std::to_string(here);
  }
  return out;
}

std::string field_label(const Plan& plan, std::size_t field) {
  if (field < plan.headers.size() && !plan.headers[field].empty()) return plan.headers[field];
  return place_name(field);
}

Result<Plan> plan_open_log(std::vector<std::string> headers, const ReadLogOptions& options) {
  Plan plan;
  plan.headers = std::move(headers);
  std::array<std::optional<std::size_t>, kLogColumnCount> at;
  for (std::size_t i = 0; i < plan.headers.size(); ++i) {
    const std::string& name = plan.headers[i];
    if (const auto column = parse_log_column(name)) {
      auto& place = at[static_cast<std::size_t>(*column)];
      if (place) {
        return fail(Code::invalid_input, "the header has " + std::string(log_column_name(*column)) +
                                             " twice (columns " + std::to_string(*place + 1) + " and " +
                                             std::to_string(i + 1) + "): rename or remove one");
      }
      place = i;
    } else {
      const bool marked = name.rfind(kEscape, 0) == 0;
      plan.extra.emplace_back(i, marked ? name.substr(kEscape.size()) : field_label(plan, i));
    }
  }
  std::string missing;
  std::size_t known = 0;
  for (std::size_t i = 0; i < at.size(); ++i) {
    const auto column = static_cast<LogColumn>(i);
    const std::string name(log_column_name(column));
    plan.form.labels[i] = name;
    if (at[i]) {
      ++known;
      plan.columns.emplace_back().column = column;
      plan.columns.back().fields = {*at[i]};
      continue;
    }
    const bool needed = column == LogColumn::date || column == LogColumn::exercise || column == LogColumn::load ||
                        column == LogColumn::reps || (column == LogColumn::lifter && options.lifter.empty());
    if (needed) missing += (missing.empty() ? "" : ", ") + name;
  }
  if (known == 0) {
    return fail(Code::invalid_input,
                "the first row names none of the log's columns (it has: " + header_list(plan.headers) +
                    "): is the header line missing? A table with other names is read through a mapping");
  }
  if (!missing.empty()) {
    return fail(Code::invalid_input, "the header has no column " + missing + " (it has: " + header_list(plan.headers) +
                                         "); a table with other names is read through a mapping");
  }
  plan.form.load_unit = Unit::kilogram;
  return plan;
}

// The columns whose cells hold sets.
Result<std::vector<std::size_t>> find_set_fields(const std::vector<std::string>& headers,
                                                 const std::vector<std::string>& names) {
  std::vector<std::size_t> out;
  const std::vector<std::string> counted = counted_names(headers);
  for (const std::string& name : names) {
    if (!has_star(name) && name != "(dates)") {
      const auto field = find_field(headers, name);
      if (!field) return tl::unexpected<Error>(field.error());
      out.push_back(*field);
      continue;
    }
    const std::size_t before = out.size();
    for (std::size_t i = 0; i < counted.size(); ++i) {
      const bool in = name == "(dates)" ? split_date(headers[i]).has_value() : star_of(name, counted[i]).has_value();
      if (in) out.push_back(i);
    }
    if (out.size() == before) {
      return fail(Code::invalid_input, "the table has no column that " + in_quotes(name) +
                                           " stands for (it has: " + header_list(headers) + ")");
    }
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
  return out;
}

Result<Plan> plan_mapped(std::vector<std::string> headers, const Mapping& mapping, const ReadLogOptions& options) {
  Plan plan;
  plan.headers = std::move(headers);
  std::vector<bool> used(plan.headers.size());
  const auto column_of = [&](const std::string& name) {
    auto field = find_field(plan.headers, name);
    if (field) used[*field] = true;
    return field;
  };
  std::string missing;
  const std::vector<std::string> counted = counted_names(plan.headers);
  // What the stars stand for, in the order of the table's columns.
  for (const std::string& header : counted) {
    for (const auto& [column, source] : mapping.columns) {
      if (!has_star(source.columns[0])) continue;
      const auto run = star_of(source.columns[0], header);
      if (run && std::find(plan.runs.begin(), plan.runs.end(), *run) == plan.runs.end()) plan.runs.push_back(*run);
    }
  }
  if (mapping.sets) {
    auto fields = find_set_fields(plan.headers, mapping.sets->columns);
    if (!fields) return tl::unexpected<Error>(fields.error());
    plan.set_fields = std::move(*fields);
    plan.set_form = mapping.sets->form;
    for (const std::size_t field : plan.set_fields) used[field] = true;
  }
  for (std::size_t i = 0; i < kLogColumnCount; ++i) {
    const auto column = static_cast<LogColumn>(i);
    const std::string name(log_column_name(column));
    plan.form.labels[i] = name;
    const auto source = mapping.columns.find(column);
    const auto constant = mapping.constants.find(column);
    if (source == mapping.columns.end() && constant == mapping.constants.end()) {
      const bool in_cells = mapping.sets && (column == LogColumn::load || column == LogColumn::reps);
      const bool needed = column == LogColumn::date || column == LogColumn::exercise || column == LogColumn::load ||
                          column == LogColumn::reps || (column == LogColumn::lifter && options.lifter.empty());
      if (needed && !in_cells) missing += (missing.empty() ? "" : ", ") + name;
      continue;
    }
    ColumnPlan& to = plan.columns.emplace_back();
    to.column = column;
    if (source == mapping.columns.end()) {
      to.text = constant->second;
      continue;
    }
    std::string label;
    for (const std::string& from : source->second.columns) {
      if (from == "(heading)" && (mapping.sets || !plan.runs.empty())) {
        to.fields.push_back(kHeading);
        to.heading = true;
        label += (label.empty() ? "" : " + ") + std::string("(heading)");
        continue;
      }
      if (has_star(from)) {
        to.star.resize(plan.runs.size(), kNoField);
        bool any = false;
        for (std::size_t f = 0; f < counted.size(); ++f) {
          const auto run = star_of(from, counted[f]);
          if (!run) continue;
          const auto at = std::find(plan.runs.begin(), plan.runs.end(), *run) - plan.runs.begin();
          to.star[static_cast<std::size_t>(at)] = f;
          used[f] = true;
          any = true;
        }
        if (!any) {
          return fail(Code::invalid_input, "the table has no column that " + in_quotes(from) +
                                               " stands for (it has: " + header_list(plan.headers) + ")");
        }
        label = from;
        continue;
      }
      const auto field = column_of(from);
      if (!field) return tl::unexpected<Error>(field.error());
      to.fields.push_back(*field);
      label += (label.empty() ? "" : " + ") + field_label(plan, *field);
    }
    plan.form.labels[i] = label;
    to.join = source->second.join;
    to.form = source->second.form;
    if (const auto blank = mapping.blanks.find(column); blank != mapping.blanks.end()) to.blank = blank->second;
    const auto add_value = [&](const std::string& from, const std::string& text) {
      to.values.emplace(from, text);
      to.lower_values.emplace(lower_case(trimmed(from)), text);
    };
    if (const auto values = mapping.values.find(column); values != mapping.values.end()) {
      for (const auto& [from, text] : values->second) add_value(from, text);
    }
    if (column == LogColumn::date) {
      for (const auto& [from, days] : mapping.date_offsets) {
        add_value(from, date_text(mapping.start_date.value_or(Date{}) + days));
      }
      plan.form.date_labels = !to.values.empty();
    }
  }
  if (!missing.empty()) {
    return fail(Code::invalid_input, "the mapping says nothing for " + missing + " (the table has: " +
                                         header_list(plan.headers) + "): name its column or give a constant");
  }
  const auto load = mapping.columns.find(LogColumn::load);
  const bool in_cell = load != mapping.columns.end() && load->second.unit_in_cell;
  if (load != mapping.columns.end()) plan.form.load_unit = load->second.unit;
  if (load == mapping.columns.end() && !mapping.sets) plan.form.load_unit = Unit::kilogram;  // a constant, as in a log
  if (mapping.sets && mapping.sets->unit) plan.form.load_unit = mapping.sets->unit;
  if (!plan.form.load_unit && !in_cell && mapping.columns.count(LogColumn::unit) == 0 &&
      mapping.constants.count(LogColumn::unit) == 0) {
    return fail(Code::invalid_input,
                "the mapping does not say in which unit the load is: set unit = \"kg\", \"lb\" or \"mark\" under "
                "[constants], or a column for it under [columns]");
  }
  if (const auto body = mapping.columns.find(LogColumn::body_mass); body != mapping.columns.end()) {
    plan.form.body_unit = body->second.unit;
  }
  plan.form.any_date = true;
  plan.form.decimal_comma = mapping.decimal_comma;
  plan.form.date_order = mapping.date_order;
  for (const bool keep : {true, false}) {
    for (const RowRule& rule : keep ? mapping.keep : mapping.drop) {
      const auto field = column_of(rule.column);
      if (!field) return tl::unexpected<Error>(field.error());
      RulePlan& to = plan.rules.emplace_back();
      to.field = *field;
      to.keep = keep;
      to.counter = plan.dropped.size();
      for (const std::string& value : rule.values) to.values.push_back(lower_case(trimmed(value)));
      plan.dropped.push_back({rule_text(rule, keep), 0});
    }
  }
  if (!mapping.repeat.empty()) {
    const auto field = column_of(mapping.repeat);
    if (!field) return tl::unexpected<Error>(field.error());
    plan.repeat = *field;
  }
  plan.fill_down.resize(plan.headers.size());
  for (const std::string& name : mapping.fill_down) {
    const auto field = column_of(name);
    if (!field) return tl::unexpected<Error>(field.error());
    plan.fill_down[*field] = true;
  }
  if (!plan.set_fields.empty() || !plan.runs.empty()) plan.dropped.push_back({"the row holds no set", 0});
  for (std::size_t i = 0; mapping.keep_other_columns && i < plan.headers.size(); ++i) {
    if (!used[i]) plan.extra.emplace_back(i, field_label(plan, i));
  }
  return plan;
}

// Rests as m:ss or h:mm:ss.
std::optional<double> parse_clock(std::string_view text) {
  double seconds = 0;
  for (int parts = 0; parts < 3; ++parts) {
    const std::size_t colon = text.find(':');
    const auto value = parse_whole(text.substr(0, colon), false);
    if (!value || *value < 0 || (parts > 0 && *value > 59)) return std::nullopt;
    seconds = seconds * 60 + *value;
    if (colon == std::string_view::npos) return parts > 0 ? std::optional<double>(seconds) : std::nullopt;
    text.remove_prefix(colon + 1);
  }
  return std::nullopt;
}

// Reserve = 10 - RPE (published values T02-001 to T02-006: Zourdos et al. 2016, doi
// 10.1519/JSC.0000000000001049; Zourdos et al. 2021, doi 10.1519/JSC.0000000000002995). Below 5 the
// scale's words give no number of reps (T02-011, T02-012: Helms et al. 2016, from memory), so that
// says only "more than 5".
std::optional<std::string> reserve_of_rpe(std::string_view text, bool decimal_comma) {
  const auto rpe = parse_number(text, decimal_comma);
  if (!rpe || *rpe < 1 || *rpe > 10 || *rpe * 2 != std::floor(*rpe * 2)) return std::nullopt;
  return *rpe < 5 ? "5+" : number_text(10 - *rpe);
}

class LogReading {
 public:
  LogReading(TableSource& source, const ReadLogOptions& options) : source_(source), options_(options) {}

  Result<LogSummary> run(const SetSink& sink) {
    const bool two_passes = options_.mapping != nullptr && options_.mapping->date_order == DateOrder::undecided &&
                            options_.mapping->columns.count(LogColumn::date) > 0;
    passes_ = two_passes ? 2 : 1;
    if (two_passes) {
      if (auto decided = decide_date_order(); !decided) return tl::unexpected<Error>(decided.error());
      pass_ = 1;
    }
    if (auto read = read_rows(sink); !read) return tl::unexpected<Error>(read.error());
    return std::move(summary_);
  }

 private:
  // What of a row makes one set.
  struct SetOfRow {
    std::size_t run = kNoField;    // place in Plan::runs
    std::size_t field = kNoField;  // the cell of sets
    const CompactSet* compact = nullptr;
  };

  Progress progress() const {
    if (!options_.progress) return {};
    return [this](std::uint64_t done, std::uint64_t total) {
      return options_.progress(done + static_cast<std::uint64_t>(pass_) * total,
                               total * static_cast<std::uint64_t>(passes_));
    };
  }

  // Finds the header and makes the plan. With no header the first row stays in `row`.
  Result<Plan> begin(TableReader& reader, TableRow& row) {
    const bool own_rows = options_.mapping != nullptr && !source_.is_workbook();  // a workbook gives its names first
    const int header_row = own_rows ? options_.mapping->header_row : 1;
    const int skip_rows = options_.mapping != nullptr ? options_.mapping->skip_rows : 0;
    for (int i = 0; i < std::max(header_row, 1); ++i) {
      const auto more = reader.next(row);
      if (!more) return tl::unexpected<Error>(more.error());
      if (!*more) {
        return fail(Code::invalid_input, i == 0 ? "the file is empty"
                                                : "the file has no row " + std::to_string(header_row) +
                                                      ", where the mapping expects the column names");
      }
      if (header_row == 0) break;
    }
    std::vector<std::string> headers;
    if (header_row == 0) {
      headers.resize(row.size());
    } else {
      if (!row.faults().empty()) {
        const CellFault& fault = row.faults().front();
        return fail(Code::invalid_input,
                    fault_text({fault.line, place_name(fault.column), "", "", fault.problem, ""}) + " (in the header)");
      }
      headers = header_names(row);
    }
    auto plan = options_.mapping != nullptr ? plan_mapped(std::move(headers), *options_.mapping, options_)
                                            : plan_open_log(std::move(headers), options_);
    if (!plan) return plan;
    for (int i = 0; i < skip_rows + (header_row == 0 ? 0 : 1); ++i) {
      const auto more = reader.next(row);
      if (!more) return tl::unexpected<Error>(more.error());
      if (!*more) {
        at_end_ = true;
        break;
      }
    }
    filled_.assign(plan->headers.size(), {});
    filled_sheet_ = row.sheet();
    return plan;
  }

  // Calls `use` for each row below the header.
  template <class Use>
  Result<void> each_row(TableReader& reader, TableRow& row, Use use) {
    while (!at_end_) {
      use(row);
      if (row.cut_short()) break;
      const auto more = reader.next(row);
      if (!more) return tl::unexpected<Error>(more.error());
      at_end_ = !*more;
    }
    return {};
  }

  static bool all_blank(const TableRow& row) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (!trimmed(row.field(i)).empty()) return false;
    }
    return row.faults().empty();
  }

  // Remembers what stands in columns whose blank cells take the text above them.
  void fill(const Plan& plan, const TableRow& row) {
    if (plan.fill_down.empty()) return;
    if (row.sheet() != filled_sheet_) {
      filled_.assign(plan.headers.size(), {});
      filled_sheet_ = row.sheet();
    }
    for (std::size_t i = 0; i < plan.fill_down.size(); ++i) {
      if (plan.fill_down[i] && !trimmed(row.field(i)).empty())
        filled_[i] = {std::string(row.field(i)), row.typed(i), row.kind(i)};
    }
  }
  bool takes_from_above(const Plan& plan, const TableRow& row, std::size_t i) const {
    return i < plan.fill_down.size() && plan.fill_down[i] && trimmed(row.field(i)).empty();
  }
  std::string_view value(const Plan& plan, const TableRow& row, std::size_t i) const {
    return takes_from_above(plan, row, i) ? std::string_view(filled_[i].text) : row.field(i);
  }
  CellKind kind(const Plan& plan, const TableRow& row, std::size_t i) const {
    return takes_from_above(plan, row, i) ? filled_[i].kind : row.kind(i);
  }
  bool typed(const Plan& plan, const TableRow& row, std::size_t i) const {
    return takes_from_above(plan, row, i) ? filled_[i].typed : row.typed(i);
  }

  // The rule that leaves this row out.
  const RulePlan* dropping_rule(const Plan& plan, const TableRow& row) const {
    for (const RulePlan& rule : plan.rules) {
      const std::string text = lower_case(trimmed(value(plan, row, rule.field)));
      const bool met = std::find(rule.values.begin(), rule.values.end(), text) != rule.values.end();
      if (met != rule.keep) return &rule;
    }
    return nullptr;
  }

  void add_fault(Fault fault) {
    ++summary_.fault_count;
    if (summary_.faults.size() < options_.most_faults) summary_.faults.push_back(std::move(fault));
  }

  // The sets a row stands for, without looking into them; their cells are read into compact_. Faults of cells that
  // cannot be taken apart are appended.
  void sets_of(const Plan& plan, const TableRow& row, std::vector<Fault>& faults) {
    sets_.clear();
    compact_.clear();
    if (plan.set_fields.empty() && plan.runs.empty()) {
      sets_.emplace_back();
      return;
    }
    for (std::size_t run = 0; run < plan.runs.size(); ++run) {
      bool blank = true;
      for (const ColumnPlan& column : plan.columns) {
        if (column.star.empty() || column.star[run] == kNoField) continue;
        blank = blank && trimmed(row.field(column.star[run])).empty();
      }
      if (blank) continue;
      SetOfRow& set = sets_.emplace_back();
      set.run = run;
      for (const ColumnPlan& column : plan.columns) {
        if (!column.star.empty() && column.star[run] != kNoField && set.field == kNoField) set.field = column.star[run];
      }
    }
    std::vector<std::pair<std::size_t, std::size_t>> places;  // of compact_: how many, in which field
    for (const std::size_t field : plan.set_fields) {
      const std::string_view text = trimmed(row.field(field));
      if (text.empty()) continue;
      const std::size_t before = compact_.size();
      std::optional<CompactFault> fault;
      if (row.kind(field) == CellKind::date || row.kind(field) == CellKind::time) {
        fault = CompactFault{0, std::string(text), "a set: the spreadsheet took it for a date or a time"};
      } else {
        fault = parse_compact(text, plan.set_form, plan.form.decimal_comma && !row.typed(field), compact_);
      }
      if (fault) {
        compact_.resize(before);
        std::string expected = fault->expected;
        if (fault->at > 0)
          expected += " (at character " + std::to_string(fault->at + 1) + " of \"" + printable(text) + "\")";
        faults.push_back(
            {row.line(), field_label(plan, field), printable(fault->found), std::move(expected), "", row.place(field)});
        continue;
      }
      places.emplace_back(compact_.size() - before, field);
    }
    std::size_t at = 0;
    for (const auto& [count, field] : places) {
      for (std::size_t i = 0; i < count; ++i) {
        SetOfRow& set = sets_.emplace_back();
        set.field = field;
        set.compact = &compact_[at++];
      }
    }
  }

  // Brings one cell to the form of the log. `expected` is set when it cannot be.
  Cell make_cell(const Plan& plan, ColumnPlan& column, const TableRow& row, const SetOfRow& set,
                 const char*& expected) {
    Cell cell;
    if (column.fields.empty() && column.star.empty()) return {column.text, column.text, kNoField, true};
    bool decimal_comma = plan.form.decimal_comma;
    CellKind of_cell = CellKind::text;
    if (!column.star.empty()) {
      const std::size_t field = column.star[set.run];
      if (field != kNoField) {
        cell.text = row.field(field);
        cell.log_form = row.typed(field);
        of_cell = row.kind(field);
        cell.field = field;
      }
    } else if (column.fields.size() == 1 && !column.heading) {
      const std::size_t field = column.fields[0];
      cell.text = value(plan, row, field);
      cell.log_form = typed(plan, row, field);
      of_cell = kind(plan, row, field);
      cell.field = field;
    } else {
      column.text.clear();
      cell.log_form = true;
      for (const std::size_t field : column.fields) {
        const std::string_view part =
            field == kHeading ? std::string_view(set.field == kNoField ? std::string_view() : plan.headers[set.field])
                              : trimmed(value(plan, row, field));
        if (part.empty()) continue;
        if (!column.text.empty()) column.text += column.join;
        column.text += part;
        cell.log_form = cell.log_form && field != kHeading && typed(plan, row, field);
        if (cell.field == kNoField) cell.field = field == kHeading ? set.field : field;
      }
      cell.text = column.text;
    }
    decimal_comma = decimal_comma && !cell.log_form;
    cell.shown = cell.text;
    if (!column.values.empty()) {
      auto found = column.values.find(std::string(cell.text));
      if (found == column.values.end()) {
        found = column.lower_values.find(lower_case(trimmed(cell.text)));
        if (found == column.lower_values.end()) found = column.values.end();
      }
      if (found != column.values.end()) {
        cell.text = found->second;
        cell.log_form = true;
        return cell;
      }
    }
    if (trimmed(cell.text).empty()) {
      if (column.blank) {
        cell.text = *column.blank;
        cell.log_form = true;
      }
      return cell;
    }
    switch (column.form) {
      case CellForm::plain:
        // A day without a format of its own is a bare number.
        if (column.column == LogColumn::date && of_cell == CellKind::number) {
          const auto number = parse_number(cell.text, false);
          const auto day = number && *number >= 1000 ? source_.day_of_serial(*number) : std::nullopt;
          if (day) {
            column.as_log = *day;
            cell.text = column.as_log;
            if (!serials_told_) {
              serials_told_ = true;
              summary_.found.push_back(row.place(cell.field) + ": the number " + printable(cell.shown) +
                                       " is read as the day " + printable(*day));
            }
          }
        }
        return cell;
      case CellForm::rpe: {
        const auto reserve = reserve_of_rpe(cell.text, decimal_comma);
        if (!reserve) expected = "an RPE from 1 to 10 in halves";
        column.as_log = reserve.value_or("");
        break;
      }
      case CellForm::minutes: {
        const auto minutes = parse_number(cell.text, decimal_comma);
        if (!minutes) expected = "a number of minutes";
        column.as_log = minutes ? number_text(*minutes * 60) : "";
        break;
      }
      case CellForm::clock: {
        const auto seconds = parse_clock(trimmed(cell.text));
        if (!seconds) expected = "a rest such as 2:30";
        column.as_log = seconds ? number_text(*seconds) : "";
        break;
      }
    }
    cell.text = column.as_log;
    cell.log_form = true;
    return cell;
  }

  // Puts what a cell of sets says over the row's own columns. `expected` is set when its effort is none.
  void put_compact(const Plan& plan, const TableRow& row, const SetOfRow& set, Cells& cells, const char*& expected) {
    const CompactSet& one = *set.compact;
    const auto put = [&](LogColumn column, std::string_view text, bool log_form) {
      cells[static_cast<std::size_t>(column)] = {text, one.text, set.field, log_form};
    };
    const bool as_log = row.typed(set.field);
    put(LogColumn::reps, one.reps, as_log);
    if (!one.load.empty()) put(LogColumn::load, one.load, as_log);
    if (one.failed) put(LogColumn::failed, "1", true);
    if (!one.effort.empty()) {
      compact_effort_ = one.effort;
      if (plan.form.decimal_comma && !as_log) std::replace(compact_effort_.begin(), compact_effort_.end(), ',', '.');
      if (one.effort_is_rpe) {
        const auto reserve = reserve_of_rpe(compact_effort_, false);
        if (!reserve) expected = "an RPE from 1 to 10 in halves";
        compact_effort_ = reserve.value_or("");
      }
      put(LogColumn::called_reserve, compact_effort_, true);
    }
    if (!one.note.empty()) {
      compact_note_ = trimmed(cells[static_cast<std::size_t>(LogColumn::note)].text);
      compact_note_ += (compact_note_.empty() ? "" : "; ") + one.note;
      put(LogColumn::note, compact_note_, true);
    }
  }

  // First pass: takes the order of day and month from the dates themselves, or says that they do not tell.
  Result<void> decide_date_order() {
    constexpr std::array<DateOrder, 3> kOrders{DateOrder::dmy, DateOrder::mdy, DateOrder::ymd};
    constexpr std::array<std::string_view, 3> kWords{"day first", "month first", "year first"};
    const auto reader = source_.start(options_.mapping, progress());
    if (!reader) return tl::unexpected<Error>(reader.error());
    TableRow row;
    at_end_ = false;
    auto plan = begin(**reader, row);
    if (!plan) return tl::unexpected<Error>(plan.error());
    ColumnPlan* dates = nullptr;
    for (ColumnPlan& column : plan->columns) {
      if (column.column == LogColumn::date) dates = &column;
    }
    std::array<std::string, 3> against;  // what rules each order out
    std::string undecided;               // a date that needs an order
    std::vector<Fault> ignored;
    auto read = each_row(**reader, row, [&](const TableRow& each) {
      if (!each.faults().empty() || all_blank(each) || each.size() != plan->headers.size()) return;
      fill(*plan, each);
      if (dropping_rule(*plan, each) != nullptr) return;
      ignored.clear();
      sets_of(*plan, each, ignored);
      for (const SetOfRow& set : sets_) {
        const char* expected = nullptr;
        const Cell cell = make_cell(*plan, *dates, each, set, expected);
        if (cell.log_form) continue;
        const auto parts = split_date(cell.text);
        if (!parts || !needs_order(*parts)) continue;
        std::array<bool, 3> possible{};
        for (std::size_t i = 0; i < kOrders.size(); ++i) {
          possible[i] = date_in_order(*parts, kOrders[i], options_.today).has_value();
        }
        if (std::none_of(possible.begin(), possible.end(), [](bool yes) { return yes; }))
          continue;  // a fault of the row
        const std::string place = each.place(cell.field);
        const std::string where = (place.empty() ? "line " + std::to_string(each.line()) : printable(place, 120)) +
                                  ": " + in_quotes(trimmed(cell.text));
        if (undecided.empty()) undecided = where;
        for (std::size_t i = 0; i < kOrders.size(); ++i) {
          if (!possible[i] && against[i].empty()) against[i] = where;
        }
      }
    });
    if (!read) return read;
    summary_.found.clear();
    serials_told_ = false;
    if (undecided.empty()) {
      date_order_ = DateOrder::ymd;
      return {};
    }
    std::vector<std::size_t> left;
    for (std::size_t i = 0; i < kOrders.size(); ++i) {
      if (against[i].empty()) left.push_back(i);
    }
    if (left.empty()) {
      return fail(Code::invalid_input, "the dates do not agree on one order: " + against[0] + " cannot be day first, " +
                                           against[1] +
                                           " cannot be month first. Correct the file, or set date_order "
                                           "in the mapping to have the others listed as faults");
    }
    if (left.size() > 1) {
      std::string choices;
      std::string answers;
      for (const std::size_t i : left) {
        choices += (choices.empty() ? "" : " or ") + std::string(kWords[i]);
        answers += (answers.empty() ? "\"" : " or \"") + std::string(date_order_name(kOrders[i])) + "\"";
      }
      return fail(Code::invalid_input, "the dates can be read " + choices + " (" + undecided +
                                           ") and no date in the file decides it: set date_order = " + answers +
                                           " in the mapping");
    }
    date_order_ = kOrders[left[0]];
    const std::string& why = against[left[0] == 0 ? 1 : 0];
    summary_.found.push_back("dates are read " + std::string(kWords[left[0]]) + ", because of " + why);
    return {};
  }

  Result<void> read_rows(const SetSink& sink) {
    const auto started = source_.start(options_.mapping, progress());
    if (!started) return tl::unexpected<Error>(started.error());
    TableReader& reader = **started;
    TableRow row;
    at_end_ = false;
    auto made = begin(reader, row);
    if (!made) return tl::unexpected<Error>(made.error());
    Plan& plan = *made;
    if (date_order_ != DateOrder::undecided) plan.form.date_order = date_order_;
    const bool decimal_comma = plan.form.decimal_comma;
    RowParser parser(options_, plan.form);
    for (const auto& [field, name] : plan.extra) {
      if (!plan.headers[field].empty()) summary_.kept_as_notes.push_back(name);
    }
    Cells cells{};
    std::vector<Fault> faults;
    std::vector<Fault> remarks;
    std::vector<LoggedSet> of_row;
    auto read = each_row(reader, row, [&](const TableRow& each) {
      if (all_blank(each)) return;
      ++summary_.rows;
      if (each.cut_short()) summary_.cut_short = true;
      if (!each.faults().empty()) {
        ++summary_.bad_rows;
        for (const CellFault& fault : each.faults()) {
          add_fault({fault.line, field_label(plan, fault.column), "", "", fault.problem, each.place(fault.column)});
        }
        return;
      }
      // Not even blank fields may be left over: a stray separator would shift the row's values unseen.
      if (each.size() != plan.headers.size()) {
        ++summary_.bad_rows;
        std::string problem =
            count_text(each.size(), "column") + " where the header has " + std::to_string(plan.headers.size());
        if (each.size() > plan.headers.size()) {
          problem += std::string(": a text with ") + (reader.delimiter() == '\t' ? "a tab" : "\"") +
                     (reader.delimiter() == '\t' ? "" : std::string(1, reader.delimiter()) + "\"") +
                     " in it must stand in quotes";
        }
        add_fault({each.line(), "", "", "", std::move(problem), ""});
        return;
      }
      fill(plan, each);
      if (const RulePlan* rule = dropping_rule(plan, each)) {
        ++plan.dropped[rule->counter].rows;
        return;
      }
      faults.clear();
      remarks.clear();
      of_row.clear();
      sets_of(plan, each, faults);
      if (sets_.empty() && faults.empty()) {
        ++plan.dropped.back().rows;
        return;
      }
      int repeats = 1;
      if (plan.repeat) {
        const std::string_view text = value(plan, each, *plan.repeat);
        const auto whole = parse_whole(text, decimal_comma && !typed(plan, each, *plan.repeat));
        repeats = whole.value_or(0);
        if (repeats < 1 || repeats > kMostRepeats) {
          faults.push_back({each.line(), field_label(plan, *plan.repeat), printable(trimmed(text)),
                            "a number of sets from 1 to " + std::to_string(kMostRepeats), "",
                            each.place(*plan.repeat)});
        }
      }
      std::size_t previews = 0;
      for (const SetOfRow& one : sets_) {
        cells = {};
        for (ColumnPlan& column : plan.columns) {
          const char* expected = nullptr;
          const auto place = static_cast<std::size_t>(column.column);
          if (!column.star.empty() && column.star[one.run] != kNoField) {
            parser.form().labels[place] = field_label(plan, column.star[one.run]);
          }
          cells[place] = make_cell(plan, column, each, one, expected);
          if (expected != nullptr) {
            faults.push_back({each.line(), parser.form().labels[place], printable(trimmed(cells[place].shown)),
                              expected, "", each.place(cells[place].field)});
          }
        }
        if (one.compact != nullptr) {
          const char* expected = nullptr;
          put_compact(plan, each, one, cells, expected);
          if (expected != nullptr) {
            faults.push_back({each.line(), field_label(plan, one.field), printable(one.compact->text), expected, "",
                              each.place(one.field)});
          }
        }
        LoggedSet& set = of_row.emplace_back();
        if (!parser.parse(cells, each, set, faults, remarks)) continue;
        if (each.of_sheet())
          set.place = each.place(one.field != kNoField ? one.field
                                                       : cells[static_cast<std::size_t>(LogColumn::exercise)].field);
        for (const auto& [field, name] : plan.extra) {
          const std::string_view text = each.field(field);
          if (!text.empty()) set.set.extra.emplace_back(name, text);
        }
        if (summary_.previews.size() < options_.most_previews) {
          summary_.previews.push_back(preview(plan, each, one, cells, set));
          ++previews;
        }
      }
      if (!faults.empty()) {
        ++summary_.bad_rows;
        // The same cell may be behind several sets of the row.
        for (std::size_t i = 0; i < faults.size(); ++i) {
          if (std::find(faults.begin(), faults.begin() + static_cast<std::ptrdiff_t>(i), faults[i]) ==
              faults.begin() + static_cast<std::ptrdiff_t>(i)) {
            add_fault(faults[i]);
          }
        }
        summary_.previews.resize(summary_.previews.size() - previews);
        return;
      }
      for (Fault& remark : remarks) {
        ++summary_.remark_count;
        if (summary_.remarks.size() < options_.most_faults) summary_.remarks.push_back(std::move(remark));
      }
      summary_.sets += static_cast<std::uint64_t>(repeats) * of_row.size();
      if (!sink) return;
      for (LoggedSet& set : of_row) {
        for (int i = 1; i < repeats; ++i) sink(LoggedSet(set));
        sink(std::move(set));
      }
    });
    if (!read) return read;
    for (std::string& line : reader.found()) summary_.found.push_back(std::move(line));
    summary_.unknown_exercises = parser.take_unknown();
    const bool by_sets = !plan.set_fields.empty() || !plan.runs.empty();
    if (by_sets && plan.dropped.back().rows == 0) plan.dropped.pop_back();
    summary_.dropped = std::move(plan.dropped);
    return {};
  }

  SetPreview preview(const Plan& plan, const TableRow& row, const SetOfRow& set, const Cells& cells,
                     const LoggedSet& logged) const {
    SetPreview out;
    out.place = row.of_sheet() ? logged.place : "line " + std::to_string(row.line());
    out.logged = logged;
    std::vector<std::size_t> shown;
    for (const ColumnPlan& column : plan.columns) {
      const Cell& cell = cells[static_cast<std::size_t>(column.column)];
      for (std::size_t field : column.fields.empty() ? std::vector<std::size_t>{cell.field} : column.fields) {
        if (field == kHeading) field = set.field;
        if (field == kNoField || std::find(shown.begin(), shown.end(), field) != shown.end()) continue;
        shown.push_back(field);
      }
    }
    std::sort(shown.begin(), shown.end());
    for (const std::size_t field : shown) {
      if (set.compact != nullptr && field == set.field) {
        out.cells.push_back(set.compact->text);
        continue;
      }
      const std::string text = printable(trimmed(value(plan, row, field)), 40);
      if (!text.empty()) out.cells.push_back(text);
    }
    if (set.compact != nullptr && std::find(shown.begin(), shown.end(), set.field) == shown.end()) {
      out.cells.push_back(set.compact->text);
    }
    return out;
  }

  struct Filled {
    std::string text;
    bool typed = false;
    CellKind kind = CellKind::empty;
  };

  TableSource& source_;
  const ReadLogOptions& options_;
  LogSummary summary_;
  DateOrder date_order_ = DateOrder::undecided;
  bool at_end_ = false;
  int pass_ = 0;
  int passes_ = 1;
  std::vector<Filled> filled_;
  std::string filled_sheet_;
  std::vector<SetOfRow> sets_;
  std::vector<CompactSet> compact_;
  std::string compact_effort_, compact_note_;
  bool serials_told_ = false;
};

}  // namespace

Result<LogSummary> read_log(TableSource& source, const ReadLogOptions& options, const SetSink& sink) {
  return LogReading(source, options).run(sink);
}

Result<LogSummary> read_log(ByteSource& source, const ReadLogOptions& options, const SetSink& sink) {
  CsvTable table(source);
  return read_log(table, options, sink);
}

}  // namespace ullage::interchange
