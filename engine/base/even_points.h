// Standard normals spread evenly over a few dimensions, for averages and quantiles of smooth functions: nearer than as
// many random draws.
//
// A lattice rule (Korobov 1959): coordinate d of point i is (i g^d mod N + 1/2)/N. Each coordinate alone meets every
// Nth part once; points in a row stand for a part of a mixture, since i/N is one coordinate more of the same lattice.
#pragma once

#include <array>
#include <cstddef>

namespace ullage {

class EvenNormals {
 public:
  static constexpr std::size_t kSize = 1024;
  static constexpr std::size_t kDimensions = 5;
  static const EvenNormals& instance();  // immutable
  const std::array<double, kDimensions>& point(std::size_t i) const { return points_[i]; }

 private:
  EvenNormals();
  std::array<std::array<double, kDimensions>, kSize> points_;
};

}  // namespace ullage
