// Ways to train one exercise, carried through the same lifter, draw by draw, so that differences have intervals too.
//
//   Comparison c = compare(draws, readings, request);
//   c.ways[0].outcome.total_reps.interval.median, c.against_first[1].stimulus[0].mean
//
// How a set ends. To failure: a rep is tried and not completed. With R in reserve: on the cue that leaves R most often
// in this lifter's called scale; where even a call of 0 leaves more, on reps fixed beforehand so that R are left most
// often. Every draw plays its own set: a lifter who misjudges ends where they misjudge, and that is what is counted
// (stimulus, fatigue and hard sets are those of the sets as performed).
//
// Bases.
//   equal sets     the same number of sets
//   equal volume   the same expected total reps; at different loads the same expected tonnage of total load
//   equal minutes  the same expected minutes of work and rest
// On the last two the way that brings most at the sets asked for stays, the others get sets added. A part p of a set is
// a set done in that share of sessions: what it brings is p of what the whole set would, and it is shown so. Parts
// under 2 % of a set are rounded away.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "engine/capacity/session_forecast.h"
#include "engine/comparing/way.h"
#include "engine/planning/stimulus.h"

namespace ullage::comparing {

enum class Basis { sets, volume, minutes };
std::string_view basis_name(Basis basis);                 // "equal sets"
std::optional<Basis> parse_basis(std::string_view text);  // "sets"

// One way at its load.
struct Contender {
  Way way;
  // log of the total load (kg or marks) in each draw; the same in all for a lifter, each draw's own for an average one.
  std::vector<double> log_total_loads;
  bool at_own_load = false;  // differs from the load of the others: equal volume is then tonnage
};

struct CompareRequest {
  int lift = 0;  // index into the draws
  std::vector<Contender> contenders;
  int sets = 3;  // 1..20, of a way that asks for no number of its own
  double rest_s = 120;
  Basis basis = Basis::sets;
  double hard_below = 3;  // a set is hard when it ends with less true reserve: the policy's upper reserve + 1
  std::uint64_t seed = 1;
};

struct Measure {
  capacity::Interval interval;
  double mean = 0;
};

struct Outcome {
  Measure total_reps;
  Measure tonnage_kg;             // total load x reps
  Measure hard_sets;              // mean: the expected count
  std::vector<Measure> stimulus;  // one for each reading; 1 = one set to failure, for a muscle worked directly
  Measure minutes;                // sets at 3 s a rep and the rests between them
  Measure margin_lost_end;        // natural log of strength, right after the last set
  Measure residual_24h;           // likewise, left a day later
};

struct WaySet {
  double share = 1;            // below 1: done in this share of sessions
  std::optional<int> reserve;  // asked for; empty: to failure
  std::optional<Call> cue;     // empty and reserve given: fixed_reps
  int fixed_reps = 0;
  capacity::Interval reps, capacity, true_reserve;
  double p_miss = 0;  // 0 for a set to failure
};

struct WayResult {
  std::string key, name;
  double sets = 0;      // the last one may be a part
  bool reached = true;  // false: even 20 sets bring less than the basis asks for
  std::vector<WaySet> each;
  Outcome outcome;
  double p_miss = 0;  // at least one planned rep missed in the exercise; sets to failure left out
};

struct Comparison {
  Basis basis = Basis::sets;
  bool by_tonnage = false;             // equal volume counted as tonnage
  std::vector<WayResult> ways;         // as asked for
  std::vector<Outcome> against_first;  // each way less the first one, draw by draw; all 0 for the first
};

// invalid_input: no contenders, loads that are not one a draw, sets, rest or lists outside their ranges.
// Cost: about 1 us per draw and set; four ways of 4 sets with 512 draws about 5 ms.
Result<Comparison> compare(const capacity::LifterDraws& draws, const std::vector<planning::Reading>& readings,
                           const CompareRequest& request);

}  // namespace ullage::comparing
