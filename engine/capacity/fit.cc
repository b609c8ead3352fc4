#include "engine/capacity/fit.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>

#include "engine/capacity/latent_field.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/summary.h"

namespace ullage::capacity {
namespace {

constexpr int kScaleCount = 3;
using ScalePoint = Eigen::Matrix<double, kScaleCount, 1>;  // in prior sds from the prior means

const std::array<Prior, kScaleCount>& scale_priors() {
  static const std::array<Prior, kScaleCount> kPriors{kLogSigma, kLogDrift, kLogDaySd};
  return kPriors;
}

Scales scales_at(const ScalePoint& u) {
  const auto& p = scale_priors();
  return {std::exp(p[0].mean + p[0].sd * u(0)), std::exp(p[1].mean + p[1].sd * u(1)),
          std::exp(p[2].mean + p[2].sd * u(2))};
}

// Newton's method on the latent field, scales held.
class FieldSolver {
 public:
  explicit FieldSolver(LatentField& field) : field_(&field) {
    field.evaluate(field.start(), Scales{}, 2, terms_);
    ldl_.analyse(terms_.precision);
  }

  struct Outcome {
    bool positive = false;  // curvature positive definite at the end
    bool converged = false;
    double log_marginal = -std::numeric_limits<double>::infinity();  // Laplace, without the scales' prior
  };

  // Moves `at` to the maximum: limited-memory BFGS with the factored curvature as its start, since that curvature
  // leaves out how fatigue bends (order 2) and plain Newton steps would creep. Stops when the expected gain is below
  // `tolerance`. order: of the curvature left behind in ldl(), 2 or 3.
  Outcome solve(Eigen::VectorXd& at, const Scales& scales, double tolerance, int most_steps, int order) {
    Outcome out;
    field_->evaluate(at, scales, 2, terms_);
    if (!factor_damped()) return out;
    struct Pair {
      Eigen::VectorXd step, bend;
      double product;
    };
    std::vector<Pair> memory;
    LatentField::Terms next;
    for (int iteration = 0; iteration < most_steps; ++iteration) {
      // Two-loop recursion (Nocedal 1980).
      Eigen::VectorXd move = terms_.gradient;
      std::vector<double> alpha(memory.size());
      for (std::size_t i = memory.size(); i-- > 0;) {
        alpha[i] = memory[i].step.dot(move) / memory[i].product;
        move -= alpha[i] * memory[i].bend;
      }
      move = ldl_.solve(move);
      for (std::size_t i = 0; i < memory.size(); ++i) {
        move += (alpha[i] - memory[i].bend.dot(move) / memory[i].product) * memory[i].step;
      }
      double gain = terms_.gradient.dot(move);
      if (!(gain > 0)) {
        memory.clear();
        move = ldl_.solve(terms_.gradient);
        gain = terms_.gradient.dot(move);
      }
      if (gain < tolerance) {
        out.converged = true;
        break;
      }
      const double longest = move.cwiseAbs().maxCoeff();
      double length = longest > 0.5 ? 0.5 / longest : 1.0;
      bool better = false;
      Eigen::VectorXd to;
      for (int halving = 0; halving < 12; ++halving, length *= 0.5) {
        to = at + length * move;
        field_->evaluate(to, scales, 1, next);
        if (std::isfinite(next.value) && next.value >= terms_.value + 1e-4 * length * gain) {
          better = true;
          break;
        }
      }
      if (!better) {
        out.converged = gain < 100 * tolerance;
        if (memory.empty() || out.converged) break;
        memory.clear();
        continue;
      }
      Pair pair{to - at, terms_.gradient - next.gradient, 0};
      pair.product = pair.step.dot(pair.bend);
      const bool refresh = iteration % 8 == 7 || damping_ > 0;
      at = to;
      if (pair.product > 1e-12) memory.push_back(std::move(pair));
      if (memory.size() > 12) memory.erase(memory.begin());
      if (refresh) {
        field_->evaluate(at, scales, 2, terms_);
        if (!factor_damped()) return out;
      } else {
        terms_.value = next.value;
        terms_.gradient = next.gradient;
      }
    }
    field_->evaluate(at, scales, order, terms_);
    out.positive = factor_damped() && damping_ == 0;
    if (out.positive) out.log_marginal = terms_.value - 0.5 * ldl_.log_determinant();
    return out;
  }

