#include "cli/options.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

namespace ullage::cli {

std::string Args::text(std::string_view name, std::string otherwise) const {
  const auto found = values_.find(name);
  return found == values_.end() || found->second.empty() ? otherwise : found->second.back();
}

const std::vector<std::string>& Args::all(std::string_view name) const {
  static const std::vector<std::string> none;
  const auto found = values_.find(name);
  return found == values_.end() ? none : found->second;
}

std::optional<double> Args::number(std::string_view name) const {
  return has(name) ? parse_number(text(name)) : std::nullopt;
}

std::optional<int> Args::whole(std::string_view name) const {
  const auto value = number(name);
  return value ? std::optional<int>(static_cast<int>(*value)) : std::nullopt;
}

std::optional<Date> Args::date(std::string_view name) const {
  return has(name) ? parse_date(text(name)) : std::nullopt;
}

std::int64_t Args::id(std::string_view name) const {
  const std::string digits = text(name);
  std::int64_t value = 0;
  const auto [at, error] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return error == std::errc() && at == digits.data() + digits.size() && value > 0 ? value : 0;
}

const Command* find_command(std::string_view name) {
  for (const Command& c : commands()) {
    if (c.name == name) return &c;
  }
  return nullptr;
}

std::vector<std::string> faults_of(const std::vector<const Option*>& options, const Args& args) {
  std::vector<std::string> out;
  for (const Option* o : options) {
    if (o->needed && !args.has(o->name)) out.push_back(o->name + ": is needed (" + o->help + ")");
    if (!args.has(o->name) || o->kind == Kind::flag) continue;
    if (!o->many && args.all(o->name).size() > 1) out.push_back(o->name + ": was given twice");
    for (const std::string& value : args.all(o->name)) {
      const auto fault = [&](const std::string& expected) {
        out.push_back(fmt::format("{}: \"{}\" is not {}", o->name, value, expected));
      };
      if (o->kind == Kind::date) {
        if (!parse_date(value)) fault("a date such as 2026-03-09");
      } else if (o->kind == Kind::choice) {
        if (std::find(o->choices.begin(), o->choices.end(), value) == o->choices.end()) {
          std::string list;
          for (std::size_t i = 0; i < o->choices.size(); ++i) {
            list += (i == 0 ? "" : i + 1 == o->choices.size() ? " or " : ", ") + o->choices[i];
          }
          fault(list);
        }
      } else if (o->kind == Kind::whole || o->kind == Kind::number) {
        const auto number = parse_number(value);
        const bool whole = o->kind == Kind::whole;
        if (!number || !std::isfinite(*number) || (whole && *number != std::floor(*number))) {
          fault(whole ? "a whole number" : "a number");
        } else if (*number < o->low || *number > o->high) {
          fault(std::isinf(o->high) ? fmt::format("at least {}", number_text(o->low))
                                    : fmt::format("from {} to {}", number_text(o->low), number_text(o->high)));
        }
      } else if (value.find_first_not_of(" \t") == std::string::npos && o->needed) {
        fault(o->name == "--ground" || o->name == "--reason" ? "a ground in words" : "a name");
      }
    }
  }
  return out;
}

std::optional<double> parse_number(std::string_view text) {
  std::string plain(text);
  std::replace(plain.begin(), plain.end(), ',', '.');
  const char* begin = plain.data();
  const char* end = begin + plain.size();
  if (begin != end && *begin == '+') ++begin;
  double value = 0;
  const auto [at, error] = std::from_chars(begin, end, value);
  if (error != std::errc() || at != end || begin == end || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::optional<Load> parse_load(std::string_view text, Unit otherwise) {
  std::size_t end = text.size();
  while (end > 0 && !(text[end - 1] >= '0' && text[end - 1] <= '9')) --end;
  const auto amount = parse_number(text.substr(0, end));
  if (!amount) return std::nullopt;
  std::string_view rest = text.substr(end);
  while (!rest.empty() && rest.front() == ' ') rest.remove_prefix(1);
  if (rest.empty()) return Load{*amount, otherwise};
  const auto unit = parse_unit(rest);
  if (!unit) return std::nullopt;
  return Load{*amount, *unit};
}

std::vector<std::string> split(std::string_view text, char by) {
  std::vector<std::string> out;
  std::size_t from = 0;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    if (i < text.size() && text[i] != by) continue;
    std::string_view part = text.substr(from, i - from);
    while (!part.empty() && part.front() == ' ') part.remove_prefix(1);
    while (!part.empty() && part.back() == ' ') part.remove_suffix(1);
    if (!part.empty()) out.emplace_back(part);
    from = i + 1;
  }
  return out;
}

std::optional<std::vector<int>> parse_reps_list(std::string_view text) {
  std::vector<int> out;
  for (const std::string& part : split(text, ',')) {
    const auto value = parse_number(part);
    if (!value || *value != std::floor(*value) || *value < 1 || *value > 100) return std::nullopt;
    out.push_back(static_cast<int>(*value));
  }
  if (out.empty() || out.size() > 20) return std::nullopt;
  return out;
}

std::optional<std::pair<double, double>> parse_range(std::string_view text) {
  const auto parts = split(text, '-');
  if (parts.empty() || parts.size() > 2) return std::nullopt;
  const auto low = parse_number(parts.front());
  const auto high = parse_number(parts.back());
  if (!low || !high || *low > *high || *low < 0) return std::nullopt;
  return std::make_pair(*low, *high);
}

}  // namespace ullage::cli
