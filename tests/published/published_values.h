// The published values that checks are made against: tests/published/data/published_values.csv, one row a figure with
// its source. Row ids stand beside each check.
//
//   value("T09-038") == 0.45359237
#pragma once

#include <fstream>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

namespace ullage::published {

struct Row {
  std::string id, quantity;
  std::optional<double> value, lower, upper, sd;  // empty where none was published
  std::string n, unit, source, doi;
  std::string status;  // VERIFIED, VERIFIED-SECONDARY, MEMORY (recalled, loose checks only), DERIVED (from other rows)
};

namespace detail {

inline std::vector<std::string> fields(const std::string& line) {
  std::vector<std::string> out(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    if (line[i] == '"' && quoted && i + 1 < line.size() && line[i + 1] == '"') {
      out.back() += line[i++];
    } else if (line[i] == '"') {
      quoted = !quoted;
    } else if (line[i] == ',' && !quoted) {
      out.emplace_back();
    } else if (line[i] != '\r') {
      out.back() += line[i];
    }
  }
  return out;
}

inline std::optional<double> number(const std::string& text) {
  if (text.empty()) return {};
  std::size_t used = 0;
  try {
    const double number = std::stod(text, &used);
    return used == text.size() ? std::optional(number) : std::nullopt;
  } catch (const std::exception&) {
    return {};
  }
}

inline std::map<std::string, Row> read() {
  std::ifstream in(ULLAGE_SOURCE_DIR "/tests/published/data/published_values.csv");
  if (!in) throw std::runtime_error("tests/published/data/published_values.csv cannot be read");
  std::map<std::string, Row> rows;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const auto f = fields(line);
    if (f.size() != 11) throw std::runtime_error("published_values.csv: 11 columns were expected in: " + line);
    rows[f[0]] = {f[0], f[1], number(f[2]), number(f[3]), number(f[4]), number(f[5]), f[6], f[7], f[8], f[9], f[10]};
  }
  return rows;
}

}  // namespace detail

inline const std::map<std::string, Row>& rows() {
  static const std::map<std::string, Row> all = detail::read();
  return all;
}

inline const Row& row(const std::string& id) {
  const auto found = rows().find(id);
  if (found == rows().end()) throw std::runtime_error("no published value " + id);
  return found->second;
}

inline double value(const std::string& id) {
  const Row& r = row(id);
  if (!r.value) throw std::runtime_error("published value " + id + " is not a number");
  return *r.value;
}

inline double sd(const std::string& id) {
  const Row& r = row(id);
  if (!r.sd) throw std::runtime_error("published value " + id + " has no sd");
  return *r.sd;
}

}  // namespace ullage::published
