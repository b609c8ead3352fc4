#include "engine/planning/block_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <tuple>
#include <vector>

#include "engine/base/random.h"
#include "engine/planning/block_model.h"
#include "engine/planning/block_words.h"
#include "engine/planning/stimulus.h"

namespace ullage::planning {
namespace {

constexpr double kBreach = 20;  // price of one unit of a broken rule; worths of sets are below 1
constexpr int kMostModes = 8;
using Sets = std::array<std::int8_t, kMostModes>;

int total(const Sets& sets) {
  int sum = 0;
  for (auto n : sets) sum += n;
  return sum;
}

// The concave curves by table, in steps of 1/64.
class Curve {
 public:
  Curve(double (*curve)(double), double most) {
    for (int i = 0; i <= static_cast<int>(most * 64); ++i) at_.push_back(curve(i / 64.0));
  }
  double operator()(double sum) const {
    const double x = std::max(0.0, sum) * 64;
    const auto i = static_cast<std::size_t>(x);
    if (i + 1 >= at_.size()) return at_.back();
    return at_[i] + (at_[i + 1] - at_[i]) * (x - static_cast<double>(i));
  }

 private:
  std::vector<double> at_;
};

struct Share {
  int muscle;
  double share;
};

// One week that stands for `count` weeks with the same sets, before some of those go to failure instead in some of
// them.
struct Kind {
  int week = 0, phase = 0, count = 0;
  int whole = -1, depth = 0;  // kind of whose sets it has a part; how many of those there are above it
  std::vector<int> parts;     // kinds that have a part of its sets
  int ordinary = 0;           // ordinary weeks it stands for
  double share = 0;           // of their mean that a special week may have of a muscle's sets; 0: it is none
  bool pinned = false;        // it has parts whose sets are fixed in number
  std::vector<bool> closed, may_drop;
  std::array<double, kMuscleCount> most{}, least{}, sets{}, stimulus{};
  std::vector<std::array<double, kMuscleCount>> session;  // by day
  std::vector<double> minutes, pressing, pulling;         // by day, without alternation
  std::vector<double> heavy;                              // by lift
  std::vector<std::vector<Sets>> a;                       // [day][exercise]
  std::vector<std::vector<bool>> allowed;                 // [exercise][mode]
  std::vector<bool> tested;                               // exercise has a test this week
};

constexpr int kBetweenLooks = 512;  // moves

class Search {
 public:
  Search(const BlockProblem& p, std::uint64_t seed)
      : p_(p),
        shape_(shape_of(p)),
        kept_(considered(p)),
        random_(seed),
        growth_(growth_by_chords, 34),
        strength_(strength_by_chords, 12) {
    exercises_ = static_cast<int>(p.exercises.size());
    for (const BlockExercise& e : p.exercises) {
      shares_.emplace_back();
      for (int k = 0; k < kMuscleCount; ++k) {
        if (const double share = e.exercise.involvement[static_cast<std::size_t>(k)]; share > 0)
          shares_.back().push_back({k, share});
      }
      sides_.push_back(alternating_side(e));
    }
    ruled_.assign(p.exercises.size(), 0);
    for (const MustHave& m : p.must) ruled_[static_cast<std::size_t>(m.exercise)] = 1;
    for (const FixedPart& f : p.fixed) ruled_[static_cast<std::size_t>(f.exercise)] = 1;
    for (const LiftGoal& l : p.lifts) ruled_[static_cast<std::size_t>(l.exercise)] = 1;
    for (const BlockTest& t : p.tests) ruled_[static_cast<std::size_t>(t.exercise)] = 1;
    for (const Balance& b : p.balance) {
      for (std::size_t e = 0; e < p.exercises.size(); ++e) {
        for (const auto& side : {b.of, b.against}) {
          for (Muscle k : side)
            ruled_[e] = ruled_[e] || p.exercises[e].exercise.involvement[static_cast<std::size_t>(k)] > 0;
        }
      }
    }
    for (std::size_t w = 0; w < p.weeks.size(); ++w) {
      const int of = kind_of(static_cast<int>(w));
      if (of < 0) kinds_.push_back(make_kind(static_cast<int>(w)));
      ++(of < 0 ? kinds_.back() : kinds_[static_cast<std::size_t>(of)]).count;
    }
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      Kind& kind = kinds_[t];
      const int whole = shape_.part[static_cast<std::size_t>(kind.week)];
      if (whole < 0) continue;
      kind.whole = kind_of(whole);
      kinds_[static_cast<std::size_t>(kind.whole)].parts.push_back(static_cast<int>(t));
    }
    for (Kind& kind : kinds_) {
      for (int up = kind.whole; up >= 0; up = kinds_[static_cast<std::size_t>(up)].whole) ++kind.depth;
    }
    const std::vector<int> ordinary = ordinary_weeks(p);
    ordinary_count_ = static_cast<int>(ordinary.size());
    for (int w : ordinary) {
      ++kinds_[static_cast<std::size_t>(kind_of(w))].ordinary;
      for (std::size_t k = 0; k < kMuscleCount; ++k) ordinary_[k] += p.weeks[static_cast<std::size_t>(w)].behind[k];
    }
    for (std::size_t t = 0; t < kinds_.size() && !ordinary.empty(); ++t) {
      Kind& kind = kinds_[t];
      const BlockWeek& week = p.weeks[static_cast<std::size_t>(kind.week)];
      if (!of_ordinary(week)) continue;
      kind.share = week.most_share;
      kind.pinned = std::any_of(p.fixed.begin(), p.fixed.end(), [&](const FixedPart& f) {
        return f.sets && kind.week >= f.from_week && kind.week <= f.to_week;
      });
      special_.push_back(static_cast<int>(t));
    }
    for (int k = 0; k < kMuscleCount; ++k)
      counts_[static_cast<std::size_t>(k)] = share_counts(p, static_cast<Muscle>(k));
    phases_.resize(static_cast<std::size_t>(shape_.phases));
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      Phase& ph = phases_[static_cast<std::size_t>(kinds_[t].phase)];
      ph.kinds.push_back(static_cast<int>(t));
      const std::size_t days = kinds_[t].a.size();
      ph.on.assign(days, std::vector<int>(static_cast<std::size_t>(exercises_), 0));
      ph.direct.assign(days, {});
      ph.many.assign(days, 0);
      ph.days_of.assign(static_cast<std::size_t>(exercises_), 0);
    }
    // What a part may have is known once the whole stands, and a special week's share once the ordinary ones do.
    for (Phase& ph : phases_) {
      const auto late = [&](int t) {
        const Kind& kind = kinds_[static_cast<std::size_t>(t)];
        return std::tuple(kind.share > 0, kind.depth, t);
      };
      std::sort(ph.kinds.begin(), ph.kinds.end(), [&](int x, int y) { return late(x) < late(y); });
    }
    for (std::size_t t = 0; t < kinds_.size(); ++t) offers(static_cast<int>(t));
    ways_.assign(kinds_.size(), std::vector<std::vector<Sets>>(p.exercises.size()));
    conflicts();
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      for (int k = 0; k < kMuscleCount; ++k) score_ += week_part(kinds_[t], k);
      score_ += rules_part(static_cast<int>(t));
    }
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      for (std::size_t d = 0; d < kinds_[t].a.size(); ++d) {
        for (int e = 0; e < exercises_; ++e) score_ += near_part(static_cast<int>(t), static_cast<int>(d), e);
      }
    }
  }

  std::optional<BlockPlan> run(int moves, const std::function<bool()>& go_on, const BlockPlan* start) {
    if (start || p_.near) start_from(start ? *start : *p_.near);
    fix();
    best_ = snapshot_if_better();
    const double hot = start ? 0.1 : 0.5, cold = 0.01;
    for (int i = 0; i < moves; ++i) {
      if (i % kBetweenLooks == 0 && go_on && !go_on()) break;
      const double heat = hot * std::pow(cold / hot, static_cast<double>(i) / moves);
      const double before = score_;
      undo_.clear();
      if (!move()) {  // what was begun could not be finished
        take_back();
        score_ = before;
        continue;
      }
      lighten();
      if (score_ < before && random_.uniform() >= std::exp((score_ - before) / heat)) {
        take_back();
        score_ = before;
        continue;
      }
      if (score_ > best_score_ + 1e-9 && breaches() < 1e-6) snapshot();
    }
    if (best_.weeks.empty()) return std::nullopt;
    to_failure();
    put_in_order(p_, best_);
    return best_;
  }

 private:
  struct Phase {
    std::vector<int> kinds;
    std::vector<std::vector<int>> on;                   // [day][exercise]: kinds that do it
    std::vector<std::array<int, kMuscleCount>> direct;  // [day]: exercises on that train it directly
    std::vector<int> many;                              // [day]: exercises on
    std::vector<int> days_of;                           // [exercise]: days on
    std::vector<std::vector<int>> offered;              // [day]: exercises
  };
  struct Undo {
    int t, d, e;
    Sets sets;
  };
  struct Conflict {
    int phase, day;
  };

  int kind_of(int w) const {
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      if (kinds_[t].week == shape_.base[static_cast<std::size_t>(w)]) return static_cast<int>(t);
    }
    return -1;
  }
  Kind make_kind(int w) {
    Kind kind;
    kind.week = w;
    kind.phase = shape_.phase[static_cast<std::size_t>(w)];
    const BlockWeek& week = p_.weeks[static_cast<std::size_t>(w)];
    for (std::size_t d = 0; d < week.days.size(); ++d) {
      kind.closed.push_back(week.days[d].closed);
      double longest = 0;
      for (std::size_t o = 0; o < p_.weeks.size(); ++o) {
        if (shape_.phase[o] == kind.phase) longest = std::max(longest, p_.weeks[o].days[d].minutes);
      }
      kind.may_drop.push_back((week.kind != WeekKind::usual && week.kind != WeekKind::travel) ||
                              week.days[d].minutes < longest);
    }
    for (int k = 0; k < kMuscleCount; ++k) {
      kind.most[static_cast<std::size_t>(k)] = most_sets(p_, w, k);
      kind.least[static_cast<std::size_t>(k)] = least_week_sets(p_, w, k);
    }
    kind.session.assign(week.days.size(), {});
    kind.minutes.assign(week.days.size(), 0);
    kind.pressing = kind.pulling = kind.minutes;
    kind.heavy.assign(p_.lifts.size(), 0);
    kind.a.assign(week.days.size(), std::vector<Sets>(p_.exercises.size(), Sets{}));
    for (std::size_t e = 0; e < p_.exercises.size(); ++e) {
      kind.allowed.emplace_back();
      const std::size_t modes = std::min<std::size_t>(kMostModes, p_.exercises[e].modes.size());
      for (std::size_t m = 0; m < modes; ++m)
        kind.allowed.back().push_back(always_allowed(p_, shape_, static_cast<int>(e), static_cast<int>(m), w));
      bool test = false;
      for (const BlockTest& one : p_.tests) test = test || (one.week == w && one.exercise == static_cast<int>(e));
      kind.tested.push_back(test);
    }
    return kind;
  }

  void offers(int t) {
    Phase& ph = phases_[static_cast<std::size_t>(kinds_[static_cast<std::size_t>(t)].phase)];
    if (!ph.offered.empty()) return;
    const Kind& kind = kinds_[static_cast<std::size_t>(t)];
    for (std::size_t d = 0; d < kind.a.size(); ++d) {
      ph.offered.emplace_back();
      for (int e = 0; e < exercises_; ++e) {
        if (kept_[static_cast<std::size_t>(e)] && barred_on(p_, e, kind.week, static_cast<int>(d)).empty())
          ph.offered.back().push_back(e);
      }
    }
  }

  // For every muscle, phase and day: the days too near to it.
  void conflicts() {
    near_.assign(kMuscleCount, {});
    for (int k = 0; k < kMuscleCount; ++k) {
      auto& of_muscle = near_[static_cast<std::size_t>(k)];
      of_muscle.resize(phases_.size());
      for (std::size_t ph = 0; ph < phases_.size(); ++ph) of_muscle[ph].resize(phases_[ph].on.size());
      const int window = (p_.muscles[static_cast<std::size_t>(k)].recovery_hours + 23) / 24;
      if (window <= 1) continue;
      for (std::size_t w = 0; w < p_.weeks.size(); ++w) {
        for (std::size_t d = 0; d < p_.weeks[w].days.size(); ++d) {
          if (p_.weeks[w].days[d].closed) continue;
          for (std::size_t v = w; v < p_.weeks.size() && v <= w + 1; ++v) {
            for (std::size_t c = 0; c < p_.weeks[v].days.size(); ++c) {
              const int gap = p_.weeks[v].days[c].date - p_.weeks[w].days[d].date;
              if (gap <= 0 || gap >= window || p_.weeks[v].days[c].closed) continue;
              add_conflict(of_muscle, shape_.phase[w], static_cast<int>(d), shape_.phase[v], static_cast<int>(c));
              add_conflict(of_muscle, shape_.phase[v], static_cast<int>(c), shape_.phase[w], static_cast<int>(d));
            }
          }
        }
      }
    }
  }
  void add_conflict(std::vector<std::vector<std::vector<Conflict>>>& of, int ph, int d, int other, int c) {
    auto& list = of[static_cast<std::size_t>(ph)][static_cast<std::size_t>(d)];
    for (const Conflict& x : list) {
      if (x.phase == other && x.day == c) return;
    }
    list.push_back({other, c});
  }

  // ---- Parts of the score. Each is computed before and after a change of what it depends on.
  double breach(double amount) {
    if (amount <= 1e-9) return 0;
    return -kBreach * amount;
  }
  double week_part(const Kind& kind, int k) {
    const auto i = static_cast<std::size_t>(k);
    double out = p_.muscles[i].weight > 0 ? kind.count * p_.muscles[i].weight * growth_(kind.stimulus[i]) : 0;
    out += breach(kind.sets[i] - kind.most[i]) + breach(kind.least[i] - kind.sets[i]);
    return out;
  }
  // Sets of a muscle above the share that a special week may have of the ordinary ones.
  double above_share(const Kind& kind, int k) const {
    const auto i = static_cast<std::size_t>(k);
    if (!counts_[i]) return 0;
    double own = kind.sets[i], mean = ordinary_[i];
    if (kind.pinned) {
      own -= pinned_sets(kind, kind, i);
      for (const Kind& other : kinds_) mean -= other.ordinary > 0 ? other.ordinary * pinned_sets(kind, other, i) : 0;
    }
    return own - kind.share * mean / ordinary_count_;
  }
  // Sets of a muscle in a week that are fixed in number in the special one.
  double pinned_sets(const Kind& special, const Kind& of, std::size_t k) const {
    double sets = 0;
    for (std::size_t d = 0; d < of.a.size(); ++d) {
      const int on = weekday(p_.weeks[static_cast<std::size_t>(of.week)].days[d].date);
      for (std::size_t e = 0; e < p_.exercises.size(); ++e) {
        const double share = p_.exercises[e].exercise.involvement[k];
        if (share > 0 && total(of.a[d][e]) > 0 && sets_fixed(p_, special.week, static_cast<int>(e), on))
          sets += share * total(of.a[d][e]);
      }
    }
    return sets;
  }
  double share_part(int k) {
    double out = 0;
    for (int t : special_) out += breach(above_share(kinds_[static_cast<std::size_t>(t)], k));
    return out;
  }
  // Takes sets out of special weeks that have more than their share by now: each time the set that costs least.
  void lighten() {
    for (int t : special_) {
      for (int k = 0; k < kMuscleCount; ++k) {
        while (above_share(kinds_[static_cast<std::size_t>(t)], k) > 1e-9 && take_set(t, k)) {
        }
      }
    }
  }
  bool take_set(int t, int k) {
    const Kind& kind = kinds_[static_cast<std::size_t>(t)];
    const std::size_t mark = undo_.size();
    double best = score_;
    int day = -1, exercise = -1;
    Sets left{};
    for (std::size_t d = 0; d < kind.a.size(); ++d) {
      for (int e = 0; e < exercises_; ++e) {
        const Sets now = kind.a[d][static_cast<std::size_t>(e)];
        if (total(now) == 0 ||
            p_.exercises[static_cast<std::size_t>(e)].exercise.involvement[static_cast<std::size_t>(k)] <= 0)
          continue;
        for (std::size_t m = 0; m < now.size(); ++m) {
          if (now[m] == 0) continue;
          Sets fewer = now;
          --fewer[m];
          put(t, static_cast<int>(d), e, fewer);
          if (score_ > best) best = score_, day = static_cast<int>(d), exercise = e, left = fewer;
          put(t, static_cast<int>(d), e, now);
        }
      }
    }
    undo_.resize(mark);
    if (day < 0) return false;
    put(t, day, exercise, left);
    return true;
  }
  // Sets of a day that are more than those of the week they are a part of.
  double part_part(const Kind& kind, std::size_t day, std::size_t e) {
    const int n = total(kind.a[day][e]);
    double out = 0;
    if (kind.whole >= 0) out += breach(n - total(kinds_[static_cast<std::size_t>(kind.whole)].a[day][e]));
    for (int t : kind.parts) out += breach(total(kinds_[static_cast<std::size_t>(t)].a[day][e]) - n);
    return out;
  }
  double session_part(const Kind& kind, int d, int k) {
    const auto i = static_cast<std::size_t>(k);
    const MuscleRule& rule = p_.muscles[i];
    const double sets = kind.session[static_cast<std::size_t>(d)][i];
    double out = breach(sets - rule.most_session);
    if (rule.least_session > 0 && !kind.may_drop[static_cast<std::size_t>(d)] &&
        phases_[static_cast<std::size_t>(kind.phase)].direct[static_cast<std::size_t>(d)][i] > 0)
      out += breach(rule.least_session - sets);
    return out;
  }
  double minutes_part(const Kind& kind, int d) {
    const auto i = static_cast<std::size_t>(d);
    const double limit = p_.weeks[static_cast<std::size_t>(kind.week)].days[i].minutes;
    return breach(kind.minutes[i] - p_.alternate_saves * std::min(kind.pressing[i], kind.pulling[i]) - limit);
  }
  double near_part(int t, int d, int e) {
    const Kind& kind = kinds_[static_cast<std::size_t>(t)];
    if (!p_.near || kind.week >= static_cast<int>(p_.near->weeks.size())) return 0;
    const auto& old = p_.near->weeks[static_cast<std::size_t>(kind.week)];
    if (d >= static_cast<int>(old.size()) || kind.closed[static_cast<std::size_t>(d)]) return 0;
    int was = 0;
    for (const PlannedExercise& item : old[static_cast<std::size_t>(d)].items) {
      if (item.exercise == e) was = item.total();
    }
    const int now = total(kind.a[static_cast<std::size_t>(d)][static_cast<std::size_t>(e)]);
    return -kind.count * (p_.price_set * std::abs(was - now) + ((was > 0) != (now > 0) ? p_.price_moved : 0));
  }
  // Rules with a sum over the week's days: musts, fixed parts, balance, heavy sets.
  double rules_part(int t) {
    const Kind& kind = kinds_[static_cast<std::size_t>(t)];
    double out = 0;
    for (const MustHave& m : p_.must) {
      if (kind.week < m.from_week || kind.week > m.to_week) continue;
      int days = 0;
      for (const auto& day : kind.a) days += total(day[static_cast<std::size_t>(m.exercise)]) > 0;
      out += breach(m.least_days - days);
    }
    for (const FixedPart& f : p_.fixed) {
      if (kind.week < f.from_week || kind.week > f.to_week) continue;
      const Sets* sets = nullptr;
      for (std::size_t d = 0; d < kind.a.size(); ++d) {
        if (weekday(p_.weeks[static_cast<std::size_t>(kind.week)].days[d].date) == f.weekday && !kind.closed[d])
          sets = &kind.a[d][static_cast<std::size_t>(f.exercise)];
      }
      const int n = sets ? total(*sets) : 0;
      out += breach(n == 0 ? 1 : 0);
      if (f.sets) out += breach(std::abs(n - *f.sets));
      if (f.reserve && sets) {
        const auto& modes = p_.exercises[static_cast<std::size_t>(f.exercise)].modes;
        for (std::size_t m = 0; m < modes.size() && m < kMostModes; ++m) {
          if (modes[m].reserve != *f.reserve) out += breach((*sets)[m]);
        }
      }
    }
    for (const Balance& b : p_.balance) {
      double of = 0, against = 0;
      for (Muscle k : b.of) of += kind.sets[static_cast<std::size_t>(k)];
      for (Muscle k : b.against) against += kind.sets[static_cast<std::size_t>(k)];
      out += breach(of - b.most_ratio * against);
    }
    const WeekKind week = p_.weeks[static_cast<std::size_t>(kind.week)].kind;
    for (std::size_t l = 0; l < p_.lifts.size(); ++l) {
      out += kind.count * p_.lifts[l].weight * strength_(kind.heavy[l]);
      if (week == WeekKind::usual || week == WeekKind::travel) out += breach(p_.lifts[l].least_heavy - kind.heavy[l]);
    }
    // A tested exercise is done on some day; its failure sets count as one too many when on two days.
    for (int e = 0; e < exercises_; ++e) {
      if (!kind.tested[static_cast<std::size_t>(e)]) continue;
      bool any = false;
      for (const auto& day : kind.a) any = any || total(day[static_cast<std::size_t>(e)]) > 0;
      out += breach(any ? 0 : 1);
    }
    return out;
  }
  double days_part(int ph, int e) {
    return breach(phases_[static_cast<std::size_t>(ph)].days_of[static_cast<std::size_t>(e)] -
                  p_.exercises[static_cast<std::size_t>(e)].most_days);
  }
  double failure_part(int ph, int e) {
    const Phase& phase = phases_[static_cast<std::size_t>(ph)];
    const BlockExercise& ex = p_.exercises[static_cast<std::size_t>(e)];
    if (ex.failure_every_days <= 0) return 0;
    int days = 0;
    for (std::size_t d = 0; d < phase.on.size(); ++d) {
      if (phase.on[d][static_cast<std::size_t>(e)] == 0) continue;
      bool failure = false;
      for (int t : phase.kinds)
        failure = failure || to_failure(e, kinds_[static_cast<std::size_t>(t)].a[d][static_cast<std::size_t>(e)]) > 0;
      days += failure;
    }
    return breach(days - 1);
  }
  int to_failure(int e, const Sets& sets) const {
    const auto& modes = p_.exercises[static_cast<std::size_t>(e)].modes;
    int out = 0;
    for (std::size_t m = 0; m < modes.size() && m < kMostModes; ++m) out += modes[m].reserve == 0 ? sets[m] : 0;
    return out;
  }
  double day_part(int ph, int d) {
    const Phase& phase = phases_[static_cast<std::size_t>(ph)];
    const Kind& kind = kinds_[static_cast<std::size_t>(phase.kinds.front())];
    const int most = p_.weeks[static_cast<std::size_t>(kind.week)].days[static_cast<std::size_t>(d)].most_exercises;
    return breach(phase.many[static_cast<std::size_t>(d)] - most);
  }
  double conflict_part(int ph, int d, int k) {
    if (phases_[static_cast<std::size_t>(ph)].direct[static_cast<std::size_t>(d)][static_cast<std::size_t>(k)] == 0)
      return 0;
    double out = 0;
    for (const Conflict& c :
         near_[static_cast<std::size_t>(k)][static_cast<std::size_t>(ph)][static_cast<std::size_t>(d)]) {
      if (phases_[static_cast<std::size_t>(c.phase)]
              .direct[static_cast<std::size_t>(c.day)][static_cast<std::size_t>(k)] > 0)
        out += breach(1);
    }
    return out;
  }
  // Sets that cannot stand: an exercise on in a phase must be done in the weeks that may not drop it, with enough sets.
  double sets_part(int t, int d, int e) {
    const Kind& kind = kinds_[static_cast<std::size_t>(t)];
    const BlockExercise& ex = p_.exercises[static_cast<std::size_t>(e)];
    const int n = total(kind.a[static_cast<std::size_t>(d)][static_cast<std::size_t>(e)]);
    const bool on =
        phases_[static_cast<std::size_t>(kind.phase)].on[static_cast<std::size_t>(d)][static_cast<std::size_t>(e)] > 0;
    if (kind.closed[static_cast<std::size_t>(d)]) return breach(n);
    if (!on) return 0;
    if (kind.may_drop[static_cast<std::size_t>(d)]) return breach(n - ex.most_sets);
    return breach(ex.least_sets - n) + breach(n - ex.most_sets);
  }
  int first_day(const Kind& kind, int e) {
    for (std::size_t d = 0; d < kind.a.size(); ++d) {
      if (total(kind.a[d][static_cast<std::size_t>(e)]) > 0) return static_cast<int>(d);
    }
    return -1;
  }

  // Sets the sets of one exercise on one day of one kind of week, the score kept up to date.
  void put(int t, int d, int e, const Sets& sets) {
    Kind& kind = kinds_[static_cast<std::size_t>(t)];
    const auto day = static_cast<std::size_t>(d), ex = static_cast<std::size_t>(e);
    Sets& now = kind.a[day][ex];
    if (now == sets) return;
    undo_.push_back({t, d, e, now});
    const BlockExercise& exercise = p_.exercises[ex];
    Phase& phase = phases_[static_cast<std::size_t>(kind.phase)];
    const bool was_on = total(now) > 0, is_on = total(sets) > 0;
    const bool flips = was_on != is_on && (is_on ? phase.on[day][ex] == 0 : phase.on[day][ex] == 1);
    const int tested = kind.tested[ex] ? 1 : 0;
    const int first = tested ? first_day(kind, e) : -1;

    const bool ruled = ruled_[ex];
    const bool failure = to_failure(e, now) != to_failure(e, sets);
    double before = minutes_part(kind, d) + near_part(t, d, e) + part_part(kind, day, ex);
    if (ruled) before += rules_part(t);
    if (failure) before += failure_part(kind.phase, e);
    if (tested) {
      for (std::size_t o = 0; o < kind.a.size(); ++o) {
        if (o != day) before += minutes_part(kind, static_cast<int>(o));
      }
    }
    const bool shared = kind.share > 0 || (kind.ordinary > 0 && !special_.empty());
    for (const Share& s : shares_[ex]) {
      before += week_part(kind, s.muscle) + session_part(kind, d, s.muscle);
      if (shared) before += share_part(s.muscle);
    }
    if (flips) {
      before += day_part(kind.phase, d) + days_part(kind.phase, e);
      for (const Share& s : shares_[ex]) before += 2 * conflict_part(kind.phase, d, s.muscle);
      for (int o : phase.kinds) {
        before += sets_part(o, d, e);
        if (o == t) continue;
        for (const Share& s : shares_[ex]) before += session_part(kinds_[static_cast<std::size_t>(o)], d, s.muscle);
      }
    } else {
      before += sets_part(t, d, e);
    }

    const int old_total = total(now), new_total = total(sets);
    for (std::size_t m = 0; m < exercise.modes.size() && m < kMostModes; ++m) {
      const int n = sets[m] - now[m];
      if (n == 0) continue;
      const BlockMode& mode = exercise.modes[m];
      const double g = p_.stimulus[static_cast<std::size_t>(std::min(mode.reserve, kReserveSteps - 1))];
      for (const Share& s : shares_[ex]) {
        const auto k = static_cast<std::size_t>(s.muscle);
        kind.sets[k] += n * s.share;
        ordinary_[k] += kind.ordinary * n * s.share;
        kind.session[day][k] += n * s.share;
        kind.stimulus[k] += n * s.share * g;
      }
      kind.minutes[day] += n * mode.minutes;
      score_ -= kind.count * p_.price * n * mode.fatigue;
      if (mode.heavy) {
        for (std::size_t l = 0; l < p_.lifts.size(); ++l) {
          if (p_.lifts[l].exercise == e) kind.heavy[l] += n;
        }
      }
    }
    if (sides_[ex] == 1) kind.pressing[day] += new_total - old_total;
    if (sides_[ex] == 2) kind.pulling[day] += new_total - old_total;
    now = sets;
    if (was_on != is_on) {
      const int step = is_on ? 1 : -1;
      kind.minutes[day] += step * exercise.minutes;
      score_ += step * kind.count * exercise.preference;
      phase.on[day][ex] += step;
      if (flips) {
        phase.many[day] += step;
        phase.days_of[ex] += step;
        for (const Share& s : shares_[ex]) {
          if (s.share >= kDirect) phase.direct[day][static_cast<std::size_t>(s.muscle)] += step;
        }
      }
    }
    if (tested) {
      const int then = first_day(kind, e);
      if (first >= 0) kind.minutes[static_cast<std::size_t>(first)] -= exercise.test_minutes;
      if (then >= 0) kind.minutes[static_cast<std::size_t>(then)] += exercise.test_minutes;
    }

    double after = minutes_part(kind, d) + near_part(t, d, e) + part_part(kind, day, ex);
    if (ruled) after += rules_part(t);
    if (failure) after += failure_part(kind.phase, e);
    if (tested) {
      for (std::size_t o = 0; o < kind.a.size(); ++o) {
        if (o != day) after += minutes_part(kind, static_cast<int>(o));
      }
    }
    for (const Share& s : shares_[ex]) {
      after += week_part(kind, s.muscle) + session_part(kind, d, s.muscle);
      if (shared) after += share_part(s.muscle);
    }
    if (flips) {
      after += day_part(kind.phase, d) + days_part(kind.phase, e);
      for (const Share& s : shares_[ex]) after += 2 * conflict_part(kind.phase, d, s.muscle);
      for (int o : phase.kinds) {
        after += sets_part(o, d, e);
        if (o == t) continue;
        for (const Share& s : shares_[ex]) after += session_part(kinds_[static_cast<std::size_t>(o)], d, s.muscle);
      }
    } else {
      after += sets_part(t, d, e);
    }
    score_ += after - before;
  }

  void take_back() {
    const auto undo = std::move(undo_);
    undo_.clear();
    for (auto u = undo.rbegin(); u != undo.rend(); ++u) put(u->t, u->d, u->e, u->sets);
    undo_.clear();
  }

  // All rules kept? Everything that is worth something is known, so what is missing from the score is breaches.
  double breaches() {
    double good = 0;
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      const Kind& kind = kinds_[t];
      for (std::size_t k = 0; k < kMuscleCount; ++k) {
        if (p_.muscles[k].weight > 0) good += kind.count * p_.muscles[k].weight * growth_(kind.stimulus[k]);
      }
      for (std::size_t l = 0; l < p_.lifts.size(); ++l)
        good += kind.count * p_.lifts[l].weight * strength_(kind.heavy[l]);
      for (std::size_t d = 0; d < kind.a.size(); ++d) {
        for (int e = 0; e < exercises_; ++e) {
          const auto ex = static_cast<std::size_t>(e);
          const Sets& sets = kind.a[d][ex];
          good += near_part(static_cast<int>(t), static_cast<int>(d), e);
          if (total(sets) == 0) continue;
          good += kind.count * p_.exercises[ex].preference;
          for (std::size_t m = 0; m < p_.exercises[ex].modes.size() && m < kMostModes; ++m)
            good -= kind.count * p_.price * sets[m] * p_.exercises[ex].modes[m].fatigue;
        }
      }
    }
    return good - score_;
  }

  void snapshot() {
    best_score_ = score_;
    best_.weeks.clear();
    for (std::size_t w = 0; w < p_.weeks.size(); ++w) {
      const Kind& kind = kinds_[static_cast<std::size_t>(kind_of(static_cast<int>(w)))];
      best_.weeks.emplace_back();
      std::vector<bool> tested(p_.exercises.size(), false);
      for (const auto& sets_of : kind.a) {
        PlannedDay day;
        for (std::size_t e = 0; e < sets_of.size(); ++e) {
          if (total(sets_of[e]) == 0) continue;
          PlannedExercise item;
          item.exercise = static_cast<int>(e);
          for (std::size_t m = 0; m < p_.exercises[e].modes.size(); ++m)
            item.sets.push_back(m < kMostModes ? sets_of[e][m] : 0);
          if (kind.tested[e] && !tested[e]) item.test = tested[e] = true;
          day.items.push_back(std::move(item));
        }
        best_.weeks.back().push_back(std::move(day));
      }
    }
  }
  // In weeks that may go to failure where others with the same sets may not, a set does so where that is worth it: each
  // exercise on the day of the phase on which it is worth most.
  void to_failure() {
    const PlanWorth worth = worth_of(p_, best_);
    std::vector<std::array<double, kMuscleCount>> stimulus;
    for (const WeekWorth& week : worth.weeks) stimulus.push_back(week.stimulus);
    for (int ph = 0; ph < shape_.phases; ++ph) {
      for (int e = 0; e < exercises_; ++e) fail_best(ph, e, stimulus);
    }
  }
  void fail_best(int ph, int e, std::vector<std::array<double, kMuscleCount>>& stimulus) {
    const BlockExercise& ex = p_.exercises[static_cast<std::size_t>(e)];
    std::size_t failure = 0;
    while (failure < ex.modes.size() && ex.modes[failure].reserve > 0) ++failure;
    if (failure >= ex.modes.size() || ex.failure_every_days <= 0) return;
    struct Instead {
      std::size_t week, item, mode;
    };
    double best = 1e-9;
    std::size_t on = 0;
    std::vector<Instead> chosen;
    std::optional<std::size_t> taken;  // the day on which it goes to failure already
    for (std::size_t w = 0; w < best_.weeks.size(); ++w) {
      if (shape_.phase[w] != ph) continue;
      for (std::size_t d = 0; d < best_.weeks[w].size(); ++d) {
        for (const PlannedExercise& item : best_.weeks[w][d].items) {
          if (item.exercise == e && item.sets[failure] > 0) taken = d;
        }
      }
    }
    for (std::size_t d = 0; d < phases_[static_cast<std::size_t>(ph)].on.size(); ++d) {
      if (taken && *taken != d) continue;
      double gain = 0;
      std::vector<Instead> here;
      for (std::size_t w = 0; w < best_.weeks.size(); ++w) {
        const int week = static_cast<int>(w), mode = static_cast<int>(failure);
        if (shape_.phase[w] != ph || !mode_allowed(p_, shape_, e, mode, week) ||
            always_allowed(p_, shape_, e, mode, week) || reserve_fixed(week, d, e))
          continue;
        const PlannedDay& day = best_.weeks[w][d];
        for (std::size_t i = 0; i < day.items.size(); ++i) {
          if (day.items[i].exercise != e) continue;
          double most = 1e-9;
          std::size_t from = ex.modes.size();
          for (std::size_t m = 0; m < ex.modes.size(); ++m) {
            if (day.items[i].sets[m] == 0 || ex.modes[m].heavy != ex.modes[failure].heavy) continue;
            if (minutes_of(p_, day) + ex.modes[failure].minutes - ex.modes[m].minutes >
                p_.weeks[w].days[d].minutes + 1e-9)
              continue;
            if (const double more = failure_gain(ex, m, failure, stimulus[w]); more > most) most = more, from = m;
          }
          if (from < ex.modes.size()) here.push_back({w, i, from}), gain += most;
        }
      }
      if (gain > best) best = gain, on = d, chosen = here;
    }
    for (const Instead& c : chosen) {
      PlannedExercise& item = best_.weeks[c.week][on].items[c.item];
      --item.sets[c.mode];
      ++item.sets[failure];
      for (const Share& s : shares_[static_cast<std::size_t>(e)])
        stimulus[c.week][static_cast<std::size_t>(s.muscle)] +=
            s.share * (stimulus_of(ex.modes[failure]) - stimulus_of(ex.modes[c.mode]));
    }
  }
  double stimulus_of(const BlockMode& mode) const {
    return p_.stimulus[static_cast<std::size_t>(std::min(mode.reserve, kReserveSteps - 1))];
  }
  // What one set of mode m is worth more when it goes to failure, in a week with that stimulus.
  double failure_gain(const BlockExercise& ex, std::size_t m, std::size_t failure,
                      const std::array<double, kMuscleCount>& stimulus) {
    double gain = -p_.price * (ex.modes[failure].fatigue - ex.modes[m].fatigue);
    for (std::size_t k = 0; k < kMuscleCount; ++k) {
      const double share = ex.exercise.involvement[k];
      if (share <= 0 || p_.muscles[k].weight <= 0) continue;
      const double more = share * (stimulus_of(ex.modes[failure]) - stimulus_of(ex.modes[m]));
      gain += p_.muscles[k].weight * (growth_by_chords(stimulus[k] + more) - growth_by_chords(stimulus[k]));
    }
    return gain;
  }
  bool reserve_fixed(int w, std::size_t d, int e) const {
    const int on = weekday(p_.weeks[static_cast<std::size_t>(w)].days[d].date);
    return std::any_of(p_.fixed.begin(), p_.fixed.end(), [&](const FixedPart& f) {
      return f.reserve && f.exercise == e && f.weekday == on && w >= f.from_week && w <= f.to_week;
    });
  }
  BlockPlan snapshot_if_better() {
    if (breaches() < 1e-6) snapshot();
    return best_;
  }

  // ---- Moves.
  int pick(int n) { return std::min(n - 1, static_cast<int>(random_.uniform() * n)); }
  // Ways to do the exercise in that kind of week: every number of sets in one mode, and the last one to failure.
  const std::vector<Sets>& ways(int t, int e) {
    auto& out = ways_[static_cast<std::size_t>(t)][static_cast<std::size_t>(e)];
    if (!out.empty()) return out;
    const Kind& kind = kinds_[static_cast<std::size_t>(t)];
    const BlockExercise& ex = p_.exercises[static_cast<std::size_t>(e)];
    const auto& allowed = kind.allowed[static_cast<std::size_t>(e)];
    for (std::size_t m = 0; m < allowed.size(); ++m) {
      if (!allowed[m]) continue;
      const bool failure = ex.modes[m].reserve == 0;
      for (int n = 1; n <= (failure ? 1 : ex.most_sets); ++n) {
        Sets sets{};
        sets[m] = static_cast<std::int8_t>(n);
        out.push_back(sets);
        for (std::size_t f = 0; f < allowed.size() && !failure && n < ex.most_sets; ++f) {
          if (!allowed[f] || ex.modes[f].reserve > 0 || ex.modes[f].heavy != ex.modes[m].heavy) continue;
          Sets with = sets;
          with[f] = 1;
          out.push_back(with);
        }
      }
    }
    if (out.empty()) out.push_back(Sets{});
    return out;
  }
  // The sets of it that are best as everything else stands; nothing of it where that may be left out.
  void respond(int t, int d, int e) {
    const Kind& kind = kinds_[static_cast<std::size_t>(t)];
    const bool drop = kind.may_drop[static_cast<std::size_t>(d)];
    const int least = drop ? 1 : p_.exercises[static_cast<std::size_t>(e)].least_sets;
    const std::size_t mark = undo_.size();
    const Sets before = kind.a[static_cast<std::size_t>(d)][static_cast<std::size_t>(e)];
    Sets best = before;
    double best_score = total(before) > 0 || drop ? score_ : -kNoLimit;
    for (const Sets& sets : ways(t, e)) {
      if (total(sets) < least) continue;
      put(t, d, e, sets);
      if (score_ > best_score) best_score = score_, best = sets;
    }
    put(t, d, e, best);
    undo_.resize(mark);
    if (best != before) undo_.push_back({t, d, e, before});
  }
  // Puts the exercise on that day into every week of the phase.
  void add(int ph, int d, int e) {
    for (int t : phases_[static_cast<std::size_t>(ph)].kinds) {
      if (!kinds_[static_cast<std::size_t>(t)].closed[static_cast<std::size_t>(d)]) respond(t, d, e);
    }
  }
  void remove(int ph, int d, int e) {
    for (int t : phases_[static_cast<std::size_t>(ph)].kinds) put(t, d, e, Sets{});
  }
  int pick_on(const Phase& phase, int d) {
    const auto& on = phase.on[static_cast<std::size_t>(d)];
    const int many = phase.many[static_cast<std::size_t>(d)];
    if (many == 0) return -1;
    int nth = pick(many);
    for (int e = 0; e < exercises_; ++e) {
      if (on[static_cast<std::size_t>(e)] > 0 && nth-- == 0) return e;
    }
    return -1;
  }
  bool move() {
    const int ph = pick(static_cast<int>(phases_.size()));
    Phase& phase = phases_[static_cast<std::size_t>(ph)];
    const int days = static_cast<int>(phase.on.size());
    if (days == 0) return false;
    const int d = pick(days);
    const auto& offered = phase.offered[static_cast<std::size_t>(d)];
    if (offered.empty()) return false;
    const double kind = random_.uniform();
    const int chosen = offered[static_cast<std::size_t>(pick(static_cast<int>(offered.size())))];
    const bool chosen_on = phase.on[static_cast<std::size_t>(d)][static_cast<std::size_t>(chosen)] > 0;
    if (kind < 0.12) {
      if (chosen_on) return false;
      add(ph, d, chosen);
      return true;
    }
    const int e = pick_on(phase, d);
    if (e < 0) return false;
    if (kind < 0.18) {
      remove(ph, d, e);
      return true;
    }
    if (kind < 0.36) {
      if (chosen_on) return false;
      remove(ph, d, e);
      add(ph, d, chosen);
      return true;
    }
    if (kind < 0.46 && days > 1) {  // to another day, changing places with another when there is one
      const int other = (d + 1 + pick(days - 1)) % days;
      const auto& there = phase.offered[static_cast<std::size_t>(other)];
      if (std::find(there.begin(), there.end(), e) == there.end() ||
          phase.on[static_cast<std::size_t>(other)][static_cast<std::size_t>(e)] > 0)
        return false;
      const int back = random_.uniform() < 0.6 ? pick_on(phase, other) : -1;
      if (back >= 0 && (phase.on[static_cast<std::size_t>(d)][static_cast<std::size_t>(back)] > 0 ||
                        std::find(offered.begin(), offered.end(), back) == offered.end()))
        return false;
      for (int t : phase.kinds) {
        Kind& at = kinds_[static_cast<std::size_t>(t)];
        if (at.closed[static_cast<std::size_t>(d)] || at.closed[static_cast<std::size_t>(other)]) return false;
        const Sets mine = at.a[static_cast<std::size_t>(d)][static_cast<std::size_t>(e)];
        put(t, d, e, Sets{});
        put(t, other, e, mine);
        if (back >= 0) {
          const Sets theirs = at.a[static_cast<std::size_t>(other)][static_cast<std::size_t>(back)];
          put(t, other, back, Sets{});
          put(t, d, back, theirs);
        }
      }
      return true;
    }
    // Sets and modes: in all weeks of the phase or in one kind; one more also in those of which that has a part, one
    // fewer in those that have a part of it.
    const bool all = random_.uniform() < 0.5;
    const int one = phase.kinds[static_cast<std::size_t>(pick(static_cast<int>(phase.kinds.size())))];
    if (!all && kinds_[static_cast<std::size_t>(one)].share > 0) {  // what its share allows now, best used
      respond(one, d, e);
      return !undo_.empty();
    }
    const double what = random_.uniform();
    const int other = what > 0.75 ? pick_on(phase, d) : -1;  // one set more here for one fewer there
    const int modes =
        std::min<int>(kMostModes, static_cast<int>(p_.exercises[static_cast<std::size_t>(e)].modes.size()));
    const int from = pick(modes), to = pick(modes);
    bool changed = false;
    const auto within = [&](int part, int whole) {
      while (part >= 0 && part != whole) part = kinds_[static_cast<std::size_t>(part)].whole;
      return part == whole;
    };
    for (int t : phase.kinds) {
      if (!all && t != one && !(what < 0.3 && within(one, t)) && !(what >= 0.3 && what < 0.55 && within(t, one)))
        continue;
      const Kind& at = kinds_[static_cast<std::size_t>(t)];
      if (at.closed[static_cast<std::size_t>(d)]) continue;
      const auto& allowed = at.allowed[static_cast<std::size_t>(e)];
      Sets sets = at.a[static_cast<std::size_t>(d)][static_cast<std::size_t>(e)];
      const auto f = static_cast<std::size_t>(from), g = static_cast<std::size_t>(to);
      const int most = p_.exercises[static_cast<std::size_t>(e)].modes[g].reserve == 0 ? 1 : 99;
      if (what < 0.3) {
        if (!allowed[g] || sets[g] >= most) continue;
        ++sets[g];
      } else if (what < 0.55) {
        if (sets[f] == 0) continue;
        --sets[f];
      } else if (what < 0.75 || other < 0 || other == e) {
        if (from == to || sets[f] == 0 || !allowed[g] || sets[g] >= most) continue;
        const int n = random_.uniform() < 0.5 && most > 1 ? sets[f] : 1;
        sets[f] = static_cast<std::int8_t>(sets[f] - n);
        sets[g] = static_cast<std::int8_t>(sets[g] + n);
      } else {
        if (!allowed[g] || sets[g] >= most) continue;
        Sets less = at.a[static_cast<std::size_t>(d)][static_cast<std::size_t>(other)];
        const auto some = std::find_if(less.begin(), less.end(), [](auto n) { return n > 0; });
        if (some == less.end()) continue;
        --*some;
        ++sets[g];
        put(t, d, other, less);
      }
      put(t, d, e, sets);
      changed = true;
    }
    return changed;
  }

  void start_from(const BlockPlan& plan) {
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      const Kind& kind = kinds_[t];
      if (kind.week >= static_cast<int>(plan.weeks.size())) continue;
      const auto& old = plan.weeks[static_cast<std::size_t>(kind.week)];
      for (std::size_t d = 0; d < kind.a.size() && d < old.size(); ++d) {
        if (kind.closed[d]) continue;
        for (const PlannedExercise& item : old[d].items) {
          if (!barred_on(p_, item.exercise, kind.week, static_cast<int>(d)).empty()) continue;
          Sets sets{};
          for (std::size_t m = 0; m < item.sets.size() && m < kMostModes; ++m) {
            const auto& allowed = kind.allowed[static_cast<std::size_t>(item.exercise)];
            if (item.sets[m] == 0) continue;
            std::size_t to = m;
            if (!allowed[m]) {
              const auto& modes = p_.exercises[static_cast<std::size_t>(item.exercise)].modes;
              int least = 1000;
              for (std::size_t o = 0; o < allowed.size(); ++o) {
                const int far =
                    std::abs(modes[o].reserve - modes[m].reserve) + (modes[o].heavy != modes[m].heavy ? 20 : 0);
                if (allowed[o] && far < least) least = far, to = o;
              }
            }
            sets[to] = static_cast<std::int8_t>(sets[to] + item.sets[m]);
          }
          put(static_cast<int>(t), static_cast<int>(d), item.exercise, sets);
        }
      }
    }
    lighten();
    undo_.clear();
  }
  // What must be there is put there first.
  void fix() {
    for (std::size_t ph = 0; ph < phases_.size(); ++ph) {
      const auto& phase = phases_[ph];
      for (const FixedPart& f : p_.fixed) {
        for (int t : phase.kinds) {
          const Kind& kind = kinds_[static_cast<std::size_t>(t)];
          if (kind.week < f.from_week || kind.week > f.to_week) continue;
          for (std::size_t d = 0; d < kind.a.size(); ++d) {
            const BlockDay& day = p_.weeks[static_cast<std::size_t>(kind.week)].days[d];
            if (weekday(day.date) != f.weekday || day.closed ||
                total(kind.a[d][static_cast<std::size_t>(f.exercise)]) > 0 ||
                !barred_on(p_, f.exercise, kind.week, static_cast<int>(d)).empty())
              continue;
            const BlockExercise& ex = p_.exercises[static_cast<std::size_t>(f.exercise)];
            Sets sets{};
            for (std::size_t m = 0; m < ex.modes.size() && m < kMostModes; ++m) {
              if (!kind.allowed[static_cast<std::size_t>(f.exercise)][m] || ex.modes[m].reserve == 0) continue;
              if (f.reserve && ex.modes[m].reserve != *f.reserve) continue;
              sets[m] = static_cast<std::int8_t>(f.sets.value_or(ex.least_sets));
              break;
            }
            put(t, static_cast<int>(d), f.exercise, sets);
          }
        }
      }
    }
    undo_.clear();
  }

  const BlockProblem& p_;
  BlockShape shape_;
  std::vector<bool> kept_;
  std::vector<char> ruled_;  // exercises that a rule of rules_part() looks at
  Random random_;
  Curve growth_, strength_;
  int exercises_ = 0;
  std::vector<std::vector<Share>> shares_;
  std::vector<int> sides_;
  std::vector<Kind> kinds_;
  std::vector<Phase> phases_;
  std::vector<std::vector<std::vector<std::vector<Conflict>>>> near_;  // [muscle][phase][day]
  int ordinary_count_ = 0;                                             // weeks
  std::array<double, kMuscleCount> ordinary_{};                        // sets in all of them together
  std::array<bool, kMuscleCount> counts_{};                            // share_counts()
  std::vector<int> special_;                                           // kinds with a share of the ordinary ones
  std::vector<Undo> undo_;
  std::vector<std::vector<std::vector<Sets>>> ways_;  // [kind][exercise]
  double score_ = 0, best_score_ = -1e300;
  BlockPlan best_;
};

}  // namespace

std::optional<BlockPlan> search_block(const BlockProblem& problem, std::uint64_t seed, int moves,
                                      const std::function<bool()>& go_on, const BlockPlan* start) {
  return Search(problem, seed).run(moves, go_on, start);
}

}  // namespace ullage::planning
