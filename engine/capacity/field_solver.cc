#include "engine/capacity/field_solver.h"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>

namespace ullage::capacity {
namespace {

constexpr double kWall = 1e8;

}  // namespace

FieldSolver::FieldSolver(LatentField& field) : field_(&field) {
  ldl_.analyse(field.pattern(Free::all));
  own_ldl_.analyse(field.pattern(Free::own));
  slope_ = Eigen::VectorXd::Zero(field.size());
}

FieldSolver::Outcome FieldSolver::solve(Eigen::VectorXd& at, const Scales& scales, double tolerance, int most_steps) {
  Outcome out;
  out.converged = climb(at, scales, tolerance, most_steps);
  LatentField::Terms& now = terms();
  SparseLdl& system = active_ldl();
  evaluate_pinned(at, scales, 2, now);
  out.positive = factor_damped(now, system) && damping_ == 0;
  if (out.positive) out.log_marginal = now.value - 0.5 * system.log_determinant();
  return out;
}

bool FieldSolver::climb(Eigen::VectorXd& at, const Scales& scales, double tolerance, int most_steps) {
  LatentField::Terms& now = terms();
  SparseLdl& system = active_ldl();
  evaluate_pinned(at, scales, 2, now);
  if (!factor_damped(now, system)) return false;
  struct Pair {
    Eigen::VectorXd step, bend;
    double product;
  };
  std::vector<Pair> memory;
  LatentField::Terms next;
  for (int iteration = 0; iteration < most_steps; ++iteration) {
    // Two-loop recursion (Nocedal 1980).
    Eigen::VectorXd move = now.gradient;
    std::vector<double> alpha(memory.size());
    for (std::size_t i = memory.size(); i-- > 0;) {
      alpha[i] = memory[i].step.dot(move) / memory[i].product;
      move -= alpha[i] * memory[i].bend;
    }
    move = system.solve(move);
    for (std::size_t i = 0; i < memory.size(); ++i) {
      move += (alpha[i] - memory[i].bend.dot(move) / memory[i].product) * memory[i].step;
    }
    double gain = now.gradient.dot(move);
    if (!(gain > 0)) {
      memory.clear();
      move = system.solve(now.gradient);
      gain = now.gradient.dot(move);
    }
    if (gain < tolerance) return true;
    const double longest = move.cwiseAbs().maxCoeff();
    double length = longest > 0.5 ? 0.5 / longest : 1.0;
    bool better = false;
    Eigen::VectorXd to;
    for (int halving = 0; halving < 12; ++halving, length *= 0.5) {
      to = at + length * move;
      evaluate_pinned(to, scales, 1, next);
      if (std::isfinite(next.value) && next.value >= now.value + 1e-4 * length * gain) {
        better = true;
        break;
      }
    }
    if (!better) {
      const bool near = gain < 100 * tolerance;
      if (memory.empty() || near) return near;
      memory.clear();
      continue;
    }
    Pair pair{to - at, now.gradient - next.gradient, 0};
    pair.product = pair.step.dot(pair.bend);
    const bool refresh = iteration % 8 == 7 || damping_ > 0;
    at = to;
    if (pair.product > 1e-12) memory.push_back(std::move(pair));
    if (memory.size() > 12) memory.erase(memory.begin());
    if (refresh) {
      evaluate_pinned(at, scales, 2, now);
      if (!factor_damped(now, system)) return false;
    } else {
      now.value = next.value;
      now.gradient = next.gradient;
    }
  }
  return false;
}

double FieldSolver::marginalise(Eigen::VectorXd& at, const Scales& scales, const std::vector<int>& shared,
                                int most_steps, Slopes slopes) {
  constexpr double kLeastGain = 0.003;  // log units expected of the next step
  constexpr double kLongest = 1.5;      // sds in one step
  constexpr double kShortest = 0.05;
  constexpr double kSettled = 1e-4;
  constexpr int kMostClimbs = 30;
  const auto count = static_cast<Eigen::Index>(shared.size());
  const auto shared_part = [&](const Eigen::VectorXd& of) {
    Eigen::VectorXd out(count);
    for (Eigen::Index i = 0; i < count; ++i) out(i) = of(shared[static_cast<std::size_t>(i)]);
    return out;
  };
  pin_shared();
  climb(at, scales, kSettled, kMostClimbs);
  double value = marginal_value(at, scales, terms_);
  double determinant_part = value - terms_.value;
  const bool anew = slopes == Slopes::anew || way_.covariance.rows() != count;
  if (std::isfinite(value)) {
    if (anew) find_slopes(at, scales, shared);
    Eigen::VectorXd pull = shared_part(terms_.gradient), lean = shared_part(slope_);
    Eigen::VectorXd amiss = Eigen::VectorXd::Zero(count);  // of kept slopes, as the steps so far have shown it
    Eigen::MatrixXd spread = way_.covariance;              // of the shared unknowns, likewise
    double longest = kLongest;
    for (int step = 0; step < most_steps && longest > kShortest; ++step) {
      const Eigen::VectorXd slope = pull + lean + amiss;
      Eigen::VectorXd move = spread * slope;
      const double gain = 0.5 * slope.dot(move);
      if (!(gain > kLeastGain)) break;
      const auto way_factor = way_.covariance.ldlt();
      const double sds = std::sqrt(std::max(0.0, move.dot(way_factor.solve(move))));
      if (sds > longest) move *= longest / sds;
      Eigen::VectorXd to = at + way_.follow * move;
      climb(to, scales, kSettled, kMostClimbs);
      const double there = marginal_value(to, scales, terms_);
      const double determinant_there = there - terms_.value;
      const Eigen::VectorXd against = way_factor.solve(move) / move.dot(way_factor.solve(move));
      const double gained = determinant_there - determinant_part;
      const bool better = there > value + 1e-3 * gain;
      if (!better) {
        if (!anew && std::isfinite(there)) amiss += (gained - (lean + amiss).dot(move)) * against;
        longest = 0.5 * std::min(sds, longest);
        continue;
      }
      at = to;
      value = there;
      determinant_part = determinant_there;
      longest = std::min(kLongest, 2 * longest);
      if (step + 1 == most_steps) break;
      if (anew) find_slopes(at, scales, shared);
      const Eigen::VectorXd pull_here = shared_part(terms_.gradient), lean_here = shared_part(slope_);
      const Eigen::VectorXd bend = pull + lean - pull_here - lean_here;
      if (!anew) amiss += (gained - (0.5 * (lean + lean_here) + amiss).dot(move)) * against;
      pull = pull_here;
      lean = lean_here;
      // Broyden, Fletcher, Goldfarb and Shanno 1970, on what the curvature says here.
      spread = way_.covariance;
      const double product = move.dot(bend);
      if (product > 1e-3 * move.dot(way_.covariance.ldlt().solve(move))) {
        const Eigen::VectorXd reached = spread * bend;
        spread += (product + bend.dot(reached)) / (product * product) * move * move.transpose() -
                  (reached * move.transpose() + move * reached.transpose()) / product;
      }
    }
  }
  pin({});
  return value;
}

double FieldSolver::near_value(Eigen::VectorXd& at, const Scales& scales, int steps, double most_left) {
  constexpr double kFarOff = 0.1;    // log units that the last of several steps still expects to gain
  constexpr double kShrinks = 0.25;  // of that before, where another step will do
  constexpr int kMostMore = 2;
  constexpr double kSettled = 0.02;
  constexpr int kMostClimbs = 30;
  LatentField::Terms& now = terms();
  SparseLdl& system = active_ldl();
  double value = 0, gain = 0;
  const auto newton = [&] {
    evaluate_pinned(at, scales, 2, now);
    if (!system.factor(now.precision)) return false;
    Eigen::VectorXd move = system.solve(now.gradient);
    gain = 0.5 * now.gradient.dot(move);
    value = now.value + gain - 0.5 * system.log_determinant();
    const double longest = move.cwiseAbs().maxCoeff();
    near_ = at;
    if (longest > 0.5) move *= 0.5 / longest;
    at += move;
    return true;
  };
  const Eigen::VectorXd start = at;
  bool good = true;
  double before = 0;
  for (int step = 0; good && step < steps; ++step) {
    before = gain;
    good = newton();
  }
  if (steps > 1) {
    for (int more = 0; good && gain > kFarOff && gain < kShrinks * before && more < kMostMore; ++more) {
      before = gain;
      good = newton();
    }
    if (good && gain > kFarOff) {
      at = start;
      climb(at, scales, kSettled, kMostClimbs);
      good = newton();
    }
  }
  return good && gain <= most_left ? value : std::numeric_limits<double>::quiet_NaN();
}

bool FieldSolver::near_curvature(const Scales& scales) { return curvature(near_, scales); }

bool FieldSolver::curvature(const Eigen::VectorXd& at, const Scales& scales) {
  field_->evaluate(at, scales, 2, terms_);
  return ldl_.factor(terms_.precision);
}

bool FieldSolver::damped_curvature(const Eigen::VectorXd& at, const Scales& scales) {
  field_->evaluate(at, scales, 2, terms_);
  return factor_damped(terms_, ldl_);
}

void FieldSolver::match_moments(Eigen::VectorXd& at, const Scales& scales, const std::vector<int>& shared) {
  constexpr int kMostRounds = 6;
  constexpr double kSettled = 0.01;  // of the sd of a set's margin
  LatentField::Terms matched = terms_;
  LatentField::Sites sites;
  Eigen::VectorXd to = at;
  double change = 1;
  bool good = true;
  for (int round = 0; good && round <= kMostRounds && change > kSettled; ++round) {
    if (round > 0) ldl_.invert();
    const double changed = field_->match(to, scales, sites, matched, round > 0 ? &ldl_ : nullptr);
    if (round > 0) change = changed;
    for (const int variable : shared) {
      matched.gradient(variable) = 0;
      matched.precision.coeffRef(variable, variable) += kWall;
    }
    good = ldl_.factor(matched.precision);
    if (!good || round == 0) continue;
    const Eigen::VectorXd move = ldl_.solve(matched.gradient);
    good = move.allFinite() && move.cwiseAbs().maxCoeff() < 3;
    if (good) to += move;
  }
  if (good) at = to;
  ldl_.factor(terms_.precision);
}

std::vector<int> FieldSolver::informed(const std::vector<int>& shared) const {
  constexpr double kLeast = 0.005;  // of the prior's precision
  std::vector<int> out;
  for (const int variable : shared) {
    const double prior = field_->prior_precision(variable);
    if (terms_.precision.coeff(variable, variable) > (1 + kLeast) * prior) out.push_back(variable);
  }
  return out;
}

FieldSolver::Following FieldSolver::following(const std::vector<int>& shared) const {
  const auto count = static_cast<Eigen::Index>(shared.size());
  Eigen::MatrixXd right = Eigen::MatrixXd::Zero(field_->size(), count);
  for (Eigen::Index i = 0; i < count; ++i) right(shared[static_cast<std::size_t>(i)], i) = 1;
  const Eigen::MatrixXd columns = ldl_.solve(right);
  Following out;
  out.covariance.resize(count, count);
  for (Eigen::Index i = 0; i < count; ++i) out.covariance.row(i) = columns.row(shared[static_cast<std::size_t>(i)]);
  out.follow = columns * out.covariance.inverse();
  return out;
}

Eigen::VectorXd FieldSolver::slope_by(const std::vector<int>& variables, const Eigen::VectorXd& at,
                                      const Scales& scales) const {
  LatentField::Terms there;
  field_->evaluate(at, scales, 1, there);
  Eigen::VectorXd out(static_cast<Eigen::Index>(variables.size()));
  for (std::size_t i = 0; i < variables.size(); ++i) out(static_cast<Eigen::Index>(i)) = there.gradient(variables[i]);
  return out;
}

void FieldSolver::evaluate_pinned(const Eigen::VectorXd& at, const Scales& scales, int order,
                                  LatentField::Terms& out) const {
  field_->evaluate(at, scales, order, out, own_ ? Free::own : Free::all);
  for (const int variable : pinned_) {
    if (order > 0) out.gradient(variable) = 0;
    if (order > 1) out.precision.coeffRef(variable, variable) += kWall;
  }
}

// Of minus half the log determinant by each shared unknown, along the way the field follows when that one moves and the
// other shared ones stay, from the curvature in terms_ and ldl_.
void FieldSolver::find_slopes(const Eigen::VectorXd& at, const Scales& scales, const std::vector<int>& shared) {
  way_ = following(shared);
  ldl_.invert();
  const Eigen::VectorXd by_unknown = field_->determinant_slope(at, scales, ldl_);
  for (std::size_t i = 0; i < shared.size(); ++i)
    slope_(shared[i]) = -0.5 * way_.follow.col(static_cast<Eigen::Index>(i)).dot(by_unknown);
}

double FieldSolver::marginal_value(const Eigen::VectorXd& at, const Scales& scales, LatentField::Terms& terms) {
  field_->evaluate(at, scales, 2, terms);
  if (!std::isfinite(terms.value) || !ldl_.factor(terms.precision)) return -std::numeric_limits<double>::infinity();
  return terms.value - 0.5 * ldl_.log_determinant();
}

// Adds to the diagonal until the curvature is positive definite; damping_ 0 when it was of itself.
bool FieldSolver::factor_damped(const LatentField::Terms& now, SparseLdl& system) {
  damping_ = 0;
  if (system.factor(now.precision)) return true;
  SparseLdl::Matrix damped = now.precision;
  for (damping_ = 1e-3; damping_ < 1e6; damping_ *= 10) {
    for (int i = 0; i < damped.cols(); ++i) {
      damped.coeffRef(i, i) = now.precision.coeff(i, i) + damping_ * (1 + std::fabs(now.precision.coeff(i, i)));
    }
    if (system.factor(damped)) return true;
  }
  return false;
}

}  // namespace ullage::capacity
