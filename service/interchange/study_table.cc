#include "service/interchange/study_table.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "service/interchange/cell_text.h"
#include "service/interchange/csv_reader.h"
#include "service/interchange/mapping_reader.h"
#include "service/interchange/table_header.h"

namespace ullage::interchange {
namespace {

constexpr std::array<std::string_view, kStudyColumnCount> kNames = {
    "study",     "group",   "effect_id", "label",       "better",    "effect",    "variance", "se",
    "ci_lo",     "ci_hi",   "n1",        "mean1",       "sd1",       "se1",       "n2",       "mean2",
    "sd2",       "se2",     "events1",   "events2",     "n",         "pre_mean",  "pre_sd",   "pre_se",
    "post_mean", "post_sd", "post_se",   "change_mean", "change_sd", "change_se", "change_t", "r"};
constexpr std::uint64_t kMostStudyRows = 200000;
constexpr double kLargeDifference = 5;  // standard deviations; beyond it an se is likely to stand where the sd should

using C = StudyColumn;

// One column to be filled: from fields of the row, or a constant.
struct Source {
  std::string name, label;
  std::optional<StudyColumn> column;  // none: a moderator
  std::vector<std::size_t> fields;
  std::string join = " ", constant;
  std::optional<std::string> blank;
  std::map<std::string, std::string> values;  // in lower case
};

std::string text_of(const Source& source, const TableRow& row) {
  if (source.fields.empty()) return source.constant;
  std::string text;
  for (const std::size_t field : source.fields) {
    const std::string_view part = field < row.size() ? trimmed(row.field(field)) : std::string_view();
    if (part.empty()) continue;
    if (!text.empty()) text += source.join;
    text += part;
  }
  if (const auto value = source.values.find(lower_case(text)); value != source.values.end()) text = value->second;
  if (text.empty() && source.blank) text = *source.blank;
  return text;
}

bool missing_word(const std::string& text) {
  const std::string lower = lower_case(text);
  return lower.empty() || lower == "na" || lower == "nan" || lower == "-" || lower == "." || lower == "n/a";
}

class Checker {
 public:
  Checker(StudyTable& table, StudyRow& row, const std::vector<std::string>& labels)
      : table_(table), row_(row), labels_(labels) {}

  void run() {
    for (const C n : {C::n1, C::n2, C::n}) {
      if (const auto value = row_.number(n); value && (*value < 2 || *value != std::floor(*value)))
        fault(n, *value, "a whole number of 2 or more people");
    }
    for (const C sd : {C::sd1, C::sd2, C::pre_sd, C::post_sd, C::change_sd, C::se1, C::se2, C::pre_se, C::post_se,
                       C::change_se, C::se, C::variance}) {
      if (const auto value = row_.number(sd); value && !(*value > 0)) fault(sd, *value, "above 0");
    }
    if (const auto r = row_.number(C::r); r && !(*r > -1 && *r < 1)) fault(C::r, *r, "between -1 and 1");
    events(C::events1, C::n1);
    events(C::events2, C::n2);
    interval();
    sides();
    large();
  }

 private:
  const std::string& label(C column) const { return labels_[static_cast<std::size_t>(column)]; }
  void fault(C column, double value, const std::string& expected) {
    table_.faults.push_back({row_.line, label(column), number_text(value), expected, ""});
    row_.bad = true;
  }
  void problem(C column, const std::string& what) {
    table_.faults.push_back({row_.line, label(column), "", "", what});
    row_.bad = true;
  }
  void remark(C column, const std::string& what) { table_.remarks.push_back({row_.line, label(column), "", "", what}); }

  void events(C events, C n) {
    const auto value = row_.number(events), most = row_.number(n);
    if (value && (*value < 0 || (most && *value > *most))) fault(events, *value, "from 0 to " + label(n));
  }

