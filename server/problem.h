// Errors as the interface tells them: one shape, and one place where codes become statuses.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "server/http.h"

namespace ullage::server {

using Json = nlohmann::ordered_json;

struct Fault {
  std::string where;  // field or query parameter; empty: none
  std::string message;
};

// What went wrong, with everything the answer says about it.
struct Problem {
  int status = 500;
  std::string code = "internal";
  std::vector<Fault> faults;  // at least one
  Json holds;                 // with not_allowed: [{id, reason, lifts}]; null: none
  Json stored;                // with clash: the set; null: none

  Problem(int status_, std::string code_, std::string message, std::string where = "");
  // An error of the use cases: its lines become faults, "--reps: ..." a fault in `reps`.
  Problem(const Error& error);  // NOLINT: meant to convert
};

template <class T>
using Outcome = tl::expected<T, Problem>;

// 400 malformed; 422 with a place.
tl::unexpected<Problem> malformed(std::string message, std::string where = "");
tl::unexpected<Problem> wrong(std::string where, std::string message);
tl::unexpected<Problem> problem(const Error& error);

// {"error": {...}}
Json json_of(const Problem& problem);
http::Response response_of(const Problem& problem);
http::Response json_response(const Json& json, int status = 200);
// The code that goes with a status when nothing more is known.
std::string code_of_status(int status);

}  // namespace ullage::server
