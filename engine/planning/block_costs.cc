#include "engine/planning/block_costs.h"

#include <algorithm>
#include <cmath>

#include "engine/capacity/curve.h"
#include "engine/capacity/fatigue.h"

namespace ullage::planning {

double set_fatigue(const capacity::LifterDraws& draws, int lift, const Exercise& exercise, int reps, int reserve,
                   double rest_minutes, double residual_share) {
  const auto l = static_cast<std::size_t>(lift);
  const double shape = draws.info[l].shape;
  double muscles = 0, sum = 0;
  for (double share : exercise.involvement) muscles += share;
  for (const capacity::Draw& draw : draws.draws) {
    const double k = draw.lifts[l].endurance;
    // The set ends half way through the step: with 2 in reserve between 2 and 3 are left.
    const double left = reserve == 0 ? 0.5 : reserve + 0.5;
    const double margin = capacity::margin_for_reps(reps + left, k, shape);
    const auto spent = capacity::spend(margin, k, shape, reps, reserve == 0, draw.fatigue.lam, draw.fatigue.rho_f);
    capacity::FatigueStores stores;
    stores.add(spent, draw.fatigue);
    stores.rest(rest_minutes, draw.fatigue);
    sum += stores.total() + residual_share * spent.depletion;
  }
  if (draws.draws.empty()) return 0;
  return 100 * sum / static_cast<double>(draws.draws.size()) * std::max(1.0, muscles);
}

}  // namespace ullage::planning
