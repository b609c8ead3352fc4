// What a set is worth as a stimulus, under readings of the published work that disagree.
//
//   stimulus of a set for a muscle = involvement * g(r),   g(r) = G(r)^2,   1 = one set to failure
//
// r: whole reps short of failure, floor of the true reserve. G(r): growth at equal sets, as a ratio to sets to failure.
// Growth rises with the square root of the weekly sum (weekly_growth), so a ratio G at equal sets means g = G^2.
// Involvement: 1 direct, 0.5 indirect: published fractional counting, T05-037 (Pelland et al. 2024); shares between
// and below are the exercise library's own (assumption).
//
// Readings of G, each carried as draws of its parameters, so that doubt about the evidence stays in the result:
//   plateau   G = 1/(1 + (r/r50)^4), r50 about 9, log sd 0.4 (assumption): common practice, nearly all of the benefit
//   is
//             had within two to three reps of failure. For it: comparisons at equal volume with little difference
//             (T05-006..011, T05-017..022). Against it: light loads (T05-013..016), which the reserve policy covers by
//             its rule that light isolation sets must end within two to three.
//   linear    G = max(0, 1 - s r), s ~ N(0.048, 0.017): -0.0193 (0.0067, from p = 0.004) SMCR per rep short, the data
//   of
//             Robinson et al. 2024 run again by a third party (doi 10.1007/s40279-024-02069-2), on a typical effect of
//             about 0.4 (assumption).
//   others    a table of G at 0..10 reps short with draws: a dose-response fitted to the coach's own evidence.
// Strength has no slope in r (T05-001, T05-006): there every reserve counts as 1, and what counts is heavy practice.
//
// Assumption that fails first: one G for all loads, exercises and people.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "engine/base/result.h"

namespace ullage::planning {

inline constexpr double kPlateauR50 = 9, kPlateauLogSd = 0.4;          // (assumption)
inline constexpr double kPlateauPower = 4;                             // (assumption)
inline constexpr double kLinearSlope = 0.048, kLinearSlopeSd = 0.017;  // see top
inline constexpr int kTableShort = 10;                                 // last r of a table
inline constexpr int kMostShort = 30;                                  // readings are kept up to here

// G at r whole reps short of failure; r >= 0, r50 > 0.
double plateau_growth(double reps_short, double r50);
double linear_growth(double reps_short, double slope);

// G at 0..kMostShort reps short.
using GrowthRatios = std::array<double, kMostShort + 1>;

// One reading of the evidence: equally likely curves.
struct Reading {
  std::string name;      // "plateau", "linear", or the table's
  std::string rests_on;  // one line
  std::vector<GrowthRatios> draws;

  // g of a set that ended with this true reserve (reps, real; below 0 counts as 0), in one draw.
  double stimulus(std::size_t draw, double reserve) const;
  // Mean over the draws of g at r = 0..kMostShort. Cost: draws x 31.
  std::array<double, kMostShort + 1> mean_stimulus() const;
};

// Parameters spread evenly over their distribution, in random order. n >= 1. Same seed, same draws.
Reading plateau_reading(int n, std::uint64_t seed);
Reading linear_reading(int n, std::uint64_t seed);

// A reading made elsewhere, such as a fitted dose-response.
struct GrowthTable {
  std::string name;
  std::string rests_on;
  std::vector<std::array<double, kTableShort + 1>> draws;  // G at 0..10 reps short; G(0) = 1, all finite and >= 0
};
// n draws of the table in random order, each as often as the others as nearly as n allows. Beyond 10 reps short the
// last step goes on, if it falls, down to 0. invalid_input: no name, no draws, a value out of range, G(0) not 1.
Result<Reading> table_reading(const GrowthTable& table, int n, std::uint64_t seed);

// g of a set for strength: the same at every reserve (T05-001: slope per rep not different from zero).
inline double strength_stimulus(double) { return 1; }

// Growth per muscle and week, in units of one weekly set to failure: square root of the summed stimulus. Published form
// from memory (T05-041), diminishing returns verified (T05-039). sum >= 0.
double weekly_growth(double sum);
// Strength per lift and week: reciprocal form s/(s + 1), times 2 so that one weekly set is 1 (T05-041, from memory; the
// half-way point of one set is an assumption): returns diminish much faster than for growth (T05-039).
double weekly_strength(double sum);

}  // namespace ullage::planning
