#include <gmock/gmock.h>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <cmath>
#include <numbers>

#include "engine/base/random.h"
#include "engine/evidence/design.h"
#include "engine/evidence/distributions.h"
#include "engine/evidence/effect_size.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/pool.h"
#include "engine/evidence/reading.h"
#include "engine/evidence/robust.h"

namespace ullage::evidence {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

// Invented effects in groups in studies.
struct Invented {
  MultilevelData data;
  std::vector<Column> columns;
};
Invented invented(int studies, int effects_each, std::uint64_t seed) {
  Random random(seed);
  Invented out;
  const int n = studies * effects_each;
  out.data.y.resize(n);
  out.data.v.resize(n);
  out.data.levels.assign(3, {});
  Column dose{"dose", true, {}, {}};
  for (int s = 0; s < studies; ++s) {
    const double study = random.normal(0.3, 0.3);
    for (int e = 0; e < effects_each; ++e) {
      const int i = s * effects_each + e;
      dose.numbers.push_back(random.uniform(0, 10));
      out.data.v(i) = random.uniform(0.02, 0.2);
      out.data.y(i) =
          study + random.normal(0, 0.15) - 0.03 * dose.numbers.back() + random.normal(0, std::sqrt(out.data.v(i)));
      out.data.levels[0].push_back(s);
      out.data.levels[1].push_back(e / 2);
      out.data.levels[2].push_back(i);
    }
  }
  out.columns = {dose};
  const auto terms = *resolve({{Shape::straight, "dose", "", {}, 3}}, out.columns);
  out.data.x = *terms.matrix(out.columns);
  out.data.names = terms.names();
  return out;
}

// ---- Effect sizes: what cannot be is refused in words.

TEST(EffectSize, RefusesTheImpossible) {
  const auto said = [](const auto& result) { return result ? std::string("accepted") : result.error().message; };
  EXPECT_THAT(said(standardised_mean_difference({10, 1, -2, 10, 0, 1})), HasSubstr("sd1 must be above 0"));
  EXPECT_THAT(said(mean_difference({1, 1, 2, 10, 0, 1})), HasSubstr("n1 must be 2 or more"));
  EXPECT_THAT(said(log_ratio_of_means({10, 1, 2, 10, -1, 1})), HasSubstr("both be above 0"));
  EXPECT_THAT(said(standardised_mean_change({10, 1, 2, 3, 1})), HasSubstr("r must lie between"));
  EXPECT_THAT(said(log_odds_ratio({12, 10, 3, 10})), HasSubstr("events1"));
  EXPECT_THAT(said(log_risk_ratio({0, 10, 0, 10})), HasSubstr("nobody in either group"));
  EXPECT_THAT(said(log_odds_ratio({10, 10, 10, 10})), HasSubstr("everybody in both"));
}

TEST(EffectSize, TheExactFactorIsCloseToItsUsualApproximation) {
  // J(m) is about 1 - 3/(4m - 1): Hedges 1981, doi 10.3102/10769986006002107.
  for (const double m : {5.0, 10.0, 50.0}) EXPECT_NEAR(small_sample_factor(m), 1 - 3 / (4 * m - 1), 0.002);
}

TEST(EffectSize, SpreadsAreWorkedOut) {
  EXPECT_DOUBLE_EQ(sd_of_change(3, 4, 0), 5);
  EXPECT_DOUBLE_EQ(sd_from_error(2, 25), 10);
  const double half = student_quantile(0.975, 24) * 10 / 5;
  EXPECT_NEAR(sd_from_interval(1 - half, 1 + half, 25), 10, 1e-12);
}

// ---- Designs.

TEST(Design, NamesTermsThatCannotBeToldApart) {
  std::vector<Column> columns{{"weeks", true, {4, 6, 8, 10, 12, 8}, {}},
                              {"days", true, {28, 42, 56, 70, 84, 56}, {}},
                              {"trained", false, {}, {"yes", "no", "yes", "no", "yes", "no"}}};
  const auto terms = *resolve({{Shape::straight, "weeks", "", {}, 3},
                               {Shape::straight, "days", "", {}, 3},
                               {Shape::straight, "trained", "", {}, 3}},
                              columns);
  EXPECT_THAT(terms.names(), ElementsAre("intercept", "weeks", "days", "trained = yes"));
  const auto told = check_design(*terms.matrix(columns), terms.names());
  ASSERT_FALSE(told);
  EXPECT_EQ(told.error().message,
            "term \"days\" follows from \"weeks\": these effects cannot tell them apart, so leave one out");
  const auto few = check_design(MatrixXd::Ones(2, 2), {"intercept", "weeks"});
  ASSERT_FALSE(few);
  EXPECT_THAT(few.error().message, HasSubstr("2 effects cannot carry 2 coefficients"));
  EXPECT_FALSE(resolve({{Shape::spline, "trained", "", {}, 3}}, columns));
  EXPECT_FALSE(resolve({{Shape::straight, "none", "", {}, 3}}, columns));
}

TEST(Design, SplinesAreStraightBeyondTheirKnots) {
  const std::vector<double> knots{1, 3, 6, 9};
  for (const double from : {-4.0, 10.0}) {
    const auto a = spline_basis(from, knots), b = spline_basis(from + 1, knots), c = spline_basis(from + 2, knots);
    for (std::size_t j = 0; j < a.size(); ++j) EXPECT_NEAR(c[j] - b[j], b[j] - a[j], 1e-9);
  }
}

// ---- Pooling.

TEST(Pool, OneLikelihoodFromTwoWays) {
  // A multilevel model with the effect level alone is the random-effects model.
  const Invented in = invented(30, 1, 3);
  MultilevelData one = in.data;
  one.levels = {in.data.levels[0]};
  PoolOptions options;
  const auto a = pool(in.data.y, in.data.v, in.data.x, in.data.names, options);
  const auto b = fit_multilevel(one);
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->tau2, b->sigma2[0], 1e-9);
  EXPECT_NEAR(a->coefficients[1].estimate, b->coefficients[1].estimate, 1e-10);
  EXPECT_NEAR(a->coefficients[1].se, b->coefficients[1].se, 1e-10);
  EXPECT_NEAR(*a->log_likelihood, *b->log_likelihood, 1e-9);
  EXPECT_NEAR(a->i2, b->i2, 1e-7);
}

