// How far a session may go beyond what the log shows of a lift. An estimate can be wrong in ways that its interval does
// not know of; what was lifted was lifted. So no set asks for more than a step above the best set of late, whatever the
// estimate says. The model's curve only turns reps into load here.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/units.h"
#include "engine/capacity/curve.h"

namespace ullage::planning {

// Share of load that a session may be above the best shown (common practice; from memory, loads are raised by 2 to 10
// %: American College of Sports Medicine 2009, doi 10.1249/MSS.0b013e3181915670).
inline constexpr double kMostStepUp = 0.10;
// None when the lift was not done for so many days, and from then on a share less of the best for each week, down to a
// most (common practice, no source): other lifts may have kept the strength, not the habit of this one.
inline constexpr int kStepUpDays = 28;
inline constexpr double kStepDownAWeek = 0.01, kMostStepDown = 0.20;
// Sets of so many days up to the last on which the lift was done are "of late".
inline constexpr int kShownDays = 84;

// A work set as it was done.
struct ShownSet {
  Date date;
  Load written;
  double total = 0;  // total load, above 0
  int reps = 0;      // completed, 1 or more
};

struct StepLimit {
  double log_need = 0;  // highest log total load + margin for the reps
  double step = 0;      // share above `best` that this is: kMostStepUp, or 0 to -kMostStepDown
  ShownSet best;
};

// shown: any order; none before `day`: no limit, since a lift never done has its own rules. Sets of that day itself may
// be repeated. k, shape: engine/capacity/curve.h.
inline std::optional<StepLimit> step_limit(const std::vector<ShownSet>& shown, Date day, double k, double shape) {
  const auto counts = [](const ShownSet& s) { return s.reps >= 1 && s.total > 0; };
  const auto need = [&](const ShownSet& s) {
    return std::log(s.total) + capacity::margin_for_reps(static_cast<double>(s.reps), k, shape);
  };
  std::optional<Date> last;
  for (const ShownSet& s : shown) {
    if (counts(s) && s.date < day) last = last ? std::max(*last, s.date) : s.date;
  }
  if (!last) return std::nullopt;
  StepLimit out;
  out.log_need = -1e300;
  double today = -1e300;
  for (const ShownSet& s : shown) {
    if (!counts(s) || s.date > day) continue;
    if (s.date == day) {
      today = std::max(today, need(s));
    } else if (*last - s.date <= kShownDays && need(s) > out.log_need) {
      out.log_need = need(s);
      out.best = s;
    }
  }
  const int alone = day - *last - kStepUpDays;
  out.step = alone <= 0 ? kMostStepUp : -std::min(kMostStepDown, kStepDownAWeek * (alone / 7));
  out.log_need = std::max(out.log_need + std::log1p(out.step), today);
  return out;
}

// Most reps at this total load; 0: none.
inline int reps_within(const StepLimit& limit, double total, double k, double shape) {
  const double reps = capacity::reps_to_failure(limit.log_need - std::log(total) + 1e-9, k, shape);
  return reps >= 1 ? static_cast<int>(std::min(reps, 1000.0)) : 0;
}

}  // namespace ullage::planning
