// How the last two weeks went against what was to be expected of them: strength against forecast, planned sets missed
// against the chance they were given, readiness, and how much was done. What a lighter week is proposed from.
//
//   auto form = recent_form(lifter, records, find, today);
//   if (auto lighter = propose_lighter_week(*form)) ...        // engine/planning/lighter_week.h
//
// How. The model is fitted to the twelve weeks before the last two (weighing everything before that would tell little
// more of them). Each of the last sessions is then told from what was known the morning it began: the chance of each
// planned set to be missed, with the sets before it as they really were. Afterwards the session is taken up live. In
// the end strength as it is known now is held against what was forecast two weeks ago for today, trend included, over
// the lifts still trained. Nobody is asked anything; the log alone speaks.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "engine/capacity/session_forecast.h"
#include "engine/training/exercise.h"
#include "engine/training/lifter.h"
#include "engine/training/set_record.h"

namespace ullage::planning {

inline constexpr int kFormDays = 14;        // looked at (assumption)
inline constexpr int kFormBeforeDays = 84;  // forecast from
inline constexpr int kFormLeastBefore = 6;  // sessions before, to forecast from

struct RecentForm {
  Date from, to;     // first and last day looked at
  int sessions = 0;  // in them
  // Of the sets with planned reps: how many were missed, how many misses had been told, and the chance of as many
  // misses or more with the chances told.
  int planned = 0, missed = 0;
  double told = 0, chance = 1;
  // Strength now against what was forecast for today, as a share (-0.03: 3 % less), mean of the lifts; and
  // P(less than forecast). `lifts` 0: none could be compared.
  int lifts = 0;
  capacity::Interval against;
  double p_under = 0;
  std::string most_under;  // the lift (exercise id) furthest under its forecast, and its share
  double most_under_share = 0;
  // Mean readiness of those sessions as a share, and P(below usual).
  double readiness = 0, p_tired = 0;
  double spent = 0;  // margin spent a week against the weeks before; 0: unknown
};

struct FormOptions {
  int draws = 400;
  std::uint64_t seed = 29;
  std::function<bool(double)> progress;  // false stops (Code::cancelled)
};

// records: as for capacity::prepare. A form with sessions 0 when there is too little: fewer than kFormLeastBefore
// sessions before the last two weeks, or none in them. Cost: a fit of twelve weeks (its outer
// parameters at their maximum) and a live update for each session.
Result<RecentForm> recent_form(const Lifter& lifter, const std::vector<SetRecord>& records,
                               const std::function<const Exercise*(const std::string&)>& find, Date today,
                               const FormOptions& options = {});

// P(X >= k), X the number of successes of trials with these chances.
double at_least_so_many(int k, const std::vector<double>& chances);

}  // namespace ullage::planning
