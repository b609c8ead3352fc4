#include "cli/vessel.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace ullage::cli {
namespace {

struct Marks {
  const char *floor, *planned, *in_doubt, *done, *reserve, *doubt, *median, *broken, *called;
};
constexpr Marks kDrawn{"▐", "▓", "▒", "█", "·", "░", "┃", "╳", "◂"};
constexpr Marks kAscii{":", "=", "-", "#", ".", "~", "|", "x", "<"};

const Marks& marks(bool utf8) { return utf8 ? kDrawn : kAscii; }

}  // namespace

int reps_per_cell(double most_reps) { return std::max(1, static_cast<int>(std::ceil(most_reps / kVesselCells))); }

std::string draw(const Vessel& v, bool utf8, int per_cell) {
  const Marks& m = marks(utf8);
  const auto cells = [&](double reps) {
    return std::clamp(static_cast<int>(std::ceil(std::floor(std::max(reps, 0.0)) / per_cell)), 0, kVesselCells);
  };
  std::string out = m.floor;
  const int filled = cells(v.reps);
  if (v.missed) {
    for (int i = 0; i < filled; ++i) out += m.done;
    return out + m.broken;
  }
  const int low = cells(v.capacity.lo80), middle = cells(v.capacity.median), high = cells(v.capacity.hi80);
  const int pointer = v.called ? std::min(cells(v.reps + *v.called), kVesselCells) : -1;
  const int end = std::max({filled, high, middle, pointer});
  for (int i = 1; i <= end; ++i) {  // cell i: the i-th rep (or group of reps)
    if (i == pointer && i > filled)
      out += m.called;
    else if (i == middle && i > filled)
      out += m.median;
    else if (i <= filled)
      out += v.done ? m.done : i > low ? m.in_doubt : m.planned;
    else if (i > low && i <= high)
      out += m.doubt;
    else
      out += i <= middle ? m.reserve : " ";
  }
  return out;
}

std::string vessel_key(bool utf8) {
  const Marks& m = marks(utf8);
  return std::string("Each line: ") + m.planned + " planned (" + m.in_doubt + " may fail), " + m.done + " done, " +
         m.reserve + " in reserve, " + m.doubt + " where failure lies (80 %), " + m.median + " its middle";
}

}  // namespace ullage::cli
