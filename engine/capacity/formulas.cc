#include "engine/capacity/formulas.h"

#include <algorithm>
#include <cmath>

namespace ullage::capacity {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

double over(double load, double share) { return share > 0 ? load / share : kInfinity; }

// n with low + high exp(-rate n) = share.
double decay_time(double share, double low, double high, double rate) {
  return share > low ? std::log(high / (share - low)) / rate : kInfinity;
}

}  // namespace

std::string_view formula_name(Formula formula) {
  switch (formula) {
    case Formula::epley: return "Epley";
    case Formula::brzycki: return "Brzycki";
    case Formula::lander: return "Lander";
    case Formula::lombardi: return "Lombardi";
    case Formula::mayhew: return "Mayhew";
    case Formula::oconner: return "O'Conner";
    case Formula::wathen: break;
  }
  return "Wathen";
}

double one_rep_maximum(Formula formula, double load, double reps) {
  const double n = std::max(1.0, reps);
  switch (formula) {
    case Formula::epley: return load * (1 + n / 30);
    case Formula::brzycki: return over(load, (37 - n) / 36);
    case Formula::lander: return over(load, (101.3 - 2.67123 * n) / 100);
    case Formula::lombardi: return load * std::pow(n, 0.10);
    case Formula::mayhew: return load / (0.522 + 0.419 * std::exp(-0.055 * n));
    case Formula::oconner: return load * (1 + 0.025 * n);
    case Formula::wathen: break;
  }
  return load / (0.488 + 0.538 * std::exp(-0.075 * n));
}

double reps_to_failure(Formula formula, double strength, double load) {
  const double share = load / strength;
  double n = 0;
  switch (formula) {
    case Formula::epley: n = 30 * (1 / share - 1); break;
    case Formula::brzycki: n = 37 - 36 * share; break;
    case Formula::lander: n = (101.3 - 100 * share) / 2.67123; break;
    case Formula::lombardi: n = std::pow(1 / share, 10); break;
    case Formula::mayhew: n = decay_time(share, 0.522, 0.419, 0.055); break;
    case Formula::oconner: n = 40 * (1 / share - 1); break;
    case Formula::wathen: n = decay_time(share, 0.488, 0.538, 0.075); break;
  }
  return std::max(0.0, n);
}

}  // namespace ullage::capacity
