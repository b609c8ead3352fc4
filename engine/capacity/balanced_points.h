// Points over which a function of a few standard normals is averaged: with as few as a fit can afford, random ones
// leave errors that are the same for every lifter. science/balanced_points.cc says how they are made.
#pragma once

#include <Eigen/Core>

namespace ullage::capacity {

inline constexpr int kMostBalanced = 15;

// dims x pairs, each to be taken with its opposite; second moments exactly those of standard normals, fourth ones
// nearly (64 pairs), mostly (32) or hardly (16). dims 1..kMostBalanced; pairs 16, 32 or 64.
Eigen::MatrixXd balanced_points(int dims, int pairs);

}  // namespace ullage::capacity
