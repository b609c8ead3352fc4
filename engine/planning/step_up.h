// How far a session may go beyond what the log shows of a lift. An estimate can be wrong in ways that its interval does
// not know of; what was lifted was lifted. So no set asks for more than a step above the best set of late, whatever the
// estimate says. A day whose best set ended in a miss goes before that: what failed was the most there was, and sets
// after it keep the wanted reserve below. The model's curve only turns reps into load here, and for many more reps than
// the log shows at its low side.
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

// More reps than twice the most of late are more than the log shows: turned into load by the low side of the curve, and
// no step above the best (assumption).
inline constexpr int kTimesRepsShown = 2;

// A work set as it was done.
struct ShownSet {
  Date date;
  Load written;
  double total = 0;     // total load, above 0
  int reps = 0;         // completed, 1 or more
  bool failed = false;  // one more was tried and not completed
};

// How reps turn into load: engine/capacity/curve.h. low_k: at its low side, at most k.
struct ShownCurve {
  double k = 0, low_k = 0, shape = 1;
};

struct StepLimit {
  double log_need = 0;  // highest log total load + margin for the reps
  double step = 0;      // share above `best` that this is: kMostStepUp, or 0 to -kMostStepDown
  ShownSet best;
  // Of the last day on which the lift was done, where its best set was one that failed: the reps tried there, as a
  // need.
  std::optional<double> log_most;
  ShownSet missed;
  // For more than so many reps: the need of the best at the curve's low side.
  int reps_shown = 0;
  double log_low_need = 0;
};

// shown: any order; none before `day`: no limit, since a lift never done has its own rules. Sets of that day itself may
// be repeated.
inline std::optional<StepLimit> step_limit(const std::vector<ShownSet>& shown, Date day, const ShownCurve& curve) {
  const auto counts = [](const ShownSet& s) { return s.reps >= 1 && s.total > 0; };
  const auto need_of = [&](const ShownSet& s, int reps, double k) {
    return std::log(s.total) + capacity::margin_for_reps(static_cast<double>(reps), k, curve.shape);
  };
  const auto need = [&](const ShownSet& s) { return need_of(s, s.reps, curve.k); };
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
  double most_of_last_day = -1e300;
  out.log_low_need = -1e300;
  for (const ShownSet& s : shown) {
    if (!counts(s) || s.date > day || *last - s.date > kShownDays) continue;
    out.reps_shown = std::max(out.reps_shown, kTimesRepsShown * s.reps);
    out.log_low_need =
        std::max(out.log_low_need, need_of(s, s.reps, curve.low_k) + std::log1p(std::min(out.step, 0.0)));
    if (s.date != *last) continue;
    const double tried = need_of(s, s.failed ? s.reps + 1 : s.reps, curve.k);
    if (tried <= most_of_last_day) continue;
    most_of_last_day = tried;
    out.missed = s;
  }
  // What was done today without a miss and was more speaks against it.
  if (out.missed.failed && today <= most_of_last_day) out.log_most = most_of_last_day;
  return out;
}

// Most reps at this total load where so many are to be left, 0 or more; 0: none.
inline int reps_within(const StepLimit& limit, double total, const ShownCurve& curve, double reserve) {
  const auto reps_for = [&](double need, double k) {
    const double reps = capacity::reps_to_failure(need - std::log(total) + 1e-9, k, curve.shape);
    return reps >= 1 ? static_cast<int>(std::min(reps, 1000.0)) : 0;
  };
  int out = reps_for(limit.log_need, curve.k);
  if (out > limit.reps_shown) {
    out = std::max(limit.reps_shown, std::min(out, reps_for(limit.log_low_need, curve.low_k)));
  }
  if (limit.log_most) out = std::min(out, reps_for(*limit.log_most, curve.k) - static_cast<int>(std::ceil(reserve)));
  return std::max(out, 0);
}

}  // namespace ullage::planning
