// What an exercise is: how its load counts, which muscles it works, how it is judged.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/units.h"

namespace ullage {

// Class of an exercise; decides the default reserve policy and the shape of the endurance curve.
enum class ExerciseClass {
  barbell_compound,    // free-bar squats, pulls and presses
  supported_compound,  // machines, dumbbell and cable compounds, partial-range pulls
  isolation            // single-joint lifts
};

// Muscle groups that stimulus and fatigue are counted in.
enum class Muscle {
  chest,
  front_shoulder,
  side_shoulder,
  rear_shoulder,
  triceps,
  biceps,
  forearm,
  upper_back,
  lats,
  lower_back,
  abdominals,
  glutes,
  quadriceps,
  hamstrings,
  adductors,
  abductors,
  calves,
  neck
};
inline constexpr int kMuscleCount = 18;

// How strongly each muscle works, 0..1: 1 direct, 0.5 indirect (published value T05-037).
using Involvement = std::array<double, kMuscleCount>;

// What kind of thing carries the load; decides which loads can be built.
enum class Implement { barbell, dumbbell, stack, plates, added_mass, kettlebell, band, bodyweight };

struct Exercise {
  std::string id;    // "bench-press": lower case, digits and hyphens; never renamed once used
  std::string name;  // "bench press"
  std::vector<std::string> aliases;
  ExerciseClass cls = ExerciseClass::isolation;
  Implement implement = Implement::barbell;
  Involvement involvement{};

  // total load = multiplier * written load + offset_kg + body_mass_share * body mass
  double multiplier = 1;       // 2 where the written load is one of two dumbbells
  double offset_kg = 0;        // e.g. the unloaded sledge of a leg press
  double body_mass_share = 0;  // 1 for pull-ups and dips, about 0.64 for press-ups

  Load usual_step{2.5, Unit::kilogram};  // the usual increment between loads
  bool one_sided = false;                // done one side at a time
  bool needs_spotter = false;            // failure is only allowed with spotters or safety bars
  std::optional<std::string> bar;        // kind of bar it is done with, when not the place's first

  // Priors of the capacity model (engine/capacity/priors.h says where they come from).
  double strength_ratio = 0;      // 1RM total load relative to the lifter's general level, e.g. 1 for
                                  // the bench press; 0 = unknown, class default with a wide spread
  double strength_log_sd = 0.25;  // spread of that ratio between people, natural log
  double endurance = 0;           // k of the capacity curve; 0 = class default
};

std::string_view class_name(ExerciseClass cls);  // "barbell compound", ...
std::string_view muscle_name(Muscle muscle);     // "front shoulder", ...
std::string_view implement_name(Implement implement);
std::optional<ExerciseClass> parse_class(std::string_view text);
std::optional<Muscle> parse_muscle(std::string_view text);
std::optional<Implement> parse_implement(std::string_view text);

// Total load moved, in kg: multiplier * kilograms(load) + offset + share * body mass. For marks the
// bare number on that machine's own scale. May be <= 0 (too much assistance): the caller says so.
double total_load(const Exercise& exercise, const Load& load, double body_mass_kg);
// The written load that makes this total load, in `unit`. Inverse of total_load.
Load written_load(const Exercise& exercise, double total, double body_mass_kg, Unit unit);

// How much work with `from` tires `to`: min(1, from.to / to.to) of the involvement vectors, 1 for the
// same exercise, not symmetric; 0 when `to` works no muscle.
double overlap(const Exercise& from, const Exercise& to);

}  // namespace ullage
