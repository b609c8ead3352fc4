#include "server/reading.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <set>

namespace ullage::server {
namespace {

std::string list_of(const std::vector<std::string>& words) {
  std::string out;
  for (std::size_t i = 0; i < words.size(); ++i)
    out += (i == 0 ? "" : i + 1 == words.size() ? " or " : ", ") + words[i];
  return out;
}

// "line 2, column 17" of a byte, counted from 1.
std::string place_of(std::string_view text, std::size_t byte) {
  std::size_t line = 1, column = 1;
  for (std::size_t i = 0; i + 1 < byte && i < text.size(); ++i) {
    if (text[i] == '\n') {
      ++line;
      column = 1;
    } else {
      ++column;
    }
  }
  return "line " + std::to_string(line) + ", column " + std::to_string(column);
}

}  // namespace

Outcome<Json> parse_json(std::string_view text) {
  std::vector<std::set<std::string>> keys;
  std::string fault;
  const auto look = [&](int depth, Json::parse_event_t event, Json& value) {
    if (depth > kDeepest && fault.empty()) fault = "lists and objects lie within each other too deep";
    if (event == Json::parse_event_t::object_start) keys.emplace_back();
    if (event == Json::parse_event_t::object_end && !keys.empty()) keys.pop_back();
    if (event == Json::parse_event_t::key && !keys.empty()) {
      const auto& key = value.get_ref<const std::string&>();
      if (!keys.back().insert(key).second && fault.empty()) fault = "the key \"" + key + "\" stands twice";
    }
    return fault.empty();
  };
  try {
    Json json = Json::parse(text, look);
    if (!fault.empty()) return malformed("the body: " + fault);
    return json;
  } catch (const Json::parse_error& error) {
    if (!fault.empty()) return malformed("the body: " + fault);
    return malformed("the body is no JSON in UTF-8", place_of(text, error.byte));
  } catch (const Json::exception& error) {
    return malformed(std::string("the body cannot be read: ") + error.what());
  }
}

Fields::Fields(const Json& object, std::string place) : object_(object), place_(std::move(place)) {
  if (!object.is_object()) found_.push_back({place_, "an object was expected"});
}

const Json* Fields::find(const std::string& name, bool needed) {
  asked_[name];
  if (!object_.is_object()) return nullptr;
  const auto it = object_.find(name);
  if (it == object_.end() || it->is_null()) {
    if (needed) wrong(name, "is needed");
    return nullptr;
  }
  return &*it;
}

bool Fields::has(const std::string& name) {
  asked_[name];
  return object_.is_object() && object_.contains(name);
}
bool Fields::is_null(const std::string& name) {
  asked_[name];
  return object_.is_object() && object_.contains(name) && object_.at(name).is_null();
}

std::optional<std::string> Fields::text(const std::string& name, bool needed) {
  const Json* json = find(name, needed);
  if (!json) return std::nullopt;
  if (!json->is_string()) {
    wrong(name, "a text was expected");
    return std::nullopt;
  }
  auto out = json->get<std::string>();
  if (out.size() > kLongestText) {
    wrong(name, "is longer than " + std::to_string(kLongestText) + " characters");
    return std::nullopt;
  }
  if (out.find('\0') != std::string::npos) {
    wrong(name, "holds a zero byte");
    return std::nullopt;
  }
  return out;
}

std::optional<double> Fields::number(const std::string& name, double low, double high, bool needed) {
  const Json* json = find(name, needed);
  if (!json) return std::nullopt;
  if (!json->is_number()) {
    wrong(name, "a number was expected");
    return std::nullopt;
  }
  const double value = json->get<double>();
  if (!(value >= low && value <= high)) {
    wrong(name, "is outside " + number_text(low) + " to " + number_text(high));
    return std::nullopt;
  }
  return value;
}

std::optional<int> Fields::whole(const std::string& name, int low, int high, bool needed) {
  const auto value = number(name, low, high, needed);
  if (!value) return std::nullopt;
  if (*value != std::floor(*value)) {
    wrong(name, "a whole number was expected");
    return std::nullopt;
  }
  return static_cast<int>(*value);
}

std::optional<bool> Fields::flag(const std::string& name, bool needed) {
  const Json* json = find(name, needed);
  if (!json) return std::nullopt;
  if (!json->is_boolean()) {
    wrong(name, "true or false was expected");
    return std::nullopt;
  }
  return json->get<bool>();
}

std::optional<Date> Fields::date(const std::string& name, bool needed) {
  const auto value = text(name, needed);
  if (!value) return std::nullopt;
  const auto day = parse_date(*value);
  if (!day) wrong(name, "a day as YYYY-MM-DD was expected");
  return day;
}

std::optional<Load> Fields::load(const std::string& name, bool needed) {
  const Json* json = find(name, needed);
  if (!json) return std::nullopt;
  Fields inner(*json, at(name));
  const auto amount = inner.number("amount", -10000, 10000, true);
  const auto unit = inner.text("unit", true);
  const auto known = unit ? parse_unit(*unit) : std::nullopt;
  if (unit && !known) inner.wrong("unit", "kg, lb or mark was expected");
  take_faults(inner);
  if (!amount || !known) return std::nullopt;
  return Load{*amount, *known};
}

std::optional<ullage::Call> Fields::call(const std::string& name) {
  const auto value = text(name);
  if (!value) return std::nullopt;
  const auto call = parse_call(*value);
  if (!call) wrong(name, "0 to 10 in halves, or open as \"5+\", was expected");
  return call;
}

std::optional<std::vector<std::string>> Fields::texts(const std::string& name, bool needed) {
  const Json* json = list(name, 1000, needed);
  if (!json) return std::nullopt;
  std::vector<std::string> out;
  for (const Json& one : *json) {
    if (!one.is_string() || one.get_ref<const std::string&>().size() > kLongestText) {
      wrong(name, "a list of texts was expected");
      return std::nullopt;
    }
    out.push_back(one.get<std::string>());
  }
  return out;
}

std::optional<std::size_t> Fields::choice(const std::string& name, const std::vector<std::string>& words, bool needed) {
  const auto value = text(name, needed);
  if (!value) return std::nullopt;
  const auto it = std::find(words.begin(), words.end(), *value);
  if (it == words.end()) {
    wrong(name, list_of(words) + " was expected");
    return std::nullopt;
  }
  return static_cast<std::size_t>(it - words.begin());
}

const Json* Fields::list(const std::string& name, std::size_t most, bool needed) {
  const Json* json = find(name, needed);
  if (!json) return nullptr;
  if (!json->is_array()) {
    wrong(name, "a list was expected");
    return nullptr;
  }
  if (json->size() > most) {
    wrong(name, "has more than " + std::to_string(most) + " entries");
    return nullptr;
  }
  return json;
}

const Json* Fields::object(const std::string& name, bool needed) {
  const Json* json = find(name, needed);
  if (json && !json->is_object()) {
    wrong(name, "an object was expected");
    return nullptr;
  }
  return json;
}

void Fields::take_faults(Fields& other) {
  if (const auto faults = other.done(); !faults)
    found_.insert(found_.end(), faults.error().faults.begin(), faults.error().faults.end());
}

Outcome<void> Fields::done() {
  if (object_.is_object()) {
    for (const auto& [key, value] : object_.items()) {
      if (!asked_.count(key)) found_.push_back({at(key), "no such field"});
    }
  }
  if (found_.empty()) return {};
  Problem problem(422, "invalid_input", "");
  problem.faults = std::move(found_);
  found_.clear();
  return tl::unexpected(std::move(problem));
}

std::optional<std::string> Query::text(const std::string& name, bool needed) {
  asked_[name];
  const auto [from, to] = head_.query.equal_range(name);
  if (from == to) {
    if (needed) found_.push_back({name, "is needed"});
    return std::nullopt;
  }
  if (std::next(from) != to) found_.push_back({name, "is given twice"});
  return from->second;
}

std::optional<int> Query::whole(const std::string& name, int low, int high) {
  const auto value = text(name);
  if (!value) return std::nullopt;
  int out = 0;
  const auto [end, error] = std::from_chars(value->data(), value->data() + value->size(), out);
  if (error != std::errc() || end != value->data() + value->size() || out < low || out > high) {
    found_.push_back(
        {name, "a whole number from " + std::to_string(low) + " to " + std::to_string(high) + " was expected"});
    return std::nullopt;
  }
  return out;
}

std::optional<bool> Query::flag(const std::string& name) {
  const auto value = text(name);
  if (!value) return std::nullopt;
  if (*value == "true" || *value == "1") return true;
  if (*value == "false" || *value == "0") return false;
  found_.push_back({name, "true or false was expected"});
  return std::nullopt;
}

std::optional<Date> Query::date(const std::string& name) {
  const auto value = text(name);
  if (!value) return std::nullopt;
  const auto day = parse_date(*value);
  if (!day) found_.push_back({name, "a day as YYYY-MM-DD was expected"});
  return day;
}

std::optional<std::size_t> Query::choice(const std::string& name, const std::vector<std::string>& words) {
  const auto value = text(name);
  if (!value) return std::nullopt;
  const auto it = std::find(words.begin(), words.end(), *value);
  if (it == words.end()) {
    found_.push_back({name, list_of(words) + " was expected"});
    return std::nullopt;
  }
  return static_cast<std::size_t>(it - words.begin());
}

Outcome<void> Query::done() {
  for (const auto& [key, value] : head_.query) {
    if (!asked_.count(key)) found_.push_back({key, "no such parameter"});
  }
  if (found_.empty()) return {};
  Problem problem(422, "invalid_input", "");
  problem.faults = std::move(found_);
  return tl::unexpected(std::move(problem));
}

}  // namespace ullage::server
