#include "engine/planning/block_rules.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "engine/planning/block_words.h"

namespace ullage::planning {
namespace {

constexpr double kSlack = 1e-6;

}  // namespace

std::vector<Breach> breaches_of(const BlockProblem& p, const BlockPlan& plan) {
  std::vector<Breach> out;
  const auto say = [&](int week, int day, std::string rule, std::string found) {
    out.push_back({week, day, std::move(rule), std::move(found)});
  };
  if (plan.weeks.size() != p.weeks.size()) {
    say(-1, -1, "a plan for every week", std::to_string(plan.weeks.size()) + " weeks");
    return out;
  }
  struct Trained {
    Date date;
    int week, day;
  };
  std::array<std::vector<Trained>, kMuscleCount> trained;
  std::vector<std::vector<Trained>> failures(p.exercises.size()), tests(p.exercises.size());

  for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
    const BlockWeek& week = p.weeks[w];
    const int at = static_cast<int>(w);
    if (plan.weeks[w].size() != week.days.size()) {
      say(at, -1, "a plan for every day", std::to_string(plan.weeks[w].size()) + " days");
      return out;
    }
    const bool full = week.kind == WeekKind::usual || week.kind == WeekKind::travel;
    std::array<double, kMuscleCount> sets_week{};
    std::vector<int> days_of(p.exercises.size(), 0);
    std::vector<double> heavy(p.lifts.size(), 0);
    for (std::size_t d = 0; d < plan.weeks[w].size(); ++d) {
      const PlannedDay& day = plan.weeks[w][d];
      const BlockDay& limits = week.days[d];
      const int on = static_cast<int>(d);
      if (day.items.empty()) continue;
      if (limits.closed) say(at, on, date_text(limits.date) + " is closed", "exercises are planned");
      if (static_cast<int>(day.items.size()) > limits.most_exercises)
        say(at, on, words::most_exercises(limits.most_exercises), std::to_string(day.items.size()));
      double longest = 0;
      for (const BlockWeek& other : p.weeks) {
        for (const BlockDay& o : other.days) {
          if (weekday(o.date) == weekday(limits.date)) longest = std::max(longest, o.minutes);
        }
      }
      const bool short_day = !full || limits.minutes < longest;
      std::array<double, kMuscleCount> sets_day{};
      std::array<bool, kMuscleCount> direct{};
      double minutes = 0;
      int pressing = 0, pulling = 0;
      std::vector<int> place_in_order(p.exercises.size(), -1);
      for (std::size_t i = 0; i < day.items.size(); ++i) {
        const PlannedExercise& item = day.items[i];
        const auto e = static_cast<std::size_t>(item.exercise);
        const BlockExercise& ex = p.exercises[e];
        if (place_in_order[e] >= 0) say(at, on, ex.exercise.name + " once a day", "twice");
        place_in_order[e] = static_cast<int>(i);
        ++days_of[e];
        if (!week.barred[e].empty())
          say(at, on, ex.exercise.name + " is out: " + week.barred[e], "planned");
        else if (!p.no_equipment[static_cast<std::size_t>(limits.place)][e].empty())
          say(at, on, ex.exercise.name + " is out: " + p.no_equipment[static_cast<std::size_t>(limits.place)][e],
              "planned");
        int total = 0;
        minutes += ex.minutes + (item.test ? ex.test_minutes : 0);
        for (std::size_t m = 0; m < item.sets.size(); ++m) {
          const int n = item.sets[m];
          if (n == 0) continue;
          if (n < 0 || m >= ex.modes.size()) {
            say(at, on, ex.exercise.name + ": sets of a known kind", "none such");
            continue;
          }
          const BlockMode& mode = ex.modes[m];
          total += n;
          minutes += n * mode.minutes;
          if (mode.reserve < week.least_reserve)
            say(at, on,
                "at least " + std::to_string(week.least_reserve) + " in reserve in week " + std::to_string(at + 1),
                ex.exercise.name + " with " + std::to_string(mode.reserve));
          if (mode.reserve == 0) {
            if (n > 1) say(at, on, ex.exercise.name + ": only the last set may go to failure", std::to_string(n));
            if (ex.failure_every_days <= 0) say(at, on, ex.exercise.name + ": no sets to failure", "one");
            if (!week.failure) say(at, on, "no sets to failure in week " + std::to_string(at + 1), ex.exercise.name);
            failures[e].push_back({limits.date, at, on});
          }
          for (std::size_t k = 0; k < kMuscleCount; ++k) sets_day[k] += n * ex.exercise.involvement[k];
          for (std::size_t l = 0; l < p.lifts.size(); ++l) {
            if (mode.heavy && p.lifts[l].exercise == item.exercise) heavy[l] += n;
          }
        }
        if (total < (short_day ? 1 : ex.least_sets) || total > ex.most_sets)
          say(at, on,
              ex.exercise.name + ": " + std::to_string(ex.least_sets) + " to " + std::to_string(ex.most_sets) +
                  " sets a day",
              std::to_string(total));
        if (item.test) tests[e].push_back({limits.date, at, on});
        const int side = alternating_side(ex);
        pressing += side == 1 ? total : 0;
        pulling += side == 2 ? total : 0;
        for (std::size_t k = 0; k < kMuscleCount; ++k) direct[k] = direct[k] || ex.exercise.involvement[k] >= kDirect;
      }
      minutes -= p.alternate_saves * std::min(pressing, pulling);
      if (minutes > limits.minutes + kSlack) say(at, on, words::minutes(p, at, on), words::short_number(minutes));
      for (const InOrder& rule : p.order) {
        const int first = place_in_order[static_cast<std::size_t>(rule.first)];
        const int then = place_in_order[static_cast<std::size_t>(rule.then)];
        if (first >= 0 && then >= 0 && first > then)
          say(at, on,
              p.exercises[static_cast<std::size_t>(rule.first)].exercise.name + " before " +
                  p.exercises[static_cast<std::size_t>(rule.then)].exercise.name,
              "after it");
      }
      for (std::size_t k = 0; k < kMuscleCount; ++k) {
        sets_week[k] += sets_day[k];
        if (direct[k]) trained[k].push_back({limits.date, at, on});
        if (sets_day[k] > p.muscles[k].most_session + kSlack)
          say(at, on, words::most_session(p, static_cast<Muscle>(k)), words::short_number(sets_day[k]));
        if (direct[k] && !short_day && sets_day[k] < p.muscles[k].least_session - kSlack)
          say(at, on, words::least_session(p, static_cast<Muscle>(k)), words::short_number(sets_day[k]));
      }
    }
    for (std::size_t k = 0; k < kMuscleCount; ++k) {
      const int muscle = static_cast<int>(k);
      if (sets_week[k] > most_sets(p, at, muscle) + kSlack)
        say(at, -1, words::most_week(p, at, static_cast<Muscle>(k)), words::short_number(sets_week[k]));
      if (sets_week[k] < least_week_sets(p, at, muscle) - kSlack)
        say(at, -1, words::least_week(p, static_cast<Muscle>(k)), words::short_number(sets_week[k]));
    }
    for (std::size_t e = 0; e < p.exercises.size(); ++e) {
      if (days_of[e] > p.exercises[e].most_days)
        say(at, -1, words::most_days(p.exercises[e]), std::to_string(days_of[e]));
    }
    for (const MustHave& m : p.must) {
      if (at >= m.from_week && at <= m.to_week && days_of[static_cast<std::size_t>(m.exercise)] < m.least_days)
        say(at, -1, words::must(p, m), std::to_string(days_of[static_cast<std::size_t>(m.exercise)]));
    }
    for (const FixedPart& f : p.fixed) {
      if (at < f.from_week || at > f.to_week) continue;
      const PlannedExercise* found = nullptr;
      for (std::size_t d = 0; d < week.days.size(); ++d) {
        if (weekday(week.days[d].date) != f.weekday) continue;
        for (const PlannedExercise& item : plan.weeks[w][d].items) {
          if (item.exercise == f.exercise) found = &item;
        }
      }
      bool kept = found != nullptr && (!f.sets || found->total() == *f.sets);
      if (found && f.reserve) {
        const auto& modes = p.exercises[static_cast<std::size_t>(f.exercise)].modes;
        for (std::size_t m = 0; m < found->sets.size(); ++m)
          kept = kept && (found->sets[m] == 0 || modes[m].reserve == *f.reserve);
      }
      if (!kept) say(at, -1, words::fixed(p, f), found ? "otherwise" : "not planned");
    }
    for (const Balance& b : p.balance) {
      double of = 0, against = 0;
      for (Muscle k : b.of) of += sets_week[static_cast<std::size_t>(k)];
      for (Muscle k : b.against) against += sets_week[static_cast<std::size_t>(k)];
      if (of > b.most_ratio * against + kSlack)
        say(at, -1, words::balance(b), words::short_number(of) + " to " + words::short_number(against));
    }
    for (std::size_t l = 0; l < p.lifts.size(); ++l) {
      if (full && heavy[l] < p.lifts[l].least_heavy - kSlack)
        say(at, -1, words::least_heavy(p, static_cast<int>(l)), words::short_number(heavy[l]));
    }
    for (const BlockTest& t : p.tests) {
      if (t.week != at) continue;
      int first = -1, tested = -1, count = 0;
      for (std::size_t d = 0; d < plan.weeks[w].size(); ++d) {
        for (const PlannedExercise& item : plan.weeks[w][d].items) {
          if (item.exercise != t.exercise) continue;
          if (first < 0) first = static_cast<int>(d);
          if (item.test) tested = static_cast<int>(d), ++count;
        }
      }
      if (count != 1 || tested != first)
        say(at, -1, words::test(p, t), count == 0 ? "no test" : "not on its first day");
    }
  }
  // Special weeks beside the mean of the ordinary ones.
  const std::vector<int> ordinary = ordinary_weeks(p);
  for (std::size_t w = 0; w < plan.weeks.size() && !ordinary.empty(); ++w) {
    if (!of_ordinary(p.weeks[w])) continue;
    for (std::size_t k = 0; k < kMuscleCount; ++k) {
      if (!share_counts(p, static_cast<Muscle>(k))) continue;
      const auto counted = [&](std::size_t v) {
        double sets = 0;
        for (std::size_t d = 0; d < plan.weeks[v].size(); ++d) {
          for (const PlannedExercise& item : plan.weeks[v][d].items) {
            if (sets_fixed(p, static_cast<int>(w), item.exercise, weekday(p.weeks[v].days[d].date))) continue;
            sets += item.total() * p.exercises[static_cast<std::size_t>(item.exercise)].exercise.involvement[k];
          }
        }
        return sets;
      };
      double mean = 0;
      for (int o : ordinary) {
        const auto v = static_cast<std::size_t>(o);
        mean += (counted(v) + p.weeks[v].behind[k]) / static_cast<double>(ordinary.size());
      }
      if (const double own = counted(w); own > p.weeks[w].most_share * mean + kSlack)
        say(static_cast<int>(w), -1, words::week_share(p, static_cast<int>(w), static_cast<Muscle>(k)),
            words::short_number(own) + " to " + words::short_number(mean));
    }
  }
  for (std::size_t k = 0; k < kMuscleCount; ++k) {
    for (std::size_t i = 1; i < trained[k].size(); ++i) {
      const int gap = trained[k][i].date - trained[k][i - 1].date;
      if (24 * gap < p.muscles[k].recovery_hours)
        say(trained[k][i].week, trained[k][i].day, words::recovery(p, static_cast<Muscle>(k)),
            std::to_string(24 * gap) + " h");
    }
  }
  for (std::size_t e = 0; e < p.exercises.size(); ++e) {
    const BlockExercise& ex = p.exercises[e];
    std::optional<Date> last = ex.last_failure;
    for (const Trained& f : failures[e]) {
      if (last && f.date - *last < ex.failure_every_days)
        say(f.week, f.day,
            ex.exercise.name + ": to failure at most every " + std::to_string(ex.failure_every_days) + " days",
            "after " + std::to_string(f.date - *last) + " days");
      last = f.date;
      for (std::size_t tested = 0; tested < tests.size(); ++tested) {
        if (overlap(ex.exercise, p.exercises[tested].exercise) < 0.5) continue;
        for (const Trained& t : tests[tested]) {
          const int before = t.date - f.date;
          if (before >= 0 && before < p.rest_days_before_test_failure)
            say(f.week, f.day,
                "no sets to failure within " + std::to_string(p.rest_days_before_test_failure) + " days of a test",
                ex.exercise.name + " " + std::to_string(before) + " days before");
        }
      }
    }
  }
  // An exercise stays for its phase: weeks that may not leave anything out have the same exercises day by day.
  if (p.exercises_stay) {
    const std::vector<int> phase = shape_of(p).phase;
    int stretch = 0;  // after a break the old exercises are planned again, but it is no fault to have others
    std::map<std::pair<int, std::size_t>, std::pair<int, std::vector<int>>> seen;
    for (std::size_t w = 0; w < plan.weeks.size(); ++w) {
      const BlockWeek& week = p.weeks[w];
      stretch += w > 0 && phase[w] != phase[w - 1] ? 1 : 0;
      if (week.kind != WeekKind::usual && week.kind != WeekKind::travel) continue;
      for (std::size_t d = 0; d < week.days.size(); ++d) {
        bool short_day = week.days[d].closed;
        for (std::size_t o = 0; o < p.weeks.size(); ++o)
          short_day = short_day || (phase[o] == phase[w] && p.weeks[o].days[d].minutes > week.days[d].minutes);
        if (short_day) continue;
        std::vector<int> exercises;
        for (const PlannedExercise& item : plan.weeks[w][d].items) exercises.push_back(item.exercise);
        std::sort(exercises.begin(), exercises.end());
        const auto [found, fresh] = seen.try_emplace({stretch, d}, static_cast<int>(w), exercises);
        if (!fresh && found->second.second != exercises)
          say(static_cast<int>(w), static_cast<int>(d), "the exercises of a day stay for a phase", "they change");
      }
    }
  }
  return out;
}

}  // namespace ullage::planning
