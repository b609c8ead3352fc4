// Stored estimates: any bytes. What is accepted is written back the same and can be drawn from.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "engine/capacity/posterior.h"
#include "fuzz/require.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace ullage;
  using namespace ullage::capacity;
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const auto posterior = deserialise(bytes);
  if (!posterior) {
    REQUIRE(!posterior.error().message.empty());
    return 0;
  }
  REQUIRE(serialise(*posterior) == bytes);
  std::vector<Posterior::Wanted> wanted(1);
  wanted[0].exercise.id = "never-done";
  for (const LiftSummary& lift : posterior->lifts) {
    if (wanted.size() == 4) break;
    wanted.emplace_back();
    wanted.back().exercise.id = lift.exercise;
    wanted.back().exercise.cls = lift.cls;
    wanted.back().side = lift.side;
  }
  for (const int ahead : {0, 30}) {
    const LifterDraws draws = posterior->draw(wanted, posterior->as_of + ahead, 75, 100, 1);
    REQUIRE(draws.draws.size() == 100 && draws.info.size() == wanted.size());
  }
  return 0;
}
