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
  // An error of the use cases: its lines become faults, "--reps: ..." and "--reps 7: ..." a fault in `reps`.
  Problem(const Error& error);  // NOLINT: meant to convert
};

template <class T>
using Outcome = tl::expected<T, Problem>;

// What the use cases say, without the options of the command line: "--moved-from 2026-03-10" is "moved_from
// 2026-03-10", what stands in brackets about an option goes, and so does ": ullage ...".
std::string without_options(std::string text);

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
