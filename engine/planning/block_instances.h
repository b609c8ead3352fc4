// For tests and benches: random block problems of a given size. Everything in them is invented.
#pragma once

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "engine/base/random.h"
#include "engine/planning/block.h"
#include "engine/planning/stimulus.h"

namespace ullage::planning::testing {

struct InstanceSize {
  int days = 5, exercises = 60, weeks = 6;
  bool rules = true;  // must-haves, bars, fixed parts, tests, balance, lighter and travel weeks
  bool alternate = false;
};

inline StimulusByReserve middle_stimulus() {
  StimulusByReserve g{};
  for (int r = 0; r < kReserveSteps; ++r) {
    const double plateau = plateau_growth(r, kPlateauR50), linear = linear_growth(r, kLinearSlope);
    g[static_cast<std::size_t>(r)] = 0.5 * (plateau * plateau + linear * linear);
  }
  return g;
}

// Exercises of 24 kinds, copies differing a little in minutes and fatigue.
inline std::vector<BlockExercise> random_exercises(int count, Random& random) {
  using M = Muscle;
  struct Kind {
    const char* name;
    ExerciseClass cls;
    std::vector<std::pair<M, double>> muscles;
  };
  constexpr auto kBar = ExerciseClass::barbell_compound;
  constexpr auto kHeld = ExerciseClass::supported_compound;
  constexpr auto kOne = ExerciseClass::isolation;
  static const std::vector<Kind> kinds{
      {"squat", kBar, {{M::quadriceps, 1}, {M::glutes, 1}, {M::adductors, 0.5}, {M::lower_back, 0.5}}},
      {"bench", kBar, {{M::chest, 1}, {M::triceps, 0.5}, {M::front_shoulder, 0.5}}},
      {"deadlift", kBar, {{M::lower_back, 1}, {M::glutes, 1}, {M::hamstrings, 1}, {M::upper_back, 0.5}}},
      {"overhead", kBar, {{M::front_shoulder, 1}, {M::triceps, 0.5}, {M::side_shoulder, 0.5}}},
      {"row", kHeld, {{M::upper_back, 1}, {M::lats, 1}, {M::biceps, 0.5}, {M::rear_shoulder, 0.5}}},
      {"pulldown", kHeld, {{M::lats, 1}, {M::biceps, 0.5}, {M::upper_back, 0.5}}},
      {"leg press", kHeld, {{M::quadriceps, 1}, {M::glutes, 0.5}}},
      {"chest press", kHeld, {{M::chest, 1}, {M::triceps, 0.5}, {M::front_shoulder, 0.5}}},
      {"dip", kHeld, {{M::triceps, 1}, {M::chest, 1}, {M::front_shoulder, 0.5}}},
      {"lunge", kHeld, {{M::quadriceps, 1}, {M::glutes, 1}, {M::hamstrings, 0.25}}},
      {"hip thrust", kHeld, {{M::glutes, 1}, {M::hamstrings, 0.5}}},
      {"shoulder press", kHeld, {{M::front_shoulder, 1}, {M::triceps, 0.5}, {M::side_shoulder, 0.5}}},
      {"curl", kOne, {{M::biceps, 1}, {M::forearm, 0.5}}},
      {"pushdown", kOne, {{M::triceps, 1}}},
      {"lateral raise", kOne, {{M::side_shoulder, 1}}},
      {"rear raise", kOne, {{M::rear_shoulder, 1}, {M::upper_back, 0.25}}},
      {"leg extension", kOne, {{M::quadriceps, 1}}},
      {"leg curl", kOne, {{M::hamstrings, 1}}},
      {"calf raise", kOne, {{M::calves, 1}}},
      {"fly", kOne, {{M::chest, 1}}},
      {"crunch", kOne, {{M::abdominals, 1}}},
      {"adduction", kOne, {{M::adductors, 1}}},
      {"back raise", kOne, {{M::lower_back, 1}, {M::glutes, 0.5}, {M::hamstrings, 0.5}}},
      {"wrist curl", kOne, {{M::forearm, 1}}},
  };
  std::vector<BlockExercise> out;
  for (int i = 0; i < count; ++i) {
    const Kind& kind = kinds[static_cast<std::size_t>(i) % kinds.size()];
    BlockExercise e;
    e.exercise.name =
        kind.name + (i < static_cast<int>(kinds.size()) ? std::string() : std::string(" ").append(std::to_string(i)));
    e.exercise.id = std::string("e").append(std::to_string(i));
    e.exercise.cls = kind.cls;
    for (const auto& [muscle, share] : kind.muscles) e.exercise.involvement[static_cast<std::size_t>(muscle)] = share;
    // A third of the copies differ in one share, so that not all copies are alike.
    if (i >= static_cast<int>(kinds.size()) && random.uniform() < 0.35) {
      auto& share = e.exercise.involvement[static_cast<std::size_t>(kind.muscles.back().first)];
      share = share >= 1 ? 1 : 0.25;
      e.exercise.involvement[static_cast<std::size_t>(random.uniform() * kMuscleCount) % kMuscleCount] = 0.25;
    }
    const double heavy = kind.cls == kBar ? 1 : kind.cls == kHeld ? 0.8 : 0.5;
    const double scale = heavy * std::exp(random.normal(0, 0.15));
    const auto mode = [&](int reserve, double minutes, bool is_heavy) {
      BlockMode m;
      m.reserve = reserve;
      m.minutes = minutes;
      m.heavy = is_heavy;
      m.fatigue = scale * (1.5 + 3.5 * std::exp(-reserve / 1.2)) * (is_heavy ? 0.8 : 1);
      return m;
    };
    const double rest = kind.cls == kBar ? 3 : kind.cls == kHeld ? 2 : 1.5;
    e.minutes = (kind.cls == kBar ? 5 : kind.cls == kHeld ? 3 : 1.5) + random.uniform();
    if (kind.cls == kBar) {
      for (int r = 2; r <= 4; ++r) e.modes.push_back(mode(r, rest + 0.4, false));
      e.modes.push_back(mode(3, rest + 0.3, true));
    } else if (kind.cls == kHeld) {
      for (int r = 1; r <= 2; ++r) e.modes.push_back(mode(r, rest + 0.5, false));
      e.modes.push_back(mode(0, rest + 0.5, false));
      e.failure_every_days = 21;
    } else {
      e.modes.push_back(mode(1, rest + 0.6, false));
      e.modes.push_back(mode(0, rest + 0.6, false));
      e.failure_every_days = 7;
    }
    e.preference = random.uniform() < 0.4 ? 0.01 : 0;
    out.push_back(std::move(e));
  }
  return out;
}

// Same seed, same problem. May be infeasible (rules are drawn without looking).
inline BlockProblem random_problem(const InstanceSize& size, std::uint64_t seed) {
  Random random(seed);
  const auto whole = [&](int low, int high) {
    return low + static_cast<int>(random.uniform() * (high - low + 1)) % (high - low + 1);
  };
  BlockProblem p;
  p.exercises = random_exercises(size.exercises, random);
  p.stimulus = middle_stimulus();
  p.price = 0.004 * std::exp(random.normal(0.5, 0.5));
  if (size.alternate) p.alternate_saves = 1;
  const auto n = static_cast<std::size_t>(size.exercises);
  p.places = {"boathouse", "travel"};
  p.no_equipment.assign(2, std::vector<std::string>(n));
  for (std::size_t e = 0; e < n; ++e) {
    if (random.uniform() < 0.1) p.no_equipment[0][e] = "no such equipment at boathouse";
    if (random.uniform() < 0.6) p.no_equipment[1][e] = "no such equipment at travel";
  }
  for (int k = 0; k < kMuscleCount; ++k) {
    MuscleRule& rule = p.muscles[static_cast<std::size_t>(k)];
    const auto muscle = static_cast<Muscle>(k);
    const bool side = muscle == Muscle::neck || muscle == Muscle::abductors || muscle == Muscle::forearm;
    rule.weight = side ? 0 : 0.5 + whole(0, 3) * 0.5;
    rule.most_week = 16 + whole(0, 8);
    rule.most_session = 7 + whole(0, 4);
    rule.recovery_hours = random.uniform() < 0.7 ? 48 : 24;
    // With few exercises a muscle may have none of its own.
    if (!side && size.exercises >= 24 && random.uniform() < 0.3) rule.least_week = 2 + whole(0, 2);
  }
  const int first = 20000 - weekday(Date{20000}) + 1;  // a Monday
  static const std::vector<std::vector<int>> weekdays{
      {}, {3}, {1, 4}, {1, 3, 5}, {1, 2, 4, 5}, {1, 2, 4, 5, 6}, {1, 2, 3, 4, 5, 6}, {1, 2, 3, 4, 5, 6, 7}};
  std::vector<double> minutes;
  for (int d = 0; d < size.days; ++d) minutes.push_back(45 + 15 * whole(0, 3));
  const int lighter = size.rules && size.weeks > 3 && random.uniform() < 0.4 ? whole(2, size.weeks - 1) : -1;
  const int travel = size.rules && size.weeks > 2 && random.uniform() < 0.3 ? whole(1, size.weeks - 1) : -1;
  const bool rising = size.rules && random.uniform() < 0.4;
  for (int w = 0; w < size.weeks; ++w) {
    BlockWeek week;
    week.monday = Date{first + 7 * w};
    week.barred.assign(n, "");
    for (int d = 0; d < size.days; ++d) {
      BlockDay day;
      day.date = week.monday + (weekdays[static_cast<std::size_t>(size.days)][static_cast<std::size_t>(d)] - 1);
      day.minutes = minutes[static_cast<std::size_t>(d)];
      if (w == travel) day.place = 1;
      week.days.push_back(day);
    }
    if (w == travel) week.kind = WeekKind::travel, week.why = "away";
    if (w == lighter && w != travel) {
      week.kind = WeekKind::lighter;
      week.why = "lighter";
      week.most_share = 0.6;
      week.least_reserve = 2;
      week.failure = false;
    }
    // Weekly sets may rise from what was done before: 10 sets, then 2 more each week.
    if (rising) {
      for (double& most : week.most) most = 10 + 2 * std::min(w, 3);
    }
    p.weeks.push_back(std::move(week));
  }
  if (size.rules) {
    for (int e = 0; e < 4 && e < size.exercises; ++e) {
      if (random.uniform() < 0.5) {
        p.must.push_back({e, 1, 0, 99});
        for (auto& place : p.no_equipment) place[static_cast<std::size_t>(e)].clear();
        if (random.uniform() < 0.5) p.lifts.push_back({e, 1, 0});
      }
    }
    if (random.uniform() < 0.3) {
      for (BlockWeek& week : p.weeks) week.barred[n / 2] = "pain on record";
    }
    if (random.uniform() < 0.3 && !p.must.empty()) p.tests.push_back({p.must.front().exercise, size.weeks - 1});
    if (random.uniform() < 0.4)
      p.balance.push_back({{Muscle::chest, Muscle::front_shoulder},
                           {Muscle::lats, Muscle::upper_back},
                           1.5,
                           "pressing against pulling"});
  }
  return p;
}

}  // namespace ullage::planning::testing
