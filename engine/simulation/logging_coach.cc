#include "engine/simulation/logging_coach.h"

#include <algorithm>
#include <cmath>

#include "engine/capacity/formulas.h"

namespace ullage::simulation {
namespace {

using capacity::Formula;

constexpr double kSearchStart = 0.5;  // the search for a working load begins at this share of the guess
constexpr int kSearchReps = 5;
constexpr int kSearchSets = 9;  // at most
constexpr double kBackOff = 0.9;
constexpr double kMoreThanOpen = 3;     // "5+" is taken as so many more than five
constexpr double kUncalledReserve = 2;  // taken for sets without a call
constexpr double kUncalledGain = 0.4;   // a session without calls and misses counts as this many reps too easy
constexpr double kNew = 0.35;           // weight of the last session in what the formula says of strength
constexpr double kSearchStep = 1.25;    // largest step of the search; ...
constexpr double kCarefulStep = 1.15;   // ... with those who are to keep three or more in reserve
constexpr double kPerRep = 0.012;       // change of working strength per rep too easy or too hard, log

}  // namespace

LoggingCoach::LoggingCoach(std::vector<LiftHabit> habits) : habits_(std::move(habits)), memory_(habits_.size()) {
  for (std::size_t i = 0; i < habits_.size(); ++i) {
    memory_[i].strength = habits_[i].first_guess;
    memory_[i].reps = habits_[i].least_reps;
  }
}

double LoggingCoach::total_of(int lift, int load) const {
  const LiftHabit& h = habit(lift);
  return total_load(h.exercise, h.loads[static_cast<std::size_t>(load)], body_mass_);
}

int LoggingCoach::nearest(int lift, double total) const {
  const int count = static_cast<int>(habit(lift).loads.size());
  int best = 0;
  while (best + 1 < count && total_of(lift, best) <= 0) ++best;
  // Up to 1 % above what was wanted still counts as it.
  while (best + 1 < count && total_of(lift, best + 1) <= total * 1.01) ++best;
  return best;
}

double LoggingCoach::load_for(const Memory& memory, double reps, double reserve) const {
  return memory.strength / capacity::one_rep_maximum(Formula::epley, 1, reps + reserve);
}

void LoggingCoach::begin_day(Date) {
  for (std::size_t i = 0; i < habits_.size(); ++i) {
    if (memory_[i].started) close(static_cast<int>(i));
  }
}

// Takes the last session in: the working strength, and the next step of the progression.
void LoggingCoach::close(int lift) {
  Memory& m = memory_[static_cast<std::size_t>(lift)];
  const LiftHabit& h = habit(lift);
  if (m.sets_done > 0) {
    ++m.sessions;
    const int count = static_cast<int>(h.loads.size());
    // Reps by which the session was easier than wanted: by the reps done where those were left open, else by calls.
    const bool left_open = h.ending == Ending::cue || h.ending == Ending::own_feeling;
    double easier = m.missed > 0 ? -1.0 - m.missed : kUncalledGain;
    if (left_open) {
      easier = m.first_reps - m.first_asked;
    } else if (m.least_call && m.missed == 0) {
      easier = 0.5 * (m.first_call.value_or(*m.least_call) + *m.least_call) - h.target_call;
    }
    if (h.scheme != Scheme::straight) {
      m.strength *= std::exp(kPerRep * std::clamp(easier, -4.0, 6.0));
    } else {
      m.strength += kNew * (m.best - m.strength);
      const double now = total_of(lift, m.load);
      if (left_open) {
        m.reps = m.first_reps;
      } else if (easier < -1) {
        m.reps -= m.missed > 1 ? 2 : 1;
      } else if (easier >= 0) {
        ++m.reps;
      }
      const int jump = nearest(lift, now * 1.06);
      if (easier > 2.4 && jump > m.load) {
        m.load = jump;
        m.reps = h.least_reps;
      } else if (m.reps > h.most_reps) {
        m.reps = h.most_reps;
        if (m.load + 1 < count) {
          // A wide step up costs the reps the formula says.
          const double rise = total_of(lift, m.load + 1) / now;
          const double fits = 30 * (capacity::one_rep_maximum(Formula::epley, 1, h.most_reps) / rise - 1);
          m.reps = std::clamp(static_cast<int>(fits), std::max(3, h.least_reps - 2), h.most_reps);
          ++m.load;
        }
      } else if (m.reps < std::max(3, h.least_reps - 2)) {
        m.load = std::max(0, m.load - 1);
        while (m.load + 1 < count && total_of(lift, m.load) <= 0) ++m.load;
        m.reps = h.least_reps;
      }
    }
  }
  const Memory kept = m;
  m = {};
  m.strength = kept.strength;
  m.found = kept.found;
  m.load = kept.load;
  m.reps = kept.reps;
  m.sessions = kept.sessions;
}

Prescription LoggingCoach::make(int lift, int load, int reps, SetKind kind) const {
  const LiftHabit& h = habit(lift);
  Prescription out;
  out.load = h.loads[static_cast<std::size_t>(load)];
  out.kind = kind;
  out.order.lift = lift;
  out.order.total_load = total_of(lift, load);
  out.order.reps = std::max(1, reps);
  out.order.rest = Minutes{kind == SetKind::warmup ? std::min(1.5, h.rest_minutes) : h.rest_minutes};
  out.order.measure_speed = h.measure_speed && kind != SetKind::warmup;
  return out;
}

std::optional<Prescription> LoggingCoach::next_set(int lift) {
  const LiftHabit& h = habit(lift);
  Memory& m = memory_[static_cast<std::size_t>(lift)];
  m.started = true;
  const int middle = (h.least_reps + h.most_reps) / 2;

  if (!m.found && m.searching < kSearchSets) {
    const double most = h.target_call >= 3 ? kCarefulStep : kSearchStep;
    int load = nearest(lift, kSearchStart * m.strength);
    bool arrived = false;
    if (m.searching > 0) {
      // A set that felt like "5+" says little: a good step up. Else what the formula says.
      const bool light = m.last_call.value_or(0) > 5;
      const double wanted = light ? m.last_load * most : load_for(m, h.least_reps, h.target_call);
      load = nearest(lift, std::min(wanted, m.last_load * most));
      if (light) load = std::min(std::max(load, m.search_at + 1), static_cast<int>(h.loads.size()) - 1);
      arrived = load == m.search_at || (!light && std::abs(total_of(lift, load) / m.last_load - 1) < 0.04);
    }
    if (!arrived) {
      m.search_at = load;
      Prescription out = make(lift, load, kSearchReps, SetKind::warmup);
      out.order.ask_call = h.call_chance > 0;
      if (h.call_chance <= 0) {  // as far as they like: no warm-up, which tells nothing of where they stop
        out.order.ending = Ending::own_feeling;
        out.kind = SetKind::work;
      }
      return out;
    }
    m.warmups_done = h.warmups;
  }
  m.found = true;
  if (m.load < 0) m.load = nearest(lift, load_for(m, h.least_reps, h.target_call));
  if (m.sets_done >= h.sets) return std::nullopt;

  int reps = m.reps;
  int load = m.load;
  switch (h.scheme) {
    case Scheme::straight: break;
    case Scheme::wave: {
      const int turn[3] = {middle, h.most_reps, h.least_reps};
      reps = turn[m.sessions % 3];
      load = nearest(lift, load_for(m, reps, h.target_call));
      break;
    }
    case Scheme::top_set:
      reps = h.least_reps + (m.sets_done > 0 ? 3 : 0);
      load = nearest(lift, load_for(m, h.least_reps, h.target_call) * (m.sets_done > 0 ? kBackOff : 1));
      break;
  }
  if (m.warmups_done < h.warmups && m.sets_done == 0) {
    const double share = 0.5 + 0.3 * m.warmups_done / std::max(1, h.warmups - 1);
    const int warm = nearest(lift, share * total_of(lift, load));
    if (warm < load && total_of(lift, warm) > 0) return make(lift, warm, m.warmups_done == 0 ? 6 : 3, SetKind::warmup);
    m.warmups_done = h.warmups;
  }
  // A miss or a call well under the target takes reps off the sets that follow.
  if (m.sets_done > 0 && m.missed > 0) reps -= 2;
  if (m.sets_done > 0 && m.last_call && *m.last_call < h.target_call) reps -= 1;

  const bool last = m.sets_done + 1 == h.sets;
  if (last && h.test_every > 0 && m.sessions > 0 && m.sessions % h.test_every == 0) {
    const int at = nearest(lift, 0.8 * m.strength);
    Prescription out = make(lift, at, 1, SetKind::test);
    out.order.ending = Ending::failure;
    out.order.rest.value += 2;
    const double expected = capacity::reps_to_failure(Formula::epley, m.strength, total_of(lift, at));
    if (h.call_chance > 0) out.order.call_at_rep = std::max(2, static_cast<int>(expected) - 3);
    return out;
  }
  m.asked = reps;
  Prescription out = make(lift, load, std::max(1, reps), SetKind::work);
  out.order.ending = last && h.last_set_failure ? Ending::failure : h.ending;
  out.order.cue = Call{h.target_call, false};
  if (h.ending == Ending::cue && out.order.ending == Ending::cue) out.order.reps += 4;
  // Spread evenly over the sets of the log rather than by chance.
  const double asked = h.call_chance * (m.sessions * h.sets + m.sets_done);
  out.order.ask_call = std::floor(asked + h.call_chance) > std::floor(asked);
  return out;
}

void LoggingCoach::saw(int lift, const SetRecord& logged) {
  const LiftHabit& h = habit(lift);
  Memory& m = memory_[static_cast<std::size_t>(lift)];
  const double total = total_load(h.exercise, logged.load, body_mass_);
  double reserve = logged.failed ? 0 : kUncalledReserve;
  if (logged.called && !logged.called_at_rep)
    reserve = logged.called->reserve + (logged.called->open ? kMoreThanOpen : 0);
  const bool nothing = logged.reps == 0;
  const double shown = nothing ? 0.9 * total : capacity::one_rep_maximum(Formula::epley, total, logged.reps + reserve);
  if (!m.found) {
    ++m.searching;
    m.last_load = total;
    m.last_call.reset();
    if (logged.called) m.last_call = reserve;
    m.strength = shown;
    return;
  }
  if (logged.kind == SetKind::warmup) {
    ++m.warmups_done;
    return;
  }
  if (m.sets_done == 0) {
    m.first_reps = logged.reps;
    m.first_asked = m.asked;
  }
  ++m.sets_done;
  m.best = std::max(m.best, shown);
  m.last_load = total;
  if (logged.failed && logged.kind == SetKind::work && logged.planned_reps) ++m.missed;
  m.last_call.reset();
  if (logged.called && !logged.called_at_rep) {
    m.last_call = reserve;
    if (m.sets_done == 1) m.first_call = reserve;
    m.least_call = std::min(m.least_call.value_or(reserve), reserve);
  }
}

}  // namespace ullage::simulation
