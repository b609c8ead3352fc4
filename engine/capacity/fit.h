// The fit: from a training log to a posterior, by a nested Laplace approximation.
//
// Inner: Newton on the latent field (strength and trend at every session of every lift, readiness of every
// session, endurance, fatigability, judgement), using its sparse precision. Outer: log sigma, log q and
// log sigma_d at the maximum of the Laplace marginal times prior, then integrated over a small design.
// Means are corrected for skewness by the expected gradient under the Gaussian.
#pragma once

#include <functional>
#include <string>

#include "engine/base/result.h"
#include "engine/capacity/posterior.h"
#include "engine/capacity/training_log.h"

namespace ullage::capacity {

struct FitOptions {
  bool integrate = true;  // false: outer parameters only at their maximum (tests)
  bool history = true;    // strength over time for pictures
  // Calls and ends count as they are written even where they repeat themselves (to be held against a sampler).
  bool as_written = false;
  // Called now and then with the share done, 0..1; returning false stops the fit (Code::cancelled).
  std::function<bool(double)> progress;
};

// Never fails for lack of data: an empty log gives the prior, said in remarks. Fails with internal when
// the curvature cannot be made positive, with cancelled when stopped.
Result<Posterior> fit(const TrainingLog& log, const FitOptions& options = {});

// The same posterior after more sets of one later session, without a new fit: each set is taken up by a Laplace step in
// the few parameters it depends on, in every component. `session`: prepare() of all sets of that session so far, in
// order; its first `known` sets are already in the posterior (they tire, but tell nothing twice).
// Errors: conflict when the session is older than the posterior or holds more than one session; internal when a step
// broke down, which only a new fit mends.
// Cost: components * sets of the session * (size of Posterior::index)^2.
Result<Posterior> update(const Posterior& posterior, const TrainingLog& session, int known = 0);

}  // namespace ullage::capacity
