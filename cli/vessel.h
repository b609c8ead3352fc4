// One set as a vessel lying on its side, in one line of characters.
//
// From the floor on the left, one cell a rep: filled as far as the set goes, then what is left in reserve, then the
// soft end where failure lies with 80 %, a mark at its median. The right end is the open rim: never closed.
//
//   UTF-8   ▐▓▓▓▓▓▓▓▓··░┃░░          8 reps planned, failure after 11 (10-13)
//   ASCII   :========..~|~~
//
// Planned reps that may fail (the soft end reaches into them) are drawn thinner. A set done is filled with a darker
// cell; one that ended in a miss has a broken rim at its end.
#pragma once

#include <optional>
#include <string>

#include "engine/capacity/session_forecast.h"

namespace ullage::cli {

inline constexpr int kVesselCells = 24;

struct Vessel {
  int reps = 0;  // filled: planned or done
  bool done = false;
  bool missed = false;  // done, and one more rep was tried and not completed
  capacity::Interval capacity;
  std::optional<double> called;  // what the lifter called: a pointer this many reps on
};

// Reps a cell stands for, so that every vessel given fits: 1, 2, 3 ... Use one for all sets of an exercise.
int reps_per_cell(double most_reps);
std::string draw(const Vessel& vessel, bool utf8, int reps_per_cell = 1);
// What the characters mean, one line.
std::string vessel_key(bool utf8);

}  // namespace ullage::cli
