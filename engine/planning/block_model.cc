#include "engine/planning/block_model.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "engine/planning/block_words.h"
#include "engine/planning/stimulus.h"

namespace ullage::planning {
namespace {

std::string name_of(const char* kind, int a, int b, int c = -1, int d = -1) {
  std::string out = kind;
  for (int part : {a, b, c, d}) {
    if (part < 0) continue;
    out += '.';
    out += std::to_string(part);
  }
  return out;
}

int column_at(const std::map<std::tuple<int, int, int>, int>& of, int a, int b, int c) {
  const auto found = of.find({a, b, c});
  return found == of.end() ? -1 : found->second;
}

const PlannedExercise* find_item(const PlannedDay& day, int exercise) {
  for (const PlannedExercise& item : day.items) {
    if (item.exercise == exercise) return &item;
  }
  return nullptr;
}

// Index of the mode to failure; one past the last: there is none.
std::size_t failure_of(const BlockExercise& e) {
  std::size_t m = 0;
  while (m < e.modes.size() && e.modes[m].reserve > 0) ++m;
  return m;
}

class Writing {
 public:
  explicit Writing(const BlockProblem& problem) : p_(problem) {
    out_.shape = shape_of(p_);
    out_.kept = considered(p_);
  }

  BlockModel write() {
    weeks_ = static_cast<int>(p_.weeks.size());
    exercises_ = static_cast<int>(p_.exercises.size());
    for (int w = 0; w < weeks_; ++w) ++count_[like(w)], ++same_[base(w)];
    phase_columns();
    for (const auto& [w, n] : same_) week_columns(w, n);
    for (const auto& [w, n] : count_) {
      to_failure(w, n);
      curve_columns(w, n);
    }
    phase_rows();
    recovery();
    for (const auto& [w, n] : same_) week_rows(w);
    part_rows();
    share_rows();
    if (p_.near) nearness();
    return std::move(out_);
  }

 private:
  int like(int w) const { return out_.shape.like[static_cast<std::size_t>(w)]; }
  int base(int w) const { return out_.shape.base[static_cast<std::size_t>(w)]; }
  int phase(int w) const { return out_.shape.phase[static_cast<std::size_t>(w)]; }
  const BlockWeek& week(int w) const { return p_.weeks[static_cast<std::size_t>(w)]; }
  const BlockExercise& exercise(int e) const { return p_.exercises[static_cast<std::size_t>(e)]; }
  int days(int w) const { return static_cast<int>(week(w).days.size()); }
  int first_week(int phase_index) const {
    for (int w = 0; w < weeks_; ++w) {
      if (phase(w) == phase_index) return w;
    }
    return 0;
  }
  double share(int e, int k) const { return exercise(e).exercise.involvement[static_cast<std::size_t>(k)]; }
  // The column that says the exercise is done on that day of that week: v where there is one, else y.
  int done(int w, int d, int e) const {
    const int own = column_at(out_.v, w, d, e);
    return own >= 0 ? own : column_at(out_.y, phase(w), d, e);
  }
  bool closed(int w, int d) const { return week(w).days[static_cast<std::size_t>(d)].closed; }
  // May a day of this week leave out exercises of the phase's day?
  bool may_drop(int w, int d) const {
    if (week(w).kind != WeekKind::usual && week(w).kind != WeekKind::travel) return true;
    double longest = 0;
    for (int o = 0; o < weeks_; ++o) {
      if (phase(o) == phase(w)) longest = std::max(longest, week(o).days[static_cast<std::size_t>(d)].minutes);
    }
    return week(w).days[static_cast<std::size_t>(d)].minutes < longest;
  }

  void phase_columns() {
    for (int ph = 0; ph < out_.shape.phases; ++ph) {
      const int w = first_week(ph);
      for (int d = 0; d < days(w); ++d) {
        for (int e = 0; e < exercises_; ++e) {
          if (!out_.kept[static_cast<std::size_t>(e)]) continue;
          const std::string why = barred_on(p_, e, w, d);
          const bool named = why.empty() ? false : is_named(e);
          if (!why.empty() && !named) continue;
          double worth = 0;
          for (int o = 0; o < weeks_; ++o) {
            if (phase(o) == ph && column_for_week(o, d)) worth += exercise(e).preference;
          }
          const int y = out_.mip.add_column(name_of("y", ph, d, e), 0, 1, worth, true);
          out_.y[{ph, d, e}] = y;
          if (!why.empty())
            out_.mip.add_row(name_of("Rbar", ph, d, e), -kNoLimit, 0, {{y, 1}},
                             out_.mip.add_rule(words::barred(p_, e, w, d)));
        }
        for (int k = 0; k < kMuscleCount; ++k) {
          const MuscleRule& rule = p_.muscles[static_cast<std::size_t>(k)];
          if (rule.recovery_hours <= 24 && rule.least_session <= 0) continue;
          bool any = false;
          for (int e = 0; e < exercises_; ++e)
            any = any || (share(e, k) >= kDirect && column_at(out_.y, ph, d, e) >= 0);
          if (any) out_.u[{ph, d, k}] = out_.mip.add_column(name_of("u", ph, d, k), 0, 1, 0, true);
        }
      }
    }
  }
  // Preference is paid where y itself says that the exercise is done.
  bool column_for_week(int w, int d) const { return !may_drop(w, d) && !closed(w, d); }
  bool is_named(int e) const {
    const auto is = [&](const auto& rule) { return rule.exercise == e; };
    return std::any_of(p_.must.begin(), p_.must.end(), is) || std::any_of(p_.fixed.begin(), p_.fixed.end(), is) ||
           std::any_of(p_.tests.begin(), p_.tests.end(), is);
  }

