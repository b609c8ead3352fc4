// The one exercise of tests that need no more, and a set of it.
#pragma once

#include "engine/training/exercise.h"
#include "engine/training/set_record.h"

namespace ullage::capacity {

inline Exercise bench_press() {
  Exercise e;
  e.id = e.name = "bench-press";
  e.cls = ExerciseClass::barbell_compound;
  return e;
}

inline SetRecord bench_set(Date day, double kg, int reps) {
  SetRecord set;
  set.date = day;
  set.exercise = "bench-press";
  set.load = {kg, Unit::kilogram};
  set.reps = reps;
  return set;
}

}  // namespace ullage::capacity
