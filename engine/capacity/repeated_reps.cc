#include "engine/capacity/repeated_reps.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>
#include <type_traits>
#include <vector>

#include "engine/capacity/curve.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/repetition.h"

namespace ullage::capacity {
namespace {

// Calls `with(earlier, later, in_session)` for each two neighbours whose ends are not told.
template <class Log, class With>
void neighbours(Log& log, const With& with) {
  using Set = std::remove_reference_t<decltype(log.sessions.front().sets.front())>;
  for (std::size_t l = 0; l < log.lifts.size(); ++l) {
    std::vector<Set*> before, now;
    for (auto& session : log.sessions) {
      now.clear();
      for (auto& set : session.sets) {
        if (set.lift == static_cast<int>(l) && end_not_told(set)) now.push_back(&set);
      }
      if (now.empty()) continue;
      for (std::size_t i = 1; i < now.size(); ++i) with(*now[i - 1], *now[i], true);
      for (std::size_t i = 0; i < now.size() && i < before.size(); ++i) with(*before[i], *now[i], false);
      before = now;
    }
  }
}

}  // namespace

bool RepeatedReps::by_plan() const {
  constexpr double kChance = 1.0 / 3;
  return by_habit(same_as_session, beside_session, kChance) || by_habit(same_as_set, beside_set, kChance);
}

bool RepeatedReps::by_evenness() const { return by_habit(near_uncalled, beside_uncalled, 0.55); }

RepeatedReps repeated_reps(const TrainingLog& log) {
  RepeatedReps out;
  neighbours(log, [&](const LoggedSet& earlier, const LoggedSet& later, bool in_session) {
    ++(in_session ? out.beside_set : out.beside_session);
    (in_session ? out.same_as_set : out.same_as_session) += earlier.reps == later.reps ? 1 : 0;
    if (in_session || earlier.feeling || later.feeling) return;
    ++out.beside_uncalled;
    out.near_uncalled += std::abs(earlier.reps - later.reps) <= 1 ? 1 : 0;
  });
  return out;
}

void take_for_planned(TrainingLog& log, const RepeatedReps& found) {
  std::vector<LoggedSet*> planned;
  neighbours(log, [&](LoggedSet& earlier, LoggedSet& later, bool) {
    if (earlier.reps != later.reps) return;
    planned.push_back(&earlier);
    planned.push_back(&later);
  });
  for (LoggedSet* set : planned) set->stop = Stop::planned;
  const auto share = [](int same, int compared) { return compared > 0 ? static_cast<double>(same) / compared : 0; };
  const bool by_session =
      share(found.same_as_session, found.beside_session) >= share(found.same_as_set, found.beside_set);
  log.remarks.push_back(
      "the reps repeat themselves: " + std::to_string(by_session ? found.same_as_session : found.same_as_set) + " of " +
      std::to_string(by_session ? found.beside_session : found.beside_set) + " sets have those of " +
      (by_session ? "the session" : "the set") +
      " before. They were planned, so that they tell what was in the lifter at least, and not how "
      "much more. A set to failure or a rep-max test tells more");
}

void take_one_for_a_stop(TrainingLog& log, const RepeatedReps& found) {
  constexpr int kLastDays = 28;
  for (std::size_t l = 0; l < log.lifts.size(); ++l) {
    const Lift& lift = log.lifts[l];
    const Exercise& exercise = log.exercises[static_cast<std::size_t>(lift.endurance_index)].exercise;
    const double k = std::exp(log_endurance(exercise).mean), shape = curve_shape(exercise.cls);
    struct Hardest {
      double need = 0;
      LoggedSet* set = nullptr;
    };
    std::vector<Hardest> of_sessions;
    for (LoggedSession& session : log.sessions) {
      Hardest hardest;
      for (LoggedSet& set : session.sets) {
        if (set.lift != static_cast<int>(l) || !end_not_told(set) || set.feeling) continue;
        set.stop = Stop::planned;
        // Of the same the last: the lifter was tired from the others.
        const double need = set.log_load + margin_for_reps(static_cast<double>(set.reps), k, shape);
        if (!hardest.set || need >= hardest.need) hardest = {need, &set};
      }
      if (hardest.set && lift.last - session.date <= kLastDays) of_sessions.push_back(hardest);
    }
    if (of_sessions.empty()) continue;
    // Of the hardest of each session not the hardest of all, which was a good day's, nor one of a light day.
    const auto pick = of_sessions.begin() + static_cast<std::ptrdiff_t>(3 * (of_sessions.size() - 1) / 4);
    std::nth_element(of_sessions.begin(), pick, of_sessions.end(),
                     [](const Hardest& x, const Hardest& y) { return x.need < y.need; });
    pick->set->stop = Stop::unknown;
  }
  log.remarks.push_back(
      "the reps are very even: " + std::to_string(found.near_uncalled) + " of " +
      std::to_string(found.beside_uncalled) +
      " sets are within one rep of those of the session before. Most keep to a plan, so that they tell "
      "what was in the lifter at least: how near to failure they came is taken from one hard set of "
      "the last four weeks. A set to failure or a rep-max test tells more");
}

void take_for_planned(TrainingLog& session) {
  for (LoggedSession& one : session.sessions) {
    for (LoggedSet& set : one.sets) {
      if (end_not_told(set)) set.stop = Stop::planned;
    }
  }
}

double untold_share(const TrainingLog& log) {
  int untold = 0, informing = 0;
  for (const LoggedSession& session : log.sessions) {
    for (const LoggedSet& set : session.sets) {
      if (!set.informs_strength || (set.stop == Stop::planned && !set.feeling)) continue;
      ++informing;
      untold += set.stop == Stop::unknown && !set.feeling ? 1 : 0;
    }
  }
  return informing > 0 ? static_cast<double>(untold) / informing : 0;
}

}  // namespace ullage::capacity
