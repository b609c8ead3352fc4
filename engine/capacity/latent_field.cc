#include "engine/capacity/latent_field.h"

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "engine/capacity/curve.h"
#include "engine/capacity/priors.h"

namespace ullage::capacity {
namespace {

constexpr double kLogTwoPi = 1.83787706640934548356;
constexpr double kSameDayGap = 0.25;  // days between two sessions of one day
const double kTrendDecay = std::log(2.0) / kTrendHalfLifeDays;

double gap_days(Date from, Date to) { return std::max<double>(to - from, kSameDayGap); }

}  // namespace

Scales scales_at(const Eigen::Vector3d& prior_sds) {
  const auto of = [](const Prior& log_scale, double sds) { return std::exp(log_scale.mean + log_scale.sd * sds); };
  return {of(kLogSigma, prior_sds(0)), of(kLogDrift, prior_sds(1)), of(kLogDaySd, prior_sds(2))};
}

TimeOff time_off(double gap) { return {std::max(0.0, gap - kLayOffFreeDays), std::max(0.0, gap - kAbsenceAfterDays)}; }

PeopleAlike people_alike(bool marks, const Prior& ratio, const Prior& untrained) {
  if (marks) return {kLogMarks.mean, kLogMarks.sd, untrained.sd};
  return {untrained.mean + ratio.mean, std::hypot(untrained.sd, ratio.sd), untrained.sd};
}

Fading fading(double absent_days, const PeopleAlike& people) {
  if (!(absent_days > 0)) return {};
  const double general = people.general_sd / people.sd;
  const double hold = 1 - (1 - absence_memory(absent_days)) * general * general;
  return {hold, (1 - hold) * people.mean, (1 - hold * hold) * people.sd * people.sd};
}

Passage passage(double days, const TimeOff& off, double trend_mean, double trend_sd, const PeopleAlike& people) {
  Passage p;
  const Fading fade = fading(off.absent, people);
  p.hold = fade.hold;
  p.towards = fade.towards;
  p.variance_ = fade.variance;
  p.days_ = days;
  p.trained_days_ = std::max(0.0, days - off.absent);
  const double excess = off.excess - off.absent;
  p.walk_days_ = p.trained_days_ + (kLayOffDriftFactor * kLayOffDriftFactor - 1) * excess;
  p.trend_mean = trend_mean;
  p.trend_sd_ = trend_sd;
  p.keep = std::exp(-kTrendDecay * days);
  p.trained_keep_ = std::exp(-kTrendDecay * p.trained_days_);
  p.absent_keep_ = std::exp(-kTrendDecay * (days - p.trained_days_));
  p.progress = p.hold * (trend_mean * p.trained_days_);
  p.reach = p.hold * (-std::expm1(-kTrendDecay * p.trained_days_) / kTrendDecay);
  p.loss_days = p.hold * (excess + absence_loss_days(off.absent));
  return p;
}

Eigen::Matrix2d Passage::noise(double drift) const {
  const double a = kTrendDecay;
  const double t = a * trained_days_;
  const double variance = trend_sd_ * trend_sd_;
  const double kept = trained_keep_;
  // Integral of the trend's own noise; series where the closed form would cancel.
  const double integrated = t < 0.02 ? variance * trained_days_ * trained_days_ * (2 * t / 3) * (1 - 0.75 * t)
                                     : variance / (a * a) * (2 * t - 3 + 4 * kept - kept * kept);
  const double cross = hold * absent_keep_ * (variance / a * (1 - kept) * (1 - kept));
  const double own = -variance * std::expm1(-2 * a * days_);
  Eigen::Matrix2d out;
  out << hold * hold * (drift * drift * walk_days_ + integrated) + variance_, cross, cross, own;
  return out;
}

LatentField::LatentField(const TrainingLog& log) : log_(&log) {
  FieldLayout& f = layout_;
  int next = 0;
  for (int* shared : {&f.general, &f.log_a_fast, &f.log_a_slow, &f.log_tau_fast, &f.logit_lam, &f.log_a_day, &f.bias,
                      &f.log_gain, &f.log_spread, &f.log_spread_rise, &f.cue_shift, &f.log_layoff}) {
    *shared = next++;
  }
  for (int c = 0; c < 3; ++c) f.log_stopping.push_back(next++);
  const auto normal = [&](int variable, const Prior& p) { normals_.push_back({variable, p.mean, p.precision()}); };
  normal(f.general, log_general_level(log.lifter, log.as_of));
  const Prior untrained = log_untrained_level(log.lifter, log.as_of);
  general_people_ = {untrained.mean, untrained.sd, untrained.sd};
  normal(f.log_a_fast, kLogAFast);
  normal(f.log_a_slow, kLogASlow);
  normal(f.log_tau_fast, kLogTauFast);
  normal(f.logit_lam, kLogitLam);
  normal(f.log_a_day, log_a_day());
  normal(f.bias, kBias);
  normal(f.log_gain, kLogGain);
  normal(f.log_spread, kLogSpread);
  normal(f.log_spread_rise, kLogSpreadRise);
  normal(f.cue_shift, kCueShift);
  normal(f.log_layoff, log_lay_off_loss());
  for (int c = 0; c < 3; ++c) {
    normal(f.log_stopping[static_cast<std::size_t>(c)], log_stopping_reserve(static_cast<ExerciseClass>(c)));
  }
  for (const ExerciseInLog& e : log.exercises) {
    f.log_endurance.push_back(next++);
    normal(f.log_endurance.back(), log_endurance(e.exercise));
    f.speed.push_back(-1);
    if (e.has_speed) {
      const SpeedPrior p = speed(e.exercise.id);
      f.speed.back() = next;
      normal(next++, p.at_failure);
      normal(next++, p.log_slope);
      normal(next++, p.log_noise);
    }
  }
  for (const Lift& lift : log.lifts) {
    f.practice.push_back(lift.new_here ? next++ : -1);
    if (lift.new_here) normal(f.practice.back(), practice(log.lifter.training_years));
  }
  const Prior lifter_trend = trend(log.lifter.training_years);
  trend_mean_ = lifter_trend.mean;
  trend_sd_ = lifter_trend.sd;

  // Sessions in order, each lift's own (theta, v) beside its readiness: near in time, near in the matrix.
  const std::size_t lift_count = log.lifts.size();
  f.met.resize(lift_count);
  f.strength.resize(lift_count);
  f.trend.resize(lift_count);
  std::vector<TimeOff> off_so_far;  // up to each session
  locals_.resize(log.sessions.size());
  for (std::size_t s = 0; s < log.sessions.size(); ++s) {
    const LoggedSession& session = log.sessions[s];
    const TimeOff off = time_off(session.days_since_last);
    off_so_far.push_back(s == 0 ? off : off_so_far.back() + off);
    f.readiness.push_back(next++);
    Local& local = locals_[s];
    SessionLayout& l = local.layout;
    std::map<int, int> entry_of;
    for (const LoggedSet& set : session.sets) {
      if (!entry_of.count(set.lift)) {
        entry_of[set.lift] = static_cast<int>(l.lifts.size());
        l.lifts.push_back(set.lift);
        const auto i = static_cast<std::size_t>(set.lift);
        f.met[i].push_back(static_cast<int>(s));
        f.strength[i].push_back(next++);
        f.trend[i].push_back(next++);
      }
      l.entry.push_back(entry_of[set.lift]);
    }
    const auto add = [&](int variable) {
      for (std::size_t i = 0; i < local.variable.size(); ++i) {
        if (local.variable[i] == variable) return static_cast<int>(i);
      }
      local.variable.push_back(variable);
      return static_cast<int>(local.variable.size()) - 1;
    };
    for (const int lift : l.lifts) {
      const auto i = static_cast<std::size_t>(lift);
      l.strength.push_back(add(f.strength[i].back()));
      const auto e = static_cast<std::size_t>(log.lifts[i].endurance_index);
      l.endurance.push_back(add(f.log_endurance[e]));
      const bool practising = f.practice[i] >= 0 && static_cast<int>(f.met[i].size()) <= kPracticeSessions;
      l.practice.push_back(practising ? add(f.practice[i]) : -1);
      l.practice_share.push_back(practice_share(static_cast<int>(f.met[i].size())));
      l.shape.push_back(curve_shape(log.exercises[e].exercise.cls));
    }
    l.day = add(f.readiness.back());
    l.log_a_fast = add(f.log_a_fast);
    l.log_a_slow = add(f.log_a_slow);
    l.log_tau_fast = add(f.log_tau_fast);
    l.logit_lam = add(f.logit_lam);
    l.log_a_day = add(f.log_a_day);
    l.margin_count = static_cast<int>(local.variable.size());
    l.bias = add(f.bias);
    l.log_gain = add(f.log_gain);
    l.log_spread = add(f.log_spread);
    l.log_spread_rise = add(f.log_spread_rise);
    l.cue_shift = add(f.cue_shift);
    for (const int lift : l.lifts) {
      const auto e = static_cast<std::size_t>(log.lifts[static_cast<std::size_t>(lift)].endurance_index);
      const auto cls = static_cast<std::size_t>(log.exercises[e].exercise.cls);
      l.log_stopping.push_back(add(f.log_stopping[cls]));
      const int at = f.speed[e];
      l.speed_at_failure.push_back(at < 0 ? -1 : add(at));
      l.log_speed_slope.push_back(at < 0 ? -1 : add(at + 1));
      l.log_speed_noise.push_back(at < 0 ? -1 : add(at + 2));
    }
    l.size = static_cast<int>(local.variable.size());
    l.residual.assign(l.lifts.size(), 0);
    l.sigma_factor.assign(session.sets.size(), 1);
    l.rest_variance.assign(session.sets.size(), 0);
    l.overlap.assign(l.lifts.size(), std::vector<double>(l.lifts.size(), 1));
    for (std::size_t a = 0; a < l.lifts.size(); ++a) {
      for (std::size_t b = 0; b < l.lifts.size(); ++b) {
        l.overlap[a][b] = log.overlap[static_cast<std::size_t>(l.lifts[a])][static_cast<std::size_t>(l.lifts[b])];
      }
    }
  }
  f.size = next;

  for (std::size_t i = 0; i < lift_count; ++i) {
    const Lift& lift = log.lifts[i];
    const Exercise& exercise = log.exercises[static_cast<std::size_t>(lift.endurance_index)].exercise;
    const Prior ratio = log_strength_ratio(exercise);
    people_.push_back(people_alike(lift.marks, ratio, untrained));
    const TimeOff before = off_so_far[static_cast<std::size_t>(f.met[i].front())] - off_so_far.front();
    const Fading fade = lift.marks ? Fading{} : fading(before.absent, general_people_);
    const double sd = lift.marks ? kLogMarks.sd : ratio.sd;
    First first{};
    first.strength = f.strength[i].front();
    first.general = lift.marks ? -1 : f.general;
    first.hold = fade.hold;
    first.ratio = (lift.marks ? kLogMarks.mean : ratio.mean) + fade.towards;
    first.precision = 1 / (sd * sd + fade.variance);
    firsts_.push_back(first);
    normals_.push_back({f.trend[i].front(), trend_mean_, 1 / (trend_sd_ * trend_sd_)});
    for (std::size_t j = 1; j < f.met[i].size(); ++j) {
      const auto from = static_cast<std::size_t>(f.met[i][j - 1]);
      const auto to = static_cast<std::size_t>(f.met[i][j]);
      Step step{};
      step.passage = passage(gap_days(log.sessions[from].date, log.sessions[to].date),
                             off_so_far[to] - off_so_far[from], trend_mean_, trend_sd_, people_.back());
      step.variable = {f.strength[i][j - 1], f.trend[i][j - 1], f.strength[i][j], f.trend[i][j], f.log_layoff};
      steps_.push_back(step);
    }
  }

  shared_.assign(static_cast<std::size_t>(f.size), false);
  for (const int shared : {f.log_a_fast, f.log_a_slow, f.log_tau_fast, f.logit_lam, f.bias, f.log_gain, f.log_spread,
                           f.log_spread_rise, f.cue_shift}) {
    shared_[static_cast<std::size_t>(shared)] = true;
  }
  for (const int shared : f.log_stopping) shared_[static_cast<std::size_t>(shared)] = true;
  for (Local& local : locals_) {
    for (std::size_t i = 0; i < local.variable.size(); ++i) {
      local.own_place.push_back(is_shared(local.variable[i]) ? -1 : static_cast<int>(local.own.size()));
      if (!is_shared(local.variable[i])) local.own.push_back(static_cast<int>(i));
    }
  }

  // The patterns once; afterwards only values are written.
  for (const bool own : {false, true}) {
    SparseLdl::Matrix& pattern = own ? own_pattern_ : pattern_;
    std::vector<Eigen::Triplet<double>> entries;
    const auto pair = [&](int a, int b) { entries.emplace_back(std::max(a, b), std::min(a, b), 1.0); };
    for (int i = 0; i < f.size; ++i) pair(i, i);
    for (const Local& local : locals_) {
      for (std::size_t a = 0; a < local.variable.size(); ++a) {
        if (own && is_shared(local.variable[a])) continue;
        for (std::size_t b = 0; b <= a; ++b) {
          if (!own || !is_shared(local.variable[b])) pair(local.variable[a], local.variable[b]);
        }
      }
    }
    for (const Step& step : steps_) {
      for (std::size_t a = 0; a < 5; ++a) {
        for (std::size_t b = 0; b <= a; ++b) pair(step.variable[a], step.variable[b]);
      }
    }
    for (const First& first : firsts_) {
      if (first.general >= 0) pair(first.strength, first.general);
    }
    pattern.resize(f.size, f.size);
    pattern.setFromTriplets(entries.begin(), entries.end());
    pattern.makeCompressed();
    const auto position = [&](int a, int b) {
      const int row = std::max(a, b);
      const int column = std::min(a, b);
      const int* begin = pattern.innerIndexPtr() + pattern.outerIndexPtr()[column];
      const int* end = pattern.innerIndexPtr() + pattern.outerIndexPtr()[column + 1];
      return static_cast<int>(std::lower_bound(begin, end, row) - pattern.innerIndexPtr());
    };
    for (int i = 0; i < f.size; ++i) (own ? own_diagonal_ : diagonal_).push_back(position(i, i));
    for (Local& local : locals_) {
      if (own) {
        for (std::size_t a = 0; a < local.own.size(); ++a) {
          for (std::size_t b = 0; b <= a; ++b) {
            local.own_position.push_back(position(local.variable[static_cast<std::size_t>(local.own[a])],
                                                  local.variable[static_cast<std::size_t>(local.own[b])]));
          }
        }
        continue;
      }
      for (std::size_t a = 0; a < local.variable.size(); ++a) {
        for (std::size_t b = 0; b <= a; ++b) local.position.push_back(position(local.variable[a], local.variable[b]));
      }
    }
    for (Step& step : steps_) {
      std::size_t at = 0;
      for (std::size_t a = 0; a < 5; ++a) {
        for (std::size_t b = 0; b <= a; ++b) {
          (own ? step.own_position : step.position)[at++] = position(step.variable[a], step.variable[b]);
        }
      }
    }
    for (First& first : firsts_) {
      (own ? first.own_position : first.position) = {position(first.strength, first.strength),
                                                     first.general < 0 ? 0 : position(first.strength, first.general),
                                                     first.general < 0 ? 0 : position(first.general, first.general)};
    }
  }
}

Eigen::VectorXd LatentField::gather(const Local& local, const Eigen::VectorXd& at) const {
  Eigen::VectorXd out(static_cast<Eigen::Index>(local.variable.size()));
  for (std::size_t i = 0; i < local.variable.size(); ++i) out(static_cast<Eigen::Index>(i)) = at(local.variable[i]);
  return out;
}

Eigen::VectorXd LatentField::start() const {
  Eigen::VectorXd z = Eigen::VectorXd::Zero(layout_.size);
  for (const Normal& n : normals_) z(n.variable) = n.mean;
  // Strength seen in each session: a set's load plus the margin its ending suggests, of the best set but one, so that
  // one mis-typed load among several sets is no start; where it is the only one, never farther off than anybody is.
  constexpr double kFarthest = 4;  // sds of what is known of people, body mass and training before any set
  const auto of_people =
      std::find_if(normals_.begin(), normals_.end(), [&](const Normal& n) { return n.variable == layout_.general; });
  std::vector<double> levels;
  for (std::size_t i = 0; i < log_->lifts.size(); ++i) {
    const Lift& lift = log_->lifts[i];
    const auto e = static_cast<std::size_t>(lift.endurance_index);
    const double k = std::exp(z(layout_.log_endurance[e]));
    const double shape = curve_shape(log_->exercises[e].exercise.cls);
    const double spread_guess = 2.5;
    std::vector<double> seen(layout_.met[i].size(), -1e9), best(layout_.met[i].size(), -1e9);
    for (std::size_t j = 0; j < layout_.met[i].size(); ++j) {
      for (const LoggedSet& set : log_->sessions[static_cast<std::size_t>(layout_.met[i][j])].sets) {
        if (set.lift != static_cast<int>(i) || !set.informs_strength) continue;
        double reserve = set.stop == Stop::failed ? 0.5 : set.stop == Stop::unknown ? spread_guess : 1.0;
        if (set.feeling && std::isfinite(set.feeling->high.bound)) {
          const double low = std::isfinite(set.feeling->low.bound) ? set.feeling->low.bound : 0;
          const double heard = 0.5 * (low + set.feeling->high.bound);
          reserve = std::max(0.0, (heard + 0.8) / 0.78 - set.feeling->high.shift);
        }
        const double margin = margin_for_reps(std::max(0.5, set.reps + reserve), k, shape);
        const double level = set.log_load + margin;
        seen[j] = std::max(seen[j], std::min(best[j], level));
        best[j] = std::max(best[j], level);
      }
      if (seen[j] < -1e8) seen[j] = best[j];
      if (seen[j] > -1e8) {
        const First& first = firsts_[i];
        const double middle = first.ratio + (first.general >= 0 ? first.hold * of_people->mean : 0);
        const double variance =
            1 / first.precision + (first.general >= 0 ? first.hold * first.hold / of_people->precision : 0);
        const double farthest = kFarthest * std::sqrt(variance);
        seen[j] = std::clamp(seen[j], middle - farthest, middle + farthest);
      }
    }
    // A running median over eleven sessions keeps a mis-typed load out of the start.
    for (std::size_t j = 0; j < seen.size(); ++j) {
      std::vector<double> window;
      const std::size_t from = j >= 5 ? j - 5 : 0;
      for (std::size_t w = from; w < std::min(seen.size(), j + 6); ++w) {
        if (seen[w] > -1e8) window.push_back(seen[w]);
      }
      if (window.empty()) window = {z(layout_.general) + firsts_[i].ratio};
      const auto middle = window.begin() + static_cast<std::ptrdiff_t>((window.size() - 1) / 2);
      std::nth_element(window.begin(), middle, window.end());
      z(layout_.strength[i][j]) = *middle;
      z(layout_.trend[i][j]) = trend_mean_;
    }
    if (!lift.marks) levels.push_back(z(layout_.strength[i].front()) - firsts_[i].ratio);
  }
  if (!levels.empty()) {
    const auto middle = levels.begin() + static_cast<std::ptrdiff_t>(levels.size() / 2);
    std::nth_element(levels.begin(), middle, levels.end());
    z(layout_.general) = *middle;
  }
  return z;
}

// Covariance of one session's unknowns, in its own order.
Eigen::MatrixXd LatentField::spread_of(const Local& local, const SparseLdl& spread) const {
  const auto n = static_cast<Eigen::Index>(local.variable.size());
  Eigen::MatrixXd out(n, n);
  for (Eigen::Index a = 0; a < n; ++a) {
    for (Eigen::Index b = 0; b <= a; ++b) {
      out(a, b) = out(b, a) =
          spread.inverse(local.variable[static_cast<std::size_t>(a)], local.variable[static_cast<std::size_t>(b)]);
    }
  }
  return out;
}

std::vector<SpentByLift> LatentField::spent(const Eigen::VectorXd& at) const {
  std::vector<SpentByLift> out;
  for (std::size_t s = 0; s < locals_.size(); ++s) {
    out.push_back(
        walk_session(log_->sessions[s], locals_[s].layout, gather(locals_[s], at), false, [](const WalkedSet&) {}));
  }
  return out;
}

void LatentField::freeze(const Eigen::VectorXd& at, const Scales&) {
  const std::vector<SpentByLift> spent_by = spent(at);
  for (std::size_t s = 0; s < locals_.size(); ++s) {
    SessionLayout& l = locals_[s].layout;
    std::fill(l.residual.begin(), l.residual.end(), 0);
    for (std::size_t before = s; before-- > 0;) {
      const double days = gap_days(log_->sessions[before].date, log_->sessions[s].date);
      if (days > kResidualGoneDays) break;
      const SessionLayout& b = locals_[before].layout;
      const double left = std::exp(-days / kResidualDecayDays);
      for (std::size_t to = 0; to < l.lifts.size(); ++to) {
        for (std::size_t from = 0; from < b.lifts.size(); ++from) {
          l.residual[to] +=
              left * spent_by[before][from] *
              log_->overlap[static_cast<std::size_t>(b.lifts[from])][static_cast<std::size_t>(l.lifts[to])];
        }
      }
    }
    walk_session(log_->sessions[s], l, gather(locals_[s], at), false, [&](const WalkedSet& walked) {
      const auto i = static_cast<std::size_t>(walked.set);
      const LoggedSet& set = log_->sessions[s].sets[i];
      l.sigma_factor[i] = walked.margin > std::log(2.0) || set.reps > 25 ? kSigmaOutsideRange : 1;
      const double slope = set.rest_known ? 0 : walked.fatigue_by_log_rest * kLogRestSd;
      l.rest_variance[i] = slope * slope;
    });
  }
}

namespace {

// What the likelihood of a set is asked with.
struct Asked {
  int entry;
  double sigma, shape;
  SetObservation seen;
  LocalVector point;
};
Asked asked_of(const LoggedSet& set, const SessionLayout& l, const Scales& scales, const WalkedSet& walked,
               const Eigen::VectorXd& z) {
  const auto i = static_cast<std::size_t>(walked.set);
  const int entry = l.entry[i];
  return {entry, std::sqrt(scales.sigma * scales.sigma * l.sigma_factor[i] * l.sigma_factor[i] + l.rest_variance[i]),
          l.shape[static_cast<std::size_t>(entry)], observation(set), local_parameters(l, entry, walked.margin, z)};
}

// The likelihood's parameters that something unknown moves: how many, the first of `active`.
int moving_parameters(const std::array<int, kLocalCount>& index, std::array<int, kLocalCount>& active) {
  int count = 0;
  for (int p = 0; p < kLocalCount; ++p) {
    if (p == kMargin || index[static_cast<std::size_t>(p)] >= 0) active[static_cast<std::size_t>(count++)] = p;
  }
  return count;
}

}  // namespace

void LatentField::session_terms(std::size_t s, const Eigen::VectorXd& at, const Scales& scales, int order, Free free,
                                Terms& out, const SparseLdl* spread, std::vector<SetSite>* sites, double* moved) const {
  const Local& local = locals_[s];
  const SessionLayout& l = local.layout;
  const LoggedSession& session = log_->sessions[s];
  const Eigen::VectorXd z = gather(local, at);
  const auto n = static_cast<Eigen::Index>(l.size);
  const auto nx = static_cast<Eigen::Index>(l.margin_count);
  const bool own = free == Free::own;
  const auto n_own = static_cast<Eigen::Index>(local.own.size());
  Eigen::VectorXd gradient = Eigen::VectorXd::Zero(n);
  const Eigen::Index kept = order < 2 ? 0 : own ? n_own : n;
  Eigen::MatrixXd hessian = Eigen::MatrixXd::Zero(kept, kept);
  Eigen::VectorXd own_slope(own ? n_own : 0);  // of x
  Eigen::MatrixXd covariance;
  if (spread) covariance = spread_of(local, *spread);
  walk_session(session, l, z, order > 0, [&](const WalkedSet& walked) {
    const auto i = static_cast<std::size_t>(walked.set);
    const LoggedSet& set = session.sets[i];
    if (!set.informs_strength) return;
    const auto [entry, sigma, shape, seen, point] = asked_of(set, l, scales, walked, z);
    SetTerms terms = set_log_likelihood(seen, point, shape, sigma, order, precision_, free);
    out.value += terms.log_likelihood;
    if (order == 0) return;
    const std::array<int, kLocalCount> index = local_indices(l, seen, entry, free);

    // The directions of the local vector that move each likelihood parameter.
    std::array<int, kLocalCount> active{};
    const int count = moving_parameters(index, active);
    if (sites) {
      SetSite& site = (*sites)[i];
      if (!spread) {
        site = site_from_curvature(point, terms);
      } else {
        Eigen::Matrix<double, Eigen::Dynamic, 2> rows = Eigen::MatrixXd::Zero(n, 2);
        rows.col(0).head(nx) = *walked.gradient;
        rows(index[kLogEndurance], 1) += 1;
        const Eigen::Matrix2d seen_spread = rows.transpose() * covariance * rows;
        *moved = std::max(*moved, match_site(seen, point, shape, sigma, seen_spread, site));
      }
      terms.hessian.topLeftCorner<2, 2>() = -site.precision;
      terms.gradient.head<2>() = site.pull - site.precision * Eigen::Vector2d(point[kMargin], point[kLogEndurance]);
    }
    // A set that was sure to end so, like most warm-ups, pulls at nothing.
    if (terms.gradient(kMargin) == 0 && (order < 2 || terms.hessian(kMargin, kMargin) == 0) && !seen.feeling &&
        !seen.speed) {
      return;
    }
    for (int c = 0; c < count; ++c) {
      const int p = active[static_cast<std::size_t>(c)];
      if (p == kMargin) {
        gradient.head(nx) += terms.gradient(p) * *walked.gradient;
      } else {
        gradient(index[static_cast<std::size_t>(p)]) += terms.gradient(p);
      }
    }
    if (order < 2) return;
    if (own) {
      for (Eigen::Index a = 0; a < n_own; ++a) {
        const int from = local.own[static_cast<std::size_t>(a)];
        own_slope(a) = from < nx ? (*walked.gradient)(from) : 0;
      }
      const double bend = terms.hessian(kMargin, kMargin);
      for (Eigen::Index b = 0; b < n_own; ++b) {
        if (own_slope(b) != 0) hessian.col(b) += (bend * own_slope(b)) * own_slope;
      }
      for (int c = 0; c < count; ++c) {
        const int p = active[static_cast<std::size_t>(c)];
        if (p == kMargin) continue;
        const int row = local.own_place[static_cast<std::size_t>(index[static_cast<std::size_t>(p)])];
        if (row < 0) continue;
        const double h = terms.hessian(kMargin, p);
        hessian.row(row) += h * own_slope.transpose();
        hessian.col(row) += h * own_slope;
        for (int d = 0; d < count; ++d) {
          const int q = active[static_cast<std::size_t>(d)];
          if (q == kMargin) continue;
          const int column = local.own_place[static_cast<std::size_t>(index[static_cast<std::size_t>(q)])];
          if (column >= 0) hessian(row, column) += terms.hessian(p, q);
        }
      }
      return;
    }
    hessian.topLeftCorner(nx, nx).noalias() +=
        (terms.hessian(kMargin, kMargin) * *walked.gradient) * walked.gradient->transpose();
    for (int c = 0; c < count; ++c) {
      const int p = active[static_cast<std::size_t>(c)];
      if (p == kMargin) continue;
      const int row = index[static_cast<std::size_t>(p)];
      const double h = terms.hessian(kMargin, p);
      hessian.row(row).head(nx) += h * walked.gradient->transpose();
      hessian.col(row).head(nx) += h * *walked.gradient;
      for (int d = 0; d < count; ++d) {
        const int q = active[static_cast<std::size_t>(d)];
        if (q != kMargin) hessian(row, index[static_cast<std::size_t>(q)]) += terms.hessian(p, q);
      }
    }
  });
  if (order == 0) return;
  for (Eigen::Index a = 0; a < n; ++a) out.gradient(local.variable[static_cast<std::size_t>(a)]) += gradient(a);
  if (order < 2) return;
  double* values = out.precision.valuePtr();
  const std::vector<int>& position = own ? local.own_position : local.position;
  std::size_t p = 0;
  for (Eigen::Index a = 0; a < kept; ++a) {
    for (Eigen::Index b = 0; b <= a; ++b) values[position[p++]] -= hessian(a, b);
  }
}

void LatentField::prior_terms(const Eigen::VectorXd& at, const Scales& scales, int order, Free free, Terms& out) const {
  const bool own = free == Free::own;
  const std::vector<int>& diagonal = own ? own_diagonal_ : diagonal_;
  double* values = order > 1 ? out.precision.valuePtr() : nullptr;
  const auto one = [&](int variable, double mean, double precision) {
    const double off = at(variable) - mean;
    out.value += -0.5 * precision * off * off + 0.5 * std::log(precision) - 0.5 * kLogTwoPi;
    if (order == 0) return;
    out.gradient(variable) -= precision * off;
    if (values) values[diagonal[static_cast<std::size_t>(variable)]] += precision;
  };
  for (const Normal& n : normals_) one(n.variable, n.mean, n.precision);
  const double day_precision = 1 / (scales.day_sd * scales.day_sd);
  for (const int variable : layout_.readiness) one(variable, 0, day_precision);
  for (const First& first : firsts_) {
    const double off = at(first.strength) - first.ratio - (first.general >= 0 ? first.hold * at(first.general) : 0);
    out.value += -0.5 * first.precision * off * off + 0.5 * std::log(first.precision) - 0.5 * kLogTwoPi;
    if (order == 0) continue;
    out.gradient(first.strength) -= first.precision * off;
    if (first.general >= 0) out.gradient(first.general) += first.hold * first.precision * off;
    if (!values) continue;
    const std::array<int, 3>& position = own ? first.own_position : first.position;
    values[position[0]] += first.precision;
    if (first.general >= 0) {
      values[position[1]] -= first.hold * first.precision;
      values[position[2]] += first.hold * first.hold * first.precision;
    }
  }
  for (const Step& step : steps_) {
    const Passage& p = step.passage;
    const double loss = std::exp(at(step.variable[4])) * p.loss_days;
    const double v = at(step.variable[1]);
    Eigen::Vector2d off;
    off << at(step.variable[2]) - p.hold * at(step.variable[0]) - p.progress - (v - p.trend_mean) * p.reach + loss -
               p.towards,
        at(step.variable[3]) - p.trend_mean - p.keep * (v - p.trend_mean);
    const Eigen::Matrix2d noise = p.noise(scales.drift);
    const double determinant = noise.determinant();
    const Eigen::Matrix2d precision = noise.inverse();
    const Eigen::Vector2d weighted = precision * off;
    out.value += -0.5 * off.dot(weighted) - 0.5 * std::log(determinant) - kLogTwoPi;
    if (order == 0) continue;
    Eigen::Matrix<double, 2, 5> jacobian;
    jacobian << -p.hold, -p.reach, 1, 0, loss, 0, -p.keep, 0, 1, 0;
    const Eigen::Matrix<double, 5, 1> gradient = jacobian.transpose() * weighted;
    for (std::size_t a = 0; a < 5; ++a) out.gradient(step.variable[a]) -= gradient(static_cast<Eigen::Index>(a));
    if (!values) continue;
    const Eigen::Matrix<double, 5, 5> curvature = jacobian.transpose() * precision * jacobian;
    const std::array<int, 15>& position = own ? step.own_position : step.position;
    std::size_t at_position = 0;
    for (Eigen::Index a = 0; a < 5; ++a) {
      for (Eigen::Index b = 0; b <= a; ++b) values[position[at_position++]] += curvature(a, b);
    }
  }
}

void LatentField::evaluate(const Eigen::VectorXd& at, const Scales& scales, int order, Terms& out, Free free) const {
  const SparseLdl::Matrix& pattern = free == Free::own ? own_pattern_ : pattern_;
  out.value = 0;
  if (order > 0) out.gradient = Eigen::VectorXd::Zero(layout_.size);
  if (order > 1) {
    if (out.precision.nonZeros() != pattern.nonZeros()) out.precision = pattern;
    std::fill(out.precision.valuePtr(), out.precision.valuePtr() + out.precision.nonZeros(), 0.0);
  }
  prior_terms(at, scales, order, free, out);
  for (std::size_t s = 0; s < locals_.size(); ++s) session_terms(s, at, scales, order, free, out);
  if (free == Free::all) return;
  for (int i = 0; i < layout_.size; ++i) {
    if (!is_shared(i)) continue;
    if (order > 0) out.gradient(i) = 0;
    if (order > 1) out.precision.valuePtr()[own_diagonal_[static_cast<std::size_t>(i)]] = 1;
  }
}

// d log|H| = tr(H^-1 dH). A set adds -J'hJ to H: h, the Hessian of its likelihood in its own parameters, changes with
// these (differences of h), and J, the slopes of its margin, with what fatigue depends on (the walk once more, a little
// along the way that weighs).
Eigen::VectorXd LatentField::determinant_slope(const Eigen::VectorXd& at, const Scales& scales,
                                               const SparseLdl& spread) const {
  constexpr double kLittle = 1e-6;  // of a likelihood's parameter; of sigma where that is the margin, ten times
  constexpr double kWalked = 1e-7;
  Eigen::VectorXd out = Eigen::VectorXd::Zero(layout_.size);
  for (const Step& step : steps_) {
    const Passage& p = step.passage;
    if (p.loss_days == 0) continue;
    const int u = step.variable[4];
    const double loss = std::exp(at(u)) * p.loss_days;
    const Eigen::Matrix2d precision = p.noise(scales.drift).inverse();
    const std::array<Eigen::Vector2d, 5> columns{{{-p.hold, 0}, {-p.reach, -p.keep}, {1, 0}, {0, 1}, {loss, 0}}};
    for (std::size_t b = 0; b < 5; ++b) {
      out(u) += 2 * loss * spread.inverse(u, step.variable[b]) * precision.row(0).dot(columns[b]);
    }
  }
  for (std::size_t s = 0; s < locals_.size(); ++s) {
    const Local& local = locals_[s];
    const SessionLayout& l = local.layout;
    const LoggedSession& session = log_->sessions[s];
    const Eigen::VectorXd z = gather(local, at);
    const auto n = static_cast<Eigen::Index>(l.size);
    const auto nx = static_cast<Eigen::Index>(l.margin_count);
    const Eigen::MatrixXd covariance = spread_of(local, spread);
    Eigen::VectorXd slope = Eigen::VectorXd::Zero(n);
    Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::ColMajor, Eigen::Dynamic, kLocalCount> with;
    walk_session(session, l, z, true, [&](const WalkedSet& walked) {
      const auto i = static_cast<std::size_t>(walked.set);
      const LoggedSet& set = session.sets[i];
      if (!set.informs_strength) return;
      const auto [entry, sigma, shape, seen, point] = asked_of(set, l, scales, walked, z);
      const SetTerms terms = set_log_likelihood(seen, point, shape, sigma, 2, precision_);
      if (terms.gradient(kMargin) == 0 && terms.hessian(kMargin, kMargin) == 0 && !seen.feeling && !seen.speed) return;
      const std::array<int, kLocalCount> index = local_indices(l, seen, entry);
      std::array<int, kLocalCount> active{};
      const Eigen::Index count = moving_parameters(index, active);
      const auto parameter = [&](Eigen::Index c) { return active[static_cast<std::size_t>(c)]; };
      const auto place = [&](Eigen::Index c) { return index[static_cast<std::size_t>(parameter(c))]; };
      // Covariance of the session's unknowns with the parameters, and of these.
      with.resize(n, count);
      with.col(0).noalias() = covariance.leftCols(nx) * *walked.gradient;
      for (Eigen::Index c = 1; c < count; ++c) with.col(c) = covariance.col(place(c));
      Eigen::Matrix<double, kLocalCount, kLocalCount> own;
      for (Eigen::Index c = 0; c < count; ++c) {
        own(0, c) = walked.gradient->dot(with.col(c).head(nx));
        for (Eigen::Index d = 1; d < count; ++d) own(d, c) = with(place(d), c);
      }
      for (Eigen::Index c = 0; c < count; ++c) {
        const double step = c == 0 ? 10 * kLittle * sigma : kLittle;
        LocalVector there = point;
        there[static_cast<std::size_t>(parameter(c))] += step;
        const SetTerms moved = set_log_likelihood(seen, there, shape, sigma, 2, precision_);
        double change = 0;
        for (Eigen::Index a = 0; a < count; ++a) {
          for (Eigen::Index b = 0; b < count; ++b) {
            change +=
                own(a, b) * (moved.hessian(parameter(a), parameter(b)) - terms.hessian(parameter(a), parameter(b)));
          }
        }
        change /= step;
        if (c == 0) {
          slope.head(nx) -= change * *walked.gradient;
        } else {
          slope(place(c)) -= change;
        }
      }
      Eigen::VectorXd along = Eigen::VectorXd::Zero(nx);
      for (Eigen::Index c = 0; c < count; ++c) along += terms.hessian(kMargin, parameter(c)) * with.col(c).head(nx);
      const double length = along.cwiseAbs().maxCoeff();
      if (!(length > 0)) return;
      Eigen::VectorXd there = z;
      there.head(nx) += kWalked / length * along;
      walk_session(
          session, l, there, true,
          [&](const WalkedSet& again) {
            if (again.set == walked.set) slope.head(nx) -= 2 * length / kWalked * (*again.gradient - *walked.gradient);
          },
          i + 1);
    });
    for (Eigen::Index a = 0; a < n; ++a) out(local.variable[static_cast<std::size_t>(a)]) += slope(a);
  }
  return out;
}

double LatentField::prior_precision(int variable) const {
  const auto found =
      std::find_if(normals_.begin(), normals_.end(), [&](const Normal& normal) { return normal.variable == variable; });
  return found == normals_.end() ? 0 : found->precision;
}

double LatentField::match(const Eigen::VectorXd& at, const Scales& scales, Sites& sites, Terms& out,
                          const SparseLdl* spread) const {
  out.value = 0;
  out.gradient = Eigen::VectorXd::Zero(layout_.size);
  if (out.precision.nonZeros() != pattern_.nonZeros()) out.precision = pattern_;
  std::fill(out.precision.valuePtr(), out.precision.valuePtr() + out.precision.nonZeros(), 0.0);
  prior_terms(at, scales, 2, Free::all, out);
  double moved = 0;
  sites.resize(locals_.size());
  for (std::size_t s = 0; s < locals_.size(); ++s) {
    sites[s].resize(log_->sessions[s].sets.size());
    session_terms(s, at, scales, 2, Free::all, out, spread, &sites[s], &moved);
  }
  return moved;
}

std::vector<std::vector<double>> LatentField::set_weights(const Eigen::VectorXd& at, const Scales& scales) const {
  std::vector<std::vector<double>> out(locals_.size());
  for (std::size_t s = 0; s < locals_.size(); ++s) {
    const SessionLayout& l = locals_[s].layout;
    const Eigen::VectorXd z = gather(locals_[s], at);
    walk_session(log_->sessions[s], l, z, false, [&](const WalkedSet& walked) {
      const auto i = static_cast<std::size_t>(walked.set);
      const LoggedSet& set = log_->sessions[s].sets[i];
      if (!set.informs_strength) {
        out[s].push_back(1);
        return;
      }
      const double sigma =
          std::sqrt(scales.sigma * scales.sigma * l.sigma_factor[i] * l.sigma_factor[i] + l.rest_variance[i]);
      out[s].push_back(set_log_likelihood(observation(set), local_parameters(l, l.entry[i], walked.margin, z),
                                          l.shape[static_cast<std::size_t>(l.entry[i])], sigma, 0)
                           .weight);
    });
  }
  return out;
}

std::vector<std::vector<double>> LatentField::margins(const Eigen::VectorXd& at) const {
  std::vector<std::vector<double>> out(locals_.size());
  for (std::size_t s = 0; s < locals_.size(); ++s) {
    walk_session(log_->sessions[s], locals_[s].layout, gather(locals_[s], at), false,
                 [&](const WalkedSet& walked) { out[s].push_back(walked.margin); });
  }
  return out;
}

std::vector<std::array<double, 4>> LatentField::residual_by_age(const Eigen::VectorXd& at, Date day) const {
  std::vector<std::array<double, 4>> out(log_->lifts.size(), std::array<double, 4>{});
  for (std::size_t s = locals_.size(); s-- > 0;) {
    const int age = day - log_->sessions[s].date;
    if (age > 3) break;
    if (age < 0) continue;
    const SpentByLift spent_by =
        walk_session(log_->sessions[s], locals_[s].layout, gather(locals_[s], at), false, [](const WalkedSet&) {});
    const SessionLayout& l = locals_[s].layout;
    for (std::size_t from = 0; from < l.lifts.size(); ++from) {
      for (std::size_t to = 0; to < out.size(); ++to) {
        out[to][static_cast<std::size_t>(age)] +=
            spent_by[from] * log_->overlap[static_cast<std::size_t>(l.lifts[from])][to];
      }
    }
  }
  return out;
}

}  // namespace ullage::capacity
