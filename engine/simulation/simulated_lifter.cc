#include "engine/simulation/simulated_lifter.h"

#include <algorithm>
#include <cmath>

#include "engine/capacity/curve.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/training_log.h"

namespace ullage::simulation {
namespace {

constexpr double kMostReps = 400;  // whoever could do more stops here

}  // namespace

SimulatedLifter::SimulatedLifter(std::vector<SimulatedLift> lifts, Truth truth, std::uint64_t seed, Flaws flaws)
    : lifts_(std::move(lifts)), truth_(std::move(truth)), flaws_(flaws), random_(seed, 1), state_(lifts_.size()) {
  overlap_.assign(lifts_.size(), std::vector<double>(lifts_.size(), 0));
  for (std::size_t from = 0; from < lifts_.size(); ++from) {
    for (std::size_t to = 0; to < lifts_.size(); ++to) {
      overlap_[from][to] = from == to ? 1
                                      : capacity::lift_overlap(lifts_[from].exercise, lifts_[from].side,
                                                               lifts_[to].exercise, lifts_[to].side);
    }
    state_[from].log_strength = truth_.lifts[from].log_strength;
    state_[from].trend = truth_.lifts[from].trend;
  }
}

void SimulatedLifter::end_session() {
  SpentDay spent{day_, {}};
  for (LiftState& state : state_) {
    spent.spent.push_back(state.spent_today);
    state.spent_today = 0;
    if (state.done_today) ++state.sessions;
    state.done_today = false;
    state.stores = {};
  }
  spent_days_.push_back(std::move(spent));
}

void SimulatedLifter::pass_days(int days) {
  if (days <= 0) return;
  // Beyond eight weeks loss settles and progress ends, as in the model; its return towards other people is left out.
  const double absent = std::max(0.0, days - capacity::kAbsenceAfterDays);
  const double off = std::max(0.0, days - capacity::kLayOffFreeDays) - absent + capacity::absence_loss_days(absent);
  const double kept = std::exp2(-days / capacity::kTrendHalfLifeDays);
  for (std::size_t i = 0; i < state_.size(); ++i) {
    const LiftTruth& truth = truth_.lifts[i];
    LiftState& state = state_[i];
    const double q = truth.drift * (off > 0 ? capacity::kLayOffDriftFactor : 1);
    const double progress = flaws_.jump_on_day ? 0 : state.trend * (days - absent);
    state.log_strength += progress + q * std::sqrt(days - absent) * random_.normal() - truth_.layoff_loss * off;
    state.trend = truth.trend_mean + (state.trend - truth.trend_mean) * kept +
                  truth.trend_sd * std::sqrt(1 - kept * kept) * random_.normal();
  }
}

void SimulatedLifter::begin_day(Date day) {
  if (begun_) {
    end_session();
    pass_days(day - day_);
  } else {
    first_day_ = day;
  }
  begun_ = true;
  day_ = day;
  first_set_ = true;
  if (flaws_.jump_on_day && !jumped_ && day_ - first_day_ >= *flaws_.jump_on_day) {
    jumped_ = true;
    for (LiftState& state : state_) state.log_strength += flaws_.jump;
  }
  readiness_ = random_.normal(0, truth_.day_sd);
  std::erase_if(spent_days_, [&](const SpentDay& spent) { return day_ - spent.day >= capacity::kResidualGoneDays; });
  for (std::size_t to = 0; to < state_.size(); ++to) {
    state_[to].residual = 0;
    for (const SpentDay& spent : spent_days_) {
      const double left = truth_.residual * std::exp(-(day_ - spent.day) / capacity::kResidualDecayDays);
      for (std::size_t from = 0; from < state_.size(); ++from) {
        state_[to].residual += left * overlap_[from][to] * spent.spent[from];
      }
    }
  }
}

double SimulatedLifter::log_strength_of_the_day(int lift) const {
  const auto i = static_cast<std::size_t>(lift);
  const double share = lifts_[i].new_here ? capacity::practice_share(state_[i].sessions + 1) : 0;
  return state_[i].log_strength + readiness_ - share * truth_.lifts[i].practice;
}

double SimulatedLifter::margin(int lift, double total_load) const {
  const auto to = static_cast<std::size_t>(lift);
  double fatigue = state_[to].residual;
  for (std::size_t from = 0; from < state_.size(); ++from) fatigue += overlap_[from][to] * state_[from].stores.total();
  return log_strength_of_the_day(lift) - fatigue - std::log(total_load);
}

void SimulatedLifter::pass_minutes(double minutes) {
  for (LiftState& state : state_) state.stores.rest(minutes, truth_.fatigue);
}

Call SimulatedLifter::answer(double heard) const {
  if (truth_.open_answers && heard >= 4.5) return {5, true};
  const double step = truth_.answers_in_halves ? 0.5 : 1.0;
  return {std::clamp(std::floor(heard / step + 0.5) * step, 0.0, 10.0), false};
}

// One of the reps 1..floor(capacity), each as likely as the gamma density of what it would leave.
int SimulatedLifter::own_stop(double capacity, double usual_reserve) {
  const int whole = static_cast<int>(std::floor(capacity));
  const auto weight = [&](int reps) {
    const double left = (capacity - reps) * 2 / usual_reserve;
    return left * std::exp(-left);
  };
  double all = 0;
  for (int reps = 1; reps <= whole; ++reps) all += weight(reps);
  double at = random_.uniform() * all;
  for (int reps = whole; reps > 1; --reps) {
    at -= weight(reps);
    if (at <= 0) return reps;
  }
  return 1;
}

SetResult SimulatedLifter::perform(const SetOrder& order) {
  const auto i = static_cast<std::size_t>(order.lift);
  const LiftTruth& lift = truth_.lifts[i];
  SetResult out;
  if (!first_set_) {
    pass_minutes(order.rest.value);
    out.rest_written = order.rest;
    if (flaws_.wrong_rest_sd > 0) out.rest_written.value *= std::exp(random_.normal(0, flaws_.wrong_rest_sd));
  }
  first_set_ = false;

  out.margin = margin(order.lift, order.total_load);
  double noise = random_.normal();
  if (flaws_.heavy_tails) {
    double square = 0;
    for (int n = 0; n < 3; ++n) {
      const double z = random_.normal();
      square += z * z;
    }
    noise /= std::sqrt(square / 3);
  }
  const bool outside =
      out.margin > std::log(2.0) || capacity::reps_to_failure(out.margin, lift.endurance, lift.shape) > 25;
  const double sigma = truth_.sigma * (outside ? capacity::kSigmaOutsideRange : 1);
  out.capacity = std::min(kMostReps, capacity::reps_to_failure(out.margin + sigma * noise, lift.endurance, lift.shape));
  const int whole = static_cast<int>(std::floor(std::max(0.0, out.capacity)));

  capacity::Judgement judgement = truth_.judgement;
  judgement.bias = bias_now();
  const double feeling_of_set = random_.normal();
  double feeling = feeling_of_set;
  const auto heard_at = [&](double rho, bool on_cue) {
    return capacity::heard_mean(judgement, rho, on_cue) + capacity::heard_sd(judgement, rho) * feeling;
  };

  int stop_at = std::max(1, order.reps);
  out.stop = Stop::planned;
  switch (order.ending) {
    case Ending::planned: break;
    case Ending::failure: stop_at = whole + 1; break;
    case Ending::own_feeling:
      stop_at = whole < 1
                    ? 1
                    : own_stop(out.capacity, truth_.stopping_reserve[static_cast<std::size_t>(lifts_[i].exercise.cls)]);
      out.stop = Stop::unknown;
      break;
    case Ending::cue: {
      const capacity::Cell cell = capacity::call_cell(order.cue, truth_.answers_in_halves);
      int heard_stop = 1;
      if (flaws_.feeling_anew > 0) {
        const double kept = std::sqrt(1 - flaws_.feeling_anew), anew = std::sqrt(flaws_.feeling_anew);
        while (heard_stop < stop_at && heard_stop <= whole && heard_at(out.capacity - heard_stop, true) > cell.high) {
          feeling = kept * feeling_of_set + anew * random_.normal();
          ++heard_stop;
        }
      } else {
        heard_stop = static_cast<int>(
            std::clamp(capacity::cue_stop_rep(judgement, out.capacity, cell, feeling), 1.0, kMostReps));
      }
      if (heard_stop < stop_at) {
        stop_at = heard_stop;
        out.stop = Stop::cue;
      }
      break;
    }
  }
  out.failed = stop_at > whole;
  out.reps = out.failed ? whole : stop_at;
  out.reserve = out.failed ? 0 : out.capacity - out.reps;
  if (out.failed) out.stop = Stop::failed;

  if (order.call_at_rep) {
    if (*order.call_at_rep >= 1 && *order.call_at_rep <= out.reps) {
      out.called = answer(heard_at(out.capacity - *order.call_at_rep, false));
      if (*order.call_at_rep < out.reps) out.called_at_rep = order.call_at_rep;
    }
  } else if (order.ask_call && !out.failed) {
    out.called = answer(heard_at(out.reserve, out.stop == Stop::cue));
  }
  if (order.measure_speed && out.reps > 0) {
    const double speed = lift.speed_at_failure + lift.speed_slope * std::max(0.0, out.capacity - out.reps) +
                         lift.speed_noise * random_.normal();
    if (speed > 0.02) out.speed = std::round(speed * 100) / 100;
  }

  LiftState& state = state_[i];
  const auto spent = capacity::spend(out.margin, lift.endurance, lift.shape, out.reps, out.failed, truth_.fatigue.lam,
                                     truth_.fatigue.rho_f);
  state.stores.add(spent, truth_.fatigue);
  state.spent_today += spent.depletion;
  state.done_today = true;
  pass_minutes(out.reps * capacity::kSecondsPerRep / 60);
  return out;
}

}  // namespace ullage::simulation