  void week_columns(int w, int n) {
    for (int d = 0; d < days(w); ++d) {
      if (closed(w, d)) continue;
      for (int e = 0; e < exercises_; ++e) {
        const int y = column_at(out_.y, phase(w), d, e);
        if (y < 0) continue;
        const BlockExercise& ex = exercise(e);
        if (may_drop(w, d)) {
          const int v = out_.mip.add_column(name_of("v", w, d, e), 0, 1, n * ex.preference, true);
          out_.v[{w, d, e}] = v;
          out_.mip.add_row(name_of("Lvy", w, d, e), -kNoLimit, 0, {{v, 1}, {y, -1}});
        }
        for (std::size_t m = 0; m < ex.modes.size(); ++m) {
          if (!always_allowed(p_, out_.shape, e, static_cast<int>(m), w)) continue;
          const BlockMode& mode = ex.modes[m];
          const int s = out_.mip.add_column(name_of("s", w, d, e, static_cast<int>(m)), 0,
                                            mode.reserve == 0 ? 1 : ex.most_sets, -n * p_.price * mode.fatigue, true);
          out_.s[{w, d, e, static_cast<int>(m)}] = s;
          if (mode.reserve == 0)
            out_.mip.add_row(name_of("Lfail", w, d, e), -kNoLimit, 0, {{s, 1}, {failure_day(w, d, e), -1}});
        }
      }
      if (p_.alternate_saves > 0) out_.a[{w, d}] = out_.mip.add_column(name_of("a", w, d), 0, 40, 0, false);
    }
  }
  int failure_day(int w, int d, int e) {
    int& f = out_.f.try_emplace({phase(w), d, e}, -1).first->second;
    if (f < 0) f = out_.mip.add_column(name_of("f", phase(w), d, e), 0, 1, 0, true);
    return f;
  }

  // Sets that go to failure in some only of the weeks with the same sets.
  void to_failure(int w, int n) {
    for (int e = 0; e < exercises_; ++e) {
      const BlockExercise& ex = exercise(e);
      for (std::size_t m = 0; m < ex.modes.size(); ++m) {
        const int failure = static_cast<int>(m);
        if (ex.modes[m].reserve > 0 || !mode_allowed(p_, out_.shape, e, failure, w) ||
            always_allowed(p_, out_.shape, e, failure, base(w)))
          continue;
        for (int d = 0; d < days(w); ++d) {
          std::vector<MipTerm> one;
          for (std::size_t from = 0; from < ex.modes.size(); ++from) {
            const auto s = out_.s.find({base(w), d, e, static_cast<int>(from)});
            if (s == out_.s.end() || ex.modes[from].heavy != ex.modes[m].heavy) continue;
            const int c = out_.mip.add_column(name_of("c", w, d, e, static_cast<int>(from)), 0, 1,
                                              -n * p_.price * (ex.modes[m].fatigue - ex.modes[from].fatigue), true);
            out_.c[{w, d, e, static_cast<int>(from)}] = c;
            out_.mip.add_row(name_of("Lconv", w, d, e, static_cast<int>(from)), -kNoLimit, 0,
                             {{c, 1}, {s->second, -1}});
            one.push_back({c, 1});
          }
          if (one.empty()) continue;
          one.push_back({failure_day(w, d, e), -1});
          out_.mip.add_row(name_of("Lfail", w, d, e), -kNoLimit, 0, one);
        }
      }
    }
  }

  void curve_columns(int w, int n) {
    const auto chords = [&](const char* name, int k, const std::vector<double>& knots, double (*curve)(double),
                            double weight) {
      std::vector<int> columns;
      for (std::size_t i = 1; i < knots.size(); ++i) {
        const double slope = (curve(knots[i]) - curve(knots[i - 1])) / (knots[i] - knots[i - 1]);
        columns.push_back(out_.mip.add_column(name_of(name, w, k, static_cast<int>(i)), 0, knots[i] - knots[i - 1],
                                              n * weight * slope, false));
      }
      return columns;
    };
    for (int k = 0; k < kMuscleCount; ++k) {
      const double weight = p_.muscles[static_cast<std::size_t>(k)].weight;
      if (weight > 0) out_.q[{w, k}] = chords("q", k, growth_knots(), weekly_growth, weight);
    }
    for (std::size_t l = 0; l < p_.lifts.size(); ++l) {
      out_.h[{w, static_cast<int>(l)}] =
          chords("h", static_cast<int>(l), strength_knots(), weekly_strength, p_.lifts[l].weight);
    }
  }

