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
  std::vector<Skew> skews;  // by variable of index
  std::array<double, 3> scale_skewness{};
  bool converged = true;
  std::vector<SuspectSet> set_aside;
  double unknown_share = 0;  // of the informing sets: ended for reasons not told, nothing called
};

Posterior summarise(const FitResult& result);

// Mean and sd of one kept variable over the mixture.
Prior moments(const std::vector<Component>& components, int variable);
// Of the log of one of the scales, which stand at the points of a design: &Component::sigma, drift or day_sd.
Prior log_moments(const std::vector<Component>& components, double Component::* scale);

// Takes loads that can only be typing errors out of the log: sets to which the field at this point gives no weight and
// whose load is off by more than a factor of 1.8. They tell nothing any more and tire like a load that fits their reps.
// What was set aside, for the report.
std::vector<SuspectSet> set_aside(TrainingLog& log, const LatentField& field, const Eigen::VectorXd& at,
                                  const Scales& scales);
// Recomputes the intervals of the lifts met in `log` and of readiness from the components (after a live update).
void refresh_lifts(Posterior& posterior, const TrainingLog& log, Date day);
// The same for judgement: bias and what each call has been worth. Some milliseconds: when it is shown.
void refresh_judgement(Posterior& posterior);
// Of exp(X), where that is above `least`: exact quantiles and sd.
Interval interval_of_exp(const NormalMixture& log, double least = 0);
Interval interval_of_exp(const SkewedMixture& log);

}  // namespace ullage::capacity
