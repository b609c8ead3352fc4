#include "engine/planning/test_proposal.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/judgement.h"
#include "engine/capacity/priors.h"

namespace ullage::planning {
namespace {

using capacity::Draw;
using capacity::LifterDraws;

constexpr std::size_t kParticles = 192;  // draws used; all of them when there are fewer
constexpr int kMostRepsOfTest = 40;      // outcomes with more count as this many
constexpr int kLoadsOfTest = 3;
constexpr int kReplicates = 16;        // noise of a coming set, per draw
constexpr double kRareOutcome = 1e-5;  // outcomes rarer than this are left out
constexpr int kMostBack = 3;           // the call comes one to three reps before the middle
constexpr int kMostAfterCall = 20;
constexpr int kHighestCall = 5;                            // "5+"
constexpr double kFewestExpected = 4, kMostExpected = 15;  // median reps a test load should allow (common practice)

// Doubt about the coming sets under weights on the draws.
class Doubt {
 public:
  Doubt(const LifterDraws& draws, const std::vector<std::size_t>& used, const std::vector<ComingSet>& coming,
        std::uint64_t seed) {
    Random random(seed, 0x7e57);
    // Readiness of another day, today's taken off, and the drift of two weeks: see top.
    const double day_sd = std::exp(capacity::kLogDaySd.mean), drift = std::exp(capacity::kLogDrift.mean);
    const double other_day = std::hypot(std::sqrt(2.0) * day_sd, drift * std::sqrt(kTestHorizonDays / 2.0));
    for (const ComingSet& set : coming) {
      const auto l = static_cast<std::size_t>(set.lift);
      std::vector<double> mean, square;
      for (const std::size_t i : used) {
        const Draw& d = draws.draws[i];
        double sum = 0, squares = 0;
        // Pairs of opposite noise, one from each of equally likely strata.
        for (int r = 0; r < kReplicates; ++r) {
          const double p = (r / 2 + random.uniform()) / kReplicates;  // lower half; its mirror follows
          const double noise = normal_quantile(p) * (r % 2 == 0 ? 1 : -1);
          const double margin = d.lifts[l].log_strength - set.log_total_load + std::hypot(other_day, d.sigma) * noise;
          const double capacity = capacity::reps_to_failure(margin, d.lifts[l].endurance, draws.info[l].shape);
          double stop = set.set.reps;
          if (set.set.cue) {
            stop = std::min(
                stop, std::max(1.0, capacity::cue_stop_rep(d.judgement, capacity,
                                                           capacity::call_cell(*set.set.cue, false), random.normal())));
          }
          sum += capacity - stop;
          squares += (capacity - stop) * (capacity - stop);
        }
        mean.push_back(sum / kReplicates);
        square.push_back(squares / kReplicates);
      }
      mean_.push_back(std::move(mean));
      square_.push_back(std::move(square));
      weight_.push_back(set.weight);
      total_ += set.weight;
    }
  }

  // sum of weight * sd(rho), for draws of these weights (sum 1).
  double sum(const std::vector<double>& draw_weights) const {
    double out = 0;
    for (std::size_t s = 0; s < mean_.size(); ++s) {
      double mean = 0, square = 0;
      for (std::size_t i = 0; i < draw_weights.size(); ++i) {
        mean += draw_weights[i] * mean_[s][i];
        square += draw_weights[i] * square_[s][i];
      }
      out += weight_[s] * std::sqrt(std::max(0.0, square - mean * mean));
    }
    return out;
  }
  double total() const { return total_; }

 private:
  std::vector<std::vector<double>> mean_, square_;  // of rho and rho^2: [coming set][used draw]
  std::vector<double> weight_;
  double total_ = 0;
};

std::vector<std::size_t> spread(std::size_t have) {
  const std::size_t want = std::min(have, kParticles);
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < want; ++i) out.push_back(i * have / want);
  return out;
}

}  // namespace

