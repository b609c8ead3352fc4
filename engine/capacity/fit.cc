#include "engine/capacity/fit.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <optional>

#include "engine/capacity/balanced_points.h"
#include "engine/capacity/felt_each_rep.h"
#include "engine/capacity/field_solver.h"
#include "engine/capacity/latent_field.h"
#include "engine/capacity/light_sets.h"
#include "engine/capacity/marginals.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/repeated_calls.h"
#include "engine/capacity/repeated_reps.h"
#include "engine/capacity/summary.h"

namespace ullage::capacity {
namespace {

constexpr int kScaleCount = 3;
constexpr double kCoarse = 2e-3;  // log units: how near a first search of the field comes
constexpr int kMostSteps = 80;
// Of sds, when all sets ended for reasons not told.
constexpr double kUntoldWideningOfStrength = 1.1;
constexpr double kUntoldWideningOfEndurance = 1.05;
constexpr double kUntoldWideningOfFatigue = 1.15;  // log A_slow, log tau_fast, logit lam
constexpr double kUntoldWideningOfSigma = 1.25;
// Fatigue and sigma in full from so many sets on, as measured; at 62 a full sampler finds the fit's own sds right.
constexpr int kUntoldFromSets = 62, kUntoldInFullFromSets = 200;
using ScalePoint = Eigen::Matrix<double, kScaleCount, 1>;  // in prior sds from the prior means

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

// The log marginal of the scales around a centre, as a quadratic from 10 points: the shared unknowns held.
struct Quadratic {
  double centre_value = 0;
  ScalePoint gradient = ScalePoint::Zero();
  Eigen::Matrix3d hessian = -Eigen::Matrix3d::Identity();
  Eigen::MatrixXd cross;   // shared x scales: how the slope by the shared unknowns changes with the scales
  Eigen::MatrixXd follow;  // field x scales: how the rest of the field does
};

// The same with the shared unknowns free to go along.
struct ScaleSpread {
  Eigen::Matrix3d covariance = Eigen::Matrix3d::Identity();
  Eigen::Matrix3d root = Eigen::Matrix3d::Identity();  // from standard normals
  Eigen::MatrixXd follow;                              // field x scales, the shared unknowns' way included
};
// shared: the unknowns of q.cross; told, way: those of them that go along, and how.
ScaleSpread spread_of_scales(const Quadratic& q, const std::vector<int>& shared, const std::vector<int>& told,
                             const FieldSolver::Following& way) {
  Eigen::MatrixXd cross(static_cast<Eigen::Index>(told.size()), kScaleCount);
  for (std::size_t i = 0; i < told.size(); ++i) {
    const auto row = std::find(shared.begin(), shared.end(), told[i]) - shared.begin();
    cross.row(static_cast<Eigen::Index>(i)) = q.cross.row(row);
  }
  // The prior alone gives a precision of 1 in each direction: never much less than that. Where going along would make
  // it less, the way is no straight line any more, and less of it is gone.
  constexpr double kLeast = 0.8;
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> held(-q.hessian);
  const Eigen::Matrix3d alone =
      held.eigenvectors() * held.eigenvalues().cwiseMax(kLeast).asDiagonal() * held.eigenvectors().transpose();
  Eigen::MatrixXd along = way.covariance * cross;
  Eigen::SelfAdjointEigenSolver<Eigen::Matrix3d> eigen;
  for (double share = 1;; share *= 0.8) {
    const Eigen::Matrix3d precision = alone - share * cross.transpose() * along;
    eigen.compute(0.5 * (precision + precision.transpose()));
    if (eigen.eigenvalues().minCoeff() >= kLeast || share < 0.01) {
      along *= share;
      break;
    }
  }
  ScaleSpread out;
  out.root = eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(kLeast).cwiseSqrt().cwiseInverse().asDiagonal();
  out.covariance = out.root * out.root.transpose();
  out.follow = q.follow + way.follow * along;
  return out;
}

// Log marginal of the scales; at: near the field's best place there, moved to it.
double log_marginal(FieldSolver& solver, const ScalePoint& scales, Eigen::VectorXd& at) {
  return solver.near_value(at, scales_at(scales)) - 0.5 * scales.squaredNorm();
}

enum class Search { settled, not_settled, stopped };

// Moves the scales to the maximum of their marginal, the shared unknowns to theirs at these scales, and the field along
// with both: rounds of ten points about the place reached, q being what the last ones said. tell: false to stop.
Search search_scales(LatentField& field, FieldSolver& solver, const std::vector<int>& shared, int rounds,
                     const std::function<bool(double)>& tell, Eigen::VectorXd& centre, ScalePoint& u, Quadratic& q) {
  Search out = Search::settled;
  q = Quadratic{};
  q.follow = Eigen::MatrixXd::Zero(field.size(), kScaleCount);  // each round's points start along the one before
  for (int round = 0; round < rounds; ++round) {
    constexpr double kStep = 0.6;
    solver.pin({});
    solver.marginalise(centre, scales_at(u), shared, round == 0 ? 10 : 4,
                       round == 0 ? FieldSolver::Slopes::anew : FieldSolver::Slopes::kept);
    solver.pin_shared();
    field.freeze(centre, scales_at(u));
    q.centre_value = log_marginal(solver, u, centre);
    // `step` away from u; where following in a line leads off the field, from the middle.
    const auto value_away = [&](const ScalePoint& step, Eigen::VectorXd& at) {
      at = centre + q.follow * step;
      const double value = log_marginal(solver, u + step, at);
      if (std::isfinite(value)) return value;
      at = centre;
      return log_marginal(solver, u + step, at);
    };
    q.cross.resize(static_cast<Eigen::Index>(shared.size()), kScaleCount);
    Eigen::MatrixXd follow(field.size(), kScaleCount);
    std::array<double, kScaleCount> up{}, down{};
    for (int i = 0; i < kScaleCount; ++i) {
      const auto k = static_cast<std::size_t>(i);
      const ScalePoint step = kStep * ScalePoint::Unit(i);
      Eigen::VectorXd above, below;
      up[k] = value_away(step, above);
      down[k] = value_away(-step, below);
      q.gradient(i) = (up[k] - down[k]) / (2 * kStep);
      q.hessian(i, i) = (up[k] + down[k] - 2 * q.centre_value) / (kStep * kStep);
      q.cross.col(i) =
          (solver.slope_by(shared, above, scales_at(u + step)) - solver.slope_by(shared, below, scales_at(u - step))) /
          (2 * kStep);
      follow.col(i) = (above - below) / (2 * kStep);
    }
    q.follow = follow;
    for (int i = 0; i < kScaleCount; ++i) {
      for (int j = 0; j < i; ++j) {
        const ScalePoint step = kStep * (ScalePoint::Unit(i) + ScalePoint::Unit(j));
        Eigen::VectorXd at;
        const double both = value_away(step, at);
        q.hessian(i, j) = q.hessian(j, i) =
            (both - up[static_cast<std::size_t>(i)] - up[static_cast<std::size_t>(j)] + q.centre_value) /
            (kStep * kStep);
      }
    }
    if (!tell(0.1 + 0.2 * (round + 1))) return Search::stopped;
    if (!q.hessian.allFinite() || !q.gradient.allFinite() || !q.cross.allFinite() || !q.follow.allFinite()) {
      out = Search::not_settled;
      q.hessian = -Eigen::Matrix3d::Identity();
      q.cross.setZero();
      q.follow.setZero();
      break;
    }
    solver.pin({});
    if (!solver.curvature(centre, scales_at(u))) break;
    const std::vector<int> told = solver.informed(shared);
    const ScaleSpread towards = spread_of_scales(q, shared, told, solver.following(told));
    ScalePoint move = towards.covariance * q.gradient;
    if (move.norm() > 1.5) move *= 1.5 / move.norm();
    u += move;
    // Where following in a line leads off the field, it stays.
    const auto joint = [&](const Eigen::VectorXd& at) {
      LatentField::Terms terms;
      field.evaluate(at, scales_at(u), 0, terms);
      return terms.value;
    };
    if (const Eigen::VectorXd to = centre + towards.follow * move; joint(to) > joint(centre)) centre = to;
    if (move.norm() < 0.25) break;
  }
  return out;
}

// Whether the stops on cues speak for a feeling that starts afresh at each rep (felt_each_rep.h); log and centre are
// left as the one they speak for has them. Both log marginals are found at these scales, the shared unknowns at their
// best place. centre: where the search with feelings once a set, `pinned` held, has ended; the other's begins likewise.
bool speaks_for_each_rep(TrainingLog& log, FieldSolver& solver, const LatentField& field, const Scales& scales,
                         const std::vector<int>& pinned, Eigen::VectorXd& centre) {
  constexpr int kLeastCues = 12;
  // Feelings once a set are thought seven times as common (assumption): a gain of two log units.
  constexpr double kLeastGain = 2;
  if (sets_with_cue(log) < kLeastCues) return false;
  const std::vector<int> shared = shared_unknowns(field.layout(), log);
  Eigen::VectorXd once = centre, anew = field.start();
  const double by_once = solver.marginalise(once, scales, shared, 10);
  feel_each_rep(log, true);
  solver.pin(pinned);
  solver.solve(anew, scales, kCoarse, kMostSteps);
  const double by_each = solver.marginalise(anew, scales, shared, 10);
  const bool each = std::isfinite(by_once) && std::isfinite(by_each) && by_each > by_once + kLeastGain;
  feel_each_rep(log, each);
  centre = each ? anew : once;
  if (each) {
    log.remarks.emplace_back(
        "the stops on a cue scatter as if each rep were felt anew: such sets end earlier and less evenly, and are "
        "counted so");
  }
  return each;
}

// What lies in the shared unknowns all round their best place, and not only there: the field follows them in curves and
// their marginal is no Gaussian.
struct SharedAverage {
  Eigen::VectorXd move;  // to be added to the field at the best place
  Eigen::MatrixXd bend;  // covariance of the kept unknowns that following in a line leaves out
  // The likeliest of the points: no likelier than the best place, if that is one.
  double value = -std::numeric_limits<double>::infinity();  // log marginal of scales and shared unknowns
  Eigen::VectorXd field;
  ScalePoint scales = ScalePoint::Zero();
};

constexpr int kMostOverEndurance = 400;  // sets: in longer logs endurance is known well, and each value costs more

// Points for the average: in long logs the unknowns are known well, their marginal is nearer a Gaussian and each point
// costs more.
int shared_points(const TrainingLog& log) {
  return log.set_count <= 100 ? 128 : log.set_count <= 400 ? 64 : log.set_count <= 2000 ? 32 : 0;
}

// Importance sampling with the Gaussian about the best place as proposal, in opposite pairs, each point's field solved
// for. centre, u: the best place and its scales, with their spread about it; own: covariance of the kept unknowns with
// the shared ones held there. The solver has the shared unknowns pinned.
SharedAverage average_shared(FieldSolver& solver, const Eigen::VectorXd& centre, const ScalePoint& u,
                             const ScaleSpread& spread_of_u, const Eigen::MatrixXd& own,
                             const FieldSolver::Following& way, const Kept& kept, int points) {
  const auto count = way.covariance.rows();
  const auto size = static_cast<Eigen::Index>(kept.index.size);
  SharedAverage out;
  out.move = Eigen::VectorXd::Zero(centre.size());
  out.bend = Eigen::MatrixXd::Zero(size, size);
  const Eigen::LLT<Eigen::MatrixXd> root(way.covariance);
  if (points == 0 || count == 0 || root.info() != Eigen::Success) return out;
  const Eigen::MatrixXd lower = root.matrixL();

  constexpr double kMostLeft = 1;  // log units that a third Newton step may still gain
  struct Point {
    Eigen::VectorXd move, bent;  // beside what goes with the scales, over which the design integrates
    Eigen::MatrixXd own;         // covariance of the kept unknowns, the shared ones held there
    double log_weight;
  };
  std::vector<Point> all;
  // The same points for every lifter, each with its opposite.
  const int pairs = points / 2;
  const Eigen::MatrixXd half = balanced_points(kScaleCount + static_cast<int>(count), pairs);
  for (int i = 0; i < 2 * pairs; ++i) {
    const Eigen::VectorXd z = (i % 2 == 0 ? 1.0 : -1.0) * half.col(i / 2);
    const ScalePoint scales = spread_of_u.root * z.head<kScaleCount>();
    const Eigen::VectorXd with_scales = centre + spread_of_u.follow * scales;
    const Eigen::VectorXd straight = way.follow * (lower * z.tail(count));
    Eigen::VectorXd at = with_scales + straight;
    const double value = solver.near_value(at, scales_at(u + scales), 2, kMostLeft) - 0.5 * (u + scales).squaredNorm();
    if (!std::isfinite(value)) continue;
    if (value > out.value) {
      out.value = value;
      out.field = at;
      out.scales = u + scales;
    }
    Point point{at - with_scales, Eigen::VectorXd(size), Eigen::MatrixXd(), value + 0.5 * z.squaredNorm()};
    for (Eigen::Index k = 0; k < size; ++k) {
      const int v = kept.field[static_cast<std::size_t>(k)];
      point.bent(k) = point.move(v) - straight(v);
    }
    point.own = kept_covariance(solver.own_ldl(), kept, static_cast<int>(centre.size()));
    all.push_back(std::move(point));
  }
  if (static_cast<int>(all.size()) < points / 2) return out;
  // No point counts for more than eight like the middle one.
  std::vector<double> sorted;
  for (const Point& p : all) sorted.push_back(p.log_weight);
  std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
  const double middle = sorted[sorted.size() / 2];
  double total = 0;
  Eigen::VectorXd mean_bent = Eigen::VectorXd::Zero(size);
  for (Point& p : all) {
    p.log_weight = std::exp(std::min(p.log_weight - middle, std::log(8.0)));
    total += p.log_weight;
  }
  for (const Point& p : all) {
    const double weight = p.log_weight / total;
    out.move += weight * p.move;
    mean_bent += weight * p.bent;
  }
  for (const Point& p : all) {
    const Eigen::VectorXd off = p.bent - mean_bent;
    out.bend += p.log_weight / total * off * off.transpose();
  }
  // What the shared unknowns held at their best place say of the rest, against what they say on average.
  Eigen::MatrixXd more = -own;
  for (const Point& p : all) more += p.log_weight / total * p.own;
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> parts(more);
  out.bend += parts.eigenvectors() * parts.eigenvalues().cwiseMax(0).asDiagonal() * parts.eigenvectors().transpose();
  return out;
}

}  // namespace

Result<Posterior> fit(const TrainingLog& given, const FitOptions& options) {
  const auto tell = [&](double share) { return !options.progress || options.progress(share); };
  constexpr double kFine = 1e-7;

  TrainingLog log = given;
  if (!options.as_written) {
    if (const RepeatedCalls repeated_ones = repeated_calls(log); repeated_ones.by_habit()) {
      keep_last_calls(log, repeated_ones);
    } else if (const RepeatedCalls steady_ones = steady_calls(log); steady_ones.by_habit()) {
      keep_last_calls(log, steady_ones, CallsOf::untold_ends);
    }
  }
  if (const LightSets light = light_sets(log); !options.as_written && light.by_plan())
    take_light_for_planned(log, light);
  const RepeatedReps repeated = repeated_reps(log);
  // Of sets that are mostly the very same those that are not tell something; of even ones none does.
  const bool mostly_same =
      3 * repeated.same_as_session > 2 * repeated.beside_session || 3 * repeated.same_as_set > 2 * repeated.beside_set;
  const bool by_evenness = !options.as_written && repeated.by_evenness() && !mostly_same;
  const bool by_plan = !options.as_written && repeated.by_plan() && !by_evenness;
  if (by_plan) take_for_planned(log, repeated);
  if (by_evenness) take_one_for_a_stop(log, repeated);
  const bool reps_planned = by_plan || by_evenness;
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
    converged = solver.solve(centre, scales_at(u), kCoarse, kMostSteps).positive;
    if (pass > 0) break;
    suspects = set_aside(log, field, centre, scales_at(u));
    if (suspects.empty()) break;
  }
  LatentField& field = *made;
  FieldSolver& solver = *maker;
  const bool felt_each_rep =
      !options.as_written && speaks_for_each_rep(log, solver, field, scales_at(u), fatigue, centre);
  field.freeze(centre, scales_at(u));
  if (!tell(0.1)) return fail(Code::cancelled, "stopped");

