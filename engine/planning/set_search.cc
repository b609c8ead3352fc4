#include "engine/planning/set_search.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>
#include <utility>

#include "engine/base/normal.h"
#include "engine/base/random.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/judgement.h"

namespace ullage::planning {
namespace {

using capacity::SessionForecast;

constexpr int kNoCue = 1 << 20;
constexpr int kLoadsAtOnce = 8;  // first pass over the loads
constexpr int kLoadsBelow = 6;   // how far a later set may drop under same_reps

// One value from each of n equally likely strata, in random order.
std::vector<double> stratified(std::size_t n, Random& random) {
  std::vector<double> out(n);
  for (std::size_t i = 0; i < n; ++i) {
    out[i] = normal_quantile((static_cast<double>(i) + random.uniform()) / static_cast<double>(n));
  }
  for (std::size_t i = n; i > 1; --i) {
    std::swap(out[i - 1], out[static_cast<std::size_t>(random.integer(0, static_cast<int>(i) - 1))]);
  }
  return out;
}

// What a family of plans allows for each set.
struct Frame {
  std::vector<int> first, later;  // loads; later empty: from the last set's load downwards
  int first_least, first_most, later_least, later_most;
  bool reps_fall = true;  // later caps not above the one before
  bool reps_fall_from_first = true;
};

struct State {
  SessionForecast forecast;
  std::vector<Step> steps;
  double sum = 0;
};

struct Branch {
  std::size_t parent;
  Step step;
  double sum;
};

class Search {
 public:
  Search(const SessionForecast& forecast, const SetScorer& scorer, int lift, const std::vector<double>& totals,
         const Aim& aim)
      : start_(forecast), scorer_(scorer), lift_(lift), totals_(totals), aim_(aim) {
    logs_.reserve(totals.size());
    for (double total : totals) logs_.push_back(std::log(total));
  }

  std::vector<SetPath> run(int keep) {
    switch (aim_.strategy) {
      case Strategy::same_load: same_load(); break;
      case Strategy::same_reps: same_reps(); break;
      case Strategy::top_set: top_set(); break;
    }
    std::sort(found_.begin(), found_.end(), [](const SetPath& a, const SetPath& b) {
      const Step &x = a.steps.front(), &y = b.steps.front(), &u = a.steps.back(), &v = b.steps.back();
      return std::tuple(-a.value, x.load, x.reps, u.load, u.reps) <
             std::tuple(-b.value, y.load, y.reps, v.load, v.reps);
    });
    if (static_cast<int>(found_.size()) > keep) found_.resize(static_cast<std::size_t>(keep));
    return std::move(found_);
  }

 private:
  int last() const { return static_cast<int>(totals_.size()) - 1; }
  double middle() const { return (aim_.least_reps + aim_.most_reps) / 2.0; }

  // Loads whose capacity now could fit reps least..most with the band, by the 10 and 90 % points of capacity.
  std::pair<int, int> range(int least, int most) const {
    const auto first_where = [&](double p, double limit) {  // first load whose quantile is below the limit
      int low = 0, high = last() + 1;
      while (low < high) {
        const int mid = (low + high) / 2;
        if (scorer_.capacity_quantile(start_, lift_, logs_[static_cast<std::size_t>(mid)], p) < limit) {
          high = mid;
        } else {
          low = mid + 1;
        }
      }
      return low;
    };
    const double low = std::max(aim_.band_low, aim_.floor);
    int from = first_where(0.1, most + std::max(aim_.band_high, low + 1));
    int to = first_where(0.9, least + low) - 1;
    from = std::clamp(from, 0, last());
    to = std::clamp(to, 0, last());
    if (aim_.load_at_most) {
      to = std::min(to, *aim_.load_at_most);
      from = std::min(from, to);
    }
    return {std::min(from, to), std::max(from, to)};
  }

