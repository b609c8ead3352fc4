// Expected values were computed with 40-digit arithmetic (complementary error function and its inverse) and
// rounded to 20 digits. Those at z = 0.25, 0.5, 1, 1.5, 2 and 3 are also in M. Abramowitz, I. A. Stegun,
// Handbook of Mathematical Functions, 1964, table 26.1, to the 15 decimals it prints (from memory).
#include "engine/base/normal.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <utility>
#include <vector>

namespace ullage {
namespace {

double relative_error(double got, double exact) { return std::fabs(got - exact) / std::fabs(exact); }

// exp(-z*z/2) turns the half unit in the last place of z / sqrt(2) into z*z times as much.
double tail_tolerance(double z) { return 1e-15 + 2.3e-16 * z * z; }

TEST(NormalCdf, AgreesWithHighPrecisionInBothTails) {
  const std::pair<double, double> exact[] = {{-30, 4.906713927148187059534e-198},
                                             {-20, 2.753624118606233695076e-89},
                                             {-10, 7.619853024160526065973e-24},
                                             {-8, 6.220960574271784123516e-16},
                                             {-5, 2.866515718791939116738e-7},
                                             {-3, 0.001349898031630094526652},
                                             {-2, 0.02275013194817920720028},
                                             {-1.5, 0.06680720126885806600449},
                                             {-1, 0.1586552539314570514148},
                                             {-0.5, 0.3085375387259868963623},
                                             {0, 0.5},
                                             {0.25, 0.5987063256829237242409},
                                             {0.5, 0.6914624612740131036377},
                                             {1, 0.8413447460685429485852},
                                             {1.5, 0.9331927987311419339955},
                                             {2, 0.9772498680518207927997},
                                             {3, 0.9986501019683699054733},
                                             {5, 0.9999997133484281208061}};
  for (const auto& [z, p] : exact) EXPECT_LT(relative_error(normal_cdf(z), p), tail_tolerance(z)) << "z = " << z;
}

TEST(NormalCdf, HoldsAtTheEndsOfTheLine) {
  const double infinity = std::numeric_limits<double>::infinity();
  EXPECT_EQ(normal_cdf(-infinity), 0);
  EXPECT_EQ(normal_cdf(infinity), 1);
}

TEST(NormalDensity, AgreesWithHighPrecision) {
  EXPECT_LT(relative_error(normal_density(0), 0.3989422804014326779399), 1e-15);
  EXPECT_LT(relative_error(normal_density(1), 0.2419707245191433497978), 1e-15);
  EXPECT_LT(relative_error(normal_density(-5), 1.486719514734297707908e-6), 1e-14);
}

TEST(NormalBetween, LosesNothingInEitherTail) {
  EXPECT_LT(relative_error(normal_between(7, 8), 1.279190447828407825971e-12), 2e-14);
  EXPECT_LT(relative_error(normal_between(-8, -7), 1.279190447828407825971e-12), 2e-14);
  EXPECT_LT(relative_error(normal_between(2.25, 2.5), 0.006014807329268567985646), 1e-14);
  EXPECT_LT(relative_error(normal_between(-0.5, 0.75), 0.4648351088971449043106), 1e-15);
  const double infinity = std::numeric_limits<double>::infinity();
  EXPECT_EQ(normal_between(-infinity, infinity), 1);
  EXPECT_LT(relative_error(normal_between(10, infinity), 7.619853024160526065973e-24), 3e-14);
  EXPECT_EQ(normal_between(3, 3), 0);
}

TEST(NormalLogCdf, AgreesWithHighPrecisionFarOut) {
  const std::pair<double, double> exact[] = {
      {-1e8, -5000000000000019.339619}, {-1e4, -50000010.12927891518086},  {-100, -5005.524208694205088626},
      {-31, -484.853963627179288579},   {-30, -454.3212439563431971074},   {-29.5, -439.4294746091502277538},
      {-20, -203.9171553710972639368},  {-10, -53.23128515051247057835},   {-5, -15.06499839398872573608},
      {-1, -1.841021645009263505771},   {0, -0.6931471805599453094172},    {2, -0.02301290932896348846534},
      {5, -2.866516129637635933846e-7}, {6, -9.865876455243757316915e-10}, {8, -6.220960574271786058534e-16}};
  for (const auto& [z, log_p] : exact) {
    // Up to 5 a positive z gives the log of a number close to 1, which is known to half a unit in its last place.
    const double tolerance = z > 5 ? 3e-14 * std::fabs(log_p) : 3e-15 * std::fabs(log_p) + 2.3e-16;
    EXPECT_NEAR(normal_log_cdf(z), log_p, tolerance) << "z = " << z;
  }
}

TEST(NormalLogCdf, HasNoStepWhereTheMethodChanges) {
  for (const double z : {-30.0, 5.0}) {
    const double below = normal_log_cdf(std::nextafter(z, -100.0));
    const double above = normal_log_cdf(std::nextafter(z, 100.0));
    EXPECT_NEAR(below, above, 1e-12 * std::fmax(1.0, std::fabs(above))) << z;
  }
}

TEST(NormalQuantile, AgreesWithHighPrecision) {
  const std::pair<double, double> exact[] = {
      {1e-300, -37.04709629936119923655},       {1e-100, -21.27345356096532429418}, {1e-20, -9.262340089798407579572},
      {1e-10, -6.3613409024040561991},          {1e-5, -4.264890793922824610234},   {0.001, -3.090232306167813535358},
      {0.01, -2.326347874040841093075},         {0.025, -1.95996398454005421178},   {0.05, -1.644853626951472687952},
      {0.1, -1.281551565544600435335},          {0.25, -0.6744897501960817432022},  {0.4, -0.2533471031357997413247},
      {0.49999, -0.00002506628274896000852685}, {0.6, 0.2533471031357997413247},    {0.75, 0.6744897501960817432022},
      {0.9, 1.281551565544600593487},           {0.975, 1.959963984540053855604},   {0.999, 3.090232306167813277758}};
  for (const auto& [p, z] : exact) EXPECT_LT(relative_error(normal_quantile(p), z), 1e-14) << "p = " << p;
  EXPECT_EQ(normal_quantile(0.5), 0);
}

TEST(NormalQuantile, IsTheInverseOfTheCdf) {
  for (double z = -8; z <= 5; z += 0.173) {
    EXPECT_NEAR(normal_quantile(normal_cdf(z)), z, 1e-13 + 3e-16 / normal_density(z)) << z;
  }
}

TEST(NormalQuantile, EndsAreInfinite) {
  EXPECT_EQ(normal_quantile(0), -std::numeric_limits<double>::infinity());
  EXPECT_EQ(normal_quantile(1), std::numeric_limits<double>::infinity());
}

TEST(NormalQuantile, ManyAtOnceAreTheSameToTheBit) {
  for (const std::size_t count : {0U, 1U, 3U, 4U, 63U, 64U, 65U, 1001U}) {
    std::vector<double> many(count);
    for (std::size_t i = 0; i < count; ++i) {
      many[i] = (static_cast<double>((i * 7919) % count) + 0.5) / static_cast<double>(count);
    }
    const std::vector<double> chances = many;
    normal_quantiles(many.data(), count);
    for (std::size_t i = 0; i < count; ++i) EXPECT_EQ(many[i], normal_quantile(chances[i])) << count << " " << i;
  }
}

}  // namespace
}  // namespace ullage
