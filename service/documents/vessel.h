// Sets drawn as vessels for paper, and what hangs on a bar: small SVG pieces to stand inside a page.
//
// A vessel is one set: as high as the reps to failure, filled as far as it is planned or done, a tick a rep on its
// wall. The empty part is what is left in reserve. Where failure lies with 80 % the walls fade and the ground is
// tinted; a dark line is its median. There is no lid: failure is never a fixed line.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/documents/document.h"

namespace ullage::documents {

struct Vessel {
  double reps = 0;                       // planned, or done
  double low = 0, median = 0, high = 0;  // reps to failure, 80 %
  bool done = false;                     // else planned
  bool missed = false;                   // a rep was tried and not completed
  std::optional<double> called;          // reserve as called
  std::string label;                     // below it: the number of the set
};

// A row of vessels standing beside each other on one floor; all have one scale, the highest is `height_mm` high. `says`
// is read aloud instead of the picture.
Drawing vessels_drawing(const std::vector<Vessel>& vessels, double height_mm, const std::string& says);

struct Plate {
  double kilograms = 0;  // for its size
  std::string text;      // number written on it, in its own unit
};
// One side of a bar: sleeve and plates from the inside out, all in one ink. A plate's height goes with the square root
// of its mass, as discs of one thickness do.
Drawing bar_drawing(const std::vector<Plate>& plates, const std::string& says);

}  // namespace ullage::documents
