// The log of one lifter, made ready for the model: loads as log total load, sets in performed order with
// the minutes between them, exercises and sides numbered, calls turned into cells.
//
//   TrainingLog log = prepare(lifter, sets, find_exercise, today);
//
// Nothing is estimated here. What cannot be used is said in `remarks` and left out: never silently.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/capacity/judgement.h"
#include "engine/training/exercise.h"
#include "engine/training/lifter.h"
#include "engine/training/set_record.h"

namespace ullage::capacity {

struct Population;  // population.h: what is believed before the first set

// One exercise done with one side has a strength of its own. Sides share endurance and judgement.
struct Lift {
  std::string exercise;
  Side side = Side::both;
  bool marks = false;       // loads are marks on one machine's stack
  std::string place;        // only for marks: which machine
  int endurance_index = 0;  // exercises[endurance_index]
  int sets = 0;
  int sessions = 0;
  Date first, last;
  bool new_here = false;  // first met during the log or by an untrained lifter: practice offset applies
};

// What is shared by the sides of an exercise.
struct ExerciseInLog {
  Exercise exercise;
  bool has_speed = false;
};

struct LoggedSet {
  int lift = 0;
  double log_load = 0;  // natural log of the total load in kg (or marks)
  int reps = 0;
  bool failed = false;
  Stop stop = Stop::unknown;
  std::optional<Feeling> feeling;  // what the call or the cue tells, when there is something
  double rest_minutes = 0;         // since the end of the previous set of any exercise; 0 for the first
  bool rest_known = true;          // false: `rest_minutes` is the usual one and its doubt is carried
  std::optional<double> speed;     // m/s, last rep
  bool informs_strength = true;    // false: bands, no attempt; still tires
  int record = 0;                  // index into the records given to prepare
};

struct LoggedSession {
  Date date;
  std::vector<LoggedSet> sets;
  double days_since_last = 0;  // since the lifter's previous session of any kind
};

struct TrainingLog {
  Lifter lifter;
  Date as_of;  // day of the estimate, on or after the last session
  std::vector<ExerciseInLog> exercises;
  std::vector<Lift> lifts;
  std::vector<LoggedSession> sessions;       // by date
  std::vector<std::vector<double>> overlap;  // [from lift][to lift], systemic part included
  double body_mass_kg = 75;                  // as of `as_of`; 75 when never given (assumption)
  std::vector<std::string> remarks;          // what was left out and why
  int set_count = 0;
  std::shared_ptr<const Population> population;  // none: the published priors
};

// records: in performed order. find: exercise by id, null when unknown (such sets are left out, said).
// Sets after `as_of` are left out. An empty log is a valid answer.
TrainingLog prepare(const Lifter& lifter, const std::vector<SetRecord>& records,
                    const std::function<const Exercise*(const std::string&)>& find, Date as_of);

// Fatigue overlap of two lifts, systemic part included: muscles shared, none between left and right.
double lift_overlap(const Exercise& from, Side from_side, const Exercise& to, Side to_side);

}  // namespace ullage::capacity
