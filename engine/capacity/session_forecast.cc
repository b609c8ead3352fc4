#include "engine/capacity/session_forecast.h"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "engine/base/lanes.h"
#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/capacity/lane_formulas.h"

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
  for (int i = 0; i < n; ++i) out[static_cast<std::size_t>(i)] = (i + random.uniform()) / n;
  normal_quantiles(out.data(), static_cast<std::size_t>(n));
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

namespace {

// A column of one number of each draw, filled up to whole lanes.
template <class Of>
void fill(std::vector<double>& out, const LifterDraws& draws, std::size_t stride, Of&& of) {
  const std::size_t from = out.size();
  out.resize(from + stride, 1);
  for (std::size_t i = 0; i < stride && !draws.draws.empty(); ++i) {
    out[from + i] = of(draws.draws[std::min(i, draws.draws.size() - 1)]);
  }
}

ULLAGE_INLINE void store(double* at, const Lanes& four) { std::memcpy(at, &four, sizeof four); }
// 1 where all bits are set.
ULLAGE_INLINE Lanes flag(const LaneBits& mask) { return mask ? lanes(1) : lanes(0); }

}  // namespace

// The loops over draws, on plain columns.
struct ForecastLoops {
  using Columns = SessionForecast::Columns;

  // margin: in, before set noise. out: capacity, reserve, reps and flags of the set's end.
  ULLAGE_WIDE static void ends(const Columns& c, std::size_t lift, double shape, const PlannedSet& set,
                               const double* noise, const double* feeling, SessionForecast::Ends& out) {
    const double* endurance = &c.endurance[lift * c.stride];
    const bool cue = set.cue && !set.to_failure;
    const Cell cell = cue ? call_cell(*set.cue, false) : Cell{0, 0};
    const double cue_high = cell.high;
    const Lanes cap = lanes(set.reps);
    for (std::size_t i = 0; i < c.stride; i += kLanes) {
      const Lanes margin = lanes_from(&out.margin[i]) + lanes_from(&c.sigma[i]) * lanes_from(noise + i);
      const Lanes capacity = reps_to_failure(margin, lanes_from(endurance + i), shape);
      const Lanes whole = whole_below(smaller(larger(capacity, lanes(0)), lanes(1000)));
      store(&out.capacity[i], capacity);
      if (set.to_failure) {
        store(&out.reserve[i], lanes(0));
        store(&out.reps[i], whole);
        store(&out.failed[i], lanes(1));
        store(&out.by_cue[i], lanes(0));
        continue;
      }
      Lanes stop = cap;
      LaneBits by_cue = stop < stop;
      if (cue && c.each_rep) {
        for (int lane = 0; lane < kLanes; ++lane) {
          const std::size_t d = i + static_cast<std::size_t>(lane);
          const Judgement j{c.bias[d], c.gain[d], c.spread[d], c.spread_rise[d], c.cue_shift[d], true};
          stop[lane] = std::min(cap[lane], cue_stop_rep(j, capacity[lane], cell, feeling[d]));
        }
        by_cue = stop < cap;
      } else if (cue) {  // judgement.h, cue_stop_rep
        const Lanes z = lanes_from(feeling + i);
        const Lanes slope = lanes_from(&c.gain[i]) + lanes_from(&c.spread_rise[i]) * z;
        const Lanes level =
            cue_high + lanes_from(&c.bias[i]) + lanes_from(&c.cue_shift[i]) - lanes_from(&c.spread[i]) * z;
        const LaneBits flat = slope <= 1e-3;  // feels the same all along
        const Lanes left = smaller(larger(capacity - level / (flat ? lanes(1) : slope), lanes(-2)), lanes(1e6));
        const Lanes ever = larger(whole_above(left), lanes(0));
        const Lanes never = level >= 0 ? lanes(0) : whole_above(smaller(larger(capacity, lanes(-2)), lanes(1e6)));
        const Lanes heard = flat ? never : ever;
        stop = heard < cap ? larger(heard, lanes(1)) : cap;
        by_cue = stop < cap;
      }
      const LaneBits failed = stop > whole;
      store(&out.reserve[i], failed ? lanes(0) : capacity - stop);
      store(&out.reps[i], failed ? whole : stop);
      store(&out.failed[i], flag(failed));
      store(&out.by_cue[i], failed ? lanes(0) : flag(by_cue));
    }
  }

