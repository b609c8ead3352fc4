#include "service/interchange/read_log.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <unordered_map>
#include <utility>

#include "service/interchange/cell_text.h"
#include "service/interchange/csv_reader.h"
#include "service/interchange/log_columns.h"
#include "service/interchange/row_parser.h"

namespace ullage::interchange {
namespace {

constexpr std::string_view kEscape = "extra:";
constexpr int kMostRepeats = 50;

std::string quoted(std::string_view text) { return "\"" + printable(text) + "\""; }
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
};

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
  RowForm form;
  std::vector<DroppedRows> dropped;
};

// A column called by its place: #3.
std::string place_name(std::size_t field) {
  std::string name("#");
  name += std::to_string(field + 1);
  return name;
}

std::string field_label(const Plan& plan, std::size_t field) {
  if (field < plan.headers.size() && !plan.headers[field].empty()) return plan.headers[field];
  return place_name(field);
}

std::vector<std::string> header_names(const CsvRow& row) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < row.size(); ++i) names.emplace_back(trimmed(row.field(i)));
  return names;
}

std::string header_list(const std::vector<std::string>& headers) {
  std::string text;
  std::size_t size = headers.size();
  while (size > 0 && headers[size - 1].empty()) --size;
  for (std::size_t i = 0; i < size && i < 20; ++i) {
    text += (text.empty() ? "" : ", ") + (headers[i].empty() ? place_name(i) : printable(headers[i]));
  }
  return size > 20 ? text + ", ..." : text;
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

// Place of a column that a mapping names: by its header, or as #3.
Result<std::size_t> find_field(const std::vector<std::string>& headers, const std::string& name) {
  std::vector<std::size_t> places;
  for (std::size_t i = 0; i < headers.size(); ++i) {
    if (headers[i] == name && !name.empty()) places.push_back(i);
  }
  if (places.empty()) {
    for (std::size_t i = 0; i < headers.size(); ++i) {
      if (!name.empty() && lower_case(headers[i]) == lower_case(trimmed(name))) places.push_back(i);
    }
  }
  if (places.size() > 1) {
    return fail(Code::invalid_input, "the table has the column " + quoted(name) + " twice (columns " +
                                         std::to_string(places[0] + 1) + " and " + std::to_string(places[1] + 1) +
                                         "): name it by its place in the mapping, such as " + place_name(places[0]));
  }
  if (places.size() == 1) return places[0];
  if (name.size() > 1 && name[0] == '#') {
    const auto place = parse_whole(std::string_view(name).substr(1), false);
    if (place && *place >= 1 && static_cast<std::size_t>(*place) <= headers.size()) {
      return static_cast<std::size_t>(*place) - 1;
    }
  }
  return fail(Code::invalid_input, "the mapping names a column " + quoted(name) +
                                       " that the table does not have (it has: " + header_list(headers) + ")");
}

std::string rule_text(const RowRule& rule, bool keep) {
  std::string values;
  for (const std::string& value : rule.values) {
    values += (values.empty() ? "" : ", ") + (value.empty() ? std::string("blank") : quoted(value));
  }
  const char* verb = rule.values.size() > 1 ? (keep ? " is none of " : " is one of ") : (keep ? " is not " : " is ");
  return printable(rule.column) + verb + values;
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
  for (std::size_t i = 0; i < kLogColumnCount; ++i) {
    const auto column = static_cast<LogColumn>(i);
    const std::string name(log_column_name(column));
    plan.form.labels[i] = name;
    const auto source = mapping.columns.find(column);
    const auto constant = mapping.constants.find(column);
    if (source == mapping.columns.end() && constant == mapping.constants.end()) {
      const bool needed = column == LogColumn::date || column == LogColumn::exercise || column == LogColumn::load ||
                          column == LogColumn::reps || (column == LogColumn::lifter && options.lifter.empty());
      if (needed) missing += (missing.empty() ? "" : ", ") + name;
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
  if (load == mapping.columns.end()) plan.form.load_unit = Unit::kilogram;  // a constant, as in a log
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
  LogReading(ByteSource& source, const ReadLogOptions& options) : source_(source), options_(options) {}

  Result<LogSummary> run(const SetSink& sink) {
    const bool two_passes = options_.mapping != nullptr && options_.mapping->date_order == DateOrder::undecided &&
                            options_.mapping->columns.count(LogColumn::date) > 0;
    passes_ = two_passes ? 2 : 1;
    if (two_passes) {
      if (auto decided = decide_date_order(); !decided) return tl::unexpected<Error>(decided.error());
      if (auto rewound = source_.rewind(); !rewound) return tl::unexpected<Error>(rewound.error());
      pass_ = 1;
    }
    if (auto read = read_rows(sink); !read) return tl::unexpected<Error>(read.error());
    return std::move(summary_);
  }

 private:
  CsvOptions csv_options() const {
    CsvOptions csv;
    if (options_.mapping != nullptr) {
      csv.delimiter = options_.mapping->delimiter;
      csv.encoding = options_.mapping->encoding;
    }
    return csv;
  }

  Progress progress() const {
    if (!options_.progress) return {};
    return [this](std::uint64_t done, std::uint64_t total) {
      return options_.progress(done + static_cast<std::uint64_t>(pass_) * total,
                               total * static_cast<std::uint64_t>(passes_));
    };
  }

  // Finds the header and makes the plan. With no header the first row stays in `row`.
  Result<Plan> begin(CsvReader& reader, CsvRow& row) {
    const int header_row = options_.mapping != nullptr ? options_.mapping->header_row : 1;
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
        const CsvFault& fault = row.faults().front();
        return fail(Code::invalid_input,
                    fault_text({fault.line, place_name(fault.column), "", "", fault.problem}) + " (in the header)");
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
    return plan;
  }

  // Calls `use` for each row below the header.
  template <class Use>
  Result<void> each_row(CsvReader& reader, CsvRow& row, Use use) {
    while (!at_end_) {
      use(row);
      if (row.cut_short()) break;
      const auto more = reader.next(row);
      if (!more) return tl::unexpected<Error>(more.error());
      at_end_ = !*more;
    }
    return {};
  }

  static bool all_blank(const CsvRow& row) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (!trimmed(row.field(i)).empty()) return false;
    }
    return row.faults().empty();
  }

  // The rule that leaves this row out.
  static const RulePlan* dropping_rule(const Plan& plan, const CsvRow& row) {
    for (const RulePlan& rule : plan.rules) {
      const std::string value = lower_case(trimmed(row.field(rule.field)));
      const bool met = std::find(rule.values.begin(), rule.values.end(), value) != rule.values.end();
      if (met != rule.keep) return &rule;
    }
    return nullptr;
  }

  void add_fault(Fault fault) {
    ++summary_.fault_count;
    if (summary_.faults.size() < options_.most_faults) summary_.faults.push_back(std::move(fault));
  }

  // Brings one cell to the form of the log. `expected` is set when it cannot be.
  static Cell make_cell(ColumnPlan& plan, const CsvRow& row, bool decimal_comma, const char*& expected) {
    Cell cell;
    if (plan.fields.empty()) return {plan.text, plan.text, true};
    if (plan.fields.size() == 1) {
      cell.text = row.field(plan.fields[0]);
    } else {
      plan.text.clear();
      for (const std::size_t field : plan.fields) {
        const std::string_view part = trimmed(row.field(field));
        if (part.empty()) continue;
        if (!plan.text.empty()) plan.text += plan.join;
        plan.text += part;
      }
      cell.text = plan.text;
    }
    cell.shown = cell.text;
    if (!plan.values.empty()) {
      auto found = plan.values.find(std::string(cell.text));
      if (found == plan.values.end()) {
        found = plan.lower_values.find(lower_case(trimmed(cell.text)));
        if (found == plan.lower_values.end()) found = plan.values.end();
      }
      if (found != plan.values.end()) {
        cell.text = found->second;
        cell.log_form = true;
        return cell;
      }
    }
    if (trimmed(cell.text).empty()) {
      if (plan.blank) {
        cell.text = *plan.blank;
        cell.log_form = true;
      }
      return cell;
    }
    switch (plan.form) {
      case CellForm::plain: return cell;
      case CellForm::rpe: {
        const auto reserve = reserve_of_rpe(cell.text, decimal_comma);
        if (!reserve) expected = "an RPE from 1 to 10 in halves";
        plan.as_log = reserve.value_or("");
        break;
      }
      case CellForm::minutes: {
        const auto minutes = parse_number(cell.text, decimal_comma);
        if (!minutes) expected = "a number of minutes";
        plan.as_log = minutes ? number_text(*minutes * 60) : "";
        break;
      }
      case CellForm::clock: {
        const auto seconds = parse_clock(trimmed(cell.text));
        if (!seconds) expected = "a rest such as 2:30";
        plan.as_log = seconds ? number_text(*seconds) : "";
        break;
      }
    }
    cell.text = plan.as_log;
    cell.log_form = true;
    return cell;
  }

  // First pass: takes the order of day and month from the dates themselves, or says that they do not tell.
  Result<void> decide_date_order() {
    constexpr std::array<DateOrder, 3> kOrders{DateOrder::dmy, DateOrder::mdy, DateOrder::ymd};
    constexpr std::array<std::string_view, 3> kWords{"day first", "month first", "year first"};
    CsvReader reader(source_, csv_options(), progress());
    CsvRow row;
    at_end_ = false;
    auto plan = begin(reader, row);
    if (!plan) return tl::unexpected<Error>(plan.error());
    ColumnPlan* dates = nullptr;
    for (ColumnPlan& column : plan->columns) {
      if (column.column == LogColumn::date) dates = &column;
    }
    std::array<std::string, 3> against;  // what rules each order out
    std::string undecided;               // a date that needs an order
    auto read = each_row(reader, row, [&](const CsvRow& each) {
      if (!each.faults().empty() || all_blank(each) || each.size() != plan->headers.size() ||
          dropping_rule(*plan, each) != nullptr)
        return;
      const char* expected = nullptr;
      const Cell cell = make_cell(*dates, each, false, expected);
      if (cell.log_form) return;
      const auto parts = split_date(cell.text);
      if (!parts || !needs_order(*parts)) return;
      std::array<bool, 3> possible{};
      for (std::size_t i = 0; i < kOrders.size(); ++i) {
        possible[i] = date_in_order(*parts, kOrders[i], options_.today).has_value();
      }
      if (std::none_of(possible.begin(), possible.end(), [](bool yes) { return yes; })) return;  // a fault of the row
      const std::string where = "line " + std::to_string(each.line()) + ": " + quoted(trimmed(cell.text));
      if (undecided.empty()) undecided = where;
      for (std::size_t i = 0; i < kOrders.size(); ++i) {
        if (!possible[i] && against[i].empty()) against[i] = where;
      }
    });
    if (!read) return read;
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
    CsvReader reader(source_, csv_options(), progress());
    CsvRow row;
    at_end_ = false;
    auto made = begin(reader, row);
    if (!made) return tl::unexpected<Error>(made.error());
    Plan& plan = *made;
    if (date_order_ != DateOrder::undecided) plan.form.date_order = date_order_;
    const bool decimal_comma = plan.form.decimal_comma;
    RowParser parser(options_, plan.form);
    if (reader.encoding() != Encoding::utf8) {
      summary_.found.push_back("the text is in " + std::string(encoding_name(reader.encoding())));
    }
    if (reader.delimiter() != ',') {
      summary_.found.push_back("columns are parted by " + (reader.delimiter() == '\t'
                                                               ? std::string("tabs")
                                                               : "\"" + std::string(1, reader.delimiter()) + "\""));
    }
    for (const auto& [field, name] : plan.extra) {
      if (!plan.headers[field].empty()) summary_.kept_as_notes.push_back(name);
    }
    Cells cells{};
    std::vector<Fault> faults;
    std::vector<Fault> remarks;
    auto read = each_row(reader, row, [&](const CsvRow& each) {
      if (all_blank(each)) return;
      ++summary_.rows;
      if (each.cut_short()) summary_.cut_short = true;
      if (!each.faults().empty()) {
        ++summary_.bad_rows;
        for (const CsvFault& fault : each.faults()) {
          add_fault({fault.line, field_label(plan, fault.column), "", "", fault.problem});
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
        add_fault({each.line(), "", "", "", std::move(problem)});
        return;
      }
      if (const RulePlan* rule = dropping_rule(plan, each)) {
        ++plan.dropped[rule->counter].rows;
        return;
      }
      faults.clear();
      remarks.clear();
      for (ColumnPlan& column : plan.columns) {
        const char* expected = nullptr;
        const auto place = static_cast<std::size_t>(column.column);
        cells[place] = make_cell(column, each, decimal_comma, expected);
        if (expected != nullptr) {
          faults.push_back(
              {each.line(), plan.form.labels[place], printable(trimmed(cells[place].shown)), expected, ""});
        }
      }
      int repeats = 1;
      if (plan.repeat) {
        const std::string_view text = each.field(*plan.repeat);
        const auto whole = parse_whole(text, decimal_comma);
        repeats = whole.value_or(0);
        if (repeats < 1 || repeats > kMostRepeats) {
          faults.push_back({each.line(), field_label(plan, *plan.repeat), printable(trimmed(text)),
                            "a number of sets from 1 to " + std::to_string(kMostRepeats), ""});
        }
      }
      LoggedSet set;
      parser.parse(cells, each.line(), set, faults, remarks);
      if (!faults.empty()) {
        ++summary_.bad_rows;
        for (Fault& fault : faults) add_fault(std::move(fault));
        return;
      }
      for (Fault& remark : remarks) {
        ++summary_.remark_count;
        if (summary_.remarks.size() < options_.most_faults) summary_.remarks.push_back(std::move(remark));
      }
      for (const auto& [field, name] : plan.extra) {
        const std::string_view value = each.field(field);
        if (!value.empty()) set.set.extra.emplace_back(name, value);
      }
      summary_.sets += static_cast<std::uint64_t>(repeats);
      if (!sink) return;
      for (int i = 1; i < repeats; ++i) sink(LoggedSet(set));
      sink(std::move(set));
    });
    if (!read) return read;
    summary_.unknown_exercises = parser.take_unknown();
    summary_.dropped = std::move(plan.dropped);
    return {};
  }

  ByteSource& source_;
  const ReadLogOptions& options_;
  LogSummary summary_;
  DateOrder date_order_ = DateOrder::undecided;
  bool at_end_ = false;
  int pass_ = 0;
  int passes_ = 1;
};

}  // namespace

Result<LogSummary> read_log(ByteSource& source, const ReadLogOptions& options, const SetSink& sink) {
  return LogReading(source, options).run(sink);
}

}  // namespace ullage::interchange
