// A training habit that chooses loads, reps and cues from what was logged before and from a first guess, and
// from nothing else. It never sees a Truth: loads chosen from true parameters would carry them into the log and
// make a right estimator look wrong.
//
// What it does is what many do: a published formula on reps and called reserve, double progression, waves or a
// top set with lighter sets after it. Formula: Epley 1985 (engine/capacity/formulas.h).
#pragma once

#include <optional>
#include <vector>

#include "engine/base/dates.h"
#include "engine/simulation/simulated_lifter.h"
#include "engine/training/exercise.h"
#include "engine/training/set_record.h"

namespace ullage::simulation {

enum class Scheme {
  straight,  // the same load and reps in every set; reps rise, then the load
  wave,      // reps change from session to session, the load with them
  top_set    // one heavy set, then sets with 90 % of it and three reps more
};

struct LiftHabit {
  Exercise exercise;
  Side side = Side::both;
  std::vector<Load> loads;  // that can be built, rising, not empty
  double first_guess = 60;  // strength, total load; made without knowledge of the truth
  Scheme scheme = Scheme::straight;
  int sets = 3;
  int least_reps = 6;
  int most_reps = 10;
  double target_call = 2;  // reserve to be called at the end of a set
  Ending ending = Ending::planned;
  bool last_set_failure = false;
  double rest_minutes = 2;
  int warmups = 2;         // ramp sets before the first work set
  double call_chance = 1;  // share of work sets with a call asked for
  bool measure_speed = false;
  int test_every = 0;  // a rep-max test as the last set of every so many sessions; 0 = never
};

// A set as the coach wants it.
struct Prescription {
  SetOrder order;  // lift, total load, ending, reps, cue, rest asked for, call
  Load load;       // the same load as written
  SetKind kind = SetKind::work;
};

class LoggingCoach {
 public:
  explicit LoggingCoach(std::vector<LiftHabit> habits);

  void set_body_mass(double kilograms) { body_mass_ = kilograms; }
  // Starts a session; `lift` is an index into the habits.
  void begin_day(Date day);
  // The next set of this lift today; empty when it is done with. Depends on the log so far alone.
  std::optional<Prescription> next_set(int lift);
  // What was logged of that set.
  void saw(int lift, const SetRecord& logged);

  const LiftHabit& habit(int lift) const { return habits_[static_cast<std::size_t>(lift)]; }
  // The coach's own idea of strength, total load.
  double guessed_strength(int lift) const { return memory_[static_cast<std::size_t>(lift)].strength; }

 private:
  struct Memory {
    double strength = 0;
    bool found = false;  // a working load has been found
    int load = -1;       // index of the working load
    int reps = 0;        // reps asked for at it
    int sessions = 0;
    // today
    int warmups_done = 0, sets_done = 0, searching = 0, missed = 0;
    int asked = 0, first_asked = 0, first_reps = 0;
    int search_at = -1;
    double last_load = 0, best = 0;
    std::optional<double> first_call, last_call, least_call;
    bool started = false;
  };
  int nearest(int lift, double total) const;  // index of the load nearest to, and where possible not above
  double total_of(int lift, int load) const;
  double load_for(const Memory& memory, double reps, double reserve) const;
  void close(int lift);
  Prescription make(int lift, int load, int reps, SetKind kind) const;

  std::vector<LiftHabit> habits_;
  std::vector<Memory> memory_;
  double body_mass_ = 75;
};

}  // namespace ullage::simulation
