// The published formulas from load and repetitions to one-repetition maximum, as baselines to be beaten.
//
//   one_rep_maximum(Formula::epley, 100, 10) == 133.33...
//   reps_to_failure(Formula::epley, 133.33, 100) == 10
//
// They know one number, reps to failure; a set that stopped short counts its reserve as reps (published value
// T02-013). The engine itself never uses them. Coefficients: T01-090..102.
#pragma once

#include <array>
#include <limits>
#include <string_view>

namespace ullage::capacity {

enum class Formula {
  epley,     // w (1 + n/30)                             Epley B (1985). Poundage chart
  brzycki,   // 36 w / (37 - n)                          Brzycki M (1993). Strength testing: predicting a one-rep max
  lander,    // 100 w / (101.3 - 2.67123 n)              Lander J (1985). Maximums based on reps
  lombardi,  // w n^0.10                                 Lombardi VP (1989). Beginning Weight Training
  mayhew,    // 100 w / (52.2 + 41.9 exp(-0.055 n))      Mayhew JL, Ball TE, Arnold MD, Bowen JC (1992)
  oconner,   // w (1 + 0.025 n)                          O'Conner B, Simmons J, O'Shea P (1989). Weight Training Today
  wathen     // 100 w / (48.8 + 53.8 exp(-0.075 n))      Wathen D (1994). Load assignment, in Baechle TR (ed.)
};
inline constexpr std::array<Formula, 7> kFormulas{Formula::epley,  Formula::brzycki, Formula::lander, Formula::lombardi,
                                                  Formula::mayhew, Formula::oconner, Formula::wathen};

std::string_view formula_name(Formula formula);  // "Epley", ...

// Strength in the unit of `load` from `reps` to failure (real, >= 1; fewer counts as 1), reserve included in reps.
// Infinite at and beyond the pole of Brzycki (37) and Lander (37.9).
double one_rep_maximum(Formula formula, double load, double reps);

// The inverse: real reps to failure with `load` at that strength. Never below 0; infinite where the formula never comes
// down to this load (below 52.2 % for Mayhew, 48.8 % for Wathen). strength, load > 0.
double reps_to_failure(Formula formula, double strength, double load);

}  // namespace ullage::capacity
