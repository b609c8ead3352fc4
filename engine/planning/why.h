// The one line that says why an exercise is planned as it is, ending with the number that decided.
#pragma once

#include <optional>
#include <string>

namespace ullage::planning {

// "47 %", "under 1 %", "over 99 %".
std::string percent_text(double probability);
// "1 rep", "5 reps".
std::string reps_text(int reps);

struct WhyFacts {
  std::optional<double> called;  // the cue; empty: the reps are fixed
  double have = 0;               // true reserve when they stop on that cue (or would call 0, for fixed reps)
  enum class Decided { band, limit, floor, load_cap } decided = Decided::band;
  // band: this many reps more than the first work set is likely to have are reached with probability p_more.
  int more = 1;
  double p_more = 0;
  // limit: chance of a miss as planned, with the step that would suit the band better, and the limit.
  double miss_now = 0, miss_next = 0, miss_limit = 0;
  bool next_is_load = false;  // that step is the next load rather than one rep
  // floor: the least reserve, its ground, the chance of less as planned.
  double floor = 0;
  std::string floor_from;
  double under_floor = 0;
  // load_cap: share of strength and its ground.
  double cap_share = 0;
  std::string cap_from;
};
std::string why_line(const WhyFacts& facts);

}  // namespace ullage::planning
