// The exercise library: which lifts there are, and which of them a written name means.
//
// Read from TOML that a coach can edit (data/exercises.toml says what every field means). A name in a
// log is resolved by id, name, alias or the German name of a shipped exercise, whatever its case, hyphens, blanks,
// plural s and word order; when that fails, the nearest names are offered and nothing is chosen.
//
//   const library::Library& shipped = library::builtin();
//   shipped.resolve("Bench Presses").exercise->id == "bench-press"
//   shipped.resolve("bensh press").exercise == nullptr, .nearest.front().exercise->id == "bench-press"
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/base/result.h"
#include "engine/training/exercise.h"

namespace ullage::library {

// An exercise whose name looks like the one asked for.
struct Near {
  const Exercise* exercise = nullptr;
  std::string matched;  // the id, name or alias that came nearest, as the library spells it
  double score = 0;     // 0..1, 1 = the same letters or the same words
};

// What a written name means. `exercise` is set only when the name is one of the library's own;
// otherwise `nearest` holds up to five offers, best first, perhaps none.
struct Resolution {
  const Exercise* exercise = nullptr;
  std::vector<Near> nearest;
  explicit operator bool() const { return exercise != nullptr; }
};

// Immutable once made, so any number of threads may read one. Pointers to exercises live as long as
// the library they came from; moving it keeps them, a copy has its own.
class Library {
 public:
  Library() = default;

  // Reads a whole library. Fails with invalid_input, one line of message for every fault: the line in
  // the text, the exercise, and what was expected. Cost: about 5 ms for 200 exercises.
  static Result<Library> parse(std::string_view toml);

  // The exercise with exactly this id, or null. Constant time.
  const Exercise* find(std::string_view id) const;

  // Cost: constant, below a microsecond, when the name is known; about a millisecond when offers have
  // to be searched, so keep the answer of a name that comes again.
  Resolution resolve(std::string_view text) const;

  // In the order of the text they were read from, additions last.
  const std::vector<Exercise>& all() const { return exercises_; }

  // This library with a coach's edits: an id already here changes only in the keys given (aliases and
  // muscles are replaced whole), any other id is a new exercise. Same faults as parse; nothing of the
  // edits is taken when there is one.
  Result<Library> with(std::string_view toml_of_edits) const;

 private:
  struct Hash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>{}(text); }
  };
  using Index = std::unordered_map<std::string, int, Hash, std::equal_to<>>;

  struct Spelling {  // one id, name or alias, prepared for the search of near names
    int exercise = 0;
    std::string text;     // as written
    std::string letters;  // see plain_words in library.cc, joined
    std::vector<std::string> words;
  };

  static Result<Library> build(std::vector<Exercise> exercises, const std::vector<int>& lines);

  std::vector<Exercise> exercises_;
  std::vector<Spelling> spellings_;
  Index by_id_;
  Index by_letters_;  // words joined in the order written
  Index by_words_;    // words sorted; -1 where two exercises have the same words
};

// The library the program ships with (data/exercises.toml, compiled in). Read once.
const Library& builtin();

// One exercise as a [[exercise]] table of the library file; reading it back gives an equal exercise.
std::string exercise_toml(const Exercise& exercise);
// A whole library file without comments.
std::string library_toml(const std::vector<Exercise>& exercises);

}  // namespace ullage::library

namespace ullage::embedded {
// The bytes of data/exercises.toml as built in.
std::string_view exercises_toml();
}  // namespace ullage::embedded
