// How a lifter judges their own reserve.
//
// With true reserve rho (real reps left at the rep of the call) and one z ~ N(0, 1) per set,
//
//   heard = g rho - b + (s0 + s1 rho) z
//
// and the answer is the whole (or half) number whose cell `heard` falls in. Perfect judgement in whole
// reps is g = 1, b = 0.5: floor. Shown bias = b - 0.5, positive: has more than they say. A set stopped
// on the feeling of a called reserve is judged with b + cue_shift.
// Priors: b ~ N(0.8, 0.8), log g ~ N(-0.25, 0.3), s0 about 0.6, s1 about 0.15, checked by prior prediction
// of T03-008..010 and T03-014. Assumption that fails first: one judgement for all exercises.
#pragma once

#include <algorithm>
#include <cmath>

#include "engine/base/normal.h"
#include "engine/training/set_record.h"

namespace ullage::capacity {

struct Judgement {
  double bias = 0.8;          // b, reps
  double gain = 0.78;         // g
  double spread = 0.6;        // s0, reps
  double spread_rise = 0.15;  // s1, per rep of true reserve
  double cue_shift = 0.2;     // e_cue, reps
  bool each_rep = false;      // while a cue is waited for, z is drawn anew at every rep (felt_each_rep.h)
};

// The cell of feelings that leads to an answer: low < heard <= high; ends may be infinite.
struct Cell {
  double low;
  double high;
};

// Whole answers: +-0.5; half answers: +-0.25 (for a lifter who has ever answered in halves). "0" is open
// below, "5+" open above from 4.5.
Cell call_cell(const Call& call, bool halves);

// One end of what a set tells of its feeling z: heard at `shift` reps before the set's end was above (or below)
// `bound`.
struct FeelingEnd {
  double bound = 0;     // may be infinite: no end
  double shift = 0;     // reps before the last one, so that rho = reps left + shift
  bool on_cue = false;  // felt while waiting for a cue: cue_shift applies
};

// What a set tells of its feeling: above `low`, above `before` (a cue had not stopped it earlier; not in a set that
// ended for reasons not told), at or below `high`. each_rep: felt anew at each rep. Then it was above the bound of
// `before` at that rep and at all before it, each by itself, and `low` and `high` are of the last rep alone.
struct Feeling {
  FeelingEnd low, before, high;
  bool each_rep = false;
  bool on_cue() const { return low.on_cue || before.on_cue || high.on_cue; }  // a cue was waited for
};

// Mean of what is heard at true reserve rho.
inline double heard_mean(const Judgement& j, double rho, bool on_cue) {
  return j.gain * rho - j.bias - (on_cue ? j.cue_shift : 0.0);
}
// Its sd; rho below 0 counts as 0.
inline double heard_sd(const Judgement& j, double rho) { return j.spread + j.spread_rise * std::max(rho, 0.0); }

// P(answer | true reserve).
double call_probability(const Judgement& j, double rho, const Cell& cell, bool on_cue);

// The rep at which a lifter who stops on a called reserve stops: the first whole rep n >= 0 at which the
// feeling has come down to the cell of `cue`; `capacity` is C of this set (reps to failure), z the set's
// feeling. Solved in closed form. May exceed floor(capacity): then failure comes before the cue is heard.
// Felt anew at each rep, z says how long the lifter's feelings happen to hold: they stop, at n >= 1, where going on so
// far has come to be as unlikely as a normal above z. Then it takes some 20 normal probabilities.
double cue_stop_rep(const Judgement& j, double capacity, const Cell& cue, double z);

}  // namespace ullage::capacity
