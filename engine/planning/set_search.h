// The search behind the set planner: which load, rep cap and stop cue for each set of one exercise.
//
// Value of a set: the probability that its true reserve ends in the band with the reps done inside the zone; for a set
// to failure, that its reps land in the zone. Value of a plan: mean over its sets, less kPerRepFromMiddle for each rep
// the mean cap lies off the middle of the zone (so that near-equal plans do not run to an end of the zone).
// Each rep that a set is expected to end above the band costs kPerRepAbove, so that a plan that cannot reach the band
// still comes as near as it may.
// The cap should be what the lifter mostly does: a cap that the cue undercuts more often than not costs kPerShort.
// A set is admitted when its chance of a miss is within the limit and its chance of ending under the floor
// within kFloorChance, and the reps done reach the zone at least as often as not.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "engine/capacity/session_forecast.h"
#include "engine/planning/session_plan.h"

namespace ullage::planning {

inline constexpr double kFloorChance = 0.10;        // highest chance of less reserve than the floor (assumption)
inline constexpr double kPerRepFromMiddle = 0.004;  // probability given up for a rep nearer the middle (assumption)
inline constexpr double kPerRepOfCap = 0.002;       // likewise for a lower cap among equal sets (assumption)
inline constexpr double kPerShort =
    0.25;  // price of each unit of P(stopped before the cap) above one half (assumption)
inline constexpr double kPerRepAbove = 0.003;  // see top (assumption)
inline constexpr double kPerCueStep = 0.05;    // price of each step to a more careful cue (assumption)
inline constexpr double kBackOffHigh = 0.95, kBackOffLow = 0.80;  // back-off total load per top set (common practice)

// Price of a load off the exercise's usual step, as built from micro plates: taken when it makes the set better, not
// for a hair (assumption).
inline constexpr double kPerOddLoad = 0.02;

// What the sets of one exercise are to be.
struct Aim {
  Strategy strategy = Strategy::same_load;
  int sets = 3;
  int least_reps = 5, most_reps = 12;
  double band_low = 1, band_high = 3;
  double floor = 0;  // least true reserve allowed; 0: none
  double miss_limit = 0.15;
  double rest_s = 120;
  bool last_to_failure = false;
  double light_under = 0;        // total load under which a set counts as light (0: no such rule)
  double light_band_high = 1e9;  // and must then end below this reserve
  // The wanted cue first, then more careful ones, each used only where none before it is admitted; nullopt: fixed reps.
  std::vector<std::optional<Call>> cues;
  std::vector<bool> odd;          // by load: needs micro plates, see kPerOddLoad; empty: none does
  std::vector<int> reps_at_most;  // by load: see engine/planning/step_up.h; empty: no limit
  // What sets already done today fix.
  std::optional<int> fixed_load;    // index: same_load, and the back-offs under way
  std::optional<int> top_load;      // index: the top set is done, back-offs are still free
  std::optional<int> load_at_most;  // index
  std::optional<int> fixed_reps;
};

struct Step {
  int load = 0;  // index into the loads
  int reps = 1;
  std::optional<Call> cue;
  bool to_failure = false;
};

struct SetPath {
  std::vector<Step> steps;
  double value = 0;
};

struct SetScore {
  double good = 0;          // see top
  double miss = 0;          // P(miss)
  double above = 0;         // mean reps of reserve above the band
  double short_of_cap = 0;  // P(stopped by the cue before the cap)
  double under_zone = 0;    // P(fewer reps done than the zone's least)
  double under_floor = 0;   // P(reserve < floor), misses included
};

// Scores many rep caps of one set at once. Holds its own set noise and feelings, drawn apart from the
// forecast's, so that a plan is not chosen on the noise it is later reported with.
class SetScorer {
 public:
  SetScorer(const capacity::LifterDraws& draws, std::uint64_t seed);
  // out[n - least] for cap n = least..most. The draws must be those of the forecast.
  void score(const capacity::SessionForecast& forecast, int lift, double log_total, const Aim& aim, double band_high,
             const std::optional<Call>& cue, int least, int most, std::vector<SetScore>& out) const;
  // The same for a set to failure.
  SetScore score_failure(const capacity::SessionForecast& forecast, int lift, double log_total, const Aim& aim) const;
  // Capacity quantile p of a set done now.
  double capacity_quantile(const capacity::SessionForecast& forecast, int lift, double log_total, double p) const;
  // P(band_low <= reserve < band_high) and the median reserve where a lifter on this cue stops, no cap in the way;
  // the set's capacity is taken as `capacity` reps.
  struct OnCue {
    double in_band = 0;
    double median = 0;
  };
  OnCue on_cue(const Call& cue, double capacity, double band_low, double band_high) const;

 private:
  const capacity::LifterDraws* draws_;
  std::vector<double> noise_, feeling_;
};

// True reserve a set at this load should end below.
double band_high_at(const Aim& aim, double total);

// Best paths first, at most `keep`; empty when no load lets every set be admitted. totals: total loads, rising, all
// above 0. `forecast` stands just before the first set. Cost: about 50-150 forecast sets per exercise.
std::vector<SetPath> search_sets(const capacity::SessionForecast& forecast, const SetScorer& scorer, int lift,
                                 const std::vector<double>& totals, const Aim& aim, int keep);

}  // namespace ullage::planning
