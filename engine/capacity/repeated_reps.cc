#include "engine/capacity/repeated_reps.h"

#include <string>
#include <type_traits>
#include <vector>

#include "engine/capacity/repetition.h"

namespace ullage::capacity {
namespace {

bool end_not_told(const LoggedSet& set) { return set.stop == Stop::unknown && !set.failed && set.informs_strength; }

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

RepeatedReps repeated_reps(const TrainingLog& log) {
  RepeatedReps out;
  neighbours(log, [&](const LoggedSet& earlier, const LoggedSet& later, bool in_session) {
    ++(in_session ? out.beside_set : out.beside_session);
    (in_session ? out.same_as_set : out.same_as_session) += earlier.reps == later.reps ? 1 : 0;
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

void take_for_planned(TrainingLog& session) {
  for (LoggedSession& one : session.sessions) {
    for (LoggedSet& set : one.sets) {
      if (end_not_told(set)) set.stop = Stop::planned;
    }
  }
}

}  // namespace ullage::capacity
