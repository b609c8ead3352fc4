#include "cli/words.h"

#include <fmt/format.h>

#include <array>
#include <utility>

namespace ullage::cli::words {

std::string_view family_help(std::string_view family) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 16> kFamilies{{
      {"mapping", "how a table with other columns is read as a log"},
      {"lifter", "takes lifters on, shows, edits and removes them"},
      {"exercise", "the exercise library"},
      {"place", "equipment: bars, plates, dumbbells, stacks"},
      {"equipment", "the same as place"},
      {"policy", "how close to failure sets should end"},
      {"hold", "holds: nothing is prescribed until they are lifted"},
      {"word", "a clinician's word and its limits"},
      {"pain", "pain takes an exercise out until it is cleared"},
      {"log", "adds a set and prints the next one, planned again"},
      {"plan", "plans a block of weeks and follows it"},
      {"steer", "what the data ask for: lighter weeks, ways out of a stall"},
      {"template", "block templates"},
      {"evidence", "pools studies and says what they can tell"},
      {"reading", "readings of growth short of failure, from your own studies"},
      {"set", "shows, corrects and removes logged sets"},
  }};
  for (const auto& [name, help] : kFamilies) {
    if (name == family) return help;
  }
  if (family == "consent") return "a guardian's consent for a lifter under 18";
  if (family == "intake") return "health questions, asked before anything is prescribed";
  return "";
}

std::string judgement_headline(double called, int has) { return fmt::format("Says {:g}, has about {}", called, has); }

}  // namespace ullage::cli::words