  void phase_rows() {
    for (int ph = 0; ph < out_.shape.phases; ++ph) {
      const int w = first_week(ph);
      for (int e = 0; e < exercises_; ++e) {
        std::vector<MipTerm> terms, failures;
        for (int d = 0; d < days(w); ++d) {
          if (const int y = column_at(out_.y, ph, d, e); y >= 0) terms.push_back({y, 1});
          if (const int f = column_at(out_.f, ph, d, e); f >= 0) failures.push_back({f, 1});
        }
        if (static_cast<int>(terms.size()) > exercise(e).most_days)
          out_.mip.add_row(name_of("Rdays", ph, e), -kNoLimit, exercise(e).most_days, terms,
                           out_.mip.add_rule(words::most_days(exercise(e))));
        if (failures.size() > 1) out_.mip.add_row(name_of("Lonefail", ph, e), -kNoLimit, 1, failures);
      }
      for (int d = 0; d < days(w); ++d) {
        std::vector<MipTerm> all;
        for (int e = 0; e < exercises_; ++e) {
          if (const int y = column_at(out_.y, ph, d, e); y >= 0) all.push_back({y, 1});
        }
        const int most = week(w).days[static_cast<std::size_t>(d)].most_exercises;
        if (static_cast<int>(all.size()) > most)
          out_.mip.add_row(name_of("Rmany", ph, d), -kNoLimit, most, all,
                           out_.mip.add_rule(words::most_exercises(most)));
        for (int k = 0; k < kMuscleCount; ++k) {
          const int u = column_at(out_.u, ph, d, k);
          if (u < 0) continue;
          std::vector<MipTerm> direct{{u, 1}};
          for (int e = 0; e < exercises_; ++e) {
            const int y = column_at(out_.y, ph, d, e);
            if (y < 0 || share(e, k) < kDirect) continue;
            out_.mip.add_row(name_of("Ldir", ph, d, k, e), -kNoLimit, 0, {{y, 1}, {u, -1}});
            direct.push_back({y, -1});
          }
          if (p_.muscles[static_cast<std::size_t>(k)].least_session > 0)
            out_.mip.add_row(name_of("Lany", ph, d, k), -kNoLimit, 0, direct);
        }
      }
    }
  }

  // No two sessions that train a muscle directly within its recovery: one row for every window of days.
  void recovery() {
    struct Session {
      Date date;
      int phase, day;
    };
    std::vector<Session> sessions;
    for (int w = 0; w < weeks_; ++w) {
      for (int d = 0; d < days(w); ++d) {
        if (!closed(w, d)) sessions.push_back({week(w).days[static_cast<std::size_t>(d)].date, phase(w), d});
      }
    }
    std::sort(sessions.begin(), sessions.end(), [](const Session& x, const Session& y) { return x.date < y.date; });
    for (int k = 0; k < kMuscleCount; ++k) {
      const int window = (p_.muscles[static_cast<std::size_t>(k)].recovery_hours + 23) / 24;
      if (window <= 1) continue;
      std::set<std::set<int>> seen;
      for (std::size_t i = 0; i < sessions.size(); ++i) {
        std::set<int> columns;
        for (std::size_t j = i; j < sessions.size() && sessions[j].date - sessions[i].date < window; ++j) {
          if (const int u = column_at(out_.u, sessions[j].phase, sessions[j].day, k); u >= 0) columns.insert(u);
        }
        if (columns.size() > 1) seen.insert(columns);
      }
      int number = 0;
      for (const auto& columns : seen) {
        const bool inside = std::any_of(seen.begin(), seen.end(), [&](const std::set<int>& o) {
          return o.size() > columns.size() && std::includes(o.begin(), o.end(), columns.begin(), columns.end());
        });
        if (inside) continue;
        std::vector<MipTerm> terms;
        for (int c : columns) terms.push_back({c, 1});
        out_.mip.add_row(name_of("Rrest", k, number++), -kNoLimit, 1, terms,
                         out_.mip.add_rule(words::recovery(p_, static_cast<Muscle>(k))));
      }
    }
  }

  // Usual weeks with tighter limits have a part of a looser one's sets.
  void part_rows() {
    for (const auto& [w, n] : same_) {
      const int whole = out_.shape.part[static_cast<std::size_t>(w)];
      if (whole < 0) continue;
      for (int d = 0; d < days(w); ++d) {
        for (int e = 0; e < exercises_; ++e) {
          std::vector<MipTerm> terms;
          for (std::size_t m = 0; m < exercise(e).modes.size(); ++m) {
            for (const auto& [v, factor] : {std::pair(w, 1.0), std::pair(whole, -1.0)}) {
              if (const auto s = out_.s.find({v, d, e, static_cast<int>(m)}); s != out_.s.end())
                terms.push_back({s->second, factor});
            }
          }
          if (!terms.empty()) out_.mip.add_row(name_of("Lpart", w, d, e), -kNoLimit, 0, terms);
        }
      }
    }
  }

