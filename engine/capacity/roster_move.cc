#include "engine/capacity/roster_move.h"

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <map>

#include "engine/capacity/priors.h"
#include "engine/capacity/repeated_calls.h"
#include "engine/capacity/repeated_reps.h"
#include "engine/capacity/summary.h"

namespace ullage::capacity {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr double kMostUntold = 0.5;     // share of sets whose end is not told above which a log teaches nothing
constexpr double kMostMove = 1;         // prior sds
constexpr double kRostersDiffer = 0.5;  // sd of where rosters lie, prior sds (assumption)
// A roster's lessons must surprise by more than this times what chance alone expects (James and Stein's positive part;
// 1.3 was chosen on 25 simulated rosters, none of them in science/results/pooling.csv).
constexpr double kBeyondChance = 1.3;
constexpr std::string_view kEndurance = "log k ";

// One unknown of a posterior that a roster can move.
struct Movable {
  std::string name;
  int variable = 0;  // index into Component::mean
  Prior prior;
};

std::vector<Movable> movable(const Posterior& p, const FindExercise& find) {
  std::vector<Movable> out{{kMoveBias, p.index.bias, kBias},
                           {kMoveGain, p.index.log_gain, kLogGain},
                           {kMoveFast, p.index.log_a_fast, kLogAFast},
                           {kMoveSlow, p.index.log_a_slow, kLogASlow}};
  std::vector<bool> met(p.index.log_endurance.size(), false);  // sides share endurance
  for (const LiftSummary& lift : p.lifts) {
    const auto e = static_cast<std::size_t>(lift.endurance_index);
    const Exercise* exercise = find(lift.exercise);
    if (met[e] || !exercise) continue;
    met[e] = true;
    out.push_back({move_of_endurance(lift.exercise), p.index.log_endurance[e], log_endurance(*exercise)});
  }
  return out;
}

// Sums over lessons, in the order of `names`.
struct Lessons {
  MatrixXd weight;
  VectorXd told;
  std::vector<int> teachers;
};

RosterMove move_of(const Lessons& all, const std::vector<std::string>& names) {
  RosterMove out;
  const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(all.weight);
  if (eigen.info() != Eigen::Success) return out;
  const VectorXd along = eigen.eigenvectors().transpose() * all.told;
  // On the priors this sum of squares is chi-squared, with as many degrees of freedom as there are directions of which
  // something was learned. No more than that is chance: then nothing moves; what is above it says how much does.
  constexpr double kAnything = 0.1;  // of what a single lifter known for sure would teach
  double surprise = 0;
  int directions = 0;
  VectorXd move = VectorXd::Zero(all.told.size());
  for (Eigen::Index i = 0; i < move.size(); ++i) {
    const double weight = eigen.eigenvalues()(i);
    if (weight < kAnything) continue;
    surprise += along(i) * along(i) / weight;
    ++directions;
    move += eigen.eigenvectors().col(i) * (along(i) / (weight + 1 / (kRostersDiffer * kRostersDiffer)));
  }
  if (!(surprise > kBeyondChance * directions)) return out;
  move *= 1 - kBeyondChance * directions / surprise;
  for (Eigen::Index i = 0; i < move.size(); ++i) {
    const auto place = static_cast<std::size_t>(i);
    if (all.teachers[place] < kLeastTeachers) continue;
    out.unknowns.push_back({names[place], std::clamp(move(i), -kMostMove, kMostMove), all.teachers[place]});
  }
  return out;
}

// Mean log strength of every lift.
std::vector<double> strengths_of(const Posterior& p) {
  std::vector<double> means;
  for (const int variable : p.index.strength) {
    means.push_back(0);
    for (const Component& c : p.components) means.back() += c.weight * c.mean(variable);
  }
  return means;
}

}  // namespace

std::string move_of_endurance(const std::string& exercise) { return std::string(kEndurance) + exercise; }

std::optional<std::string> endurance_of_move(const std::string& name) {
  if (name.rfind(kEndurance, 0) != 0) return std::nullopt;
  return name.substr(kEndurance.size());
}

