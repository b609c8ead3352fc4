// What scripts read of blocks; names are fixed (docs/planning.md), fields may be added.
#pragma once

#include <nlohmann/json.hpp>

#include "service/coach/block.h"

namespace ullage::coach {

nlohmann::ordered_json to_json(const BlockSheet& sheet);
nlohmann::ordered_json to_json(const planning::Frontier& frontier);
nlohmann::ordered_json to_json(const KeptBlock& kept);
nlohmann::ordered_json weeks_json(const std::vector<BlockWeekPlan>& weeks);

}  // namespace ullage::coach
