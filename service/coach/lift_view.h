// One lift of one lifter over time, with the sets its strength rests on: for the picture, and for "why?".
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/coach/estimates.h"

namespace ullage::coach {

// A set, and the strength it would speak for if it stood alone.
struct SetReading {
  store::StoredSet set;
  std::optional<double> kg;  // total load, or marks; empty: it tells none (a warm-up, a band set)
  bool at_least = false;     // ended by plan with nothing called: kg is a lower bound
  std::string suspect;       // why it looks mis-typed; empty: it does not
};

struct LiftView {
  Lifter lifter;
  LiftEstimate estimate;
  std::vector<SetReading> sets;  // by date
  int left_out = 0;              // older ones
};

// Readings: the load at the reps that were in it, done and left, on the lifter's own endurance curve, in the middle of
// their intervals; what the sets before have tired is left out, so later sets of a session read lower.
// not_found: the lifter has no estimate of this lift. `most`: of sets, the latest.
Result<LiftView> lift_view(Desk& desk, const Fitted& fitted, const std::string& exercise, Side side,
                           std::optional<Date> from, std::size_t most = 400);

// Reps really left at a call, in the middle: between the points of the posterior, and beyond them as they go on.
double left_at_call(const capacity::Posterior& posterior, double called);

// What each number of a lift rests on, one line each.
struct Why {
  std::string strength, endurance, fatigability, trend;
};
Why why_of(const LiftEstimate& lift);
std::string why_judgement(const EstimateView& view, int called_sets);

}  // namespace ullage::coach
