// The one exercise of tests that need no more.
#pragma once

#include "engine/training/exercise.h"

namespace ullage::capacity {

inline Exercise bench_press() {
  Exercise e;
  e.id = e.name = "bench-press";
  e.cls = ExerciseClass::barbell_compound;
  return e;
}

}  // namespace ullage::capacity