std::optional<TestForm> best_rep_max_test(const LifterDraws& draws, int lift, const std::vector<double>& total_loads,
                                          const std::vector<ComingSet>& coming, const capacity::PlannedSet& usual,
                                          double usual_log_total, std::uint64_t seed) {
  if (draws.draws.empty() || coming.empty()) return std::nullopt;
  const auto l = static_cast<std::size_t>(lift);
  const double shape = draws.info[l].shape;
  const std::vector<std::size_t> used = spread(draws.draws.size());
  const Doubt doubt(draws, used, coming, seed);
  const double before = doubt.sum(std::vector<double>(used.size(), 1.0 / static_cast<double>(used.size())));

  // Loads whose median reps suit a test, spread over what there is.
  const auto median_reps = [&](double total) {
    std::vector<double> reps;
    for (const std::size_t i : used) {
      const capacity::LiftDraw& d = draws.draws[i].lifts[l];
      reps.push_back(capacity::reps_to_failure(d.log_strength - d.residual - std::log(total), d.endurance, shape));
    }
    const auto middle = reps.begin() + static_cast<std::ptrdiff_t>(reps.size() / 2);
    std::nth_element(reps.begin(), middle, reps.end());
    return *middle;
  };
  std::vector<int> candidates;
  for (std::size_t i = 0; i < total_loads.size(); ++i) {
    const double reps = median_reps(total_loads[i]);
    if (reps >= kFewestExpected && reps <= kMostExpected) candidates.push_back(static_cast<int>(i));
  }
  if (candidates.size() > kLoadsOfTest) {
    std::vector<int> some;
    for (int i = 0; i < kLoadsOfTest; ++i) {
      some.push_back(candidates[static_cast<std::size_t>(i) * (candidates.size() - 1) / (kLoadsOfTest - 1)]);
    }
    candidates = std::move(some);
  }

  // What the set costs that would be done otherwise.
  const auto cost_of = [&](double log_total, const capacity::PlannedSet& set) {
    capacity::SessionForecast forecast(draws, seed + 1);
    const auto ends = forecast.play(lift, std::vector<double>(draws.draws.size(), log_total), set);
    double residual = 0, reps = 0;
    for (std::size_t i = 0; i < ends.size(); ++i) {
      residual += capacity::residual_after(1, ends[i].depletion, draws.draws[i].a_day);
      reps += ends[i].reps;
    }
    const auto n = static_cast<double>(ends.size());
    return std::array<double, 3>{forecast.mean_fatigue(lift), residual / n, reps / n * capacity::kSecondsPerRep / 60};
  };
  const auto instead = cost_of(usual_log_total, usual);

  // P(call | draw) with n - j reps after the call; given n, capacity lies within a rep: its middle is taken.
  std::vector<std::vector<std::vector<double>>> says(kMostAfterCall + 1);
  for (int after = 0; after <= kMostAfterCall; ++after) {
    for (int call = 0; call <= kHighestCall; ++call) {
      const capacity::Cell cell = capacity::call_cell({static_cast<double>(call), call == kHighestCall}, false);
      std::vector<double> chance;
      for (const std::size_t i : used) {
        chance.push_back(capacity::call_probability(draws.draws[i].judgement, after + 0.5, cell, false));
      }
      says[static_cast<std::size_t>(after)].push_back(std::move(chance));
    }
  }

  std::optional<TestForm> best;
  for (const int load : candidates) {
    const double log_total = std::log(total_loads[static_cast<std::size_t>(load)]);
    // P(n | draw), in whole reps.
    std::vector<std::vector<double>> reached(used.size(), std::vector<double>(kMostRepsOfTest + 1, 0));
    std::vector<double> mean_chance(kMostRepsOfTest + 1, 0);
    for (std::size_t k = 0; k < used.size(); ++k) {
      const Draw& d = draws.draws[used[k]];
      const double margin = d.lifts[l].log_strength - d.lifts[l].residual - log_total;
      double at_least = 1;
      for (int n = 0; n <= kMostRepsOfTest; ++n) {
        const double more =
            n == kMostRepsOfTest
                ? 0
                : normal_cdf((margin - capacity::margin_for_reps(n + 1.0, d.lifts[l].endurance, shape)) / d.sigma);
        reached[k][static_cast<std::size_t>(n)] = at_least - more;
        mean_chance[static_cast<std::size_t>(n)] += (at_least - more) / static_cast<double>(used.size());
        at_least = more;
      }
    }
    TestForm form;
    form.load = load;
    double below = 0;
    int median = 0;
    for (int n = 0; n <= kMostRepsOfTest; ++n) {
      if (n < kFewReps) form.p_few += mean_chance[static_cast<std::size_t>(n)];
      if (below < 0.1) form.reps.lo80 = n;
      if (below < 0.5) median = n;
      if (below < 0.9) form.reps.hi80 = n;
      below += mean_chance[static_cast<std::size_t>(n)];
    }
    form.reps.median = median;
    if (form.p_few >= kFewRepsChance) continue;
    const auto costs = cost_of(log_total, {1, {}, true});
    form.margin_lost = std::max(0.0, costs[0] - instead[0]);
    form.residual = std::max(0.0, costs[1] - instead[1]);
    form.minutes = kTestExtraRestS / 60 + std::max(0.0, costs[2] - instead[2]);
    const double cost = form.minutes + kMinutesPerMarginLost * form.margin_lost + kMinutesPerResidual * form.residual;

    // Without a call, then with one on the way.
    for (int back = 0; back <= kMostBack; ++back) {
      form.call_at_rep.reset();
      if (back > 0) {
        if (median - back < 2) break;
        form.call_at_rep = median - back;
      }
      double after = 0;
      std::vector<double> weights(used.size());
      for (int n = 0; n <= kMostRepsOfTest; ++n) {
        if (mean_chance[static_cast<std::size_t>(n)] < kRareOutcome) continue;
        const bool called = form.call_at_rep && *form.call_at_rep <= n;
        for (int call = 0; call <= (called ? kHighestCall : 0); ++call) {
          double chance = 0;
          for (std::size_t k = 0; k < used.size(); ++k) {
            double p = reached[k][static_cast<std::size_t>(n)];
            if (called) {
              const int reps_after = std::min(n - *form.call_at_rep, kMostAfterCall);
              p *= says[static_cast<std::size_t>(reps_after)][static_cast<std::size_t>(call)][k];
            }
            weights[k] = p;
            chance += p;
          }
          if (chance <= 0) continue;
          for (double& w : weights) w /= chance;
          after += chance / static_cast<double>(used.size()) * doubt.sum(weights);
        }
      }
      form.gain = before - after;
      form.sd_before = before / doubt.total();
      form.sd_after = after / doubt.total();
      form.value = form.gain / cost;
      form.worth_it = form.value >= kLeastTestValue && form.gain >= kLeastTestGain * doubt.total();
      if (!best || form.value > best->value) best = form;
    }
  }
  return best;
}