  // Adds what the set spends in each draw.
  ULLAGE_WIDE static void spend_all(const Columns& c, std::size_t lift, double shape, const SessionForecast::Ends& ends,
                                    double* fast, double* slow, double* depletion) {
    const double* endurance = &c.endurance[lift * c.stride];
    for (std::size_t i = 0; i < c.stride; i += kLanes) {
      const SpentLanes spent =
          spend(lanes_from(&ends.margin[i]), lanes_from(endurance + i), shape, lanes_from(&ends.reps[i]),
                lanes_from(&ends.failed[i]) > 0, lanes_from(&c.lam[i]), lanes_from(&c.rho_f[i]));
      store(fast + i, lanes_from(fast + i) + lanes_from(&c.a_fast[i]) * spent.depletion);
      store(slow + i, lanes_from(slow + i) + lanes_from(&c.a_slow[i]) * spent.slow);
      if (depletion) store(depletion + i, spent.depletion);
    }
  }

  // What is kept of each store after so many minutes in each draw.
  ULLAGE_WIDE static void keep(const Columns& c, const double* minutes, double* fast, double* slow) {
    for (std::size_t i = 0; i < c.stride; i += kLanes) {
      const Lanes gone = -lanes_from(minutes + i);
      store(fast + i, exp(gone * lanes_from(&c.by_tau_fast[i])));
      store(slow + i, exp(gone * lanes_from(&c.by_tau_slow[i])));
    }
  }
};

SessionForecast::SessionForecast(const LifterDraws& draws, std::uint64_t seed)
    : draws_(&draws),
      lifts_(draws.info.size()),
      worked_(draws.info.size(), false),
      seed_(seed),
      made_(std::make_shared<std::vector<Noise>>()) {
  const auto columns = std::make_shared<Columns>();
  Columns& c = *columns;
  const std::size_t stride = c.stride = (draws.draws.size() + kLanes - 1) / kLanes * kLanes;
  fill(c.sigma, draws, stride, [](const Draw& d) { return d.sigma; });
  fill(c.a_fast, draws, stride, [](const Draw& d) { return d.fatigue.a_fast; });
  fill(c.a_slow, draws, stride, [](const Draw& d) { return d.fatigue.a_slow; });
  fill(c.lam, draws, stride, [](const Draw& d) { return d.fatigue.lam; });
  fill(c.rho_f, draws, stride, [](const Draw& d) { return d.fatigue.rho_f; });
  fill(c.by_tau_fast, draws, stride, [](const Draw& d) { return 1 / d.fatigue.tau_fast; });
  fill(c.by_tau_slow, draws, stride, [](const Draw& d) { return 1 / d.fatigue.tau_slow; });
  fill(c.bias, draws, stride, [](const Draw& d) { return d.judgement.bias; });
  fill(c.gain, draws, stride, [](const Draw& d) { return d.judgement.gain; });
  fill(c.spread, draws, stride, [](const Draw& d) { return d.judgement.spread; });
  fill(c.spread_rise, draws, stride, [](const Draw& d) { return d.judgement.spread_rise; });
  fill(c.cue_shift, draws, stride, [](const Draw& d) { return d.judgement.cue_shift; });
  c.each_rep = !draws.draws.empty() && draws.draws.front().judgement.each_rep;
  for (std::size_t l = 0; l < lifts_; ++l) {
    fill(c.ready, draws, stride, [&](const Draw& d) { return d.lifts[l].log_strength - d.lifts[l].residual; });
    fill(c.endurance, draws, stride, [&](const Draw& d) { return d.lifts[l].endurance; });
  }
  columns_ = columns;
  fast_.assign(lifts_ * stride, 0);
  slow_.assign(lifts_ * stride, 0);
}

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
    now.set.resize(columns_->stride, 0);
    now.feeling.resize(columns_->stride, 0);
  }
  return now;
}

