// Random numbers that come out the same on every compiler and platform.
//
// std::normal_distribution differs between standard libraries, so bits come from PCG32 and the
// distributions are ours. Passed in where needed; there is no global generator.
// Method: M. E. O'Neill, PCG: a family of simple fast space-efficient statistically good
// algorithms for random number generation, 2014 (XSH-RR output, 64-bit state).
#pragma once

#include <cstdint>

namespace ullage {

class Random {
 public:
  explicit Random(std::uint64_t seed, std::uint64_t stream = 0);
  std::uint32_t bits();
  double uniform();                         // in (0, 1), never either end
  double uniform(double low, double high);  // in (low, high)
  int integer(int low, int high);           // low..high, both possible, no bias
  double normal();                          // mean 0, sd 1 (inverse cdf of uniform)
  double normal(double mean, double sd) { return mean + sd * normal(); }
  double log_normal(double log_mean, double log_sd);
  double exponential(double mean);
  double gamma(double shape, double mean);  // shape >= 1
  bool chance(double probability) { return uniform() < probability; }

 private:
  std::uint64_t state_;
  std::uint64_t increment_;
};

}  // namespace ullage
