#include "engine/base/normal_mixture.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/base/normal.h"

namespace ullage {
namespace {

MixtureMoments from_sums(double weight, double first, double second) {
  const double mean = first / weight;
  return {mean, std::sqrt(std::max(0.0, second / weight - mean * mean))};
}

}  // namespace

MixtureMoments moments(const NormalMixture& mixture) {
  // About the first mean, so that nothing cancels where all parts lie together far from 0.
  const double about = mixture.empty() ? 0 : mixture.front().mean;
  double weight = 0, first = 0, second = 0;
  for (const NormalPart& part : mixture) {
    const double off = part.mean - about;
    weight += part.weight;
    first += part.weight * off;
    second += part.weight * (part.sd * part.sd + off * off);
  }
  MixtureMoments out = from_sums(weight, first, second);
  out.mean += about;
  return out;
}

MixtureMoments exp_moments(const NormalMixture& mixture, double least) {
  double weight = 0, first = 0, second = 0;
  for (const NormalPart& part : mixture) {
    const double variance = part.sd * part.sd;
    // Below a the floor, above it the tail of the log-normal's moments.
    const double a = least > 0 ? (std::log(least) - part.mean) / part.sd : -std::numeric_limits<double>::infinity();
    const double below = normal_cdf(a);
    weight += part.weight;
    first += part.weight * (least * below + std::exp(part.mean + 0.5 * variance) * normal_cdf(part.sd - a));
    second +=
        part.weight * (least * least * below + std::exp(2 * (part.mean + variance)) * normal_cdf(2 * part.sd - a));
  }
  return from_sums(weight, first, second);
}

double quantile(const NormalMixture& mixture, double p) {
  const double z = normal_quantile(p);
  double low = std::numeric_limits<double>::infinity(), high = -low, weight = 0;
  for (const NormalPart& part : mixture) {
    if (!(part.weight > 0)) continue;
    low = std::min(low, part.mean + z * part.sd);
    high = std::max(high, part.mean + z * part.sd);
    weight += part.weight;
  }
  const MixtureMoments all = moments(mixture);
  const double close = 1e-11 * all.sd;
  double x = std::clamp(all.mean + z * all.sd, low, high);
  for (int step = 0; step < 80 && high - low > close; ++step) {
    double over = -p * weight, density = 0;
    for (const NormalPart& part : mixture) {
      if (!(part.weight > 0)) continue;
      if (!(part.sd > 0)) {
        over += x >= part.mean ? part.weight : 0;
        continue;
      }
      const double t = (x - part.mean) / part.sd;
      over += part.weight * normal_cdf(t);
      density += part.weight * normal_density(t) / part.sd;
    }
    (over > 0 ? high : low) = x;
    const double move = over / density;
    if (std::fabs(move) < close) return x;
    x = x - move > low && x - move < high ? x - move : 0.5 * (low + high);
  }
  return x;
}

}  // namespace ullage
