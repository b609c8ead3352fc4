// For tests: invented lifters as sets of possibilities, with doubt chosen by the test.
#pragma once

#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "engine/base/random.h"
#include "engine/capacity/draws.h"
#include "engine/planning/session_plan.h"

namespace ullage::planning::testing {

// Doubt of an estimate: sds on natural-log scale, judgement in reps.
struct Doubt {
  double strength = 0.02;  // one lift, on top of the day
  double day = 0.012;      // shared by the lifts
  double endurance = 0.12;
  double fatigue = 0.3;  // of A_fast and A_slow
  double bias = 0.4;
  double gain = 0.1;
};
inline constexpr Doubt kNoDoubt{0, 0, 0, 0, 0, 0};
inline constexpr Doubt kWellKnown{};
inline constexpr Doubt kLittleKnown{0.06, 0.012, 0.25, 0.5, 0.7, 0.25};

struct TestLift {
  Exercise exercise;
  double strength = 100;  // kg total
  double endurance = 32;
  bool known = true;
  double extra_doubt = 0;  // of log strength
};

inline Exercise make_exercise(std::string id, ExerciseClass cls, Implement implement,
                              std::vector<std::pair<Muscle, double>> muscles) {
  Exercise e;
  e.id = id;
  e.name = std::move(id);
  e.cls = cls;
  e.implement = implement;
  for (const auto& [muscle, share] : muscles) e.involvement[static_cast<std::size_t>(muscle)] = share;
  return e;
}

inline Exercise bench() {
  Exercise e = make_exercise("bench", ExerciseClass::barbell_compound, Implement::barbell,
                             {{Muscle::chest, 1}, {Muscle::triceps, 0.5}, {Muscle::front_shoulder, 0.5}});
  e.needs_spotter = true;
  return e;
}
inline Exercise squat() {
  Exercise e = make_exercise("squat", ExerciseClass::barbell_compound, Implement::barbell,
                             {{Muscle::quadriceps, 1}, {Muscle::glutes, 1}, {Muscle::lower_back, 0.5}});
  e.needs_spotter = true;
  return e;
}
inline Exercise pulldown() {
  return make_exercise("pulldown", ExerciseClass::supported_compound, Implement::stack,
                       {{Muscle::lats, 1}, {Muscle::biceps, 0.5}});
}
inline Exercise leg_press() {
  return make_exercise("leg-press", ExerciseClass::supported_compound, Implement::stack,
                       {{Muscle::quadriceps, 1}, {Muscle::glutes, 0.5}});
}
inline Exercise curl() {
  return make_exercise("curl", ExerciseClass::isolation, Implement::dumbbell, {{Muscle::biceps, 1}});
}
inline Exercise pushdown() {
  return make_exercise("pushdown", ExerciseClass::isolation, Implement::stack, {{Muscle::triceps, 1}});
}

inline capacity::LifterDraws sample(const std::vector<TestLift>& lifts, const Doubt& doubt, int n, std::uint64_t seed,
                                    const capacity::Judgement& judgement = {},
                                    const capacity::FatigueConstants& fatigue = {}, double sigma = 0.025) {
  Random random(seed);
  capacity::LifterDraws out;
  out.day = Date{20000};
  for (const TestLift& from : lifts) {
    capacity::LiftInfo info;
    info.exercise = from.exercise.id;
    info.cls = from.exercise.cls;
    info.shape = from.exercise.cls == ExerciseClass::isolation ? 0.2 : 1;
    info.body_mass_kg = 80;
    info.known = from.known;
    out.info.push_back(info);
    out.overlap.emplace_back();
    for (const TestLift& to : lifts) {
      const bool same = from.exercise.id == to.exercise.id;
      out.overlap.back().push_back(same ? 1
                                        : std::min(1.0, overlap(from.exercise, to.exercise) + capacity::kSystemicPart));
    }
  }
  for (int i = 0; i < n; ++i) {
    capacity::Draw d;
    const double day = random.normal(0, doubt.day);
    for (const TestLift& lift : lifts) {
      const double sd = std::hypot(doubt.strength, lift.extra_doubt);
      d.lifts.push_back({std::log(lift.strength) + day + random.normal(0, sd),
                         std::max(6.0, lift.endurance * std::exp(random.normal(0, doubt.endurance))), 0});
    }
    d.fatigue = fatigue;
    d.fatigue.a_fast *= std::exp(random.normal(0, doubt.fatigue));
    d.fatigue.a_slow *= std::exp(random.normal(0, doubt.fatigue));
    d.judgement = judgement;
    d.judgement.bias += random.normal(0, doubt.bias);
    d.judgement.gain *= std::exp(random.normal(0, doubt.gain));
    d.sigma = sigma;
    out.draws.push_back(std::move(d));
  }
  return out;
}

// Loads from..to in steps, as plates would make them (no plates listed).
inline std::vector<Buildable> loads(double from, double to, double step) {
  std::vector<Buildable> out;
  for (int i = 0; from + step * i <= to + 1e-9; ++i) out.push_back({{from + step * i, Unit::kilogram}, {}});
  return out;
}

}  // namespace ullage::planning::testing
