// Checks values against the schemas of an OpenAPI 3.1 description: the part of JSON Schema (draft 2020-12) that ours
// uses. Stricter than the standard in one way: a field that no schema describes is a fault, so that the description
// stays whole.
#pragma once

#include <nlohmann/json.hpp>
#include <regex>
#include <set>
#include <string>
#include <vector>

namespace ullage::server {

class Schemas {
 public:
  using Json = nlohmann::ordered_json;
  explicit Schemas(const Json& description) : all_(description) {}

  // What is wrong with the value, one line each; empty: nothing.
  std::vector<std::string> faults(const Json& value, const Json& schema) const {
    std::vector<std::string> out;
    check(value, schema, "", out);
    return out;
  }
  const Json& resolve(const Json& schema) const {
    if (!schema.contains("$ref")) return schema;
    return resolve(all_.at(Json::json_pointer(schema.at("$ref").get<std::string>().substr(1))));
  }

 private:
  static bool is(const Json& value, const std::string& type) {
    if (type == "object") return value.is_object();
    if (type == "array") return value.is_array();
    if (type == "string") return value.is_string();
    if (type == "boolean") return value.is_boolean();
    if (type == "null") return value.is_null();
    if (type == "number") return value.is_number();
    if (type == "integer") return value.is_number_integer();
    return false;
  }
  // Names of fields that a schema describes; false: any name is.
  bool names(const Json& given, std::set<std::string>& out) const {
    const Json& schema = resolve(given);
    bool closed = schema.contains("properties");
    if (schema.contains("additionalProperties")) return false;
    if (closed) {
      for (const auto& [name, unused] : schema.at("properties").items()) out.insert(name);
    }
    if (schema.contains("allOf")) {
      for (const Json& part : schema.at("allOf")) closed = names(part, out) || closed;
    }
    return closed;
  }
  void check(const Json& value, const Json& given, const std::string& at, std::vector<std::string>& out,
             bool part = false) const {
    const Json& schema = resolve(given);
    const auto fault = [&](const std::string& text) { out.push_back((at.empty() ? "value" : at) + ": " + text); };
    if (schema.contains("anyOf")) {
      std::string tried;
      for (const Json& one : schema.at("anyOf")) {
        std::vector<std::string> found;
        check(value, one, at, found);
        if (found.empty()) return;
        tried += "\n    " + found.front();
      }
      return fault("fits none of anyOf" + tried);
    }
    if (schema.contains("allOf")) {
      for (const Json& one : schema.at("allOf")) check(value, one, at, out, true);
    }
    if (schema.contains("type")) {
      const Json& type = schema.at("type");
      bool fits = false;
      for (const Json& one : type.is_array() ? type : Json::array({type}))
        fits = fits || is(value, one.get<std::string>());
      if (!fits) return fault("is no " + type.dump() + " but " + value.dump().substr(0, 60));
    }
    if (schema.contains("enum") &&
        std::find(schema.at("enum").begin(), schema.at("enum").end(), value) == schema.at("enum").end())
      fault(value.dump() + " is none of " + schema.at("enum").dump());
    if (value.is_string()) {
      const auto& text = value.get_ref<const std::string&>();
      if (schema.contains("pattern") && !std::regex_search(text, std::regex(schema.at("pattern").get<std::string>())))
        fault("\"" + text + "\" does not match the pattern");
      const std::string format = schema.value("format", "");
      if (format == "date" && !std::regex_match(text, std::regex(R"(\d{4}-\d\d-\d\d)")))
        fault("\"" + text + "\" is no date");
      if (format == "date-time" && !std::regex_match(text, std::regex(R"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z)")))
        fault("\"" + text + "\" is no instant");
    }
    if (value.is_number()) {
      if (schema.contains("minimum") && value.get<double>() < schema.at("minimum").get<double>()) fault("is too small");
      if (schema.contains("maximum") && value.get<double>() > schema.at("maximum").get<double>()) fault("is too large");
    }
    if (value.is_array() && schema.contains("items")) {
      for (std::size_t i = 0; i < value.size(); ++i)
        check(value[i], schema.at("items"), at + "/" + std::to_string(i), out);
    }
    if (!value.is_object()) return;
    if (schema.contains("required")) {
      for (const Json& name : schema.at("required")) {
        if (!value.contains(name.get<std::string>())) fault("has no " + name.get<std::string>());
      }
    }
    for (const auto& [name, field] : value.items()) {
      if (schema.contains("properties") && schema.at("properties").contains(name)) {
        check(field, schema.at("properties").at(name), at + "/" + name, out);
      } else if (schema.contains("additionalProperties") && schema.at("additionalProperties").is_object()) {
        check(field, schema.at("additionalProperties"), at + "/" + name, out);
      }
    }
    std::set<std::string> known;
    if (part || !names(schema, known)) return;
    for (const auto& [name, unused] : value.items()) {
      if (!known.count(name)) fault("the field " + name + " is not described");
    }
  }

  const Json& all_;
};

}  // namespace ullage::server
