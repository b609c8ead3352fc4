#include "engine/calibration/backtest.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <utility>

#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/capacity/fatigue.h"
#include "engine/capacity/fit.h"
#include "engine/capacity/priors.h"
#include "engine/capacity/session_walk.h"
#include "engine/capacity/set_likelihood.h"

namespace ullage::calibration {
namespace {

using capacity::Draw;
using capacity::Formula;
using capacity::kFormulas;
using capacity::LoggedSet;

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr int kChancesADraw = 4;
constexpr double kMostReps = 60;       // no formula forecasts more
constexpr double kOpenReserve = 6;     // what "5+" is taken for by a formula
constexpr double kTypingError = 4;     // times away from the usual load
constexpr double kLeastChance = 1e-6;  // of a log score; the model's own is capacity::kOutlier

// The session so far, played through every draw.
class Playback {
 public:
  Playback(const capacity::LifterDraws& draws, std::uint64_t seed)
      : draws_(&draws),
        stores_(draws.draws.size(), std::vector<capacity::FatigueStores>(draws.info.size())),
        random_(seed, 5) {}

  void rest(double minutes, bool known) {
    for (std::size_t i = 0; i < stores_.size(); ++i) {
      const double taken = known ? minutes : minutes * std::exp(random_.normal(0, capacity::kLogRestSd));
      for (auto& store : stores_[i]) store.rest(taken, draws_->draws[i].fatigue);
    }
  }
  double margin(std::size_t draw, int lift, double log_load) const {
    const Draw& d = draws_->draws[draw];
    const auto to = static_cast<std::size_t>(lift);
    double fatigue = d.lifts[to].residual;
    for (std::size_t from = 0; from < d.lifts.size(); ++from) {
      fatigue += draws_->overlap[from][to] * stores_[draw][from].total();
    }
    return d.lifts[to].log_strength - fatigue - log_load;
  }
  void happened(int lift, const LoggedSet& set) {
    const auto at = static_cast<std::size_t>(lift);
    for (std::size_t i = 0; i < stores_.size(); ++i) {
      const Draw& d = draws_->draws[i];
      stores_[i][at].add(capacity::spend(margin(i, lift, set.log_load), d.lifts[at].endurance, draws_->info[at].shape,
                                         set.reps, set.failed, d.fatigue.lam, d.fatigue.rho_f),
                         d.fatigue);
    }
    rest(set.reps * capacity::kSecondsPerRep / 60, true);
  }

