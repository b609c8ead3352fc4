#include "engine/planning/block_words.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace ullage::planning {

double most_sets(const BlockProblem& p, int week, int muscle) {
  const BlockWeek& w = p.weeks[static_cast<std::size_t>(week)];
  const auto k = static_cast<std::size_t>(muscle);
  double most = p.muscles[k].most_week * w.most_share;
  if (w.most[k] > 0) most = std::min(most, w.most[k]);
  return most;
}

double least_week_sets(const BlockProblem& p, int week, int muscle) {
  const BlockWeek& w = p.weeks[static_cast<std::size_t>(week)];
  if (w.kind != WeekKind::usual && w.kind != WeekKind::travel) return 0;
  // A week that is partly gone asks for its part.
  double open = 0;
  for (const BlockDay& day : w.days) open += day.closed ? 0 : 1;
  const double share = w.days.empty() ? 0 : open / static_cast<double>(w.days.size());
  return p.muscles[static_cast<std::size_t>(muscle)].least_week * std::min(1.0, w.most_share) * share;
}

std::vector<int> ordinary_weeks(const BlockProblem& p) {
  std::vector<int> out;
  for (std::size_t w = 0; w < p.weeks.size(); ++w) {
    const BlockWeek& week = p.weeks[w];
    if (week.kind != WeekKind::usual || week.most_share < 1 || week.days.empty()) continue;
    const bool whole = std::none_of(week.days.begin(), week.days.end(), [](const BlockDay& d) { return d.closed; });
    const bool known = std::any_of(week.behind.begin(), week.behind.end(), [](double sets) { return sets > 0; });
    if (whole || known) out.push_back(static_cast<int>(w));
  }
  return out;
}

bool of_ordinary(const BlockWeek& week) { return week.most_share < 1; }

bool share_counts(const BlockProblem& p, Muscle muscle) {
  const auto k = static_cast<std::size_t>(muscle);
  if (p.muscles[k].weight > 0) return true;
  return std::any_of(p.lifts.begin(), p.lifts.end(), [&](const LiftGoal& l) {
    return p.exercises[static_cast<std::size_t>(l.exercise)].exercise.involvement[k] >= kDirect;
  });
}

bool sets_fixed(const BlockProblem& p, int week, int exercise, int weekday) {
  return std::any_of(p.fixed.begin(), p.fixed.end(), [&](const FixedPart& f) {
    return f.sets && f.exercise == exercise && f.weekday == weekday && week >= f.from_week && week <= f.to_week;
  });
}