  void interval() {
    const auto low = row_.number(C::ci_lo), high = row_.number(C::ci_hi), effect = row_.number(C::effect);
    if (low && high && !(*low < *high)) return problem(C::ci_lo, "the interval's lower end is not below its upper end");
    if (effect && ((low && *effect < *low) || (high && *effect > *high)))
      return problem(C::effect, "the effect " + number_text(*effect) + " lies outside its own interval");
    const auto se = row_.number(C::se);
    if (se && low && high && *se > 0) {
      const double fits = (*high - *low) / (2 * 1.959964);
      if (*se < fits / 1.5 || *se > fits * 1.5)
        remark(C::se, "the standard error does not fit the interval, which is that of about " +
                          number_text(std::round(fits * 1000) / 1000));
    }
  }

  // Effect and means must point the same way.
  void sides() {
    const auto effect = row_.number(C::effect);
    const auto differ = [&](std::optional<double> a, std::optional<double> b, C column, const char* words) {
      if (effect && a && b && *effect * (*a - *b) < 0)
        problem(column, std::string("the effect ") + number_text(*effect) + " is on the other side than " + words);
    };
    differ(row_.number(C::mean1), row_.number(C::mean2), C::effect, "the first mean less the second");
    differ(row_.number(C::post_mean), row_.number(C::pre_mean), C::effect, "the mean after less that before");
    const auto change = row_.number(C::change_mean), pre = row_.number(C::pre_mean), post = row_.number(C::post_mean);
    if (change && pre && post && *change * (*post - *pre) < 0)
      problem(C::change_mean,
              "the change " + number_text(*change) + " is on the other side than the means before and after");
  }

  void large() {
    const auto beyond = [&](C a, C b, C sd) {
      const auto x = row_.number(a), y = row_.number(b), s = row_.number(sd);
      if (x && y && s && *s > 0 && std::abs(*x - *y) > kLargeDifference * *s)
        remark(sd, "the means differ by more than 5 of these: is it a standard error?");
    };
    beyond(C::mean1, C::mean2, C::sd2);
    beyond(C::post_mean, C::pre_mean, C::pre_sd);
  }