  const auto value_at = [&](const ScalePoint& point, Eigen::VectorXd& at) { return log_marginal(solver, point, at); };
  const std::vector<int> shared = shared_unknowns(field.layout(), log);
  const int rounds = log.set_count == 0 ? 0 : 4;
  const Kept kept = kept_variables(field.layout());
  const auto kept_mean = [&](const Eigen::VectorXd& at) {
    Eigen::VectorXd out(kept.index.size);
    for (int i = 0; i < kept.index.size; ++i) out(i) = at(kept.field[static_cast<std::size_t>(i)]);
    return out;
  };
  Quadratic q;
  Scales central;
  Eigen::VectorXd plain_mean, corrected;
  Eigen::MatrixXd central_covariance;
  FitResult result;
  ScaleSpread spread;
  double centre_value = 0;                                      // log marginal of the scales
  Eigen::MatrixXd stretched(kept.index.size, kept.index.size);  // from the curvature's spread
  Eigen::MatrixXd bend(kept.index.size, kept.index.size);
  const auto corrected_spread = [&](const Eigen::MatrixXd& covariance) -> Eigen::MatrixXd {
    return stretched * covariance * stretched.transpose() + bend;
  };
  Eigen::VectorXd skewness(kept.index.size);
  // Where one of the points that are weighed is far likelier than the place they lie about, that was no maximum but of
  // its own surroundings: the search starts again from there.
  constexpr int kMostSearches = 3;
  constexpr double kFarLikelier = 1;
  const bool started_well = converged;
  bool settled = false;
  for (int search = 1; !settled; ++search) {
    settled = true;
    const Search scales = search_scales(field, solver, shared, rounds, tell, centre, u, q);
    if (scales == Search::stopped) return fail(Code::cancelled, "stopped");
    converged = started_well && scales == Search::settled;
    // Central point: the shared unknowns to their marginal maximum, the rest solved finely, means corrected for
    // skewness.
    central = scales_at(u);
    field.freeze(centre, central);
    solver.pin({});
    if (log.set_count > 0) converged = std::isfinite(solver.marginalise(centre, central, shared, 6)) && converged;
    field.set_precision(Precision::fine);
    solver.pin_shared();
    FieldSolver::Outcome outcome = solver.solve(centre, central, kFine, 100);
    converged = converged && outcome.converged;
    solver.pin({});
    if (!solver.curvature(centre, central)) {
      // The marginal of the shared unknowns led to a place where the whole is no maximum: back to the joint one.
      converged = false;
      solver.solve(centre, central, kFine, 100);
      if (!solver.curvature(centre, central) && !solver.damped_curvature(centre, central)) {
        return fail(Code::internal, "the curvature at the best point is not positive definite");
      }
    }
    plain_mean = kept_mean(centre);
    central_covariance = kept_covariance(solver.ldl(), kept, field.size());
    if (options.history) {
      solver.ldl().invert();
      result.variance.clear();
      for (int i = 0; i < field.size(); ++i) result.variance.push_back(solver.ldl().inverse(i, i));
    }
    corrected = centre;
    stretched.setIdentity();
    bend.setZero();
    skewness.setZero();
    if (log.set_count > 0) {
      const std::vector<int> told = solver.informed(shared);
      FieldSolver::Following way = solver.following(told);
      spread = spread_of_scales(q, shared, told, way);
      field.set_precision(Precision::coarse);
      std::vector<int> held = shared;
      OverEndurance over{Eigen::VectorXd::Zero(field.size()), {}};
      if (log.set_count <= kMostOverEndurance) over = over_endurance(solver, field.layout(), centre, central);
      for (const OverEndurance::Integrated& of : over.integrated) held.push_back(of.variable);
      field.set_precision(Precision::fine);
      solver.match_moments(corrected, central, held);
      corrected += over.move;
      field.set_precision(Precision::coarse);
      const std::vector<Shape> of_strength = shape_of_strength(solver, field.layout(), centre, central);
      solver.pin_shared();
      Eigen::VectorXd again = centre;
      centre_value = value_at(u, again);  // as coarse as what it is compared with
      const Eigen::MatrixXd own = kept_covariance(solver.own_ldl(), kept, field.size());
      // Makes the spread with the shared unknowns held so many times that of the curvature; its share of all spread.
      const auto stretch_own = [&](int place, double sds) {
        const double share = std::clamp(own(place, place) / central_covariance(place, place), 0.0, 1.0);
        stretched(place, place) = std::sqrt(1 + share * (sds * sds - 1));
        return share;
      };
      for (const OverEndurance::Integrated& of : over.integrated) {
        const auto place = std::find(kept.field.begin(), kept.field.end(), of.variable) - kept.field.begin();
        stretch_own(static_cast<int>(place), of.sd);
      }
      for (std::size_t l = 0; l < of_strength.size(); ++l) {
        const int place = kept.index.strength[l];
        const Shape& shape = of_strength[l];
        const double share = stretch_own(place, shape.sd);
        // What the shared unknowns add to the spread leans to neither side.
        const double of_all = std::sqrt(share) * shape.sd / stretched(place, place);
        skewness(place) = std::clamp(shape.skewness * of_all * of_all * of_all, -kMostSkewness, kMostSkewness);
      }
      if (const int points = shared_points(log); points > 0) {
        // Parts of fatigue that the log knows little of: their curvature is mostly the prior's, which lets each go
        // where the others forbid it.
        constexpr double kLittleKnown = 0.7;  // of the prior's sd
        std::vector<Eigen::Index> together;
        for (std::size_t k = 0; k < told.size(); ++k) {
          const auto place = static_cast<Eigen::Index>(k);
          const double of_prior = way.covariance(place, place) * field.prior_precision(told[k]);
          if (std::find(fatigue.begin(), fatigue.end(), told[k]) != fatigue.end() &&
              of_prior > kLittleKnown * kLittleKnown) {
            together.push_back(place);
          }
        }
        const Eigen::MatrixXd stretch =
            spread_of_shared(solver, centre, central, centre_value + 0.5 * u.squaredNorm(), way, together);
        way.covariance = stretch * way.covariance * stretch.transpose();
        // What lies off the middle in a shared unknown lies so much farther off, and the field with it.
        const Eigen::MatrixXd farther =
            way.follow * (stretch - Eigen::MatrixXd::Identity(stretch.rows(), stretch.cols()));
        for (std::size_t k = 0; k < told.size(); ++k) {
          const auto place = std::find(kept.field.begin(), kept.field.end(), told[k]) - kept.field.begin();
          if (place == kept.index.size) continue;
          for (int i = 0; i < kept.index.size; ++i)
            stretched(i, place) += farther(kept.field[static_cast<std::size_t>(i)], static_cast<Eigen::Index>(k));
        }
        const SharedAverage average = average_shared(solver, centre, u, spread, own, way, kept, points);
        if (average.value > centre_value + kFarLikelier && search < kMostSearches) {
          centre = average.field;
          u = average.scales;
          settled = false;
          continue;
        }
        corrected += average.move;
        bend = average.bend;
      }
      for (int i = 0; i < kScaleCount; ++i) {
        const ScalePoint sd = spread.covariance.col(i) / std::sqrt(spread.covariance(i, i));
        const auto above_centre = [&](double sds) {
          Eigen::VectorXd at = centre + spread.follow * (sds * sd);
          return value_at(u + sds * sd, at) - centre_value;
        };
        result.scale_skewness[static_cast<std::size_t>(i)] =
            skewness_of({above_centre(-2), above_centre(-1), above_centre(1), above_centre(2)});
      }
    }
  }
  const Eigen::VectorXd shift = kept_mean(corrected) - plain_mean;

