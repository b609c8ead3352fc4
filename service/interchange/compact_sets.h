// Reads cells in which coaches write several sets: "100x8, 100x8, 102.5x6", "BW+10 x 8 @8", "60 kg x 10/10/9".
//
// Sets are parted by , ; / or a new line (with a decimal comma, by a comma only when a blank follows). Within a set
// numbers are parted by x; what they are is the mapping's word, load and reps unless it says otherwise. A single number
// is reps; the load before it in the cell carries on, else the row's load holds. A number after @ is effort, as RPE or
// as reserve as the mapping says; "RPE 8" and "RIR 2" say so themselves. F or fail: one more rep was tried. BW is body
// weight (0 added). What stands in round brackets is a note. A lone hyphen is no set.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace ullage::interchange {

enum class SetPart { load, reps, sets };

struct CompactForm {
  std::vector<SetPart> order{SetPart::load, SetPart::reps};
  enum class Effort { not_said, rpe, reserve } effort = Effort::not_said;
  bool operator==(const CompactForm&) const = default;
};

struct CompactSet {
  std::string load;    // "100", "225 lb", as written; empty: the row's load
  std::string reps;    // as written
  std::string effort;  // number as written; empty: none
  bool effort_is_rpe = false;
  bool failed = false;
  std::string note;
  std::size_t at = 0;  // where it begins in the cell
  std::string text;    // itself, as written
};

struct CompactFault {
  std::size_t at = 0;    // byte of the cell
  std::string found;     // what stands there
  std::string expected;  // the end of '"<found>" is not ...'
};

inline constexpr std::size_t kMostSetsInCell = 50;

// Adds the sets of the cell to `sets`; the fault, when it cannot be read.
std::optional<CompactFault> parse_compact(std::string_view cell, const CompactForm& form, bool decimal_comma,
                                          std::vector<CompactSet>& sets);

// "load x reps", "sets x reps x load", ...; empty optional for anything else.
std::optional<std::vector<SetPart>> parse_set_order(std::string_view text);
std::string set_order_text(const std::vector<SetPart>& order);

}  // namespace ullage::interchange
