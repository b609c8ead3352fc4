// The layout of a sheet kept in the store: the request it was planned from, so that it can be planned again.
#pragma once

#include <optional>
#include <string>

#include "engine/planning/session_plan.h"

namespace ullage::coach {

struct SheetContents {
  planning::SessionRequest request;
  std::string place;          // id as wished; empty: the lifter's usual
  std::optional<Date> first;  // the day it was first written for, when it was moved since
};
// JSON; `plan` is kept beside the request as it was shown.
std::string sheet_json(const SheetContents& contents, const planning::SessionPlan& plan);
// corrupt: not such a text.
Result<SheetContents> read_sheet(const std::string& json);

}  // namespace ullage::coach
