// Repetitions at a second load forecast from those at a first, for groups of people tested to failure at several loads.
//
//   Group g{"squat, women", log_k, 1, {{"T01-202", 0.75}, {"T01-203", 0.85}}};   // rows of published_values.csv
//   Pair p = pairs({g})[0];                    // from 75 to 85 %
//   p.mean.mean, p.mean.holds80(p.published)   // 9.8, true
//
// Published figures are means of a group. Three forecasts, all from the engine's curve, priors and noise:
//
// mean           of the mean of the same people. The centre of the group's log k has the prior of the exercise, in full
//                (people of one group may be alike: runners); a member's log k lies around it with the spread that
//                gives the published sd at the first load. A member's margin is -log(share of the tested 1RM) + the
//                error of that test, the same at both loads, + form of the day and set noise, anew at each. Reps are
//                whole. The two means over the n people are taken as jointly normal, and the second is conditioned on
//                the first.
// lifter         what the program says to one lifter who did the first mean and has a tested 1RM
// lifter_untold  the same without a tested 1RM: any strength is as likely
//
// Intervals of the latter two are for a set of that lifter and wider than one for a mean. The curve's shape p is taken
// as known, as the engine takes it. The formulas can use the set (from_set) or the tested 1RM (from_test), not both.
// Fresh sets only: nothing here tires. Cost: about 5 ms a pair.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/formulas.h"
#include "engine/capacity/priors.h"
#include "tests/published/published_values.h"

namespace ullage::published {

struct Level {
  const char* row;   // mean whole reps to failure, with sd and n
  double share = 1;  // of the tested 1RM
};

struct Group {
  std::string name;
  capacity::Prior log_k;
  double shape = 1;
  std::vector<Level> levels;
  double reps(std::size_t level) const { return value(levels[level].row); }
  double sd(std::size_t level) const { return published::sd(levels[level].row); }
  double people(std::size_t level) const { return std::stod(row(levels[level].row).n); }
};

struct Forecast {
  double mean = 0, lo80 = 0, hi80 = 0, lo95 = 0, hi95 = 0;  // whole reps
  bool holds80(double reps) const { return lo80 <= reps && reps <= hi80; }
  bool holds95(double reps) const { return lo95 <= reps && reps <= hi95; }
};

struct Pair {
  const Group* group = nullptr;
  std::size_t first = 0, second = 0;  // levels
  double published = 0;               // mean reps at the second
  Forecast mean, lifter, lifter_untold;
  std::array<double, capacity::kFormulas.size()> from_set{}, from_test{};  // not finite where a formula has no answer
  double members_sd = 0;  // between members at the second load, with the engine's own spread of log k
  // Share of the group's people inside the 80 % interval of a member, their reps taken as normal with the published
  // mean and sd.
  double members_inside = 0;
};

namespace detail {

// Set noise and form of the day, natural log.
inline double noise(double margin, double reps) {
  const double sd = std::hypot(std::exp(capacity::kLogSigma.mean), std::exp(capacity::kLogDaySd.mean));
  return sd * (margin > std::log(2.0) || reps > 25 ? capacity::kSigmaOutsideRange : 1);
}

// Where rising(x) = 0 between low and high, to within `close`.
template <class Rising>
double root(double low, double high, double close, const Rising& rising) {
  while (high - low > close) {
    const double middle = (low + high) / 2;
    (rising(middle) < 0 ? low : high) = middle;
  }
  return (low + high) / 2;
}

// Mean and covariance of one member's whole reps at two loads.
struct Moments {
  double mean_a = 0, mean_b = 0, aa = 0, ab = 0, bb = 0;
};

// The same people for every question: their normal deviates, each evenly spread.
class People {
 public:
  People() {
    Random random(41);
    for (auto& column : z_) {
      for (int i = 0; i < kCount; ++i) column.push_back(normal_quantile((i + 0.5) / kCount));
      for (int i = kCount - 1; i > 0; --i) {
        std::swap(column[static_cast<std::size_t>(i)], column[static_cast<std::size_t>(random.integer(0, i))]);
      }
    }
  }
  Moments at(double centre, double spread, double shape, double share_a, double share_b) const {
    Moments out;
    for (std::size_t i = 0; i < kCount; ++i) {
      const capacity::Curve curve{std::exp(centre + spread * z_[0][i]), shape};
      const auto whole = [&](double share, double z) {
        const double x = -std::log(share) + noise(0, 1) * z_[1][i];
        const double noisy = x + noise(x, capacity::reps_to_failure(x, curve)) * z;
        return std::max(0.0, std::floor(capacity::reps_to_failure(noisy, curve)));
      };
      const double a = whole(share_a, z_[2][i]), b = whole(share_b, z_[3][i]);
      out.mean_a += a / kCount, out.mean_b += b / kCount;
      out.aa += a * a / kCount, out.ab += a * b / kCount, out.bb += b * b / kCount;
    }
    out.aa -= out.mean_a * out.mean_a;
    out.ab -= out.mean_a * out.mean_b;
    out.bb -= out.mean_b * out.mean_b;
    return out;
  }

