#include "service/toml/read_toml.h"

#include <utility>

namespace ullage {
namespace {

// Line of the first byte that is not ASCII and stands neither in quotes nor in a comment; 0: none. TOML allows none
// there, and the library's test for blanks is undefined for U+00A1 to U+0499; found by fuzzing.
int unquoted_letter_line(std::string_view toml) {
  int line = 1;
  std::string_view closing;  // of the string or comment we are in; empty outside
  for (std::size_t at = 0; at < toml.size(); ++at) {
    const char c = toml[at];
    const std::string_view three = toml.substr(at, 3);
    const bool one_line = closing.size() == 1;
    if (c == '\n') {
      ++line;
      if (one_line) closing = {};
    } else if (closing.empty()) {
      if (static_cast<unsigned char>(c) >= 0x80) return line;
      if (three == "\"\"\"" || three == "'''") {
        closing = three;
        at += 2;
      } else if (c == '"' || c == '\'') {
        closing = toml.substr(at, 1);
      } else if (c == '#') {
        closing = "\n";
      }
    } else if (c == '\\' && closing[0] == '"') {
      if (at + 1 < toml.size() && toml[at + 1] != '\n') ++at;
    } else if (toml.substr(at, closing.size()) == closing) {
      at += closing.size() - 1;
      // Two more quotes may stand directly before the closing three.
      for (int more = 0; !one_line && more < 2 && at + 1 < toml.size() && toml[at + 1] == closing[0]; ++more) ++at;
      closing = {};
    }
  }
  return 0;
}

}  // namespace

tl::expected<toml::table, TomlFault> read_toml(std::string_view text) {
  if (text.substr(0, 3) == "\xEF\xBB\xBF") text.remove_prefix(3);
  if (const int line = unquoted_letter_line(text); line != 0) {
    return tl::unexpected(TomlFault{line, "letters other than a to z must stand in quotes"});
  }
  toml::parse_result parsed = toml::parse(text);
  if (!parsed) {
    const toml::parse_error& error = parsed.error();
    return tl::unexpected(TomlFault{static_cast<int>(error.source().begin.line), std::string(error.description())});
  }
  return std::move(parsed).table();
}

}  // namespace ullage
