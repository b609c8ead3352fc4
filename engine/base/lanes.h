// Four doubles at once: arithmetic, exp, log and the normal distribution without branches, for integrals over many
// nodes.
//
// Lanes is a vector type of the compiler (GCC, clang, em++); operators and `mask ? a : b` work lane by lane. Each lane
// goes through the same operations in the same order on every machine, so results do not depend on how wide its
// registers are.
#pragma once

#include <array>
#include <cstdint>
#include <cstring>

#if defined(__GNUC__)
#pragma GCC diagnostic ignored "-Wpsabi"  // every function here is inlined, so how vectors are passed does not matter
#endif

namespace ullage {

typedef double Lanes __attribute__((vector_size(32)));           // NOLINT(modernize-use-using)
typedef std::int64_t LaneBits __attribute__((vector_size(32)));  // NOLINT(modernize-use-using)
inline constexpr int kLanes = 4;

// ULLAGE_WIDE before a function: compiled a second time for machines with wider registers, chosen when the program
// starts. Without fused multiply-add, which would round differently.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && defined(__OPTIMIZE__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define ULLAGE_WIDE __attribute__((target_clones("avx2", "default")))
#else
#define ULLAGE_WIDE
#endif
#define ULLAGE_INLINE inline __attribute__((always_inline))

ULLAGE_INLINE Lanes lanes(double all) { return Lanes{all, all, all, all}; }
ULLAGE_INLINE Lanes lanes_from(const double* four) {
  Lanes out;
  std::memcpy(&out, four, sizeof out);
  return out;
}
ULLAGE_INLINE double sum(const Lanes& a) { return (a[0] + a[1]) + (a[2] + a[3]); }
ULLAGE_INLINE Lanes larger(const Lanes& a, const Lanes& b) { return a > b ? a : b; }
ULLAGE_INLINE Lanes smaller(const Lanes& a, const Lanes& b) { return a < b ? a : b; }
ULLAGE_INLINE Lanes absolute(const Lanes& a) { return a < 0 ? -a : a; }

// e^x; x is held within +-700 (never infinite, never zero). Range reduction by multiples of log 2 in two parts, then
// the Taylor polynomial on +-0.347, summed in pairs of pairs so that few additions wait for each other. Relative error
// below 5e-16; rough: below 3e-10, by a polynomial of degree 8 instead of 12.
template <bool rough = false>
ULLAGE_INLINE Lanes exp(const Lanes& given) {
  const Lanes x = larger(smaller(given, lanes(700)), lanes(-700));
  // Adding 1.5 * 2^52 leaves the nearest whole number in the low bits.
  const Lanes shifted = x * 1.4426950408889634 + 6755399441055744.0;
  const Lanes n = shifted - 6755399441055744.0;
  const Lanes r = (x - n * 0.693147180369123816490) - n * 1.90821492927058770002e-10;
  const Lanes r2 = r * r;
  const Lanes r4 = r2 * r2;
  const Lanes upto3 = (1.0 + r) + r2 * (0.5 + r * (1.0 / 6));
  const Lanes upto7 = (1.0 / 24 + r * (1.0 / 120)) + r2 * (1.0 / 720 + r * (1.0 / 5040));
  const Lanes upto11 = (1.0 / 40320 + r * (1.0 / 362880)) + r2 * (1.0 / 3628800 + r * (1.0 / 39916800));
  const Lanes high = upto7 + r4 * (upto11 + r4 * (1.0 / 479001600));
  const Lanes p = upto3 + r4 * high;
  LaneBits bits, power;
  std::memcpy(&bits, &p, sizeof bits);
  std::memcpy(&power, &shifted, sizeof power);
  bits += power << 52;
  Lanes out;
  std::memcpy(&out, &bits, sizeof out);
  return out;
}

// Natural logarithm of x >= 1e-300, finite. x = 2^e m with m in sqrt(1/2)..sqrt(2), log m = 2 atanh((m - 1)/(m + 1)) by
// its series; relative error below 1e-15 but near x = 1, where the absolute one is below 1e-16.
ULLAGE_INLINE Lanes log(const Lanes& given) {
  constexpr std::int64_t kMantissa = 0x000fffffffffffff, kHalf = 0x3fe0000000000000;
  constexpr double kTwo52 = 4503599627370496.0;
  LaneBits bits;
  std::memcpy(&bits, &given, sizeof bits);
  // The exponent as a double: put where the low bits of 2^52 stand. Then the mantissa in 1/2..1.
  LaneBits power = ((bits >> 52) & 0x7ff) | 0x4330000000000000;
  LaneBits part = (bits & kMantissa) | kHalf;
  Lanes e, m;
  std::memcpy(&e, &power, sizeof e);
  std::memcpy(&m, &part, sizeof m);
  e -= kTwo52 + 1022;
  const LaneBits small = m < 0.70710678118654752440;
  m = small ? m + m : m;
  e = small ? e - 1 : e;
  const Lanes t = (m - 1.0) / (m + 1.0);
  const Lanes s = t * t;
  const Lanes s2 = s * s;
  const Lanes s4 = s2 * s2;
  const Lanes upto3 = (2.0 / 3 + s * (2.0 / 5)) + s2 * (2.0 / 7 + s * (2.0 / 9));
  const Lanes upto7 = (2.0 / 11 + s * (2.0 / 13)) + s2 * (2.0 / 15 + s * (2.0 / 17));
  const Lanes series = upto3 + s4 * (upto7 + s4 * (2.0 / 19 + s * (2.0 / 21)));
  return e * 0.693147180369123816490 + ((t + t) + (t * s * series + e * 1.90821492927058770002e-10));
}

// The whole number below or at x (floor), above or at x (ceiling); |x| < 2^51.
ULLAGE_INLINE Lanes whole_below(const Lanes& x) {
  const Lanes nearest = (x + 6755399441055744.0) - 6755399441055744.0;
  return nearest > x ? nearest - 1.0 : nearest;
}
ULLAGE_INLINE Lanes whole_above(const Lanes& x) {
  const Lanes nearest = (x + 6755399441055744.0) - 6755399441055744.0;
  return nearest < x ? nearest + 1.0 : nearest;
}

// Density of N(0, 1) at z.
ULLAGE_INLINE Lanes normal_density(const Lanes& z) { return 0.39894228040143267794 * exp(-0.5 * z * z); }

// The upper tail of N(0, 1) divided by the density, (1 - Phi(a))/phi(a), for 0 <= a <= 40, as a Chebyshev series in
// t = (2.5 - a)/(2.5 + a) (multiplied by (1 + a/2.5) to take off its decay). Coefficients are made once from erfc and
// the continued fraction; relative error below 1e-12 (lanes_test.cc).
class NormalTail {
 public:
  static constexpr int kTerms = 26;     // an even number
  static const NormalTail& instance();  // immutable

