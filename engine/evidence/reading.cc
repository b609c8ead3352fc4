#include "engine/evidence/reading.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <cmath>

#include "engine/base/random.h"

namespace ullage::evidence {

Result<Eigen::MatrixXd> rows_along(const Terms& terms, const std::vector<Column>& columns, const std::string& along,
                                   const std::vector<double>& at) {
  const Column* column = find_column(columns, along);
  const std::vector<std::string> needed = terms.columns();
  if (!column || std::find(needed.begin(), needed.end(), along) == needed.end())
    return fail(Code::invalid_input, "the fit has no term in \"" + along + "\": give it as a moderator");
  if (!column->numeric || !terms.levels(along).empty())
    return fail(Code::invalid_input, "\"" + along + "\" is a list of levels in this fit: a curve needs numbers");
  std::vector<Column> held;
  for (const std::string& name : needed) {
    const Column& from = *find_column(columns, name);
    const std::vector<std::string> levels = terms.levels(name);
    Column to{name, from.numeric && levels.empty(), {}, {}};
    double mean = 0;
    if (to.numeric) {
      for (const double x : from.numbers) mean += x / static_cast<double>(from.numbers.size());
      for (const double x : at) to.numbers.push_back(name == along ? x : mean);
    } else {
      to.words.assign(at.size(), levels.front());
    }
    held.push_back(std::move(to));
  }
  return terms.matrix(held);
}

Result<std::vector<CurvePoint>> fitted_curve(const Terms& terms, const std::vector<Column>& columns, const Summary& fit,
                                             const std::string& along, const std::vector<double>& at) {
  const auto rows = rows_along(terms, columns, along, at);
  if (!rows) return tl::unexpected(rows.error());
  std::vector<CurvePoint> out;
  for (std::size_t i = 0; i < at.size(); ++i) {
    const Eigen::VectorXd x = rows->row(static_cast<Eigen::Index>(i)).transpose();
    CurvePoint p;
    p.x = at[i];
    p.estimate = x.dot(fit.estimate);
    const double variance = x.dot(fit.covariance * x);
    const double mean = fit.critical * std::sqrt(variance),
                 one = fit.critical * std::sqrt(variance + fit.heterogeneity);
    p.interval = {p.estimate - mean, p.estimate + mean};
    p.prediction = {p.estimate - one, p.estimate + one};
    out.push_back(p);
  }
  return out;
}

Result<GrowthReading> growth_reading(const Terms& terms, const std::vector<Column>& columns, const Summary& fit,
                                     const ReadingWish& wish) {
  std::vector<double> at;
  for (int r = 0; r <= kReadingReps; ++r) at.push_back(r);
  const auto rows = rows_along(terms, columns, wish.along, at);
  if (!rows) return tl::unexpected(rows.error());
  if (wish.kind == EffectKind::contrast && !(wish.typical > 0))
    return fail(Code::invalid_input, "the typical gain at failure must be above 0");
  // Draws of the curve itself: its covariance may be singular, so the coefficients are drawn.
  const Eigen::LDLT<Eigen::MatrixXd> root(fit.covariance);
  const Eigen::VectorXd scale = root.vectorD().cwiseMax(0).cwiseSqrt();
  const Eigen::MatrixXd lower = root.matrixL();
  Random random(wish.seed, 0xe71de);
  GrowthReading out{wish.name, wish.rests_on, {}, {}, {}, {}};
  int below = 0;
  for (int d = 0; d < wish.draws; ++d) {
    Eigen::VectorXd z(fit.estimate.size());
    for (double& value : z) value = random.normal();
    // Student's: all coefficients of a draw by one factor.
    if (std::isfinite(wish.df)) z /= std::sqrt(random.gamma(wish.df / 2, 1));
    const Eigen::VectorXd step = root.transpositionsP().transpose() * Eigen::VectorXd(lower * scale.cwiseProduct(z));
    const Eigen::VectorXd curve = *rows * (fit.estimate + step);
    const double typical =
        wish.kind == EffectKind::change ? curve(0) : random.log_normal(std::log(wish.typical), wish.typical_log_sd);
    if (!(typical > 0)) {
      ++below;
      continue;
    }
    GrowthRow row{};
    for (int r = 0; r <= kReadingReps; ++r) {
      const double ratio = wish.kind == EffectKind::change ? curve(r) / typical : 1 + (curve(r) - curve(0)) / typical;
      row[static_cast<std::size_t>(r)] = std::round(std::clamp(ratio, 0.0, 999.0) * 1e6) / 1e6;
    }
    row[0] = 1;
    out.draws.push_back(row);
  }
  if (below * 40 > wish.draws)
    return fail(Code::invalid_input,
                "the gain at failure is not clearly above 0 in this fit, so growth short of it cannot be given "
                "as a ratio");
  std::vector<double> sorted(out.draws.size());
  for (std::size_t r = 0; r <= static_cast<std::size_t>(kReadingReps); ++r) {
    for (std::size_t d = 0; d < out.draws.size(); ++d) sorted[d] = out.draws[d][r];
    std::sort(sorted.begin(), sorted.end());
    const auto share = [&](double p) {
      return sorted[static_cast<std::size_t>(p * static_cast<double>(sorted.size() - 1) + 0.5)];
    };
    out.median[r] = share(0.5);
    out.low80[r] = share(0.1);
    out.high80[r] = share(0.9);
  }
  return out;
}

}  // namespace ullage::evidence
