#include "engine/capacity/summary.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <numeric>

#include "engine/base/even_points.h"
#include "engine/base/lanes.h"
#include "engine/base/normal.h"
#include "engine/capacity/lane_formulas.h"
#include "engine/capacity/priors.h"

namespace ullage::capacity {
namespace {

constexpr double kNormal80 = 1.2815515655446004;
constexpr double kSuspectWeight = 0.5;  // below this a set is reported as mis-typed

double learned_share(double posterior_sd, double prior_sd) {
  return std::clamp(1 - (posterior_sd * posterior_sd) / (prior_sd * prior_sd), 0.0, 1.0);
}

ULLAGE_INLINE void put(double* at, const Lanes& four) { std::memcpy(at, &four, sizeof four); }

// Up to five kept unknowns at the points, each component with as many of them as its weight asks for. The points are
// the same for every lifter and lift: what is shown of a lift depends on no other.
constexpr std::size_t kPoints = EvenNormals::kSize;
static_assert(kPoints % kLanes == 0);
template <std::size_t N>
using AtPoints = std::array<std::array<double, kPoints>, N>;
template <std::size_t N>
AtPoints<N> at_points(const std::vector<Component>& components, const std::array<int, N>& variables) {
  static_assert(N <= EvenNormals::kDimensions);
  AtPoints<N> out;
  double total = 0, so_far = 0;
  for (const Component& c : components) total += c.weight;
  std::size_t point = 0;
  for (std::size_t c = 0; c < components.size(); ++c) {
    so_far += components[c].weight;
    const bool last = c + 1 == components.size();
    const std::size_t end =
        last ? kPoints : static_cast<std::size_t>(std::lround(kPoints * std::min(1.0, so_far / total)));
    if (end <= point) continue;
    // Cholesky's root; what is known exactly, or is a rounding error below that, has none.
    double root[N][N];
    for (std::size_t j = 0; j < N; ++j) {
      for (std::size_t i = j; i < N; ++i) {
        double left = components[c].covariance(variables[i], variables[j]);
        for (std::size_t m = 0; m < j; ++m) left -= root[i][m] * root[j][m];
        root[i][j] = i == j ? std::sqrt(std::max(0.0, left)) : root[j][j] > 0 ? left / root[j][j] : 0;
      }
    }
    std::array<double, N> mean;
    for (std::size_t i = 0; i < N; ++i) mean[i] = components[c].mean(variables[i]);
    for (; point < end; ++point) {
      const auto& normal = EvenNormals::instance().point(point);
      for (std::size_t i = 0; i < N; ++i) {
        double value = mean[i];
        for (std::size_t j = 0; j <= i; ++j) value += root[i][j] * normal[j];
        out[i][point] = value;
      }
    }
  }
  return out;
}

// Reps lost on set 2 and on set 4 when sets of 8 are done with a load of which 10 could be done fresh, at the points.
struct Lost {
  std::array<double, kPoints> set2, set4;
};
// log k, log A_fast, log A_slow, log tau_fast, logit lam.
ULLAGE_WIDE void reps_lost(const AtPoints<5>& at, double shape, double rest_minutes, Lost& out) {
  const double minutes = 8 * kSecondsPerRep / 60 + rest_minutes;
  const double keep_slow = std::exp(-minutes / kTauSlow);
  const LaneBits no_failure{0, 0, 0, 0};
  const Lanes rho_f = lanes(kRhoF);
  for (std::size_t i = 0; i < kPoints; i += kLanes) {
    const Lanes k = larger(exp(lanes_from(&at[0][i])), lanes(kLeastEndurance));
    const Lanes a_fast = exp(lanes_from(&at[1][i])), a_slow = exp(lanes_from(&at[2][i]));
    const Lanes keep_fast = exp(-minutes / exp(lanes_from(&at[3][i])));
    const Lanes lam = 1.0 / (1.0 + exp(-lanes_from(&at[4][i])));
    const Lanes fresh = margin_for_reps(lanes(10), k, shape);
    Lanes fast = lanes(0), slow = lanes(0);
    for (int set = 2; set <= 4; ++set) {
      const SpentLanes spent = spend(fresh - (fast + slow), k, shape, lanes(8), no_failure, lam, rho_f);
      fast = (fast + a_fast * spent.depletion) * keep_fast;
      slow = (slow + a_slow * spent.slow) * keep_slow;
      if (set == 2) put(&out.set2[i], 10.0 - reps_to_failure(fresh - (fast + slow), k, shape));
    }
    put(&out.set4[i], 10.0 - reps_to_failure(fresh - (fast + slow), k, shape));
  }
}

template <std::size_t N>
Interval interval_at_points(const std::array<double, N>& values) {
  return interval_of({values.begin(), values.end()});
}

// The reserves that would fit each whole answer 0 .. 5+, weighed by how often sets end there (gamma of shape 2,
// mean 2.5 reps).
constexpr int kAnswers = 6;
constexpr std::size_t kCells = 32;
constexpr double kCellReps = 0.5;
using Cells = std::array<double, kCells>;
// How often sets end in each cell of reserve and are called each answer, whose cells end at `ends` (the last is open).
ULLAGE_WIDE void cell_masses(const Judgement& j, const std::array<double, kAnswers>& ends, const Cells& often,
                             std::array<Cells, kAnswers>& out) {
  constexpr std::size_t kTerms = 14;  // to 1e-7
  const NormalTail& table = NormalTail::instance();
  for (std::size_t i = 0; i < kCells; i += kLanes) {
    const Lanes rho = kCellReps * (static_cast<double>(i) + Lanes{0.5, 1.5, 2.5, 3.5});
    const Lanes mean = j.gain * rho - j.bias;
    const Lanes by_sd = 1.0 / (j.spread + j.spread_rise * rho);
    const Lanes weight = lanes_from(&often[i]);
    Lanes below = lanes(0);
    for (std::size_t called = 0; called < kAnswers; ++called) {
      Lanes up_to = lanes(1);
      if (called + 1 < kAnswers) {
        const NormalEnd end = normal_end((ends[called] - mean) * by_sd, table, kTerms);
        up_to = end.z > 0 ? 1.0 - end.tail : end.tail;
      }
      put(&out[called][i], weight * (up_to - below));
      below = up_to;
    }
  }
}
// Chance of each cell of reserve given each answer, averaged over the points.
std::array<Cells, kAnswers> reserves_given_calls(const Posterior& p) {
  static const Cells kOften = [] {
    Cells out{};
    for (std::size_t i = 0; i < kCells; ++i) {
      const double rho = kCellReps * (static_cast<double>(i) + 0.5);
      out[i] = rho * std::exp(-2 * rho / 2.5);
    }
    return out;
  }();
  static const std::array<double, kAnswers> kCellEnd = [] {
    std::array<double, kAnswers> out{};
    for (std::size_t called = 0; called < kAnswers; ++called) {
      out[called] = call_cell({static_cast<double>(called), false}, false).high;
    }
    return out;
  }();
  const auto at =
      at_points<4>(p.components, {p.index.bias, p.index.log_gain, p.index.log_spread, p.index.log_spread_rise});
  std::array<Cells, kAnswers> out{}, mass;
  for (std::size_t i = 0; i < kPoints; ++i) {
    const Lanes natural = exp(Lanes{at[1][i], at[2][i], at[3][i], 0});
    cell_masses({at[0][i], natural[0], natural[1], natural[2], 0}, kCellEnd, kOften, mass);
    for (std::size_t called = 0; called < kAnswers; ++called) {
      double all = 0;
      for (const double m : mass[called]) all += m;
      // No reserve at all fits: as much as nothing was said.
      const Cells& cells = all > 0 ? mass[called] : kOften;
      if (!(all > 0)) all = std::accumulate(kOften.begin(), kOften.end(), 0.0);
      for (std::size_t cell = 0; cell < kCells; ++cell) out[called][cell] += cells[cell] / (all * kPoints);
    }
  }
  return out;
}

// Of a reserve that is anywhere within its cell.
Interval interval_of_cells(const Cells& chance) {
  Interval out;
  double mean = 0, square = 0;
  for (std::size_t i = 0; i < kCells; ++i) {
    const double middle = kCellReps * (static_cast<double>(i) + 0.5);
    mean += chance[i] * middle;
    square += chance[i] * (middle * middle + kCellReps * kCellReps / 12);
  }
  out.sd = std::sqrt(std::max(0.0, square - mean * mean));
  const auto quantile_of = [&](double p) {
    std::size_t i = 0;
    while (i + 1 < kCells && p > chance[i]) p -= chance[i++];
    return kCellReps * (static_cast<double>(i) + (chance[i] > 0 ? std::min(1.0, p / chance[i]) : 0.5));
  };
  out.lo80 = quantile_of(0.1);
  out.median = quantile_of(0.5);
  out.hi80 = quantile_of(0.9);
  return out;
}

double median_rest(const TrainingLog& log, int lift, double otherwise) {
  std::vector<double> rests;
  for (const LoggedSession& session : log.sessions) {
    for (const LoggedSet& set : session.sets) {
      if (set.lift == lift && set.rest_known && set.rest_minutes > 0.3) rests.push_back(set.rest_minutes);
    }
  }
  if (rests.empty()) return otherwise;
  const auto middle = rests.begin() + static_cast<std::ptrdiff_t>(rests.size() / 2);
  std::nth_element(rests.begin(), middle, rests.end());
  return *middle;
}

// The total load that this set's reps would fit at this point of the field, with one or two reps left.
double fitting_load(const TrainingLog& log, const LatentField& field, const Eigen::VectorXd& at, const LoggedSet& set,
                    double margin) {
  const auto e = static_cast<std::size_t>(log.lifts[static_cast<std::size_t>(set.lift)].endurance_index);
  const double k = std::exp(at(field.layout().log_endurance[e]));
  return std::exp(set.log_load + margin -
                  margin_for_reps(set.reps + 1.5, k, curve_shape(log.exercises[e].exercise.cls)));
}

SuspectSet suspect(const LoggedSet& set, double fitting) {
  return {set.record, "does not fit the rest of the log and was given no weight: " + std::to_string(set.reps) +
                          " reps fit a total load of about " + number_text(std::round(fitting)) + ", written was " +
                          number_text(std::round(std::exp(set.log_load) * 10) / 10)};
}

void find_suspects(const FitResult& r, Posterior& out) {
  out.suspects = r.set_aside;
  int misfits = 0;
  const auto weights = r.field->set_weights(r.mean, r.scales);
  const auto margins = r.field->margins(r.mean);
  for (std::size_t s = 0; s < weights.size(); ++s) {
    for (std::size_t i = 0; i < weights[s].size(); ++i) {
      if (weights[s][i] >= kSuspectWeight) continue;
      const LoggedSet& set = r.log->sessions[s].sets[i];
      // A load that is off by a little is no typing error: a jump in strength, a bad day, another machine.
      const double fitting = fitting_load(*r.log, *r.field, r.mean, set, margins[s][i]);
      if (std::fabs(std::log(fitting) - set.log_load) < std::log(1.5)) {
        ++misfits;
      } else {
        out.suspects.push_back(suspect(set, fitting));
      }
    }
  }
  if (misfits > 0) {
    out.remarks.push_back(std::to_string(misfits) + (misfits == 1 ? " set fits" : " sets fit") +
                          " badly with the rest of the log and " + (misfits == 1 ? "counts" : "count") + " little");
  }
  std::sort(out.suspects.begin(), out.suspects.end(),
            [](const SuspectSet& a, const SuspectSet& b) { return a.record < b.record; });
}

}  // namespace

Prior moments(const std::vector<Component>& components, int variable) {
  double mean = 0, square = 0;
  for (const Component& c : components) {
    const double m = c.mean(variable);
    mean += c.weight * m;
    square += c.weight * (c.covariance(variable, variable) + m * m);
  }
  return {mean, std::sqrt(std::max(0.0, square - mean * mean))};
}

Prior log_moments(const std::vector<Component>& components, double Component::* scale) {
  double mean = 0, square = 0;
  for (const Component& c : components) {
    const double log_scale = std::log(c.*scale);
    mean += c.weight * log_scale;
    square += c.weight * log_scale * log_scale;
  }
  return {mean, std::sqrt(std::max(0.0, square - mean * mean))};
}

std::vector<SuspectSet> set_aside(TrainingLog& log, const LatentField& field, const Eigen::VectorXd& at,
                                  const Scales& scales) {
  constexpr double kNoWeight = 0.2;
  const double most = std::log(1.8);
  std::vector<SuspectSet> out;
  const auto weights = field.set_weights(at, scales);
  const auto margins = field.margins(at);
  for (std::size_t s = 0; s < weights.size(); ++s) {
    for (std::size_t i = 0; i < weights[s].size(); ++i) {
      LoggedSet& set = log.sessions[s].sets[i];
      if (weights[s][i] >= kNoWeight) continue;
      const double fitting = fitting_load(log, field, at, set, margins[s][i]);
      if (std::fabs(std::log(fitting) - set.log_load) < most) continue;
      out.push_back(suspect(set, fitting));
      set.informs_strength = false;
      set.log_load = std::log(fitting);
    }
  }
  return out;
}

Interval interval_of_exp(const NormalMixture& log, double least) {
  const auto at = [&](double p) { return std::max(least, std::exp(quantile(log, p))); };
  return {at(0.5), at(0.1), at(0.9), exp_moments(log, least).sd};
}

Interval interval_of_exp(const SkewedMixture& log) {
  const auto at = [&](double p) { return std::exp(quantile(log, p)); };
  return {at(0.5), at(0.1), at(0.9), exp_moments(log).sd};
}

void refresh_lifts(Posterior& p, const TrainingLog& log, Date day) {
  const Prior readiness = p.index.readiness >= 0 ? moments(p.components, p.index.readiness) : Prior{0, 0};
  p.readiness = {readiness.mean, readiness.mean - kNormal80 * readiness.sd, readiness.mean + kNormal80 * readiness.sd,
                 readiness.sd};
  const double a_fast = learned_share(moments(p.components, p.index.log_a_fast).sd, kLogAFast.sd);
  const double a_slow = learned_share(moments(p.components, p.index.log_a_slow).sd, kLogASlow.sd);
  for (std::size_t i = 0; i < p.lifts.size(); ++i) {
    LiftSummary& lift = p.lifts[i];
    if (std::none_of(log.exercises.begin(), log.exercises.end(),
                     [&](const ExerciseInLog& e) { return e.exercise.id == lift.exercise; })) {
      continue;
    }
    const SkewedMixture strength = p.rested_log_strength(i, day);
    lift.learned = learned_share(moments(strength).sd, lift.prior_log_sd);
    lift.learned_fatigability = std::max(a_fast, a_slow);
    lift.strength = interval_of_exp(strength);
    lift.endurance = interval_of_exp(p.log_endurance_of(i), kLeastEndurance);
    const int log_k = p.index.log_endurance[static_cast<std::size_t>(lift.endurance_index)];
    Lost lost;
    reps_lost(at_points<5>(p.components,
                           {log_k, p.index.log_a_fast, p.index.log_a_slow, p.index.log_tau_fast, p.index.logit_lam}),
              lift.shape, lift.usual_rest_minutes, lost);
    lift.fatigability = interval_at_points(lost.set2);
    lift.fatigability_set4 = interval_at_points(lost.set4);
    const Prior v = moments(p.components, p.index.trend[i]);
    const double week = 700;  // per day to percent per week
    lift.trend_pct_per_week = {week * v.mean, week * (v.mean - kNormal80 * v.sd), week * (v.mean + kNormal80 * v.sd),
                               week * v.sd};
  }
}

void refresh_judgement(Posterior& p) {
  p.learned_judgement = learned_share(moments(p.components, p.index.bias).sd, kBias.sd);
  NormalMixture bias;
  for (const Component& c : p.components) {
    bias.push_back({c.weight, c.mean(p.index.bias) - 0.5, std::sqrt(c.covariance(p.index.bias, p.index.bias))});
  }
  p.bias_reps = {quantile(bias, 0.5), quantile(bias, 0.1), quantile(bias, 0.9), ullage::moments(bias).sd};
  p.at_called.clear();
  const std::array<Cells, kAnswers> reserve = reserves_given_calls(p);
  for (std::size_t called = 0; called < kAnswers; ++called) {
    p.at_called.push_back({static_cast<double>(called), interval_of_cells(reserve[called])});
  }
}

Posterior summarise(const FitResult& r) {
  const TrainingLog& log = *r.log;
  const FieldLayout& f = r.field->layout();
  Posterior p;
  p.lifter = log.lifter.id;
  p.as_of = log.sessions.empty() ? log.as_of : log.sessions.back().date;
  p.components = r.components;
  p.skews = r.skews;
  p.scale_skewness = r.scale_skewness;
  p.index = r.index;
  p.converged = r.converged;
  p.set_count = log.set_count;
  p.session_count = static_cast<int>(log.sessions.size());
  const Prior learning = practice(log.lifter.training_years);
  p.practice_mean = learning.mean;
  p.practice_sd = learning.sd;
  p.trend_mean = r.field->prior_trend_mean();
  p.trend_sd = r.field->prior_trend_sd();
  const Prior general = log_general_level(log.lifter, log.as_of);
  p.general_prior_mean = general.mean;
  p.general_prior_sd = general.sd;
  p.residual_by_age = r.field->residual_by_age(r.mean, p.as_of);
  const auto margins = r.field->margins(r.mean);
  p.untrained_mean = r.field->general_people().mean;
  std::vector<TimeOff> off(log.sessions.size());
  for (std::size_t s = 1; s < log.sessions.size(); ++s) {
    off[s] = off[s - 1] + time_off(log.sessions[s].days_since_last);
  }
  if (!off.empty()) p.absent_days = off.back().absent;
  for (std::size_t i = 0; i < log.lifts.size(); ++i) {
    const Lift& lift = log.lifts[i];
    const Exercise& exercise = log.exercises[static_cast<std::size_t>(lift.endurance_index)].exercise;
    LiftSummary s;
    s.exercise = lift.exercise;
    s.side = lift.side;
    s.cls = exercise.cls;
    s.marks = lift.marks;
    s.place = lift.place;
    s.sets_used = lift.sets;
    s.first = lift.first;
    s.last = lift.last;
    s.shape = curve_shape(exercise.cls);
    s.new_here = lift.new_here;
    s.sessions = lift.sessions;
    s.endurance_index = lift.endurance_index;
    s.usual_rest_minutes = median_rest(log, static_cast<int>(i), usual_rest_minutes(exercise.cls));
    const auto last_met = static_cast<std::size_t>(f.met[i].back());
    const TimeOff since = off.back() - off[last_met];
    s.lay_off_excess = since.excess;
    s.lay_off_absent = since.absent;
    s.untrained_log_mean = r.field->people()[i].mean;
    s.prior_log_sd = r.field->people()[i].sd;
    s.seen_margin_low = 1e9;
    s.seen_margin_high = -1e9;
    for (const int met : f.met[i]) {
      const LoggedSession& session = log.sessions[static_cast<std::size_t>(met)];
      for (std::size_t j = 0; j < session.sets.size(); ++j) {
        if (session.sets[j].lift != static_cast<int>(i) || !session.sets[j].informs_strength) continue;
        s.seen_margin_low = std::min(s.seen_margin_low, margins[static_cast<std::size_t>(met)][j]);
        s.seen_margin_high = std::max(s.seen_margin_high, margins[static_cast<std::size_t>(met)][j]);
      }
    }
    if (!r.variance.empty()) {
      for (std::size_t j = 0; j < f.met[i].size(); ++j) {
        const int variable = f.strength[i][j];
        const double sd = std::sqrt(r.variance[static_cast<std::size_t>(variable)]);
        s.history.push_back({log.sessions[static_cast<std::size_t>(f.met[i][j])].date, std::exp(r.mean(variable)),
                             std::exp(r.mean(variable) - kNormal80 * sd), std::exp(r.mean(variable) + kNormal80 * sd)});
      }
    }
    p.lifts.push_back(std::move(s));
  }
  p.remarks = log.remarks;
  find_suspects(r, p);
  if (log.set_count == 0) p.remarks.push_back("no set is logged: every number is an assumption");
  if (log.set_count == 1) p.remarks.push_back("one set only: the numbers are mostly assumed");
  if (r.unknown_share > 0.5) {
    p.remarks.push_back(
        "most sets ended for reasons not told and without a call: how near they came to failure is assumed, and the "
        "intervals are widened");
  }
  if (!r.converged) p.remarks.push_back("the fit did not settle fully: intervals may be too narrow");
  refresh_lifts(p, log, log.as_of);
  refresh_judgement(p);
  return p;
}

}  // namespace ullage::capacity
