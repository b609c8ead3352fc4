// The published sessions that the fatigue constants are fitted to and checked against, played through the engine's own
// capacity and fatigue functions by a small crowd of lifters.
//
// A crowd differs in endurance k and has set noise; strength is 1, so loads are shares of it. Everybody does whole
// reps: floor(C) to failure, that less the reserve otherwise. Figures are means over the crowd, as studies report them.
#pragma once

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "engine/base/normal.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/fatigue.h"

namespace ullage::science {

using capacity::FatigueConstants;

struct Crowd {
  double endurance = 32;       // bench press, T01-008/009
  double endurance_sd = 0.22;  // log, between people
  double sigma = 0.025;        // set noise
  double shape = 1;
  int size = 400;
};

struct Session {
  std::vector<double>
      loads;        // share of strength, one per set; a negative value -r means the load of r repetitions maximum
  double rest = 2;  // minutes
  int reserve = 0;  // whole reps left; 0: to failure, one more tried
  int cap = 0;      // > 0: stops at so many reps even if more are left
};

struct Played {
  std::vector<double> reps;     // mean good reps per set
  std::vector<double> fatigue;  // mean margin missing before each set
  double total = 0;             // mean reps of all sets
  double fatigue_after = 0;     // one rest after the last set
};

// Evenly spread points in (0, 1): the fractional parts of multiples of irrational numbers (additive recurrence).
inline double spread_point(int i, int dimension) {
  static const double steps[] = {0.41421356237309505, 0.73205080756887730, 0.23606797749978969, 0.64575131106459059,
                                 0.31662479035539985, 0.60555127546398930, 0.12310562561766059};
  double whole;
  const double u = std::modf(0.5 + (i + 1) * steps[dimension], &whole);
  return std::clamp(u, 1e-6, 1 - 1e-6);
}

inline Played play(const Session& session, const FatigueConstants& constants, const Crowd& crowd = {}) {
  Played out;
  out.reps.assign(session.loads.size(), 0);
  out.fatigue.assign(session.loads.size(), 0);
  for (int i = 0; i < crowd.size; ++i) {
    const double k = crowd.endurance * std::exp(crowd.endurance_sd * normal_quantile(spread_point(i, 0)));
    capacity::FatigueStores stores;
    for (std::size_t s = 0; s < session.loads.size(); ++s) {
      const double load = session.loads[s];
      // An 8RM load leaves 8 and not 9 reps: 8.5 on average.
      const double fresh = load > 0 ? -std::log(load) : capacity::margin_for_reps(0.5 - load, k, crowd.shape);
      const double margin = fresh - stores.total();
      const double noise = crowd.sigma * normal_quantile(spread_point(i, 1 + static_cast<int>(s)));
      const int whole =
          static_cast<int>(std::max(0.0, std::floor(capacity::reps_to_failure(margin + noise, k, crowd.shape))));
      const bool capped = session.cap > 0 && whole >= session.cap;
      const int reps = capped ? session.cap : session.reserve == 0 ? whole : std::max(1, whole - session.reserve);
      const bool failed = session.reserve == 0 && !capped;
      out.reps[s] += reps;
      out.fatigue[s] += stores.total();
      stores.add(capacity::spend<double>(margin, k, crowd.shape, reps, failed, constants.lam, constants.rho_f),
                 constants);
      stores.rest(session.rest, constants);
    }
    out.fatigue_after += stores.total();
  }
  for (double& r : out.reps) {
    r /= crowd.size;
    out.total += r;
  }
  for (double& f : out.fatigue) f /= crowd.size;
  out.fatigue_after /= crowd.size;
  return out;
}

// The model's value of one published figure, by row id. Bench press throughout; sets to failure unless said.
// NaN for an id that is none of them.
inline double predicted(const std::string& id, const FatigueConstants& c, const Crowd& crowd = {}) {
  const auto four_at_8rm = [&](double rest) { return play({{-8, -8, -8, -8}, rest, 0}, c, crowd).total; };
  const auto two_at_75 = [&](double rest) { return play({{0.75, 0.75}, rest, 0}, c, crowd).total; };
  const auto climbing = [&](double rest) { return play({{0.70, 0.75, 0.75, 0.80, 0.85}, rest, 0}, c, crowd).total; };
  const auto kept = [&](double rest, std::size_t set) {  // mean of the two protocols, 5 x 10 at 75 % and 5 x 5 at 85 %
    const auto tens = play({{0.75, 0.75, 0.75, 0.75, 0.75}, rest, 0, 10}, c, crowd).reps;
    const auto fives = play({{0.85, 0.85, 0.85, 0.85, 0.85}, rest, 0, 5}, c, crowd).reps;
    return (tens[set] / tens[0] + fives[set] / fives[0]) / 2;
  };
  const auto six_at_75 = [&](int reserve) {  // 4 minutes of rest: T04-050, from memory
    return play({{0.75, 0.75, 0.75, 0.75, 0.75, 0.75}, 4, reserve}, c, crowd);
  };
  // Willardson & Burkett 2005: four sets at 8RM, totals relative to 1 minute.
  if (id == "T04-001" || id == "T04-003") return four_at_8rm(2) / four_at_8rm(1);
  if (id == "T04-002" || id == "T04-004") return four_at_8rm(5) / four_at_8rm(1);
  // Richmond & Godard 2004: two sets at 75 %, work relative to 5 minutes.
  if (id == "T04-012") return two_at_75(1) / two_at_75(5);
  if (id == "T04-013") return two_at_75(3) / two_at_75(5);
  // Speretta et al. 2012: five sets, 70, 75, 75, 80, 85 %.
  if (id == "T04-014") return climbing(1);
  if (id == "T04-015") return climbing(2);
  if (id == "T04-016") return climbing(1) / climbing(2);
  // Silva et al. 2014: three sets, 1 minute.
  if (id == "T04-017") return play({{0.5, 0.5, 0.5}, 1, 0}, c, crowd).total;
  if (id == "T04-018") return play({{0.7, 0.7, 0.7}, 1, 0}, c, crowd).total;
  // Ratamess et al. 2007: five sets of at most 10 at 75 % or 5 at 85 %; reps kept relative to set 1.
  if (id == "T04-022") return kept(2, 2);
  if (id == "T04-023") return kept(2, 4);
  if (id == "T04-024") return (kept(3, 3) + kept(3, 4)) / 2;
  // Refalo et al. 2023: six sets at 75 %; fatigue relative to failure, 4 minutes after the last set and before it.
  if (id == "T04-046") return six_at_75(1).fatigue_after / six_at_75(0).fatigue_after;
  if (id == "T04-047") return six_at_75(3).fatigue_after / six_at_75(0).fatigue_after;
  if (id == "T04-048") return six_at_75(1).fatigue.back() / six_at_75(0).fatigue.back();
  if (id == "T04-049") return six_at_75(3).fatigue.back() / six_at_75(0).fatigue.back();
  return std::nan("");
}

}  // namespace ullage::science
