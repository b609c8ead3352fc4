#include "engine/comparing/compare.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "engine/base/random.h"
#include "engine/capacity/curve.h"
#include "engine/capacity/priors.h"
#include "engine/planning/set_search.h"

namespace ullage::comparing {
namespace {

using capacity::SessionForecast;
using capacity::SetEnd;

constexpr double kTypicalCapacity = 10;  // reps; a cue's reserve hardly depends on it
constexpr int kMostFixedReps = 60;
constexpr double kNear = 1e-9;
constexpr double kLeastPart = 0.02;  // parts of a set smaller than this are neither added nor left out

Measure measure_of(std::vector<double> values) {
  Measure out;
  for (const double value : values) out.mean += value;
  out.mean /= static_cast<double>(std::max<std::size_t>(1, values.size()));
  out.interval = capacity::interval_of(std::move(values));
  return out;
}

std::vector<double> mixed(const std::vector<double>& a, const std::vector<double>& b, double part) {
  std::vector<double> out(a.size());
  for (std::size_t i = 0; i < a.size(); ++i) out[i] = (1 - part) * a[i] + part * b[i];
  return out;
}

// What every draw has from the sets so far.
struct Sums {
  std::vector<double> reps, hard, seconds, spent, missed, lost;
  std::vector<std::vector<double>> stimulus;  // [reading][draw]

  Sums(std::size_t draws, std::size_t readings)
      : reps(draws), hard(draws), seconds(draws), spent(draws), missed(draws), lost(draws), stimulus(readings, reps) {}
};

Sums mixed(const Sums& a, const Sums& b, double part) {
  Sums out = a;
  out.reps = mixed(a.reps, b.reps, part);
  out.hard = mixed(a.hard, b.hard, part);
  out.seconds = mixed(a.seconds, b.seconds, part);
  out.spent = mixed(a.spent, b.spent, part);
  out.missed = mixed(a.missed, b.missed, part);
  out.lost = mixed(a.lost, b.lost, part);
  for (std::size_t r = 0; r < a.stimulus.size(); ++r) out.stimulus[r] = mixed(a.stimulus[r], b.stimulus[r], part);
  return out;
}

// So many sets of one way.
struct Layout {
  SessionForecast forecast;
  Sums sums;
  std::vector<WaySet> each;
};

double mean_of(const std::vector<double>& values) {
  double sum = 0;
  for (const double value : values) sum += value;
  return sum / static_cast<double>(values.size());
}

class Comparing {
 public:
  Comparing(const capacity::LifterDraws& draws, const std::vector<planning::Reading>& readings,
            const CompareRequest& request)
      : draws_(draws),
        readings_(readings),
        request_(request),
        lift_(static_cast<std::size_t>(request.lift)),
        scorer_(draws, request.seed + 0x2c0e) {
    Random random(request.seed, 0xc0);
    for (std::size_t i = 0; i < draws.draws.size(); ++i) noise_.push_back(random.normal());
  }

  Comparison run() {
    Comparison out;
    out.basis = request_.basis;
    out.by_tonnage =
        request_.basis == Basis::volume && std::any_of(request_.contenders.begin(), request_.contenders.end(),
                                                       [](const Contender& c) { return c.at_own_load; });
    // Sets are added to one way after the other until its layouts span what is asked for.
    double wanted = 0;
    if (request_.basis != Basis::sets) {
      for (const Contender& c : request_.contenders) wanted = std::max(wanted, amount(c, whole(c, count_of(c)), out));
    }
    std::vector<Sums> sums;
    std::vector<std::vector<double>> tonnage;
    for (const Contender& c : request_.contenders) {
      WayResult way;
      way.key = c.way.key;
      way.name = c.way.name;
      sums.push_back(settle(c, wanted, out, way));
      tonnage.push_back(tonnage_of(c, sums.back()));
      way.outcome = outcome(sums.back(), tonnage.back(), nullptr, nullptr);
      way.p_miss = mean_of(sums.back().missed);
      out.against_first.push_back(outcome(sums.back(), tonnage.back(), &sums.front(), &tonnage.front()));
      out.ways.push_back(std::move(way));
    }
    return out;
  }

 private:
  int count_of(const Contender& c) const { return c.way.own_count().value_or(request_.sets); }

  std::vector<double> tonnage_of(const Contender& c, const Sums& sums) const {
    std::vector<double> out(sums.reps.size());
    for (std::size_t i = 0; i < out.size(); ++i) out[i] = sums.reps[i] * std::exp(c.log_total_loads[i]);
    return out;
  }

  // What the basis holds equal, expected.
  double amount(const Contender& c, const Layout& layout, const Comparison& comparison) const {
    if (request_.basis == Basis::minutes) return mean_of(layout.sums.seconds) / 60;
    return mean_of(comparison.by_tonnage ? tonnage_of(c, layout.sums) : layout.sums.reps);
  }

