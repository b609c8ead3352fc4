#include "service/interchange/mapping.h"

#include <algorithm>
#include <array>
#include <set>
#include <sstream>
#include <utility>

#include "service/interchange/cell_text.h"
#include "service/interchange/fault.h"
#include "service/interchange/mapping_reader.h"
#include "service/toml/read_toml.h"

namespace ullage::interchange {
namespace {

constexpr std::array<std::string_view, 4> kOrders{"", "ymd", "dmy", "mdy"};
constexpr std::array<std::string_view, 4> kForms{"", "rpe", "minutes", "clock"};
constexpr std::int64_t kMostDays = 40000;

template <std::size_t N>
std::optional<std::size_t> place_of(const std::array<std::string_view, N>& names, std::string_view text) {
  const auto at = std::find(names.begin() + 1, names.end(), text);
  if (at == names.end()) return std::nullopt;
  return static_cast<std::size_t>(at - names.begin());
}

ColumnSource read_source(MappingReader& reader, const toml::node& node, LogColumn column, const std::string& name) {
  ColumnSource source;
  const auto* table = node.as_table();
  if (table == nullptr) {
    source.columns = reader.texts(node, name);
    return source;
  }
  for (const auto& [key, value] : *table) {
    const std::string inner = name + "." + std::string(key.str());
    if (key == "column" || key == "columns") {
      if (!source.columns.empty()) reader.wrong(value, inner, "is given twice");
      source.columns = reader.texts(value, inner);
    } else if (key == "join") {
      source.join = reader.only_text(value, inner);
    } else if (key == "as") {
      const auto form = place_of(kForms, reader.only_text(value, inner));
      source.form = static_cast<CellForm>(form.value_or(0));
      const bool reserve = column == LogColumn::called_reserve || column == LogColumn::cue;
      if (!form ||
          (reserve ? source.form != CellForm::rpe : column != LogColumn::rest_s || source.form == CellForm::rpe)) {
        reader.wrong(value, inner, "must be rpe for called_reserve and cue, minutes or clock for rest_s");
      }
    } else if (key == "unit") {
      const std::string text = reader.only_text(value, inner);
      source.unit_in_cell = text == "cell";
      source.unit = parse_unit(text);
      const bool mass = column == LogColumn::load || column == LogColumn::body_mass;
      if (!mass || (!source.unit && !source.unit_in_cell) ||
          (column == LogColumn::body_mass && source.unit == Unit::mark)) {
        reader.wrong(value, inner, "must be kg, lb, mark or cell for load; kg, lb or cell for body_mass");
      }
    } else {
      reader.wrong(value, inner, "is not a key of a column");
    }
  }
  if (source.columns.empty()) reader.wrong(node, name, "must name a column");
  return source;
}

SetCells read_set_cells(MappingReader& reader, const toml::node& node, const std::string& name) {
  SetCells cells;
  const auto* table = node.as_table();
  if (table == nullptr) {
    cells.columns = reader.texts(node, name);
    return cells;
  }
  for (const auto& [key, value] : *table) {
    const std::string inner = name + "." + std::string(key.str());
    if (key == "column" || key == "columns") {
      cells.columns = reader.texts(value, inner);
    } else if (key == "order") {
      const auto order = parse_set_order(reader.only_text(value, inner));
      if (!order) reader.wrong(value, inner, "must be such as \"load x reps\" or \"sets x reps x load\"");
      if (order) cells.form.order = *order;
    } else if (key == "effort") {
      const std::string text = reader.only_text(value, inner);
      if (text != "rpe" && text != "reserve") reader.wrong(value, inner, "must be rpe or reserve");
      cells.form.effort = text == "rpe" ? CompactForm::Effort::rpe : CompactForm::Effort::reserve;
    } else if (key == "unit") {
      cells.unit = parse_unit(reader.only_text(value, inner));
      if (!cells.unit) reader.wrong(value, inner, "must be kg, lb or mark");
    } else {
      reader.wrong(value, inner, "is not a key of sets");
    }
  }
  if (cells.columns.empty()) reader.wrong(node, name, "must name a column");
  return cells;
}

void read_workbook_keys(MappingReader& reader, const toml::table& table, Mapping& mapping) {
  for (const auto& [key, node] : table) {
    const std::string name = "workbook." + std::string(key.str());
    if (key == "sheets") {
      mapping.workbook.sheets = reader.texts(node, name);
    } else if (key == "skip_sheets") {
      mapping.workbook.skip_sheets = reader.texts(node, name);
    } else if (key == "header_rows") {
      mapping.workbook.header_rows = static_cast<int>(reader.whole(node, name, 1, 5));
    } else if (key == "skip_hidden_rows") {
      mapping.workbook.skip_hidden_rows = reader.yes_no(node, name);
    } else {
      reader.wrong(node, name, "is not a key of [workbook]");
    }
  }
}

void read_values(MappingReader& reader, const toml::table& table, LogColumn column, const std::string& name,
                 Mapping& mapping) {
  for (const auto& [key, node] : table) {
    const std::string inner = name + "." + std::string(key.str());
    const std::string from(key.str());
    if (column == LogColumn::date && node.is_integer()) {
      mapping.date_offsets[from] = static_cast<int>(reader.whole(node, inner, -kMostDays, kMostDays));
    } else {
      mapping.values[column][from] = reader.text(node, inner);
    }
  }
}

void read_all(MappingReader& reader, const toml::table& root, Mapping& mapping) {
  for (const auto& [key, node] : root) {
    const std::string name(key.str());
    if (name == "name") {
      mapping.name = reader.only_text(node, name);
    } else if (name == "keep") {
      read_rules(reader, node, name, mapping.keep);
    } else if (name == "drop") {
      read_rules(reader, node, name, mapping.drop);
    } else if (name == "file") {
      if (const auto* table = reader.table(node, name)) read_file_keys(reader, *table, mapping, true);
    } else if (name == "workbook") {
      if (const auto* table = reader.table(node, name)) read_workbook_keys(reader, *table, mapping);
    } else if (name == "columns" || name == "constants" || name == "blanks" || name == "values") {
      const auto* table = reader.table(node, name);
      if (table == nullptr) return;
      for (const auto& [inner_key, inner] : *table) {
        if (name == "columns" && inner_key == "sets") {
          mapping.sets = read_set_cells(reader, inner, "columns.sets");
          continue;
        }
        const auto column = reader.column(inner_key, inner, name);
        if (!column) return;
        const std::string inner_name = name + "." + std::string(inner_key.str());
        if (name == "columns") mapping.columns[*column] = read_source(reader, inner, *column, inner_name);
        if (name == "constants") mapping.constants[*column] = reader.text(inner, inner_name);
        if (name == "blanks") mapping.blanks[*column] = reader.text(inner, inner_name);
        if (name == "values") {
          const auto* values = reader.table(inner, inner_name);
          if (values != nullptr) read_values(reader, *values, *column, inner_name, mapping);
        }
      }
    } else {
      reader.wrong(node, name,
                   "is not a key of a mapping (file, workbook, columns, constants, blanks, values, keep, drop)");
    }
  }
}

// What only the whole can say.
std::string contradiction(const Mapping& mapping) {
  for (const auto& [column, source] : mapping.columns) {
    for (const std::string& from : source.columns) {
      if (has_star(from) && (source.columns.size() > 1 || from.find('*') != from.rfind('*'))) {
        return "has more than one * or name for " + std::string(log_column_name(column)) + ", where one * stands";
      }
      if (has_star(from) && mapping.sets) {
        return "has both [columns] sets and a * for " + std::string(log_column_name(column)) +
               ": one of them makes the sets";
      }
    }
  }
  if (mapping.sets && mapping.columns.count(LogColumn::reps) > 0) {
    return "has both [columns] sets and a column for reps: the cells of sets hold the reps";
  }
  if (mapping.sets && !mapping.repeat.empty()) return "has both [columns] sets and file.repeat";
  for (const auto& [column, text] : mapping.constants) {
    if (mapping.columns.count(column) > 0) {
      return "has both a column and a constant for " + std::string(log_column_name(column)) +
             ": for blank cells use [blanks]";
    }
  }
  for (const auto& [column, text] : mapping.blanks) {
    if (mapping.columns.count(column) == 0) {
      return "has [blanks] for " + std::string(log_column_name(column)) + ", which has no column";
    }
  }
  for (const auto& [column, values] : mapping.values) {
    if (mapping.columns.count(column) == 0) {
      return "has [values." + std::string(log_column_name(column)) + "], but no column for it";
    }
  }
  if (!mapping.date_offsets.empty() && !mapping.start_date) {
    return "counts days in [values.date] from file.start_date, which is missing";
  }
  if (!mapping.date_offsets.empty() && mapping.columns.count(LogColumn::date) == 0) {
    return "has [values.date], but no column for it";
  }
  return "";
}

toml::array text_array(const std::vector<std::string>& texts) {
  toml::array array;
  for (const std::string& text : texts) array.push_back(text);
  return array;
}

toml::array rule_array(const std::vector<RowRule>& rules) {
  toml::array array;
  for (const RowRule& rule : rules) {
    array.push_back(toml::table{{"column", rule.column}, {"values", text_array(rule.values)}});
  }
  return array;
}

}  // namespace

std::string_view date_order_name(DateOrder order) { return kOrders[static_cast<std::size_t>(order)]; }

std::optional<DateOrder> parse_date_order(std::string_view text) {
  const auto place = place_of(kOrders, text);
  if (!place) return std::nullopt;
  return static_cast<DateOrder>(*place);
}

std::optional<std::string> star_of(std::string_view pattern, std::string_view name) {
  const std::size_t star = pattern.find('*');
  if (star == std::string_view::npos) return std::nullopt;
  const std::string before = lower_case(pattern.substr(0, star)), after = lower_case(pattern.substr(star + 1));
  const std::string lower = lower_case(name);
  if (lower.size() < before.size() + after.size() || lower.compare(0, before.size(), before) != 0 ||
      lower.compare(lower.size() - after.size(), after.size(), after) != 0) {
    return std::nullopt;
  }
  return std::string(trimmed(name.substr(before.size(), name.size() - before.size() - after.size())));
}

bool fits(std::string_view pattern, std::string_view name) {
  if (!has_star(pattern)) return lower_case(trimmed(pattern)) == lower_case(trimmed(name));
  return star_of(pattern, name).has_value();
}

Result<Mapping> parse_mapping(std::string_view toml) {
  const auto table = read_toml(toml);
  if (!table) {
    return fail(Code::invalid_input,
                "mapping, line " + std::to_string(table.error().line) + ": " + printable(table.error().problem, 200));
  }
  Mapping mapping;
  MappingReader reader;
  read_all(reader, *table, mapping);
  if (!reader.ok()) return fail(Code::invalid_input, reader.problem());
  if (const std::string problem = contradiction(mapping); !problem.empty()) {
    return fail(Code::invalid_input, "the mapping " + problem);
  }
  return mapping;
}

std::string mapping_text(const Mapping& mapping) {
  toml::table file;
  if (mapping.delimiter != 0) {
    file.insert("delimiter", mapping.delimiter == '\t' ? std::string("tab") : std::string(1, mapping.delimiter));
  }
  if (mapping.encoding != Encoding::detect) file.insert("encoding", encoding_name(mapping.encoding));
  if (mapping.header_row != 1) file.insert("header_row", mapping.header_row);
  if (mapping.skip_rows != 0) file.insert("skip_rows", mapping.skip_rows);
  if (mapping.decimal_comma) file.insert("decimal_comma", true);
  if (mapping.date_order != DateOrder::undecided) file.insert("date_order", date_order_name(mapping.date_order));
  if (mapping.start_date) file.insert("start_date", date_text(*mapping.start_date));
  if (!mapping.repeat.empty()) file.insert("repeat", mapping.repeat);
  if (!mapping.fill_down.empty()) file.insert("fill_down", text_array(mapping.fill_down));
  if (!mapping.keep_other_columns) file.insert("keep_other_columns", false);

  toml::table workbook;
  if (!mapping.workbook.sheets.empty()) workbook.insert("sheets", text_array(mapping.workbook.sheets));
  if (!mapping.workbook.skip_sheets.empty()) workbook.insert("skip_sheets", text_array(mapping.workbook.skip_sheets));
  if (mapping.workbook.header_rows != 1) workbook.insert("header_rows", mapping.workbook.header_rows);
  if (mapping.workbook.skip_hidden_rows) workbook.insert("skip_hidden_rows", true);

  toml::table columns;
  if (mapping.sets) {
    const CompactForm plain;
    if (mapping.sets->form == plain && !mapping.sets->unit && mapping.sets->columns.size() == 1) {
      columns.insert("sets", mapping.sets->columns[0]);
    } else {
      toml::table inner;
      inner.insert("columns", text_array(mapping.sets->columns));
      if (mapping.sets->form.order != plain.order) inner.insert("order", set_order_text(mapping.sets->form.order));
      if (mapping.sets->form.effort == CompactForm::Effort::rpe) inner.insert("effort", "rpe");
      if (mapping.sets->form.effort == CompactForm::Effort::reserve) inner.insert("effort", "reserve");
      if (mapping.sets->unit) inner.insert("unit", unit_name(*mapping.sets->unit));
      inner.is_inline(true);
      columns.insert("sets", std::move(inner));
    }
  }
  for (const auto& [column, source] : mapping.columns) {
    const std::string name(log_column_name(column));
    const bool plain = source.form == CellForm::plain && !source.unit && !source.unit_in_cell && source.join == " ";
    if (plain && source.columns.size() == 1) {
      columns.insert(name, source.columns[0]);
      continue;
    }
    toml::table inner;
    inner.insert("columns", text_array(source.columns));
    if (source.join != " ") inner.insert("join", source.join);
    if (source.form != CellForm::plain) inner.insert("as", kForms[static_cast<std::size_t>(source.form)]);
    if (source.unit) inner.insert("unit", unit_name(*source.unit));
    if (source.unit_in_cell) inner.insert("unit", "cell");
    inner.is_inline(true);
    columns.insert(name, std::move(inner));
  }
  const auto texts = [](const std::map<LogColumn, std::string>& from) {
    toml::table table;
    for (const auto& [column, text] : from) table.insert(std::string(log_column_name(column)), text);
    return table;
  };
  toml::table values;
  for (std::size_t i = 0; i < kLogColumnCount; ++i) {
    const auto column = static_cast<LogColumn>(i);
    toml::table inner;
    if (const auto texts_of = mapping.values.find(column); texts_of != mapping.values.end()) {
      for (const auto& [from, text] : texts_of->second) inner.insert_or_assign(from, text);
    }
    if (column == LogColumn::date) {
      for (const auto& [from, days] : mapping.date_offsets) inner.insert_or_assign(from, days);
    }
    if (!inner.empty()) values.insert(std::string(log_column_name(column)), std::move(inner));
  }

  toml::table root;
  const auto add = [&](const char* name, toml::table table) {
    if (!table.empty()) root.insert(name, std::move(table));
  };
  if (!mapping.name.empty()) root.insert("name", mapping.name);
  add("file", std::move(file));
  add("workbook", std::move(workbook));
  add("columns", std::move(columns));
  add("constants", texts(mapping.constants));
  add("blanks", texts(mapping.blanks));
  add("values", std::move(values));
  if (!mapping.keep.empty()) root.insert("keep", rule_array(mapping.keep));
  if (!mapping.drop.empty()) root.insert("drop", rule_array(mapping.drop));
  std::ostringstream out;
  out << toml::toml_formatter(root) << '\n';
  return out.str();
}

}  // namespace ullage::interchange
