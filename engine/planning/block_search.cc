#include "engine/planning/block_search.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
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

constexpr std::size_t at(int i) { return static_cast<std::size_t>(i); }

int total(const Sets& sets) {
  int sum = 0;
  for (auto n : sets) sum += n;
  return sum;
}

double breach(double amount) { return amount <= 1e-9 ? 0 : -kBreach * amount; }

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

// What the sets of one exercise on one day come to.
struct Amount {
  int sets = 0, failures = 0, heavy = 0;
  double stimulus = 0, minutes = 0, fatigue = 0;  // stimulus: of a muscle with an involvement of 1
};
struct Way {
  Sets sets{};
  Amount amount;
  bool first = false, like_first = false;  // of those with as many sets; differs from it in nothing that rules look at
};

// A sum that rules and worth look at, with the part of the score that it makes.
struct Sum {
  double sum = 0, part = 0;
};
struct MuscleSums {
  double sets = 0, stimulus = 0, part = 0;
  double worth = 0, most = 0, least = 0;  // of growth, in all the weeks; sets
};
struct DayMinutes {
  double minutes = 0, pressing = 0, pulling = 0, part = 0;  // minutes without alternation
  double limit = 0;
};

// One week that stands for `count` weeks with the same sets, before some of those go to failure instead in some of
// them.
struct Kind {
  int week = 0, phase = 0, count = 0;
  double price = 0;           // of fatigue, in all the weeks
  int whole = -1, depth = 0;  // kind of whose sets it has a part; how many of those there are above it
  std::vector<int> parts;     // kinds that have a part of its sets
  int ordinary = 0;           // ordinary weeks it stands for
  double share = 0;           // of their mean that a special week may have of a muscle's sets; 0: it is none
  std::vector<char> closed, may_drop;
  std::vector<Sets> cells;  // [day][exercise]
  std::array<MuscleSums, kMuscleCount> muscles{};
  std::vector<std::array<Sum, kMuscleCount>> session;  // by day: sets
  std::vector<DayMinutes> minutes;                     // by day
  std::vector<Sum> heavy;                              // by lift: sets
  std::vector<Sum> balance;                            // by balance: sets of the one less those of the other
  std::vector<int> days_of;                            // by exercise: days it is done
  std::vector<std::vector<char>> allowed;              // [exercise][mode]
  std::vector<char> tested;                            // exercise has a test this week
  std::vector<int> was;                                // [day][exercise]: sets in the plan to stay near
  bool near = false;                                   // there is one for this week
};

// A kind of week with a share of the ordinary ones, and the sets that count for it, by muscle.
struct Special {
  int kind = 0;
  std::array<double, kMuscleCount> own{}, ordinary{}, part{};
  std::vector<std::vector<char>> pinned;  // [kind][day][exercise]: fixed in number in the special week
};

