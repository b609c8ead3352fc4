// Sets that are next to impossible for the lifter they stand beside: more likely a slip of the finger than a record.
// Whoever takes them in asks about them (command line, interface), and stores them when told that they are right.
//
//   if (const auto doubt = doubt_about(desk, fitted, bench, set)) ...   // "bench press 1000 kg x 5 is far above ..."
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "service/coach/estimates.h"
#include "service/coach/read_in.h"

namespace ullage::coach {

// A set is asked about when the 1RM it takes is all of this above what is expected (assumptions; a strength that grows
// by 10 % in a month is an honest record): this factor above the estimate, ...
inline constexpr double kDoubtFactor = 1.3;
// ... as many of its standard deviations, ...
inline constexpr double kDoubtDeviations = 3;
// ... and this factor above the best that the log shows of the exercise.
inline constexpr double kDoubtOverBest = 1.15;
// Without an estimate: this factor above the best of at least kDoubtLeastSets, else as many standard deviations above
// what is believed of anyone (engine/capacity/priors.h).
inline constexpr double kDoubtOverLog = 2;
inline constexpr int kDoubtLeastSets = 5;
inline constexpr double kDoubtPriorDeviations = 4;

// Why the set is asked about, with what was expected, as one sentence; empty: it is not. `exercise`: of the set, which
// may be in the log already (store id `but`). `factor`: over the estimate. Rests on the estimate where there is one,
// else on the log of that exercise. Cost: under a millisecond with an estimate.
std::optional<std::string> doubt_about(Desk& desk, const Fitted& fitted, const Exercise& exercise, const SetRecord& set,
                                       store::SetId but = 0, double factor = kDoubtFactor);
// The same for sets that are about to be logged, or one that is about to be changed (`but`), with the estimate as it is
// kept: one sentence each.
Result<std::vector<std::string>> doubts_about(Desk& desk, const Lifter& lifter, const std::vector<SetRecord>& sets,
                                              store::SetId but = 0);

// Sets logged since the fit that look mis-typed, as the fit would find them (SuspectView::reason says why).
std::vector<SuspectView> live_suspects(Desk& desk, const Fitted& fitted);

// The same for the rows of a file: held against each other and against what is stored of the same lifters. A row with
// what is stored already is not asked about. In the order of the file, at most `most`. Stores nothing; faults are
// read_in's to tell. Cost: one pass over the file.
Result<std::vector<interchange::Fault>> doubtful_rows(Desk& desk, const ImportWish& wish, std::size_t most = 1000);

}  // namespace ullage::coach