double SessionForecast::fatigue(std::size_t draw, int lift) const {
  double sum = 0;
  for (std::size_t from = 0; from < lifts_; ++from) {
    if (!worked_[from]) continue;
    sum +=
        draws_->overlap[from][static_cast<std::size_t>(lift)] * (fast_[place(from, draw)] + slow_[place(from, draw)]);
  }
  return sum;
}

double SessionForecast::margin(std::size_t draw, int lift, double log_total_load) const {
  return columns_->ready[place(static_cast<std::size_t>(lift), draw)] - fatigue(draw, lift) - log_total_load;
}

// log_total_loads: of each draw, or one for all.
SessionForecast::Ends SessionForecast::ends_of(int lift, const std::vector<double>& log_total_loads,
                                               const PlannedSet& set) const {
  const auto l = static_cast<std::size_t>(lift);
  const std::size_t stride = columns_->stride;
  Ends out;
  for (std::vector<double>* column : {&out.margin, &out.capacity, &out.reserve, &out.reps, &out.failed, &out.by_cue}) {
    column->resize(stride);
  }
  std::vector<double> tired(stride, 0);
  for (std::size_t from = 0; from < lifts_; ++from) {
    if (!worked_[from]) continue;
    const double share = draws_->overlap[from][l];
    const double* fast = &fast_[from * stride];
    const double* slow = &slow_[from * stride];
    for (std::size_t i = 0; i < stride; ++i) tired[i] += share * (fast[i] + slow[i]);
  }
  const double* ready = &columns_->ready[l * stride];
  const std::size_t last = log_total_loads.size() - 1;
  for (std::size_t i = 0; i < stride; ++i) out.margin[i] = ready[i] - tired[i] - log_total_loads[std::min(i, last)];
  if (stride > 0) {
    const Noise& z = noise();
    ForecastLoops::ends(*columns_, l, draws_->info[l].shape, set, z.set.data(), z.feeling.data(), out);
  }
  return out;
}

void SessionForecast::spend_set(int lift, const Ends& ends, std::vector<double>* depletion) {
  const auto l = static_cast<std::size_t>(lift);
  if (depletion) depletion->resize(columns_->stride);
  worked_[l] = true;
  ForecastLoops::spend_all(*columns_, l, draws_->info[l].shape, ends, fast_.data() + place(l, 0),
                           slow_.data() + place(l, 0), depletion ? depletion->data() : nullptr);
}

SetOutcome SessionForecast::outcome_of(int lift, Ends&& ends, const PlannedSet& set, double band_low,
                                       double band_high) const {
  const std::size_t n = size();
  const double shape = draws_->info[static_cast<std::size_t>(lift)].shape;
  SetOutcome out;
  double failed = 0, by_cue = 0;
  for (std::size_t i = 0; i < n; ++i) {
    out.mean_margin += ends.margin[i];
    failed += ends.failed[i];
    by_cue += ends.by_cue[i];
    if (ends.failed[i] > 0 ? band_low <= 0 : ends.reserve[i] >= band_low && ends.reserve[i] < band_high) {
      out.p_band += 1;
    }
    ends.capacity[i] = std::max(0.0, ends.capacity[i]);
  }
  const auto count = static_cast<double>(n);
  if (set.cue && !set.to_failure) {
    out.p_complete = count - failed - by_cue;
    out.p_miss = failed;
    out.p_short = by_cue;
  } else {
    for (std::size_t i = 0; i < n; ++i) {
      const double need = margin_for_reps(static_cast<double>(set.reps),
                                          columns_->endurance[place(static_cast<std::size_t>(lift), i)], shape);
      out.p_complete += normal_cdf((ends.margin[i] - need) / columns_->sigma[i]);
    }
    if (!set.to_failure) out.p_miss = count - out.p_complete;
  }
  out.mean_margin /= count;
  out.p_complete /= count;
  out.p_miss /= count;
  out.p_short /= count;
  out.p_band /= count;
  for (std::vector<double>* column : {&ends.capacity, &ends.reserve, &ends.reps}) column->resize(n);
  out.capacity = interval_of(std::move(ends.capacity));
  out.reserve = interval_of(std::move(ends.reserve));
  out.reps = interval_of(std::move(ends.reps));
  return out;
}