  // The best path of a frame by a beam of this width; false when some set cannot be admitted.
  bool beam(const Frame& frame, std::size_t width, SetPath& best) {
    std::vector<State> states;
    states.push_back({start_, {}, 0});
    for (int s = 0; s < aim_.sets; ++s) {
      const bool failure = aim_.last_to_failure && s + 1 == aim_.sets;
      std::vector<Branch> branches;
      for (std::size_t parent = 0; parent < states.size(); ++parent) {
        branch(frame, s, failure, parent, states[parent], branches);
      }
      if (branches.empty()) return false;
      std::sort(branches.begin(), branches.end(), [](const Branch& a, const Branch& b) {
        return std::tuple(-a.sum, a.parent, a.step.load, a.step.reps) <
               std::tuple(-b.sum, b.parent, b.step.load, b.step.reps);
      });
      if (branches.size() > width) branches.resize(width);
      std::vector<State> next;
      next.reserve(branches.size());
      for (const Branch& b : branches) {
        State state = states[b.parent];
        state.steps.push_back(b.step);
        state.sum = b.sum;
        if (s + 1 < aim_.sets) {
          state.forecast.advance(lift_, logs_[static_cast<std::size_t>(b.step.load)],
                                 {b.step.reps, b.step.cue, b.step.to_failure});
          state.forecast.rest(Minutes{aim_.rest_s / 60});
        }
        next.push_back(std::move(state));
      }
      states = std::move(next);
    }
    double mean_cap = 0;
    for (const Step& step : states.front().steps) mean_cap += step.reps;
    mean_cap /= aim_.sets;
    best.value = states.front().sum / aim_.sets - kPerRepFromMiddle * std::abs(mean_cap - middle());
    best.steps = std::move(states.front().steps);
    return true;
  }

  void branch(const Frame& frame, int s, bool failure, std::size_t parent, const State& state,
              std::vector<Branch>& out) {
    std::vector<int> falling;
    const std::vector<int>* loads = s == 0 ? &frame.first : &frame.later;
    if (s > 0 && frame.later.empty()) {
      const int from = state.steps.back().load;
      for (int i = from; i >= std::max(0, from - kLoadsBelow); --i) falling.push_back(i);
      loads = &falling;
    }
    const int least = s == 0 ? frame.first_least : frame.later_least;
    int most = s == 0 ? frame.first_most : frame.later_most;
    if (s > 0 && frame.reps_fall && (s > 1 || frame.reps_fall_from_first)) {
      most = std::min(most, state.steps.back().reps);
    }
    for (int load : *loads) {
      const double log_total = logs_[static_cast<std::size_t>(load)];
      if (failure) {
        const SetScore score = scorer_.score_failure(state.forecast, lift_, log_total, aim_);
        out.push_back({parent, {load, std::max(least, most), {}, true}, state.sum + score.good});
        continue;
      }
      const int up_to =
          aim_.reps_at_most.empty() ? most : std::min(most, aim_.reps_at_most[static_cast<std::size_t>(load)]);
      if (up_to < least) continue;
      for (std::size_t c = 0; c < aim_.cues.size(); ++c) {
        const std::optional<Call>& cue = aim_.cues[c];
        const std::size_t before = out.size();
        scorer_.score(state.forecast, lift_, log_total, aim_,
                      band_high_at(aim_, totals_[static_cast<std::size_t>(load)]), cue, least, up_to, scores_);
        for (int n = least; n <= up_to; ++n) {
          const SetScore& score = scores_[static_cast<std::size_t>(n - least)];
          if (score.miss > aim_.miss_limit || score.under_floor > kFloorChance || score.under_zone > 0.5) continue;
          const double price = kPerRepAbove * score.above + kPerRepOfCap * (n - aim_.least_reps) +
                               kPerCueStep * static_cast<double>(c) +
                               (aim_.odd.empty() || !aim_.odd[static_cast<std::size_t>(load)] ? 0 : kPerOddLoad) +
                               kPerShort * std::max(0.0, score.short_of_cap - 0.5);
          out.push_back({parent, {load, n, cue, false}, state.sum + score.good - price});
        }
        if (out.size() > before) break;
      }
    }
  }

  // Tries `make(load)` over loads from..to: first spread out, then closer around the best.
  template <class Make>
  void sweep(int from, int to, Make make) {
    std::map<int, double> tried;
    const auto value = [&](int load) {
      const auto it = tried.find(load);
      if (it != tried.end()) return it->second;
      SetPath path;
      double v = -1e9;
      if (make(load, path)) {
        v = path.value;
        found_.push_back(std::move(path));
      }
      return tried[load] = v;
    };
    int stride = 1;
    while ((to - from) / stride >= kLoadsAtOnce) stride *= 2;
    int best = from;
    for (int load = from; load <= to; load += stride) {
      if (value(load) > value(best)) best = load;
    }
    while (stride > 1) {
      stride /= 2;
      for (int near : {best - stride, best + stride}) {
        if (near >= from && near <= to && value(near) > value(best)) best = near;
      }
    }
    // Nothing admitted: lighter and lighter.
    for (int down = 1; found_.empty() && from - down >= 0; down *= 2) value(from - down);
    if (found_.empty()) value(0);
  }

