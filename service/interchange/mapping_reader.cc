#include "service/interchange/mapping_reader.h"

namespace ullage::interchange {
namespace {

constexpr std::int64_t kMostRows = 1000000;

RowRule read_rule(MappingReader& reader, const toml::node& node, const std::string& name) {
  RowRule rule;
  const auto* table = reader.table(node, name);
  if (table == nullptr) return rule;
  for (const auto& [key, value] : *table) {
    const std::string inner = name + "." + std::string(key.str());
    if (key == "column") {
      rule.column = reader.only_text(value, inner);
    } else if (key == "values") {
      rule.values = reader.texts(value, inner);
    } else {
      reader.wrong(value, inner, "is not a key of [[" + name + "]]");
    }
  }
  if (rule.column.empty()) reader.wrong(node, name, "must name a column");
  if (rule.values.empty()) reader.wrong(node, name, "must list values (\"\" is a blank cell)");
  return rule;
}

}  // namespace

void read_file_keys(MappingReader& reader, const toml::table& table, Mapping& mapping, bool of_log) {
  for (const auto& [key, node] : table) {
    const std::string name = "file." + std::string(key.str());
    if (key == "delimiter") {
      const std::string text = reader.only_text(node, name);
      mapping.delimiter = text == "tab" ? '\t' : (text.size() == 1 ? text[0] : '\0');
      if (std::string_view(",;\t|:").find(mapping.delimiter) == std::string_view::npos || mapping.delimiter == '\0') {
        reader.wrong(node, name, "must be one of \",\" \";\" \"|\" \":\" \"tab\"");
      }
    } else if (key == "encoding") {
      const std::string text = reader.only_text(node, name);
      for (const auto encoding :
           {Encoding::utf8, Encoding::utf16_little, Encoding::utf16_big, Encoding::windows_1252}) {
        if (text == encoding_name(encoding)) mapping.encoding = encoding;
      }
      if (mapping.encoding == Encoding::detect) {
        reader.wrong(node, name, "must be utf-8, utf-16-little, utf-16-big or windows-1252");
      }
    } else if (key == "header_row") {
      mapping.header_row = static_cast<int>(reader.whole(node, name, 0, kMostRows));
    } else if (key == "skip_rows") {
      mapping.skip_rows = static_cast<int>(reader.whole(node, name, 0, kMostRows));
    } else if (key == "decimal_comma") {
      mapping.decimal_comma = reader.yes_no(node, name);
    } else if (key == "date_order") {
      const auto order = parse_date_order(reader.only_text(node, name));
      if (!order) reader.wrong(node, name, "must be ymd, dmy or mdy; leave it out to let the file's dates decide");
      mapping.date_order = order.value_or(DateOrder::undecided);
    } else if (key == "start_date") {
      mapping.start_date = reader.date(node, name);
    } else if (key == "fill_down" && of_log) {
      mapping.fill_down = reader.texts(node, name);
    } else if (key == "repeat") {
      mapping.repeat = reader.only_text(node, name);
    } else if (key == "keep_other_columns") {
      mapping.keep_other_columns = reader.yes_no(node, name);
    } else {
      reader.wrong(node, name, "is not a key of [file]");
    }
  }
}

void read_rules(MappingReader& reader, const toml::node& node, const std::string& name, std::vector<RowRule>& rules) {
  const auto* array = node.as_array();
  if (array == nullptr) return reader.wrong(node, name, "must be written as [[" + name + "]]");
  for (const toml::node& item : *array) rules.push_back(read_rule(reader, item, name));
}

}  // namespace ullage::interchange
