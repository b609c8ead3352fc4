// From a lifter and a request to the block planner's problem: which exercises are offered, how sets are done and what
// they cost this lifter, what each week allows.
#pragma once

#include <string>
#include <vector>

#include "engine/planning/block.h"
#include "service/coach/block_request.h"
#include "service/coach/desk.h"
#include "service/coach/estimates.h"

namespace ullage::coach {

// Choices of this project where no published figure stands (common practice, no source).
inline constexpr int kMostOffered = 60;           // exercises the planner chooses from
inline constexpr int kKnownDays = 182;            // done within so many days: known
inline constexpr double kKnownPreference = 0.25;  // worth of a known lift on one day of a week, in units of the effect
inline constexpr double kFirstSets = 8;           // weekly sets of a muscle allowed whatever was done before
inline constexpr double kMostWeekSets = 20, kMostSessionSets = 10;
inline constexpr int kRecoveryHours = 48;
inline constexpr int kMeetTaperDays = 10;  // before a meet: fewer sets
inline constexpr double kMeetTaperShare = 0.5;
inline constexpr int kPhotoTaperDays = 7;  // before a photo day
inline constexpr double kPhotoTaperShare = 0.7;
inline constexpr int kNoFailureBeforeTargetDays = 14;
inline constexpr int kRestBeforeMeetDays = 2;
inline constexpr int kReturningReserve = 2;  // reps more in reserve while coming back

struct BlockMaterial {
  planning::BlockProblem problem;
  std::vector<std::string> place_ids;            // by place of the problem
  std::vector<std::vector<std::string>> closed;  // [week][day]: why nothing may be planned; empty: open
  std::vector<std::string> notes;                // of the weeks
  std::vector<std::string> remarks, cautions;
  Date start;
  capacity::LifterDraws draws;  // rested, by exercise of the problem
  double day_sd = 0;            // of readiness
};

// first: the Monday the block begins with (its weeks before `open_from` are closed days). Fails with invalid_input,
// one line per fault (unknown exercises, places, weeks outside the block, rep-max tests that may not be done then);
// not_allowed while on hold. followed: the request is that of a plan in use; such tests are left out with a remark.
Result<BlockMaterial> block_material(Desk& desk, const Fitted& fitted, const BlockRequest& request,
                                     const std::string& place, Date first, Date open_from, bool followed = false);

// The Monday a new block begins with.
Date first_monday(const BlockRequest& request, Date today);

}  // namespace ullage::coach
