// How well the block planner's linear score keeps the order of plans under the whole capacity model.
//
// The block planner counts fatigue set by set, each set as from fresh, and takes sets to end where they were planned
// (engine/planning/block_costs.h). Here random weeks are also played through the whole model
// (engine/planning/block_played.h). Both scores are V of engine/planning/block.h, under one reading, with the same
// price. Compared is the order in which they put the weeks (Spearman's rank correlation).
#pragma once

#include <algorithm>
#include <cmath>
#include <numeric>
#include <string>
#include <vector>

#include "engine/capacity/priors.h"
#include "engine/capacity/training_log.h"
#include "engine/planning/block.h"
#include "engine/planning/block_costs.h"
#include "engine/planning/block_instances.h"
#include "engine/planning/block_played.h"
#include "engine/simulation/truth.h"
#include "engine/training/policy.h"
#include "service/library/library.h"

namespace ullage::science {

struct Rescored {
  int lifter = 0;
  double all = 0;         // rank correlation over weeks of any size
  double equal_sets = 0;  // over weeks with the same number of sets: only choice, order and reserve differ
  double fatigue = 0;     // of fatigue alone, over all weeks
};

namespace rescoring {

inline constexpr int kDays = 4, kPlays = 24, kEqualSets = 56;
inline constexpr std::array<const char*, 14> kExercises = {
    "back-squat",       "bench-press",   "deadlift",   "overhead-press",     "lat-pulldown",
    "seated-cable-row", "leg-press",     "leg-curl",   "leg-extension",      "biceps-curl",
    "triceps-pushdown", "lateral-raise", "hip-thrust", "incline-bench-press"};

inline std::vector<double> ranks(const std::vector<double>& values) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
  std::vector<double> out(values.size());
  for (std::size_t i = 0; i < order.size(); ++i) out[order[i]] = static_cast<double>(i);
  return out;
}
inline double rank_correlation(const std::vector<double>& a, const std::vector<double>& b) {
  const std::vector<double> x = ranks(a), y = ranks(b);
  const double middle = (static_cast<double>(x.size()) - 1) / 2;
  double xy = 0, xx = 0, yy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xy += (x[i] - middle) * (y[i] - middle);
    xx += (x[i] - middle) * (x[i] - middle);
    yy += (y[i] - middle) * (y[i] - middle);
  }
  return xy / std::sqrt(xx * yy);
}

// A lifter whose truth is known, with the block problem that the planner would have of them.
struct Scene {
  std::vector<Exercise> exercises;
  simulation::Truth truth;
  planning::BlockProblem problem;
  capacity::LifterDraws draws;  // the truth, kPlays times
};

inline Scene scene_of(std::uint64_t seed) {
  Scene s;
  std::vector<simulation::SimulatedLift> lifts;
  for (const char* id : kExercises) {
    const Exercise* exercise = library::builtin().find(id);
    if (!exercise) continue;
    s.exercises.push_back(*exercise);
    lifts.push_back({*exercise});
  }
  Random random(seed);
  s.truth = simulation::draw_truth(lifts, {Sex::male, 80, 2}, random);
  const double residual_share = s.truth.residual * std::exp(-2 / capacity::kResidualDecayDays);
  capacity::LifterDraws& draws = s.draws;
  capacity::Draw draw;
  draw.fatigue = s.truth.fatigue;
  draw.judgement = s.truth.judgement;
  draw.sigma = s.truth.sigma;
  draw.a_day = s.truth.residual;
  for (std::size_t l = 0; l < lifts.size(); ++l) {
    capacity::LiftInfo info;
    info.exercise = s.exercises[l].id;
    info.shape = s.truth.lifts[l].shape;
    draws.info.push_back(info);
    draw.lifts.push_back({s.truth.lifts[l].log_strength, s.truth.lifts[l].endurance, 0});
    draws.overlap.emplace_back();
    for (std::size_t to = 0; to < lifts.size(); ++to) {
      draws.overlap.back().push_back(
          l == to ? 1 : capacity::lift_overlap(s.exercises[l], Side::both, s.exercises[to], Side::both));
    }
  }
  draws.draws.assign(kPlays, draw);
  const ReservePolicy policy;
  planning::BlockProblem& p = s.problem;
  p.stimulus = planning::testing::middle_stimulus();
  for (auto& muscle : p.muscles) muscle.weight = 1;
  for (std::size_t l = 0; l < lifts.size(); ++l) {
    const Exercise& e = s.exercises[l];
    const ClassPolicy& c = policy.of(e.cls);
    planning::BlockExercise out;
    out.exercise = e;
    const int reps = (c.least_reps + c.most_reps) / 2;
    const int low = std::max(1, static_cast<int>(std::ceil(c.least_reserve)));
    const int high = std::max(low, static_cast<int>(std::floor(c.most_reserve)));
    const auto mode = [&](int reserve) {
      planning::BlockMode m;
      m.reserve = reserve;
      m.least_reps = c.least_reps;
      m.most_reps = c.most_reps;
      m.minutes = c.rest_s / 60 + reps * capacity::kSecondsPerRep / 60;
      m.fatigue = planning::set_fatigue(draws, static_cast<int>(l), e, reps, reserve, c.rest_s / 60, residual_share);
      out.modes.push_back(m);
    };
    for (int r = low; r <= high + 2; ++r) mode(r);
    if (e.cls != ExerciseClass::barbell_compound) mode(0);
    p.exercises.push_back(std::move(out));
  }
  return s;
}