  void week_rows(int w) {
    const BlockWeek& at = week(w);
    std::vector<int> weeks;  // that differ only in failure
    for (const auto& [v, n] : count_) {
      if (base(v) == w) weeks.push_back(v);
    }
    std::vector<std::vector<MipTerm>> muscle(kMuscleCount), stimulus(kMuscleCount), heavy(p_.lifts.size());
    for (int d = 0; d < days(w); ++d) {
      if (closed(w, d)) continue;
      std::vector<MipTerm> minutes, pressing, pulling;
      std::vector<std::vector<MipTerm>> session(kMuscleCount);
      for (int e = 0; e < exercises_; ++e) {
        const int on = done(w, d, e);
        if (on < 0) continue;
        const BlockExercise& ex = exercise(e);
        std::vector<MipTerm> sets;
        const int side = alternating_side(ex);
        for (std::size_t m = 0; m < ex.modes.size(); ++m) {
          const auto found = out_.s.find({w, d, e, static_cast<int>(m)});
          if (found == out_.s.end()) continue;
          const int s = found->second;
          const BlockMode& mode = ex.modes[m];
          sets.push_back({s, 1});
          minutes.push_back({s, mode.minutes});
          if (side == 1) pressing.push_back({s, -1});
          if (side == 2) pulling.push_back({s, -1});
          const double g = p_.stimulus[static_cast<std::size_t>(std::min(mode.reserve, kReserveSteps - 1))];
          for (int k = 0; k < kMuscleCount; ++k) {
            if (share(e, k) <= 0) continue;
            session[static_cast<std::size_t>(k)].push_back({s, share(e, k)});
            stimulus[static_cast<std::size_t>(k)].push_back({s, -share(e, k) * g});
          }
          for (std::size_t l = 0; l < p_.lifts.size(); ++l) {
            if (mode.heavy && p_.lifts[l].exercise == e) heavy[l].push_back({s, -1});
          }
        }
        minutes.push_back({on, ex.minutes});
        const int least = least_sets(w, d, e);
        std::vector<MipTerm> low = sets, high = sets;
        low.push_back({on, -static_cast<double>(least)});
        high.push_back({on, -static_cast<double>(ex.most_sets)});
        out_.mip.add_row(name_of("Lleast", w, d, e), 0, kNoLimit, low);
        out_.mip.add_row(name_of("Lmost", w, d, e), -kNoLimit, 0, high);
      }
      tests(w, d, minutes);
      if (const auto a = out_.a.find({w, d}); a != out_.a.end()) {
        minutes.push_back({a->second, -p_.alternate_saves});
        pressing.push_back({a->second, 1});
        pulling.push_back({a->second, 1});
        out_.mip.add_row(name_of("Lpress", w, d), -kNoLimit, 0, pressing);
        out_.mip.add_row(name_of("Lpull", w, d), -kNoLimit, 0, pulling);
      }
      out_.mip.add_row(name_of("Rmin", w, d), -kNoLimit, at.days[static_cast<std::size_t>(d)].minutes, minutes,
                       out_.mip.add_rule(words::minutes(p_, w, d)));
      // Where a set to failure takes longer than the one it stands for.
      for (int v : weeks) {
        std::vector<MipTerm> with = minutes;
        bool longer = false;
        for (auto c = out_.c.lower_bound({v, d, 0, 0}); c != out_.c.end(); ++c) {
          const auto& [cw, cd, e, m] = c->first;
          if (cw != v || cd != d) break;
          const double more = exercise(e).modes[failure_of(exercise(e))].minutes -
                              exercise(e).modes[static_cast<std::size_t>(m)].minutes;
          longer = longer || more > 0;
          with.push_back({c->second, more});
        }
        if (longer)
          out_.mip.add_row(name_of("Rminf", v, d), -kNoLimit, at.days[static_cast<std::size_t>(d)].minutes, with,
                           out_.mip.add_rule(words::minutes(p_, v, d)));
      }
      for (int k = 0; k < kMuscleCount; ++k) {
        auto& terms = session[static_cast<std::size_t>(k)];
        auto& whole = muscle[static_cast<std::size_t>(k)];
        whole.insert(whole.end(), terms.begin(), terms.end());
        const MuscleRule& rule = p_.muscles[static_cast<std::size_t>(k)];
        if (terms.empty()) continue;
        out_.mip.add_row(name_of("Rsess", w, d, k), -kNoLimit, rule.most_session, terms,
                         out_.mip.add_rule(words::most_session(p_, static_cast<Muscle>(k))));
        const int u = column_at(out_.u, phase(w), d, k);
        if (rule.least_session > 0 && u >= 0 && !may_drop(w, d)) {
          std::vector<MipTerm> low = terms;
          low.push_back({u, -rule.least_session});
          out_.mip.add_row(name_of("Rsesl", w, d, k), 0, kNoLimit, low,
                           out_.mip.add_rule(words::least_session(p_, static_cast<Muscle>(k))));
        }
      }
    }
    for (int k = 0; k < kMuscleCount; ++k) {
      const auto i = static_cast<std::size_t>(k);
      const MuscleRule& rule = p_.muscles[i];
      const double most = most_sets(p_, w, k), least = least_week_sets(p_, w, k);
      if (!muscle[i].empty())
        out_.mip.add_row(name_of("Rweek", w, k), -kNoLimit, most, muscle[i],
                         out_.mip.add_rule(words::most_week(p_, w, static_cast<Muscle>(k))));
      if (least > 0)
        out_.mip.add_row(name_of("Rlow", w, k), least, kNoLimit, muscle[i],
                         out_.mip.add_rule(words::least_week(p_, static_cast<Muscle>(k))));
      if (rule.weight > 0) {
        auto terms = stimulus[i];
        if (weeks.size() > 1) {
          const int z = out_.mip.add_column(name_of("z", w, k), 0, kNoLimit, 0, false);
          out_.z[{w, k}] = z;
          terms.push_back({z, 1});
          out_.mip.add_row(name_of("Lsum", w, k), -kNoLimit, 0, terms);
          terms = {{z, -1}};
        }
        for (int v : weeks) {
          auto own = terms;
          for (auto c = out_.c.lower_bound({v, 0, 0, 0}); c != out_.c.end() && std::get<0>(c->first) == v; ++c) {
            const int e = std::get<2>(c->first);
            const BlockMode& from = exercise(e).modes[static_cast<std::size_t>(std::get<3>(c->first))];
            const double more =
                p_.stimulus[0] - p_.stimulus[static_cast<std::size_t>(std::min(from.reserve, kReserveSteps - 1))];
            if (share(e, k) > 0) own.push_back({c->second, -share(e, k) * more});
          }
          for (int q : out_.q.at({v, k})) own.push_back({q, 1});
          out_.mip.add_row(name_of("Lstim", v, k), -kNoLimit, 0, own);
        }
      }
    }
    for (std::size_t l = 0; l < p_.lifts.size(); ++l) {
      auto terms = heavy[l];
      if (p_.lifts[l].least_heavy > 0 && (at.kind == WeekKind::usual || at.kind == WeekKind::travel)) {
        std::vector<MipTerm> low;
        for (const MipTerm& t : terms) low.push_back({t.column, 1});
        out_.mip.add_row(name_of("Rheavy", w, static_cast<int>(l)), p_.lifts[l].least_heavy, kNoLimit, low,
                         out_.mip.add_rule(words::least_heavy(p_, static_cast<int>(l))));
      }
      for (int v : weeks) {  // failure makes no set heavier
        auto own = terms;
        for (int h : out_.h.at({v, static_cast<int>(l)})) own.push_back({h, 1});
        out_.mip.add_row(name_of("Lheavy", v, static_cast<int>(l)), -kNoLimit, 0, own);
      }
    }
    for (std::size_t i = 0; i < p_.balance.size(); ++i) {
      const Balance& b = p_.balance[i];
      std::vector<MipTerm> terms;
      for (Muscle k : b.of) {
        for (const MipTerm& t : muscle[static_cast<std::size_t>(k)]) terms.push_back(t);
      }
      for (Muscle k : b.against) {
        for (const MipTerm& t : muscle[static_cast<std::size_t>(k)])
          terms.push_back({t.column, -b.most_ratio * t.factor});
      }
      out_.mip.add_row(name_of("Rbal", w, static_cast<int>(i)), -kNoLimit, 0, terms,
                       out_.mip.add_rule(words::balance(b)));
    }
    for (std::size_t i = 0; i < p_.must.size(); ++i) {
      const MustHave& m = p_.must[i];
      if (w < m.from_week || w > m.to_week) continue;
      std::vector<MipTerm> terms;
      for (int d = 0; d < days(w); ++d) {
        if (const int on = done(w, d, m.exercise); on >= 0 && !closed(w, d)) terms.push_back({on, 1});
      }
      out_.mip.add_row(name_of("Rmust", w, static_cast<int>(i)), m.least_days, kNoLimit, terms,
                       out_.mip.add_rule(words::must(p_, m)));
    }
    for (std::size_t i = 0; i < p_.fixed.size(); ++i) fixed(w, static_cast<int>(i));
  }

