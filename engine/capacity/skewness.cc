#include "engine/capacity/skewness.h"

#include <algorithm>
#include <cmath>

namespace ullage::capacity {

Skewing::Skewing(const Skew& skew) {
  if (skew.skewness == 0) return;
  constexpr double kLeastSlope = 1.0 / 3;  // of bent z
  middle_ = skew.middle;
  per_sd_ = 1 / skew.sd;
  square_ = skew.skewness / 6;
  scale_ = skew.sd / std::sqrt(1 + skew.skewness * skew.skewness / 18);
  turn_ = (kLeastSlope - 1) / (2 * square_);
  at_turn_ = turn_ + square_ * (turn_ * turn_ - 1);
  slope_at_turn_ = kLeastSlope;
}

double Skewing::slope(double y) const {
  if (square_ == 0) return 1;
  const double z = (y - middle_) * per_sd_;
  return scale_ * per_sd_ * (beyond(z) ? slope_at_turn_ : 1 + 2 * square_ * z);
}

double Skewing::inverse(double x) const {
  if (square_ == 0) return x;
  const double bent = (x - middle_) / scale_;
  const bool straight = square_ > 0 ? bent < at_turn_ : bent > at_turn_;
  // The root of square z^2 + z - square - bent on the rising side, without losing digits when the square is small.
  const double z = straight ? turn_ + (bent - at_turn_) / slope_at_turn_
                            : 2 * (bent + square_) / (1 + std::sqrt(1 + 4 * square_ * (bent + square_)));
  return middle_ + z / per_sd_;
}

Skew brought_forward(const Skew& skew, const MixtureMoments& before, const MixtureMoments& now, double hold) {
  const double own = hold * skew.sd;
  const double sd = std::sqrt(own * own + std::max(0.0, now.sd * now.sd - hold * hold * before.sd * before.sd));
  const double share = own / sd;
  return {skew.skewness * share * share * share, now.mean + hold * (skew.middle - before.mean), sd};
}

double quantile(const SkewedMixture& mixture, double p) { return Skewing(mixture.skew)(quantile(mixture.stand_in, p)); }

namespace {

template <class Of>
MixtureMoments moments_by_nodes(const SkewedMixture& mixture, const Of& of) {
  constexpr std::array<double, 5> kNode{-2.8569700138728056, -1.3556261799742659, 0, 1.3556261799742659,
                                        2.8569700138728056};
  constexpr std::array<double, 5> kWeight{0.011257411327720693, 0.22207592200561266, 0.5333333333333333,
                                          0.22207592200561266, 0.011257411327720693};
  const Skewing skewing(mixture.skew);
  double total = 0, mean = 0, square = 0;
  for (const NormalPart& part : mixture.stand_in) {
    for (std::size_t i = 0; i < kNode.size(); ++i) {
      const double weight = part.weight * kWeight[i], value = of(skewing(part.mean + part.sd * kNode[i]));
      total += weight;
      mean += weight * value;
      square += weight * value * value;
    }
  }
  mean /= total;
  return {mean, std::sqrt(std::max(0.0, square / total - mean * mean))};
}

}  // namespace

MixtureMoments moments(const SkewedMixture& mixture) {
  return moments_by_nodes(mixture, [](double x) { return x; });
}
MixtureMoments exp_moments(const SkewedMixture& mixture) {
  return moments_by_nodes(mixture, [](double x) { return std::exp(x); });
}

void ShapeSums::add(double z, double density) {
  total_ += density;
  first_ += density * z;
  second_ += density * z * z;
  third_ += density * z * z * z;
}

Shape ShapeSums::shape() const {
  const double mean = first_ / total_, variance = second_ / total_ - mean * mean;
  const double central = third_ / total_ - 3 * mean * second_ / total_ + 2 * mean * mean * mean;
  return {mean, std::sqrt(variance), central / (variance * std::sqrt(variance))};
}

std::optional<Shape> shape_of(const std::array<double, 4>& log_density) {
  const auto [far_below, below, above, far_above] = log_density;
  if (!std::isfinite(far_below + below + above + far_above)) return {};
  if (!(far_below < below && far_above < above && far_below < 0 && far_above < 0)) return {};
  // Even and odd parts of the polynomial through the four values and 0.
  const double even1 = (above + below) / 2, even2 = (far_above + far_below) / 2;
  const double odd1 = (above - below) / 2, odd2 = (far_above - far_below) / 2;
  const double c4 = (even2 - 4 * even1) / 12, c2 = even1 - c4;
  const double c3 = (odd2 - 2 * odd1) / 6, c1 = odd1 - c3;
  const auto inside = [&](double z) { return z * (c1 + z * (c2 + z * (c3 + z * c4))); };
  const auto slope = [&](double z) { return c1 + z * (2 * c2 + z * (3 * c3 + z * 4 * c4)); };
  const auto bend = [&](double z) { return 2 * c2 + z * (6 * c3 + z * 12 * c4); };
  constexpr double kEnd = 2, kReach = 6, kStep = 0.05, kLeastBend = 0.1;
  ShapeSums sums;
  const double most = std::max({0.0, below, above});
  for (int i = static_cast<int>(-kReach / kStep); i <= static_cast<int>(kReach / kStep); ++i) {
    const double z = kStep * i, end = std::clamp(z, -kEnd, kEnd), past = z - end;
    const double value = inside(end) + past * (slope(end) + 0.5 * past * std::min(bend(end), -kLeastBend));
    sums.add(z, std::exp(std::min(value - most, 3.0)));
  }
  const Shape out = sums.shape();
  return std::isfinite(out.mean + out.skewness) ? std::optional(out) : std::nullopt;
}

double skewness_of(const std::array<double, 4>& log_density) {
  const std::optional<Shape> shape = shape_of(log_density);
  return shape ? std::clamp(shape->skewness, -kMostSkewness, kMostSkewness) : 0;
}

}  // namespace ullage::capacity
