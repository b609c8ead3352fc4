// What a roster teaches about where its people lie, on average, from the published priors of judgement, fatigability
// and endurance, and a lifter's estimate that starts from there.
//
//   std::vector<Lesson> lessons;                                  // of every lifter of the roster
//   lessons.push_back(lesson_of(posterior, log));                 // empty where a log teaches nothing
//   const RosterMoves moves = roster_moves(lessons);
//   const Posterior pooled = moved(posterior, {}, moves.own[0], find);
//
// Only means of the prior move; spreads stay as published. In prior sds, with W = 1 - V for a lifter's posterior
// covariance V in these unknowns, a posterior mean z has, over people who lie d from the prior, mean W d and covariance
// W. So each lifter's own posterior under the published prior is all that is needed, nobody counts in their own start,
// and nothing feeds on itself: what is kept is never moved. docs/model.md section 7 has the reasons and the proof.
#pragma once

#include <Eigen/Core>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "engine/capacity/posterior.h"
#include "engine/capacity/training_log.h"

namespace ullage::capacity {

// What one lifter's fit tells of the unknowns a roster can move. Everything in prior sds.
struct Lesson {
  std::vector<std::string> unknowns;  // kMoveBias, ..., and one log k for each exercise (move_of_endurance)
  Eigen::VectorXd told;               // posterior mean less prior mean
  Eigen::MatrixXd weight;             // 1 - posterior covariance: 0 nothing learned, 1 known
  bool empty() const { return unknowns.empty(); }
};

inline constexpr const char* kMoveBias = "b";
inline constexpr const char* kMoveGain = "log g";
inline constexpr const char* kMoveFast = "log A_fast";
inline constexpr const char* kMoveSlow = "log A_slow";
// log k of an exercise: "log k bench-press".
std::string move_of_endurance(const std::string& exercise);
std::optional<std::string> endurance_of_move(const std::string& name);  // the exercise; empty: it is another unknown

// Of a fit under the published priors (never of a moved one) and the log it was made from. Empty where it teaches
// nothing: a fit that did not settle; most ends not told and nothing called (log k rests on an assumed reserve there);
// reps or calls that repeat themselves.
Lesson lesson_of(const Posterior& posterior, const TrainingLog& log);

// A start other than the published one.
struct RosterMove {
  struct Unknown {
    std::string name;
    double by = 0;     // prior sds
    int teachers = 0;  // other lifters whose logs told of it (Lesson::weight at least kTaught)
  };
  std::vector<Unknown> unknowns;  // those that move
  bool empty() const { return unknowns.empty(); }
  // 0 when it does not move.
  double by(const std::string& name) const;
  int teachers() const;  // the most of any unknown
};

struct RosterMoves {
  std::vector<RosterMove> own;  // as the lessons given, each made from the others alone
  RosterMove newcomer;          // for whoever is not among them
};
// Fewer than kLeastTeachers teachers of an unknown: it does not move. Cost: lessons * (number of unknowns)^3.
RosterMoves roster_moves(const std::vector<Lesson>& lessons);

inline constexpr int kLeastTeachers = 5;
inline constexpr double kTaught = 0.3;

using FindExercise = std::function<const Exercise*(const std::string&)>;

// The posterior that another start gives, `from` being the one it was made with: exact for each Gaussian of the
// mixture, nothing is fitted, and back again leaves what was there. Intervals shown are made again; strengths of the
// past move as the last one does. Cost: as showing the intervals, some ten milliseconds.
Posterior moved(Posterior posterior, const RosterMove& from, const RosterMove& to, const FindExercise& find);
// Too near each other to matter: 0.02 prior sds in every unknown.
bool same_start(const RosterMove& a, const RosterMove& b);

}  // namespace ullage::capacity
