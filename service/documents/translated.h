// A paper in another language: every text of it said anew, in the same places.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "service/documents/document.h"
#include "service/documents/planned_sessions.h"

namespace ullage::documents {

// What to write for a text; the text itself where nothing else is known.
using Saying = std::function<std::string(std::string_view)>;

// Titles of parts are names and stay. `language` is a code such as "de". Drawings too: what is said to who cannot see
// them and the words in them; these are as wide as they are, so they should not get much longer.
Document translated(Document paper, const std::string& language, const Saying& say);
// Of a calendar: what each exercise is to be, and its name with the side.
std::vector<PlannedSession> translated(std::vector<PlannedSession> sessions, const Saying& say);

}  // namespace ullage::documents
