// What is believed of a lifter before their first set, as data: the published priors (priors.h), or those priors
// blended with what a roster's own lifters have shown.
//
//   hints.push_back(hints_of(posterior, years, find));  // of fits made with the published priors
//   Population of_roster = pool(hints, find);           // empirical Bayes
//   log.population = std::make_shared<Population>(of_roster);
//   fit(log)                                            // the second pass
//
// How. Each lifter's posterior of an unknown, less the prior it was fitted with, is what their log alone says of it:
// normal with precision 1/s^2 - 1/s0^2. Mean and spread over lifters are then found by expectation-maximisation
// (Dempster, Laird and Rubin 1977) with a conjugate prior: the published mean counts as much as kPriorLifters lifters
// who agree with it, the published spread likewise. A lifter whose log says nothing of an unknown changes nothing; few
// lifters change little. The spread never falls below kLeastSpread of the published one, so that nobody is taken for
// known by belonging. Speeds are not pooled: a posterior does not keep them.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "engine/capacity/posterior.h"
#include "engine/capacity/priors.h"

namespace ullage::capacity {

inline constexpr double kPriorLifters = 8;
inline constexpr double kLeastSpread = 0.4;

struct Population {
  Prior log_a_fast = kLogAFast, log_a_slow = kLogASlow;
  Prior bias = kBias, log_gain = kLogGain, log_spread = kLogSpread, log_spread_rise = kLogSpreadRise;
  // Trend of a lift, in sds of capacity::trend from its mean: mean and sd over lifters' lifts.
  Prior trend_deviation{0, 1};
  std::map<std::string, Prior> endurance;       // log k by exercise id, where lifters have shown it
  std::map<std::string, Prior> strength_ratio;  // log ratio by exercise id, likewise
  int lifters = 0;                              // behind it; 0: the published priors

  Prior log_endurance(const Exercise& exercise) const;
  Prior log_strength_ratio(const Exercise& exercise) const;
  Prior trend(std::optional<double> training_years) const;
};

// The published priors.
const Population& published_population();
// Of a log: its own, else the published priors.
const Population& population_of(const TrainingLog& log);

// What one lifter's log alone says of an unknown, taken out of a posterior and the prior it was made with.
struct Hint {
  double mean = 0;
  double precision = 0;  // 0: nothing
};
Hint hint_of(const Prior& posterior, const Prior& prior);
// The published prior blended with what lifters have shown.
Prior blended(const Prior& published, const std::vector<Hint>& hints);

// What one lifter's log says of everything that is pooled. posterior: fitted with the published priors.
struct LifterHints {
  bool any = false;  // a set was logged
  Hint log_a_fast, log_a_slow, bias, log_gain, log_spread, log_spread_rise;
  std::vector<Hint> trend_deviation;                      // by lift
  std::map<std::string, Hint> endurance, strength_ratio;  // by exercise id
};
LifterHints hints_of(const Posterior& posterior, std::optional<double> training_years,
                     const std::function<const Exercise*(const std::string&)>& find);
// An exercise needs three lifters who have shown something of it.
Population pool(const std::vector<LifterHints>& lifters,
                const std::function<const Exercise*(const std::string&)>& find);

// Exact text of a population and back; empty when it is not one of this version.
std::string population_text(const Population& population);
std::optional<Population> parse_population(const std::string& text);

}  // namespace ullage::capacity
