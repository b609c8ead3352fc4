// A training session played forward through every draw: what each set will find, and what it leaves.
//
//   SessionForecast f(draws, 7);                       // 7: seed of the set noise
//   SetOutcome set = f.look(0, std::log(100.0), {.reps = 8});
//   set.p_complete, set.reserve.median, ...
//   f.perform(0, std::log(100.0), {.reps = 8});        // then the next set
//   f.rest(Minutes{3});
//
// Copies are cheap and go their own ways, but share the noise they have made: use them in one thread.
// `look` changes nothing, so candidate loads can be tried; `perform` spends. Planned reps are taken as
// done as written by later sets; a set stopped on a cue ends in each draw where the feeling says.
// Cost: draws * sets, about 0.25 us per draw and set; the draws are worked on four at a time.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "engine/base/units.h"
#include "engine/capacity/draws.h"

namespace ullage::capacity {

// median and 80 % interval (10 % and 90 % points) with the standard deviation.
struct Interval {
  double median = 0;
  double lo80 = 0;
  double hi80 = 0;
  double sd = 0;
};
// Interval of equally likely values; order not kept. Empty input gives zeros.
Interval interval_of(std::vector<double> values);

struct PlannedSet {
  int reps = 1;               // rep cap
  std::optional<Call> cue{};  // stop on this feeling if it comes before the cap
  bool to_failure = false;    // go on until a rep fails; reps is then ignored
};

struct SetOutcome {
  Interval capacity;       // reps to failure of that set, set noise included, shown not below 0
  Interval reserve;        // true reserve where the set ends (real reps, may be < 0 in no draw), noise included
  Interval reps;           // reps that will be done
  double p_complete = 0;   // P(cap reached); exact in the set noise, averaged over draws
  double p_miss = 0;       // P(a rep is tried and not completed); 0 by definition when to_failure
  double p_short = 0;      // P(stopped by the cue before the cap)
  double p_band = 0;       // P(band_low <= reserve < band_high), see band
  double mean_margin = 0;  // mean over draws of x (natural log), to see how far outside the seen range
};

// How the set goes in one draw.
struct SetEnd {
  double capacity = 0;   // reps to failure, set noise included; may be below 1
  double reserve = 0;    // true reserve where it ends, 0 when failed
  int reps = 0;          // completed
  bool failed = false;   // a rep was tried and not completed
  bool by_cue = false;   // stopped by the cue before the cap
  double depletion = 0;  // D, spent margin (engine/capacity/fatigue.h)
};

class SessionForecast {
 public:
  SessionForecast(const LifterDraws& draws, std::uint64_t seed);

  // The set as it would go now. band_low/high: true reserve band in real reps (policy "1-2" is 1..3).
  SetOutcome look(int lift, double log_total_load, const PlannedSet& set, double band_low = 0,
                  double band_high = 1e9) const;
  // The same with the set done: fatigue is spent and the session clock moves by the set's duration.
  SetOutcome perform(int lift, double log_total_load, const PlannedSet& set, double band_low = 0,
                     double band_high = 1e9);
  // perform() without what it tells: for searches that only need what comes after.
  void advance(int lift, double log_total_load, const PlannedSet& set);
  // The set done in each draw as that draw ends it: nothing is taken as done because it was written, and a miss is a
  // miss. log_total_loads: one for each draw. The clock moves by each draw's own reps.
  std::vector<SetEnd> play(int lift, const std::vector<double>& log_total_loads, const PlannedSet& set);
  // A set that really happened (a log entry): spends in every draw what that many reps spend.
  void happened(int lift, double log_total_load, int reps, bool failed);
  // Time passes; `minutes` counted from the end of the last set of any exercise.
  void rest(Minutes minutes);

  // Mean margin missing now in this lift (natural log), fatigue of today only.
  double mean_fatigue(int lift) const;
  // The same in one draw.
  double fatigue(std::size_t draw, int lift) const;
  // Margin x before set noise in draw i for a set done now.
  double margin(std::size_t draw, int lift, double log_total_load) const;
  std::size_t size() const { return draws_->draws.size(); }

 private:
  // What the draws say, by columns for work on several draws at once; each column is filled up to whole lanes with the
  // last draw. Made once and shared by copies.
  struct Columns {
    std::size_t stride = 0;  // draws, filled up
    std::vector<double> sigma, a_fast, a_slow, lam, rho_f, by_tau_fast, by_tau_slow;
    std::vector<double> bias, gain, spread, spread_rise, cue_shift;
    bool each_rep = false;
    std::vector<double> ready, endurance;  // [lift][draw]; ready: log strength less what earlier sessions left
  };
  // How a set goes in every draw, by columns; flags are 0 or 1.
  struct Ends {
    std::vector<double> margin, capacity, reserve, reps, failed, by_cue;
  };
  friend struct ForecastLoops;  // session_forecast.cc
  Ends ends_of(int lift, const std::vector<double>& log_total_loads, const PlannedSet& set) const;
  SetOutcome outcome_of(int lift, Ends&& ends, const PlannedSet& set, double band_low, double band_high) const;
  void finish(int lift, const Ends& ends, const PlannedSet& set);  // spends and moves the clock
  void spend_set(int lift, const Ends& ends, std::vector<double>* depletion = nullptr);
  void rest_each(const std::vector<double>& minutes);
  std::size_t place(std::size_t lift, std::size_t draw) const { return lift * columns_->stride + draw; }

  // Set noise and judgement, z, one of each a draw; made once for each set of the session and shared by copies.
  struct Noise {
    std::vector<double> set, feeling;
  };
  const Noise& noise() const;

  const LifterDraws* draws_;
  std::size_t lifts_;
  std::shared_ptr<const Columns> columns_;
  std::vector<double> fast_, slow_;  // what each lift's work has left, [lift][draw]
  std::vector<bool> worked_;         // lifts whose stores are not all 0
  std::uint64_t seed_;
  int set_index_ = 0;
  std::shared_ptr<std::vector<Noise>> made_;  // by set index
};

}  // namespace ullage::capacity
