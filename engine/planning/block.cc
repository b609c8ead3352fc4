#include "engine/planning/block.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "engine/planning/stimulus.h"

namespace ullage::planning {
namespace {

double by_chords(const std::vector<double>& knots, double (*curve)(double), double sum) {
  if (sum <= 0) return 0;
  for (std::size_t i = 1; i < knots.size(); ++i) {
    if (sum <= knots[i]) {
      const double low = curve(knots[i - 1]), high = curve(knots[i]);
      return low + (high - low) * (sum - knots[i - 1]) / (knots[i] - knots[i - 1]);
    }
  }
  return curve(knots.back());
}

int involvement_sum_order(const Exercise& a) {
  double sum = 0;
  for (double x : a.involvement) sum += x;
  return static_cast<int>(std::lround(1000 * sum));
}

int class_order(ExerciseClass cls) { return static_cast<int>(cls); }

template <class T>
void put(std::string& text, const T& value) {
  text += std::to_string(value);
  text += ' ';
}

}  // namespace

int PlannedExercise::total() const { return std::accumulate(sets.begin(), sets.end(), 0); }

const std::vector<double>& growth_knots() {
  static const std::vector<double> knots{0, 0.5, 1, 2, 3.5, 5, 7, 9.5, 12.5, 16, 20, 26, 34};
  return knots;
}
const std::vector<double>& strength_knots() {
  static const std::vector<double> knots{0, 1, 2, 3, 5, 8, 12};
  return knots;
}
double growth_by_chords(double sum) { return by_chords(growth_knots(), weekly_growth, sum); }
double strength_by_chords(double sum) { return by_chords(strength_knots(), weekly_strength, sum); }

std::vector<std::string> faults_of(const BlockProblem& p) {
  std::vector<std::string> out;
  if (p.weeks.empty()) out.push_back("no weeks: a block has at least one");
  bool days = false;
  for (const BlockWeek& week : p.weeks) {
    for (const BlockDay& day : week.days) {
      days = true;
      if (!(day.minutes > 0) && !day.closed) {
        out.push_back(date_text(day.date) + ": " + std::to_string(static_cast<int>(day.minutes)) +
                      " minutes; a training day has more than 0");
      }
      if (day.place < 0 || day.place >= static_cast<int>(p.places.size()))
        out.push_back(date_text(day.date) + ": no such place");
    }
    if (week.barred.size() != p.exercises.size()) out.push_back("a week must say of every exercise whether it is out");
  }
  if (!days && !p.weeks.empty()) out.push_back("no days: say on which days of the week the lifter trains");
  if (p.exercises.empty()) out.push_back("no exercises to choose from");
  if (p.no_equipment.size() != p.places.size()) out.push_back("every place must say what cannot be done there");
  for (const BlockExercise& e : p.exercises) {
    if (e.modes.empty()) out.push_back(e.exercise.name + ": no way to do a set");
    if (e.least_sets < 1 || e.most_sets < e.least_sets)
      out.push_back(e.exercise.name + ": at least 1 set, and no fewer at most than at least");
  }
  const int n = static_cast<int>(p.exercises.size());
  const auto known = [&](int e) { return e >= 0 && e < n; };
  bool fine = true;
  for (const MustHave& m : p.must) fine = fine && known(m.exercise);
  for (const FixedPart& f : p.fixed) fine = fine && known(f.exercise);
  for (const InOrder& o : p.order) fine = fine && known(o.first) && known(o.then);
  for (const LiftGoal& l : p.lifts) fine = fine && known(l.exercise);
  for (const BlockTest& t : p.tests) fine = fine && known(t.exercise) && t.week >= 0;
  if (!fine) out.push_back("a rule names an exercise that is not offered");
  return out;
}

int alternating_side(const BlockExercise& e) {
  if (e.exercise.cls == ExerciseClass::barbell_compound) return 0;
  const auto share = [&](Muscle m) { return e.exercise.involvement[static_cast<std::size_t>(m)]; };
  const double pressing = share(Muscle::chest) + share(Muscle::triceps) + share(Muscle::front_shoulder) +
                          share(Muscle::side_shoulder) + share(Muscle::quadriceps) + share(Muscle::calves);
  const double pulling = share(Muscle::lats) + share(Muscle::upper_back) + share(Muscle::biceps) +
                         share(Muscle::rear_shoulder) + share(Muscle::hamstrings) + share(Muscle::forearm);
  if (pressing >= 1 && pulling < 0.5) return 1;
  if (pulling >= 1 && pressing < 0.5) return 2;
  return 0;
}

double minutes_of(const BlockProblem& p, const PlannedDay& day) {
  double minutes = 0;
  int pressing = 0, pulling = 0;
  for (const PlannedExercise& item : day.items) {
    const BlockExercise& e = p.exercises[static_cast<std::size_t>(item.exercise)];
    minutes += e.minutes + (item.test ? e.test_minutes : 0);
    for (std::size_t m = 0; m < item.sets.size(); ++m) minutes += item.sets[m] * e.modes[m].minutes;
    const int side = alternating_side(e);
    if (side == 1) pressing += item.total();
    if (side == 2) pulling += item.total();
  }
  return minutes - p.alternate_saves * std::min(pressing, pulling);
}

std::string barred_on(const BlockProblem& p, int exercise, int week, int day) {
  const BlockWeek& w = p.weeks[static_cast<std::size_t>(week)];
  const auto e = static_cast<std::size_t>(exercise);
  if (!w.barred[e].empty()) return w.barred[e];
  return p.no_equipment[static_cast<std::size_t>(w.days[static_cast<std::size_t>(day)].place)][e];
}

namespace {

std::vector<int> phases_of(const BlockProblem& p) {
  std::vector<int> out;
  std::vector<std::string> keys, rules;
  int phases = 0;
  for (std::size_t w = 0; w < p.weeks.size(); ++w) {
    std::string key, rule;
    for (std::size_t d = 0; d < p.weeks[w].days.size(); ++d) {
      put(key, weekday(p.weeks[w].days[d].date));
      for (std::size_t e = 0; e < p.exercises.size(); ++e) {
        key += barred_on(p, static_cast<int>(e), static_cast<int>(w), static_cast<int>(d)).empty() ? '1' : '0';
      }
    }
    const int at = static_cast<int>(w);
    for (const MustHave& m : p.must) rule += at >= m.from_week && at <= m.to_week ? '1' : '0';
    for (const FixedPart& f : p.fixed) rule += at >= f.from_week && at <= f.to_week ? '1' : '0';
    int phase = phases;
    for (std::size_t v = w; v-- > 0 && phase == phases && p.exercises_stay;) {
      // Straight on whatever the coach's rules say; after a break only under the same ones.
      if (keys[v] == key && (v + 1 == w || (rules[v] == rule && !p.near))) phase = out[v];
    }
    if (phase == phases) ++phases;
    keys.push_back(std::move(key));
    rules.push_back(std::move(rule));
    out.push_back(phase);
  }
  return out;
}

bool failure_week_in(const BlockProblem& p, const std::vector<int>& phase, int exercise, int week) {
  const BlockExercise& e = p.exercises[static_cast<std::size_t>(exercise)];
  if (e.failure_every_days <= 0) return false;
  const int spacing = (e.failure_every_days + 6) / 7;
  // The first week that lies far enough from the last failure on record, then every so many weeks; over a change of
  // phase one more, since the weekday may change there.
  int next = -1;
  for (int w = 0; w <= week; ++w) {
    const BlockWeek& at = p.weeks[static_cast<std::size_t>(w)];
    if (next < 0) {
      if (e.last_failure && at.monday - *e.last_failure < e.failure_every_days) continue;
      next = w;
    }
    if (w < next) continue;
    const bool last = w == week;
    if (last) break;
    next = w + spacing;
    if (next < static_cast<int>(p.weeks.size()) &&
        phase[static_cast<std::size_t>(next)] != phase[static_cast<std::size_t>(w)])
      ++next;
  }
  if (next != week || !p.weeks[static_cast<std::size_t>(week)].failure) return false;
  for (const BlockTest& test : p.tests) {
    const BlockExercise& tested = p.exercises[static_cast<std::size_t>(test.exercise)];
    if (overlap(e.exercise, tested.exercise) < 0.5) continue;
    const int before = (p.rest_days_before_test_failure + 6) / 7;
    if (week <= test.week && test.week - week <= before) return false;
  }
  return true;
}

}  // namespace

bool mode_allowed(const BlockProblem& p, const BlockShape& shape, int exercise, int mode, int week) {
  const auto e = static_cast<std::size_t>(exercise), w = static_cast<std::size_t>(week);
  const BlockMode& m = p.exercises[e].modes[static_cast<std::size_t>(mode)];
  return m.reserve >= p.weeks[w].least_reserve && (m.reserve > 0 || shape.failure[w][e]);
}

BlockShape shape_of(const BlockProblem& p) {
  BlockShape shape;
  shape.phase = phases_of(p);
  for (int phase : shape.phase) shape.phases = std::max(shape.phases, phase + 1);
  std::vector<std::string> common, limited, keys;  // each with what the one before it has
  const auto first = [](std::vector<std::string>& of, std::string key) {
    const auto found = std::find(of.begin(), of.end(), key);
    const auto at = static_cast<int>(found - of.begin());
    of.push_back(std::move(key));
    return at;
  };
  const auto tests_in = [&](int w) {
    std::vector<int> out;
    for (const BlockTest& t : p.tests) {
      if (t.week == w) out.push_back(t.exercise);
    }
    std::sort(out.begin(), out.end());
    return out;
  };
  for (std::size_t w = 0; w < p.weeks.size(); ++w) {
    const BlockWeek& week = p.weeks[w];
    std::string key;
    put(key, shape.phase[w]);
    put(key, static_cast<int>(week.kind));
    put(key, week.most_share);
    put(key, week.least_reserve);
    for (double sets : week.behind) put(key, sets);
    for (const BlockDay& day : week.days) {
      put(key, day.minutes);
      put(key, static_cast<int>(day.closed));
      put(key, day.most_exercises);
    }
    const int at = static_cast<int>(w);
    for (const MustHave& m : p.must) key += at >= m.from_week && at <= m.to_week ? '1' : '0';
    for (const FixedPart& f : p.fixed) key += at >= f.from_week && at <= f.to_week ? '1' : '0';
    if (p.near && w < p.near->weeks.size()) {
      for (const PlannedDay& day : p.near->weeks[w]) {
        key += '/';
        for (const PlannedExercise& item : day.items) {
          put(key, item.exercise);
          put(key, item.total());
        }
      }
    }
    common.push_back(key);
    for (double most : week.most) put(key, most);
    for (int e : tests_in(at)) put(key, e);
    const int base = first(limited, key);
    shape.failure.emplace_back();
    for (std::size_t e = 0; e < p.exercises.size(); ++e) {
      shape.failure.back().push_back(failure_week_in(p, shape.phase, static_cast<int>(e), at));
      key += shape.failure.back().back() ? '1' : '0';
    }
    shape.like.push_back(first(keys, key));
    shape.base.push_back(p.near ? shape.like.back() : base);
  }
  shape.part.assign(p.weeks.size(), -1);
  if (p.near) return shape;
  // Are the limits of week a at least as tight as those of b in everything?
  const auto within = [&](int a, int b) {
    const auto x = static_cast<std::size_t>(a), y = static_cast<std::size_t>(b);
    if (common[x] != common[y]) return false;
    for (std::size_t k = 0; k < kMuscleCount; ++k) {
      const double tight = p.weeks[x].most[k], loose = p.weeks[y].most[k];
      if (loose > 0 && (tight <= 0 || tight > loose)) return false;
    }
    const std::vector<int> tight = tests_in(a), loose = tests_in(b);
    return std::includes(tight.begin(), tight.end(), loose.begin(), loose.end());
  };
  const int weeks = static_cast<int>(p.weeks.size());
  for (int w = 0; w < weeks; ++w) {
    const auto at = static_cast<std::size_t>(w);
    if (p.weeks[at].kind != WeekKind::usual && p.weeks[at].kind != WeekKind::travel) continue;
    int& part = shape.part[at];
    for (int v = 0; v < weeks; ++v) {
      const int base = shape.base[static_cast<std::size_t>(v)];
      if (base != v || base == shape.base[at] || !within(w, v)) continue;
      if (part < 0 || within(v, part)) part = v;  // the tightest of those that are looser
    }
  }
  return shape;
}

bool always_allowed(const BlockProblem& p, const BlockShape& shape, int exercise, int mode, int week) {
  for (std::size_t w = 0; w < shape.like.size(); ++w) {
    if (shape.like[w] == static_cast<int>(w) && shape.base[w] == shape.base[static_cast<std::size_t>(week)] &&
        !mode_allowed(p, shape, exercise, mode, static_cast<int>(w)))
      return false;
  }
  return true;
}

PlanWorth worth_of(const BlockProblem& p, const BlockPlan& plan, const StimulusByReserve& g) {
  PlanWorth out;
  for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
    WeekWorth week;
    week.heavy.assign(p.lifts.size(), 0);
    for (const PlannedDay& day : plan.weeks[w]) {
      week.minutes.push_back(minutes_of(p, day));
      for (const PlannedExercise& item : day.items) {
        const BlockExercise& e = p.exercises[static_cast<std::size_t>(item.exercise)];
        week.preference += e.preference;
        for (std::size_t m = 0; m < item.sets.size(); ++m) {
          const int n = item.sets[m];
          if (n == 0) continue;
          const BlockMode& mode = e.modes[m];
          week.hard_sets += n;
          week.fatigue += n * mode.fatigue;
          const double worth = g[static_cast<std::size_t>(std::min(mode.reserve, kReserveSteps - 1))];
          for (std::size_t i = 0; i < kMuscleCount; ++i) {
            week.sets[i] += n * e.exercise.involvement[i];
            week.stimulus[i] += n * e.exercise.involvement[i] * worth;
          }
          if (mode.heavy) {
            for (std::size_t l = 0; l < p.lifts.size(); ++l) {
              if (p.lifts[l].exercise == item.exercise) week.heavy[l] += n;
            }
          }
        }
      }
    }
    for (std::size_t i = 0; i < kMuscleCount; ++i) {
      if (p.muscles[i].weight > 0) week.effect += p.muscles[i].weight * growth_by_chords(week.stimulus[i]);
    }
    for (std::size_t l = 0; l < p.lifts.size(); ++l)
      week.effect += p.lifts[l].weight * strength_by_chords(week.heavy[l]);
    out.effect += week.effect;
    out.fatigue += week.fatigue;
    out.preference += week.preference;
    if (p.near && w < p.near->weeks.size()) {
      for (std::size_t d = 0; d < plan.weeks[w].size() && d < p.near->weeks[w].size(); ++d) {
        const auto find = [](const PlannedDay& day, int e) -> const PlannedExercise* {
          for (const PlannedExercise& item : day.items) {
            if (item.exercise == e) return &item;
          }
          return nullptr;
        };
        for (const PlannedExercise& item : plan.weeks[w][d].items) {
          const PlannedExercise* was = find(p.near->weeks[w][d], item.exercise);
          out.change +=
              was ? p.price_set * std::abs(was->total() - item.total()) : p.price_moved + p.price_set * item.total();
        }
        for (const PlannedExercise& was : p.near->weeks[w][d].items) {
          if (!find(plan.weeks[w][d], was.exercise)) out.change += p.price_moved + p.price_set * was.total();
        }
      }
    }
    out.weeks.push_back(std::move(week));
  }
  out.value = out.effect + out.preference - p.price * out.fatigue - out.change;
  return out;
}

