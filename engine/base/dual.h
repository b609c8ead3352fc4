// Forward-mode differentiation: a value with its N first derivatives, no heap.
//
//   Dual<2> x = Dual<2>::variable(3.0, 0), y = Dual<2>::variable(2.0, 1);
//   (x * exp(y)).gradient[1] == 3 exp(2)
//
// Functions written for `class T` take double or Dual and so stand once for value and gradient.
#pragma once

#include <array>
#include <cmath>

namespace ullage {

template <int N>
struct Dual {
  double value = 0;
  std::array<double, N> gradient{};

  Dual() = default;
  Dual(double constant) : value(constant) {}  // NOLINT(google-explicit-constructor): constants mix freely
  static Dual variable(double value, int index) {
    Dual out(value);
    out.gradient[static_cast<std::size_t>(index)] = 1;
    return out;
  }
  // f(this) with f' known.
  Dual chain(double f, double derivative) const {
    Dual out(f);
    for (std::size_t i = 0; i < N; ++i) out.gradient[i] = derivative * gradient[i];
    return out;
  }
};

template <int N>
Dual<N> operator+(const Dual<N>& a, const Dual<N>& b) {
  Dual<N> out(a.value + b.value);
  for (std::size_t i = 0; i < N; ++i) out.gradient[i] = a.gradient[i] + b.gradient[i];
  return out;
}
template <int N>
Dual<N> operator-(const Dual<N>& a, const Dual<N>& b) {
  Dual<N> out(a.value - b.value);
  for (std::size_t i = 0; i < N; ++i) out.gradient[i] = a.gradient[i] - b.gradient[i];
  return out;
}
template <int N>
Dual<N> operator*(const Dual<N>& a, const Dual<N>& b) {
  Dual<N> out(a.value * b.value);
  for (std::size_t i = 0; i < N; ++i) out.gradient[i] = a.gradient[i] * b.value + a.value * b.gradient[i];
  return out;
}
template <int N>
Dual<N> operator/(const Dual<N>& a, const Dual<N>& b) {
  Dual<N> out(a.value / b.value);
  for (std::size_t i = 0; i < N; ++i) out.gradient[i] = (a.gradient[i] - out.value * b.gradient[i]) / b.value;
  return out;
}
template <int N>
Dual<N> operator-(const Dual<N>& a) {
  return a.chain(-a.value, -1);
}
template <int N>
Dual<N> operator+(const Dual<N>& a, double b) {
  return a.chain(a.value + b, 1);
}
template <int N>
Dual<N> operator+(double a, const Dual<N>& b) {
  return b + a;
}
template <int N>
Dual<N> operator-(const Dual<N>& a, double b) {
  return a.chain(a.value - b, 1);
}
template <int N>
Dual<N> operator-(double a, const Dual<N>& b) {
  return b.chain(a - b.value, -1);
}
template <int N>
Dual<N> operator*(const Dual<N>& a, double b) {
  return a.chain(a.value * b, b);
}
template <int N>
Dual<N> operator*(double a, const Dual<N>& b) {
  return b * a;
}
template <int N>
Dual<N> operator/(const Dual<N>& a, double b) {
  return a.chain(a.value / b, 1 / b);
}
template <int N>
Dual<N> operator/(double a, const Dual<N>& b) {
  return b.chain(a / b.value, -a / (b.value * b.value));
}

template <int N>
Dual<N> exp(const Dual<N>& a) {
  const double e = std::exp(a.value);
  return a.chain(e, e);
}
template <int N>
Dual<N> expm1(const Dual<N>& a) {
  return a.chain(std::expm1(a.value), std::exp(a.value));
}
template <int N>
Dual<N> log(const Dual<N>& a) {
  return a.chain(std::log(a.value), 1 / a.value);
}
template <int N>
Dual<N> log1p(const Dual<N>& a) {
  return a.chain(std::log1p(a.value), 1 / (1 + a.value));
}

// Plain value of a double or a Dual.
inline double value_of(double a) { return a; }
template <int N>
double value_of(const Dual<N>& a) {
  return a.value;
}

}  // namespace ullage
