// The program's fit held against the full sampler's summaries of the same logs (science/results/stan_*.csv).
//
// What must hold: means of strength, log k and b within 0.15 of the sampler's sd with a ratio of sds of 0.92 to 1.09;
// means of log A_fast, log A_slow and log g within 0.20 sd; the chance of finishing a set within 0.02 of the sampler's.
#pragma once

#include <cmath>
#include <cstdio>
#include <ctime>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "engine/capacity/fit.h"
#include "engine/capacity/latent_field.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/session_forecast.h"
#include "science/stan/fixed_logs.h"

namespace ullage::science {

using Row = std::vector<std::string>;

// Rows below the header; no quoted fields.
inline std::vector<Row> table_of(const std::string& path) {
  std::ifstream in(path);
  std::vector<Row> rows;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    Row row;
    std::istringstream fields(line);
    for (std::string field; std::getline(fields, field, ',');) row.push_back(field);
    rows.push_back(row);
  }
  return rows;
}

// ---- Log density -------------------------------------------------------------------------------------------------

// A point of the field as the sampler wrote it: scales, every unknown by name, and the log density there.
struct DensityPoint {
  std::string log;
  int number = 0;
  std::map<std::string, double> value;
  double at(const std::string& name) const {
    const auto found = value.find(name);
    return found == value.end() ? std::nan("") : found->second;
  }
};

inline std::vector<DensityPoint> density_points(const std::string& science) {
  std::vector<DensityPoint> out;
  for (const Row& row : table_of(science + "/results/stan_log_density.csv")) {
    const int number = std::stoi(row[1]);
    if (out.empty() || out.back().log != row[0] || out.back().number != number) out.push_back({row[0], number, {}});
    out.back().value[row[2]] = std::stod(row[3]);
  }
  return out;
}

// The program's log density at that point.
inline double engine_density(const capacity::TrainingLog& log, const DensityPoint& point) {
  using namespace capacity;
  LatentField field(log);
  const FieldLayout& f = field.layout();
  Eigen::VectorXd at = Eigen::VectorXd::Constant(f.size, std::nan(""));
  const auto indexed = [&](const std::string& name, std::size_t i) {
    return point.at(name + "[" + std::to_string(i) + "]");
  };
  const int shared[] = {f.general, f.log_a_fast, f.log_a_slow, f.log_tau_fast,    f.logit_lam, f.log_a_day,
                        f.bias,    f.log_gain,   f.log_spread, f.log_spread_rise, f.cue_shift, f.log_layoff};
  for (std::size_t i = 0; i < std::size(shared); ++i) at(shared[i]) = indexed("shared", i + 1);
  for (std::size_t c = 0; c < 3; ++c) at(f.log_stopping[c]) = indexed("log_stopping", c + 1);
  std::size_t speeds = 0, learned = 0, visit = 0;
  for (std::size_t e = 0; e < log.exercises.size(); ++e) {
    at(f.log_endurance[e]) = indexed("log_endurance", e + 1);
    if (f.speed[e] < 0) continue;
    ++speeds;
    for (int i = 0; i < 3; ++i) {
      at(f.speed[e] + i) = point.at("speed_shared[" + std::to_string(speeds) + "." + std::to_string(i + 1) + "]");
    }
  }
  for (std::size_t l = 0; l < log.lifts.size(); ++l) {
    if (f.practice[l] >= 0) at(f.practice[l]) = indexed("practice", ++learned);
    for (std::size_t j = 0; j < f.strength[l].size(); ++j) {
      ++visit;
      at(f.strength[l][j]) = indexed("strength", visit);
      at(f.trend[l][j]) = indexed("trend", visit);
    }
  }
  for (std::size_t s = 0; s < f.readiness.size(); ++s) at(f.readiness[s]) = indexed("readiness", s + 1);
  const Scales scales{indexed("scales", 1), indexed("scales", 2), indexed("scales", 3)};
  // Residual fatigue of a session depends on that of earlier ones: frozen until it stands.
  for (int i = 0; i < 8; ++i) field.freeze(at, scales);
  LatentField::Terms terms;
  field.evaluate(at, scales, 0, terms);
  return terms.value;
}

// ---- Posterior ---------------------------------------------------------------------------------------------------

