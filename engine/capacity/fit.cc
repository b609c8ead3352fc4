#include "engine/capacity/fit.h"

#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include "engine/capacity/latent_field.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/summary.h"

namespace ullage::capacity {
namespace {

constexpr int kScaleCount = 3;
constexpr double kUnknownStopWidening = 1.5;               // of every sd, when all sets ended for reasons not told
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
    slope_ = Eigen::VectorXd::Zero(field.size());
  }

  struct Outcome {
    bool positive = false;  // curvature positive definite at the end
    bool converged = false;
    double log_marginal = -std::numeric_limits<double>::infinity();  // Laplace, without the scales' prior
  };

  // These unknowns stay where they are in `solve` (a wall of precision in the curvature).
  void pin(std::vector<int> variables) { pinned_ = std::move(variables); }

  // Moves `at` to the maximum: limited-memory BFGS with the factored curvature as its start, since that curvature
  // leaves out how fatigue bends (order 2) and plain Newton steps would creep. Stops when the expected gain is below
  // `tolerance`. order: of the curvature left behind in ldl(), 2 or 3.
  Outcome solve(Eigen::VectorXd& at, const Scales& scales, double tolerance, int most_steps, int order) {
    Outcome out;
    evaluate_pinned(at, scales, 2, terms_);
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
        evaluate_pinned(to, scales, 1, next);
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
        evaluate_pinned(at, scales, 2, terms_);
        if (!factor_damped()) return out;
      } else {
        terms_.value = next.value;
        terms_.gradient = next.gradient;
      }
    }
    evaluate_pinned(at, scales, order, terms_);
    out.positive = factor_damped() && damping_ == 0;
    if (out.positive) out.log_marginal = terms_.value - 0.5 * ldl_.log_determinant();
    return out;
  }

  // Moves the shared unknowns from the joint maximum to the maximum of their own marginal, in which the rest of the
  // field is integrated out by Laplace: log p(g) = L(g, u(g)) - log|H(g, u(g))|/2. The joint maximum alone leans to
  // values of fatigue and judgement that make the rest look certain. The slope of the log determinant is taken along
  // v_i, the way the field follows when one shared unknown moves and the other shared ones stay.
  bool marginalise(Eigen::VectorXd& at, const Scales& scales, const std::vector<int>& shared, int rounds) {
    const auto count = static_cast<Eigen::Index>(shared.size());
    LatentField::Terms there;
    double marginal = marginal_value(at, scales, there);
    for (int round = 0; round < rounds; ++round) {
      field_->evaluate(at, scales, 3, terms_);
      if (!factor_damped()) return false;
      const Eigen::MatrixXd columns = covariance_columns(shared);
      Eigen::MatrixXd small(count, count);
      for (Eigen::Index i = 0; i < count; ++i) small.row(i) = columns.row(shared[static_cast<std::size_t>(i)]);
      const Eigen::MatrixXd precision = small.inverse();
      const Eigen::MatrixXd follow = columns * precision;
      Eigen::VectorXd pull = terms_.gradient;
      const Eigen::VectorXd gradient_step = ldl_.solve(terms_.gradient);
      for (Eigen::Index i = 0; i < count; ++i) {
        const double step = 0.4 / std::sqrt(precision(i, i));
        double log_determinant[2];
        for (int side = 0; side < 2; ++side) {
          field_->evaluate(at + (side == 0 ? step : -step) * follow.col(i), scales, 2, there);
          if (!ldl_.factor(there.precision)) return false;
          log_determinant[side] = ldl_.log_determinant();
        }
        slope_(shared[static_cast<std::size_t>(i)]) = -0.25 * (log_determinant[0] - log_determinant[1]) / step;
      }
      Eigen::VectorXd slopes(count);
      for (Eigen::Index i = 0; i < count; ++i) slopes(i) = slope_(shared[static_cast<std::size_t>(i)]);
      Eigen::VectorXd move = gradient_step + columns * slopes;
      // No shared unknown moves by more than one of its sds at once.
      double most = 1;
      for (Eigen::Index i = 0; i < count; ++i) {
        most = std::max(most, std::fabs(move(shared[static_cast<std::size_t>(i)])) / std::sqrt(small(i, i)));
      }
      move /= most;
      // Backwards until the marginal has grown.
      bool grown = false;
      double gained = 0;
      for (int halving = 0; halving < 4 && !grown; ++halving, move *= 0.5) {
        Eigen::VectorXd to = at + move;
        pin(shared);
        solve(to, scales, 0.02, 6, 2);
        pin({});
        const double value = marginal_value(to, scales, there);
        grown = value > marginal;
        if (grown) {
          at = to;
          gained = value - marginal;
          marginal = value;
        }
      }
      if (!grown || gained < 0.02) break;
    }
    return curvature(at, scales);
  }

  // Leaves the curvature at this point in ldl(). Away from the joint maximum the bend of fatigue can make it
  // indefinite: then the bend is left out.
  bool curvature(const Eigen::VectorXd& at, const Scales& scales) {
    for (const int order : {3, 2}) {
      field_->evaluate(at, scales, order, terms_);
      if (ldl_.factor(terms_.precision)) return true;
    }
    return false;
  }

  // Moves the rest of the field to where its expected gradient vanishes under the Gaussian itself: a variational step
  // that takes up skewness. The shared unknowns stay, and so does the curvature in ldl(): expected curvature would
  // make intervals too narrow (measured on simulated lifters).
  void correct(Eigen::VectorXd& at, const Scales& scales, const std::vector<int>& shared, int rounds) {
    LatentField::Terms expected = terms_;
    const auto count = static_cast<Eigen::Index>(shared.size());
    for (int round = 0; round < rounds; ++round) {
      ldl_.invert();
      field_->evaluate(at, scales, 3, expected, &ldl_);
      Eigen::VectorXd move;
      if (ldl_.factor(expected.precision)) {
        move = ldl_.solve(expected.gradient);
        const Eigen::MatrixXd columns = covariance_columns(shared);
        Eigen::MatrixXd small(count, count);
        Eigen::VectorXd own(count);
        for (Eigen::Index i = 0; i < count; ++i) {
          small.row(i) = columns.row(shared[static_cast<std::size_t>(i)]);
          own(i) = move(shared[static_cast<std::size_t>(i)]);
        }
        move -= columns * small.ldlt().solve(own);
      }
      if (move.size() == 0 || !move.allFinite() || move.cwiseAbs().maxCoeff() > 3) {
        break;
      }
      at += move;
    }
    ldl_.factor(terms_.precision);
  }

  // As `curvature`, with as much added to the diagonal as it takes.
  bool damped_curvature(const Eigen::VectorXd& at, const Scales& scales) {
    field_->evaluate(at, scales, 2, terms_);
    return factor_damped();
  }

  const SparseLdl& ldl() const { return ldl_; }
  SparseLdl& ldl() { return ldl_; }

 private:
  void evaluate_pinned(const Eigen::VectorXd& at, const Scales& scales, int order, LatentField::Terms& out) const {
    constexpr double kWall = 1e8;
    field_->evaluate(at, scales, order, out);
    for (const int variable : pinned_) {
      if (order > 0) out.gradient(variable) = 0;
      if (order > 1) out.precision.coeffRef(variable, variable) += kWall;
    }
  }

  double marginal_value(const Eigen::VectorXd& at, const Scales& scales, LatentField::Terms& terms) {
    field_->evaluate(at, scales, 2, terms);
    if (!std::isfinite(terms.value) || !ldl_.factor(terms.precision)) return -std::numeric_limits<double>::infinity();
    return terms.value - 0.5 * ldl_.log_determinant();
  }

  Eigen::MatrixXd covariance_columns(const std::vector<int>& variables) const {
    Eigen::MatrixXd right = Eigen::MatrixXd::Zero(field_->size(), static_cast<Eigen::Index>(variables.size()));
    for (std::size_t i = 0; i < variables.size(); ++i) right(variables[i], static_cast<Eigen::Index>(i)) = 1;
    return ldl_.solve(right);
  }

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
  Eigen::VectorXd slope_;  // of minus half the log determinant, by shared unknown
  std::vector<int> pinned_;
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

