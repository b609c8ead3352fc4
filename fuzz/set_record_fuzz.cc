// The words of a log: what is read is written back and read as the same, whatever the bytes.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "engine/training/set_record.h"
#include "fuzz/require.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace ullage;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  if (const auto call = parse_call(text)) {
    REQUIRE(call->reserve >= 0 && call->reserve <= 10 && call->reserve * 2 == static_cast<int>(call->reserve * 2));
    REQUIRE(parse_call(call_text(*call)) == call);
  }
  if (const auto side = parse_side(text)) REQUIRE(parse_side(side_name(*side)) == side);
  if (const auto kind = parse_kind(text)) REQUIRE(parse_kind(kind_name(*kind)) == kind);
  if (const auto stop = parse_stop(text)) REQUIRE(parse_stop(stop_name(*stop)) == stop);
  if (const auto extra = parse_extra_kind(text)) REQUIRE(parse_extra_kind(extra_kind_name(*extra)) == extra);
  return 0;
}