 private:
  const capacity::LifterDraws* draws_;
  std::vector<std::vector<capacity::FatigueStores>> stores_;
  Random random_;
};

double median_of(std::vector<double>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// What kind of ending a set has; empty when it is not scored.
std::optional<Ending> ending_of(const LoggedSet& set, const SetRecord& record) {
  if (!set.informs_strength || record.kind == SetKind::warmup) return {};
  switch (set.stop) {
    case Stop::failed: return Ending::failure;
    case Stop::cue: return set.feeling ? std::optional(Ending::cue) : std::nullopt;
    case Stop::planned: break;
    // A call tells what was left, however the set came to its end.
    case Stop::unknown: return record.called && set.feeling ? std::optional(Ending::call) : std::nullopt;
  }
  if (record.cue) return Ending::completed;
  return record.called && set.feeling ? Ending::call : Ending::completed;
}

// Fills what the model says of the set before it is done.
void forecast(ScoredSet& out, const capacity::LifterDraws& draws, const Playback& play, int lift, const LoggedSet& set,
              std::optional<double> cue_level, std::uint64_t seed) {
  const auto at = static_cast<std::size_t>(lift);
  const double shape = draws.info[at].shape;
  capacity::SetObservation seen = capacity::observation(set);
  seen.speed.reset();
  if (out.ending == Ending::failure || (out.ending == Ending::completed && !cue_level)) seen.feeling.reset();
  if (out.ending == Ending::call) seen.stop = Stop::planned;
  if (seen.feeling)
    seen.feeling->each_rep = cue_level && !draws.draws.empty() && draws.draws.front().judgement.each_rep;
  Random random(seed, 6);
  std::vector<double> scale;
  scale.reserve(draws.draws.size() * kChancesADraw);
  double below = 0, chance = 0;
  for (std::size_t i = 0; i < draws.draws.size(); ++i) {
    const Draw& d = draws.draws[i];
    const double k = d.lifts[at].endurance;
    const double x = play.margin(i, lift, set.log_load);
    const bool outside = x > std::log(2.0) || capacity::reps_to_failure(x, k, shape) > 25;
    const double sigma = d.sigma * (outside ? capacity::kSigmaOutsideRange : 1);
    capacity::LocalVector point{};
    point[capacity::kMargin] = x;
    point[capacity::kLogEndurance] = std::log(k);
    point[capacity::kCallBias] = d.judgement.bias;
    point[capacity::kCallLogGain] = std::log(d.judgement.gain);
    point[capacity::kCallLogSpread] = std::log(d.judgement.spread);
    point[capacity::kCallLogSpreadRise] = std::log(d.judgement.spread_rise);
    point[capacity::kCallCueShift] = d.judgement.cue_shift;
    chance += std::exp(
        capacity::set_log_likelihood(seen, point, shape, sigma, 0, capacity::Precision::coarse).log_likelihood);
    for (int c = 0; c < kChancesADraw; ++c) {
      const double capacity = capacity::reps_to_failure(x + sigma * random.normal(), k, shape);
      const double feeling = random.normal();
      const double whole = std::floor(std::max(0.0, capacity));
      const auto stop_on_cue = [&] {
        const capacity::Cell cell{-kInfinity, *cue_level};
        return std::max(1.0, std::min(500.0, capacity::cue_stop_rep(d.judgement, capacity, cell, feeling)));
      };
      switch (out.ending) {
        case Ending::failure: {
          double reps = whole;
          if (cue_level) reps = std::min(reps, stop_on_cue());
          below += reps < set.reps ? 1 : 0;
          scale.push_back(capacity - 0.5);
          break;
        }
        case Ending::completed: {
          const double stop = cue_level ? stop_on_cue() : set.reps;
          below += whole < set.reps || stop < set.reps ? 1 : 0;
          scale.push_back(capacity - 0.5);
          break;
        }
        case Ending::call: {
          const double rho = capacity - set.reps;
          const double heard =
              capacity::heard_mean(d.judgement, rho, false) + capacity::heard_sd(d.judgement, rho) * feeling;
          below += whole < set.reps || heard <= set.feeling->low.bound ? 1 : 0;
          scale.push_back(set.reps + heard);
          break;
        }
        case Ending::cue: {
          const double stop = stop_on_cue();
          const bool failed = stop > whole;
          const double reps = failed ? whole : stop;
          below += reps < set.reps || (reps == set.reps && failed) ? 1 : 0;
          scale.push_back(std::min(stop, capacity));
          break;
        }
      }
    }
  }
  out.chance = std::min(1.0, chance / static_cast<double>(draws.draws.size()));
  out.below = std::min(below / static_cast<double>(scale.size()), 1 - out.chance);
  out.forecast = std::max(0.0, median_of(scale));
}

// What a formula knows of one lift: earlier sets whose reps to failure were seen or called.
struct EarlierSet {
  int session = 0;
  int place = 0;  // among the informative sets of its session
  double load = 0;
  double reps = 0;  // reserve included
};

double mean_strength(Formula formula, const std::vector<EarlierSet>& sets, std::size_t from, std::size_t to) {
  double sum = 0;
  for (std::size_t i = from; i < to; ++i) {
    sum += capacity::one_rep_maximum(formula, sets[i].load, std::min(sets[i].reps, 30.0));
  }
  return sum / static_cast<double>(to - from);
}

double strength_by(Formula formula, int way, const std::vector<EarlierSet>& sets, int session, int place) {
  const std::size_t n = sets.size();
  if (way == 1) return mean_strength(formula, sets, n >= 3 ? n - 3 : 0, n);
  if (way == 2) {
    std::size_t end = n;
    while (end > 0 && sets[end - 1].session == session) --end;
    std::size_t best = n;
    for (std::size_t i = end; i-- > 0 && sets[i].session == sets[end - 1].session;) {
      if (best == n || sets[i].place >= place) best = i;
    }
    if (best < n) return mean_strength(formula, sets, best, best + 1);
  }
  return mean_strength(formula, sets, n - 1, n);
}

struct Walk {
  const Lifter* lifter;
  const std::vector<SetRecord>* records;
  const std::function<const Exercise*(const std::string&)>* find;

  capacity::TrainingLog log_of(const std::vector<int>& which, Date as_of) const {
    std::vector<SetRecord> some;
    for (const int i : which) some.push_back((*records)[static_cast<std::size_t>(i)]);
    return capacity::prepare(*lifter, some, *find, as_of);
  }
};

double error_of(const ScoredSet& set, double forecast) {
  return set.open ? std::max(0.0, set.seen - forecast) : std::fabs(forecast - set.seen);
}

Score score_of(const std::vector<const ScoredSet*>& sets) {
  Score s;
  double inside = 0;
  for (const ScoredSet* set : sets) {
    const double low = set->below;
    const double high = std::min(1.0, set->below + std::max(set->chance, 1e-9));
    ++s.endings;
    inside += std::max(0.0, std::min(high, 0.9) - std::max(low, 0.1)) / (high - low);
    for (int bin = 0; bin < 10; ++bin) {
      const double a = bin / 10.0;
      s.histogram[static_cast<std::size_t>(bin)] +=
          std::max(0.0, std::min(high, a + 0.1) - std::max(low, a)) / (high - low);
    }
    if (!set->compared) continue;
    ++s.n;
    s.mae_reps += error_of(*set, set->forecast);
    s.bias_reps += set->open && set->forecast > set->seen ? 0 : set->forecast - set->seen;
    s.log_score += std::log(std::max(set->chance, kLeastChance));
  }
  if (s.n > 0) {
    s.mae_reps /= s.n;
    s.bias_reps /= s.n;
    s.log_score /= s.n;
  }
  if (s.endings > 0) {
    s.coverage80 = inside / s.endings;
    for (double& share : s.histogram) share /= s.endings;
  }
  return s;
}

double formula_mae(const std::vector<const ScoredSet*>& sets, std::size_t formula, int way) {
  double sum = 0;
  int n = 0;
  for (const ScoredSet* set : sets) {
    if (!set->compared) continue;
    sum += error_of(*set, set->formulas[formula][static_cast<std::size_t>(way)]);
    ++n;
  }
  return n > 0 ? sum / n : 0;
}

NamedScore named(const std::string& name, const std::vector<const ScoredSet*>& sets,
                 const std::vector<FormulaScore>& formulas) {
  NamedScore out{name, score_of(sets), 0};
  double best = kInfinity;
  for (std::size_t f = 0; f < formulas.size(); ++f) {
    for (int way = 0; way < kWays; ++way) {
      if (way_name(way) == formulas[f].way) best = std::min(best, formula_mae(sets, f, way));
    }
  }
  out.best_formula_mae = std::isfinite(best) ? best : 0;
  return out;
}

void work_out(Backtest& result) {
  std::vector<const ScoredSet*> all;
  std::map<std::string, std::vector<const ScoredSet*>> by_exercise;
  std::array<std::vector<const ScoredSet*>, 4> by_reserve;
  for (std::size_t i = 0; i < result.sets.size(); ++i) {
    const ScoredSet& set = result.sets[i];
    all.push_back(&set);
    by_exercise[result.exercise[i]].push_back(&set);
    const std::size_t range = set.to_failure ? 0 : set.reserve < 1.5 ? 1 : set.reserve < 3.5 ? 2 : 3;
    by_reserve[range].push_back(&set);
  }
  result.total = score_of(all);
  result.formulas.clear();
  for (std::size_t f = 0; f < kFormulas.size(); ++f) {
    int best = 0;
    for (int way = 1; way < kWays; ++way) {
      if (formula_mae(all, f, way) < formula_mae(all, f, best)) best = way;
    }
    FormulaScore score{std::string(capacity::formula_name(kFormulas[f])), std::string(way_name(best)),
                       formula_mae(all, f, best), 0};
    double squares = 0;
    int n = 0;
    const auto forecast = [&](const ScoredSet& set) { return set.formulas[f][static_cast<std::size_t>(best)]; };
    for (const ScoredSet* set : all) {
      if (!set->compared) continue;
      const double error = error_of(*set, forecast(*set));
      squares += error * error;
      ++n;
    }
    if (n > 0) {
      const double sd = std::max(0.3, std::sqrt(squares / n));
      for (const ScoredSet* set : all) {
        if (!set->compared) continue;
        const double chance = normal_between((set->low - forecast(*set)) / sd, (set->high - forecast(*set)) / sd);
        score.log_score += std::log(std::max(chance, kLeastChance)) / n;
      }
    }
    result.formulas.push_back(std::move(score));
  }
  result.exercises.clear();
  for (const auto& [name, sets] : by_exercise) result.exercises.push_back(named(name, sets, result.formulas));
  std::sort(result.exercises.begin(), result.exercises.end(), [](const NamedScore& a, const NamedScore& b) {
    return std::make_pair(-a.score.endings, a.name) < std::make_pair(-b.score.endings, b.name);
  });
  result.reserve_ranges.clear();
  constexpr std::array<const char*, 4> kRanges{"to failure", "0-1", "2-3", "4 and more"};
  for (std::size_t r = 0; r < kRanges.size(); ++r) {
    if (!by_reserve[r].empty()) result.reserve_ranges.push_back(named(kRanges[r], by_reserve[r], result.formulas));
  }
}

}  // namespace

std::string_view way_name(int way) {
  constexpr std::array<std::string_view, kWays> kNames{"last set", "last three", "same set last time"};
  return kNames[static_cast<std::size_t>(way)];
}

void merge(Backtest& into, const Backtest& other) {
  into.sets.insert(into.sets.end(), other.sets.begin(), other.sets.end());
  into.exercise.insert(into.exercise.end(), other.exercise.begin(), other.exercise.end());
  into.sessions += other.sessions;
  into.fits += other.fits;
  into.not_told += other.not_told;
  into.set_aside += other.set_aside;
  work_out(into);
}

Result<Backtest> backtest(const Lifter& lifter, const std::vector<SetRecord>& records,
                          const std::function<const Exercise*(const std::string&)>& find,
                          const BacktestOptions& options) {
  Backtest result;
  const Walk walk{&lifter, &records, &find};
  Date last{};
  for (const SetRecord& r : records) last = std::max(last, r.date);
  // The whole log is prepared only to see which records make a session; what is known of it is prepared anew each time.
  const capacity::TrainingLog whole = capacity::prepare(lifter, records, find, last);
  const std::size_t count = whole.sessions.size();
  std::vector<int> before;  // records of the sessions gone by
  std::optional<capacity::Posterior> posterior;
  int since_fit = 0;
  using LiftKey = std::pair<std::string, Side>;
  std::map<LiftKey, std::vector<EarlierSet>> earlier;
  std::map<LiftKey, std::vector<double>> loads;  // of work sets, for typing errors

  for (std::size_t s = 0; s < count; ++s) {
    const capacity::LoggedSession& session = whole.sessions[s];
    const bool scored = static_cast<int>(s) >= options.least_sessions;
    if (options.progress && !options.progress(static_cast<double>(s) / static_cast<double>(count))) {
      return fail(Code::cancelled, "stopped");
    }
    if (scored && (!posterior || since_fit >= options.sessions_a_fit)) {
      capacity::FitOptions fit_options;
      fit_options.history = false;
      if (options.progress) {
        fit_options.progress = [&](double) {
          return options.progress(static_cast<double>(s) / static_cast<double>(count));
        };
      }
      auto fitted = capacity::fit(walk.log_of(before, whole.sessions[s - 1].date), fit_options);
      if (!fitted) return tl::unexpected(fitted.error());
      posterior = std::move(*fitted);
      since_fit = 0;
      ++result.fits;
    }
    ++since_fit;
    std::vector<int> today;
    std::map<LiftKey, int> informative_today;
    for (std::size_t i = 0; i < session.sets.size(); ++i) {
      const int index = session.sets[i].record;
      today.push_back(index);
      const SetRecord& record = records[static_cast<std::size_t>(index)];
      const LiftKey key{record.exercise, record.side};
      const Exercise& exercise = *find(record.exercise);
      const double load = std::exp(session.sets[i].log_load);
      std::vector<double>& usual = loads[key];
      bool mistyped = false;
      if (record.kind != SetKind::warmup && usual.size() >= 3) {
        std::vector<double> copy = usual;
        mistyped = std::fabs(std::log(load / median_of(copy))) > std::log(kTypingError);
      }
      const capacity::TrainingLog so_far = walk.log_of(today, record.date);
      const LoggedSet& set = so_far.sessions.back().sets.back();
      const std::optional<Ending> ending = ending_of(set, record);
      // A stop on a cue that was not written down: the call is the cue.
      const double cue_reserve = record.cue                               ? record.cue->reserve
                                 : set.stop == Stop::cue && record.called ? record.called->reserve
                                                                          : 0;
      std::vector<EarlierSet>& known = earlier[key];
      const int place = informative_today[key];

      if (scored && ending && !mistyped) {
        ScoredSet out;
        out.record = index;
        out.ending = *ending;
        out.seen = set.reps;
        out.low = set.reps - 0.5;
        out.high = set.reps + 0.5;
        if (*ending == Ending::call) {
          out.open = record.called->open;
          out.seen += record.called->reserve;
          out.high = set.reps + set.feeling->high.bound;
          if (std::isfinite(set.feeling->low.bound)) out.low = set.reps + set.feeling->low.bound;
        }
        out.to_failure = *ending == Ending::failure && !record.planned_reps;
        // The lifts of today, in the order of the session's log.
        std::vector<capacity::Posterior::Wanted> wanted;
        for (const capacity::Lift& lift : so_far.lifts) {
          wanted.push_back({so_far.exercises[static_cast<std::size_t>(lift.endurance_index)].exercise, lift.side});
        }
        const std::uint64_t seed = options.seed + 1000003ULL * static_cast<std::uint64_t>(index);
        const capacity::LifterDraws draws =
            posterior->draw(wanted, record.date, so_far.body_mass_kg, options.draws, seed);
        Playback play(draws, seed);
        const std::vector<LoggedSet>& done = so_far.sessions.back().sets;
        for (std::size_t j = 0; j < done.size(); ++j) {
          if (j > 0) play.rest(done[j].rest_minutes, done[j].rest_known);
          if (j + 1 < done.size()) play.happened(done[j].lift, done[j]);
        }
        std::optional<double> cue_level;
        if (set.feeling && set.stop == Stop::cue)
          cue_level = set.feeling->high.bound;
        else if (set.feeling && record.cue)
          cue_level = set.feeling->before.bound;
        if (cue_level && !std::isfinite(*cue_level)) cue_level.reset();
        forecast(out, draws, play, set.lift, set, cue_level, seed);
        if (*ending == Ending::cue || (cue_level && record.cue)) {
          out.reserve = cue_reserve;
        } else if (!out.to_failure) {
          out.reserve = out.forecast - (*ending == Ending::failure ? record.planned_reps.value_or(set.reps) : set.reps);
        }

        if (*ending != Ending::completed && !known.empty()) {
          out.compared = true;
          for (std::size_t f = 0; f < kFormulas.size(); ++f) {
            for (int way = 0; way < kWays; ++way) {
              const double strength = strength_by(kFormulas[f], way, known, static_cast<int>(s), place);
              double reps = std::min(kMostReps, capacity::reps_to_failure(kFormulas[f], strength, load));
              if (*ending == Ending::cue) reps = std::max(0.0, reps - cue_reserve);
              out.formulas[f][static_cast<std::size_t>(way)] = reps;
            }
          }
        }
        result.sets.push_back(out);
        result.exercise.push_back(exercise.name);
      }
      if (scored) {
        if (mistyped) ++result.set_aside;
        if (!ending && record.kind != SetKind::warmup && set.informs_strength) ++result.not_told;
        auto next = capacity::update(*posterior, so_far, static_cast<int>(so_far.sessions.back().sets.size()) - 1);
        if (!next) return tl::unexpected(next.error());
        posterior = std::move(*next);
      }
      if (record.kind != SetKind::warmup) usual.push_back(load);
      if (ending && *ending != Ending::completed && !mistyped && (set.reps > 0 || record.called)) {
        double reps = set.reps;
        if (*ending == Ending::call) reps += record.called->open ? kOpenReserve : record.called->reserve;
        if (*ending == Ending::cue) reps += cue_reserve;
        known.push_back({static_cast<int>(s), informative_today[key]++, load, reps});
      }
    }
    before.insert(before.end(), today.begin(), today.end());
    if (scored) ++result.sessions;
  }
  work_out(result);
  return result;
}

}  // namespace ullage::calibration
