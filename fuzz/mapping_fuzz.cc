// Mappings: any text up to a line "----" is the mapping, what follows is a table read through it.
// A mapping that is accepted comes back the same from its text.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "fuzz/require.h"
#include "service/interchange/mapping.h"
#include "service/interchange/read_log.h"
#include "service/interchange/utf8.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace ullage;
  using namespace ullage::interchange;
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const std::size_t line = bytes.find("----\n");
  const auto mapping = parse_mapping(bytes.substr(0, line));
  if (!mapping) {
    REQUIRE(!mapping.error().message.empty());
    REQUIRE(first_invalid_utf8(mapping.error().message) == std::string_view::npos);
    return 0;
  }
  const auto again = parse_mapping(mapping_text(*mapping));
  REQUIRE(again && *again == *mapping);
  if (line == std::string_view::npos) return 0;
  StringSource source(bytes.substr(line + 5));
  ReadLogOptions options;
  options.today = *make_date(2026, 3, 10);
  options.mapping = &*mapping;
  std::uint64_t sets = 0;
  const auto summary = read_log(source, options, [&](LoggedSet&& set) {
    ++sets;
    REQUIRE(!set.lifter.empty() && !set.set.exercise.empty());
  });
  if (summary) REQUIRE(summary->sets == sets);
  return 0;
}