// The unknowns shared by all sessions whose marginals are solved for: fatigue, judgement, stopping.
std::vector<int> shared_unknowns(const FieldLayout& f, const TrainingLog& log) {
  std::vector<int> out{f.log_a_fast, f.log_a_slow, f.log_tau_fast,    f.logit_lam, f.bias,
                       f.log_gain,   f.log_spread, f.log_spread_rise, f.cue_shift};
  std::array<bool, 3> met{};
  for (const ExerciseInLog& e : log.exercises) met[static_cast<std::size_t>(e.exercise.cls)] = true;
  for (std::size_t c = 0; c < met.size(); ++c) {
    if (met[c]) out.push_back(f.log_stopping[c]);
  }
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

Result<Posterior> fit(const TrainingLog& given, const FitOptions& options) {
  const auto tell = [&](double share) { return !options.progress || options.progress(share); };
  constexpr double kCoarse = 2e-3;
  constexpr double kFine = 1e-7;

  TrainingLog log = given;
  std::vector<SuspectSet> suspects;
  std::optional<LatentField> made;
  std::optional<FieldSolver> maker;
  Eigen::VectorXd centre;
  ScalePoint u = ScalePoint::Zero();
  std::vector<int> fatigue;
  bool converged = true;
  for (int pass = 0; pass < 2; ++pass) {
    maker.reset();
    LatentField& field = made.emplace(log);
    centre = field.start();
    field.freeze(centre, Scales{});
    FieldSolver& solver = maker.emplace(field);
    field.set_precision(Precision::coarse);
    // Fatigue stays at its prior while the scales are looked for: its joint maximum with the field can be far off.
    const FieldLayout& layout = field.layout();
    fatigue = {layout.log_a_fast, layout.log_a_slow, layout.log_tau_fast, layout.logit_lam};
    solver.pin(fatigue);
    converged = solver.solve(centre, scales_at(u), kCoarse, 80, 2).positive;
    if (pass > 0) break;
    suspects = set_aside(log, field, centre, scales_at(u));
    if (suspects.empty()) break;
  }
  LatentField& field = *made;
  FieldSolver& solver = *maker;
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

  // Central point: the shared unknowns to their marginal maximum, the rest solved finely, means corrected for skewness.
  const Scales central = scales_at(u);
  field.freeze(centre, central);
  const std::vector<int> shared = shared_unknowns(field.layout(), log);
  solver.pin({});
  if (log.set_count > 0) converged = solver.marginalise(centre, central, shared, 6) && converged;
  field.set_precision(Precision::fine);
  solver.pin(shared);
  FieldSolver::Outcome outcome = solver.solve(centre, central, kFine, 100, 2);
  converged = converged && outcome.converged;
  solver.pin({});
  if (!solver.curvature(centre, central)) {
    // The marginal of the shared unknowns led to a place where the whole is no maximum: back to the joint one.
    converged = false;
    solver.solve(centre, central, kFine, 100, 3);
    if (!solver.curvature(centre, central) && !solver.damped_curvature(centre, central)) {
      return fail(Code::internal, "the curvature at the best point is not positive definite");
    }
  }
  const Kept kept = kept_variables(field.layout());
  const auto kept_mean = [&](const Eigen::VectorXd& at) {
    Eigen::VectorXd out(kept.index.size);
    for (int i = 0; i < kept.index.size; ++i) out(i) = at(kept.field[static_cast<std::size_t>(i)]);
    return out;
  };
  const Eigen::VectorXd plain_mean = kept_mean(centre);
  const Eigen::MatrixXd central_covariance = kept_covariance(solver.ldl(), kept, field.size());
  Eigen::VectorXd corrected = centre;
  if (log.set_count > 0) solver.correct(corrected, central, shared, 3);
  const Eigen::VectorXd shift = kept_mean(corrected) - plain_mean;

  FitResult result;
  result.set_aside = suspects;
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
  solver.pin(shared);
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
      if (!solver.curvature(at, s)) continue;
      c.covariance = kept_covariance(solver.ldl(), kept, field.size());
      components.push_back(std::move(c));
    }
    double total = 0;
    for (const Component& c : components) total += c.weight;
    for (Component& c : components) c.weight /= total;
  }
  // Sets that ended for reasons not told have a hard wall at failure that a Gaussian takes up badly: on simulated
  // lifters whose every set ended so, standardised errors had an sd of 1.4 to 1.5 where 1 is right (docs/model.md).
  // Until that is better modelled, such logs get the wider intervals that were measured.
  int unknown = 0, informing = 0;
  for (const LoggedSession& session : log.sessions) {
    for (const LoggedSet& set : session.sets) {
      if (!set.informs_strength || (set.stop == Stop::planned && !set.feeling)) continue;
      ++informing;
      unknown += set.stop == Stop::unknown && !set.feeling ? 1 : 0;
    }
  }
  const double share = informing > 0 ? static_cast<double>(unknown) / informing : 0;
  const double wider = 1 + (kUnknownStopWidening - 1) * share;
  Eigen::VectorXd stretch = Eigen::VectorXd::Ones(kept.index.size);
  for (const std::vector<int>* list : {&kept.index.strength, &kept.index.log_endurance}) {
    for (const int i : *list) stretch(i) = wider;
  }
  for (Component& c : components) c.covariance = stretch.asDiagonal() * c.covariance * stretch.asDiagonal();
  result.unknown_share = share;
  for (double& v : result.variance) v *= wider * wider;
  if (!tell(1.0)) return fail(Code::cancelled, "stopped");
  return summarise(result);
}

}  // namespace ullage::capacity
