// What a day is under the accepted plan, for those who train on it.
#pragma once

#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "service/coach/desk.h"

namespace ullage::coach {

// A sentence each: an accepted lighter week, another week than usual, its note, a day the plan leaves free, a lighter
// week that stands in the plan though its acceptance was taken back. Empty: a usual day, or no plan. lifter: id or
// name.
Result<std::vector<std::string>> notes_of_day(Desk& desk, const std::string& lifter, Date day);

}  // namespace ullage::coach
