// The vessel: one set as a glass that is filled as far as the set goes. Its wall ends where failure lies, a tick inside
// for every rep, the rim open; the doubt about failure is a haze that fades out above and below its median.
//
//   draw_vessel(picture, {40, 200}, {.reps = 8, .planned = true, .low = 9, .median = 10, .high = 12}, scale);
//
// A vessel is always one set, never a person, a day or a muscle. Colour is never alone: reps stand as a number, the rim
// as a line, a call as a pointer, a miss as a broken rim.
#pragma once

#include <optional>
#include <string>

#include "engine/drawing/picture.h"

namespace ullage::drawing {

struct VesselSet {
  double reps = 0;      // filled as far as that
  bool done = false;    // else planned: pale
  bool missed = false;  // done, and one more rep was tried and not completed: the rim is broken
  bool part = false;    // a set done only in some sessions: the wall is dashed
  double low = 0, median = 0,
         high = 0;               // failure, in reps, with its 80 % interval; 0: not known, no wall above the fill
  std::optional<double> called;  // what the lifter called, reps above the fill
  std::string inside;            // number in the glass, such as "8"
  std::string below;             // a line under the glass, such as "set 1" or "100 kg"
};

struct VesselScale {
  double width = 34;      // of the glass
  double rep_height = 8;  // of one rep
};

// Glass of `set` with its floor's left end at `floor`. What stands above it: height(set, scale); below: kVesselBelow.
void draw_vessel(Picture& picture, At floor, const VesselSet& set, const VesselScale& scale = {});
double vessel_height(const VesselSet& set, const VesselScale& scale = {});
inline constexpr double kVesselBelow = 20;

// What the parts of the drawing mean, in one line of words.
std::string vessel_words();

}  // namespace ullage::drawing
