// The open log: any bytes. Sets that are accepted lie within the limits, and writing them and reading
// them again gives the same sets. The same bytes also go through the offer of a mapping.
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fuzz/require.h"
#include "service/interchange/read_log.h"
#include "service/interchange/suggest_mapping.h"
#include "service/interchange/utf8.h"
#include "service/interchange/write_log.h"

namespace {

using namespace ullage;
using namespace ullage::interchange;

struct Reading {
  bool readable = false;
  LogSummary summary;
  std::vector<LoggedSet> sets;
};

Reading read(std::string_view bytes, const ReadLogOptions& options) {
  Reading reading;
  StringSource source(bytes);
  auto summary = read_log(source, options, [&](LoggedSet&& set) { reading.sets.push_back(std::move(set)); });
  if (!summary) {
    REQUIRE(!summary.error().message.empty());
    REQUIRE(first_invalid_utf8(summary.error().message) == std::string_view::npos);
    return reading;
  }
  reading.readable = true;
  reading.summary = std::move(*summary);
  REQUIRE(reading.summary.sets == reading.sets.size());
  REQUIRE((reading.summary.bad_rows > 0) == (reading.summary.fault_count > 0));
  for (const Fault& fault : reading.summary.faults) {
    const std::string text = fault_text(fault);
    REQUIRE(fault.line > 0 && first_invalid_utf8(text) == std::string_view::npos);
    REQUIRE(text.find('\n') == std::string::npos);
  }
  return reading;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  ReadLogOptions options;
  options.today = *make_date(2026, 3, 10);
  options.lifter = "someone";
  const Reading reading = read(bytes, options);
  for (const LoggedSet& logged : reading.sets) {
    const SetRecord& set = logged.set;
    REQUIRE(set.reps >= 0 && set.reps <= kMostReps);
    REQUIRE(std::fabs(kilograms(set.load).value) <= kHeaviestLoadKg);
    REQUIRE(set.date <= options.today + 1 && set.date >= *make_date(kEarliestYear, 1, 1));
    REQUIRE(!set.exercise.empty() && !logged.lifter.empty());
  }
  if (!reading.sets.empty()) {
    std::vector<SetRecord> all;
    for (const LoggedSet& logged : reading.sets) all.push_back(logged.set);
    std::string text;
    LogWriter writer([&](std::string_view piece) { text += piece; }, extra_columns(all));
    for (const LoggedSet& logged : reading.sets) writer.write(logged.lifter, logged.set);
    const Reading again = read(text, options);
    REQUIRE(again.readable && again.summary.fault_count == 0);
    REQUIRE(again.sets.size() == reading.sets.size());
    for (std::size_t i = 0; i < all.size(); ++i) {
      REQUIRE(again.sets[i].set == all[i] && again.sets[i].lifter == reading.sets[i].lifter);
    }
  }
  StringSource source(bytes);
  const auto suggestion = suggest_mapping(source, options);
  if (suggestion) {
    const auto mapping = parse_mapping(mapping_text(suggestion->mapping));
    REQUIRE(mapping && *mapping == suggestion->mapping);
    options.mapping = &*mapping;
    read(bytes, options);
  }
  return 0;
}
