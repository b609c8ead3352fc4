#include "service/toml/read_toml.h"

#include <utility>

namespace ullage {

tl::expected<toml::table, TomlFault> read_toml(std::string_view text) {
  toml::parse_result parsed = toml::parse(text);
  if (!parsed) {
    const toml::parse_error& error = parsed.error();
    return tl::unexpected(TomlFault{static_cast<int>(error.source().begin.line), std::string(error.description())});
  }
  return std::move(parsed).table();
}

}  // namespace ullage