  // Special weeks have their share of the mean of the ordinary weeks.
  void share_rows() {
    const std::vector<int> ordinary = ordinary_weeks(p_);
    if (ordinary.empty()) return;
    std::map<int, int> times;  // by week that stands for others: ordinary weeks it stands for
    for (int w : ordinary) ++times[base(w)];
    for (const auto& [w, n] : same_) {
      if (!of_ordinary(week(w))) continue;
      const double each = week(w).most_share / static_cast<double>(ordinary.size());
      std::vector<std::vector<MipTerm>> terms(kMuscleCount);
      for (const auto& [key, s] : out_.s) {
        const auto& [v, d, e, m] = key;
        const auto time = times.find(v);
        if (v != w && time == times.end()) continue;
        if (sets_fixed(p_, w, e, weekday(week(v).days[static_cast<std::size_t>(d)].date))) continue;
        const double factor = v == w ? 1 : -each * time->second;
        for (int k = 0; k < kMuscleCount; ++k) {
          if (share(e, k) > 0) terms[static_cast<std::size_t>(k)].push_back({s, factor * share(e, k)});
        }
      }
      for (int k = 0; k < kMuscleCount; ++k) {
        const auto muscle = static_cast<Muscle>(k);
        if (!share_counts(p_, muscle)) continue;
        double behind = 0;
        for (int o : ordinary) behind += each * week(o).behind[static_cast<std::size_t>(k)];
        const auto& of = terms[static_cast<std::size_t>(k)];
        if (!of.empty())
          out_.mip.add_row(name_of("Rshare", w, k), -kNoLimit, behind, of,
                           out_.mip.add_rule(words::week_share(p_, w, muscle)));
      }
    }
  }

