// Sets that are next to impossible for the lifter they stand beside: more likely a slip of the finger than a record.
// Whoever takes them in asks about them (command line, interface), and stores them when told that they are right.
//
//   if (const auto doubt = doubt_about(desk, fitted, bench, set)) ...   // "bench press 1000 kg x 5 is far above ..."
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "service/coach/estimates.h"
#include "service/interchange/read_log.h"
#include "service/library/library.h"

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
// In a file: all days from one on take so many times what the days before it took, or so much less: near the 2.2 by
// which pounds and kilograms differ, which no training does from one session to the next (assumption).
inline constexpr double kOtherUnitLeast = 1.85, kOtherUnitMost = 2.6;

// Why the set is asked about, with what was expected, as one sentence; empty: it is not. `exercise`: of the set, which
// may be in the log already (store id `but`). `factor`: over the estimate. Rests on the estimate where there is one,
// else on the log of that exercise. Cost: under a millisecond with an estimate.
std::optional<std::string> doubt_about(Desk& desk, const Fitted& fitted, const Exercise& exercise, const SetRecord& set,
                                       store::SetId but = 0, double factor = kDoubtFactor);
// The same for sets that are about to be logged, or one that is about to be changed (`but`), with the estimate as it is
// kept: one sentence each. A set without a day is of today; none is asked about while one of them has a fault, which
// whoever takes them in tells.
Result<std::vector<std::string>> doubts_about(Desk& desk, const Lifter& lifter, const std::vector<SetRecord>& sets,
                                              store::SetId but = 0);

// What the fit took for mis-typed, and sets logged since that it would (SuspectView::reason says why).
std::vector<SuspectView> suspects_of(Desk& desk, const Fitted& fitted);

// The same for the rows of a file as they are read: held against each other and against what was stored of the same
// lifters when their first row came. A row with what is stored already is not asked about. Stores nothing. Holds some
// rows of each lifter and exercise.
class DoubtfulRows {
 public:
  DoubtfulRows(Desk& desk, const library::Library& library) : desk_(desk), library_(library) {}
  void look(const interchange::LoggedSet& row);
  // In the order of the file, at most `most`. Errors are those of the store.
  Result<std::vector<interchange::Fault>> found(std::size_t most = 1000) const;

 private:
  struct Row {
    double needs = 0;   // log of the 1RM it takes
    double margin = 0;  // natural log: 1RM over load
    double mass = 0;
    std::uint64_t line = 0;
    std::string place;
    SetRecord set;
  };
  struct Lift {
    const Exercise* exercise = nullptr;
    bool marks = false;
    Lifter lifter;           // somebody new: nothing is known but what the file says
    int stored = 0;          // sets in the log that tell something
    double stored_best = 0;  // log of the most any of them takes
    int count = 0;
    std::vector<Row> top;      // those that take most
    std::map<Date, Row> days;  // the row of each day that takes most
  };
  static std::optional<interchange::Fault> other_unit(const Lift& lift);
  Result<Lift> lift_of(const std::string& name, const Exercise& exercise, bool marks) const;

  Desk& desk_;
  const library::Library& library_;
  std::map<std::pair<std::string, std::string>, Lift> lifts_;  // name of the lifter; exercise and kind of unit
  std::optional<Error> error_;
};

}  // namespace ullage::coach
