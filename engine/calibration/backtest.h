// Rolling forecasts held against what then happened: every set that can be scored is forecast from the data before it.
//
//   auto result = backtest(lifter, records, find, {});
//   result->total.mae_reps, result->total.coverage80, result->total.log_score, result->formulas[0].mae_reps
//
// How. Sessions are walked in order. Every few sessions the model is fitted to everything before that day, in between
// it is brought up to date live, as the program itself does; earlier sets of the same session are taken up live too.
// Before each work set the posterior is drawn for the day, the session so far is played through every draw, and the
// rest, load and order of the set (reps planned, cue, whether a call was made) are taken as known.
//
// What is scored, in reps, always something that was seen:
//
//   a rep failed after n good ones   reps to failure n
//   a call c after n reps            n + c, forecast through this lifter's judgement: where the feeling will be after n
//                                    reps, as it is said. "5+" counts as right from 5 on.
//   a stop on a cue at rep n         n
//   planned reps done, no call       no error in reps; it counts for coverage and the histogram alone
//
// Sets that ended for reasons not told are not scored: what was left in them is not known. Warm-ups neither.
//
// The published formulas (engine/capacity/formulas.h) get the same information: reps and called reserve of earlier sets
// of the lift, earlier sets of the same session included; a failed set has none left, a stop on a cue the cue's. Each
// formula is used in three ways (the last set, the mean of the last three, the same set of the last session) and is
// credited with the way that turns out best in hindsight; its spread, for the log score, is its own in hindsight too.
// Both are more than a coach has. Model and formulas are compared on the same sets: those where such an earlier set
// exists.
//
// Coverage and histogram use the chance of everything below what was seen and of what was seen itself, so that whole
// numbers make no false comfort: Czado, Gneiting and Held 2009, doi:10.1111/j.1541-0420.2009.01191.x.
#pragma once

#include <array>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"
#include "engine/capacity/formulas.h"
#include "engine/training/exercise.h"
#include "engine/training/lifter.h"
#include "engine/training/set_record.h"

namespace ullage::calibration {

struct BacktestOptions {
  int least_sessions = 4;   // nothing is scored in the first so many sessions
  int sessions_a_fit = 8;   // sessions between fits
  int draws = 500;          // of the posterior, each with four chances of the set
  std::uint64_t seed = 71;  // of the draws
  // Told the share done, 0..1; false stops (Code::cancelled).
  std::function<bool(double)> progress;
};

enum class Ending { failure, call, cue, completed };

inline constexpr int kWays = 3;  // of using earlier sets in a formula
std::string_view way_name(int way);

// One set as it was forecast and as it went.
struct ScoredSet {
  int record = 0;  // index into the records given
  Ending ending = Ending::failure;
  double seen = 0;    // reps on the scale above
  bool open = false;  // "5+": `seen` or more
  double low = 0;     // the cell of what was seen, on the same scale; ends may be infinite
  double high = 0;
  double forecast = 0;      // median on the same scale
  double below = 0;         // chance given to less than what was seen
  double chance = 0;        // chance given to what was seen
  bool to_failure = false;  // reps were left open
  double reserve = 0;       // reps left at its end as forecast; the cue where there is one, 0 to failure
  bool compared = false;
  std::array<std::array<double, kWays>, capacity::kFormulas.size()> formulas{};  // forecasts, where compared
};

// Sums over some of the sets.
struct Score {
  int n = 0;             // compared sets
  int endings = 0;       // sets that count for coverage
  double mae_reps = 0;   // mean absolute error of the model, over n
  double bias_reps = 0;  // mean of forecast less seen, over n
  double log_score = 0;  // mean log chance given to what was seen, over n
  double coverage80 = 0;
  std::array<double, 10> histogram{};  // of the probability integral transform: shares, 0.1 each when right
};

struct FormulaScore {
  std::string name;
  std::string way;  // which use of earlier sets did best
  double mae_reps = 0;
  double log_score = 0;
};

struct NamedScore {
  std::string name;
  Score score;
  double best_formula_mae = 0;  // smallest of the formulas on these sets
};

struct Backtest {
  std::vector<ScoredSet> sets;
  std::vector<std::string> exercise;  // of each set: its name
  Score total;
  std::vector<FormulaScore> formulas;      // as kFormulas
  std::vector<NamedScore> exercises;       // most sets first
  std::vector<NamedScore> reserve_ranges;  // by what was forecast: "to failure", "0-1", ...
  int sessions = 0, fits = 0;
  int not_told = 0;   // work sets whose end was not told
  int set_aside = 0;  // loads more than four times away from the lift's usual: taken for typing errors
};

// records: as for capacity::prepare. Never fails for lack of data: n is then 0.
Result<Backtest> backtest(const Lifter& lifter, const std::vector<SetRecord>& records,
                          const std::function<const Exercise*(const std::string&)>& find,
                          const BacktestOptions& options);

// Adds another lifter's sets and counts, and works the scores out again.
void merge(Backtest& into, const Backtest& other);

}  // namespace ullage::calibration