  void same_load() {
    const auto make = [&](int load, SetPath& path) {
      return beam({{load}, {load}, aim_.least_reps, aim_.most_reps, aim_.least_reps, aim_.most_reps}, 3, path);
    };
    if (aim_.fixed_load) {
      SetPath path;
      if (make(*aim_.fixed_load, path)) found_.push_back(std::move(path));
      return;
    }
    const auto [from, to] = range(aim_.least_reps, aim_.most_reps);
    sweep(from, to, make);
  }

  void same_reps() {
    const int least = aim_.fixed_reps.value_or(aim_.least_reps), most = aim_.fixed_reps.value_or(aim_.most_reps);
    for (int reps = least; reps <= most; ++reps) {
      auto [from, to] = range(reps, reps);
      const int step = std::max(1, (to - from + 1) / 12);
      Frame frame{{}, {}, reps, reps, reps, reps};
      for (int load = to; load >= from; load -= step) frame.first.push_back(load);
      SetPath path;
      bool admitted = beam(frame, 2, path);
      for (int down = 1; !admitted && from - down >= 0 && from > 0; down *= 2) {
        frame.first = {from - down};
        admitted = beam(frame, 2, path);
      }
      if (admitted) found_.push_back(std::move(path));
    }
  }

  void top_set() {
    const auto back_offs = [&](int top) {
      std::vector<int> loads;
      for (double share : {0.90, kBackOffHigh, 0.85, kBackOffLow}) {
        const double want = share * totals_[static_cast<std::size_t>(top)];
        const auto it = std::upper_bound(totals_.begin(), totals_.end(), want + 1e-9);
        if (it == totals_.begin()) continue;
        const int load = static_cast<int>(it - totals_.begin()) - 1;
        const bool near =
            totals_[static_cast<std::size_t>(load)] >= (kBackOffLow - 0.05) * totals_[static_cast<std::size_t>(top)];
        if (near && load < top && std::find(loads.begin(), loads.end(), load) == loads.end()) loads.push_back(load);
      }
      if (loads.empty()) loads.push_back(std::max(0, top - 1));
      return loads;
    };
    const int top_most = std::max(aim_.least_reps, static_cast<int>(middle()));
    if (aim_.fixed_load || aim_.top_load) {  // only back-offs are left
      const std::vector<int> loads = aim_.fixed_load ? std::vector<int>{*aim_.fixed_load} : back_offs(*aim_.top_load);
      for (int load : loads) {
        SetPath path;
        if (beam({{load}, {load}, aim_.least_reps, aim_.most_reps, aim_.least_reps, aim_.most_reps}, 3, path)) {
          found_.push_back(std::move(path));
        }
      }
      return;
    }
    const auto [from, to] = range(aim_.least_reps, top_most);
    sweep(from, to, [&](int top, SetPath& best) {
      bool any = false;
      for (int back : back_offs(top)) {
        SetPath path;
        Frame frame{{top}, {back}, aim_.least_reps, top_most, aim_.least_reps, aim_.most_reps, true, false};
        if (beam(frame, 1, path) && (!any || path.value > best.value)) {
          best = std::move(path);
          any = true;
        }
        if (aim_.sets == 1) break;
      }
      return any;
    });
  }