  StudyTable& table_;
  StudyRow& row_;
  const std::vector<std::string>& labels_;
};

Result<std::vector<Source>> plan_open(const std::vector<std::string>& headers) {
  std::vector<Source> sources;
  bool known = false;
  for (std::size_t i = 0; i < headers.size(); ++i) {
    if (headers[i].empty()) continue;
    Source s;
    s.column = parse_study_column(headers[i]);
    s.name = s.column ? std::string(study_column_name(*s.column)) : headers[i];
    s.label = headers[i];
    s.fields = {i};
    known = known || s.column;
    for (const Source& other : sources) {
      if (other.name == s.name)
        return fail(Code::invalid_input, "the header has " + in_quotes(s.name) + " twice: rename or remove one");
    }
    sources.push_back(std::move(s));
  }
  if (!known)
    return fail(Code::invalid_input,
                "the first row names none of the study table's columns (it has: " + header_list(headers) +
                    "): a table with other names is read through --mapping");
  return sources;
}

Result<std::vector<Source>> plan_mapped(const std::vector<std::string>& headers, const StudyMapping& mapping) {
  std::vector<Source> sources;
  std::vector<bool> used(headers.size());
  for (const auto& [name, from] : mapping.columns) {
    Source s;
    s.name = name;
    s.column = parse_study_column(name);
    s.join = from.join;
    for (const std::string& column : from.columns) {
      const auto field = find_field(headers, column);
      if (!field) return tl::unexpected(field.error());
      s.fields.push_back(*field);
      used[*field] = true;
      s.label += (s.label.empty() ? "" : " + ") + headers[*field];
    }
    if (const auto blank = mapping.blanks.find(name); blank != mapping.blanks.end()) s.blank = blank->second;
    if (const auto values = mapping.values.find(name); values != mapping.values.end()) {
      for (const auto& [word, text] : values->second) s.values[lower_case(trimmed(word))] = text;
    }
    sources.push_back(std::move(s));
  }
  for (const auto& [name, text] : mapping.constants) {
    Source s;
    s.name = s.label = name;
    s.column = parse_study_column(name);
    s.constant = text;
    sources.push_back(std::move(s));
  }
  for (std::size_t i = 0; mapping.file.keep_other_columns && i < headers.size(); ++i) {
    if (used[i] || headers[i].empty()) continue;
    Source s;
    s.name = s.label = headers[i];
    s.fields = {i};
    const bool taken =
        parse_study_column(headers[i]).has_value() ||
        std::any_of(sources.begin(), sources.end(), [&](const Source& o) { return o.name == headers[i]; });
    if (!taken) sources.push_back(std::move(s));
  }
  return sources;
}

}  // namespace

std::string_view study_column_name(StudyColumn column) { return kNames[static_cast<std::size_t>(column)]; }

std::optional<StudyColumn> parse_study_column(std::string_view text) {
  std::string name = lower_case(trimmed(text));
  for (char& c : name) {
    if (c == ' ' || c == '-') c = '_';
  }
  for (std::size_t i = 0; i < kNames.size(); ++i) {
    if (kNames[i] == name) return static_cast<StudyColumn>(i);
  }
  return std::nullopt;
}

Result<StudyMapping> parse_study_mapping(std::string_view toml) {
  const auto root = read_toml(toml);
  if (!root)
    return fail(Code::invalid_input,
                "mapping, line " + std::to_string(root.error().line) + ": " + printable(root.error().problem, 200));
  StudyMapping mapping;
  MappingReader reader;
  for (const auto& [key, node] : *root) {
    const std::string name(key.str());
    if (name == "name") {
      mapping.file.name = reader.only_text(node, name);
    } else if (name == "keep" || name == "drop") {
      read_rules(reader, node, name, name == "keep" ? mapping.file.keep : mapping.file.drop);
    } else if (name == "file") {
      if (const auto* table = reader.table(node, name)) read_file_keys(reader, *table, mapping.file, false);
    } else if (name == "columns" || name == "constants" || name == "blanks" || name == "values") {
      const auto* table = reader.table(node, name);
      if (table == nullptr) continue;
      for (const auto& [inner_key, inner] : *table) {
        const std::string column(inner_key.str()), where = name + "." + column;
        if (name == "constants") mapping.constants[column] = reader.text(inner, where);
        if (name == "blanks") mapping.blanks[column] = reader.text(inner, where);
        if (name == "values") {
          if (const auto* values = reader.table(inner, where)) {
            for (const auto& [word, text] : *values)
              mapping.values[column][std::string(word.str())] =
                  reader.text(text, where + "." + std::string(word.str()));
          }
        }
        if (name != "columns") continue;
        ColumnSource& source = mapping.columns[column];
        if (const auto* inside = inner.as_table()) {
          for (const auto& [what, value] : *inside) {
            const std::string at = where + "." + std::string(what.str());
            if (what == "column" || what == "columns")
              source.columns = reader.texts(value, at);
            else if (what == "join")
              source.join = reader.only_text(value, at);
            else
              reader.wrong(value, at, "is not a key of a study table's column (columns, join)");
          }
          if (source.columns.empty()) reader.wrong(inner, where, "must name a column");
        } else {
          source.columns = reader.texts(inner, where);
        }
      }
    } else {
      reader.wrong(node, name, "is not a key of a mapping (file, columns, constants, blanks, values, keep, drop)");
    }
  }
  if (!reader.ok()) return fail(Code::invalid_input, reader.problem());
  for (const auto& [column, text] : mapping.constants) {
    if (mapping.columns.contains(column))
      return fail(Code::invalid_input,
                  "the mapping has both a column and a constant for " + column + ": for blank cells use [blanks]");
  }
  for (const auto& [column, values] : mapping.values) {
    if (!mapping.columns.contains(column))
      return fail(Code::invalid_input, "the mapping has [values." + column + "], but no column for it");
  }
  return mapping;
}

Result<StudyTable> read_study_table(ByteSource& source, const StudyMapping* mapping) {
  CsvOptions csv;
  if (mapping) {
    csv.delimiter = mapping->file.delimiter;
    csv.encoding = mapping->file.encoding;
  }
  CsvReader reader(source, csv);
  TableRow row;
  const int header_row = mapping ? std::max(mapping->file.header_row, 1) : 1,
            skip = mapping ? mapping->file.skip_rows : 0;
  for (int i = 0; i < header_row; ++i) {
    const auto more = reader.next(row);
    if (!more) return tl::unexpected(more.error());
    if (!*more) return fail(Code::invalid_input, "the study table is empty: a header line was expected");
  }
  if (!row.faults().empty()) {
    const CellFault& fault = row.faults().front();
    return fail(Code::invalid_input,
                fault_text({fault.line, place_name(fault.column), "", "", fault.problem, ""}) + " (in the header)");
  }
  const std::vector<std::string> headers = header_names(row);
  auto sources = mapping ? plan_mapped(headers, *mapping) : plan_open(headers);
  if (!sources) return tl::unexpected(sources.error());

  StudyTable table;
  table.present.assign(kStudyColumnCount, false);
  std::vector<std::string> labels;
  for (const std::string_view name : kNames) labels.emplace_back(name);
  for (const Source& s : *sources) {
    if (!s.column) {
      table.moderators.push_back(s.name);
      continue;
    }
    table.present[static_cast<std::size_t>(*s.column)] = true;
    labels[static_cast<std::size_t>(*s.column)] = s.label;
  }
  struct Rule {
    std::size_t field;
    std::vector<std::string> values;
    bool keep;
  };
  std::vector<Rule> rules;
  for (const bool keep : {true, false}) {
    if (!mapping) break;
    for (const RowRule& rule : keep ? mapping->file.keep : mapping->file.drop) {
      const auto field = find_field(headers, rule.column);
      if (!field) return tl::unexpected(field.error());
      Rule to{*field, {}, keep};
      for (const std::string& value : rule.values) to.values.push_back(lower_case(trimmed(value)));
      rules.push_back(std::move(to));
      table.dropped.push_back({rule_text(rule, keep), 0});
    }
  }
  const bool comma = mapping && mapping->file.decimal_comma;

  for (int skipped = 0;;) {
    const auto more = reader.next(row);
    if (!more) return tl::unexpected(more.error());
    if (!*more) break;
    if (skipped < skip) {
      ++skipped;
      continue;
    }
    if (++table.read > kMostStudyRows)
      return fail(Code::invalid_input, "a study table may have " + std::to_string(kMostStudyRows) + " rows at most");
    bool wanted = true;
    for (std::size_t i = 0; i < rules.size() && wanted; ++i) {
      const std::string cell = rules[i].field < row.size() ? lower_case(trimmed(row.field(rules[i].field))) : "";
      const bool meets = std::find(rules[i].values.begin(), rules[i].values.end(), cell) != rules[i].values.end();
      wanted = meets == rules[i].keep;
      if (!wanted) ++table.dropped[i].rows;
    }
    if (!wanted) continue;
    StudyRow out;
    out.line = row.line();
    out.words.assign(kStudyWords, "");
    out.numbers.assign(kStudyColumnCount - kStudyWords, std::nullopt);
    for (const CellFault& f : row.faults()) {
      table.faults.push_back({f.line, f.column < headers.size() ? headers[f.column] : "", "", "", f.problem});
      out.bad = true;
    }
    for (const Source& s : *sources) {
      std::string text = text_of(s, row);
      if (!s.column) {
        out.moderators.push_back(missing_word(text) ? "" : std::move(text));
        continue;
      }
      const auto at = static_cast<std::size_t>(*s.column);
      if (at < kStudyWords) {
        out.words[at] = std::move(text);
        continue;
      }
      if (missing_word(text)) continue;
      const auto number = parse_number(text, comma);
      if (number && std::isfinite(*number)) {
        out.numbers[at - kStudyWords] = *number;
      } else {
        table.faults.push_back({out.line, s.label, text, std::string(number_expected(text, comma)), ""});
        out.bad = true;
      }
    }
    if (const std::string& better = out.word(C::better); !better.empty() && better != "more" && better != "less") {
      table.faults.push_back({out.line, labels[static_cast<std::size_t>(C::better)], better, "more or less", ""});
      out.bad = true;
    }
    Checker(table, out, labels).run();
    table.rows.push_back(std::move(out));
  }
  return table;
}

}  // namespace ullage::interchange