constexpr int kBetweenLooks = 512;  // moves
constexpr int kSameHeat = 32;       // moves

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
    words_ = (at(exercises_) + 63) / 64;
    for (const BlockExercise& e : p.exercises) {
      shares_.emplace_back();
      for (int k = 0; k < kMuscleCount; ++k) {
        if (const double share = e.exercise.involvement[at(k)]; share > 0) shares_.back().push_back({k, share});
      }
      sides_.push_back(alternating_side(e));
      modes_.emplace_back();
      for (std::size_t m = 0; m < std::min<std::size_t>(kMostModes, e.modes.size()); ++m) {
        const BlockMode& mode = e.modes[m];
        modes_.back().push_back({1, mode.reserve == 0, mode.heavy, stimulus_of(mode), mode.minutes, mode.fatigue});
      }
      lifts_of_.emplace_back();
      for (std::size_t l = 0; l < p.lifts.size(); ++l) {
        if (at(p.lifts[l].exercise) + 1 == shares_.size()) lifts_of_.back().push_back(static_cast<int>(l));
      }
      balances_.emplace_back();
      for (std::size_t b = 0; b < p.balance.size(); ++b) {
        double factor = 0;
        for (Muscle k : p.balance[b].of) factor += e.exercise.involvement[static_cast<std::size_t>(k)];
        for (Muscle k : p.balance[b].against)
          factor -= p.balance[b].most_ratio * e.exercise.involvement[static_cast<std::size_t>(k)];
        if (factor != 0) balances_.back().push_back({static_cast<int>(b), factor});
      }
    }
    musts_of_.resize(p.exercises.size());
    for (const MustHave& m : p.must) musts_of_[at(m.exercise)].push_back(m);
    fixed_of_.resize(p.exercises.size());
    for (const FixedPart& f : p.fixed) fixed_of_[at(f.exercise)].push_back(f);
    for (std::size_t k = 0; k < kMuscleCount; ++k) least_session_ = least_session_ || p.muscles[k].least_session > 0;
    for (std::size_t w = 0; w < p.weeks.size(); ++w) {
      const int of = kind_of(static_cast<int>(w));
      if (of < 0) kinds_.push_back(make_kind(static_cast<int>(w)));
      ++(of < 0 ? kinds_.back() : kinds_[at(of)]).count;
    }
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      Kind& kind = kinds_[t];
      kind.price = kind.count * p.price;
      const int whole = shape_.part[at(kind.week)];
      if (whole < 0) continue;
      kind.whole = kind_of(whole);
      kinds_[at(kind.whole)].parts.push_back(static_cast<int>(t));
    }
    for (Kind& kind : kinds_) {
      for (int up = kind.whole; up >= 0; up = kinds_[at(up)].whole) ++kind.depth;
    }
    shares_of_ordinary();
    make_phases();
    ways_.assign(kinds_.size(), std::vector<std::vector<Way>>(p.exercises.size()));
    conflicts();
    score_empty();
  }

  std::optional<BlockPlan> run(int moves, const std::function<bool()>& go_on, const BlockPlan* start) {
    if (start || p_.near) start_from(start ? *start : *p_.near);
    fix();
    if (breaches() < 1e-6) snapshot();
    const double hot = start ? 0.1 : p_.near ? 0.5 : std::max(0.5, static_cast<double>(p_.weeks.size()) / 3);
    const double cold = 0.01;
    double heat = hot;
    for (int i = 0; i < moves; ++i) {
      if (i % kBetweenLooks == 0 && go_on && !go_on()) break;
      if (i % kSameHeat == 0) heat = hot * std::pow(cold / hot, static_cast<double>(i) / moves);
      const double before = score_;
      forget();
      limit_ = before + heat * std::log(random_.uniform());
      if (!move()) {  // what was begun could not be finished
        take_back();
        score_ = before;
        continue;
      }
      lighten();
      if (score_ < limit_) {
        take_back();
        score_ = before;
        continue;
      }
      if (score_ > best_score_ + 1e-9 && breaches() < 1e-6) snapshot();
    }
    if (best_cells_.empty()) return std::nullopt;
    make_plan();
    to_failure();
    put_in_order(p_, best_);
    return best_;
  }

 private:
  struct Phase {
    std::size_t days = 0;
    std::vector<int> kinds;
    std::vector<int> on;                                // [day][exercise]: kinds that do it
    std::vector<std::array<int, kMuscleCount>> direct;  // [day]: exercises on that train it directly
    std::vector<int> many;                              // [day]: exercises on
    std::vector<int> days_of;                           // [exercise]: days on
    std::vector<int> failing, failing_days;             // [day][exercise]: kinds; [exercise]: days to failure
    std::vector<int> bound;                             // [day]: kinds that may not leave anything out
    std::vector<std::uint64_t> on_bits;                 // [day][word]
    std::vector<std::vector<int>> offered;              // [day]: exercises
    std::vector<char> offers;                           // [day][exercise]
  };
  struct Undo {
    int t, d, e;
    Sets sets;
  };
  struct Conflict {
    int phase, day;
  };

  std::size_t cell(int d, int e) const { return at(d * exercises_ + e); }
  int kind_of(int w) const {
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      if (kinds_[t].week == shape_.base[at(w)]) return static_cast<int>(t);
    }
    return -1;
  }
  double stimulus_of(const BlockMode& mode) const { return p_.stimulus[at(std::min(mode.reserve, kReserveSteps - 1))]; }

  // ---- What there is.
  Kind make_kind(int w) {
    Kind kind;
    kind.week = w;
    kind.phase = shape_.phase[at(w)];
    const BlockWeek& week = p_.weeks[at(w)];
    for (std::size_t d = 0; d < week.days.size(); ++d) {
      kind.closed.push_back(week.days[d].closed);
      double longest = 0;
      for (std::size_t o = 0; o < p_.weeks.size(); ++o) {
        if (shape_.phase[o] == kind.phase) longest = std::max(longest, p_.weeks[o].days[d].minutes);
      }
      kind.may_drop.push_back((week.kind != WeekKind::usual && week.kind != WeekKind::travel) ||
                              week.days[d].minutes < longest);
      kind.minutes.emplace_back().limit = week.days[d].minutes;
    }
    for (int k = 0; k < kMuscleCount; ++k) {
      kind.muscles[at(k)].most = most_sets(p_, w, k);
      kind.muscles[at(k)].least = least_week_sets(p_, w, k);
    }
    kind.session.assign(week.days.size(), {});
    kind.heavy.assign(p_.lifts.size(), {});
    kind.balance.assign(p_.balance.size(), {});
    kind.cells.assign(week.days.size() * p_.exercises.size(), Sets{});
    kind.days_of.assign(p_.exercises.size(), 0);
    for (std::size_t e = 0; e < p_.exercises.size(); ++e) {
      kind.allowed.emplace_back();
      for (std::size_t m = 0; m < modes_[e].size(); ++m)
        kind.allowed.back().push_back(always_allowed(p_, shape_, static_cast<int>(e), static_cast<int>(m), w));
      kind.tested.push_back(std::any_of(p_.tests.begin(), p_.tests.end(), [&](const BlockTest& one) {
        return one.week == w && one.exercise == static_cast<int>(e);
      }));
    }
    kind.near = p_.near && w < static_cast<int>(p_.near->weeks.size());
    if (kind.near) {
      kind.was.assign(kind.cells.size(), 0);
      const auto& old = p_.near->weeks[at(w)];
      for (std::size_t d = 0; d < std::min(old.size(), week.days.size()); ++d) {
        for (const PlannedExercise& item : old[d].items)
          kind.was[cell(static_cast<int>(d), item.exercise)] = item.total();
      }
    }
    return kind;
  }
  void shares_of_ordinary() {
    const std::vector<int> ordinary = ordinary_weeks(p_);
    ordinary_count_ = static_cast<int>(ordinary.size());
    std::array<double, kMuscleCount> behind{};
    for (int w : ordinary) {
      ++kinds_[at(kind_of(w))].ordinary;
      for (std::size_t k = 0; k < kMuscleCount; ++k) behind[k] += p_.weeks[at(w)].behind[k];
    }
    for (int k = 0; k < kMuscleCount; ++k) counts_[at(k)] = share_counts(p_, static_cast<Muscle>(k));
    for (std::size_t t = 0; t < kinds_.size() && !ordinary.empty(); ++t) {
      Kind& kind = kinds_[t];
      const BlockWeek& week = p_.weeks[at(kind.week)];
      if (!of_ordinary(week)) continue;
      kind.share = week.most_share;
      Special special;
      special.kind = static_cast<int>(t);
      special.ordinary = behind;
      const bool any = std::any_of(p_.fixed.begin(), p_.fixed.end(), [&](const FixedPart& f) {
        return f.sets && kind.week >= f.from_week && kind.week <= f.to_week;
      });
      for (std::size_t o = 0; o < kinds_.size() && any; ++o) {
        special.pinned.emplace_back();
        for (const BlockDay& day : p_.weeks[at(kinds_[o].week)].days) {
          for (int e = 0; e < exercises_; ++e)
            special.pinned.back().push_back(sets_fixed(p_, kind.week, e, weekday(day.date)));
        }
      }
      specials_.push_back(std::move(special));
    }
  }
  void make_phases() {
    phases_.resize(at(shape_.phases));
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      const Kind& kind = kinds_[t];
      Phase& ph = phases_[at(kind.phase)];
      ph.kinds.push_back(static_cast<int>(t));
      ph.days = kind.minutes.size();
      ph.on.assign(kind.cells.size(), 0);
      ph.failing = ph.on;
      ph.direct.assign(ph.days, {});
      ph.many.assign(ph.days, 0);
      ph.days_of.assign(at(exercises_), 0);
      ph.failing_days = ph.days_of;
      ph.on_bits.assign(ph.days * words_, 0);
      ph.bound.resize(ph.days, 0);
      for (std::size_t d = 0; d < ph.days; ++d) ph.bound[d] += !kind.closed[d] && !kind.may_drop[d];
      if (!ph.offered.empty()) continue;
      for (int d = 0; d < static_cast<int>(ph.days); ++d) {
        ph.offered.emplace_back();
        for (int e = 0; e < exercises_; ++e) {
          ph.offers.push_back(kept_[at(e)] && barred_on(p_, e, kind.week, d).empty());
          if (ph.offers.back()) ph.offered.back().push_back(e);
        }
      }
    }
    // What a part may have is known once the whole stands, and a special week's share once the ordinary ones do.
    for (Phase& ph : phases_) {
      const auto late = [&](int t) { return std::tuple(kinds_[at(t)].share > 0, kinds_[at(t)].depth, t); };
      std::sort(ph.kinds.begin(), ph.kinds.end(), [&](int x, int y) { return late(x) < late(y); });
    }
  }

  // For every muscle, phase and day: the days too near to it.
  void conflicts() {
    near_.assign(kMuscleCount, {});
    for (int k = 0; k < kMuscleCount; ++k) {
      auto& of_muscle = near_[static_cast<std::size_t>(k)];
      of_muscle.resize(phases_.size());
      for (std::size_t ph = 0; ph < phases_.size(); ++ph) of_muscle[ph].resize(phases_[ph].days);
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
  // ---- The score: sums, each with its part of the score, so that a change needs only the parts it touches, and each
  // of them once.
  void score_empty() {
    score_ = 0;
    for (Kind& kind : kinds_) {
      for (std::size_t k = 0; k < kMuscleCount; ++k) {
        MuscleSums& m = kind.muscles[k];
        m.worth = p_.muscles[k].weight > 0 ? kind.count * p_.muscles[k].weight : 0;
        m.part = week_part(m, 0, 0);
        score_ += m.part;
      }
      for (std::size_t l = 0; l < kind.heavy.size(); ++l) {
        kind.heavy[l].part = heavy_part(kind, static_cast<int>(l), 0);
        score_ += kind.heavy[l].part;
      }
      for (DayMinutes& day : kind.minutes) {
        day.part = minutes_part(day, 0, 0, 0);
        score_ += day.part;
      }
      for (int e = 0; e < exercises_; ++e) {
        score_ += days_in_kind_part(kind, e, 0);
        for (int d = 0; d < static_cast<int>(kind.minutes.size()); ++d)
          score_ += near_part(kind, d, e, 0) + fixed_part(kind, d, e, Sets{}, 0);
        for (const FixedPart& f : fixed_of_[at(e)]) {
          if (kind.week < f.from_week || kind.week > f.to_week || day_of(kind, f) >= 0) continue;
          score_ += breach(1) + breach(f.sets.value_or(0));  // never possible
        }
      }
    }
    for (Special& special : specials_) {
      for (std::size_t k = 0; k < kMuscleCount; ++k) special.part[k] = share_part(special, k, 0, special.ordinary[k]);
    }
  }
  double week_part(const MuscleSums& m, double sets, double stimulus) const {
    return m.worth * growth_(stimulus) + breach(sets - m.most) + breach(m.least - sets);
  }
  double session_part(const Kind& kind, int d, int k, double sets, int direct) const {
    const MuscleRule& rule = p_.muscles[at(k)];
    double out = breach(sets - rule.most_session);
    if (rule.least_session > 0 && direct > 0 && !kind.may_drop[at(d)]) out += breach(rule.least_session - sets);
    return out;
  }
  double minutes_part(const DayMinutes& day, double more, double pressing, double pulling) const {
    return breach(day.minutes + more - p_.alternate_saves * std::min(day.pressing + pressing, day.pulling + pulling) -
                  day.limit);
  }
  double share_part(const Special& special, std::size_t k, double own, double ordinary) const {
    if (!counts_[k]) return 0;
    return breach(own - kinds_[at(special.kind)].share * ordinary / ordinary_count_);
  }
  double heavy_part(const Kind& kind, int l, double sets) const {
    const LiftGoal& lift = p_.lifts[at(l)];
    const WeekKind week = p_.weeks[at(kind.week)].kind;
    double out = kind.count * lift.weight * strength_(sets);
    if (week == WeekKind::usual || week == WeekKind::travel) out += breach(lift.least_heavy - sets);
    return out;
  }
  double near_part(const Kind& kind, int d, int e, int sets) const {
    if (!kind.near || kind.closed[at(d)] || d >= static_cast<int>(p_.near->weeks[at(kind.week)].size())) return 0;
    const int was = kind.was[cell(d, e)];
    return -kind.count * (p_.price_set * std::abs(was - sets) + ((was > 0) != (sets > 0) ? p_.price_moved : 0));
  }
  // Days of the week on which the exercise is done: musts, and a test of it on some day.
  double days_in_kind_part(const Kind& kind, int e, int days) const {
    double out = 0;
    for (const MustHave& m : musts_of_[at(e)]) {
      if (kind.week >= m.from_week && kind.week <= m.to_week) out += breach(m.least_days - days);
    }
    if (kind.tested[at(e)] && days == 0) out += breach(1);
    return out;
  }
  int day_of(const Kind& kind, const FixedPart& f) const {
    int day = -1;
    for (std::size_t d = 0; d < kind.minutes.size(); ++d) {
      if (weekday(p_.weeks[at(kind.week)].days[d].date) == f.weekday && !kind.closed[d]) day = static_cast<int>(d);
    }
    return day;
  }
  double fixed_part(const Kind& kind, int d, int e, const Sets& sets, int n) const {
    double out = 0;
    for (const FixedPart& f : fixed_of_[at(e)]) {
      if (kind.week < f.from_week || kind.week > f.to_week || day_of(kind, f) != d) continue;
      out += breach(n == 0 ? 1 : 0);
      if (f.sets) out += breach(std::abs(n - *f.sets));
      for (std::size_t m = 0; f.reserve && m < modes_[at(e)].size(); ++m) {
        if (p_.exercises[at(e)].modes[m].reserve != *f.reserve) out += breach(sets[m]);
      }
    }
    return out;
  }
  // Sets of a day that are more than those of the week they are a part of.
  double part_part(const Kind& kind, std::size_t where, int n) const {
    double out = 0;
    if (kind.whole >= 0) out += breach(n - total(kinds_[at(kind.whole)].cells[where]));
    for (int t : kind.parts) out += breach(total(kinds_[at(t)].cells[where]) - n);
    return out;
  }
  // Sets that cannot stand: an exercise on in a phase must be done in the weeks that may not drop it, with enough sets.
  double sets_part(const Kind& kind, int d, int e, int n, bool on) const {
    const BlockExercise& ex = p_.exercises[at(e)];
    if (kind.closed[at(d)]) return breach(n);
    if (!on) return 0;
    return breach(n - ex.most_sets) + (kind.may_drop[at(d)] ? 0 : breach(ex.least_sets - n));
  }
  int first_day(const Kind& kind, int e) const {
    for (int d = 0; d < static_cast<int>(kind.minutes.size()); ++d) {
      if (total(kind.cells[cell(d, e)]) > 0) return d;
    }
    return -1;
  }
  Amount amount_of(int e, const Sets& sets) const {
    Amount out;
    const auto& modes = modes_[at(e)];
    for (std::size_t m = 0; m < modes.size(); ++m) {
      const int n = sets[m];
      if (n == 0) continue;
      out.sets += n;
      out.failures += n * modes[m].failures;
      out.heavy += n * modes[m].heavy;
      out.stimulus += n * modes[m].stimulus;
      out.minutes += n * modes[m].minutes;
      out.fatigue += n * modes[m].fatigue;
    }
    return out;
  }

  void keep(double& value, double now) {
    doubles_[double_count_++] = {&value, value};
    value = now;
  }
  void keep(int& value, int now) {
    ints_[int_count_++] = {&value, value};
    value = now;
  }
  // Room for what one change keeps.
  void make_room() {
    const std::size_t most =
        kMuscleCount * (5 + 3 * specials_.size() + kinds_.size()) + p_.lifts.size() * 2 + p_.balance.size() * 2 + 32;
    if (doubles_.size() < double_count_ + most) doubles_.resize(2 * (double_count_ + most));
    if (ints_.size() < int_count_ + most) ints_.resize(2 * (int_count_ + most));
  }
  // What the score gains when the exercise has these sets on that day of that kind of week; when they are put there,
  // all sums follow and can be taken back.
  template <bool kPut>
  double change(int t, int d, int e, const Sets& sets, const Amount& to) {
    if (kPut) make_room();
    share_gain_ = 0;
    Kind& kind = kinds_[at(t)];
    const std::size_t ex = at(e), day = at(d), where = cell(d, e);
    Sets& now = kind.cells[where];
    const Amount from = amount_of(e, now);
    const BlockExercise& exercise = p_.exercises[ex];
    Phase& phase = phases_[at(kind.phase)];
    const int step = (to.sets > 0) - (from.sets > 0);
    const int on = phase.on[where], on_then = on + step;
    const int flip = (on_then > 0) - (on > 0);
    const int more = to.sets - from.sets;
    double gain = -kind.price * (to.fatigue - from.fatigue) + step * kind.count * exercise.preference;

    // Minutes; a test takes its own on the first day the exercise is done.
    double minutes = to.minutes - from.minutes + step * exercise.minutes;
    if (kind.tested[ex] && step != 0) {
      const int first = first_day(kind, e);
      int then = first;
      if (step > 0 && (first < 0 || d < first)) then = d;
      if (step < 0 && d == first) {
        then = -1;
        for (int o = d + 1; o < static_cast<int>(kind.minutes.size()) && then < 0; ++o) {
          if (total(kind.cells[cell(o, e)]) > 0) then = o;
        }
      }
      if (then != first) {
        for (const auto& [on_day, sign] : {std::pair(first, -1), std::pair(then, 1)}) {
          if (on_day < 0) continue;
          const double own = sign * exercise.test_minutes;
          if (on_day == d) {
            minutes += own;
            continue;
          }
          DayMinutes& other = kind.minutes[at(on_day)];
          const double part = minutes_part(other, own, 0, 0);
          gain += part - other.part;
          if (kPut) keep(other.minutes, other.minutes + own), keep(other.part, part);
        }
      }
    }
    {
      DayMinutes& of = kind.minutes[day];
      const double pressing = sides_[ex] == 1 ? more : 0, pulling = sides_[ex] == 2 ? more : 0;
      const double part = minutes_part(of, minutes, pressing, pulling);
      gain += part - of.part;
      if (kPut) {
        keep(of.minutes, of.minutes + minutes);
        if (part != of.part) keep(of.part, part);
        if (pressing != 0) keep(of.pressing, of.pressing + pressing);
        if (pulling != 0) keep(of.pulling, of.pulling + pulling);
      }
    }
    // Muscles.
    const double stimulus = to.stimulus - from.stimulus;
    for (const Share& s : shares_[ex]) {
      const std::size_t k = at(s.muscle);
      MuscleSums& week = kind.muscles[k];
      const double week_sets = week.sets + more * s.share, week_stimulus = week.stimulus + stimulus * s.share;
      const double part = week_part(week, week_sets, week_stimulus);
      gain += part - week.part;
      if (kPut) keep(week.sets, week_sets), keep(week.stimulus, week_stimulus), keep(week.part, part);
      if (more == 0) continue;
      const int direct_step = s.share >= kDirect ? flip : 0;
      const int direct = phase.direct[day][k] + direct_step;
      Sum& session = kind.session[day][k];
      const double session_sets = session.sum + more * s.share;
      const double session_now = session_part(kind, d, s.muscle, session_sets, direct);
      gain += session_now - session.part;
      if (kPut) {
        keep(session.sum, session_sets);
        if (session_now != session.part) keep(session.part, session_now);
      }
      if (direct_step != 0 && least_session_) {
        for (int o : phase.kinds) {
          if (o == t) continue;
          Sum& other = kinds_[at(o)].session[day][k];
          const double other_now = session_part(kinds_[at(o)], d, s.muscle, other.sum, direct);
          gain += other_now - other.part;
          if (kPut) keep(other.part, other_now);
        }
      }
      if (direct_step != 0) {
        const int trained = (direct > 0) - (direct - direct_step > 0);
        if (trained != 0) {
          int conflicts = 0;
          for (const Conflict& c : near_[k][at(kind.phase)][day]) {
            const bool itself = c.phase == kind.phase && c.day == d;
            conflicts += itself || phases_[at(c.phase)].direct[at(c.day)][k] > 0;
          }
          gain -= trained * 2 * kBreach * conflicts;
        }
        if (kPut) keep(phase.direct[day][k], direct);
      }
      if (!specials_.empty() && counts_[k] && (kind.share > 0 || kind.ordinary > 0)) {
        for (Special& special : specials_) {
          if (special.kind != t && kind.ordinary == 0) continue;
          if (!special.pinned.empty() && special.pinned[at(t)][where]) continue;
          double own = special.own[k], ordinary = special.ordinary[k];
          (special.kind == t ? own : ordinary) += (special.kind == t ? 1 : kind.ordinary) * more * s.share;
          const double share = share_part(special, k, own, ordinary);
          gain += share - special.part[k];
          share_gain_ += share - special.part[k];
          if (!kPut) continue;
          keep(special.own[k], own), keep(special.ordinary[k], ordinary);
          if ((share < 0) != (special.part[k] < 0)) keep(over_, over_ + (share < 0 ? 1 : -1));
          keep(special.part[k], share);
        }
      }
    }
    // Rules and goals of the exercise itself.
    if (to.heavy != from.heavy) {
      for (int l : lifts_of_[ex]) {
        Sum& heavy = kind.heavy[at(l)];
        const double sum = heavy.sum + to.heavy - from.heavy, part = heavy_part(kind, l, sum);
        gain += part - heavy.part;
        if (kPut) keep(heavy.sum, sum), keep(heavy.part, part);
      }
    }
    if (more != 0) {
      for (const Share& b : balances_[ex]) {
        Sum& balance = kind.balance[at(b.muscle)];
        const double sum = balance.sum + more * b.share, part = breach(sum);
        gain += part - balance.part;
        if (kPut) keep(balance.sum, sum), keep(balance.part, part);
      }
      if (kind.near) gain += near_part(kind, d, e, to.sets) - near_part(kind, d, e, from.sets);
      if (kind.whole >= 0 || !kind.parts.empty())
        gain += part_part(kind, where, to.sets) - part_part(kind, where, from.sets);
      gain += sets_part(kind, d, e, to.sets, on_then > 0) - sets_part(kind, d, e, from.sets, on > 0);
    }
    if (!fixed_of_[ex].empty()) gain += fixed_part(kind, d, e, sets, to.sets) - fixed_part(kind, d, e, now, from.sets);
    if (step != 0) {
      const int days = kind.days_of[ex];
      if (!musts_of_[ex].empty() || kind.tested[ex])
        gain += days_in_kind_part(kind, e, days + step) - days_in_kind_part(kind, e, days);
      if (kPut) keep(kind.days_of[ex], days + step), keep(phase.on[where], on_then);
    }
    if (const int fails = (to.failures > 0) - (from.failures > 0); fails != 0 && exercise.failure_every_days > 0) {
      int& failing = phase.failing[where];
      const int days = (failing + fails > 0) - (failing > 0), before = phase.failing_days[ex];
      gain += breach(before + days - 1) - breach(before - 1);
      if (kPut) keep(failing, failing + fails), keep(phase.failing_days[ex], before + days);
    }
    if (flip != 0) {
      const int many = phase.many[day], days = phase.days_of[ex];
      const int most = p_.weeks[at(kinds_[at(phase.kinds.front())].week)].days[day].most_exercises;
      gain += breach(many + flip - most) - breach(many - most);
      gain += breach(days + flip - exercise.most_days) - breach(days - exercise.most_days);
      // The other kinds of the phase have none of it.
      const int others = phase.bound[day] - (!kind.closed[day] && !kind.may_drop[day]);
      gain += flip * others * breach(exercise.least_sets);
      if (kPut) {
        keep(phase.many[day], many + flip), keep(phase.days_of[ex], days + flip);
        phase.on_bits[day * words_ + ex / 64] ^= std::uint64_t{1} << ex % 64;
        flips_.push_back(&phase.on_bits[day * words_ + ex / 64]), flipped_.push_back(e);
      }
    }
    if (kPut) {
      undo_.push_back({t, d, e, now});
      now = sets;
      score_ += gain;
    }
    return gain;
  }
  void put(int t, int d, int e, const Sets& sets) {
    if (kinds_[at(t)].cells[cell(d, e)] != sets) change<true>(t, d, e, sets, amount_of(e, sets));
  }
  // What is put from now on can be taken back.
  void forget() {
    undo_.clear(), flips_.clear(), flipped_.clear();
    double_count_ = int_count_ = 0;
  }
  void take_back() {
    for (auto u = undo_.rbegin(); u != undo_.rend(); ++u) kinds_[at(u->t)].cells[cell(u->d, u->e)] = u->sets;
    for (std::size_t i = double_count_; i-- > 0;) *doubles_[i].first = doubles_[i].second;
    for (std::size_t i = int_count_; i-- > 0;) *ints_[i].first = ints_[i].second;
    for (std::size_t i = 0; i < flips_.size(); ++i) *flips_[i] ^= std::uint64_t{1} << flipped_[i] % 64;
    forget();
  }

  // Takes sets out of special weeks that have more than their share by now: each time the set that costs least.
  void lighten() {
    if (over_ == 0) return;
    for (const Special& special : specials_) {
      for (std::size_t k = 0; k < kMuscleCount; ++k) {
        while (special.part[k] < 0 && take_set(special.kind, k)) {
        }
      }
    }
  }
  bool take_set(int t, std::size_t k) {
    const Kind& kind = kinds_[at(t)];
    double best = 0;
    int day = -1, exercise = -1;
    Sets left{};
    for (int d = 0; d < static_cast<int>(kind.minutes.size()); ++d) {
      for (int e = 0; e < exercises_; ++e) {
        const Sets& now = kind.cells[cell(d, e)];
        if (p_.exercises[at(e)].exercise.involvement[k] <= 0 || total(now) == 0) continue;
        for (std::size_t m = 0; m < modes_[at(e)].size(); ++m) {
          if (now[m] == 0) continue;
          Sets fewer = now;
          --fewer[m];
          const double gain = change<false>(t, d, e, fewer, amount_of(e, fewer));
          if (gain > best) best = gain, day = d, exercise = e, left = fewer;
        }
      }
    }
    if (day < 0) return false;
    put(t, day, exercise, left);
    return true;
  }

  // All rules kept? Everything that is worth something is known, so what is missing from the score is breaches.
  double breaches() const {
    double good = 0;
    for (const Kind& kind : kinds_) {
      for (const MuscleSums& m : kind.muscles) good += m.worth * growth_(m.stimulus);
      for (std::size_t l = 0; l < p_.lifts.size(); ++l)
        good += kind.count * p_.lifts[l].weight * strength_(kind.heavy[l].sum);
      for (int d = 0; d < static_cast<int>(kind.minutes.size()); ++d) {
        for (int e = 0; e < exercises_; ++e) {
          const Sets& sets = kind.cells[cell(d, e)];
          const int n = total(sets);
          if (kind.near) good += near_part(kind, d, e, n);
          if (n > 0) good += kind.count * p_.exercises[at(e)].preference - kind.price * amount_of(e, sets).fatigue;
        }
      }
    }
    return good - score_;
  }

  void snapshot() {
    best_score_ = score_;
    best_cells_.resize(kinds_.size());
    for (std::size_t t = 0; t < kinds_.size(); ++t) best_cells_[t] = kinds_[t].cells;
  }
  void make_plan() {
    best_.weeks.clear();
    for (std::size_t w = 0; w < p_.weeks.size(); ++w) {
      const std::size_t t = at(kind_of(static_cast<int>(w)));
      best_.weeks.emplace_back();
      std::vector<bool> tested(p_.exercises.size(), false);
      for (int d = 0; d < static_cast<int>(kinds_[t].minutes.size()); ++d) {
        PlannedDay day;
        for (std::size_t e = 0; e < p_.exercises.size(); ++e) {
          const Sets& sets = best_cells_[t][cell(d, static_cast<int>(e))];
          if (total(sets) == 0) continue;
          PlannedExercise item;
          item.exercise = static_cast<int>(e);
          for (std::size_t m = 0; m < p_.exercises[e].modes.size(); ++m)
            item.sets.push_back(m < kMostModes ? sets[m] : 0);
          if (kinds_[t].tested[e] && !tested[e]) item.test = tested[e] = true;
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
    for (std::size_t d = 0; d < phases_[at(ph)].days; ++d) {
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
      for (const Share& s : shares_[at(e)])
        stimulus[c.week][static_cast<std::size_t>(s.muscle)] +=
            s.share * (stimulus_of(ex.modes[failure]) - stimulus_of(ex.modes[c.mode]));
    }
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
  // ---- Moves.
  int pick(int n) { return std::min(n - 1, static_cast<int>(random_.uniform() * n)); }
  // Ways to do the exercise in that kind of week: every number of sets in one mode, and the last one to failure.
  const std::vector<Way>& ways(int t, int e) {
    auto& out = ways_[at(t)][at(e)];
    if (!out.empty()) return out;
    const BlockExercise& ex = p_.exercises[at(e)];
    const auto& allowed = kinds_[at(t)].allowed[at(e)];
    for (std::size_t m = 0; m < allowed.size(); ++m) {
      if (!allowed[m]) continue;
      const bool failure = ex.modes[m].reserve == 0;
      for (int n = 1; n <= (failure ? 1 : ex.most_sets); ++n) {
        Sets sets{};
        sets[m] = static_cast<std::int8_t>(n);
        out.push_back({sets, amount_of(e, sets)});
        for (std::size_t f = 0; f < allowed.size() && !failure && n < ex.most_sets; ++f) {
          if (!allowed[f] || ex.modes[f].reserve > 0 || ex.modes[f].heavy != ex.modes[m].heavy) continue;
          Sets with = sets;
          with[f] = 1;
          out.push_back({with, amount_of(e, with)});
        }
      }
    }
    std::sort(out.begin(), out.end(), [](const Way& x, const Way& y) {
      return std::tie(x.amount.sets, y.sets) < std::tie(y.amount.sets, x.sets);
    });
    for (std::size_t i = 0, first = 0; i < out.size(); ++i) {
      if (out[i].amount.sets != out[first].amount.sets) first = i;
      out[i].first = i == first;
      out[i].like_first = i != first && fixed_of_[at(e)].empty() &&
                          out[i].amount.minutes == out[first].amount.minutes &&
                          (lifts_of_[at(e)].empty() || out[i].amount.heavy == out[first].amount.heavy);
    }
    if (out.empty()) out.emplace_back();
    return out;
  }
  // The sets of it that are best as everything else stands; nothing of it where that may be left out. last: when what
  // is best would not be kept, it is not put there and the answer is false.
  bool respond(int t, int d, int e, bool last) {
    const Kind& kind = kinds_[at(t)];
    const bool drop = kind.may_drop[at(d)];
    const int least = drop ? 1 : p_.exercises[at(e)].least_sets;
    const Sets before = kind.cells[cell(d, e)];
    const Amount now = amount_of(e, before);
    const Way *best = nullptr, *first = nullptr;
    double most = now.sets > 0 || drop ? 0 : -kNoLimit, first_gain = 0, lost_share = 0;
    const Phase& phase = phases_[at(kind.phase)];
    const int failing = phase.failing[cell(d, e)] - (now.failures > 0), failing_days = phase.failing_days[at(e)];
    const int other_days = failing_days - (phase.failing[cell(d, e)] > 0);
    const double spread = breach(other_days) - breach(other_days + (failing > 0) - 1);  // of a set to failure
    for (const Way& way : ways(t, e)) {
      if (way.amount.sets < least || way.sets == before) continue;
      double gain = 0;
      if (first && way.like_first && first->amount.sets == way.amount.sets) {
        // As many sets as before in another way: only stimulus, fatigue and failure differ.
        gain = first_gain - kind.price * (way.amount.fatigue - first->amount.fatigue);
        for (const Share& s : shares_[at(e)]) {
          const MuscleSums& m = kind.muscles[at(s.muscle)];
          if (m.worth <= 0) continue;
          gain += m.worth * (growth_(m.stimulus + (way.amount.stimulus - now.stimulus) * s.share) -
                             growth_(m.stimulus + (first->amount.stimulus - now.stimulus) * s.share));
        }
        if ((way.amount.failures > 0) != (first->amount.failures > 0) && p_.exercises[at(e)].failure_every_days > 0)
          gain += way.amount.failures > 0 ? spread : -spread;
      } else {
        gain = change<false>(t, d, e, way.sets, way.amount);
        if (way.first) first = &way, first_gain = gain;
        lost_share = std::min(lost_share, share_gain_);
      }
      if (gain > most) most = gain, best = &way;
    }
    if (last && lost_share == 0 && over_ == 0 && score_ + (best ? most : 0) < limit_) return false;
    if (best) change<true>(t, d, e, best->sets, best->amount);
    return true;
  }
  // Puts the exercise on that day into every week of the phase.
  bool add(int ph, int d, int e) {
    const auto& kinds = phases_[at(ph)].kinds;
    for (int t : kinds) {
      if (!kinds_[at(t)].closed[at(d)] && !respond(t, d, e, t == kinds.back())) return false;
    }
    return true;
  }
  void remove(int ph, int d, int e) {
    for (int t : phases_[at(ph)].kinds) put(t, d, e, Sets{});
  }
  int pick_on(const Phase& phase, int d) {
    const int many = phase.many[at(d)];
    if (many == 0) return -1;
    int nth = pick(many);
    for (std::size_t w = 0; w < words_; ++w) {
      std::uint64_t bits = phase.on_bits[at(d) * words_ + w];
      const int here = __builtin_popcountll(bits);
      if (nth >= here) {
        nth -= here;
        continue;
      }
      while (nth-- > 0) bits &= bits - 1;
      return static_cast<int>(64 * w) + __builtin_ctzll(bits);
    }
    return -1;
  }
  bool move() {
    const int ph = pick(static_cast<int>(phases_.size()));
    Phase& phase = phases_[at(ph)];
    const int days = static_cast<int>(phase.days);
    if (days == 0) return false;
    const int d = pick(days);
    const auto& offered = phase.offered[at(d)];
    if (offered.empty()) return false;
    const double kind = random_.uniform();
    const int chosen = offered[at(pick(static_cast<int>(offered.size())))];
    const bool chosen_on = phase.on[cell(d, chosen)] > 0;
    if (kind < 0.03) {
      if (chosen_on) return false;
      return add(ph, d, chosen);
    }
    const int e = pick_on(phase, d);
    if (e < 0) return false;
    if (kind < 0.06) {
      remove(ph, d, e);
      return true;
    }
    if (kind < 0.24) {
      if (chosen_on) return false;
      remove(ph, d, e);
      return add(ph, d, chosen);
    }
    if (kind < 0.34) {  // the same, and another exercise of the day answers
      if (chosen_on) return false;
      remove(ph, d, e);
      const int answers = pick_on(phase, d);
      for (const int each : {chosen, answers}) {
        for (int t : phase.kinds) {
          if (each >= 0 && !kinds_[at(t)].closed[at(d)]) respond(t, d, each, false);
        }
      }
      return true;
    }
    if (kind < 0.44 && days > 1) {  // to another day, changing places with another when there is one
      const int other = (d + 1 + pick(days - 1)) % days;
      if (!phase.offers[cell(other, e)] || phase.on[cell(other, e)] > 0) return false;
      const int back = random_.uniform() < 0.6 ? pick_on(phase, other) : -1;
      if (back >= 0 && (phase.on[cell(d, back)] > 0 || !phase.offers[cell(d, back)])) return false;
      for (int t : phase.kinds) {
        const Kind& there = kinds_[at(t)];
        if (there.closed[at(d)] || there.closed[at(other)]) return false;
        const Sets mine = there.cells[cell(d, e)];
        put(t, d, e, Sets{});
        put(t, other, e, mine);
        if (back >= 0) {
          const Sets theirs = there.cells[cell(other, back)];
          put(t, other, back, Sets{});
          put(t, d, back, theirs);
        }
      }
      return true;
    }
    // Sets and modes: in all weeks of the phase or in one kind; one more also in those of which that has a part, one
    // fewer in those that have a part of it.
    const bool all = random_.uniform() < 0.5;
    const int one = phase.kinds[at(pick(static_cast<int>(phase.kinds.size())))];
    if (!all && kinds_[at(one)].share > 0) {  // what its share allows now, best used
      return respond(one, d, e, true) && !undo_.empty();
    }
    const double what = random_.uniform();
    const int other = what > 0.75 ? pick_on(phase, d) : -1;  // one set more here for one fewer there
    const int modes = static_cast<int>(modes_[at(e)].size());
    const int from = pick(modes), to = pick(modes);
    pending_.clear();
    const auto within = [&](int part, int whole) {
      while (part >= 0 && part != whole) part = kinds_[at(part)].whole;
      return part == whole;
    };
    for (int t : phase.kinds) {
      if (!all && t != one && !(what < 0.3 && within(one, t)) && !(what >= 0.3 && what < 0.55 && within(t, one)))
        continue;
      const Kind& there = kinds_[at(t)];
      if (there.closed[at(d)]) continue;
      const auto& allowed = there.allowed[at(e)];
      Sets sets = there.cells[cell(d, e)];
      const std::size_t f = at(from), g = at(to);
      const int most = modes_[at(e)][g].failures > 0 ? 1 : 99;
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
        Sets less = there.cells[cell(d, other)];
        const auto some = std::find_if(less.begin(), less.end(), [](auto n) { return n > 0; });
        if (some == less.end()) continue;
        --*some;
        ++sets[g];
        pending_.push_back({t, d, other, less});
      }
      pending_.push_back({t, d, e, sets});
    }
    if (pending_.empty()) return false;
    for (std::size_t i = 0; i + 1 < pending_.size(); ++i)
      put(pending_[i].t, pending_[i].d, pending_[i].e, pending_[i].sets);
    return put_last(pending_.back());
  }
  // The last change of a move; when the move would not be kept, it is not put there and the answer is false.
  bool put_last(const Undo& last) {
    const Amount amount = amount_of(last.e, last.sets);
    const double gain = change<false>(last.t, last.d, last.e, last.sets, amount);
    if (share_gain_ >= 0 && over_ == 0 && score_ + gain < limit_) return false;
    change<true>(last.t, last.d, last.e, last.sets, amount);
    return true;
  }

  void start_from(const BlockPlan& plan) {
    for (std::size_t t = 0; t < kinds_.size(); ++t) {
      const Kind& kind = kinds_[t];
      if (kind.week >= static_cast<int>(plan.weeks.size())) continue;
      const auto& old = plan.weeks[at(kind.week)];
      for (std::size_t d = 0; d < kind.minutes.size() && d < old.size(); ++d) {
        if (kind.closed[d]) continue;
        for (const PlannedExercise& item : old[d].items) {
          if (!barred_on(p_, item.exercise, kind.week, static_cast<int>(d)).empty()) continue;
          Sets sets{};
          for (std::size_t m = 0; m < item.sets.size() && m < kMostModes; ++m) {
            const auto& allowed = kind.allowed[at(item.exercise)];
            if (item.sets[m] == 0) continue;
            std::size_t to = m;
            if (!allowed[m]) {
              const auto& modes = p_.exercises[at(item.exercise)].modes;
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
    forget();
  }
  // What must be there is put there first.
  void fix() {
    for (const Phase& phase : phases_) {
      for (const FixedPart& f : p_.fixed) {
        for (int t : phase.kinds) {
          const Kind& kind = kinds_[at(t)];
          if (kind.week < f.from_week || kind.week > f.to_week) continue;
          for (int d = 0; d < static_cast<int>(kind.minutes.size()); ++d) {
            const BlockDay& day = p_.weeks[at(kind.week)].days[at(d)];
            if (weekday(day.date) != f.weekday || day.closed || total(kind.cells[cell(d, f.exercise)]) > 0 ||
                !barred_on(p_, f.exercise, kind.week, d).empty())
              continue;
            const BlockExercise& ex = p_.exercises[at(f.exercise)];
            Sets sets{};
            for (std::size_t m = 0; m < ex.modes.size() && m < kMostModes; ++m) {
              if (!kind.allowed[at(f.exercise)][m] || ex.modes[m].reserve == 0) continue;
              if (f.reserve && ex.modes[m].reserve != *f.reserve) continue;
              sets[m] = static_cast<std::int8_t>(f.sets.value_or(ex.least_sets));
              break;
            }
            put(t, d, f.exercise, sets);
          }
        }
      }
    }
    forget();
  }

  const BlockProblem& p_;
  BlockShape shape_;
  std::vector<bool> kept_;
  Random random_;
  Curve growth_, strength_;
  int exercises_ = 0;
  std::size_t words_ = 0;  // of 64 exercises
  bool least_session_ = false;
  // By exercise.
  std::vector<std::vector<Share>> shares_, balances_;  // balances_: their index and factor
  std::vector<std::vector<Amount>> modes_;             // one set
  std::vector<int> sides_;
  std::vector<std::vector<int>> lifts_of_;
  std::vector<std::vector<MustHave>> musts_of_;
  std::vector<std::vector<FixedPart>> fixed_of_;
  std::vector<Kind> kinds_;
  std::vector<Phase> phases_;
  std::vector<std::vector<std::vector<std::vector<Conflict>>>> near_;  // [muscle][phase][day]
  int ordinary_count_ = 0;                                             // weeks
  std::array<bool, kMuscleCount> counts_{};                            // share_counts()
  std::vector<Special> specials_;
  double share_gain_ = 0;  // part of the last change's gain that lies in those shares
  double limit_ = 0;       // of the score, below which the move at hand is not kept
  int over_ = 0;           // muscles of which special weeks have more than their share
  // What was changed since forget().
  std::vector<Undo> undo_;
  std::vector<Undo> pending_;  // what a move is going to put
  std::vector<std::pair<double*, double>> doubles_;
  std::vector<std::pair<int*, int>> ints_;
  std::size_t double_count_ = 0, int_count_ = 0;
  std::vector<std::uint64_t*> flips_;
  std::vector<int> flipped_;
  std::vector<std::vector<std::vector<Way>>> ways_;  // [kind][exercise]
  double score_ = 0, best_score_ = -1e300;
  std::vector<std::vector<Sets>> best_cells_;  // [kind]
  BlockPlan best_;
};

}  // namespace

std::optional<BlockPlan> search_block(const BlockProblem& problem, std::uint64_t seed, int moves,
                                      const std::function<bool()>& go_on, const BlockPlan* start) {
  return Search(problem, seed).run(moves, go_on, start);
}

}  // namespace ullage::planning
