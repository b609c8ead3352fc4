// Pooling over a roster (engine/capacity/roster_move.h) on simulated rosters: how far estimates are from the truth with
// and without it.
//
// A roster has sixteen lifters, every other one with two weeks of log, the others with twelve. Its people are drawn
// from the model's priors moved by `off` prior sds in each of b, log g, log A_fast, log A_slow and log k of every lift,
// each up or down by a coin. Loads and reps depend on what was logged alone (engine/calibration/scenario.h). The seed
// is fixed.
#pragma once

#include <array>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/calibration/scenario.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/roster_move.h"

namespace ullage::science {

struct RosterCase {
  const char* name;
  double off = 0;      // prior sds
  bool mixed = false;  // a quarter each: planned with calls, cues, ends not told, mixed with rep-max tests
};
inline constexpr std::array<RosterCase, 5> kRosterCases{{{"on the priors", 0, false},
                                                         {"half a sd off", 0.5, false},
                                                         {"one sd off", 1, false},
                                                         {"mixed logs on the priors", 0, true},
                                                         {"mixed logs one sd off", 1, true}}};
inline constexpr int kRosterLifters = 16;
inline constexpr int kShortWeeks = 2, kLongWeeks = 12;

// Sums over the lifters of a roster with logs of one length.
struct PoolingTally {
  int lifters = 0;
  // Squared errors in prior sds of strength and log k of three lifts, b, log g and log A_slow, all together.
  double before = 0, after = 0;
  // Squared errors of the reps of the next set, taken to failure.
  double reps_before = 0, reps_after = 0;
  // Of so many intervals of 80 % for these nine, how many held.
  int intervals = 0, held_before = 0, held_after = 0;
  // Of the intervals of the next set (one a lifter).
  double next_held_before = 0, next_held_after = 0;
};
struct PooledRoster {
  PoolingTally short_logs, long_logs;
  double largest_move = 0;  // prior sds, of any unknown of any lifter
};

namespace pooling {

// A row of science/results/pooling.csv: case, roster, and these.
inline constexpr const char* kColumns =
    "case,roster,weeks,lifters,before,after,reps_before,reps_after,intervals,held_before,held_after,next_held_before,"
    "next_held_after,largest_move";
inline std::string row_of(const PoolingTally& t, int weeks, double largest_move) {
  char text[400];
  std::snprintf(text, sizeof text, "%d,%d,%.5f,%.5f,%.4f,%.4f,%d,%d,%d,%.0f,%.0f,%.4f", weeks, t.lifters, t.before,
                t.after, t.reps_before, t.reps_after, t.intervals, t.held_before, t.held_after, t.next_held_before,
                t.next_held_after, largest_move);
  return text;
}

inline calibration::PeopleShift people_of(const RosterCase& which, int roster) {
  Random random(calibration::kStudySeed + 71 * static_cast<std::uint64_t>(roster), 11);
  const auto off = [&](double sd) { return (random.uniform() < 0.5 ? -1 : 1) * which.off * sd; };
  calibration::PeopleShift out;
  out.bias = off(capacity::kBias.sd);
  out.log_gain = off(capacity::kLogGain.sd);
  out.log_a_fast = off(capacity::kLogAFast.sd);
  out.log_a_slow = off(capacity::kLogASlow.sd);
  const calibration::Scene any = calibration::make_scene({calibration::Kind::planned, {}, 1, {}}, 0);
  for (std::size_t i = 0; i < out.log_endurance.size(); ++i) {
    out.log_endurance[i] = off(capacity::log_endurance(any.lifts[i].exercise).sd);
  }
  return out;
}

// Mean and 80 % interval of one unknown over the mixture.
struct Told {
  double mean = 0, low = 0, high = 0;
};
inline Told told(const capacity::Posterior& p, int variable) {
  Told out;
  double square = 0;
  for (const capacity::Component& c : p.components) {
    out.mean += c.weight * c.mean(variable);
    square += c.weight * (c.covariance(variable, variable) + c.mean(variable) * c.mean(variable));
  }
  const double sd = std::sqrt(square - out.mean * out.mean);
  const auto below = [&](double value) {
    double sum = 0;
    for (const capacity::Component& c : p.components) {
      sum += c.weight * normal_cdf((value - c.mean(variable)) / std::sqrt(c.covariance(variable, variable)));
    }
    return sum;
  };
  const auto quantile = [&](double share) {
    double low = out.mean - 8 * sd, high = out.mean + 8 * sd;
    for (int i = 0; i < 60; ++i) (below((low + high) / 2) < share ? low : high) = (low + high) / 2;
    return (low + high) / 2;
  };
  out.low = quantile(0.1);
  out.high = quantile(0.9);
  return out;
}

// Reps of the scene's next set: mean, and the share of draws below what really came.
inline std::pair<double, double> next_set(const calibration::Scene& scene, const capacity::Posterior& p) {
  constexpr int kDraws = 1000;
  const auto draws = p.draw({{scene.lifts[0].exercise}}, scene.next_day, 80, kDraws, calibration::kStudySeed);
  const double log_load = std::log(total_load(scene.lifts[0].exercise, scene.next_load, 80));
  Random noise(calibration::kStudySeed, 9);
  double mean = 0;
  int fewer = 0;
  for (const capacity::Draw& d : draws.draws) {
    const double x = d.lifts[0].log_strength - d.lifts[0].residual - log_load;
    const double k = d.lifts[0].endurance, shape = draws.info[0].shape;
    const bool outside = x > std::log(2.0) || capacity::reps_to_failure(x, k, shape) > 25;
    const double sigma = d.sigma * (outside ? capacity::kSigmaOutsideRange : 1);
    const double reps = capacity::reps_to_failure(x + sigma * noise.normal(), k, shape);
    mean += reps / kDraws;
    fewer += reps < scene.next_capacity ? 1 : 0;
  }
  return {mean, (fewer + 0.5) / (kDraws + 1)};
}

}  // namespace pooling

// Cost: two to four seconds.
inline PooledRoster pool_roster(const RosterCase& which, int roster, int lifters = kRosterLifters) {
  using namespace pooling;
  const calibration::PeopleShift people = people_of(which, roster);
  std::vector<calibration::Scene> scenes;
  std::vector<capacity::Posterior> posteriors;
  std::vector<capacity::Lesson> lessons;
  for (int i = 0; i < lifters; ++i) {
    calibration::Scenario scenario;
    if (which.mixed) scenario.kind = static_cast<calibration::Kind>(i / 2 % calibration::kKinds);
    scenario.weeks = i % 2 == 0 ? kShortWeeks : kLongWeeks;
    scenario.people = people;
    // Away from the numbers of every other study.
    scenes.push_back(calibration::make_scene(scenario, 500000 + 100 * roster + i));
    const calibration::Scene& scene = scenes.back();
    const auto log = capacity::prepare(
        scene.lifter, scene.sets, [&](const std::string& id) { return scene.find(id); }, scene.sets.back().date);
    capacity::FitOptions options;
    options.history = false;
    posteriors.push_back(*capacity::fit(log, options));
    lessons.push_back(capacity::lesson_of(posteriors.back(), log));
  }
  const capacity::RosterMoves moves = capacity::roster_moves(lessons);
  PooledRoster out;
  for (int i = 0; i < lifters; ++i) {
    const auto at = static_cast<std::size_t>(i);
    const calibration::Scene& scene = scenes[at];
    const capacity::Posterior& before = posteriors[at];
    const capacity::Posterior after =
        capacity::moved(before, {}, moves.own[at], [&](const std::string& id) { return scene.find(id); });
    for (const auto& u : moves.own[at].unknowns) out.largest_move = std::max(out.largest_move, std::fabs(u.by));
    PoolingTally& sum = i % 2 == 0 ? out.short_logs : out.long_logs;
    ++sum.lifters;
    const auto count = [&](int variable, double truth, double prior_sd) {
      const Told was = told(before, variable), is = told(after, variable);
      sum.before += (was.mean - truth) * (was.mean - truth) / (prior_sd * prior_sd);
      sum.after += (is.mean - truth) * (is.mean - truth) / (prior_sd * prior_sd);
      ++sum.intervals;
      sum.held_before += was.low < truth && truth < was.high ? 1 : 0;
      sum.held_after += is.low < truth && truth < is.high ? 1 : 0;
    };
    for (std::size_t l = 0; l < scene.lifts.size(); ++l) {
      const auto lift = static_cast<std::size_t>(before.find_lift(scene.lifts[l].exercise.id, Side::both));
      count(before.index.strength[lift], scene.log_strength[l], before.lifts[lift].prior_log_sd);
      count(before.index.log_endurance[static_cast<std::size_t>(before.lifts[lift].endurance_index)],
            std::log(scene.truth.lifts[l].endurance), capacity::log_endurance(scene.lifts[l].exercise).sd);
    }
    count(before.index.bias, scene.bias, capacity::kBias.sd);
    count(before.index.log_gain, std::log(scene.truth.judgement.gain), capacity::kLogGain.sd);
    count(before.index.log_a_slow, std::log(scene.truth.fatigue.a_slow), capacity::kLogASlow.sd);
    const auto [was, place_was] = next_set(scene, before);
    const auto [is, place_is] = next_set(scene, after);
    sum.reps_before += (was - scene.next_capacity) * (was - scene.next_capacity);
    sum.reps_after += (is - scene.next_capacity) * (is - scene.next_capacity);
    sum.next_held_before += place_was > 0.1 && place_was < 0.9 ? 1 : 0;
    sum.next_held_after += place_is > 0.1 && place_is < 0.9 ? 1 : 0;
  }
  return out;
}

}  // namespace ullage::science