double RosterMove::by(const std::string& name) const {
  for (const Unknown& u : unknowns) {
    if (u.name == name) return u.by;
  }
  return 0;
}

int RosterMove::teachers() const {
  int out = 0;
  for (const Unknown& u : unknowns) out = std::max(out, u.teachers);
  return out;
}

Lesson lesson_of(const Posterior& p, const TrainingLog& log) {
  Lesson out;
  if (!p.converged || p.reps_planned || log.set_count == 0 || untold_share(log) > kMostUntold ||
      repeated_calls(log).by_habit()) {
    return out;
  }
  const std::vector<Movable> unknowns = movable(p, [&](const std::string& id) -> const Exercise* {
    for (const ExerciseInLog& e : log.exercises) {
      if (e.exercise.id == id) return &e.exercise;
    }
    return nullptr;
  });
  const auto n = static_cast<Eigen::Index>(unknowns.size());
  VectorXd told = VectorXd::Zero(n);
  MatrixXd square = MatrixXd::Zero(n, n);
  for (const Component& c : p.components) {
    VectorXd z(n);
    MatrixXd v(n, n);
    for (Eigen::Index i = 0; i < n; ++i) {
      const Movable& a = unknowns[static_cast<std::size_t>(i)];
      z(i) = (c.mean(a.variable) - a.prior.mean) / a.prior.sd;
      for (Eigen::Index j = 0; j < n; ++j) {
        const Movable& b = unknowns[static_cast<std::size_t>(j)];
        v(i, j) = c.covariance(a.variable, b.variable) / (a.prior.sd * b.prior.sd);
      }
    }
    told += c.weight * z;
    square += c.weight * (v + z * z.transpose());
  }
  // Directions in which the posterior is no narrower than the prior tell nothing.
  const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(MatrixXd::Identity(n, n) - (square - told * told.transpose()));
  if (eigen.info() != Eigen::Success) return out;
  constexpr double kNothing = 0.02;
  VectorXd weight = eigen.eigenvalues(), along = eigen.eigenvectors().transpose() * told;
  for (Eigen::Index i = 0; i < n; ++i) {
    if (weight(i) < kNothing) weight(i) = along(i) = 0;
  }
  for (const Movable& u : unknowns) out.unknowns.push_back(u.name);
  out.told = eigen.eigenvectors() * along;
  out.weight = eigen.eigenvectors() * weight.asDiagonal() * eigen.eigenvectors().transpose();
  return out;
}

bool same_start(const RosterMove& a, const RosterMove& b) {
  constexpr double kNear = 0.02;
  const auto within = [](const RosterMove& x, const RosterMove& y) {
    return std::all_of(x.unknowns.begin(), x.unknowns.end(),
                       [&](const RosterMove::Unknown& u) { return std::fabs(u.by - y.by(u.name)) <= kNear; });
  };
  return within(a, b) && within(b, a);
}

RosterMoves roster_moves(const std::vector<Lesson>& lessons) {
  RosterMoves out;
  out.own.resize(lessons.size());
  std::map<std::string, Eigen::Index> place;
  for (const Lesson& lesson : lessons) {
    for (const std::string& name : lesson.unknowns) place.emplace(name, 0);
  }
  if (place.empty()) return out;
  std::vector<std::string> names;
  for (auto& [name, at] : place) {
    at = static_cast<Eigen::Index>(names.size());
    names.push_back(name);
  }
  Lessons all;
  all.weight = MatrixXd::Zero(place.size(), place.size());
  all.told = VectorXd::Zero(place.size());
  all.teachers.assign(names.size(), 0);
  const auto count = [&](const Lesson& lesson, int sign, Lessons& sum) {
    for (std::size_t i = 0; i < lesson.unknowns.size(); ++i) {
      const Eigen::Index row = place[lesson.unknowns[i]], from = static_cast<Eigen::Index>(i);
      sum.told(row) += sign * lesson.told(from);
      if (lesson.weight(from, from) >= kTaught) sum.teachers[static_cast<std::size_t>(row)] += sign;
      for (std::size_t j = 0; j < lesson.unknowns.size(); ++j) {
        sum.weight(row, place[lesson.unknowns[j]]) += sign * lesson.weight(from, static_cast<Eigen::Index>(j));
      }
    }
  };
  for (const Lesson& lesson : lessons) count(lesson, 1, all);
  out.newcomer = move_of(all, names);
  for (std::size_t i = 0; i < lessons.size(); ++i) {
    if (lessons[i].empty()) {
      out.own[i] = out.newcomer;
      continue;
    }
    Lessons others = all;
    count(lessons[i], -1, others);
    out.own[i] = move_of(others, names);
  }
  return out;
}

