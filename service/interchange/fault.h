// What is wrong with one place of a table that was read, in words its owner can act on.
//
//   fault_text({12, "reps", "-3", "a whole number of 0 or more"})
//     == "line 12, column reps: \"-3\" is not a whole number of 0 or more"
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace ullage::interchange {

struct Fault {
  std::uint64_t line = 0;  // line of the file, the first is 1; 0: the file as a whole
  std::string column;      // name in the header, or "column 3" where there is none; empty: the whole row
  std::string value;       // what stands there
  std::string expected;    // what should: the end of '"<value>" is not ...'
  std::string problem;     // said instead where that sentence does not fit
  std::string place{};     // "Week 3!D14": where it stands in a workbook; empty: see line
  bool operator==(const Fault&) const = default;
};

// One line of text. A long value is shortened and line breaks in it are shown as spaces.
std::string fault_text(const Fault& fault);

// `text` as it may stand in a one-line message: valid UTF-8 (others become U+FFFD), no control
// characters, at most `limit` bytes and "...".
std::string printable(std::string_view text, std::size_t limit = 60);
// The same in quotes.
std::string in_quotes(std::string_view text, std::size_t limit = 60);

}  // namespace ullage::interchange
