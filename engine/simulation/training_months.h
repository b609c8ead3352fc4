// Months of training: a simulated lifter and a logging coach meet on given days and leave a log.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "engine/simulation/logging_coach.h"
#include "engine/simulation/simulated_lifter.h"

namespace ullage::simulation {

// Lifts of one day in order; the lifts of one group are alternated set by set.
struct TrainingDay {
  Date date;
  std::vector<std::vector<int>> groups;
};

// How the log is written down.
struct LogManner {
  double rest_known = 1;            // share of rests written down
  bool stop_known = true;           // false: every set that did not fail is written with stop "unknown"
  int round_rest_s = 5;             // rests are kept to this
  double rest_sd = 0.15;            // log sd of the rest really taken around the one asked for
  double change_over_minutes = 3;   // from one exercise to the next
  double alternate_minutes = 0.75;  // between alternated lifts
  bool write_body_mass = false;     // with every set of an exercise in which it counts
  std::string place;
  // Body mass in kg on a day; 75 when not set.
  std::function<double(Date)> body_mass;
};

struct TrainedLog {
  std::vector<SetRecord> sets;
  std::vector<SetResult> behind;  // same order: the truth of each set, for checks
};

// Lifts of the lifter and habits of the coach go by the same indices. Cost: about a microsecond a set.
TrainedLog train(SimulatedLifter& lifter, LoggingCoach& coach, const std::vector<TrainingDay>& days,
                 const LogManner& manner, Random& random);

// Days from `first` to `last` that fall on these weekdays (1 Monday .. 7), missing some by chance but none in the last
// week. Which of the sessions (indices into `sessions`) comes next goes round.
std::vector<TrainingDay> calendar(Date first, Date last, const std::vector<int>& weekdays,
                                  const std::vector<std::vector<std::vector<int>>>& sessions, double missed,
                                  Random& random);

}  // namespace ullage::simulation