SetOutcome SessionForecast::look(int lift, double log_total_load, const PlannedSet& set, double band_low,
                                 double band_high) const {
  return outcome_of(lift, ends_of(lift, {log_total_load}, set), set, band_low, band_high);
}

SetOutcome SessionForecast::perform(int lift, double log_total_load, const PlannedSet& set, double band_low,
                                    double band_high) {
  Ends ends = ends_of(lift, {log_total_load}, set);
  finish(lift, ends, set);
  return outcome_of(lift, std::move(ends), set, band_low, band_high);
}

void SessionForecast::advance(int lift, double log_total_load, const PlannedSet& set) {
  Ends ends = ends_of(lift, {log_total_load}, set);
  finish(lift, ends, set);
}

void SessionForecast::finish(int lift, const Ends& ends, const PlannedSet& set) {
  const double count = static_cast<double>(std::max<std::size_t>(size(), 1));
  double mean_reps = 0;
  if (set.cue || set.to_failure) {
    for (std::size_t i = 0; i < size(); ++i) mean_reps += ends.reps[i];
    mean_reps /= count;
    spend_set(lift, ends);
  } else {  // what is written is taken as done
    Ends written;
    written.margin = ends.margin;
    written.reps.assign(columns_->stride, set.reps);
    written.failed.assign(columns_->stride, 0);
    mean_reps = size() > 0 ? set.reps : 0;
    spend_set(lift, written);
  }
  rest(Minutes{mean_reps * kSecondsPerRep / 60});
  ++set_index_;
}

std::vector<SetEnd> SessionForecast::play(int lift, const std::vector<double>& log_total_loads, const PlannedSet& set) {
  const Ends ends = ends_of(lift, log_total_loads, set);
  std::vector<double> depletion;
  spend_set(lift, ends, &depletion);
  std::vector<SetEnd> out(size());
  std::vector<double> minutes(columns_->stride);
  for (std::size_t i = 0; i < minutes.size(); ++i) minutes[i] = ends.reps[i] * kSecondsPerRep / 60;
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i] = {ends.capacity[i],   ends.reserve[i],    static_cast<int>(ends.reps[i]),
              ends.failed[i] > 0, ends.by_cue[i] > 0, depletion[i]};
  }
  rest_each(minutes);
  ++set_index_;
  return out;
}

void SessionForecast::happened(int lift, double log_total_load, int reps, bool failed) {
  Ends ends;
  ends.margin.resize(columns_->stride);
  for (std::size_t i = 0; i < ends.margin.size(); ++i) ends.margin[i] = margin(i, lift, log_total_load);
  ends.reps.assign(columns_->stride, reps);
  ends.failed.assign(columns_->stride, failed ? 1 : 0);
  spend_set(lift, ends);
  rest(Minutes{reps * kSecondsPerRep / 60});
  ++set_index_;
}

void SessionForecast::rest_each(const std::vector<double>& minutes) {
  // One pair of exponentials for all lifts of a draw; FatigueStores::rest holds the formula.
  const std::size_t stride = columns_->stride;
  std::vector<double> fast(stride), slow(stride);
  ForecastLoops::keep(*columns_, minutes.data(), fast.data(), slow.data());
  for (std::size_t l = 0; l < lifts_; ++l) {
    if (!worked_[l]) continue;
    for (std::size_t i = 0; i < stride; ++i) fast_[place(l, i)] *= fast[i];
    for (std::size_t i = 0; i < stride; ++i) slow_[place(l, i)] *= slow[i];
  }
}

void SessionForecast::rest(Minutes minutes) { rest_each(std::vector<double>(columns_->stride, minutes.value)); }

double SessionForecast::mean_fatigue(int lift) const {
  double sum = 0;
  for (std::size_t i = 0; i < size(); ++i) sum += fatigue(i, lift);
  return sum / static_cast<double>(std::max<std::size_t>(size(), 1));
}

}  // namespace ullage::capacity