  int least_sets(int w, int d, int e) const { return may_drop(w, d) ? 1 : exercise(e).least_sets; }

  void tests(int w, int d, std::vector<MipTerm>& minutes) {
    for (std::size_t i = 0; i < p_.tests.size(); ++i) {
      const BlockTest& test = p_.tests[i];
      if (test.week != w) continue;
      const int on = done(w, d, test.exercise);
      if (on < 0) continue;
      const int t = out_.mip.add_column(name_of("t", w, d, test.exercise), 0, 1, 0, true);
      out_.t[{w, d, test.exercise}] = t;
      out_.mip.add_row(name_of("Lton", w, d, test.exercise), -kNoLimit, 0, {{t, 1}, {on, -1}});
      minutes.push_back({t, exercise(test.exercise).test_minutes});
      const int rule = out_.mip.add_rule(words::test(p_, test));
      // On the first day it is done: a day counts when it is done there and on no earlier day.
      std::vector<MipTerm> so_far{{on, 1}};
      for (const auto& [key, column] : out_.t) {
        if (std::get<0>(key) == w && std::get<2>(key) == test.exercise) so_far.push_back({column, -1});
      }
      out_.mip.add_row(name_of("Rtfirst", w, d, test.exercise), -kNoLimit, 0, so_far, rule);
      bool last = true;
      for (int later = d + 1; later < days(w); ++later)
        last = last && (closed(w, later) || done(w, later, test.exercise) < 0);
      if (last) {
        std::vector<MipTerm> one;
        for (const auto& [key, column] : out_.t) {
          if (std::get<0>(key) == w && std::get<2>(key) == test.exercise) one.push_back({column, 1});
        }
        out_.mip.add_row(name_of("Rtone", w, test.exercise), 1, 1, one, rule);
      }
    }
  }

  void fixed(int w, int i) {
    const FixedPart& part = p_.fixed[static_cast<std::size_t>(i)];
    if (w < part.from_week || w > part.to_week) return;
    const int rule = out_.mip.add_rule(words::fixed(p_, part));
    int day = -1;
    for (int d = 0; d < days(w); ++d) {
      if (weekday(week(w).days[static_cast<std::size_t>(d)].date) == part.weekday && !closed(w, d)) day = d;
    }
    const int on = day < 0 ? -1 : done(w, day, part.exercise);
    if (on < 0) {  // never possible: a row that says so
      out_.mip.add_row(name_of("Rfix", w, i), 1, kNoLimit, {}, rule);
      return;
    }
    out_.mip.add_row(name_of("Rfix", w, i), 1, kNoLimit, {{on, 1}}, rule);
    std::vector<MipTerm> sets, others;
    const auto& modes = exercise(part.exercise).modes;
    for (std::size_t m = 0; m < modes.size(); ++m) {
      const auto found = out_.s.find({w, day, part.exercise, static_cast<int>(m)});
      if (found == out_.s.end()) continue;
      sets.push_back({found->second, 1});
      if (part.reserve && modes[m].reserve != *part.reserve) others.push_back({found->second, 1});
    }
    if (part.reserve && *part.reserve > 0) {  // none of them to failure
      for (const auto& [key, c] : out_.c) {
        const auto& [v, d, e, m] = key;
        if (base(v) == w && d == day && e == part.exercise) others.push_back({c, 1});
      }
    }
    if (part.sets) out_.mip.add_row(name_of("Rfixs", w, i), *part.sets, *part.sets, sets, rule);
    if (!others.empty()) out_.mip.add_row(name_of("Rfixr", w, i), -kNoLimit, 0, others, rule);
  }

  void nearness() {
    for (const auto& [w, n] : same_) {
      if (w >= static_cast<int>(p_.near->weeks.size())) continue;
      const auto& old = p_.near->weeks[static_cast<std::size_t>(w)];
      for (int d = 0; d < days(w) && d < static_cast<int>(old.size()); ++d) {
        for (const PlannedExercise& was : old[static_cast<std::size_t>(d)].items) {
          const bool open = !closed(w, d) && done(w, d, was.exercise) >= 0;
          out_.base -= n * (p_.price_moved + (open ? 0 : p_.price_set * was.total()));
        }
        if (closed(w, d)) continue;
        for (int e = 0; e < exercises_; ++e) {
          const int on = done(w, d, e);
          if (on < 0) continue;
          const PlannedExercise* was = find_item(old[static_cast<std::size_t>(d)], e);
          out_.mip.columns[static_cast<std::size_t>(on)].worth += was ? n * p_.price_moved : -n * p_.price_moved;
          std::vector<MipTerm> more, fewer;
          const int change = out_.mip.add_column(name_of("c", w, d, e), 0, 40, -n * p_.price_set, false);
          out_.change[{w, d, e}] = change;
          for (std::size_t m = 0; m < exercise(e).modes.size(); ++m) {
            const auto found = out_.s.find({w, d, e, static_cast<int>(m)});
            if (found == out_.s.end()) continue;
            more.push_back({found->second, 1});
            fewer.push_back({found->second, -1});
          }
          more.push_back({change, -1});
          fewer.push_back({change, -1});
          const double sets = was ? was->total() : 0;
          out_.mip.add_row(name_of("Lmore", w, d, e), -kNoLimit, sets, more);
          if (was) out_.mip.add_row(name_of("Lfewer", w, d, e), -kNoLimit, -sets, fewer);
        }
      }
    }
  }