  Layout none() const {
    return {SessionForecast(draws_, request_.seed), Sums(draws_.draws.size(), readings_.size()), {}};
  }

  Layout whole(const Contender& c, int count) {
    Layout layout = none();
    for (int k = 0; k < count; ++k) add(c, c.way.end_of(k, count), layout);
    return layout;
  }

  // Plays the way so that it brings what is wanted, the last set perhaps in part.
  Sums settle(const Contender& c, double wanted, const Comparison& comparison, WayResult& way) {
    int count = count_of(c);
    Layout now = whole(c, count);
    if (request_.basis == Basis::sets) {
      way.sets = count;
      way.each = std::move(now.each);
      return std::move(now.sums);
    }
    double have = amount(c, now, comparison);
    while (have < wanted * (1 - kNear)) {
      if (count == kMostSetsOfWay) {
        way.reached = false;
        break;
      }
      Layout next = whole(c, count + 1);
      const double more = amount(c, next, comparison);
      if (more >= wanted * (1 - kNear)) {
        const double part = std::clamp((wanted - have) / std::max(more - have, kNear), 0.0, 1.0);
        if (part < kLeastPart) break;
        if (part > 1 - kLeastPart) {
          ++count;
          now = std::move(next);
          break;
        }
        way.sets = count + part;
        way.each = std::move(next.each);
        way.each.back().share = part;
        return mixed(now.sums, next.sums, part);
      }
      ++count;
      now = std::move(next);
      have = more;
    }
    way.sets = count;
    way.each = std::move(now.each);
    return std::move(now.sums);
  }

  // The cue that leaves this reserve most often; empty: even a call of 0 leaves more.
  std::optional<Call> cue_for(int reserve) {
    if (const auto known = cues_.find(reserve); known != cues_.end()) return known->second;
    const auto on = [&](int called) {
      return scorer_.on_cue({static_cast<double>(called), false}, kTypicalCapacity, reserve, reserve + 1);
    };
    std::optional<Call> best;
    if (on(0).median < reserve + 1) {
      double in_band = -1;
      for (int called = 0; called <= kMostReserve; ++called) {
        const double now = on(called).in_band;
        if (now <= in_band + kNear) continue;
        in_band = now;
        best = Call{static_cast<double>(called), false};
      }
    }
    return cues_[reserve] = best;
  }

  // Reps fixed beforehand that leave this reserve most often.
  int reps_for(const Contender& c, const SessionForecast& forecast, int reserve) const {
    std::vector<double> capacity(noise_.size());
    for (std::size_t i = 0; i < capacity.size(); ++i) {
      const capacity::Draw& d = draws_.draws[i];
      capacity[i] =
          capacity::reps_to_failure(forecast.margin(i, request_.lift, c.log_total_loads[i]) + d.sigma * noise_[i],
                                    d.lifts[lift_].endurance, draws_.info[lift_].shape);
    }
    int best = 1, most = -1;
    for (int reps = 1; reps <= kMostFixedReps; ++reps) {
      const auto hits = static_cast<int>(std::count_if(capacity.begin(), capacity.end(), [&](double reached) {
        return reached - reps >= reserve && reached - reps < reserve + 1;
      }));
      if (hits <= most) continue;
      most = hits;
      best = reps;
    }
    return best;
  }

  void add(const Contender& c, const std::optional<int>& reserve, Layout& layout) {
    if (!layout.each.empty()) layout.forecast.rest(Minutes{request_.rest_s / 60});
    WaySet set;
    set.reserve = reserve;
    capacity::PlannedSet planned;
    planned.to_failure = !reserve;
    if (reserve) {
      set.cue = cue_for(*reserve);
      if (!set.cue) set.fixed_reps = reps_for(c, layout.forecast, *reserve);
      planned.cue = set.cue;
      planned.reps = set.cue ? 1000 : set.fixed_reps;
    }
    const std::vector<SetEnd> ends = layout.forecast.play(request_.lift, c.log_total_loads, planned);
    Sums& sums = layout.sums;
    std::vector<double> reps, capacities, left;
    for (std::size_t i = 0; i < ends.size(); ++i) {
      const SetEnd& end = ends[i];
      reps.push_back(end.reps);
      capacities.push_back(std::max(0.0, end.capacity));
      left.push_back(end.reserve);
      sums.reps[i] += end.reps;
      sums.hard[i] += end.reserve < request_.hard_below ? 1 : 0;
      sums.seconds[i] += end.reps * capacity::kSecondsPerRep + (layout.each.empty() ? 0 : request_.rest_s);
      sums.spent[i] += end.depletion;
      if (reserve && end.failed) {
        sums.missed[i] = 1;
        set.p_miss += 1;
      }
      for (std::size_t r = 0; r < readings_.size(); ++r) sums.stimulus[r][i] += readings_[r].stimulus(i, end.reserve);
      sums.lost[i] = layout.forecast.fatigue(i, request_.lift);
    }
    set.p_miss /= static_cast<double>(ends.size());
    set.reps = capacity::interval_of(std::move(reps));
    set.capacity = capacity::interval_of(std::move(capacities));
    set.true_reserve = capacity::interval_of(std::move(left));
    layout.each.push_back(std::move(set));
  }

