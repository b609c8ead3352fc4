#include "engine/base/dual.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>

namespace ullage {
namespace {

using D = Dual<2>;

// f in doubles and in Duals must agree in value, and the gradient with central differences.
template <class F>
void expect_gradient(const F& f, double a, double b) {
  const D out = f(D::variable(a, 0), D::variable(b, 1));
  EXPECT_NEAR(out.value, f(a, b), 1e-14 * std::abs(f(a, b)));
  constexpr double h = 1e-5;
  const double da = (f(a + h, b) - f(a - h, b)) / (2 * h);
  const double db = (f(a, b + h) - f(a, b - h)) / (2 * h);
  // Error of central differences: h^2 times the third derivative, about 1e-9 here, and rounding 1e-11.
  EXPECT_NEAR(out.gradient[0], da, 1e-8 * (1 + std::abs(da)));
  EXPECT_NEAR(out.gradient[1], db, 1e-8 * (1 + std::abs(db)));
}

TEST(Dual, SumsAndProducts) {
  expect_gradient([](auto a, auto b) { return a + b; }, 1.3, -0.4);
  expect_gradient([](auto a, auto b) { return a - b; }, 1.3, -0.4);
  expect_gradient([](auto a, auto b) { return a * b; }, 1.3, -0.4);
  expect_gradient([](auto a, auto b) { return a / b; }, 1.3, -0.4);
  expect_gradient([](auto a, auto b) { return -(a * b) + a; }, 1.3, -0.4);
}

TEST(Dual, ConstantsMixFromBothSides) {
  expect_gradient([](auto a, auto b) { return (2.0 + a) * (b + 3.0); }, 0.7, 1.1);
  expect_gradient([](auto a, auto b) { return (2.0 - a) * (b - 3.0); }, 0.7, 1.1);
  expect_gradient([](auto a, auto b) { return (2.0 * a) / (b * 3.0); }, 0.7, 1.1);
  expect_gradient([](auto a, auto b) { return 2.0 / a + b / 3.0; }, 0.7, 1.1);
}

TEST(Dual, Functions) {
  const auto f = [](auto a, auto b) {
    using std::exp, std::expm1, std::log, std::log1p;
    return exp(a * b) + expm1(a - b) + log(a + b) * log1p(a * a);
  };
  for (double a : {0.2, 1.0, 2.5}) {
    for (double b : {0.1, 0.9, 1.7}) expect_gradient(f, a, b);
  }
}

TEST(Dual, SmallArgumentsKeepTheirDigits) {
  EXPECT_DOUBLE_EQ(expm1(D::variable(1e-12, 0)).value, std::expm1(1e-12));
  EXPECT_DOUBLE_EQ(log1p(D::variable(1e-12, 0)).value, std::log1p(1e-12));
}

TEST(Dual, ConstantHasNoGradient) {
  const D c = 4.0;
  EXPECT_EQ(c.gradient[0], 0);
  EXPECT_EQ(c.gradient[1], 0);
  EXPECT_EQ(value_of(c), 4.0);
}

}  // namespace
}  // namespace ullage
