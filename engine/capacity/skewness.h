// Skewed unknowns over a normal stand-in, so that a posterior that is a mixture of normals can lean to one side. What a
// lifter can do at most is known less well than what they can do at least: sets that ended early say "at least so
// much", and log strength has a longer tail upwards. The stand-in y is what mixtures hold and live updates move; the
// unknown is
//
//   x = y + sd (skewness/6) (z^2 - 1),  z = (y - middle)/sd
//
// scaled to the stand-in's sd: the first term of Cornish and Fisher (1938), for each unknown by itself, as in the
// skewed joint posteriors of Chiuchiolo, van Niekerk and Rue (2021, arXiv:2112.02861).
#pragma once

#include <array>
#include <optional>

#include "engine/base/normal_mixture.h"

namespace ullage::capacity {

// Of nothing but the normal itself when skewness is 0. Beyond the point where the square would turn back the way goes
// on straight, so that x rises with y everywhere.
struct Skew {
  double skewness = 0;  // third standardised moment of x where y is normal(middle, sd); within +-kMostSkewness
  double middle = 0;    // of y
  double sd = 1;        // of y, above 0
};
inline constexpr double kMostSkewness = 0.9;

// The way from y to x, for many.
class Skewing {
 public:
  explicit Skewing(const Skew& skew);
  double operator()(double y) const {
    if (square_ == 0) return y;
    const double z = (y - middle_) * per_sd_;
    const double bent = beyond(z) ? at_turn_ + slope_at_turn_ * (z - turn_) : z + square_ * (z * z - 1);
    return middle_ + scale_ * bent;
  }
  double slope(double y) const;    // dx/dy, above 0
  double inverse(double x) const;  // y

 private:
  bool beyond(double z) const { return square_ > 0 ? z < turn_ : z > turn_; }
  double middle_ = 0, per_sd_ = 1;
  double square_ = 0;                                  // of z
  double scale_ = 1;                                   // back to the sd of y
  double turn_ = 0, at_turn_ = 0, slope_at_turn_ = 1;  // from where on it goes straight
};

// Skewed as before about the same place, which went from `before` to `now` (of the stand-in or a part of it) as hold x
// and more, and what came with that is not skewed: there is less of it in a wider whole.
Skew brought_forward(const Skew& skew, const MixtureMoments& before, const MixtureMoments& now, double hold);

// An unknown over a stand-in that is a mixture of normals.
struct SkewedMixture {
  NormalMixture stand_in;
  Skew skew;
};
double quantile(const SkewedMixture& mixture, double p);
// Of x and of exp(x), by five nodes of Gauss and Hermite in each part.
MixtureMoments moments(const SkewedMixture& mixture);
MixtureMoments exp_moments(const SkewedMixture& mixture);

// Shape of a density of which the logs at -2, -1, 1 and 2 are known, as they stand above that at 0: through them and 0
// goes a polynomial of the fourth degree, beyond them it falls as a normal does (so that of the log of a Gamma variable
// up to a fifth of the skewness is missing). Units of z about its sd, 0 near its maximum. Nothing where the values are
// no such density: not finite, or not falling to both sides.
struct Shape {
  double mean = 0, sd = 1, skewness = 0;
};
std::optional<Shape> shape_of(const std::array<double, 4>& log_density);
// The same from a density at points that stand evenly.
class ShapeSums {
 public:
  void add(double z, double density);
  Shape shape() const;  // not finite where nothing was added

 private:
  double total_ = 0, first_ = 0, second_ = 0, third_ = 0;
};
// Its skewness within +-kMostSkewness; 0 where there is none.
double skewness_of(const std::array<double, 4>& log_density);

}  // namespace ullage::capacity
