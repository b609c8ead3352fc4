#include "engine/base/even_points.h"

#include "engine/base/normal.h"

namespace ullage {
namespace {

// Chosen among all odd ones: 10, 50 and 90 % points of skewed functions of two directions are off by 0.016 sds (root
// mean square); 512 points were off by 0.029, and 400 draws with their opposites by 0.054.
constexpr std::size_t kGenerator = 363;

}  // namespace

EvenNormals::EvenNormals() {
  for (std::size_t i = 0; i < kSize; ++i) {
    std::size_t power = 1;
    for (double& coordinate : points_[i]) {
      power = power * kGenerator % kSize;
      coordinate = normal_quantile((static_cast<double>(i * power % kSize) + 0.5) / kSize);
    }
  }
}

const EvenNormals& EvenNormals::instance() {
  static const EvenNormals kPoints;
  return kPoints;
}

}  // namespace ullage
