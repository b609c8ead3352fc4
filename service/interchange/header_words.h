// What the name of a table's column says of what stands in it.
#pragma once

#include <optional>
#include <string_view>

#include "engine/base/units.h"
#include "service/interchange/log_columns.h"
#include "service/interchange/mapping.h"

namespace ullage::interchange {

enum class Part { log, time_of_day, set_number, set_count };

struct HeaderMeaning {
  LogColumn column{};
  CellForm form = CellForm::plain;
  Part part = Part::log;
  std::optional<Unit> unit;
};

// "Weight (lbs)" is load in pounds; empty when the words say nothing.
std::optional<HeaderMeaning> meaning(std::string_view header);

}  // namespace ullage::interchange