Posterior moved(Posterior out, const RosterMove& from, const RosterMove& to, const FindExercise& find) {
  struct Pull {
    int variable;
    double middle, sd;  // mean of the two priors, their sd
    double by;          // sds
  };
  std::vector<Pull> pulls;  // of all that could move, so that going there in steps comes to the same place
  bool moves = false;
  for (const Movable& u : movable(out, find)) {
    const double before = from.by(u.name), after = to.by(u.name);
    moves = moves || before != after;
    pulls.push_back({u.variable, u.prior.mean + 0.5 * (before + after) * u.prior.sd, u.prior.sd, after - before});
  }
  if (!moves) return out;
  const std::vector<double> strengths_before = strengths_of(out);
  const auto n = static_cast<Eigen::Index>(pulls.size());
  std::vector<double> log_weight;
  for (Component& c : out.components) {
    MatrixXd spread(n, n);  // in prior sds
    VectorXd by(n);
    for (Eigen::Index i = 0; i < n; ++i) {
      const Pull& a = pulls[static_cast<std::size_t>(i)];
      by(i) = a.by;
      for (Eigen::Index j = 0; j < n; ++j) {
        const Pull& b = pulls[static_cast<std::size_t>(j)];
        spread(i, j) = c.covariance(a.variable, b.variable) / (a.sd * b.sd);
      }
    }
    // No posterior is wider than its prior. Where a fit that did not settle says so, its mean moves no farther than the
    // prior does, and not as many times as far as it is too wide.
    const Eigen::SelfAdjointEigenSolver<MatrixXd> eigen(spread);
    by = eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(1).cwiseInverse().asDiagonal() *
         (eigen.eigenvectors().transpose() * by);
    // The log ratio of the two priors is linear in the unknowns; ratio: the log of its exponential's mean.
    VectorXd shift = VectorXd::Zero(c.mean.size());
    double ratio = 0.5 * by.dot(spread * by);
    for (Eigen::Index i = 0; i < n; ++i) {
      const Pull& p = pulls[static_cast<std::size_t>(i)];
      shift += by(i) / p.sd * c.covariance.col(p.variable);
      ratio += by(i) / p.sd * (c.mean(p.variable) - p.middle);
    }
    c.mean += shift;
    log_weight.push_back(std::log(c.weight) + ratio);
  }
  const double most = *std::max_element(log_weight.begin(), log_weight.end());
  double total = 0;
  for (double& w : log_weight) total += w = std::exp(w - most);
  for (std::size_t i = 0; i < out.components.size(); ++i) out.components[i].weight = log_weight[i] / total;

  const std::vector<double> strengths_now = strengths_of(out);
  TrainingLog named;  // showing takes no more of the log than its exercises
  for (std::size_t i = 0; i < out.lifts.size(); ++i) {
    LiftSummary& lift = out.lifts[i];
    if (const Exercise* exercise = find(lift.exercise)) named.exercises.push_back({*exercise, false});
    const double by = strengths_now[i] - strengths_before[i];
    lift.seen_margin_low += by;
    lift.seen_margin_high += by;
    for (StrengthPoint& point : lift.history) {
      for (double* value : {&point.median, &point.lo80, &point.hi80}) *value *= std::exp(by);
    }
  }
  refresh_lifts(out, named, out.as_of);
  refresh_judgement(out);
  return out;
}

}  // namespace ullage::capacity