// A week of four days: three to six exercises a day, two to four sets of each.
inline planning::BlockPlan random_week(const Scene& s, Random& random, int sets_wanted) {
  planning::BlockPlan plan;
  plan.weeks.resize(1);
  plan.weeks[0].resize(kDays);
  int sets = 0;
  for (planning::PlannedDay& day : plan.weeks[0]) {
    std::vector<int> order(s.exercises.size());
    std::iota(order.begin(), order.end(), 0);
    for (std::size_t i = order.size(); i > 1; --i)
      std::swap(order[i - 1], order[static_cast<std::size_t>(random.integer(0, static_cast<int>(i) - 1))]);
    const int count = sets_wanted > 0 ? 5 : random.integer(3, 6);
    for (int i = 0; i < count; ++i) {
      planning::PlannedExercise item;
      item.exercise = order[static_cast<std::size_t>(i)];
      const auto& modes = s.problem.exercises[static_cast<std::size_t>(item.exercise)].modes;
      item.sets.assign(modes.size(), 0);
      const int n = sets_wanted > 0 ? 2 : random.integer(2, 4);
      const auto m = static_cast<std::size_t>(random.integer(0, static_cast<int>(modes.size()) - 1));
      if (modes[m].reserve == 0) {  // only the last set goes to failure
        item.sets[0] = n - 1;
        item.sets[m] = 1;
      } else {
        item.sets[m] = n;
      }
      sets += n;
      day.items.push_back(std::move(item));
    }
  }
  while (sets < sets_wanted) {  // the rest by chance
    auto& day = plan.weeks[0][static_cast<std::size_t>(random.integer(0, kDays - 1))];
    auto& item = day.items[static_cast<std::size_t>(random.integer(0, static_cast<int>(day.items.size()) - 1))];
    for (std::size_t m = 0; m < item.sets.size(); ++m) {
      if (item.sets[m] == 0 || s.problem.exercises[static_cast<std::size_t>(item.exercise)].modes[m].reserve == 0)
        continue;
      ++item.sets[m];
      ++sets;
      break;
    }
  }
  planning::put_in_order(s.problem, plan);
  return plan;
}

struct Score {
  double value = 0, fatigue = 0;
};

// V of a week played through the whole model, mean of kPlays plays.
inline Score whole_score(const Scene& s, const planning::BlockPlan& plan, std::uint64_t seed) {
  const planning::PlayedPlan played = planning::play_plan(s.problem, plan, s.draws, s.truth.day_sd, seed);
  Score out;
  out.fatigue = played.fatigue();
  out.value = planning::played_effect(s.problem, plan, played, s.problem.stimulus) - s.problem.price * out.fatigue;
  return out;
}

}  // namespace rescoring

inline Rescored rescore_lifter(int number, int weeks) {
  using namespace rescoring;
  const std::uint64_t seed = 20261101 + 1000 * static_cast<std::uint64_t>(number);
  const Scene s = scene_of(seed);
  Random random(seed, 7);
  Rescored out;
  out.lifter = number;
  for (const int wanted : {0, kEqualSets}) {
    std::vector<double> linear, whole, linear_fatigue, whole_fatigue;
    for (int i = 0; i < weeks; ++i) {
      const planning::BlockPlan plan = random_week(s, random, wanted);
      const planning::PlanWorth worth = planning::worth_of(s.problem, plan);
      const Score score = whole_score(s, plan, seed + static_cast<std::uint64_t>(i));
      linear.push_back(worth.value);
      whole.push_back(score.value);
      linear_fatigue.push_back(worth.fatigue);
      whole_fatigue.push_back(score.fatigue);
    }
    (wanted == 0 ? out.all : out.equal_sets) = rank_correlation(linear, whole);
    if (wanted == 0) out.fatigue = rank_correlation(linear_fatigue, whole_fatigue);
  }
  return out;
}

}  // namespace ullage::science
