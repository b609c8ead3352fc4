// Reads the keys that mappings of every kind share from TOML. For mapping.cc and study_mapping.cc.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "service/interchange/cell_text.h"
#include "service/interchange/fault.h"
#include "service/interchange/mapping.h"
#include "service/toml/read_toml.h"

namespace ullage::interchange {

// Collects the first thing that is wrong, so that the reading below can go straight on.
class MappingReader {
 public:
  bool ok() const { return problem_.empty(); }
  const std::string& problem() const { return problem_; }

  void wrong(const toml::node& node, const std::string& key, const std::string& expected) {
    if (!problem_.empty()) return;
    problem_ = "mapping";
    if (node.source().begin) problem_ += ", line " + std::to_string(node.source().begin.line);
    problem_ += ": " + printable(key, 120) + " " + expected;
  }

  // A value as a log would have it: text, number, yes or no, day.
  std::string text(const toml::node& node, const std::string& key) {
    if (const auto* value = node.as_string()) return value->get();
    if (const auto* value = node.as_integer()) return std::to_string(value->get());
    if (const auto* value = node.as_floating_point()) return number_text(value->get());
    if (const auto* value = node.as_boolean()) return value->get() ? "1" : "0";
    if (const auto* value = node.as_date()) return day(*value);
    wrong(node, key, "must be a text, a number, true, false or a date");
    return "";
  }

  std::string only_text(const toml::node& node, const std::string& key) {
    if (const auto* value = node.as_string()) return value->get();
    wrong(node, key, "must be a text in quotes");
    return "";
  }

  bool yes_no(const toml::node& node, const std::string& key) {
    if (const auto* value = node.as_boolean()) return value->get();
    wrong(node, key, "must be true or false");
    return false;
  }

  std::int64_t whole(const toml::node& node, const std::string& key, std::int64_t low, std::int64_t high) {
    const auto* value = node.as_integer();
    if (value != nullptr && value->get() >= low && value->get() <= high) return value->get();
    wrong(node, key, "must be a whole number from " + std::to_string(low) + " to " + std::to_string(high));
    return low;
  }

  // One text or a list of texts.
  std::vector<std::string> texts(const toml::node& node, const std::string& key) {
    std::vector<std::string> list;
    if (const auto* array = node.as_array()) {
      for (const toml::node& item : *array) list.push_back(only_text(item, key));
    } else {
      list.push_back(only_text(node, key));
    }
    if (list.empty()) wrong(node, key, "must name at least one");
    return list;
  }

  std::optional<Date> date(const toml::node& node, const std::string& key) {
    std::optional<Date> date;
    if (const auto* value = node.as_date()) date = parse_date(day(*value));
    if (const auto* value = node.as_string()) date = parse_date(value->get());
    if (!date) wrong(node, key, "must be a date such as 2026-03-09");
    return date;
  }

  const toml::table* table(const toml::node& node, const std::string& key) {
    if (node.as_table() == nullptr) wrong(node, key, "must be a table");
    return node.as_table();
  }

  // The log column a key of columns, constants, blanks or values stands for.
  std::optional<LogColumn> column(const toml::key& key, const toml::node& node, const std::string& where) {
    const auto column = parse_log_column(key.str());
    if (!column) wrong(node, where + "." + std::string(key.str()), "is not a column of the log");
    return column;
  }

 private:
  static std::string day(const toml::value<toml::date>& value) {
    const auto date = make_date(value.get().year, value.get().month, value.get().day);
    return date ? date_text(*date) : "";
  }
  std::string problem_;
};

// The keys of [file]; of_log: those that only a log has as well.
void read_file_keys(MappingReader& reader, const toml::table& table, Mapping& mapping, bool of_log);
// [[keep]] or [[drop]].
void read_rules(MappingReader& reader, const toml::node& node, const std::string& name, std::vector<RowRule>& rules);

}  // namespace ullage::interchange