 private:
  static constexpr int kCount = 1000;
  std::array<std::vector<double>, 4> z_;  // log k, error of the strength test, noise at either load
};
inline const People& people() {
  static const People all;
  return all;
}

// Centre and spread of log k at which mean and sd at this load come out as published.
struct Fitted {
  double centre = 0, spread = 0.22;
};
inline Fitted fitted(const Group& g, std::size_t level) {
  Fitted out{g.log_k.mean};
  const double share = g.levels[level].share;
  const auto moments = [&] { return people().at(out.centre, out.spread, g.shape, share, share); };
  for (int i = 0; i < 3; ++i) {
    out.centre = root(1, 7, 1e-3, [&](double c) { return out.centre = c, moments().mean_a - g.reps(level); });
    out.spread = root(0.02, 0.8, 1e-3, [&](double s) { return out.spread = s, std::sqrt(moments().aa) - g.sd(level); });
  }
  return out;
}

inline void fill(Forecast& out, const std::function<double(double)>& quantile) {
  out.lo80 = quantile(0.1), out.hi80 = quantile(0.9), out.lo95 = quantile(0.025), out.hi95 = quantile(0.975);
}

inline Forecast of_the_mean(const Group& g, std::size_t first, std::size_t second, const Fitted& at) {
  struct Part {
    double weight, mean, sd;
  };
  std::vector<Part> parts;
  const double n = g.people(first);
  const double low = std::min(g.log_k.mean, at.centre) - 0.8, high = std::max(g.log_k.mean, at.centre) + 0.8;
  double total = 0;
  Forecast out;
  for (double centre = low; centre < high; centre += 0.04) {
    const Moments m = people().at(centre, at.spread, g.shape, g.levels[first].share, g.levels[second].share);
    const double variance = m.aa / n + 0.1 * 0.1 / 12;  // a mean is printed to a tenth
    const double off = g.reps(first) - m.mean_a, z = (centre - g.log_k.mean) / g.log_k.sd;
    const double weight = std::exp(-0.5 * (z * z + off * off / variance)) / std::sqrt(variance);
    const double gain = m.ab / n / variance;
    parts.push_back({weight, m.mean_b + gain * off, std::sqrt(m.bb / n - gain * m.ab / n)});
    total += weight;
    out.mean += weight * parts.back().mean;
  }
  out.mean /= total;
  fill(out, [&](double p) {
    return root(-10, 150, 0.01, [&](double reps) {
      double below = 0;
      for (const Part& part : parts) {
        if (part.weight > 1e-6 * total) below += part.weight * normal_cdf((reps - part.mean) / part.sd);
      }
      return below / total - p;
    });
  });
  return out;
}

}  // namespace detail

// Whole reps of a set with share `second` of the tested 1RM, by a lifter who did `reps` with share `first`. told: the
// program knows the test; otherwise only the ratio of the two loads.
inline Forecast of_one_lifter(const capacity::Prior& log_k, double shape, double first, double reps, double second,
                              bool told) {
  using namespace detail;
  struct Part {
    double weight, margin, sigma;
    capacity::Curve curve;
  };
  std::vector<Part> parts;
  constexpr int kSteps = 25;
  const auto deviate = [](int i) { return 3.5 * ((2.0 * i + 1) / kSteps - 1); };
  double total = 0;
  for (int i = 0; i < kSteps; ++i) {
    const double k = std::exp(log_k.mean + log_k.sd * deviate(i));
    const capacity::Curve curve{k, shape};
    const double from = capacity::margin_for_reps(reps, curve), to = capacity::margin_for_reps(reps + 1, curve);
    for (int j = 0; j < kSteps; ++j) {
      const double reach = told ? noise(0, 1) : 1.5 * noise((from + to) / 2, reps);
      const double x = (told ? -std::log(first) : (from + to) / 2) + reach * deviate(j);
      const double believed = reach * normal_density(deviate(i)) * (told ? normal_density(deviate(j)) : 1);
      const double sigma = noise(x, reps);
      const double second_margin = x + std::log(first / second);
      parts.push_back({believed * normal_between((from - x) / sigma, (to - x) / sigma), second_margin,
                       noise(second_margin, capacity::reps_to_failure(second_margin, curve)), curve});
      total += parts.back().weight;
    }
  }
  std::erase_if(parts, [&](const Part& p) { return p.weight < 1e-5 * total; });
  const auto at_least = [&](double c) {
    double sum = 0;
    for (const Part& p : parts) {
      sum += p.weight * normal_cdf((p.margin - capacity::margin_for_reps(c, p.curve)) / p.sigma);
    }
    return sum / total;
  };
  Forecast out;
  for (int r = 1; r < 150; ++r) {
    const double p = at_least(r);
    out.mean += p;
    if (p < 1e-5) break;
  }
  // Of the real capacity, less the half rep by which means of whole reps lie below it.
  fill(out, [&](double p) { return root(0, 150, 0.01, [&](double c) { return 1 - p - at_least(c); }) - 0.5; });
  return out;
}

// Every level from every other. The groups must outlive the pairs.
inline std::vector<Pair> pairs(const std::vector<Group>& groups) {
  using namespace capacity;
  std::vector<Pair> out;
  for (const Group& g : groups) {
    for (std::size_t i = 0; i < g.levels.size(); ++i) {
      const detail::Fitted at = detail::fitted(g, i);
      for (std::size_t j = 0; j < g.levels.size(); ++j) {
        if (i == j) continue;
        const double a = g.levels[i].share, b = g.levels[j].share;
        Pair p;
        p.group = &g, p.first = i, p.second = j, p.published = g.reps(j);
        p.mean = detail::of_the_mean(g, i, j, at);
        p.lifter = of_one_lifter(g.log_k, g.shape, a, g.reps(i), b, true);
        p.lifter_untold = of_one_lifter(g.log_k, g.shape, a, g.reps(i), b, false);
        p.members_sd = std::sqrt(detail::people().at(at.centre, detail::Fitted{}.spread, g.shape, a, b).bb);
        const double reach = normal_quantile(0.9) * p.members_sd;
        p.members_inside = normal_between((p.mean.mean - reach - p.published) / g.sd(j),
                                          (p.mean.mean + reach - p.published) / g.sd(j));
        for (std::size_t f = 0; f < kFormulas.size(); ++f) {
          const double strength = one_rep_maximum(kFormulas[f], a, g.reps(i));
          p.from_set[f] = std::isfinite(strength) ? reps_to_failure(kFormulas[f], strength, b) : NAN;
          p.from_test[f] = reps_to_failure(kFormulas[f], 1.0, b);
        }
        out.push_back(p);
      }
    }
  }
  return out;
}

}  // namespace ullage::published