std::string test_refused(const safety::Gate& gate, const ClassPolicy& policy, const ExerciseOffer& offer,
                         bool safety_bars, Date today) {
  if (!gate.allowed()) return gate.held_text();
  if (const auto barred = gate.barred_because(offer.exercise.id)) return *barred;
  safety::FailureWish wish;
  wish.cls = offer.exercise.cls;
  wish.needs_spotter = offer.exercise.needs_spotter;
  wish.last_set = true;
  wish.test = true;
  wish.safety_bars = safety_bars;
  wish.today = today;
  wish.last_failure = offer.last_failure;
  wish.last_test = offer.last_test;
  const safety::Permission permission = safety::failure_allowed(gate, policy, wish);
  return permission.allowed ? "" : permission.because.empty() ? "not allowed" : permission.because;
}

std::optional<TestProposal> propose_test(const SessionPlan& plan, const PlanningInput& input, double times_in_horizon) {
  const LifterDraws& draws = *input.draws;
  const auto lift_of = [&](const PlanItem& item) {
    for (std::size_t i = 0; i < draws.info.size(); ++i) {
      if (draws.info[i].exercise == item.exercise && draws.info[i].side == item.side) return static_cast<int>(i);
    }
    return -1;
  };
  const auto offer_of = [&](const PlanItem& item) {
    return std::find_if(input.offers.begin(), input.offers.end(),
                        [&](const ExerciseOffer& o) { return o.exercise.id == item.exercise; });
  };
  std::vector<ComingSet> coming;
  double count = 0;
  for (const PlanItem& item : plan.items) {
    const int lift = lift_of(item);
    const auto offer = offer_of(item);
    if (lift < 0 || offer == input.offers.end()) continue;
    for (const PlanSet& set : item.sets) {
      if (set.kind != SetKind::work || set.to_failure) continue;
      const double total =
          total_load(offer->exercise, set.load, draws.info[static_cast<std::size_t>(lift)].body_mass_kg);
      if (!(total > 0)) continue;
      coming.push_back({lift,
                        std::log(total),
                        {set.reps, set.cue ? std::optional(set.cue->called) : std::nullopt, false},
                        times_in_horizon});
      count += times_in_horizon;
    }
  }
  std::optional<TestProposal> best;
  for (const PlanItem& item : plan.items) {
    const int lift = lift_of(item);
    const auto offer = offer_of(item);
    if (lift < 0 || offer == input.offers.end() || item.sets.empty() || item.sets.back().to_failure) continue;
    const ClassPolicy& policy = input.policy.of(offer->exercise.cls);
    if (!test_refused(*input.gate, policy, *offer, input.safety_bars, plan.date).empty()) continue;
    std::vector<double> totals;
    std::vector<const Buildable*> loads;
    for (const Buildable& b : offer->loads) {
      const double total = total_load(offer->exercise, b.load, draws.info[static_cast<std::size_t>(lift)].body_mass_kg);
      if (!(total > 0)) continue;
      totals.push_back(total);
      loads.push_back(&b);
    }
    const PlanSet& last = item.sets.back();
    const double last_total =
        total_load(offer->exercise, last.load, draws.info[static_cast<std::size_t>(lift)].body_mass_kg);
    if (!(last_total > 0)) continue;
    const auto form = best_rep_max_test(draws, lift, totals, coming,
                                        {last.reps, last.cue ? std::optional(last.cue->called) : std::nullopt, false},
                                        std::log(last_total), input.seed + 11);
    if (!form || !form->worth_it || (best && best->form.value >= form->value)) continue;
    best =
        TestProposal{item.exercise, item.name, item.side, loads[static_cast<std::size_t>(form->load)]->load, *form, ""};
  }
  if (!best) return best;
  const TestForm& form = best->form;
  const auto one = [](double value) { return number_text(std::round(10 * value) / 10); };
  const std::string unit = best->load.unit == Unit::mark
                               ? "mark " + number_text(best->load.amount)
                               : number_text(best->load.amount) + " " + std::string(unit_name(best->load.unit));
  best->why =
      "A rep-max test of " + best->name + " at " + unit + " as its last set (" + one(form.reps.median) +
      " reps expected" +
      (form.call_at_rep ? ", call the reserve at rep " + std::to_string(*form.call_at_rep) + ", then go on" : "") +
      ") would narrow the doubt about the reserve of the next four weeks' " +
      std::to_string(static_cast<int>(std::lround(count))) + " sets from " + one(form.sd_before) + " to " +
      one(form.sd_after) + " reps, for " + one(form.minutes) + " minutes and " + one(100 * form.residual) +
      " % of strength the next day.";
  return best;
}

}  // namespace ullage::planning
