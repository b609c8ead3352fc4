// The block as a mixed-integer programme: the one writing of it. Solved by service/solver, exported as MPS, taken apart
// rule by rule when nothing fits, and re-solved with a plan to stay near.
//
// Columns (w: a week standing for all weeks like it; b: a week standing for all weeks with the same sets, BlockShape;
// p: its phase; d: day; e: exercise; m: mode)
//   y[p,d,e]    0/1  the exercise belongs to that day in that phase
//   v[b,d,e]    0/1  it is done in that week; only where a week may drop some (lighter, shorter), else y
//   s[b,d,e,m]  whole sets in a mode
//   c[w,d,e,m]  0/1  one of them goes to failure instead, in weeks that may where others with the same sets may not
//   f[p,d,e]    0/1  the day of the week on which it may go to failure
//   u[p,d,k]    0/1  muscle k is trained directly that day; only where recovery or a least number asks for it
//   a[b,d]      pairs of alternated sets
//   z[b,k]      stimulus of muscle k from s, where c adds to it
//   q[w,k,i]    stimulus of muscle k inside chord i;  h[w,l,i] heavy sets likewise
//   t[b,d,e]    0/1  the rep-max test is on that day
#pragma once

#include <map>
#include <string>
#include <tuple>
#include <vector>

#include "engine/planning/block.h"
#include "engine/planning/mip.h"

namespace ullage::planning {

// Exercises that are alike to the model (same muscles, class, places, limits) and named by no rule: so many are kept,
// those most worth doing. More than three near-copies a week are no plan (common practice, no source).
inline constexpr int kAlikeKept = 3;
// By exercise: whether it is kept. The search keeps to the same, so that every plan it finds is a point of the model.
std::vector<bool> considered(const BlockProblem& problem);

struct BlockModel {
  Mip mip;
  BlockShape shape;
  std::vector<bool> kept;  // by exercise: considered()
  // Columns; -1: not there.
  std::map<std::tuple<int, int, int>, int> y, v, f, u, t;  // (phase or week, day, exercise or muscle)
  std::map<std::tuple<int, int, int, int>, int> s, c;      // (week, day, exercise, mode)
  std::map<std::pair<int, int>, int> a, z;                 // (week, day or muscle)
  std::map<std::pair<int, int>, std::vector<int>> q, h;    // (week, muscle or lift) -> by chord
  std::map<std::tuple<int, int, int>, int> change;         // (week, day, exercise): sets more or fewer than near
  double base = 0;  // V of a plan = worth of its point + base: the price of changes that are the same for every plan
};

// The problem must be without faults (faults_of). Cost: some ten milliseconds for 60 exercises and 6 weeks.
BlockModel write_model(const BlockProblem& problem);

// The plan at a point of the model, in order; sets rounded to whole.
BlockPlan plan_at(const BlockProblem& problem, const BlockModel& model, const std::vector<double>& at);
// The point that is this plan, to start a solver from. Fails with invalid_input when the plan uses what the model does
// not have (an exercise left out as a copy, weeks that are alike planned differently): says what.
Result<std::vector<double>> point_of(const BlockProblem& problem, const BlockModel& model, const BlockPlan& plan);

}  // namespace ullage::planning
