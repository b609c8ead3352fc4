// Reads TOML that people write by hand. The one place that sets up and calls the TOML library, so that every folder
// sees it built the same way, with the guards it needs against faulty text.
//
//   const auto table = read_toml("name = \"bench press\"");
//   if (!table) std::cerr << "line " << table.error().line << ": " << table.error().problem;
//
// Include this instead of toml++/toml.h.
#pragma once

#define TOML_EXCEPTIONS 0
#define TOML_HEADER_ONLY 1
// The library asserts, or tells the compiler to assume, in places where faulty text leads it, such as [?], although
// the code that follows reports such text well.
#include <toml++/impl/preprocessor.h>
#undef TOML_ASSERT
#undef TOML_ASSERT_ASSUME
#define TOML_ASSERT(expression) static_assert(true)
#define TOML_ASSERT_ASSUME(expression) static_assert(true)
#include <toml++/toml.h>

#include <string>
#include <string_view>
#include <tl/expected.hpp>

namespace ullage {

struct TomlFault {
  int line = 0;         // from 1
  std::string problem;  // as the library puts it: may hold any bytes of the text
};

// Any bytes; a byte order mark is passed over. Letters other than ASCII must stand in quotes or comments, as TOML says.
// Cost: linear in the text.
tl::expected<toml::table, TomlFault> read_toml(std::string_view text);

}  // namespace ullage