  const BlockProblem& p_;
  BlockModel out_;
  int weeks_ = 0, exercises_ = 0;
  // By week that stands for others, like it or with the same sets: how many it stands for, itself included.
  std::map<int, int> count_, same_;
};

}  // namespace

std::vector<bool> considered(const BlockProblem& p) {
  std::vector<bool> named(p.exercises.size(), false);
  const auto name = [&](int e) { named[static_cast<std::size_t>(e)] = true; };
  for (const MustHave& m : p.must) name(m.exercise);
  for (const FixedPart& f : p.fixed) name(f.exercise);
  for (const LiftGoal& l : p.lifts) name(l.exercise);
  for (const BlockTest& t : p.tests) name(t.exercise);
  if (p.near) {
    for (const auto& week : p.near->weeks) {
      for (const PlannedDay& day : week) {
        for (const PlannedExercise& item : day.items) name(item.exercise);
      }
    }
  }
  std::vector<bool> kept = named;
  std::map<std::string, std::vector<int>> alike;
  for (std::size_t e = 0; e < p.exercises.size(); ++e) {
    bool ever = false;
    std::string key;
    const auto put = [&](long value) {
      key += std::to_string(value);
      key += ',';
    };
    for (double share : p.exercises[e].exercise.involvement) put(std::lround(share * 100));
    put(static_cast<int>(p.exercises[e].exercise.cls));
    put(p.exercises[e].failure_every_days);
    for (const BlockMode& m : p.exercises[e].modes) {
      put(m.reserve);
      put(m.heavy ? 1 : 0);
      put(m.least_reps);
    }
    for (std::size_t w = 0; w < p.weeks.size(); ++w) {
      for (std::size_t d = 0; d < p.weeks[w].days.size(); ++d) {
        const bool open = barred_on(p, static_cast<int>(e), static_cast<int>(w), static_cast<int>(d)).empty();
        key += open ? '1' : '0';
        ever = ever || open;
      }
    }
    if (!named[e] && ever) alike[key].push_back(static_cast<int>(e));
  }
  for (auto& [key, group] : alike) {
    const auto cost = [&](int i) {
      const BlockExercise& e = p.exercises[static_cast<std::size_t>(i)];
      return p.price * 3 * e.modes.front().fatigue + 0.004 * (e.minutes + 3 * e.modes.front().minutes) - e.preference;
    };
    std::sort(group.begin(), group.end(), [&](int x, int y) { return std::pair(cost(x), x) < std::pair(cost(y), y); });
    for (std::size_t i = 0; i < group.size() && i < kAlikeKept; ++i) kept[static_cast<std::size_t>(group[i])] = true;
  }
  return kept;
}

BlockModel write_model(const BlockProblem& problem) { return Writing(problem).write(); }

BlockPlan plan_at(const BlockProblem& p, const BlockModel& model, const std::vector<double>& at) {
  BlockPlan plan;
  for (std::size_t w = 0; w < p.weeks.size(); ++w) {
    plan.weeks.emplace_back();
    const int from = model.shape.base[w];
    for (std::size_t d = 0; d < p.weeks[w].days.size(); ++d) {
      PlannedDay day;
      for (std::size_t e = 0; e < p.exercises.size(); ++e) {
        PlannedExercise item;
        item.exercise = static_cast<int>(e);
        item.sets.assign(p.exercises[e].modes.size(), 0);
        for (std::size_t m = 0; m < item.sets.size(); ++m) {
          const auto found = model.s.find({from, static_cast<int>(d), item.exercise, static_cast<int>(m)});
          if (found != model.s.end())
            item.sets[m] = static_cast<int>(std::lround(at[static_cast<std::size_t>(found->second)]));
        }
        for (std::size_t m = 0; m < item.sets.size(); ++m) {
          const auto found =
              model.c.find({model.shape.like[w], static_cast<int>(d), item.exercise, static_cast<int>(m)});
          if (found == model.c.end() || at[static_cast<std::size_t>(found->second)] < 0.5) continue;
          --item.sets[m];
          ++item.sets[failure_of(p.exercises[e])];
        }
        const int t = column_at(model.t, from, static_cast<int>(d), item.exercise);
        item.test = t >= 0 && at[static_cast<std::size_t>(t)] > 0.5;
        if (item.total() > 0) day.items.push_back(std::move(item));
      }
      plan.weeks.back().push_back(std::move(day));
    }
  }
  put_in_order(p, plan);
  return plan;
}

Result<std::vector<double>> point_of(const BlockProblem& p, const BlockModel& model, const BlockPlan& plan) {
  std::vector<double> at(model.mip.columns.size(), 0);
  const auto set = [&](int column, double value) { at[static_cast<std::size_t>(column)] = value; };
  const PlanWorth worth = worth_of(p, plan);
  const auto sets_in = [&](std::size_t w, std::size_t d, int e, std::size_t m) {
    const PlannedExercise* item = find_item(plan.weeks[w][d], e);
    return item && m < item->sets.size() ? item->sets[m] : 0;
  };
  for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
    const int from = model.shape.base[w], own = model.shape.like[w], ph = model.shape.phase[w];
    if (own != static_cast<int>(w)) continue;
    for (std::size_t d = 0; d < plan.weeks[w].size(); ++d) {
      const int day = static_cast<int>(d);
      int pressing = 0, pulling = 0;
      for (const PlannedExercise& item : plan.weeks[w][d].items) {
        const BlockExercise& ex = p.exercises[static_cast<std::size_t>(item.exercise)];
        const int y = column_at(model.y, ph, day, item.exercise);
        if (y < 0) return fail(Code::invalid_input, ex.exercise.name + " is not offered on that day");
        set(y, 1);
        if (const int v = column_at(model.v, from, day, item.exercise); v >= 0) set(v, 1);
        // Sets to failure that other weeks with the same sets may not have stand for others.
        const std::size_t failure = failure_of(ex);
        std::size_t plain = w;
        if (failure < ex.modes.size() &&
            !always_allowed(p, model.shape, item.exercise, static_cast<int>(failure), from)) {
          for (std::size_t o = 0; o < plan.weeks.size(); ++o) {
            if (model.shape.base[o] == from &&
                !mode_allowed(p, model.shape, item.exercise, static_cast<int>(failure), static_cast<int>(o)))
              plain = o;
          }
        }
        for (std::size_t m = 0; m < ex.modes.size(); ++m) {
          const int n = sets_in(plain, d, item.exercise, m);
          const auto found = model.s.find({from, day, item.exercise, static_cast<int>(m)});
          if (n > 0 && found == model.s.end())
            return fail(Code::invalid_input, ex.exercise.name + ": that mode is not offered");
          if (found != model.s.end()) set(found->second, n);
          const int fewer = n - item.sets[m];
          if (fewer == 0 || (plain != w && m == failure)) continue;
          const auto instead = model.c.find({own, day, item.exercise, static_cast<int>(m)});
          if (instead == model.c.end() || fewer != 1)
            return fail(Code::invalid_input, ex.exercise.name + " has other sets in weeks that are alike");
          set(instead->second, 1);
        }
        if (failure < ex.modes.size() && item.sets[failure] > 0) {
          if (const int f = column_at(model.f, ph, day, item.exercise); f >= 0) set(f, 1);
        }
        if (const int t = column_at(model.t, from, day, item.exercise); t >= 0 && item.test) set(t, 1);
        for (int k = 0; k < kMuscleCount; ++k) {
          const int u = column_at(model.u, ph, day, k);
          if (u >= 0 && ex.exercise.involvement[static_cast<std::size_t>(k)] >= kDirect) set(u, 1);
        }
        if (alternating_side(ex) == 1) pressing += item.total();
        if (alternating_side(ex) == 2) pulling += item.total();
      }
      if (const auto a = model.a.find({from, day}); a != model.a.end())
        set(a->second, std::min({pressing, pulling, 40}));
    }
    for (int k = 0; k < kMuscleCount; ++k) {
      const auto z = model.z.find({from, k});
      if (z == model.z.end() || own != from) continue;
      double sum = 0;
      for (auto s = model.s.lower_bound({from, 0, 0, 0}); s != model.s.end() && std::get<0>(s->first) == from; ++s) {
        const BlockExercise& ex = p.exercises[static_cast<std::size_t>(std::get<2>(s->first))];
        const int reserve = ex.modes[static_cast<std::size_t>(std::get<3>(s->first))].reserve;
        sum += at[static_cast<std::size_t>(s->second)] * ex.exercise.involvement[static_cast<std::size_t>(k)] *
               p.stimulus[static_cast<std::size_t>(std::min(reserve, kReserveSteps - 1))];
      }
      set(z->second, sum);
    }
    const auto fill = [&](const std::vector<int>& columns, double sum) {
      for (int c : columns) {
        const double take = std::min(sum, model.mip.columns[static_cast<std::size_t>(c)].high);
        set(c, std::max(0.0, take));
        sum -= take;
      }
    };
    for (int k = 0; k < kMuscleCount; ++k) {
      if (const auto q = model.q.find({own, k}); q != model.q.end())
        fill(q->second, worth.weeks[w].stimulus[static_cast<std::size_t>(k)]);
    }
    for (std::size_t l = 0; l < p.lifts.size(); ++l) {
      if (const auto h = model.h.find({own, static_cast<int>(l)}); h != model.h.end())
        fill(h->second, worth.weeks[w].heavy[l]);
    }
  }
  for (const auto& [key, column] : model.change) {
    const auto& [w, d, e] = key;
    const auto sets_of = [&, day = static_cast<std::size_t>(d), ex = e](const BlockPlan& of, int week) {
      const PlannedExercise* item = find_item(of.weeks[static_cast<std::size_t>(week)][day], ex);
      return item ? item->total() : 0;
    };
    set(column, std::abs(sets_of(plan, w) - sets_of(*p.near, w)));
  }
  BlockPlan same = plan;
  put_in_order(p, same);
  if (plan_at(p, model, at) != same)
    return fail(Code::invalid_input, "weeks that are alike to the programme have other sets");
  return at;
}

}  // namespace ullage::planning