TEST(Multilevel, LikelihoodIsThatOfTheWholeMatrix) {
  const Invented in = invented(6, 5, 8);
  const Index n = in.data.y.size();
  MultilevelOptions options;
  options.correlation = 0.4;
  const std::vector<double> sigma2{0.11, 0.05, 0.07};
  MatrixXd v = MatrixXd::Zero(n, n);
  for (Index i = 0; i < n; ++i) {
    for (Index j = 0; j < n; ++j) {
      const auto a = static_cast<std::size_t>(i), b = static_cast<std::size_t>(j);
      const bool study = in.data.levels[0][a] == in.data.levels[0][b];
      if (study) v(i, j) += sigma2[0];
      if (study && in.data.levels[1][a] == in.data.levels[1][b]) v(i, j) += sigma2[1];
      if (i == j) v(i, j) += sigma2[2] + in.data.v(i);
      if (study && i != j) v(i, j) += 0.4 * std::sqrt(in.data.v(i) * in.data.v(j));
    }
  }
  const MatrixXd w = v.inverse();
  const MatrixXd xwx = in.data.x.transpose() * w * in.data.x;
  const VectorXd beta = xwx.ldlt().solve(in.data.x.transpose() * w * in.data.y);
  const VectorXd e = in.data.y - in.data.x * beta;
  const double whole =
      -0.5 * ((n - 2) * std::log(2 * std::numbers::pi) + std::log(v.determinant()) + std::log(xwx.determinant()) -
              std::log((in.data.x.transpose() * in.data.x).determinant()) + e.dot(w * e));
  EXPECT_NEAR(*multilevel_log_likelihood(in.data, sigma2, options), whole, 1e-9);
}

TEST(Multilevel, LevelsThatCannotBeToldApartAreRefused) {
  Invented in = invented(8, 2, 4);
  in.data.levels = {in.data.levels[0], in.data.levels[0]};
  const auto fit = fit_multilevel(in.data);
  ASSERT_FALSE(fit);
  EXPECT_THAT(fit.error().message, HasSubstr("same groups"));
}

