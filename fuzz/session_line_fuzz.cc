// The line of a whole session: any bytes. What is understood comes back the same when it is written out; what is not is
// pointed at.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "fuzz/require.h"
#include "service/interchange/compact_sets.h"
#include "service/interchange/session_line.h"
#include "service/interchange/utf8.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace ullage;
  using namespace ullage::interchange;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const SessionLine line = parse_session_line(text, Unit::kilogram);
  for (const LineFault& fault : line.faults) {
    REQUIRE(fault.at <= text.size() || fault.at == kLongestSessionLine);
    const std::string picture = fault_picture(text, fault);
    REQUIRE(picture.find("^ " + fault.expected) != std::string::npos);
    REQUIRE(first_invalid_utf8(picture) == std::string_view::npos);
  }
  if (line.faults.empty()) {
    REQUIRE(!line.sets.empty());
    bool plain = true;  // a name that holds the grammar's own signs cannot be written back
    for (const LineSet& set : line.sets) {
      plain = plain && set.exercise.find_first_of(",;:\"\n\r") == std::string::npos &&
              set.set.note.find('\r') == std::string::npos;
    }
    if (plain) {
      const SessionLine again = parse_session_line(session_line_text(line.sets), Unit::pound);
      REQUIRE(again.faults.empty() && again.sets.size() == line.sets.size());
      for (std::size_t i = 0; i < line.sets.size(); ++i) {
        REQUIRE(again.sets[i].set == line.sets[i].set && again.sets[i].exercise == line.sets[i].exercise);
      }
    }
  }
  // The cells of spreadsheets that hold several sets.
  for (const bool comma : {false, true}) {
    std::vector<CompactSet> sets;
    CompactForm form;
    if (size > 0 && data[0] % 2 == 0) form.effort = CompactForm::Effort::rpe;
    if (const auto fault = parse_compact(text, form, comma, sets)) {
      REQUIRE(fault->at <= text.size() && !fault->expected.empty());
    } else {
      for (const CompactSet& set : sets) REQUIRE(!set.reps.empty() && set.at < text.size());
    }
  }
  return 0;
}
