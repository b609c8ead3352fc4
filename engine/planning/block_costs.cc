#include "engine/planning/block_costs.h"

#include <algorithm>
#include <cmath>

#include "engine/capacity/curve.h"
#include "engine/capacity/fatigue.h"

namespace ullage::planning {

double muscles_felt(const Exercise& exercise) {
  double muscles = 0;
  for (const double share : exercise.involvement) muscles += share;
  return std::max(1.0, muscles);
}

double fatigue_of_spent(const capacity::Spent<double>& spent, const capacity::FatigueConstants& fatigue,
                        double rest_minutes, double residual_share, double muscles) {
  capacity::FatigueStores stores;
  stores.add(spent, fatigue);
  stores.rest(rest_minutes, fatigue);
  return 100 * (stores.total() + residual_share * spent.depletion) * muscles;
}

double set_fatigue(const capacity::LifterDraws& draws, int lift, const Exercise& exercise, int reps, int reserve,
                   double rest_minutes, double residual_share) {
  const auto l = static_cast<std::size_t>(lift);
  const double shape = draws.info[l].shape;
  const double muscles = muscles_felt(exercise);
  double sum = 0;
  for (const capacity::Draw& draw : draws.draws) {
    const double k = draw.lifts[l].endurance;
    // The set ends half way through the step: with 2 in reserve between 2 and 3 are left.
    const double left = reserve == 0 ? 0.5 : reserve + 0.5;
    const double margin = capacity::margin_for_reps(reps + left, k, shape);
    const auto spent = capacity::spend(margin, k, shape, reps, reserve == 0, draw.fatigue.lam, draw.fatigue.rho_f);
    sum += fatigue_of_spent(spent, draw.fatigue, rest_minutes, residual_share, muscles);
  }
  return draws.draws.empty() ? 0 : sum / static_cast<double>(draws.draws.size());
}

}  // namespace ullage::planning
