// Reserve policy: how close to failure the sets of each exercise class should end, and when a set
// may go all the way. Defaults are common practice in the trade, no source; the coach edits them.
#pragma once

#include <array>
#include <optional>

#include "engine/training/exercise.h"

namespace ullage {

struct ClassPolicy {
  double least_reserve = 1;  // a band "1-2" means 1 <= true reserve < 3
  double most_reserve = 2;
  bool last_set_failure = false;  // failure allowed on the last set of an exercise
  int failure_every_days = 0;     // at most one failure set in this many days; 0 = never
  int test_every_days = 56;       // least spacing of rep-max tests
  double miss_limit = 0.15;       // highest chance of a miss of any one set (assumption)
  int least_reps = 5;             // rep zone
  int most_reps = 12;
  double rest_s = 120;  // usual rest between sets
  int sets = 3;
};

struct ReservePolicy {
  std::array<ClassPolicy, 3> by_class{ClassPolicy{2, 4, false, 0, 56, 0.05, 4, 8, 180, 3},
                                      ClassPolicy{1, 2, true, 21, 56, 0.15, 6, 12, 120, 3},
                                      ClassPolicy{1, 1, true, 7, 56, 0.25, 8, 15, 90, 3}};
  // Light isolation sets (below this share of 1RM) must end within `light_most_reserve`.
  double light_share = 0.5;
  double light_most_reserve = 3;

  const ClassPolicy& of(ExerciseClass cls) const { return by_class[static_cast<std::size_t>(cls)]; }
  ClassPolicy& of(ExerciseClass cls) { return by_class[static_cast<std::size_t>(cls)]; }
};

}  // namespace ullage
