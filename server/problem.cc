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

// "--rest: 5 is outside" is about the field `rest_s`, "date: ..." about `date`.
Fault fault_of(std::string line) {
  const std::size_t colon = line.find(": ");
  if (colon == std::string::npos || colon == 0 || colon > 40) return {"", std::move(line)};
  std::string where = line.substr(0, colon);
  const bool option = where.rfind("--", 0) == 0;
  if (option) where.erase(0, 2);
  std::replace(where.begin(), where.end(), '-', '_');
  const bool word = std::all_of(where.begin(), where.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || c == '_' || c == '.' || (c >= '0' && c <= '9');
  });
  if (!word || (!option && where.find('_') == std::string::npos && where != "date" && where != "with"))
    return {"", std::move(line)};
  if (option) {
    if (where == "rest") where = "rest_s";
    if (where == "speed") where = "last_rep_speed";
    if (where == "called") where = "called_reserve";
  }
  return {std::move(where), line.substr(colon + 2)};
}

}  // namespace

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
