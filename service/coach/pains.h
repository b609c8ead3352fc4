// Pain on an exercise, from wherever it is heard of: the coach, a logged set, a row of an imported log.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/safety/records.h"
#include "engine/training/exercise.h"
#include "service/library/library.h"

namespace ullage::coach {

// Rows of an imported log that say it hurt take the exercise out when they are at most this many days old; older ones
// are history. Common practice, no source.
inline constexpr int kPainRowDays = 14;
// Exercises whose muscles are worked this much by one that hurts (overlap(), engine/training/exercise.h) get a caution.
inline constexpr double kCloselyRelated = 0.8;

// Puts the pain on record under a fresh id.
void add_pain(safety::HealthRecord& record, safety::Pain pain);
// Takes the exercise out from `since`, unless pain on it, or on every exercise, is open already: then false.
bool open_pain(safety::HealthRecord& record, const std::string& exercise, Date since, const std::string& note);
// The same for a row of a log. False also when pain from that day or later is on record, cleared or not, or pain was
// cleared after it: the same log read again does not take out what was let back in.
bool open_pain_of_row(safety::HealthRecord& record, const std::string& exercise, Date day, const std::string& note);

// One caution for each exercise of `planned` that is closely related to one with pain open on `day`, itself not out.
std::vector<std::string> related_cautions(const safety::HealthRecord& record, const library::Library& library,
                                          const std::vector<Exercise>& planned, Date day);

}  // namespace ullage::coach
