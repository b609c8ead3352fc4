// A lifter made of the model's own story: theta wanders from day to day, a day has its readiness, sets tire
// and rest restores, judgement of reserve is off and noisy. Pure and seeded: the same orders give the same sets.
//
//   SimulatedLifter lifter(lifts, draw_truth(lifts, background, random), seed);
//   lifter.begin_day(day);
//   SetResult done = lifter.perform({.lift = 0, .total_load = 80, .reps = 8, .rest = Minutes{3}});
//
// Assumption that fails first with real people: one curve, one pair of recovery times and one judgement at all
// loads. Flaws make lifters whom the model does not describe.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/random.h"
#include "engine/base/units.h"
#include "engine/simulation/truth.h"

namespace ullage::simulation {

// Ways in which a lifter or a log departs from the model. All off: the model's story.
struct Flaws {
  bool heavy_tails = false;        // set noise has three degrees of freedom instead of the normal's
  double wrong_rest_sd = 0;        // rests are written down wrong by this log sd
  double judgement_drift = 0;      // reps by which the bias of judgement rises per 100 days
  std::optional<int> jump_on_day;  // no progress until this day of the log, then
  double jump = 0.08;              // this much log strength at once
  double feeling_anew = 0;         // this share of a feeling's variance is drawn anew at every rep, not once a set
};

// How a set is to end.
enum class Ending {
  planned,     // after the reps fixed beforehand
  cue,         // when the feeling has come down to the cue, at the latest after the reps
  failure,     // when a rep fails
  own_feeling  // where this lifter usually stops; reps is ignored
};

struct SetOrder {
  int lift = 0;
  double total_load = 0;  // kg (or marks), above 0
  int reps = 8;
  Ending ending = Ending::planned;
  Call cue{2, false};
  Minutes rest{0};  // since the end of the previous set of any exercise; of no matter for the first set of a day
  bool ask_call = false;
  std::optional<int> call_at_rep;  // asked for at this rep instead of the last (tests)
  bool measure_speed = false;
};

struct SetResult {
  // What a log may hold.
  int reps = 0;
  bool failed = false;
  Stop stop = Stop::planned;
  std::optional<Call> called;
  std::optional<int> called_at_rep;
  Minutes rest_written{0};
  std::optional<double> speed;  // m/s, last rep
  // The truth behind it: for checks alone, never for choosing loads.
  double margin = 0;    // before set noise
  double capacity = 0;  // C of this set, real reps, set noise included
  double reserve = 0;   // capacity - reps, 0 when failed
};

class SimulatedLifter {
 public:
  SimulatedLifter(std::vector<SimulatedLift> lifts, Truth truth, std::uint64_t seed, Flaws flaws = {});

  // A new training session on `day`, on or after the last one.
  void begin_day(Date day);
  // Another fate from here on: a copy and its original go different ways. What is true of the lifter stays.
  void reseed(std::uint64_t seed) { random_ = Random(seed, 1); }
  // One set. Cost: well below a microsecond per lift, more for own_feeling.
  SetResult perform(const SetOrder& order);

  const std::vector<SimulatedLift>& lifts() const { return lifts_; }
  const Truth& truth() const { return truth_; }
  // Log strength today, practice offset and readiness left out.
  double log_strength(int lift) const { return state_[static_cast<std::size_t>(lift)].log_strength; }
  // The same with both: what a rested set would meet today, before set noise.
  double log_strength_of_the_day(int lift) const;
  double trend(int lift) const { return state_[static_cast<std::size_t>(lift)].trend; }  // log strength per day
  double readiness() const { return readiness_; }
  double bias_now() const { return truth_.judgement.bias + flaws_.judgement_drift * (day_ - first_day_) / 100.0; }

 private:
  struct LiftState {
    double log_strength = 0;
    double trend = 0;
    int sessions = 0;  // in which it was done, before today
    bool done_today = false;
    capacity::FatigueStores stores;
    double spent_today = 0;  // sum of D
    double residual = 0;     // margin still missing from earlier days
  };
  struct SpentDay {
    Date day;
    std::vector<double> spent;  // per lift
  };
  void end_session();
  void pass_days(int days);
  void pass_minutes(double minutes);
  double margin(int lift, double total_load) const;
  Call answer(double heard) const;
  int own_stop(double capacity, double usual_reserve);

  std::vector<SimulatedLift> lifts_;
  Truth truth_;
  Flaws flaws_;
  Random random_;
  std::vector<std::vector<double>> overlap_;
  std::vector<LiftState> state_;
  std::vector<SpentDay> spent_days_;  // the last three days
  Date day_, first_day_;
  bool begun_ = false, first_set_ = true, jumped_ = false;
  double readiness_ = 0;
};

}  // namespace ullage::simulation
