// Errors are values with a small closed set of codes. Exceptions mean a fault in the program.
//
//   Result<int> halve(int n) {
//     if (n % 2) return fail(Code::invalid_input, "an even number was expected, got " + std::to_string(n));
//     return n / 2;
//   }
#pragma once

#include <string>
#include <tl/expected.hpp>
#include <utility>

namespace ullage {

// What kind of thing went wrong. Mapped once to exit codes (cli/exit_codes.h) and HTTP statuses.
enum class Code {
  invalid_input,  // the caller's data or options: says where and what was expected
  not_found,      // named thing does not exist
  conflict,       // would overwrite or double something
  not_allowed,    // safety hold or permission: says what would lift it
  unavailable,    // busy, locked, missing tool: trying again may help
  newer_version,  // the data file was written by a newer program
  corrupt,        // the data file is damaged
  cancelled,      // stopped by the user
  internal        // a fault in the program
};

struct Error {
  Code code = Code::internal;
  std::string message;  // one line per fault, plain words
};

template <class T>
using Result = tl::expected<T, Error>;

inline tl::unexpected<Error> fail(Code code, std::string message) {
  return tl::unexpected<Error>(Error{code, std::move(message)});
}

}  // namespace ullage