  // Moves the mean to where the expected gradient vanishes and the curvature to its expectation, both under
  // the Gaussian itself: a Gaussian variational step that takes up skewness. False: left as it was.
  bool correct(Eigen::VectorXd& at, const Scales& scales, int rounds) {
    LatentField::Terms expected = terms_;
    LatentField::Terms held = terms_;
    for (int round = 0; round < rounds; ++round) {
      ldl_.invert();
      field_->evaluate(at, scales, 3, expected, &ldl_);
      Eigen::VectorXd move;
      if (ldl_.factor(expected.precision)) move = ldl_.solve(expected.gradient);
      if (move.size() == 0 || !move.allFinite() || move.cwiseAbs().maxCoeff() > 3) {
        ldl_.factor(held.precision);
        return round > 0;
      }
      at += move;
      std::swap(held, expected);
    }
    return true;
  }

  const SparseLdl& ldl() const { return ldl_; }
  SparseLdl& ldl() { return ldl_; }

 private:
  // Adds to the diagonal until the curvature is positive definite; damping_ 0 when it was of itself.
  bool factor_damped() {
    damping_ = 0;
    if (ldl_.factor(terms_.precision)) return true;
    SparseLdl::Matrix damped = terms_.precision;
    for (damping_ = 1e-3; damping_ < 1e6; damping_ *= 10) {
      for (int i = 0; i < damped.cols(); ++i) {
        damped.coeffRef(i, i) = terms_.precision.coeff(i, i) + damping_ * (1 + std::fabs(terms_.precision.coeff(i, i)));
      }
      if (ldl_.factor(damped)) return true;
    }
    return false;
  }

