// A fitted dose-response: the curve with its intervals, and the same as a reading of the stimulus that a planner can
// take.
//
// A reading is growth short of failure as a ratio to growth at failure, at 0 to 10 whole reps in reserve, as draws:
// what is not known of the curve stays in it. planning/stimulus.h takes such a table (GrowthTable).
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "engine/evidence/design.h"
#include "engine/evidence/pool.h"

namespace ullage::evidence {

struct CurvePoint {
  double x = 0, estimate = 0;
  Range interval;    // of the mean
  Range prediction;  // of a new study's true effect: adds the fit's heterogeneity
};
// Rows of the design along one numeric column; other numbers at their mean, words at their reference. Error:
// invalid_input, the column is in no term or holds words.
Result<Eigen::MatrixXd> rows_along(const Terms& terms, const std::vector<Column>& columns, const std::string& along,
                                   const std::vector<double>& at);
// The fitted mean along it. Errors as rows_along.
Result<std::vector<CurvePoint>> fitted_curve(const Terms& terms, const std::vector<Column>& columns, const Summary& fit,
                                             const std::string& along, const std::vector<double>& at);

inline constexpr int kReadingReps = 10;
using GrowthRow = std::array<double, kReadingReps + 1>;  // G at 0..10 reps in reserve, G(0) = 1

struct GrowthReading {
  std::string name;
  std::string rests_on;  // one line: studies, model, what was assumed
  std::vector<GrowthRow> draws;
  GrowthRow median{}, low80{}, high80{};
};

enum class EffectKind {
  change,   // each effect is the gain of one group: G(r) = fit(r) / fit(0)
  contrast  // each effect compares groups, more is more growth: G(r) = 1 + (fit(r) - fit(0)) / typical
};
struct ReadingWish {
  std::string name, rests_on;
  std::string along;  // the column of reps in reserve
  EffectKind kind = EffectKind::change;
  // contrast: gain of a group to failure in the effects' own unit, and the sd of its logarithm (both assumptions of the
  // asker).
  double typical = 0, typical_log_sd = 0.2;
  double df = std::numeric_limits<double>::infinity();  // of the curve's errors; draws are Student's with these
  int draws = 400;
  std::uint64_t seed = 1;
};
// Draws of the coefficients, normal or Student's; ratios below 0 become 0, six decimals are kept. Errors,
// invalid_input: as fitted_curve; the gain at failure is not clearly above 0 (more than 2.5 % of draws are at or below
// it); typical not above 0.
Result<GrowthReading> growth_reading(const Terms& terms, const std::vector<Column>& columns, const Summary& fit,
                                     const ReadingWish& wish);

}  // namespace ullage::evidence
