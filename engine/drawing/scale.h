// From values to places on the page, and the round values that are marked on an axis.
//
//   const Scale x = Scale::around({0.2, 7.9}).onto(40, 400);   // 0 to 8
//   x(4)          -> 220
//   x.ticks(5)    -> 0 2 4 6 8
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace ullage::drawing {

class Scale {
 public:
  // Exactly these ends; low < high, otherwise the higher end is moved up by 1 (log: doubled). Values may be any finite.
  static Scale linear(double low, double high);
  // The same in the logarithm; ends that are not above 0 become 1e-12.
  static Scale log(double low, double high);
  // Ends moved out to round values so that every value lies within; values that are not finite are passed over.
  // Empty: 0 to 1. log: ends 1, 2 or 5 times a power of ten.
  static Scale around(const std::vector<double>& values, bool log = false, int about_ticks = 5);

  // Where the low and the high end lie on the page. Give a vertical scale its bottom first: onto(300, 20).
  Scale onto(double at_low, double at_high) const;

  double operator()(double value) const;  // not clamped
  double low() const { return low_; }
  double high() const { return high_; }
  bool is_log() const { return log_; }
  bool holds(double value) const { return value >= low_ && value <= high_; }
  double clamped(double value) const;  // the value, or the end it lies beyond

  // Round values within the ends, about so many: steps of 1, 2 or 5 times a power of ten.
  std::vector<double> ticks(int about = 5) const;
  // A tick's text: as many decimals as the step needs ("0.5", "1.0").
  std::string tick_text(double value, int about = 5) const;

 private:
  double low_ = 0, high_ = 1;
  bool log_ = false;
  double at_low_ = 0, at_high_ = 1;
};

// The step between ticks: 1, 2 or 5 times a power of ten, about `about` of them in a range of `span`.
double nice_step(double span, int about);

}  // namespace ullage::drawing
