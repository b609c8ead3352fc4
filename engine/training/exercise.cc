#include "engine/training/exercise.h"

#include <algorithm>
#include <cctype>

namespace ullage {
namespace {

constexpr std::string_view kClassNames[] = {"barbell compound", "supported compound", "isolation"};
constexpr std::string_view kMuscleNames[] = {
    "chest",      "front shoulder", "side shoulder", "rear shoulder", "triceps",    "biceps",
    "forearm",    "upper back",     "lats",          "lower back",    "abdominals", "glutes",
    "quadriceps", "hamstrings",     "adductors",     "abductors",     "calves",     "neck"};
constexpr std::string_view kImplementNames[] = {"barbell",    "dumbbell",   "stack", "plates",
                                                "added mass", "kettlebell", "band",  "bodyweight"};

// Lower case with '_' and '-' read as blanks.
std::string plain(std::string_view text) {
  std::string out;
  for (char c : text)
    out += (c == '_' || c == '-') ? ' ' : static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

template <class Enum, std::size_t N>
std::optional<Enum> find_name(const std::string_view (&names)[N], std::string_view text) {
  const std::string wanted = plain(text);
  for (std::size_t i = 0; i < N; ++i) {
    if (names[i] == wanted) return static_cast<Enum>(i);
  }
  return std::nullopt;
}

}  // namespace

std::string_view class_name(ExerciseClass cls) { return kClassNames[static_cast<int>(cls)]; }
std::string_view muscle_name(Muscle muscle) { return kMuscleNames[static_cast<int>(muscle)]; }
std::string_view implement_name(Implement implement) { return kImplementNames[static_cast<int>(implement)]; }
std::optional<ExerciseClass> parse_class(std::string_view text) { return find_name<ExerciseClass>(kClassNames, text); }
std::optional<Muscle> parse_muscle(std::string_view text) { return find_name<Muscle>(kMuscleNames, text); }
std::optional<Implement> parse_implement(std::string_view text) { return find_name<Implement>(kImplementNames, text); }

double total_load(const Exercise& exercise, const Load& load, double body_mass_kg) {
  if (load.unit == Unit::mark) return load.amount;
  return exercise.multiplier * kilograms(load).value + exercise.offset_kg + exercise.body_mass_share * body_mass_kg;
}

Load written_load(const Exercise& exercise, double total, double body_mass_kg, Unit unit) {
  if (unit == Unit::mark) return {total, unit};
  const double mass = (total - exercise.offset_kg - exercise.body_mass_share * body_mass_kg) / exercise.multiplier;
  return {in_unit({mass}, unit), unit};
}

double overlap(const Exercise& from, const Exercise& to) {
  if (from.id == to.id) return 1;
  double shared = 0;
  double whole = 0;
  for (int m = 0; m < kMuscleCount; ++m) {
    const auto i = static_cast<std::size_t>(m);
    shared += from.involvement[i] * to.involvement[i];
    whole += to.involvement[i] * to.involvement[i];
  }
  return whole > 0 ? std::min(1.0, shared / whole) : 0.0;
}

}  // namespace ullage
