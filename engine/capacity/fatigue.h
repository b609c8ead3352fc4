// Fatigue inside a training session: what a set spends, and how it comes back.
//
// With C0 = C(x) before the set, n good reps, f = 1 if one more was tried and missed:
//
//   r   = f ? 0 : smax(C0 - n, 0)        reps left
//   top = smax(C0, n + f/2)              never fewer than were done
//   D   = m(top) - m(r)  >= 0            spent margin, natural log of strength
//   smax(a, b) = b + log(1 + exp(8 (a - b)))/8
//
// Two stores take it up and empty between sets with their own time constants:
//
//   fast += A_fast D                     tau_fast about 1.5 min
//   slow += A_slow D (lam + (1 - lam) exp(-r/rho_f))      tau_slow about 4.7 min
//   fatigue = fast + slow                lowers the margin of the next set
//
// A set that starts tired spends less, so drop-off levels out by itself. Every rep costs; a miss never
// refreshes. Constants: fitted in science/ to T04 rows and the published benchmarks; tau_fast and lam
// are loose and carry their doubt as parameters of the fit.
#pragma once

#include <cmath>

#include "engine/base/dual.h"
#include "engine/capacity/curve.h"

namespace ullage::capacity {

struct FatigueConstants {
  double a_fast = 0.46;   // share of spent margin that the fast store takes up
  double a_slow = 0.29;   // likewise the slow store, for a set to failure
  double lam = 0.30;      // part of a_slow that is paid however far from failure
  double rho_f = 0.68;    // reps; how quickly the rest of a_slow fades with reps left
  double tau_fast = 1.5;  // minutes
  double tau_slow = 4.7;  // minutes
};

// Seconds of work per repetition, for the clock inside a session (assumption).
inline constexpr double kSecondsPerRep = 3.0;
// Part of every set's fatigue that is felt in any other exercise (assumption; 1 for the same exercise).
inline constexpr double kSystemicPart = 0.05;

// Smooth maximum of a and b with a corner of about 1/8 rep; within log(2)/8 of the true maximum.
template <class T, class U>
auto smooth_max(const T& a, const U& b) {
  using std::exp;
  using std::log1p;
  const auto gap = (a - b) * 8.0;
  if (value_of(gap) > 30) return b + gap / 8.0;  // log1p(exp(gap)) is gap to the last digit
  return b + log1p(exp(gap)) / 8.0;
}

template <class T>
struct Spent {
  T depletion;  // D, spent margin
  T slow;       // D (lam + (1 - lam) exp(-r/rho_f)), what A_slow multiplies
};

// What one set spends. T: double or Dual; lam is a T because it is a parameter of the fit.
template <class T>
Spent<T> spend(const T& margin, const T& endurance, double shape, int reps, bool failed, const T& lam, double rho_f) {
  using std::exp;
  const T capacity = reps_to_failure(margin, endurance, shape);
  const T left = failed ? T(0.0) : T(smooth_max(capacity - static_cast<double>(reps), T(0.0)));
  const T top = smooth_max(capacity, T(reps + (failed ? 0.5 : 0.0)));
  T depletion = margin_for_reps(top, endurance, shape) - margin_for_reps(left, endurance, shape);
  if (value_of(depletion) < 0) depletion = T(0.0);
  return {depletion, depletion * (lam + (1.0 - lam) * exp(-left / rho_f))};
}

// Fatigue that one exercise's work has left, felt by that exercise itself.
struct FatigueStores {
  double fast = 0;
  double slow = 0;
  double total() const { return fast + slow; }
  void add(const Spent<double>& spent, const FatigueConstants& c) {
    fast += c.a_fast * spent.depletion;
    slow += c.a_slow * spent.slow;
  }
  void rest(double minutes, const FatigueConstants& c) {
    fast *= std::exp(-minutes / c.tau_fast);
    slow *= std::exp(-minutes / c.tau_slow);
  }
};

}  // namespace ullage::capacity
