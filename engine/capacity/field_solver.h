// The latent field at fixed scales: its maximum, the marginal maximum of the unknowns that all sessions share, moments
// matched set by set, and the curvature there. fit.cc says how they go together.
#pragma once

#include <Eigen/Core>
#include <limits>
#include <vector>

#include "engine/capacity/latent_field.h"

namespace ullage::capacity {

class FieldSolver {
 public:
  explicit FieldSolver(LatentField& field);

  struct Outcome {
    bool positive = false;  // curvature positive definite at the end
    bool converged = false;
    double log_marginal = -std::numeric_limits<double>::infinity();  // Laplace, without the scales' prior
  };

  // These unknowns stay where they are from now on (a wall of precision in the curvature); {}: none.
  void pin(std::vector<int> variables) {
    pinned_ = std::move(variables);
    own_ = false;
  }
  // All shared unknowns stay where they are: the curvature is that of the rest alone, which is small and sparse.
  void pin_shared() {
    pinned_.clear();
    own_ = true;
  }
  // And one of the others with them.
  void pin_shared_and(int variable) {
    pinned_ = {variable};
    own_ = true;
  }

  // Moves `at` to the maximum: limited-memory BFGS with the factored curvature as its start, since that curvature
  // leaves out how fatigue bends (order 2) and plain Newton steps would creep. Stops when the expected gain is below
  // `tolerance`.
  Outcome solve(Eigen::VectorXd& at, const Scales& scales, double tolerance, int most_steps);

  // Moves the shared unknowns to the maximum of their own marginal, in which the rest of the field is integrated out by
  // Laplace: L(g, u(g)) - log|H(g, u(g))|/2, and the rest along with them. The joint maximum alone leans to values of
  // fatigue and judgement that make the rest look certain. Quasi-Newton steps in the shared unknowns alone, the rest
  // solved for at each, until the next step promises less than 0.003 log units. The slope of the log determinant is
  // made at each place (anew) or taken from the last search (kept), near enough while scales are looked
  // for. The log marginal reached; minus infinity where the curvature broke down.
  enum class Slopes { anew, kept };
  double marginalise(Eigen::VectorXd& at, const Scales& scales, const std::vector<int>& shared, int most_steps,
                     Slopes slopes = Slopes::anew);

  // The log marginal (Laplace) at a point near a maximum, the shared unknowns pinned, by two Newton steps (or `steps`)
  // on the rest, which `at` takes. Where these do not come near, since the curvature leaves out how fatigue bends, by
  // two more if that is enough, else by a search from where they began. Not a number where the curvature is not
  // positive definite or the last step still expects to gain more than `most_left`.
  double near_value(Eigen::VectorXd& at, const Scales& scales, int steps = 2,
                    double most_left = std::numeric_limits<double>::infinity());
  // After near_value with the shared unknowns pinned: the curvature of everything where its last step began, in ldl().
  bool near_curvature(const Scales& scales);

  // Leaves the curvature at this point in ldl(); false when it is not positive definite.
  bool curvature(const Eigen::VectorXd& at, const Scales& scales);
  // The same with as much added to the diagonal as it takes.
  bool damped_curvature(const Eigen::VectorXd& at, const Scales& scales);

  // Moves the rest of the field to its mean, the shared unknowns held: each set's likelihood as the Gaussian that
  // matches its moments (set_site.h). The curvature in ldl() stays as it was. Nothing moves when matching breaks down.
  void match_moments(Eigen::VectorXd& at, const Scales& scales, const std::vector<int>& shared);

  // The way the whole field follows the shared unknowns, and their covariance, from the curvature in ldl().
  struct Following {
    Eigen::MatrixXd follow, covariance;  // field x shared; shared x shared
  };
  // Those of the shared unknowns on which the curvature in ldl() says more than their prior alone.
  std::vector<int> informed(const std::vector<int>& shared) const;
  Following following(const std::vector<int>& shared) const;
  // Slope of the log joint density by these unknowns.
  Eigen::VectorXd slope_by(const std::vector<int>& variables, const Eigen::VectorXd& at, const Scales& scales) const;

  const SparseLdl& ldl() const { return ldl_; }
  // Of all but the shared unknowns, after near_value with these pinned.
  const SparseLdl& own_ldl() const { return own_ldl_; }
  SparseLdl& ldl() { return ldl_; }

 private:
  void evaluate_pinned(const Eigen::VectorXd& at, const Scales& scales, int order, LatentField::Terms& out) const;
  void find_slopes(const Eigen::VectorXd& at, const Scales& scales, const std::vector<int>& shared);
  bool climb(Eigen::VectorXd& at, const Scales& scales, double tolerance, int most_steps);  // true: converged
  double marginal_value(const Eigen::VectorXd& at, const Scales& scales, LatentField::Terms& terms);
  bool factor_damped(const LatentField::Terms& now, SparseLdl& system);
  LatentField::Terms& terms() { return own_ ? own_terms_ : terms_; }
  SparseLdl& active_ldl() { return own_ ? own_ldl_ : ldl_; }

  LatentField* field_;
  LatentField::Terms terms_, own_terms_;
  SparseLdl ldl_, own_ldl_;  // of everything; of all but the shared unknowns
  bool own_ = false;
  Eigen::VectorXd near_;   // where near_value took its last step from
  Following way_;          // where slope_ was found
  Eigen::VectorXd slope_;  // of minus half the log determinant, by shared unknown
  std::vector<int> pinned_;
  double damping_ = 0;
};

}  // namespace ullage::capacity
