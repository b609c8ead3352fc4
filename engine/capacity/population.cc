#include "engine/capacity/population.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>

namespace ullage::capacity {
namespace {

constexpr int kLeastLifters = 3;
constexpr int kTextVersion = 1;

Prior moments(const std::vector<Component>& components, const std::function<double(const Component&)>& mean_of,
              const std::function<double(const Component&)>& variance_of) {
  double mean = 0, square = 0;
  for (const Component& c : components) {
    const double m = mean_of(c);
    mean += c.weight * m;
    square += c.weight * (variance_of(c) + m * m);
  }
  return {mean, std::sqrt(std::max(1e-12, square - mean * mean))};
}

Prior of_variable(const Posterior& p, int variable) {
  return moments(
      p.components, [&](const Component& c) { return c.mean(variable); },
      [&](const Component& c) { return c.covariance(variable, variable); });
}

Prior of_difference(const Posterior& p, int a, int b) {
  return moments(
      p.components, [&](const Component& c) { return c.mean(a) - c.mean(b); },
      [&](const Component& c) { return c.covariance(a, a) + c.covariance(b, b) - 2 * c.covariance(a, b); });
}

std::string number(double value) {
  std::array<char, 40> text{};
  std::snprintf(text.data(), text.size(), "%.17g", value);
  return text.data();
}

}  // namespace

Prior Population::log_endurance(const Exercise& exercise) const {
  const auto found = endurance.find(exercise.id);
  return found == endurance.end() ? capacity::log_endurance(exercise) : found->second;
}

Prior Population::log_strength_ratio(const Exercise& exercise) const {
  const auto found = strength_ratio.find(exercise.id);
  return found == strength_ratio.end() ? capacity::log_strength_ratio(exercise) : found->second;
}

Prior Population::trend(std::optional<double> training_years) const {
  const Prior published = capacity::trend(training_years);
  return {published.mean + trend_deviation.mean * published.sd, trend_deviation.sd * published.sd};
}

const Population& published_population() {
  static const Population kPublished;
  return kPublished;
}

const Population& population_of(const TrainingLog& log) {
  return log.population ? *log.population : published_population();
}

Hint hint_of(const Prior& posterior, const Prior& prior) {
  const double precision = posterior.precision() - prior.precision();
  // Less than a twentieth of the prior's own: rounding and the approximations of the fit.
  if (!(precision > 0.05 * prior.precision())) return {};
  return {(posterior.mean * posterior.precision() - prior.mean * prior.precision()) / precision, precision};
}

Prior blended(const Prior& published, const std::vector<Hint>& hints) {
  double mean = published.mean;
  double variance = published.sd * published.sd;
  const double least = kLeastSpread * kLeastSpread * variance;
  const double prior_variance = variance;
  for (int round = 0; round < 200; ++round) {
    double sum = kPriorLifters * published.mean, count = kPriorLifters;
    std::vector<Prior> each;
    for (const Hint& h : hints) {
      if (h.precision <= 0) continue;
      const double v = 1 / (h.precision + 1 / variance);
      each.push_back({v * (h.precision * h.mean + mean / variance), std::sqrt(v)});
      sum += each.back().mean;
      count += 1;
    }
    const double next_mean = sum / count;
    double squares =
        kPriorLifters * prior_variance + kPriorLifters * (next_mean - published.mean) * (next_mean - published.mean);
    for (const Prior& e : each) squares += e.sd * e.sd + (e.mean - next_mean) * (e.mean - next_mean);
    const double next_variance = std::max(least, squares / count);
    const bool still = std::fabs(next_mean - mean) < 1e-9 && std::fabs(next_variance - variance) < 1e-12;
    mean = next_mean;
    variance = next_variance;
    if (still) break;
  }
  // Doubt about the mean itself is part of what is believed of the next lifter.
  double count = kPriorLifters;
  for (const Hint& h : hints) count += h.precision > 0 ? variance * h.precision / (1 + variance * h.precision) : 0;
  return {mean, std::sqrt(variance * (1 + 1 / count))};
}

LifterHints hints_of(const Posterior& p, std::optional<double> training_years,
                     const std::function<const Exercise*(const std::string&)>& find) {
  LifterHints out;
  out.any = p.set_count > 0;
  out.log_a_fast = hint_of(of_variable(p, p.index.log_a_fast), kLogAFast);
  out.log_a_slow = hint_of(of_variable(p, p.index.log_a_slow), kLogASlow);
  out.bias = hint_of(of_variable(p, p.index.bias), kBias);
  out.log_gain = hint_of(of_variable(p, p.index.log_gain), kLogGain);
  out.log_spread = hint_of(of_variable(p, p.index.log_spread), kLogSpread);
  out.log_spread_rise = hint_of(of_variable(p, p.index.log_spread_rise), kLogSpreadRise);
  const Prior usual = capacity::trend(training_years);
  for (std::size_t i = 0; i < p.lifts.size(); ++i) {
    const LiftSummary& lift = p.lifts[i];
    const Prior v = of_variable(p, p.index.trend[i]);
    Hint trend = hint_of({(v.mean - usual.mean) / usual.sd, v.sd / usual.sd}, {0, 1});
    // Lifts of one lifter go together more than those of strangers: each counts for less than a lifter.
    trend.precision *= 0.5;
    out.trend_deviation.push_back(trend);
    const Exercise* exercise = find(lift.exercise);
    if (!exercise || out.endurance.count(lift.exercise)) continue;
    const Prior k = of_variable(p, p.index.log_endurance[static_cast<std::size_t>(lift.endurance_index)]);
    out.endurance[lift.exercise] = hint_of(k, capacity::log_endurance(*exercise));
    if (lift.marks) continue;
    Prior d = of_difference(p, p.index.strength[i], p.index.general);
    d.mean -= p.trend_mean * (lift.last - lift.first);
    out.strength_ratio[lift.exercise] = hint_of(d, capacity::log_strength_ratio(*exercise));
  }
  return out;
}

Population pool(const std::vector<LifterHints>& lifters,
                const std::function<const Exercise*(const std::string&)>& find) {
  Population out;
  std::vector<Hint> trends;
  std::map<std::string, std::vector<Hint>> endurance, ratio;
  for (const LifterHints& l : lifters) {
    out.lifters += l.any ? 1 : 0;
    trends.insert(trends.end(), l.trend_deviation.begin(), l.trend_deviation.end());
    for (const auto& [id, hint] : l.endurance) endurance[id].push_back(hint);
    for (const auto& [id, hint] : l.strength_ratio) ratio[id].push_back(hint);
  }
  const auto blend = [&](Hint LifterHints::* which, Prior& into) {
    std::vector<Hint> hints;
    for (const LifterHints& l : lifters) hints.push_back(l.*which);
    into = blended(into, hints);
  };
  blend(&LifterHints::log_a_fast, out.log_a_fast);
  blend(&LifterHints::log_a_slow, out.log_a_slow);
  blend(&LifterHints::bias, out.bias);
  blend(&LifterHints::log_gain, out.log_gain);
  blend(&LifterHints::log_spread, out.log_spread);
  blend(&LifterHints::log_spread_rise, out.log_spread_rise);
  out.trend_deviation = blended(out.trend_deviation, trends);
  const auto fill = [&](const std::map<std::string, std::vector<Hint>>& all, std::map<std::string, Prior>& into,
                        const std::function<Prior(const Exercise&)>& published) {
    for (const auto& [id, hints] : all) {
      const auto told = std::count_if(hints.begin(), hints.end(), [](const Hint& h) { return h.precision > 0; });
      if (told >= kLeastLifters) into[id] = blended(published(*find(id)), hints);
    }
  };
  fill(endurance, out.endurance, [](const Exercise& e) { return capacity::log_endurance(e); });
  fill(ratio, out.strength_ratio, [](const Exercise& e) { return capacity::log_strength_ratio(e); });
  return out;
}

std::string population_text(const Population& p) {
  std::string out = "population " + std::to_string(kTextVersion) + " " + std::to_string(kModelVersion) + " " +
                    std::to_string(p.lifters) + "\n";
  const auto line = [&](const std::string& name, const Prior& prior) {
    out += name + " " + number(prior.mean) + " " + number(prior.sd) + "\n";
  };
  line("log_a_fast", p.log_a_fast);
  line("log_a_slow", p.log_a_slow);
  line("bias", p.bias);
  line("log_gain", p.log_gain);
  line("log_spread", p.log_spread);
  line("log_spread_rise", p.log_spread_rise);
  line("trend_deviation", p.trend_deviation);
  for (const auto& [id, prior] : p.endurance) line("endurance:" + id, prior);
  for (const auto& [id, prior] : p.strength_ratio) line("ratio:" + id, prior);
  return out;
}

std::optional<Population> parse_population(const std::string& text) {
  Population p;
  const std::string head = "population " + std::to_string(kTextVersion) + " " + std::to_string(kModelVersion) + " ";
  if (text.rfind(head, 0) != 0) return {};
  p.lifters = std::atoi(text.c_str() + head.size());
  std::size_t at = text.find('\n');
  while (at != std::string::npos && at + 1 < text.size()) {
    const std::size_t end = text.find('\n', at + 1);
    const std::string line = text.substr(at + 1, end == std::string::npos ? end : end - at - 1);
    at = end;
    const std::size_t space = line.find(' ');
    if (space == std::string::npos) return {};
    const std::string name = line.substr(0, space);
    char* rest = nullptr;
    Prior prior;
    prior.mean = std::strtod(line.c_str() + space, &rest);
    prior.sd = std::strtod(rest, nullptr);
    if (!std::isfinite(prior.mean) || !(prior.sd > 0) || !std::isfinite(prior.sd)) return {};
    if (name == "log_a_fast")
      p.log_a_fast = prior;
    else if (name == "log_a_slow")
      p.log_a_slow = prior;
    else if (name == "bias")
      p.bias = prior;
    else if (name == "log_gain")
      p.log_gain = prior;
    else if (name == "log_spread")
      p.log_spread = prior;
    else if (name == "log_spread_rise")
      p.log_spread_rise = prior;
    else if (name == "trend_deviation")
      p.trend_deviation = prior;
    else if (name.rfind("endurance:", 0) == 0)
      p.endurance[name.substr(10)] = prior;
    else if (name.rfind("ratio:", 0) == 0)
      p.strength_ratio[name.substr(6)] = prior;
    else
      return {};
  }
  return p;
}

}  // namespace ullage::capacity
