#include "server/problem.h"

#include <algorithm>

namespace ullage::server {
namespace {

struct Told {
  int status;
  const char* code;
};
// The one place where codes of the use cases become statuses.
Told told(Code code) {
  switch (code) {
    case Code::invalid_input: return {422, "invalid_input"};
    case Code::not_found: return {404, "not_found"};
    case Code::conflict: return {409, "conflict"};
    case Code::not_allowed: return {403, "not_allowed"};
    case Code::unavailable: return {503, "unavailable"};
    case Code::newer_version: return {503, "newer_version"};
    case Code::corrupt: return {500, "corrupt"};
    case Code::cancelled: return {409, "cancelled"};
    case Code::internal: return {500, "internal"};
  }
  return {500, "internal"};
}

bool is_letter(char c) { return c >= 'a' && c <= 'z'; }
bool is_capital(char c) { return c >= 'A' && c <= 'Z'; }

// The option that begins at `at`, as a field; empty: none does. `end`: behind it.
std::string option_at(const std::string& text, std::size_t at, std::size_t& end) {
  if (text.compare(at, 2, "--") != 0 || at + 2 >= text.size() || !is_letter(text[at + 2])) return "";
  if (at > 0 && text[at - 1] != ' ' && text[at - 1] != '(' && text[at - 1] != '"') return "";
  end = at + 2;
  while (end < text.size() && (is_letter(text[end]) || text[end] == '-')) ++end;
  std::string field = text.substr(at + 2, end - at - 2);
  std::replace(field.begin(), field.end(), '-', '_');
  if (field == "rest") return "rest_s";
  if (field == "speed") return "last_rep_speed";
  if (field == "called") return "called_reserve";
  return field;
}

// "--rest: 5 is outside" is about the field `rest_s`, "--date 2026-03-01: ..." about `date`, "date: ..." as well.
Fault fault_of(std::string line) {
  std::size_t end = 0;
  if (const std::string field = option_at(line, 0, end); !field.empty()) {
    std::string rest = line.substr(end);
    const std::size_t said = rest.find_first_not_of(": ");
    return {field, without_options(said == std::string::npos ? "" : rest.substr(said))};
  }
  const std::size_t colon = line.find(": ");
  if (colon == std::string::npos || colon == 0 || colon > 40) return {"", without_options(std::move(line))};
  const std::string where = line.substr(0, colon);
  const bool word = std::all_of(where.begin(), where.end(),
                                [](char c) { return is_letter(c) || c == '_' || c == '.' || (c >= '0' && c <= '9'); });
  if (!word || (where.find('_') == std::string::npos && where != "date" && where != "with"))
    return {"", without_options(std::move(line))};
  return {where, without_options(line.substr(colon + 2))};
}

}  // namespace

std::string without_options(std::string text) {
  if (const std::size_t at = text.find(": ullage "); at != std::string::npos) text.erase(at);
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    // In brackets: about an option, for those who have options.
    if (text[at] == '(') {
      const std::size_t close = text.find(')', at);
      std::size_t none = 0;
      bool option = false;
      for (std::size_t i = at; close != std::string::npos && i < close && !option; ++i)
        option = !option_at(text, i, none).empty();
      if (option) {
        if (!out.empty() && out.back() == ' ') out.pop_back();
        at = close + 1;
        continue;
      }
    }
    std::size_t end = 0;
    const std::string field = option_at(text, at, end);
    if (field.empty()) {
      out += text[at++];
      continue;
    }
    out += field;
    at = end;
    // What its value is called on the command line.
    std::size_t word = at + 1;
    while (word < text.size() && is_capital(text[word])) ++word;
    if (word > at + 2 && text[at] == ' ' && (word == text.size() || !is_letter(text[word]))) at = word;
  }
  return out;
}

Problem::Problem(int status_, std::string code_, std::string message, std::string where)
    : status(status_), code(std::move(code_)), faults{{std::move(where), std::move(message)}} {}

Problem::Problem(const Error& error) {
  const Told as = told(error.code);
  status = as.status;
  code = as.code;
  std::size_t at = 0;
  while (at <= error.message.size()) {
    const std::size_t end = std::min(error.message.find('\n', at), error.message.size());
    if (end > at) faults.push_back(fault_of(error.message.substr(at, end - at)));
    at = end + 1;
  }
  if (faults.empty()) faults.push_back({"", "it did not work, and no reason was given"});
}

tl::unexpected<Problem> malformed(std::string message, std::string where) {
  return tl::unexpected(Problem(400, "malformed", std::move(message), std::move(where)));
}
tl::unexpected<Problem> wrong(std::string where, std::string message) {
  return tl::unexpected(Problem(422, "invalid_input", std::move(message), std::move(where)));
}
tl::unexpected<Problem> problem(const Error& error) { return tl::unexpected(Problem(error)); }

Json json_of(const Problem& problem) {
  const auto place = [](const Fault& fault) { return fault.where.empty() ? Json() : Json(fault.where); };
  Json error;
  error["code"] = problem.code;
  std::string message;
  for (const Fault& fault : problem.faults) {
    if (!message.empty()) message += '\n';
    if (!fault.where.empty()) message += fault.where + ": ";
    message += fault.message;
  }
  error["message"] = message;
  error["where"] = place(problem.faults.front());
  if (problem.faults.size() > 1) {
    error["faults"] = Json::array();
    for (const Fault& fault : problem.faults)
      error["faults"].push_back({{"where", place(fault)}, {"message", fault.message}});
  }
  if (problem.code == "doubtful") error["confirm"] = "sure";
  if (!problem.holds.is_null()) error["holds"] = problem.holds;
  if (!problem.stored.is_null()) error["stored"] = problem.stored;
  return {{"error", std::move(error)}};
}

http::Response json_response(const Json& json, int status) {
  http::Response response;
  response.status = status;
  response.with("Content-Type", "application/json; charset=utf-8").with("Cache-Control", "no-store");
  response.body = json.dump(-1, ' ', false, Json::error_handler_t::replace);
  return response;
}

http::Response response_of(const Problem& problem) {
  http::Response response = json_response(json_of(problem), problem.status);
  if (problem.status == 503) response.with("Retry-After", "1");
  return response;
}

std::string code_of_status(int status) {
  switch (status) {
    case 400: return "malformed";
    case 403: return "cross_site";
    case 404: return "not_found";
    case 405: return "method_not_allowed";
    case 413: return "too_large";
    case 414: return "address_too_long";
    case 415: return "unsupported_type";
    case 431: return "headers_too_large";
    case 503: return "busy";
    default: return "internal";
  }
}

}  // namespace ullage::server