  const SessionForecast& start_;
  const SetScorer& scorer_;
  int lift_;
  const std::vector<double>& totals_;
  const Aim& aim_;
  std::vector<double> logs_;
  std::vector<SetPath> found_;
  std::vector<SetScore> scores_;
};

}  // namespace

SetScorer::SetScorer(const capacity::LifterDraws& draws, std::uint64_t seed) : draws_(&draws) {
  Random random(seed, 0x5e7);
  noise_ = stratified(draws.draws.size(), random);
  feeling_ = stratified(draws.draws.size(), random);
}

void SetScorer::score(const SessionForecast& forecast, int lift, double log_total, const Aim& aim, double band_high,
                      const std::optional<Call>& cue, int least, int most, std::vector<SetScore>& out) const {
  out.assign(static_cast<std::size_t>(most - least + 1), {});
  const double shape = draws_->info[static_cast<std::size_t>(lift)].shape;
  const capacity::Cell cell = cue ? capacity::call_cell(*cue, false) : capacity::Cell{0, 0};
  for (std::size_t i = 0; i < draws_->draws.size(); ++i) {
    const capacity::Draw& d = draws_->draws[i];
    const double margin = forecast.margin(i, lift, log_total) + d.sigma * noise_[i];
    const double reps = capacity::reps_to_failure(margin, d.lifts[static_cast<std::size_t>(lift)].endurance, shape);
    const int whole = static_cast<int>(std::floor(std::clamp(reps, 0.0, 1000.0)));
    int heard = kNoCue;
    if (cue) {
      const double stop = capacity::cue_stop_rep(d.judgement, reps, cell, feeling_[i]);
      if (stop < kNoCue) heard = std::max(1, static_cast<int>(stop));
    }
    for (int n = least; n <= most; ++n) {
      SetScore& score = out[static_cast<std::size_t>(n - least)];
      const int stop = std::min(n, heard);
      if (stop > whole) {
        score.miss += 1;
        score.under_floor += 1;
        if (whole < aim.least_reps) score.under_zone += 1;
        if (aim.band_low <= 0 && whole >= aim.least_reps) score.good += 1;
        continue;
      }
      const double reserve = reps - stop;
      if (heard < n) score.short_of_cap += 1;
      if (stop < aim.least_reps) score.under_zone += 1;
      if (reserve < aim.floor) score.under_floor += 1;
      score.above += std::max(0.0, reserve - band_high);
      if (reserve >= aim.band_low && reserve < band_high && stop >= aim.least_reps) score.good += 1;
    }
  }
  const auto n = static_cast<double>(draws_->draws.size());
  for (SetScore& s : out) {
    s.good /= n;
    s.miss /= n;
    s.above /= n;
    s.short_of_cap /= n;
    s.under_zone /= n;
    s.under_floor = aim.floor > 0 ? s.under_floor / n : 0;
  }
}

SetScore SetScorer::score_failure(const SessionForecast& forecast, int lift, double log_total, const Aim& aim) const {
  SetScore out;
  const double shape = draws_->info[static_cast<std::size_t>(lift)].shape;
  for (std::size_t i = 0; i < draws_->draws.size(); ++i) {
    const capacity::Draw& d = draws_->draws[i];
    const double margin = forecast.margin(i, lift, log_total) + d.sigma * noise_[i];
    const double reps = capacity::reps_to_failure(margin, d.lifts[static_cast<std::size_t>(lift)].endurance, shape);
    if (reps >= aim.least_reps && reps < aim.most_reps + 1) out.good += 1;
  }
  out.good /= static_cast<double>(draws_->draws.size());
  return out;
}

double SetScorer::capacity_quantile(const SessionForecast& forecast, int lift, double log_total, double p) const {
  const double shape = draws_->info[static_cast<std::size_t>(lift)].shape;
  std::vector<double> reps(draws_->draws.size());
  for (std::size_t i = 0; i < reps.size(); ++i) {
    reps[i] = capacity::reps_to_failure(forecast.margin(i, lift, log_total),
                                        draws_->draws[i].lifts[static_cast<std::size_t>(lift)].endurance, shape);
  }
  const auto at = reps.begin() + static_cast<std::ptrdiff_t>(p * static_cast<double>(reps.size() - 1));
  std::nth_element(reps.begin(), at, reps.end());
  return *at;
}

SetScorer::OnCue SetScorer::on_cue(const Call& cue, double capacity, double band_low, double band_high) const {
  OnCue out;
  std::vector<double> reserve(draws_->draws.size());
  const capacity::Cell cell = capacity::call_cell(cue, false);
  for (std::size_t i = 0; i < reserve.size(); ++i) {
    const double c = capacity + noise_[i];
    const double heard = capacity::cue_stop_rep(draws_->draws[i].judgement, c, cell, feeling_[i]);
    const double stop = std::max(1.0, std::floor(std::min(heard, c)));
    reserve[i] = heard > c ? 0 : c - stop;
    if (heard <= c && reserve[i] >= band_low && reserve[i] < band_high) out.in_band += 1;
  }
  out.in_band /= static_cast<double>(reserve.size());
  out.median = capacity::interval_of(std::move(reserve)).median;
  return out;
}

double band_high_at(const Aim& aim, double total) {
  return total < aim.light_under ? std::min(aim.band_high, aim.light_band_high) : aim.band_high;
}

std::vector<SetPath> search_sets(const SessionForecast& forecast, const SetScorer& scorer, int lift,
                                 const std::vector<double>& totals, const Aim& aim, int keep) {
  if (totals.empty()) return {};
  return Search(forecast, scorer, lift, totals, aim).run(keep);
}

}  // namespace ullage::planning
