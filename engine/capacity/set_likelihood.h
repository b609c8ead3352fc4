// What one set tells: log likelihood of how it ended, what was called and how fast the last rep was.
//
// M = x + eps, eps ~ N(0, sigma) is the margin the lifter really had in this set; C(M) reps were in it.
//
//   failed    n good reps, one more missed    P(m(n) <= M < m(n+1)),  m(0) = minus infinity
//   planned   n was fixed beforehand          P(M >= m(n))
//   cue       stopped on a called reserve     as planned, times the chance that the feeling came down to the
//                                             cue at this rep and not before (below)
//   unknown   stopped for reasons not told    integral of N(M; x, sigma) h(C(M) - n) / H(C(M) - 1/2), h gamma of
//                                             shape 2 whose mean is the lifter's usual stopping reserve, H its
//                                             cumulative chance: at least one rep is done, so no more than C - 1
//                                             can be left (without H short sets pull the usual reserve down)
//   call c at rep j                           times P(heard in the cell of c | rho = C(M) - j)
//   cue, not stopped by it                    times P(heard at the rep before the last was above the cue)
//   speed v of the last rep                   times N(v; v0 + slope rho, noise)
//
// A set stopped on a cue is not a set with a call. The lifter chooses the rep at which the feeling meets the cue,
// so the feeling is always the cue: taken as a call, "always feels 2" (g = 0, no spread) would explain every such
// set perfectly. What is random is the rep, so its chance is that of the first passage,
//
//   P(stop at n) = P(heard(C - n) <= c < heard(C - n + 1)),   c the upper end of the cue's cell,
//
// one z per set; below the first rep there is no "before". A set that had a cue and was not stopped by it carries that
// too: a call at its end is joined with it through the same z. Where one bound overtakes the other the integrand has a
// corner; the integral is split there. Who feels each rep anew has a z for each (felt_each_rep.h).
//
// One integral over M serves them all. It runs over r = C(M) - n, reps left, whose limits do not move
// with the parameters, so that derivatives are expectations of derivatives. 48 Gauss-Legendre nodes
// over +-8.5 sigma around the bulk reach 1e-8 relative or better (set_likelihood_test.cc).
//
// Mis-typed sets: the likelihood is mixed as L + kOutlier, so that a set the model cannot explain loses
// its pull instead of dragging strength with it; `weight` is the part that remained. A rep that failed is no slip of
// the pen where it tells of less than was expected, and nobody may be sent on as if it had not: where x lies above
// m(n+1) it is L alone, so that only a failed set that was better than expected can lose its pull.
#pragma once

#include <Eigen/Core>
#include <array>
#include <optional>

#include "engine/capacity/judgement.h"
#include "engine/training/set_record.h"

namespace ullage::capacity {

// Flat chance given to a set that the model does not explain (assumption: about one typing error in
// some thousands of sets, spread over a wide range).
inline constexpr double kOutlier = 1e-6;

// The parameters one set's likelihood depends on, in this order.
enum LocalParameter {
  kMargin,             // x, natural log
  kLogEndurance,       // log k
  kCallBias,           // b
  kCallLogGain,        // log g
  kCallLogSpread,      // log s0
  kCallLogSpreadRise,  // log s1
  kCallCueShift,       // e_cue
  kLogStopping,        // log of the usual stopping reserve of the class
  kSpeedAtFailure,     // m/s at rho = 0
  kLogSpeedSlope,      // log of m/s per rep of reserve
  kLogSpeedNoise,      // log of the sd, m/s
  kLocalCount
};
using LocalVector = std::array<double, kLocalCount>;

struct SetObservation {
  int reps = 0;
  Stop stop = Stop::unknown;  // failed, planned, cue (as planned), unknown
  std::optional<Feeling> feeling;
  std::optional<double> speed;
};

struct SetTerms {
  double log_likelihood = 0;  // log(L + kOutlier), or of L alone (above)
  double weight = 1;          // the part of L in it
  // of log_likelihood, by local parameter; the Hessian leaves out the curvature of the mixing with
  // kOutlier (zero where weight is 0 or 1). Not set beyond the order that was asked for, nor, with Free::own, for what
  // all sets share.
  Eigen::Matrix<double, kLocalCount, 1> gradient;
  Eigen::Matrix<double, kLocalCount, kLocalCount> hessian;
};

// Which local parameters this set depends on.
std::array<bool, kLocalCount> depends_on(const SetObservation& set);

// fine: 48 nodes, 1e-8; coarse: 16 nodes over +-5 sigma, about 1e-4, for the search of the scale parameters.
enum class Precision { fine, coarse };

// own: what all sets of a lifter share (judgement, usual stopping reserve) is held and not derived by, which saves a
// third to a half.
enum class Free { all, own };

// sigma > 0: sd of M about x. order 0: value only; 1: gradient; 2: Hessian too. Cost: about 3 us with a call.
SetTerms set_log_likelihood(const SetObservation& set, const LocalVector& at, double shape, double sigma, int order,
                            Precision precision = Precision::fine, Free free = Free::all);

}  // namespace ullage::capacity
