// Every command and every option in one table: it feeds the command line, its checks, the help and the test that
// docs/commands.md is complete.
#pragma once

#include <cstdint>
#include <functional>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/base/units.h"

namespace ullage::cli {

enum class Kind { flag, text, whole, number, date, choice };

struct Option {
  std::string name;  // "--lifter"; without hyphens: it stands by its place, as FILE does
  Kind kind = Kind::text;
  std::string value;  // what is shown for the value: NAME
  std::string help;
  std::string unit;  // of a number: "s", "kg or lb"
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  std::string standard;  // what is taken when it is not given, in words
  std::vector<std::string> choices;
  bool many = false;  // may be given several times
  bool needed = false;
};

// The values given, checked against the table before a command runs.
class Args {
 public:
  bool has(std::string_view name) const { return values_.find(name) != values_.end(); }
  bool flag(std::string_view name) const { return has(name); }
  std::string text(std::string_view name, std::string otherwise = "") const;
  const std::vector<std::string>& all(std::string_view name) const;
  std::optional<double> number(std::string_view name) const;
  std::optional<int> whole(std::string_view name) const;
  std::optional<Date> date(std::string_view name) const;
  // A number of a set or a change: up to 2^63 - 1, exactly; 0 when it is none.
  std::int64_t id(std::string_view name) const;
  void add(const std::string& name, const std::string& value) { values_[name].push_back(value); }
  void set_flag(const std::string& name) { values_[name]; }

 private:
  std::map<std::string, std::vector<std::string>, std::less<>> values_;
};

struct Context;  // cli/context.h

struct Command {
  std::string name;  // "lifter add"
  std::string help;  // one line
  std::vector<Option> options;
  Result<void> (*run)(Context&);
  bool needs_data = true;  // false: works without a data file
  std::string more;        // further help, may be empty
  std::string data_with;   // without needs_data: an option with which the data file is needed all the same
};

// In the order they are shown.
const std::vector<Command>& commands();
// What every command takes.
const std::vector<Option>& common_options();
const Command* find_command(std::string_view name);

// What is wrong with the values, one line each.
std::vector<std::string> faults_of(const std::vector<const Option*>& options, const Args& args);

// "100", "100kg", "225 lb", "12 mark": a number and perhaps a unit.
std::optional<Load> parse_load(std::string_view text, Unit otherwise);
// The whole text as a number (dot or comma as the decimal sign), else empty.
std::optional<double> parse_number(std::string_view text);
// "8,8,6".
std::optional<std::vector<int>> parse_reps_list(std::string_view text);
// "1-2" or "2".
std::optional<std::pair<double, double>> parse_range(std::string_view text);
std::vector<std::string> split(std::string_view text, char by);

}  // namespace ullage::cli
