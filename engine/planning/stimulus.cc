#include "engine/planning/stimulus.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "engine/base/normal.h"
#include "engine/base/random.h"

namespace ullage::planning {
namespace {

// One standard normal value from each of n equally likely strata, in random order.
std::vector<double> spread_normals(int n, Random& random) {
  std::vector<double> out;
  for (int i = 0; i < n; ++i) out.push_back(normal_quantile((i + random.uniform()) / n));
  for (int i = n - 1; i > 0; --i) {
    std::swap(out[static_cast<std::size_t>(i)], out[static_cast<std::size_t>(random.integer(0, i))]);
  }
  return out;
}

template <class Growth>
std::vector<GrowthRatios> tabulate(int n, std::uint64_t seed, std::uint64_t stream, Growth growth) {
  Random random(seed, stream);
  std::vector<GrowthRatios> out;
  for (const double z : spread_normals(std::max(1, n), random)) {
    GrowthRatios ratios{};
    for (int r = 0; r <= kMostShort; ++r) ratios[static_cast<std::size_t>(r)] = growth(r, z);
    out.push_back(ratios);
  }
  return out;
}

}  // namespace

double plateau_growth(double reps_short, double r50) {
  return 1 / (1 + std::pow(std::max(0.0, reps_short) / r50, kPlateauPower));
}

double linear_growth(double reps_short, double slope) { return std::max(0.0, 1 - slope * std::max(0.0, reps_short)); }

double Reading::stimulus(std::size_t draw, double reserve) const {
  const auto reps_short = static_cast<std::size_t>(std::clamp(reserve, 0.0, static_cast<double>(kMostShort)));
  const double growth = draws[draw % draws.size()][reps_short];
  return growth * growth;
}

std::array<double, kMostShort + 1> Reading::mean_stimulus() const {
  std::array<double, kMostShort + 1> out{};
  for (const GrowthRatios& ratios : draws) {
    for (std::size_t r = 0; r < out.size(); ++r) out[r] += ratios[r] * ratios[r];
  }
  for (double& value : out) value /= static_cast<double>(std::max<std::size_t>(1, draws.size()));
  return out;
}

Reading plateau_reading(int n, std::uint64_t seed) {
  return {"plateau", "common practice: little is lost within three reps of failure",
          tabulate(n, seed, 0x91a7,
                   [](int r, double z) { return plateau_growth(r, kPlateauR50 * std::exp(kPlateauLogSd * z)); })};
}

Reading linear_reading(int n, std::uint64_t seed) {
  return {
      "linear", "Robinson et al. 2024: growth falls with every rep short of failure",
      tabulate(n, seed, 0x11ea, [](int r, double z) { return linear_growth(r, kLinearSlope + kLinearSlopeSd * z); })};
}

Result<Reading> table_reading(const GrowthTable& table, int n, std::uint64_t seed) {
  if (table.name.empty()) return fail(Code::invalid_input, "reading: a name was expected");
  if (table.draws.empty()) return fail(Code::invalid_input, table.name + ": at least one draw was expected");
  for (std::size_t i = 0; i < table.draws.size(); ++i) {
    const std::string where = table.name + ", draw " + std::to_string(i + 1) + ": ";
    for (const double growth : table.draws[i]) {
      if (!(growth >= 0 && growth < 1e3))
        return fail(Code::invalid_input, where + "growth ratios of 0 to 1000 were expected");
    }
    if (std::fabs(table.draws[i][0] - 1) > 1e-9) {
      return fail(Code::invalid_input, where + "a growth ratio of 1 was expected at 0 reps short");
    }
  }
  Reading out{table.name, table.rests_on, {}};
  Random random(seed, 0x7ab1e);
  for (int i = 0; i < std::max(1, n); ++i) {
    const auto& row = table.draws[static_cast<std::size_t>(i) % table.draws.size()];
    GrowthRatios ratios{};
    const double step = std::min(0.0, row[kTableShort] - row[kTableShort - 1]);
    for (int r = 0; r <= kMostShort; ++r) {
      ratios[static_cast<std::size_t>(r)] = r <= kTableShort
                                                ? row[static_cast<std::size_t>(r)]
                                                : std::max(0.0, row[kTableShort] + step * (r - kTableShort));
    }
    out.draws.push_back(ratios);
  }
  for (std::size_t i = out.draws.size(); i > 1; --i) {
    std::swap(out.draws[i - 1], out.draws[static_cast<std::size_t>(random.integer(0, static_cast<int>(i) - 1))]);
  }
  return out;
}

double weekly_growth(double sum) { return std::sqrt(std::max(0.0, sum)); }

double weekly_strength(double sum) {
  const double sets = std::max(0.0, sum);
  return 2 * sets / (sets + 1);
}

}  // namespace ullage::planning
