// The trade-off curve of a block as a picture.
#pragma once

#include <string>

#include "engine/drawing/picture.h"
#include "engine/planning/block_solve.h"

namespace ullage::coach {

// One curve for each reading of growth; the plan, all to failure and very easy marked on both.
drawing::Picture frontier_picture(const planning::Frontier& curve, const std::string& lifter);

}  // namespace ullage::coach
