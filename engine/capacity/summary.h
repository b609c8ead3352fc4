// From a solved field to what people and forecasts use: intervals, learned shares, suspects, remarks.
#pragma once

#include <vector>

#include "engine/capacity/latent_field.h"
#include "engine/capacity/posterior.h"

namespace ullage::capacity {

struct FitResult {
  const LatentField* field = nullptr;
  const TrainingLog* log = nullptr;
  Eigen::VectorXd mean;          // of the whole field, corrected
  std::vector<double> variance;  // of the whole field; empty when no history is wanted
  Scales scales;
  Posterior::Index index;
  std::vector<Component> components;
  bool converged = true;
};

Posterior summarise(const FitResult& result);
// Recomputes the intervals that rest on the components (after a live update).
void refresh_intervals(Posterior& posterior, const TrainingLog& log, Date day);

}  // namespace ullage::capacity
