// Where estimates start from: the published priors, or those moved by what the other lifters of the roster showed
// (engine/capacity/roster_move.h).
//
// Beside each estimate are kept the start it was given and what its log alone teaches others: taken from the posterior
// under the published priors, before it is moved, so that no fit feeds on another. A fit of everyone works the starts
// out from all that is kept and moves the estimates there without fitting them again.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/capacity/roster_move.h"
#include "service/coach/desk.h"

namespace ullage::coach {

struct Start {
  capacity::RosterMove move;  // the estimate beside it starts there
  capacity::Lesson lesson;
};
// One line of text, and back to the last digit; nothing where the text is none.
std::string start_text(const Start& start);
std::optional<Start> start_of(const std::string& text);

// The coach's choice, for everyone: the setting "start". The standard is from the roster.
Result<bool> starts_from_roster(Desk& desk);
Result<void> choose_start(Desk& desk, bool from_roster);

// Where the kept estimate of a lifter (id) starts from; empty when nothing is kept.
Result<capacity::RosterMove> kept_start(Desk& desk, const std::string& lifter);

// "starts from 9 other lifters of this roster: 0.4 reps more left at a call than published"; of endurance, the lifts of
// this posterior. Empty when it does not move.
std::string start_words(const capacity::RosterMove& move, const capacity::Posterior& posterior,
                        const library::Library& library);

}  // namespace ullage::coach