namespace words {
namespace {

const BlockExercise& exercise_at(const BlockProblem& p, int e) { return p.exercises[static_cast<std::size_t>(e)]; }
std::string weeks_text(const BlockProblem& p, int from, int to) {
  const int last = static_cast<int>(p.weeks.size()) - 1;
  if (from <= 0 && to >= last) return "";
  const int end = std::min(to, last);
  std::string out = from == end ? " in week " : " in weeks ";
  out += std::to_string(std::max(0, from) + 1);
  if (from != end) out.append(" to ").append(std::to_string(end + 1));
  return out;
}
std::string day_name(int number) {
  return std::string(weekday_name(Date{3 + number}));  // day 4 was a Monday
}

}  // namespace

std::string short_number(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.1f", value);
  std::string out = text;
  if (out.size() > 2 && out.compare(out.size() - 2, 2, ".0") == 0) out.resize(out.size() - 2);
  return out;
}

std::string barred(const BlockProblem& p, int e, int week, int day) {
  return exercise_at(p, e).exercise.name + " is out: " + barred_on(p, e, week, day);
}
std::string most_days(const BlockExercise& e) {
  return e.exercise.name + ": at most " + std::to_string(e.most_days) + (e.most_days == 1 ? " day" : " days") +
         " a week";
}
std::string most_exercises(int most) { return "at most " + std::to_string(most) + " exercises a day"; }
std::string recovery(const BlockProblem& p, Muscle k) {
  return std::to_string(p.muscles[static_cast<std::size_t>(k)].recovery_hours) + " h between sessions of the " +
         std::string(muscle_name(k));
}
std::string minutes(const BlockProblem& p, int week, int day) {
  const BlockDay& d = p.weeks[static_cast<std::size_t>(week)].days[static_cast<std::size_t>(day)];
  bool always = true;
  for (const BlockWeek& w : p.weeks) {
    for (const BlockDay& o : w.days) {
      if (weekday(o.date) == weekday(d.date) && o.minutes != d.minutes) always = false;
    }
  }
  std::string out(weekday_name(d.date));
  if (!always) out.append(" ").append(date_text(d.date));
  return out.append(": at most ").append(short_number(d.minutes)).append(" minutes");
}
std::string most_session(const BlockProblem& p, Muscle k) {
  return std::string(muscle_name(k)) + ": at most " +
         short_number(p.muscles[static_cast<std::size_t>(k)].most_session) + " sets a session";
}
std::string least_session(const BlockProblem& p, Muscle k) {
  return std::string(muscle_name(k)) + ": at least " +
         short_number(p.muscles[static_cast<std::size_t>(k)].least_session) + " sets on a day it is trained";
}
std::string most_week(const BlockProblem& p, int week, Muscle k) {
  const BlockWeek& w = p.weeks[static_cast<std::size_t>(week)];
  const double most = most_sets(p, week, static_cast<int>(k));
  const bool usual = most == p.muscles[static_cast<std::size_t>(k)].most_week;
  std::string out(muscle_name(k));
  out.append(": at most ").append(short_number(most)).append(usual ? " sets a week" : " sets in week ");
  if (!usual) out += std::to_string(week + 1);
  if (!usual && !w.why.empty()) out.append(" (").append(w.why).append(")");
  return out;
}
std::string week_share(const BlockProblem& p, int week, Muscle k) {
  const BlockWeek& w = p.weeks[static_cast<std::size_t>(week)];
  std::string out(muscle_name(k));
  out.append(": in week ").append(std::to_string(week + 1)).append(" at most ");
  out.append(short_number(100 * w.most_share)).append(" % of its sets in an ordinary week");
  if (!w.why.empty()) out.append(" (").append(w.why).append(")");
  return out;
}
std::string least_week(const BlockProblem& p, Muscle k) {
  return std::string(muscle_name(k)) + ": at least " + short_number(p.muscles[static_cast<std::size_t>(k)].least_week) +
         " sets a week";
}
std::string least_heavy(const BlockProblem& p, int l) {
  const LiftGoal& goal = p.lifts[static_cast<std::size_t>(l)];
  return exercise_at(p, goal.exercise).exercise.name + ": at least " + short_number(goal.least_heavy) +
         " heavy sets a week";
}
std::string balance(const Balance& b) { return b.name + ": at most " + short_number(b.most_ratio) + " sets for each"; }
std::string must(const BlockProblem& p, const MustHave& m) {
  return exercise_at(p, m.exercise).exercise.name + " on at least " + std::to_string(m.least_days) +
         (m.least_days == 1 ? " day" : " days") + " a week" + weeks_text(p, m.from_week, m.to_week);
}
std::string test(const BlockProblem& p, const BlockTest& t) {
  return "rep-max test of the " + exercise_at(p, t.exercise).exercise.name + " in week " + std::to_string(t.week + 1);
}
std::string fixed(const BlockProblem& p, const FixedPart& f) {
  std::string out = "fixed: " + exercise_at(p, f.exercise).exercise.name + " on " + day_name(f.weekday);
  if (f.sets) out += ", " + std::to_string(*f.sets) + (*f.sets == 1 ? " set" : " sets");
  if (f.reserve) out += ", " + std::to_string(*f.reserve) + " in reserve";
  return out + weeks_text(p, f.from_week, f.to_week);
}

}  // namespace words
}  // namespace ullage::planning
