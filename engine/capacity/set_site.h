// One set's likelihood as a Gaussian in its margin and log k, matched so that the set's moments come out right
// (expectation propagation, Minka 2001, UAI 17:362-369).
//
//   A planned set that was finished says "at least so much": its log likelihood is flat on one side and falls on the
//   other. A curvature at one point describes neither; the Gaussian that gives the same mean and spread describes both.
#pragma once

#include <Eigen/Core>

#include "engine/capacity/set_likelihood.h"

namespace ullage::capacity {

struct SetSite {
  Eigen::Matrix2d precision = Eigen::Matrix2d::Zero();  // of (x, log k); need not be positive definite
  Eigen::Vector2d pull = Eigen::Vector2d::Zero();       // precision times place
};

// The site with the likelihood's own slope and curvature at this point.
SetSite site_from_curvature(const LocalVector& at, const SetTerms& terms);

// Matches the site once more. at: the middle of what is believed now, this site included; spread: covariance of (x,
// log k) there, positive definite. Parameters but these two are held. The mean's move in its sds; 0 when nothing could
// be matched. Cost: 27 values of the likelihood.
double match_site(const SetObservation& set, const LocalVector& at, double shape, double sigma,
                  const Eigen::Matrix2d& spread, SetSite& site);

}  // namespace ullage::capacity
