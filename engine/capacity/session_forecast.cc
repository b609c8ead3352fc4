#include "engine/capacity/session_forecast.h"

#include <algorithm>
#include <cmath>

#include "engine/base/normal.h"
#include "engine/base/random.h"

namespace ullage::capacity {
namespace {

// Order statistics of values that are put in order only where asked: from left to right, each place once.
class Ordered {
 public:
  explicit Ordered(std::vector<double>& values) : values_(values) {}
  // Linear interpolation between order statistics at probability p (Hazen: (i - 0.5)/n); p rising from call to call.
  double quantile(double p) {
    const double at = p * static_cast<double>(values_.size()) - 0.5;
    if (at <= 0) return place(0);
    const auto below = static_cast<std::size_t>(at);
    if (below + 1 >= values_.size()) return place(values_.size() - 1);
    const double part = at - static_cast<double>(below);
    const double low = place(below);
    return low * (1 - part) + place(below + 1) * part;
  }

 private:
  double place(std::size_t index) {
    if (index >= from_) {
      std::nth_element(values_.begin() + static_cast<std::ptrdiff_t>(from_),
                       values_.begin() + static_cast<std::ptrdiff_t>(index), values_.end());
      from_ = index + 1;
    }
    return values_[index];
  }
  std::vector<double>& values_;
  std::size_t from_ = 0;  // below this the asked places hold their order statistics
};

// n standard normal values, one from each of n equally likely strata, in random order: the same spread
// in every set, so that comparing candidate loads is not blurred by chance.
void stratified_normals(std::vector<double>& out, Random& random) {
  const auto n = static_cast<int>(out.size());
  for (int i = 0; i < n; ++i) out[static_cast<std::size_t>(i)] = normal_quantile((i + random.uniform()) / n);
  for (int i = n - 1; i > 0; --i) {
    std::swap(out[static_cast<std::size_t>(i)], out[static_cast<std::size_t>(random.integer(0, i))]);
  }
}

}  // namespace

Interval interval_of(std::vector<double> values) {
  if (values.empty()) return {};
  double mean = 0;
  for (double v : values) mean += v;
  mean /= static_cast<double>(values.size());
  double square = 0;
  for (double v : values) square += (v - mean) * (v - mean);
  Interval out;
  out.sd = values.size() > 1 ? std::sqrt(square / static_cast<double>(values.size() - 1)) : 0;
  Ordered ordered(values);
  out.lo80 = ordered.quantile(0.1);
  out.median = ordered.quantile(0.5);
  out.hi80 = ordered.quantile(0.9);
  return out;
}

SessionForecast::SessionForecast(const LifterDraws& draws, std::uint64_t seed)
    : draws_(&draws),
      lifts_(draws.info.size()),
      stores_(draws.draws.size() * draws.info.size()),
      seed_(seed),
      made_(std::make_shared<std::vector<Noise>>()) {}

const SessionForecast::Noise& SessionForecast::noise() const {
  const auto index = static_cast<std::size_t>(set_index_);
  if (made_->size() <= index) made_->resize(index + 1);
  Noise& now = (*made_)[index];
  if (now.set.empty() && size() > 0) {
    Random random(seed_, static_cast<std::uint64_t>(set_index_));
    now.set.resize(size());
    now.feeling.resize(size());
    stratified_normals(now.set, random);
    stratified_normals(now.feeling, random);
  }
  return now;
}

double SessionForecast::fatigue(std::size_t draw, int lift) const {
  double sum = 0;
  for (std::size_t from = 0; from < draws_->info.size(); ++from) {
    sum += draws_->overlap[from][static_cast<std::size_t>(lift)] * stores_of(draw)[from].total();
  }
  return sum;
}

double SessionForecast::margin(std::size_t draw, int lift, double log_total_load) const {
  const LiftDraw& l = draws_->draws[draw].lifts[static_cast<std::size_t>(lift)];
  return l.log_strength - l.residual - fatigue(draw, lift) - log_total_load;
}

SetEnd SessionForecast::end_of_set(std::size_t draw, int lift, double margin, const PlannedSet& set) const {
  const Draw& d = draws_->draws[draw];
  const LiftDraw& l = d.lifts[static_cast<std::size_t>(lift)];
  const double shape = draws_->info[static_cast<std::size_t>(lift)].shape;
  const double capacity = reps_to_failure(margin + d.sigma * noise().set[draw], l.endurance, shape);
  const int whole = static_cast<int>(std::floor(std::clamp(capacity, 0.0, 1000.0)));
  if (set.to_failure) return {capacity, 0, whole, true, false, 0};
  int stop = set.reps;
  bool by_cue = false;
  if (set.cue) {
    const Cell cell = call_cell(*set.cue, false);
    const double heard = cue_stop_rep(d.judgement, capacity, cell, noise().feeling[draw]);
    if (heard < stop) {
      stop = std::max(1, static_cast<int>(heard));
      by_cue = stop < set.reps;
    }
  }
  if (stop > whole) return {capacity, 0, whole, true, false, 0};
  return {capacity, capacity - stop, stop, false, by_cue, 0};
}

SetOutcome SessionForecast::look(int lift, double log_total_load, const PlannedSet& set, double band_low,
                                 double band_high) const {
  const std::size_t n = size();
  const double shape = draws_->info[static_cast<std::size_t>(lift)].shape;
  std::vector<double> capacity(n), reserve(n), reps(n);
  SetOutcome out;
  for (std::size_t i = 0; i < n; ++i) {
    const Draw& d = draws_->draws[i];
    const double x = margin(i, lift, log_total_load);
    out.mean_margin += x;
    const SetEnd end = end_of_set(i, lift, x, set);
    capacity[i] = std::max(0.0, end.capacity);
    reserve[i] = end.reserve;
    reps[i] = end.reps;
    const double need =
        margin_for_reps(static_cast<double>(set.reps), d.lifts[static_cast<std::size_t>(lift)].endurance, shape);
    const double reach = normal_cdf((x - need) / d.sigma);
    if (set.to_failure) {
      out.p_complete += reach;
    } else if (!set.cue) {
      out.p_complete += reach;
      out.p_miss += 1 - reach;
    } else {
      out.p_complete += !end.failed && !end.by_cue ? 1 : 0;
      out.p_miss += end.failed ? 1 : 0;
      out.p_short += end.by_cue ? 1 : 0;
    }
    if (!end.failed && end.reserve >= band_low && end.reserve < band_high) out.p_band += 1;
    if (end.failed && band_low <= 0) out.p_band += 1;
  }
  const auto count = static_cast<double>(n);
  out.mean_margin /= count;
  out.p_complete /= count;
  out.p_miss /= count;
  out.p_short /= count;
  out.p_band /= count;
  out.capacity = interval_of(std::move(capacity));
  out.reserve = interval_of(std::move(reserve));
  out.reps = interval_of(std::move(reps));
  return out;
}

SetOutcome SessionForecast::perform(int lift, double log_total_load, const PlannedSet& set, double band_low,
                                    double band_high) {
  SetOutcome out = look(lift, log_total_load, set, band_low, band_high);
  advance(lift, log_total_load, set);
  return out;
}

void SessionForecast::advance(int lift, double log_total_load, const PlannedSet& set) {
  const auto l = static_cast<std::size_t>(lift);
  const double shape = draws_->info[l].shape;
  // What is written is taken as done; only cue and failure sets end where the draw ends them.
  const bool as_written = !set.cue && !set.to_failure;
  double mean_reps = 0;
  for (std::size_t i = 0; i < size(); ++i) {
    const Draw& d = draws_->draws[i];
    const double x = margin(i, lift, log_total_load);
    int reps = set.reps;
    bool failed = false;
    if (!as_written) {
      const SetEnd end = end_of_set(i, lift, x, set);
      reps = end.reps;
      failed = end.failed;
    }
    stores_of(i)[l].add(spend(x, d.lifts[l].endurance, shape, reps, failed, d.fatigue.lam, d.fatigue.rho_f), d.fatigue);
    mean_reps += reps;
  }
  rest(Minutes{mean_reps / static_cast<double>(std::max<std::size_t>(size(), 1)) * kSecondsPerRep / 60});
  ++set_index_;
}

std::vector<SetEnd> SessionForecast::play(int lift, const std::vector<double>& log_total_loads, const PlannedSet& set) {
  const auto l = static_cast<std::size_t>(lift);
  std::vector<SetEnd> ends(size());
  for (std::size_t i = 0; i < size(); ++i) {
    const Draw& d = draws_->draws[i];
    const double x = margin(i, lift, log_total_loads[i]);
    SetEnd& end = ends[i];
    end = end_of_set(i, lift, x, set);
    const auto spent =
        spend(x, d.lifts[l].endurance, draws_->info[l].shape, end.reps, end.failed, d.fatigue.lam, d.fatigue.rho_f);
    end.depletion = spent.depletion;
    stores_of(i)[l].add(spent, d.fatigue);
    rest_draw(i, end.reps * kSecondsPerRep / 60);
  }
  ++set_index_;
  return ends;
}

void SessionForecast::happened(int lift, double log_total_load, int reps, bool failed) {
  const double shape = draws_->info[static_cast<std::size_t>(lift)].shape;
  for (std::size_t i = 0; i < size(); ++i) {
    const Draw& d = draws_->draws[i];
    const LiftDraw& l = d.lifts[static_cast<std::size_t>(lift)];
    const double x = margin(i, lift, log_total_load);
    stores_of(i)[static_cast<std::size_t>(lift)].add(
        spend(x, l.endurance, shape, reps, failed, d.fatigue.lam, d.fatigue.rho_f), d.fatigue);
  }
  rest(Minutes{reps * kSecondsPerRep / 60});
  ++set_index_;
}

void SessionForecast::rest_draw(std::size_t draw, double minutes) {
  // One pair of exponentials for all lifts of the draw; FatigueStores::rest holds the formula.
  FatigueStores kept{1, 1};
  kept.rest(minutes, draws_->draws[draw].fatigue);
  FatigueStores* stores = stores_of(draw);
  for (std::size_t l = 0; l < lifts_; ++l) {
    stores[l].fast *= kept.fast;
    stores[l].slow *= kept.slow;
  }
}

void SessionForecast::rest(Minutes minutes) {
  for (std::size_t i = 0; i < size(); ++i) rest_draw(i, minutes.value);
}

double SessionForecast::mean_fatigue(int lift) const {
  double sum = 0;
  for (std::size_t i = 0; i < size(); ++i) sum += fatigue(i, lift);
  return sum / static_cast<double>(std::max<std::size_t>(size(), 1));
}

}  // namespace ullage::capacity