struct Compared {
  std::string log, quantity;
  double sampler = 0, sampler_sd = 0;  // mean and sd; of a chance: the chance, 0
  double engine = 0, engine_sd = 0;
  double error = 0;       // Monte Carlo standard error of the sampler's mean
  double mean_bound = 0;  // in sds; of a chance: as it is
  bool sd_bound = false;  // the ratio of sds must hold too
  double off() const { return sampler_sd > 0 ? (engine - sampler) / sampler_sd : engine - sampler; }
  double ratio() const { return sampler_sd > 0 ? engine_sd / sampler_sd : 1; }
  bool bounded() const { return mean_bound > 0; }
  bool mean_holds() const { return !bounded() || std::fabs(off()) <= mean_bound; }
  bool sd_holds() const { return !sd_bound || (ratio() >= 0.92 && ratio() <= 1.09); }
};

template <class Mean, class Variance>
capacity::Prior mixture_moments(const capacity::Posterior& p, const Mean& mean_of, const Variance& variance_of) {
  double weight = 0, mean = 0, square = 0;
  for (const capacity::Component& c : p.components) {
    const double here = mean_of(c);
    weight += c.weight;
    mean += c.weight * here;
    square += c.weight * (variance_of(c) + here * here);
  }
  mean /= weight;
  return {mean, std::sqrt(square / weight - mean * mean)};
}
inline capacity::Prior mixture_moments(const capacity::Posterior& p, int variable) {
  using capacity::Component;
  return mixture_moments(
      p, [&](const Component& c) { return c.mean(variable); },
      [&](const Component& c) { return c.covariance(variable, variable); });
}
// Of the log of a scale.
inline capacity::Prior mixture_moments(const capacity::Posterior& p, double capacity::Component::* scale) {
  using capacity::Component;
  return mixture_moments(
      p, [&](const Component& c) { return std::log(c.*scale); }, [](const Component&) { return 0.0; });
}

// Chance of finishing a set a week after the last one: `before` sets of the same load and reps come first.
inline double engine_finish(const capacity::Posterior& p, const std::string& exercise, double load, int reps,
                            int before, double rest_minutes) {
  double sum = 0;
  constexpr int kTimes = 4;
  for (int seed = 1; seed <= kTimes; ++seed) {
    const capacity::LifterDraws draws =
        p.draw({{*library::builtin().find(exercise)}}, p.as_of + 7, 80, 4000, static_cast<std::uint64_t>(seed));
    capacity::SessionForecast forecast(draws, static_cast<std::uint64_t>(seed));
    for (int i = 0; i < before; ++i) {
      forecast.perform(0, std::log(load), {.reps = reps});
      forecast.rest(Minutes{rest_minutes});
    }
    sum += forecast.look(0, std::log(load), {.reps = reps}).p_complete;
  }
  return sum / kTimes;
}

// What stood in science/results/stan_comparison.csv for a quantity: how far off it was, and whether the bounds held.
struct Stated {
  double off = 0, ratio = 0;
  bool mean_holds = false, sd_holds = false;
};
inline std::map<std::pair<std::string, std::string>, Stated> stated(const std::string& science) {
  std::map<std::pair<std::string, std::string>, Stated> out;
  for (const Row& row : table_of(science + "/results/stan_comparison.csv")) {
    out[{row[0], row[1]}] = {std::stod(row[6]), std::stod(row[7]), row[9] == "1", row[10] == "1"};
  }
  return out;
}
// Empty when this is no worse than what was stated, else what got worse. A bound that held must hold; a miss may move
// by what compilers and the drawing of forecasts move it.
inline std::string worse_than(const Stated& was, const Compared& now) {
  const double slack = now.sampler_sd > 0 ? 0.03 : 0.003;
  char text[200] = "";
  if (!now.mean_holds() && (was.mean_holds || std::fabs(now.off()) > std::fabs(was.off) + slack)) {
    std::snprintf(text, sizeof text, "%s %s: off by %.3f, stated %.3f, bound %.2f", now.log.c_str(),
                  now.quantity.c_str(), now.off(), was.off, now.mean_bound);
  }
  const auto unequal = [](double ratio) { return std::fabs(std::log(ratio)); };
  if (!now.sd_holds() && (was.sd_holds || unequal(now.ratio()) > unequal(was.ratio) + slack)) {
    std::snprintf(text, sizeof text, "%s %s: ratio of sds %.3f, stated %.3f, bounds 0.92 to 1.09", now.log.c_str(),
                  now.quantity.c_str(), now.ratio(), was.ratio);
  }
  return text;
}