  // Of one way, or of one way less another.
  Outcome outcome(const Sums& sums, const std::vector<double>& tonnage, const Sums* less,
                  const std::vector<double>* less_tonnage) const {
    const auto of = [&](const std::vector<double>& a, const std::vector<double>* b, double factor = 1) {
      std::vector<double> out(a.size());
      for (std::size_t i = 0; i < a.size(); ++i) out[i] = factor * (a[i] - (b ? (*b)[i] : 0));
      return measure_of(std::move(out));
    };
    Outcome out;
    out.total_reps = of(sums.reps, less ? &less->reps : nullptr);
    out.tonnage_kg = of(tonnage, less_tonnage);
    out.hard_sets = of(sums.hard, less ? &less->hard : nullptr);
    out.minutes = of(sums.seconds, less ? &less->seconds : nullptr, 1.0 / 60);
    out.margin_lost_end = of(sums.lost, less ? &less->lost : nullptr);
    std::vector<double> residual(sums.spent.size());
    for (std::size_t i = 0; i < residual.size(); ++i) {
      residual[i] = capacity::residual_after(1, sums.spent[i] - (less ? less->spent[i] : 0), draws_.draws[i].a_day);
    }
    out.residual_24h = measure_of(std::move(residual));
    for (std::size_t r = 0; r < readings_.size(); ++r) {
      out.stimulus.push_back(of(sums.stimulus[r], less ? &less->stimulus[r] : nullptr));
    }
    return out;
  }

  const capacity::LifterDraws& draws_;
  const std::vector<planning::Reading>& readings_;
  const CompareRequest& request_;
  std::size_t lift_;
  planning::SetScorer scorer_;
  std::vector<double> noise_;
  std::map<int, std::optional<Call>> cues_;
};

Result<void> check(const capacity::LifterDraws& draws, const CompareRequest& request) {
  std::string faults;
  const auto fault = [&](const std::string& text) { faults += (faults.empty() ? "" : "\n") + text; };
  if (draws.draws.empty()) fault("estimate: there are no draws to compare on");
  if (request.lift < 0 || static_cast<std::size_t>(request.lift) >= draws.info.size()) fault("lift: not in the draws");
  if (request.contenders.empty()) fault("strategies: at least one was expected");
  if (request.sets < 1 || request.sets > kMostSetsOfWay) fault("sets: 1 to 20 were expected");
  if (!(request.rest_s >= 0 && request.rest_s <= 3600)) fault("rest: 0 to 3600 s was expected");
  for (const Contender& c : request.contenders) {
    if (c.way.ends.empty()) fault("strategy \"" + c.way.key + "\": it names no sets");
    if (c.log_total_loads.size() != draws.draws.size() ||
        !std::all_of(c.log_total_loads.begin(), c.log_total_loads.end(), [](double x) { return std::isfinite(x); })) {
      fault("strategy \"" + c.way.key + "\": a total load above 0 was expected for each draw");
    }
    if (const auto own = c.way.own_count(); own && request.basis == Basis::sets && *own != request.sets) {
      fault("strategy \"" + c.way.key + "\": it lists " + std::to_string(*own) + " sets where " +
            std::to_string(request.sets) + " are compared; ask for " + std::to_string(*own) +
            " sets, or for equal volume or minutes");
    }
  }
  if (!faults.empty()) return fail(Code::invalid_input, faults);
  return {};
}

}  // namespace

std::string_view basis_name(Basis basis) {
  constexpr std::string_view kNames[] = {"equal sets", "equal volume", "equal minutes"};
  return kNames[static_cast<std::size_t>(basis)];
}

std::optional<Basis> parse_basis(std::string_view text) {
  for (const Basis basis : {Basis::sets, Basis::volume, Basis::minutes}) {
    if (text == basis_name(basis).substr(6)) return basis;
  }
  return std::nullopt;
}

Result<Comparison> compare(const capacity::LifterDraws& draws, const std::vector<planning::Reading>& readings,
                           const CompareRequest& request) {
  if (const auto checked = check(draws, request); !checked) return tl::unexpected(checked.error());
  return Comparing(draws, readings, request).run();
}

}  // namespace ullage::comparing
