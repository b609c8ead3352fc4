// TOML that people may read and edit afterwards.
#pragma once

#include <string>
#include <string_view>

namespace ullage {

// The text as a TOML string on one line: in quotes, with quotes, backslashes and control characters escaped. Valid TOML
// when the text is valid UTF-8.
std::string toml_text(std::string_view text);

}  // namespace ullage
