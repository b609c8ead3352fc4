// A block summed over the days of its weeks: a smaller programme that no plan of the block is worth more than.
//
// The days of a week are much alike to the block's programme, so that a solver tries the same plan over and over with
// its days exchanged, and its bound hardly moves. Here the columns of a week that differ only in the day are one
// column, their sum; the rows that say the same of each day are one row, their sum. Every plan is a point of it with no
// less worth, so that its bound holds for the block too, and is nearer: an exercise still comes whole or not at all,
// and brings its warm-up with it.
//
//   const SummedBlock summed = summed_over_days(model);
//   const auto answer = solver(summed.mip, {.start = summed.point(at)});   // answer->bound + model.base bounds the
//   block
#pragma once

#include <vector>

#include "engine/planning/block_model.h"
#include "engine/planning/mip.h"

namespace ullage::planning {

struct SummedBlock {
  Mip mip;
  std::vector<int> column;  // by column of the block's programme: the one here that it is added to

  // The point here of a point there: feasible when that is, and worth no less.
  std::vector<double> point(const std::vector<double>& at) const;
};

// Cost: some ten milliseconds for 60 exercises and 6 weeks.
SummedBlock summed_over_days(const BlockModel& model);

}  // namespace ullage::planning
