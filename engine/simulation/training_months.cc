#include "engine/simulation/training_months.h"

#include <algorithm>
#include <cmath>

namespace ullage::simulation {
namespace {

SetRecord written(const Prescription& wanted, const SetResult& done, const LiftHabit& habit, const LogManner& manner) {
  SetRecord set;
  set.exercise = habit.exercise.id;
  set.side = habit.side;
  set.load = wanted.load;
  set.reps = done.reps;
  set.failed = done.failed;
  set.called = done.called;
  set.called_at_rep = done.called_at_rep;
  set.last_rep_speed = done.speed;
  set.kind = wanted.kind;
  set.place = manner.place;
  set.stop = manner.stop_known || done.failed ? done.stop : Stop::unknown;
  if (manner.stop_known) {
    if (wanted.order.ending == Ending::planned || wanted.order.ending == Ending::cue)
      set.planned_reps = wanted.order.reps;
    if (wanted.order.ending == Ending::cue) set.cue = wanted.order.cue;
  }
  return set;
}

}  // namespace

TrainedLog train(SimulatedLifter& lifter, LoggingCoach& coach, const std::vector<TrainingDay>& days,
                 const LogManner& manner, Random& random) {
  TrainedLog out;
  for (const TrainingDay& day : days) {
    const double body_mass = manner.body_mass ? manner.body_mass(day.date) : 75;
    lifter.begin_day(day.date);
    coach.set_body_mass(body_mass);
    coach.begin_day(day.date);
    bool first_of_day = true;
    for (const std::vector<int>& group : day.groups) {
      bool first_of_group = true;
      std::vector<bool> finished(group.size(), false);
      for (bool any = true; any;) {
        any = false;
        for (std::size_t g = 0; g < group.size(); ++g) {
          const int lift = group[g];
          if (finished[g]) continue;
          std::optional<Prescription> wanted = coach.next_set(lift);
          if (!wanted) {
            finished[g] = true;
            continue;
          }
          double rest = wanted->order.rest.value;
          if (first_of_group) {
            rest = manner.change_over_minutes;
          } else if (group.size() > 1) {
            rest =
                g == 0 ? std::max(manner.alternate_minutes, rest - manner.alternate_minutes) : manner.alternate_minutes;
          }
          rest *= std::exp(random.normal(0, manner.rest_sd));
          const double step = manner.round_rest_s;
          wanted->order.rest = Minutes{std::max(step, std::round(rest * 60 / step) * step) / 60};
          const SetResult done = lifter.perform(wanted->order);
          SetRecord set = written(*wanted, done, coach.habit(lift), manner);
          set.date = day.date;
          if (group.size() > 1) set.joined = std::string(1, static_cast<char>('a' + (&group - day.groups.data())));
          if (!first_of_day && random.chance(manner.rest_known)) {
            set.rest_s = std::round(done.rest_written.value * 60);
          }
          if (manner.write_body_mass && coach.habit(lift).exercise.body_mass_share > 0) {
            set.body_mass = Load{body_mass, Unit::kilogram};
          }
          coach.saw(lift, set);
          out.sets.push_back(std::move(set));
          out.behind.push_back(done);
          first_of_day = first_of_group = false;
          any = true;
        }
      }
    }
  }
  return out;
}

std::vector<TrainingDay> calendar(Date first, Date last, const std::vector<int>& weekdays,
                                  const std::vector<std::vector<std::vector<int>>>& sessions, double missed,
                                  Random& random) {
  std::vector<TrainingDay> out;
  std::size_t next = 0;
  for (Date day = first; day <= last; day = day + 1) {
    if (std::find(weekdays.begin(), weekdays.end(), weekday(day)) == weekdays.end()) continue;
    if (last - day > 7 && random.chance(missed)) continue;
    out.push_back({day, sessions[next % sessions.size()]});
    ++next;
  }
  return out;
}

}  // namespace ullage::simulation
