// A whole session typed in one line, in plain words: what a filled paper sheet says.
//
//   bench press: 100 kg x 8 left 2; x 8 left 1; x 7 failed; rest 180 s; row: 60 kg x 10 left 3
//
// Pieces are parted by semicolons or line ends. A piece with a colon begins an exercise. A set is LOAD x REPS and
// words: "left 2" (how many more the lifter had), "failed" (one more rep was tried), "pain", "left side", "right side",
// "both sides", "rest 180 s" (before this set; also min and 3:00), "warmup", "test", "note" with a text in double
// quotes. Load and side of the set before carry on within the exercise. "rest" in a piece of its own holds for every
// set of the exercise but the first, where the set says none. Numbers may have a decimal comma or point.
// docs/log-format.md has it for people.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "engine/training/set_record.h"

namespace ullage::interchange {

struct LineSet {
  std::string exercise;         // as typed
  std::size_t exercise_at = 0;  // byte of the text where it stands
  std::size_t at = 0;           // byte where the set begins
  SetRecord set;                // load, reps, called, failed, rest_s, side, kind, pain, note
};

struct LineFault {
  std::size_t at = 0;    // byte of the text; its size: the end
  std::string expected;  // "a number of reps after x"
};

struct SessionLine {
  std::vector<LineSet> sets;
  std::vector<LineFault> faults;  // at most one a piece, in order
};

inline constexpr std::size_t kLongestSessionLine = 100000;  // bytes
inline constexpr std::size_t kMostSetsInLine = 500;

// `unit`: of loads that name none.
SessionLine parse_session_line(std::string_view text, Unit unit);

// Two or three lines: the typed line in which the fault is (shortened around it to `width` letters), a caret below the
// character, and what was expected there.
std::string fault_picture(std::string_view text, const LineFault& fault, std::size_t width = 76);

// The session as such a line: parse_session_line(session_line_text(sets)) gives the same sets.
std::string session_line_text(const std::vector<LineSet>& sets);

}  // namespace ullage::interchange
