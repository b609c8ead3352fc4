#include "engine/capacity/light_sets.h"

#include <cmath>
#include <string>
#include <type_traits>
#include <vector>

#include "engine/capacity/curve.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/repetition.h"

namespace ullage::capacity {
namespace {

constexpr double kLightReps = 5;       // left at the least, by what a heavier set shows
constexpr double kHeavier = 0.05;      // natural log of load
constexpr double kNeighbourDays = 28;  // sessions of the lift next to this one, no further away
constexpr double kChance = 0.25;

// Calls `with(set, light)` for each set whose end is not told.
template <class Log, class With>
void look(Log& log, const With& with) {
  using Session = std::remove_reference_t<decltype(log.sessions.front())>;
  for (std::size_t l = 0; l < log.lifts.size(); ++l) {
    const ExerciseInLog& exercise = log.exercises[static_cast<std::size_t>(log.lifts[l].endurance_index)];
    const double k = std::exp(log_endurance(exercise.exercise).mean), shape = curve_shape(exercise.exercise.cls);
    const auto of_lift = [&](const LoggedSet& set) { return set.lift == static_cast<int>(l) && set.informs_strength; };
    // Whether `other` shows that at least so many reps were left in `set`, by the usual lifter's endurance.
    const auto shows = [&](const LoggedSet& other, const LoggedSet& set) {
      if (!of_lift(other) || other.reps < 1 || other.log_load < set.log_load + kHeavier) return false;
      const double margin = other.log_load + margin_for_reps(static_cast<double>(other.reps), k, shape) - set.log_load;
      return reps_to_failure(margin, k, shape) - set.reps >= kLightReps;
    };
    std::vector<Session*> sessions;
    for (Session& session : log.sessions) {
      for (const LoggedSet& set : session.sets) {
        if (!of_lift(set)) continue;
        sessions.push_back(&session);
        break;
      }
    }
    for (std::size_t s = 0; s < sessions.size(); ++s) {
      const auto shown_next_to_it = [&](const LoggedSet& set) {
        for (const std::size_t other : {s - 1, s + 1}) {
          if (other >= sessions.size() || std::abs(sessions[other]->date - sessions[s]->date) > kNeighbourDays)
            continue;
          for (const LoggedSet& shown : sessions[other]->sets) {
            if (shows(shown, set)) return true;
          }
        }
        return false;
      };
      auto& sets = sessions[s]->sets;
      // Later sets of a day may have been short because the lifter was tired: other sessions say so of the first alone,
      // and of those after it that ask for no more.
      const LoggedSet* light_so_far = nullptr;
      bool first = true;
      for (std::size_t i = 0; i < sets.size(); ++i) {
        if (!of_lift(sets[i])) continue;
        bool light = false;
        for (std::size_t j = i + 1; j < sets.size(); ++j) light = light || shows(sets[j], sets[i]);
        if (!light && light_so_far) {
          light = sets[i].log_load <= light_so_far->log_load && sets[i].reps <= light_so_far->reps;
        }
        if (!light && (first || light_so_far)) light = shown_next_to_it(sets[i]);
        if (light) light_so_far = &sets[i];
        first = false;
        if (end_not_told(sets[i])) with(sets[i], light);
      }
    }
  }
}

}  // namespace

bool LightSets::by_plan() const { return by_habit(light, compared, kChance); }

LightSets light_sets(const TrainingLog& log) {
  LightSets out;
  look(log, [&](const LoggedSet&, bool light) {
    ++out.compared;
    out.light += light ? 1 : 0;
  });
  return out;
}

void take_light_for_planned(TrainingLog& log, const LightSets& found) {
  std::vector<LoggedSet*> planned;
  look(log, [&](LoggedSet& set, bool light) {
    if (light) planned.push_back(&set);
  });
  for (LoggedSet* set : planned) set->stop = Stop::planned;
  log.remarks.push_back(
      std::to_string(found.light) + " of " + std::to_string(found.compared) +
      " sets were far from failure, by heavier ones beside them: warm-ups, steps of a ramp or lighter "
      "days. They tell what was in the lifter at least, and not how much more");
}

}  // namespace ullage::capacity
