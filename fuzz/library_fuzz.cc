// The exercise library: any text as a library and as a coach's edits of one. A library that is accepted comes back the
// same from its text, and every name in it means its own exercise.
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "fuzz/require.h"
#include "service/library/library.h"

namespace {

using namespace ullage;
using library::Library;

void check(const Library& read) {
  for (const Exercise& exercise : read.all()) {
    REQUIRE(read.find(exercise.id) == &exercise);
    REQUIRE(read.resolve(exercise.id).exercise == &exercise);
    REQUIRE(read.resolve(exercise.name).exercise == &exercise);
    for (const std::string& alias : exercise.aliases) REQUIRE(read.resolve(alias).exercise == &exercise);
  }
  const std::string text = library::library_toml(read.all());
  const auto again = Library::parse(text);
  REQUIRE(again && again->all().size() == read.all().size());
  REQUIRE(library::library_toml(again->all()) == text);
}

const Library& edited() {
  static const Library library = *Library::parse(R"([[exercise]]
id = "bench-press"
name = "bench press"
aliases = ["bench"]
class = "barbell compound"
implement = "barbell"
muscles = { chest = 1, triceps = 0.5 }
)");
  return library;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  for (const auto& read : {Library::parse(text), edited().with(text)}) {
    if (read) {
      check(*read);
    } else {
      REQUIRE(!read.error().message.empty());
    }
  }
  const library::Resolution found = edited().resolve(text.substr(0, 200));
  REQUIRE(found.exercise == nullptr || found.nearest.empty());
  return 0;
}
