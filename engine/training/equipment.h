// What can be loaded at a place: bars, plate pairs, dumbbells, stacks; and which loads that makes.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "engine/base/units.h"
#include "engine/training/exercise.h"

namespace ullage {

struct Bar {
  std::string id;  // "olympic", "short", "trap"
  Load mass;       // bar with the collars that are put on it
  bool operator==(const Bar&) const = default;
};

struct PlatePairs {
  Load plate;     // mass of one plate, in its own unit
  int pairs = 0;  // how many pairs there are
  bool operator==(const PlatePairs&) const = default;
};

struct Stack {
  std::string exercise;     // exercise id, or "" for every stack exercise without its own
  std::vector<Load> steps;  // loads the pin can select, rising; may be uneven or marks
  bool operator==(const Stack&) const = default;
};

struct Place {
  std::string id;  // "boathouse"
  std::string name;
  Unit unit = Unit::kilogram;
  std::vector<Bar> bars;
  std::vector<PlatePairs> plates;
  std::vector<Load> dumbbells;  // each a pair
  std::vector<Load> kettlebells;
  std::vector<Stack> stacks;
  std::vector<std::string> without;  // exercises that cannot be done here
  bool safety_bars = false;          // spotters or safety bars confirmed
  bool operator==(const Place&) const = default;
};

// A load that can be put together, and how.
struct Buildable {
  Load load;                   // as written in a log for this exercise (whole bar, one dumbbell, ...)
  std::vector<Load> per_side;  // plates on each side, heaviest first; empty for other implements
};

// Every load that can be built for this exercise at this place, rising, without doubles (loads within
// 1 g of each other count as one: the one with the fewest plates stays). `unit` is used for loads made
// of parts in different units. Fails with not_found when the place lacks the implement: says which.
//
// Barbells: the bar of the exercise's kind, else the place's first, and pairs of plates. Plate-loaded
// machines: pairs alone (the empty machine is in offset_kg). Stacks: the exercise's own before the general
// one. Added mass: 0 and upward from single plates, and below 0 the steps of its stack as assistance where
// body mass counts. Bands and body weight: 0 alone. Nothing hung counts as a load only when something else
// is lifted. At most 500 kg a side. Plates that are no whole number of quarters of the place's unit (the
// other unit, or weighed one by one) can make endless sums: above 4 000 those with such a plate are thinned
// to one for every 50 g a side (discs themselves may be off by more: T09-043); the others stay complete.
// Cost: bounded by (sum of pairs) * distinct masses, a few thousand for a large gym.
Result<std::vector<Buildable>> buildable_loads(const Place& place, const Exercise& exercise, Unit unit);

// The place assumed when the coach has described none: one 20 kg bar, pairs 25 20 15 10 5 2.5 1.25,
// dumbbells 2.5-50 in 2.5, stacks 5-100 in 5 kg. Common practice, no source.
Place plain_gym();

// "20 + 15 + 5" or "empty bar"; with units when mixed.
std::string plates_text(const std::vector<Load>& per_side, Unit unit);

}  // namespace ullage
