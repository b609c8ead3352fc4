// Texts of the command line that stand alone, in one place.
#pragma once

#include <string>
#include <string_view>

namespace ullage::cli::words {

inline constexpr std::string_view kWhatItIs =
    "Estimates what each lifter can do from their training log, and writes the next session so that every set ends as "
    "close to failure as you want it.";
inline constexpr std::string_view kNotMedical =
    "Not medical advice: clinicians, local rules and the rules of the facility come first.";
inline constexpr std::string_view kNothingChanged = "nothing changed: that is how it stands already";
inline constexpr std::string_view kMostlyAssumed = "mostly assumed";
inline constexpr std::string_view kPlainGym =
    "No place is described: a plain gym is assumed. Describe yours with \"place add\" for loads that can be built "
    "there.";

// What a family of commands ("lifter") is for.
std::string_view family_help(std::string_view family);
// "Says 1, has about 2": the headline of a judgement.
std::string judgement_headline(double called, int has);

}  // namespace ullage::cli::words
