// Marginals of a few unknowns at the best place of a fit, by points away from it: where a curvature at one point does
// not tell how far an unknown reaches, how two go together, or where the mean lies. Each takes the rest of the field
// along at its best (FieldSolver::near_value), so that the cost is that of so many values, some two evaluations each.
#pragma once

#include <Eigen/Core>
#include <vector>

#include "engine/capacity/field_solver.h"
#include "engine/capacity/latent_field.h"
#include "engine/capacity/skewness.h"

namespace ullage::capacity {

// How the shared unknowns spread, against what the curvature says, which leaves out that of the log determinant and how
// the ends of fatigue's parts exclude each other (a fast store that is both large and slow to empty): a map that takes
// their Gaussian about the best place to theirs, as many rows and columns as way.covariance. Of each by its marginal
// 1.5 sds to either side, the others going along; of those in `together` (places in way.covariance) in pairs as well.
// middle: the log marginal at `centre`. The solver has the shared unknowns pinned.
Eigen::MatrixXd spread_of_shared(FieldSolver& solver, const Eigen::VectorXd& centre, const Scales& scales,
                                 double middle, const FieldSolver::Following& way,
                                 const std::vector<Eigen::Index>& together);

// Shape of the log strength of each lift as it was last, the shared unknowns held, in sds of the curvature about the
// best place: of its marginal with the rest of the field going along. Sets that ended early tell little of how much
// more there was, so that it leans upwards and reaches farther than a curvature says.
std::vector<Shape> shape_of_strength(FieldSolver& solver, const FieldLayout& layout, const Eigen::VectorXd& centre,
                                     const Scales& scales);

// Where the field lies on average over the log k of each exercise, the shared unknowns held, against where it lies with
// them at their best. Strength follows endurance in a curve, along which no Gaussian about one point lies.
struct OverEndurance {
  Eigen::VectorXd move;  // to be added to the field at the best place
  struct Integrated {
    int variable;  // log k
    double sd;     // of its marginal, the shared unknowns held, in sds of the curvature
  };
  std::vector<Integrated> integrated;  // of the exercises it was found for
};
OverEndurance over_endurance(FieldSolver& solver, const FieldLayout& layout, const Eigen::VectorXd& centre,
                             const Scales& scales);

}  // namespace ullage::capacity
