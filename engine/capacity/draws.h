// A lifter as a set of equally likely possibilities: draws from the posterior, brought forward to a day.
// Everything that looks ahead (forecast, set planner, comparison) works on these, so that every
// number carries the same doubt. Draws come from Posterior::draw (engine/capacity/posterior.h).
#pragma once

#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/fatigue.h"
#include "engine/capacity/judgement.h"
#include "engine/training/exercise.h"
#include "engine/training/set_record.h"

namespace ullage::capacity {

// What is the same in every draw of one lift.
struct LiftInfo {
  std::string exercise;
  Side side = Side::both;
  ExerciseClass cls = ExerciseClass::isolation;
  double shape = 1;         // p of the curve
  double body_mass_kg = 0;  // used for the total load on that day
  bool known = true;        // false: never done, cold start from related exercises
  // Range seen in the log, natural-log margin: outside it a forecast keeps the prior's width and says so.
  double seen_margin_low = 0;
  double seen_margin_high = 0;
};

inline constexpr double kLeastEndurance = 2.05;  // k > 2 always

// One possibility for one lift on that day.
struct LiftDraw {
  double log_strength = 0;  // log 1RM total load, trend, lay-off, practice and readiness of the day included
  double endurance = 32;    // k
  double residual = 0;      // margin still missing from earlier sessions
};

struct Draw {
  std::vector<LiftDraw> lifts;  // same order as LifterDraws::info
  FatigueConstants fatigue;
  Judgement judgement;
  double sigma = 0.025;  // sd of set noise, natural log
  // A_day: margin missing right after a session per unit of spent margin, see residual_after
  // (engine/capacity/priors.h).
  double a_day = 0.0165;
};

struct LifterDraws {
  Date day;
  std::vector<LiftInfo> info;                // the lifts asked for
  std::vector<Draw> draws;                   // equally likely
  std::vector<std::vector<double>> overlap;  // [from][to] fatigue overlap, systemic part included, 1 on the diagonal
};

}  // namespace ullage::capacity
