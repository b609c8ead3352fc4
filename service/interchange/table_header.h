// What every table that is read has in common: its header, columns called by name or place, rules that leave rows out.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"
#include "service/interchange/csv_reader.h"
#include "service/interchange/mapping.h"

namespace ullage::interchange {

// A column called by its place: #3.
std::string place_name(std::size_t field);
std::vector<std::string> header_names(const TableRow& row);
// The first 20, for messages.
std::string header_list(const std::vector<std::string>& headers);
// Place of a column that a mapping names: by its header, or as #3. Error: invalid_input, none or several of that name.
Result<std::size_t> find_field(const std::vector<std::string>& headers, const std::string& name);
// What a rule leaves out, in words: 'exercise is not one of "legpress", "legext"'.
std::string rule_text(const RowRule& rule, bool keep);

}  // namespace ullage::interchange