  LatentField* field_;
  LatentField::Terms terms_;
  SparseLdl ldl_;
  double damping_ = 0;
};

// What forecasts need, out of the whole field: shared unknowns, last (theta, v) of each lift, log k, practice,
// readiness of the last session.
struct Kept {
  Posterior::Index index;
  std::vector<int> field;  // field variable of each kept one
};

Kept kept_variables(const FieldLayout& f) {
  Kept out;
  const auto keep = [&](int variable) {
    out.field.push_back(variable);
    return static_cast<int>(out.field.size()) - 1;
  };
  Posterior::Index& i = out.index;
  i.general = keep(f.general);
  i.log_a_fast = keep(f.log_a_fast);
  i.log_a_slow = keep(f.log_a_slow);
  i.log_tau_fast = keep(f.log_tau_fast);
  i.logit_lam = keep(f.logit_lam);
  i.log_a_day = keep(f.log_a_day);
  i.bias = keep(f.bias);
  i.log_gain = keep(f.log_gain);
  i.log_spread = keep(f.log_spread);
  i.log_spread_rise = keep(f.log_spread_rise);
  i.cue_shift = keep(f.cue_shift);
  i.log_layoff = keep(f.log_layoff);
  if (!f.readiness.empty()) i.readiness = keep(f.readiness.back());
  for (std::size_t l = 0; l < f.strength.size(); ++l) {
    i.strength.push_back(keep(f.strength[l].back()));
    i.trend.push_back(keep(f.trend[l].back()));
    i.practice.push_back(f.practice[l] < 0 ? -1 : keep(f.practice[l]));
  }
  for (const int k : f.log_endurance) i.log_endurance.push_back(keep(k));
  i.size = static_cast<int>(out.field.size());
  return out;
}

Eigen::MatrixXd kept_covariance(const SparseLdl& ldl, const Kept& kept, int size) {
  Eigen::MatrixXd right = Eigen::MatrixXd::Zero(size, kept.index.size);
  for (int i = 0; i < kept.index.size; ++i) right(kept.field[static_cast<std::size_t>(i)], i) = 1;
  const Eigen::MatrixXd columns = ldl.solve(right);
  Eigen::MatrixXd out(kept.index.size, kept.index.size);
  for (int i = 0; i < kept.index.size; ++i) out.row(i) = columns.row(kept.field[static_cast<std::size_t>(i)]);
  return 0.5 * (out + out.transpose());
}

// The log marginal of the scales around a centre, as a quadratic from 10 points.
struct Quadratic {
  double centre_value = 0;
  ScalePoint gradient = ScalePoint::Zero();
  Eigen::Matrix3d hessian = -Eigen::Matrix3d::Identity();
};

}  // namespace

Result<Posterior> fit(const TrainingLog& log, const FitOptions& options) {
  LatentField field(log);
  const auto tell = [&](double share) { return !options.progress || options.progress(share); };
  constexpr double kCoarse = 2e-3;
  constexpr double kFine = 1e-7;

  Eigen::VectorXd centre = field.start();
  field.freeze(centre, Scales{});
  FieldSolver solver(field);
  field.set_precision(Precision::coarse);
  ScalePoint u = ScalePoint::Zero();
  bool converged = solver.solve(centre, scales_at(u), kCoarse, 80, 2).positive;
  field.freeze(centre, scales_at(u));
  if (!tell(0.1)) return fail(Code::cancelled, "stopped");

  // Log marginal of the scales, from a warm start.
  const auto value_at = [&](const ScalePoint& point, Eigen::VectorXd& at) {
    const FieldSolver::Outcome o = solver.solve(at, scales_at(point), kCoarse, 25, 2);
    return o.log_marginal - 0.5 * point.squaredNorm();
  };
  Quadratic q;
  const int rounds = log.set_count == 0 ? 0 : 3;
  for (int round = 0; round < rounds; ++round) {
    constexpr double kStep = 0.6;
    Eigen::VectorXd at = centre;
    q.centre_value = value_at(u, centre);
    std::array<double, kScaleCount> up{}, down{};
    for (int i = 0; i < kScaleCount; ++i) {
      at = centre;
      up[static_cast<std::size_t>(i)] = value_at(u + kStep * ScalePoint::Unit(i), at);
      at = centre;
      down[static_cast<std::size_t>(i)] = value_at(u - kStep * ScalePoint::Unit(i), at);
      q.gradient(i) = (up[static_cast<std::size_t>(i)] - down[static_cast<std::size_t>(i)]) / (2 * kStep);
      q.hessian(i, i) =
          (up[static_cast<std::size_t>(i)] + down[static_cast<std::size_t>(i)] - 2 * q.centre_value) / (kStep * kStep);
    }
    for (int i = 0; i < kScaleCount; ++i) {
      for (int j = 0; j < i; ++j) {
        at = centre;
        const double both = value_at(u + kStep * (ScalePoint::Unit(i) + ScalePoint::Unit(j)), at);
        q.hessian(i, j) = q.hessian(j, i) =
            (both - up[static_cast<std::size_t>(i)] - up[static_cast<std::size_t>(j)] + q.centre_value) /
            (kStep * kStep);
      }
    }
    if (!tell(0.1 + 0.2 * (round + 1))) return fail(Code::cancelled, "stopped");
    if (!q.hessian.allFinite() || !q.gradient.allFinite()) {
      converged = false;
      q.hessian = -Eigen::Matrix3d::Identity();
      break;
    }
    // The prior alone gives curvature -1 in each direction: never less than a third of it.
    Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(-q.hessian);
    const Eigen::Vector3d curvature = eigen.eigenvalues().cwiseMax(0.33);
    q.hessian = -(eigen.eigenvectors() * curvature.asDiagonal() * eigen.eigenvectors().transpose());
    ScalePoint move = -q.hessian.inverse() * q.gradient;
    if (move.norm() > 1.5) move *= 1.5 / move.norm();
    u += move;
    if (move.norm() < 0.25) break;
  }

  // Central point: solved finely, then corrected for skewness.
  const Scales central = scales_at(u);
  field.set_precision(Precision::fine);
  field.freeze(centre, central);
  FieldSolver::Outcome outcome = solver.solve(centre, central, kFine, 100, 3);
  if (!outcome.positive) {
    // One more try from a fresh start before giving up.
    centre = field.start();
    field.freeze(centre, central);
    outcome = solver.solve(centre, central, kFine, 300, 2);
    if (!outcome.positive) return fail(Code::internal, "the curvature at the best point is not positive definite");
  }
  converged = converged && outcome.converged;
  const Kept kept = kept_variables(field.layout());
  const auto kept_mean = [&](const Eigen::VectorXd& at) {
    Eigen::VectorXd out(kept.index.size);
    for (int i = 0; i < kept.index.size; ++i) out(i) = at(kept.field[static_cast<std::size_t>(i)]);
    return out;
  };
  const Eigen::VectorXd plain_mean = kept_mean(centre);
  const Eigen::VectorXd plain_sd = kept_covariance(solver.ldl(), kept, field.size()).diagonal().cwiseSqrt();
  Eigen::VectorXd corrected = centre;
  if (log.set_count > 0) solver.correct(corrected, central, 3);
  const Eigen::MatrixXd central_covariance = kept_covariance(solver.ldl(), kept, field.size());
  const Eigen::VectorXd shift = kept_mean(corrected) - plain_mean;
  const Eigen::VectorXd stretch = central_covariance.diagonal().cwiseSqrt().cwiseQuotient(plain_sd);

  FitResult result;
  result.field = &field;
  result.log = &log;
  result.mean = corrected;
  result.scales = central;
  result.index = kept.index;
  result.converged = converged;
  if (options.history) {
    solver.ldl().invert();
    for (int i = 0; i < field.size(); ++i) result.variance.push_back(solver.ldl().inverse(i, i));
  }
  if (!tell(0.8)) return fail(Code::cancelled, "stopped");

  // Outer design: centre, axial and corner points on a sphere (Rue, Martino, Chopin 2009, section 6.5).
  std::vector<Component>& components = result.components;
  field.set_precision(Precision::coarse);
  Eigen::VectorXd again = centre;
  const double centre_value = value_at(u, again);  // as coarse as the design points it is compared with
  components.push_back({1, central.sigma, central.drift, central.day_sd, kept_mean(corrected), central_covariance});
  if (options.integrate && log.set_count > 0) {
    Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen(-q.hessian);
    const Eigen::Matrix3d to_u = eigen.eigenvectors() * eigen.eigenvalues().cwiseSqrt().cwiseInverse().asDiagonal();
    const double f0 = 1.1;
    const double radius = f0 * std::sqrt(3.0);
    std::vector<ScalePoint> design;
    for (int i = 0; i < 3; ++i) {
      design.push_back(radius * ScalePoint::Unit(i));
      design.push_back(-radius * ScalePoint::Unit(i));
    }
    for (int corner = 0; corner < 8; ++corner) {
      design.push_back(f0 * ScalePoint((corner & 1) ? 1 : -1, (corner & 2) ? 1 : -1, (corner & 4) ? 1 : -1));
    }
    const double on_sphere =
        1 / (static_cast<double>(design.size()) * std::exp(-0.5 * radius * radius) * (f0 * f0 - 1));
    for (const ScalePoint& w : design) {
      const ScalePoint point = u + to_u * w;
      Eigen::VectorXd at = centre;
      const FieldSolver::Outcome o = solver.solve(at, scales_at(point), kCoarse, 25, 2);
      if (!o.positive) continue;
      const double weight = on_sphere * std::exp(o.log_marginal - 0.5 * point.squaredNorm() - centre_value);
      if (!(weight > 1e-4) || !std::isfinite(weight)) continue;
      Component c;
      c.weight = weight;
      const Scales s = scales_at(point);
      c.sigma = s.sigma;
      c.drift = s.drift;
      c.day_sd = s.day_sd;
      c.mean = kept_mean(at) + shift;
      c.covariance = stretch.asDiagonal() * kept_covariance(solver.ldl(), kept, field.size()) * stretch.asDiagonal();
      components.push_back(std::move(c));
    }
    double total = 0;
    for (const Component& c : components) total += c.weight;
    for (Component& c : components) c.weight /= total;
  }
  if (!tell(1.0)) return fail(Code::cancelled, "stopped");
  return summarise(result);
}

}  // namespace ullage::capacity