  result.set_aside = suspects;
  result.field = &field;
  result.log = &log;
  result.mean = corrected;
  result.scales = central;
  result.index = kept.index;
  result.converged = converged;
  if (!tell(0.8)) return fail(Code::cancelled, "stopped");

  // On simulated lifters whose every set ended for reasons not told, standardised errors have an sd of 1.0 to 1.28
  // where 1 is right (docs/model.md). Such logs get the wider intervals that were measured.
  result.unknown_share = untold_share(log);
  const auto untold = [&](double times) { return 1 + (times - 1) * result.unknown_share; };
  const double long_enough = std::clamp(
      static_cast<double>(log.set_count - kUntoldFromSets) / (kUntoldInFullFromSets - kUntoldFromSets), 0.0, 1.0);
  const auto untold_if_long = [&](double times) { return 1 + (untold(times) - 1) * long_enough; };

  // Outer design: centre, axial and corner points on a sphere (Rue, Martino, Chopin 2009, section 6.5).
  std::vector<Component>& components = result.components;
  components.push_back(
      {1, central.sigma, central.drift, central.day_sd, kept_mean(corrected), corrected_spread(central_covariance)});
  if (options.integrate && log.set_count > 0) {
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
    std::vector<ScalePoint> aways{ScalePoint::Zero()};  // of the components from u
    const double on_sphere =
        1 / (static_cast<double>(design.size()) * std::exp(-0.5 * radius * radius) * (f0 * f0 - 1));
    for (const ScalePoint& w : design) {
      const ScalePoint away = spread.root * w, point = u + away;
      const Scales moved = scales_at(point);
      Eigen::VectorXd at = centre + spread.follow * away;
      const double weight = on_sphere * std::exp(value_at(point, at) - centre_value);
      if (!(weight > 1e-4) || !std::isfinite(weight)) continue;
      Component c;
      c.weight = weight;
      c.sigma = moved.sigma;
      c.drift = moved.drift;
      c.day_sd = moved.day_sd;
      c.mean = kept_mean(at) + shift;
      if (!solver.near_curvature(scales_at(point))) continue;
      c.covariance = corrected_spread(kept_covariance(solver.ldl(), kept, field.size()));
      components.push_back(std::move(c));
      aways.push_back(away);
    }
    double total = 0;
    for (const Component& c : components) total += c.weight;
    double sigma_mean = 0;
    for (std::size_t i = 0; i < components.size(); ++i) {
      components[i].weight /= total;
      sigma_mean += components[i].weight * aways[i](0);
    }
    for (std::size_t i = 0; i < components.size(); ++i) {
      const ScalePoint farther =
          (untold_if_long(kUntoldWideningOfSigma) - 1) * (aways[i](0) - sigma_mean) * ScalePoint::Unit(0);
      components[i].sigma = scales_at(u + aways[i] + farther).sigma;
      components[i].mean += kept_mean(spread.follow * farther);
    }
  }
  Eigen::VectorXd stretch = Eigen::VectorXd::Ones(kept.index.size);
  for (const int i : kept.index.strength) stretch(i) = untold(kUntoldWideningOfStrength);
  for (const int i : kept.index.log_endurance) stretch(i) = untold(kUntoldWideningOfEndurance);
  for (const int i : {kept.index.log_a_slow, kept.index.log_tau_fast, kept.index.logit_lam}) {
    stretch(i) = untold_if_long(kUntoldWideningOfFatigue);
  }
  for (Component& c : components) c.covariance = stretch.asDiagonal() * c.covariance * stretch.asDiagonal();
  const double wider = untold(kUntoldWideningOfStrength);
  for (double& v : result.variance) v *= wider * wider;
  for (int i = 0; i < kept.index.size; ++i) {
    const Prior whole = moments(components, i);
    result.skews.push_back(whole.sd > 0 ? Skew{skewness(i), whole.mean, whole.sd} : Skew{});
  }
  if (!tell(1.0)) return fail(Code::cancelled, "stopped");
  Posterior posterior = summarise(result);
  posterior.reps_planned = reps_planned;
  posterior.felt_each_rep = felt_each_rep;
  return posterior;
}

}  // namespace ullage::capacity
