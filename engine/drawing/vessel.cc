#include "engine/drawing/vessel.h"

#include <algorithm>
#include <cmath>

namespace ullage::drawing {
namespace {

constexpr double kCorner = 6;    // radius at the floor
constexpr int kCornerParts = 4;  // pieces of its arc
constexpr int kHazeParts = 10;   // strips of the haze
constexpr double kRimOver = 4;   // the median's line sticks out so far on both sides
constexpr double kTick = 5;
constexpr double kPi = 3.14159265358979323846;

// Floor with its rounded corners from the left wall to the right, raised by `inset` and narrowed by it.
std::vector<At> floor_line(At floor, double width, double inset) {
  std::vector<At> out;
  const double r = kCorner - inset;
  const At left{floor.x + kCorner, floor.y - kCorner}, right{floor.x + width - kCorner, floor.y - kCorner};
  for (int i = 0; i <= kCornerParts; ++i) {
    const double turn = kPi / 2 * i / kCornerParts;
    out.push_back({left.x - r * std::cos(turn), left.y + r * std::sin(turn)});
  }
  for (int i = kCornerParts; i >= 0; --i) {
    const double turn = kPi / 2 * i / kCornerParts;
    out.push_back({right.x + r * std::cos(turn), right.y + r * std::sin(turn)});
  }
  return out;
}

}  // namespace

double vessel_height(const VesselSet& set, const VesselScale& scale) {
  return std::max({set.reps, set.high, set.median, set.reps + set.called.value_or(0)}) * scale.rep_height + 2;
}

void draw_vessel(Picture& picture, At floor, const VesselSet& set, const VesselScale& scale) {
  const double right = floor.x + scale.width;
  const auto up = [&](double reps) { return floor.y - std::max(0.0, reps) * scale.rep_height; };
  const double wall = std::max(set.median, set.reps);

  // Haze: strips that fade towards its ends, so that there is no lid.
  if (set.high > set.low) {
    for (int i = 0; i < kHazeParts; ++i) {
      const double from = set.low + (set.high - set.low) * i / kHazeParts;
      const double to = set.low + (set.high - set.low) * (i + 1) / kHazeParts;
      const double middle = (from + to) / 2;
      const double reach =
          middle < set.median ? std::max(set.median - set.low, 1e-9) : std::max(set.high - set.median, 1e-9);
      const double fade = 1 - 0.85 * std::min(1.0, std::abs(middle - set.median) / reach);
      picture.add(Box{floor.x + 1,
                      up(to),
                      scale.width - 2,
                      up(from) - up(to),
                      {Role::doubt, 1.6 * kDoubtOpacity * fade},
                      {Role::ink, 0, {}, 1}});
    }
  }
  // Fill.
  if (set.reps > 0) {
    std::vector<At> fill{{floor.x + 2, std::min(up(set.reps), floor.y - kCorner)}};
    for (const At& at : floor_line(floor, scale.width, 2)) fill.push_back(at);
    fill.push_back({right - 2, fill.front().y});
    picture.add(Area{fill, {set.done ? Role::done : Role::planned, 1}, {Role::ink, 0, {}, 1}});
  }
  // Wall, open above.
  std::vector<At> glass{{floor.x, std::min(up(wall), floor.y - kCorner)}};
  for (const At& at : floor_line(floor, scale.width, 0)) glass.push_back(at);
  glass.push_back({right, glass.front().y});
  Stroke stroke{Role::ink, 1.5, {}, 1};
  if (set.part) stroke.dash = {4, 3};
  picture.add(Line{glass, stroke});
  for (int rep = 1; rep <= static_cast<int>(wall); ++rep) {
    if (floor.y - up(rep) < kCorner) continue;
    picture.add(Line{{{floor.x + 1, up(rep)}, {floor.x + kTick, up(rep)}}, {Role::quiet, 0.75, {}, 1}});
  }
  // Where failure lies.
  if (set.median > 0) {
    const double y = up(set.median);
    if (set.missed) {
      const double third = (scale.width + 2 * kRimOver) / 3;
      for (const double from : {floor.x - kRimOver, right + kRimOver - third}) {
        picture.add(Line{{{from, y}, {from + third, y}}, {Role::harm, 2, {}, 1}});
      }
    } else {
      picture.add(Line{{{floor.x - kRimOver, y}, {right + kRimOver, y}}, {Role::median, 2, {}, 1}});
    }
  }
  if (set.called) {
    const double y = up(set.reps + *set.called);
    picture.add(Area{{{right + kRimOver, y}, {right + kRimOver + 7, y - 4}, {right + kRimOver + 7, y + 4}},
                     {Role::ink, 1},
                     {Role::ink, 0, {}, 1}});
  }
  if (!set.inside.empty()) {
    Text number;
    number.at = {floor.x + scale.width / 2 + 2, floor.y - 7};
    number.text = set.inside;
    number.anchor = Anchor::middle;
    number.strong = true;
    number.role = set.done ? Role::paper : Role::ink;
    picture.add(number);
  }
  if (!set.below.empty()) {
    picture.text({floor.x + scale.width / 2, floor.y + 16}, set.below, Anchor::middle, Role::quiet);
  }
}

std::string vessel_words() {
  return "Each glass is one set: filled with the reps, a tick a rep, empty what is left; line and haze: where failure "
         "lies (80 %).";
}

}  // namespace ullage::drawing