  // terms: kTerms, or fewer for speed: 14 give 1e-7. Even and odd terms are summed side by side (T_2k(t) = T_k(s),
  // T_2k+1(t) = t V_k(s), s = 2 t^2 - 1), two short chains in place of a long one.
  ULLAGE_INLINE Lanes ratio(const Lanes& a, std::size_t terms = kTerms) const {
    const Lanes inverse = 1.0 / (kCentre + a);
    const Lanes t = (kCentre - a) * inverse;
    const Lanes twice = 4.0 * t * t - 2.0;
    Lanes even = lanes(0), even_next = lanes(0), odd = lanes(0), odd_next = lanes(0);
    for (std::size_t k = terms - 2; k > 0; k -= 2) {
      const Lanes even_now = twice * even + (coefficient_[k] - even_next);
      const Lanes odd_now = twice * odd + (coefficient_[k + 1] - odd_next);
      even_next = even;
      odd_next = odd;
      even = even_now;
      odd = odd_now;
    }
    const Lanes evens = 0.5 * twice * even + (coefficient_[0] - even_next);
    const Lanes odds = (twice - 1.0) * odd + (coefficient_[1] - odd_next);
    return (evens + t * odds) * (kCentre * inverse);
  }

 private:
  static constexpr double kCentre = 2.5;
  NormalTail();
  std::array<double, kTerms> coefficient_{};
};

// One end of an interval: z within +-38, the density there and the tail beyond |z|.
struct NormalEnd {
  Lanes z, density, tail;
};
ULLAGE_INLINE NormalEnd normal_end(const Lanes& given, const NormalTail& table,
                                   std::size_t terms = NormalTail::kTerms) {
  NormalEnd out;
  out.z = larger(smaller(given, lanes(38)), lanes(-38));
  out.density = normal_density(out.z);
  out.tail = out.density * table.ratio(absolute(out.z), terms);
  return out;
}
// P(Z > end).
ULLAGE_INLINE Lanes normal_above(const NormalEnd& end) { return end.z > 0 ? end.tail : 1.0 - end.tail; }
// P(low < Z <= high), without cancellation when both lie in the same tail; 0 when high <= low.
ULLAGE_INLINE Lanes normal_between(const NormalEnd& low, const NormalEnd& high) {
  const Lanes across = 1.0 - low.tail - high.tail;
  const Lanes above = low.tail - high.tail;
  Lanes out = low.z > 0 ? above : (high.z < 0 ? -above : across);
  return larger(out, lanes(0));
}

}  // namespace ullage