TEST(Robust, ClustersMustHoldWholeStudies) {
  const Invented in = invented(8, 2, 4);
  const WorkingCovariance w{in.data.v, 0, {in.data.levels[0]}, {0.1}, 0};
  const auto fit = cluster_robust(in.data.y, in.data.x, in.data.names, w, in.data.levels[2]);
  ASSERT_FALSE(fit);
  EXPECT_THAT(fit.error().message, HasSubstr("whole studies"));
  EXPECT_TRUE(cluster_robust(in.data.y, in.data.x, in.data.names, w, in.data.levels[0]));
}

TEST(Multilevel, StudiesInAnyOrderGiveTheSame) {
  const Invented in = invented(12, 4, 11);
  MultilevelData turned = in.data;
  const Index n = in.data.y.size();
  for (Index i = 0; i < n; ++i) {
    turned.y(i) = in.data.y(n - 1 - i);
    turned.v(i) = in.data.v(n - 1 - i);
    turned.x.row(i) = in.data.x.row(n - 1 - i);
    for (std::size_t l = 0; l < 3; ++l)
      turned.levels[l][static_cast<std::size_t>(i)] = 1000 - in.data.levels[l][static_cast<std::size_t>(n - 1 - i)];
  }
  const auto a = fit_multilevel(in.data), b = fit_multilevel(turned);
  ASSERT_TRUE(a && b);
  for (std::size_t l = 0; l < 3; ++l) EXPECT_NEAR(a->sigma2[l], b->sigma2[l], 1e-8);
  EXPECT_NEAR(a->coefficients[1].estimate, b->coefficients[1].estimate, 1e-9);
}

// ---- Readings.

TEST(Reading, HandsOnTheCurveWithItsDoubt) {
  const Invented in = invented(60, 3, 5);
  const auto terms = *resolve({{Shape::straight, "dose", "", {}, 3}}, in.columns);
  const auto fit = fit_multilevel(in.data);
  ASSERT_TRUE(fit);
  ReadingWish wish;
  wish.name = "own";
  wish.along = "dose";
  wish.draws = 2000;
  const auto reading = growth_reading(terms, in.columns, *fit, wish);
  ASSERT_TRUE(reading) << reading.error().message;
  const double b0 = fit->estimate(0), b1 = fit->estimate(1);
  for (int r = 0; r <= 10; r += 5)
    EXPECT_NEAR(reading->median[static_cast<std::size_t>(r)], std::max(1 + b1 * r / b0, 0.0), 0.05);
  EXPECT_EQ(reading->median[0], 1);
  EXPECT_LT(reading->low80[5], reading->median[5]);
  // Around nothing there is no ratio.
  MultilevelFit none = *fit;
  none.estimate(0) = 0;
  EXPECT_FALSE(growth_reading(terms, in.columns, none, wish));
  wish.kind = EffectKind::contrast;
  wish.typical = 0.4;
  EXPECT_TRUE(growth_reading(terms, in.columns, none, wish));
}

TEST(Reading, CurvePredictsWiderThanItsMean) {
  const Invented in = invented(40, 3, 6);
  const auto terms = *resolve({{Shape::quadratic, "dose", "", {}, 3}}, in.columns);
  MultilevelData data = in.data;
  data.x = *terms.matrix(in.columns);
  data.names = terms.names();
  const auto fit = fit_multilevel(data);
  ASSERT_TRUE(fit);
  const auto curve = fitted_curve(terms, in.columns, *fit, "dose", {0, 5, 10});
  ASSERT_TRUE(curve);
  for (const CurvePoint& p : *curve) {
    EXPECT_LT(p.prediction.low, p.interval.low);
    EXPECT_NEAR(p.estimate, fit->estimate(0) + fit->estimate(1) * p.x + fit->estimate(2) * p.x * p.x, 1e-12);
  }
  EXPECT_FALSE(fitted_curve(terms, in.columns, *fit, "weeks", {0}));
}

}  // namespace
}  // namespace ullage::evidence
