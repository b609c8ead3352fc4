#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/LU>
#include <algorithm>
#include <cmath>
#include <optional>

#include "engine/capacity/fatigue.h"
#include "engine/capacity/felt_each_rep.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/latent_field.h"
#include "engine/capacity/lift_passage.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/repeated_reps.h"
#include "engine/capacity/summary.h"

namespace ullage::capacity {
namespace {

// Room for one more unknown, with its mean, its variance and its covariance with what is there (a column).
int append(Component& c, double mean, double variance, const Eigen::VectorXd& with) {
  const Eigen::Index n = c.mean.size();
  c.mean.conservativeResize(n + 1);
  c.mean(n) = mean;
  c.covariance.conservativeResize(n + 1, n + 1);
  c.covariance.col(n).head(n) = with;
  c.covariance.row(n).head(n) = with.transpose();
  c.covariance(n, n) = variance;
  return static_cast<int>(n);
}

// A lift met for the first time, from the general level, the library and the priors.
void add_lift(Posterior& p, const TrainingLog& log, const Lift& lift, const Fading& fade) {
  const Exercise& exercise = log.exercises[static_cast<std::size_t>(lift.endurance_index)].exercise;
  const Prior ratio = log_strength_ratio(exercise);
  const Prior endurance = log_endurance(exercise);
  int endurance_index = -1;
  for (const LiftSummary& s : p.lifts) {
    if (s.exercise == lift.exercise) endurance_index = s.endurance_index;
  }
  const bool shares = endurance_index >= 0;
  if (!shares) endurance_index = static_cast<int>(p.index.log_endurance.size());
  const bool new_here = lift.new_here || p.session_count > 0;
  int strength = 0, trend_at = 0, practice_at = -1, log_k = -1;
  for (Component& c : p.components) {
    const Eigen::VectorXd none = Eigen::VectorXd::Zero(c.mean.size());
    strength = lift.marks ? append(c, kLogMarks.mean, kLogMarks.sd * kLogMarks.sd, none)
                          : append(c, fade.hold * c.mean(p.index.general) + ratio.mean + fade.towards,
                                   fade.hold * fade.hold * c.covariance(p.index.general, p.index.general) +
                                       ratio.sd * ratio.sd + fade.variance,
                                   fade.hold * c.covariance.col(p.index.general));
    const auto zero = [&] { return Eigen::VectorXd(Eigen::VectorXd::Zero(c.mean.size())); };
    trend_at = append(c, p.trend_mean, p.trend_sd * p.trend_sd, zero());
    if (new_here) practice_at = append(c, p.practice_mean, p.practice_sd * p.practice_sd, zero());
    if (!shares) log_k = append(c, endurance.mean, endurance.sd * endurance.sd, zero());
  }
  p.index.strength.push_back(strength);
  p.index.trend.push_back(trend_at);
  p.index.practice.push_back(practice_at);
  if (!shares) p.index.log_endurance.push_back(log_k);
  p.index.size = static_cast<int>(p.components.front().mean.size());
  LiftSummary s;
  s.exercise = lift.exercise;
  s.side = lift.side;
  s.cls = exercise.cls;
  s.marks = lift.marks;
  s.place = lift.place;
  s.first = lift.first;
  s.last = lift.first;
  s.shape = curve_shape(exercise.cls);
  s.new_here = new_here;
  s.endurance_index = endurance_index;
  s.usual_rest_minutes = usual_rest_minutes(exercise.cls);
  const PeopleAlike people = people_alike(lift.marks, ratio, {p.untrained_mean, p.general_prior_sd});
  s.untrained_log_mean = people.mean;
  s.prior_log_sd = people.sd;
  s.seen_margin_low = 1e9;
  s.seen_margin_high = -1e9;
  p.lifts.push_back(std::move(s));
  p.residual_by_age.push_back({});
}

// (theta, v) of one lift to a later day.
void bring_forward(Component& c, const Posterior& p, std::size_t lift, const Passage& step) {
  const int theta = p.index.strength[lift];
  const int v = p.index.trend[lift];
  const double loss = std::exp(c.mean(p.index.log_layoff)) * step.loss_days;
  c.mean(theta) =
      step.hold * c.mean(theta) + (step.progress + (c.mean(v) - step.trend_mean) * step.reach - loss) + step.towards;
  c.mean(v) = step.trend_mean + step.keep * (c.mean(v) - step.trend_mean);
  // Only the rows and columns of theta and v move.
  const auto carry = [&](auto&& part) {
    part(theta) = (step.hold * part(theta) + step.reach * part(v) - loss * part(p.index.log_layoff)).eval();
    part(v) *= step.keep;
  };
  carry([&](int i) { return c.covariance.row(i); });
  carry([&](int i) { return c.covariance.col(i); });
  const Eigen::Matrix2d noise = step.noise(c.drift);
  c.covariance(theta, theta) += noise(0, 0);
  c.covariance(theta, v) += noise(0, 1);
  c.covariance(v, theta) += noise(0, 1);
  c.covariance(v, v) += noise(1, 1);
}

// The session's own view of the posterior's unknowns; entries that a posterior does not keep stand at their priors.
struct View {
  SessionLayout layout;
  std::vector<int> variable;  // local -> posterior, -1: held
  Eigen::VectorXd held;       // local values of held entries
};

View make_view(const Posterior& p, const TrainingLog& log, const LoggedSession& session,
               const std::vector<int>& lift_in_posterior, int gap) {
  View view;
  SessionLayout& l = view.layout;
  std::vector<double> held;
  const auto add = [&](int variable, double value) {
    for (std::size_t i = 0; i < view.variable.size(); ++i) {
      if (variable >= 0 && view.variable[i] == variable) return static_cast<int>(i);
    }
    view.variable.push_back(variable);
    held.push_back(value);
    return static_cast<int>(view.variable.size()) - 1;
  };
  for (const LoggedSet& set : session.sets) {
    const auto found = std::find(l.lifts.begin(), l.lifts.end(), set.lift);
    l.entry.push_back(static_cast<int>(found - l.lifts.begin()));
    if (found == l.lifts.end()) l.lifts.push_back(set.lift);
  }
  for (const int lift : l.lifts) {
    const auto i = static_cast<std::size_t>(lift_in_posterior[static_cast<std::size_t>(lift)]);
    const LiftSummary& s = p.lifts[i];
    l.strength.push_back(add(p.index.strength[i], 0));
    l.endurance.push_back(add(p.index.log_endurance[static_cast<std::size_t>(s.endurance_index)], 0));
    const bool counted = s.sessions > 0 && s.last == session.date;
    const int number = s.sessions + (counted ? 0 : 1);
    const bool practising = p.index.practice[i] >= 0 && number <= kPracticeSessions;
    l.practice.push_back(practising ? add(p.index.practice[i], 0) : -1);
    l.practice_share.push_back(practice_share(number));
    l.shape.push_back(s.shape);
    double residual = 0;
    for (int age = gap == 0 ? 1 : 0; age < 4; ++age) {
      if (age + gap <= kResidualGoneDays) {
        residual += std::exp(-(age + gap) / kResidualDecayDays) * p.residual_by_age[i][static_cast<std::size_t>(age)];
      }
    }
    l.residual.push_back(residual);
  }
  l.day = add(p.index.readiness, 0);
  l.log_a_fast = add(p.index.log_a_fast, 0);
  l.log_a_slow = add(p.index.log_a_slow, 0);
  l.log_tau_fast = add(p.index.log_tau_fast, 0);
  l.logit_lam = add(p.index.logit_lam, 0);
  l.log_a_day = add(p.index.log_a_day, 0);
  l.margin_count = static_cast<int>(view.variable.size());
  l.bias = add(p.index.bias, 0);
  l.log_gain = add(p.index.log_gain, 0);
  l.log_spread = add(p.index.log_spread, 0);
  l.log_spread_rise = add(p.index.log_spread_rise, 0);
  l.cue_shift = add(p.index.cue_shift, 0);
  for (const int lift : l.lifts) {
    const Exercise& exercise =
        log.exercises[static_cast<std::size_t>(log.lifts[static_cast<std::size_t>(lift)].endurance_index)].exercise;
    l.log_stopping.push_back(add(-1, log_stopping_reserve(exercise.cls).mean));
    const SpeedPrior speed_prior = speed(exercise.id);
    l.speed_at_failure.push_back(add(-1, speed_prior.at_failure.mean));
    l.log_speed_slope.push_back(add(-1, speed_prior.log_slope.mean));
    l.log_speed_noise.push_back(add(-1, speed_prior.log_noise.mean));
  }
  l.size = static_cast<int>(view.variable.size());
  view.held = Eigen::Map<const Eigen::VectorXd>(held.data(), static_cast<Eigen::Index>(held.size()));
  l.sigma_factor.assign(session.sets.size(), 1);
  l.rest_variance.assign(session.sets.size(), 0);
  l.overlap.assign(l.lifts.size(), std::vector<double>(l.lifts.size(), 1));
  for (std::size_t a = 0; a < l.lifts.size(); ++a) {
    for (std::size_t b = 0; b < l.lifts.size(); ++b) {
      l.overlap[a][b] = log.overlap[static_cast<std::size_t>(l.lifts[a])][static_cast<std::size_t>(l.lifts[b])];
    }
  }
  return view;
}

Eigen::VectorXd local_of(const View& view, const Posterior& p, const Component& c) {
  Eigen::VectorXd z = view.held;
  for (std::size_t i = 0; i < view.variable.size(); ++i) {
    const int variable = view.variable[i];
    if (variable >= 0) z(static_cast<Eigen::Index>(i)) = p.skewing(variable)(c.mean(variable));
  }
  return z;
}

// Matrices over the few parameters of one set, without the heap.
using Few = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor, kLocalCount, kLocalCount>;
using FewVector = Eigen::Matrix<double, Eigen::Dynamic, 1, Eigen::ColMajor, kLocalCount, 1>;
// Those beside all the unknowns of the posterior.
using Beside = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor, Eigen::Dynamic, kLocalCount>;

// Takes up the last of the session's sets so far. move: where the last component's search ended, from its own middle; a
// first guess here. Returns the log of how likely the set was.
double take_up(Component& c, const Posterior& posterior, const View& view, const LoggedSession& so_far,
               std::optional<FewVector>& move_before) {
  const SessionLayout& l = view.layout;
  const std::size_t which = so_far.sets.size() - 1;
  const LoggedSet& set = so_far.sets[which];
  const Eigen::VectorXd z = local_of(view, posterior, c);
  double margin = 0, rest_slope = 0;
  Eigen::VectorXd margin_gradient;
  walk_session(so_far, l, z, true, [&](const WalkedSet& walked) {
    if (static_cast<std::size_t>(walked.set) != which) return;
    margin = walked.margin;
    margin_gradient = *walked.gradient;
    rest_slope = set.rest_known ? 0 : walked.fatigue_by_log_rest * kLogRestSd;
  });
  // Components move what an unknown leans over.
  for (Eigen::Index i = 0; i < margin_gradient.size(); ++i) {
    const int variable = view.variable[static_cast<std::size_t>(i)];
    margin_gradient(i) *= posterior.skewing(variable).slope(c.mean(variable));
  }
  const int entry = l.entry[which];
  const double shape = l.shape[static_cast<std::size_t>(entry)];
  const double factor = margin > std::log(2.0) || set.reps > 25 ? kSigmaOutsideRange : 1;
  const double sigma = std::sqrt(c.sigma * c.sigma * factor * factor + rest_slope * rest_slope);
  const SetObservation seen = observation(set);
  const LocalVector point = local_parameters(l, entry, margin, z);
  const std::array<int, kLocalCount> index = local_indices(l, seen, entry);

  // The likelihood's parameters that are unknown here, and how the posterior's unknowns go with each: one of them
  // itself, or with the margin several.
  std::array<int, kLocalCount> active{}, unknown{};
  Eigen::Index count = 0;
  for (int p = 0; p < kLocalCount; ++p) {
    const int local = index[static_cast<std::size_t>(p)];
    if (p != kMargin && (local < 0 || view.variable[static_cast<std::size_t>(local)] < 0)) continue;
    active[static_cast<std::size_t>(count)] = p;
    unknown[static_cast<std::size_t>(count)] = p == kMargin ? -1 : view.variable[static_cast<std::size_t>(local)];
    ++count;
  }
  const auto parameter = [&](Eigen::Index i) { return active[static_cast<std::size_t>(i)]; };
  const auto moved_by_margin = [&](const auto& column) {
    double sum = 0;
    for (Eigen::Index i = 0; i < margin_gradient.size(); ++i)
      sum += margin_gradient(i) * column(view.variable[static_cast<std::size_t>(i)]);
    return sum;
  };
  Beside cross(c.mean.size(), count);
  cross.col(0).setZero();
  for (Eigen::Index i = 0; i < margin_gradient.size(); ++i)
    cross.col(0) += margin_gradient(i) * c.covariance.col(view.variable[static_cast<std::size_t>(i)]);
  for (Eigen::Index i = 1; i < count; ++i) cross.col(i) = c.covariance.col(unknown[static_cast<std::size_t>(i)]);
  Few before(count, count);
  for (Eigen::Index i = 0; i < count; ++i) {
    before(0, i) = moved_by_margin(cross.col(i));
    for (Eigen::Index j = 1; j < count; ++j) before(j, i) = cross(unknown[static_cast<std::size_t>(j)], i);
  }
  before.diagonal().array() += 1e-12;
  const Few before_inverse = before.inverse();

  // Newton in those few parameters: coarsely to the place, then finely there.
  Few curvature = Few::Zero(count, count);
  const auto terms_at = [&](const FewVector& offset, int order, Precision precision) {
    LocalVector there = point;
    for (Eigen::Index i = 0; i < count; ++i) there[static_cast<std::size_t>(parameter(i))] += offset(i);
    return set_log_likelihood(seen, there, shape, sigma, order, precision);
  };
  const auto objective = [&](const FewVector& offset, double log_likelihood) {
    return log_likelihood - 0.5 * offset.dot(before_inverse * offset);
  };
  FewVector move = FewVector::Zero(count);
  SetTerms terms = terms_at(move, 2, Precision::coarse);
  double value = objective(move, terms.log_likelihood);
  const auto consider = [&](const FewVector& to) {
    const double there = objective(to, terms_at(to, 0, Precision::coarse).log_likelihood);
    if (!(there > value)) return false;
    value = there;
    move = to;
    return true;
  };
  if (move_before && move_before->size() == count) {
    if (consider(*move_before)) terms = terms_at(move, 2, Precision::coarse);
  } else if (const double margin_sd = std::sqrt(before(0, 0)); margin_sd > 3 * sigma) {
    // A lift that is hardly known: its first sets may lie where the expected margin gives them no chance at all and
    // Newton would see no slope. Look along the margin first, the rest following as it is known to.
    const FewVector along = before.col(0) / margin_sd;
    const int steps = std::clamp(static_cast<int>(4 * margin_sd / sigma), 40, 200);
    bool moved = false;
    for (int i = -steps; i <= steps; ++i) moved = consider((4.0 * i / steps) * along) || moved;
    if (moved) terms = terms_at(move, 2, Precision::coarse);
  }
  // The Newton step from here, with only what narrows taken up: a set never widens what is known.
  double gain = 0;
  const auto step_from_here = [&] {
    FewVector gradient(count);
    for (Eigen::Index a = 0; a < count; ++a) {
      gradient(a) = terms.gradient(parameter(a));
      for (Eigen::Index b = 0; b < count; ++b) curvature(a, b) = -terms.hessian(parameter(a), parameter(b));
    }
    Few raised = curvature;
    raised.diagonal().array() += 1e-9 * curvature.diagonal().cwiseAbs().maxCoeff();
    if (Eigen::LLT<Few>(raised).info() != Eigen::Success) {
      const Eigen::SelfAdjointEigenSolver<Few> eigen(0.5 * (curvature + curvature.transpose()));
      curvature =
          eigen.eigenvectors() * eigen.eigenvalues().cwiseMax(0).asDiagonal() * eigen.eigenvectors().transpose();
    }
    const FewVector slope = gradient - before_inverse * move;
    const FewVector way = (before_inverse + curvature).ldlt().solve(slope);
    gain = slope.dot(way);
    return way;
  };
  // Whether a step, or a part of it, led up.
  const auto climb = [&](const FewVector& way, Precision precision) {
    double length = 1;
    for (int halving = 0; halving < 8; ++halving, length *= 0.5) {
      const FewVector to = move + length * way;
      const SetTerms there = terms_at(to, 2, precision);
      const double reached = objective(to, there.log_likelihood);
      if (reached < value - 1e-12) continue;
      const bool better = reached > value + 1e-10;
      value = reached;
      move = to;
      if (better) terms = there;
      return better;
    }
    return false;
  };
  constexpr double kNear = 1e-4, kThere = 1e-6;  // log units that a step promises, doubled
  for (int step = 0; step < 12; ++step) {
    const FewVector way = step_from_here();
    if (std::fabs(gain) < kNear || !climb(way, Precision::coarse)) break;
  }
  terms = terms_at(move, 2, Precision::fine);
  value = objective(move, terms.log_likelihood);
  FewVector way = step_from_here();
  for (int step = 0; step < 12 && std::fabs(gain) > kThere && climb(way, Precision::fine); ++step)
    way = step_from_here();
  if (std::fabs(gain) <= kThere) {  // the last step is as good as its promise
    move += way;
    value += 0.5 * gain;
  }
  move_before = move;

  const Few after = (before_inverse + curvature).inverse();
  const Beside gained = cross * before_inverse;
  c.mean += gained * move;
  const Beside narrowed = gained * (after - before);
  for (Eigen::Index j = 0; j < c.mean.size(); ++j) {
    const auto rest = c.mean.size() - j;
    c.covariance.col(j).tail(rest).noalias() += narrowed.bottomRows(rest) * gained.row(j).transpose();
    c.covariance.row(j).tail(rest) = c.covariance.col(j).tail(rest).transpose();
  }
  return value + 0.5 * std::log(std::max(1e-300, after.determinant() * before_inverse.determinant()));
}

}  // namespace

Result<Posterior> update(const Posterior& posterior, const TrainingLog& given, int known) {
  TrainingLog log = given;
  if (posterior.reps_planned) take_for_planned(log);
  feel_each_rep(log, posterior.felt_each_rep);
  if (log.sessions.empty()) return posterior;
  if (log.sessions.size() > 1) return fail(Code::conflict, "one session at a time can be taken up; fit again");
  const LoggedSession& session = log.sessions.front();
  if (posterior.session_count > 0 && session.date < posterior.as_of) {
    return fail(Code::conflict, "the session of " + date_text(session.date) + " is older than the estimate; fit again");
  }
  Posterior p = posterior;
  std::erase_if(p.remarks, [](const std::string& remark) { return remark.rfind("few sets only", 0) == 0; });
  const int gap = p.session_count > 0 ? session.date - p.as_of : 0;
  const bool same_day = p.session_count > 0 && gap == 0;

  if (p.index.readiness < 0) {
    for (Component& c : p.components) p.index.readiness = append(c, 0, 1, Eigen::VectorXd::Zero(c.mean.size()));
    p.index.size = static_cast<int>(p.components.front().mean.size());
  }
  const TimeOff off = time_off(gap);
  p.absent_days += off.absent;
  const Fading fade = fading(p.absent_days, {p.untrained_mean, p.general_prior_sd, p.general_prior_sd});
  std::vector<int> lift_in_posterior;
  for (const Lift& lift : log.lifts) {
    int at = p.find_lift(lift.exercise, lift.side);
    if (at >= 0 && lift.marks && p.lifts[static_cast<std::size_t>(at)].place != lift.place) at = -1;
    if (at < 0) {
      add_lift(p, log, lift, fade);
      at = static_cast<int>(p.lifts.size()) - 1;
    }
    lift_in_posterior.push_back(at);
  }
  p.skews.resize(static_cast<std::size_t>(p.index.size));
  const View view = make_view(p, log, session, lift_in_posterior, gap);
  std::vector<LoggedSession> new_sets;  // the session up to each of them
  for (std::size_t i = static_cast<std::size_t>(std::max(0, known)); i < session.sets.size(); ++i) {
    if (!session.sets[i].informs_strength) continue;
    new_sets.push_back(session);
    new_sets.back().sets.resize(i + 1);
  }

  for (const int i : lift_in_posterior) {
    const auto lift = static_cast<std::size_t>(i);
    const LiftSummary& s = p.lifts[lift];
    if (s.sessions == 0 || session.date <= s.last) continue;
    const Passage step = passage_to(p, s, session.date);
    const int strength = p.index.strength[lift];
    // By the middle component, not by the mixture, whose weights what other lifts did that day has moved already:
    // whether sets come one by one or together must not show.
    const auto middle = [&] {
      const Component& c = p.components.front();
      return MixtureMoments{c.mean(strength), std::sqrt(c.covariance(strength, strength))};
    };
    const MixtureMoments before = middle();
    for (Component& c : p.components) bring_forward(c, p, lift, step);
    Skew& skew = p.skews[static_cast<std::size_t>(strength)];
    skew = brought_forward(skew, before, middle(), step.hold);
  }
  std::vector<std::optional<FewVector>> moves(new_sets.size());
  for (Component& c : p.components) {
    if (!same_day) {
      c.mean(p.index.readiness) = 0;
      c.covariance.row(p.index.readiness).setZero();
      c.covariance.col(p.index.readiness).setZero();
      c.covariance(p.index.readiness, p.index.readiness) = c.day_sd * c.day_sd;
    }
    double log_weight = std::log(c.weight);
    for (std::size_t i = 0; i < new_sets.size(); ++i) log_weight += take_up(c, p, view, new_sets[i], moves[i]);
    c.weight = log_weight;
  }
  double most = -1e300, total = 0;
  for (const Component& c : p.components) most = std::max(most, c.weight);
  for (Component& c : p.components) total += c.weight = std::exp(c.weight - most);
  for (Component& c : p.components) c.weight /= total;
  const auto sound = [](const Component& c) { return c.mean.allFinite() && c.covariance.allFinite(); };
  if (!std::isfinite(total) || !std::all_of(p.components.begin(), p.components.end(), sound))
    return fail(Code::internal, "taking up the session of " + date_text(session.date) + " broke down; fit again");

  // Residual fatigue for the days to come.
  if (gap > 0) {
    for (auto& ages : p.residual_by_age) {
      std::array<double, 4> moved{};
      for (int age = 0; age + gap < 4; ++age)
        moved[static_cast<std::size_t>(age + gap)] = ages[static_cast<std::size_t>(age)];
      ages = moved;
    }
  }
  const auto heaviest = std::max_element(p.components.begin(), p.components.end(),
                                         [](const Component& a, const Component& b) { return a.weight < b.weight; });
  LoggedSession fresh = session;
  const SpentByLift spent =
      walk_session(fresh, view.layout, local_of(view, p, *heaviest), false, [&](const WalkedSet& walked) {
        const LoggedSet& set = session.sets[static_cast<std::size_t>(walked.set)];
        LiftSummary& s = p.lifts[static_cast<std::size_t>(lift_in_posterior[static_cast<std::size_t>(set.lift)])];
        if (set.stop == Stop::planned) return;
        s.seen_margin_low = std::min(s.seen_margin_low, walked.margin);
        s.seen_margin_high = std::max(s.seen_margin_high, walked.margin);
      });
  SpentByLift counted(spent.size(), 0);
  if (known > 0) {
    fresh.sets.resize(std::min(fresh.sets.size(), static_cast<std::size_t>(known)));
    counted = walk_session(fresh, view.layout, local_of(view, p, *heaviest), false, [](const WalkedSet&) {});
  }
  // A lift met only among the new sets has none of today's spending counted yet.
  std::vector<bool> met_before(log.lifts.size(), false);
  for (const LoggedSet& set : fresh.sets) {
    if (known > 0) met_before[static_cast<std::size_t>(set.lift)] = true;
  }
  for (std::size_t from = 0; from < spent.size(); ++from) {
    const int lift_from = view.layout.lifts[from];
    for (std::size_t to = 0; to < log.lifts.size(); ++to) {
      p.residual_by_age[static_cast<std::size_t>(lift_in_posterior[to])][0] +=
          (spent[from] - (met_before[to] ? counted[from] : 0)) * log.overlap[static_cast<std::size_t>(lift_from)][to];
    }
  }
  for (LiftSummary& s : p.lifts) {
    s.lay_off_excess += off.excess;
    s.lay_off_absent += off.absent;
  }
  for (std::size_t i = 0; i < log.lifts.size(); ++i) {
    LiftSummary& s = p.lifts[static_cast<std::size_t>(lift_in_posterior[i])];
    if (s.sessions == 0 || s.last != session.date) ++s.sessions;
    s.last = session.date;
    s.lay_off_excess = s.lay_off_absent = 0;
    for (std::size_t j = static_cast<std::size_t>(std::max(0, known)); j < session.sets.size(); ++j) {
      if (session.sets[j].lift == static_cast<int>(i)) ++s.sets_used;
    }
  }
  p.as_of = session.date;
  if (!same_day) ++p.session_count;
  p.set_count += static_cast<int>(session.sets.size()) - std::max(0, known);
  std::erase_if(p.remarks, [](const std::string& remark) {
    return remark.rfind("no set is logged", 0) == 0 || remark.rfind("one set only", 0) == 0;
  });
  if (p.set_count < 5) p.remarks.push_back("few sets only: the numbers are mostly assumed");
  refresh_lifts(p, log, session.date);
  return p;
}

}  // namespace ullage::capacity
