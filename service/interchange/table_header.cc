#include "service/interchange/table_header.h"

#include "service/interchange/cell_text.h"
#include "service/interchange/fault.h"

namespace ullage::interchange {

std::string place_name(std::size_t field) {
  std::string name("#");
  name += std::to_string(field + 1);
  return name;
}

std::vector<std::string> header_names(const TableRow& row) {
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
    return fail(Code::invalid_input, "the table has the column " + in_quotes(name) + " twice (columns " +
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
  return fail(Code::invalid_input, "the mapping names a column " + in_quotes(name) +
                                       " that the table does not have (it has: " + header_list(headers) + ")");
}

std::string rule_text(const RowRule& rule, bool keep) {
  std::string values;
  for (const std::string& value : rule.values) {
    values += (values.empty() ? "" : ", ") + (value.empty() ? std::string("blank") : in_quotes(value));
  }
  const char* verb = rule.values.size() > 1 ? (keep ? " is none of " : " is one of ") : (keep ? " is not " : " is ");
  return printable(rule.column) + verb + values;
}

}  // namespace ullage::interchange