// Every quantity of the sampler's summaries for this log that the program estimates too.
// fit_seconds: processor time of the fit alone.
inline std::vector<Compared> compare(const std::string& science, const FixedLog& fixed, double* fit_seconds = nullptr) {
  std::vector<Compared> out;
  const std::vector<Row> summaries = table_of(science + "/results/stan_posterior.csv");
  bool sampled = false;
  for (const Row& row : summaries) sampled = sampled || row[0] == fixed.name;
  if (!sampled) return out;
  const capacity::TrainingLog log = prepared(fixed, read_fixed_log(science, fixed));
  const std::clock_t begin = std::clock();
  capacity::FitOptions options;
  options.as_written = true;  // as the sampler takes them
  const auto fitted = capacity::fit(log, options);
  if (fit_seconds) *fit_seconds = static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
  if (!fitted) return out;
  const capacity::Posterior& p = *fitted;
  const auto& i = p.index;
  const std::map<std::string, int> shared{
      {"general", i.general},           {"log_a_fast", i.log_a_fast}, {"log_a_slow", i.log_a_slow},
      {"log_tau_fast", i.log_tau_fast}, {"logit_lam", i.logit_lam},   {"bias", i.bias},
      {"log_gain", i.log_gain},         {"log_spread", i.log_spread}, {"log_spread_rise", i.log_spread_rise},
      {"cue_shift", i.cue_shift}};
  const std::map<std::string, double capacity::Component::*> scales{{"log_sigma", &capacity::Component::sigma},
                                                                    {"log_drift", &capacity::Component::drift},
                                                                    {"log_day_sd", &capacity::Component::day_sd}};
  for (const Row& row : summaries) {
    if (row[0] != fixed.name) continue;
    const std::size_t colon = row[1].find(':');
    const std::string kind = row[1].substr(0, colon);
    int variable = -1;
    if (colon == std::string::npos) {
      const auto found = shared.find(kind);
      if (found != shared.end()) variable = found->second;
    } else {
      const int lift = p.find_lift(row[1].substr(colon + 1), Side::both);
      if (lift < 0) continue;
      const auto l = static_cast<std::size_t>(lift);
      if (kind == "strength") variable = i.strength[l];
      if (kind == "trend") variable = i.trend[l];
      if (kind == "log_k") variable = i.log_endurance[static_cast<std::size_t>(p.lifts[l].endurance_index)];
    }
    const auto scale = scales.find(kind);
    if (variable < 0 && scale == scales.end()) continue;
    Compared c;
    c.log = fixed.name;
    c.quantity = row[1];
    c.sampler = std::stod(row[2]);
    c.sampler_sd = std::stod(row[3]);
    c.error = std::stod(row[4]);
    const capacity::Prior engine =
        scale == scales.end() ? mixture_moments(p, variable) : mixture_moments(p, scale->second);
    c.engine = engine.mean;
    c.engine_sd = engine.sd;
    c.sd_bound = kind == "strength" || kind == "log_k" || kind == "bias";
    const bool looser = kind == "log_a_fast" || kind == "log_a_slow" || kind == "log_gain";
    c.mean_bound = c.sd_bound ? 0.15 : looser ? 0.20 : 0;
    out.push_back(c);
  }
  for (const Row& row : table_of(science + "/results/stan_finish.csv")) {
    if (row[0] != fixed.name) continue;
    Compared c;
    c.log = fixed.name;
    c.quantity = "finish:" + row[1] + " " + row[2] + " kg x " + row[3] +
                 (row[4] == "0" ? "" : " set " + std::to_string(std::stoi(row[4]) + 1));
    c.sampler = std::stod(row[6]);
    c.error = std::stod(row[7]);
    c.engine = engine_finish(p, row[1], std::stod(row[2]), std::stoi(row[3]), std::stoi(row[4]), std::stod(row[5]));
    c.mean_bound = 0.02;
    out.push_back(c);
  }
  return out;
}

}  // namespace ullage::science