void put_in_order(const BlockProblem& p, BlockPlan& plan) {
  for (auto& week : plan.weeks) {
    for (PlannedDay& day : week) {
      std::sort(day.items.begin(), day.items.end(), [&](const PlannedExercise& a, const PlannedExercise& b) {
        const Exercise& x = p.exercises[static_cast<std::size_t>(a.exercise)].exercise;
        const Exercise& y = p.exercises[static_cast<std::size_t>(b.exercise)].exercise;
        if (a.test != b.test) return a.test;
        if (x.cls != y.cls) return class_order(x.cls) < class_order(y.cls);
        if (involvement_sum_order(x) != involvement_sum_order(y))
          return involvement_sum_order(x) > involvement_sum_order(y);
        return a.exercise < b.exercise;
      });
      // The coach's own order: what must come first moves just before what must come after it.
      for (std::size_t round = 0; round < p.order.size(); ++round) {
        for (const InOrder& rule : p.order) {
          const auto at = [&](int e) {
            return std::find_if(day.items.begin(), day.items.end(),
                                [&](const PlannedExercise& i) { return i.exercise == e; });
          };
          const auto first = at(rule.first), then = at(rule.then);
          if (first == day.items.end() || then == day.items.end() || first < then) continue;
          std::rotate(then, first, first + 1);
        }
      }
    }
  }
}

}  // namespace ullage::planning
