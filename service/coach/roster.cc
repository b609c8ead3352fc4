#include "service/coach/roster.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace ullage::coach {
namespace {

void look_at_log(const std::vector<store::StoredSet>& sets, Date today, RosterRow& row) {
  int planned = 0, missed = 0;
  for (const store::StoredSet& s : sets) {
    if (s.set.date > today) continue;
    row.last_session = s.set.date;
    ++row.sets;
    if (s.set.kind != SetKind::work || !s.set.planned_reps || today - s.set.date > kMissWindowDays) continue;
    ++planned;
    if (s.set.failed && s.set.reps < *s.set.planned_reps) ++missed;
  }
  row.sessions = session_count(sets, today);
  if (missed >= 3 && at_least(missed, planned, kMissesExpected) < kMissesChance) {
    row.reasons.push_back(
        {Attention::misses, fmt::format("missed {} of {} planned sets in {} days; about {:.0f} would be usual", missed,
                                        planned, kMissWindowDays, kMissesExpected * planned)});
  }
  if (row.last_session && today - *row.last_session > kUnseenDays) {
    row.reasons.push_back({Attention::unseen, fmt::format("no session for {} days, last {}", today - *row.last_session,
                                                          date_text(*row.last_session))});
  }
  if (!row.last_session) row.reasons.push_back({Attention::unseen, "no sets in the log yet: 0 sessions"});
}

void look_at_estimate(const EstimateView& view, RosterRow& row) {
  const capacity::Posterior& p = view.posterior;
  const auto& bias = p.bias_reps;
  if (p.learned_judgement >= kMostlyAssumedBelow && std::fabs(bias.median) > kJudgementOffReps &&
      (bias.lo80 > 0.5 || bias.hi80 < -0.5)) {
    row.reasons.push_back(
        {Attention::judgement,
         fmt::format("{} in reserve than called: by {:.1f} reps ({:.1f} to {:.1f})",
                     bias.median > 0 ? "has more" : "has less", std::fabs(bias.median),
                     bias.median > 0 ? bias.lo80 : -bias.hi80, bias.median > 0 ? bias.hi80 : -bias.lo80)});
  }
  // Stalls of the lifts done most, and still done.
  int looked = 0, assumed = 0;
  const LiftEstimate* stalled = nullptr;
  int days = 0;
  double percent = 0;
  for (const LiftEstimate& lift : view.lifts) {
    if (view.as_of - lift.summary.last > kMissWindowDays) continue;
    if (++looked > 4) break;
    assumed += lift.assumed;
    const auto& trend = lift.summary.trend_pct_per_week;
    if (stalled || lift.summary.sets_used < kStallSets || lift.summary.history.empty()) continue;
    // The estimate of kStallDays ago against the last one.
    const auto& history = lift.summary.history;
    const auto then = std::find_if(history.rbegin(), history.rend(), [&](const capacity::StrengthPoint& point) {
      return lift.summary.last - point.date >= kStallDays;
    });
    if (then == history.rend()) continue;
    const double gained = lift.summary.strength.median / then->median - 1;
    if (gained <= kStallGain && trend.lo80 <= 0 && trend.median <= kStallPctPerWeek) {
      stalled = &lift;
      days = lift.summary.last - then->date;
      percent = 100 * gained;
    }
  }
  if (stalled) {
    const auto& trend = stalled->summary.trend_pct_per_week;
    row.reasons.push_back(
        {Attention::stall,
         fmt::format("{} has stalled: {:+.1f} % in {} weeks, now {:+.1f} % a week ({:+.1f} to {:+.1f})", stalled->name,
                     percent, days / 7, trend.median, trend.lo80, trend.hi80)});
  }
  if (!view.suspects.empty()) {
    row.reasons.push_back(
        {Attention::suspects,
         fmt::format("{} looks mis-typed: {}", view.suspects.size() == 1 ? "a load" : "loads", view.suspects.size())});
  }
  if (looked > 0 && assumed > 0) {
    row.reasons.push_back({Attention::assumed, fmt::format("strength mostly assumed in {} of {} current lifts", assumed,
                                                           std::min(looked, 4))});
  }
}

}  // namespace

std::string_view attention_name(Attention attention) {
  constexpr std::string_view kNames[] = {"hold",   "pain",     "misses",     "stall",  "judgement",
                                         "unseen", "suspects", "not fitted", "assumed"};
  return kNames[static_cast<std::size_t>(attention)];
}

double at_least(int k, int n, double p) {
  double sum = 0;
  for (int i = k; i <= n; ++i) {
    sum += std::exp(std::lgamma(n + 1.0) - std::lgamma(i + 1.0) - std::lgamma(n - i + 1.0) + i * std::log(p) +
                    (n - i) * std::log1p(-p));
  }
  return sum;
}

Result<RosterView> roster(Desk& desk) {
  RosterView view;
  view.as_of = desk.today();
  const auto lifters = desk.store().lifters();
  if (!lifters) return tl::unexpected(lifters.error());
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  for (const Lifter& lifter : *lifters) {
    RosterRow row;
    row.lifter = lifter;
    const auto sets = desk.store().sets(lifter.id);
    if (!sets) return tl::unexpected(sets.error());
    const auto gate = desk.gate(lifter, view.as_of, *sets);
    if (!gate) return tl::unexpected(gate.error());
    for (const safety::Held& held : gate->holds) row.reasons.push_back({Attention::hold, held.reason});
    const auto health = desk.store().health(lifter.id);
    if (!health) return tl::unexpected(health.error());
    for (const safety::Pain& pain : health->pains) {
      if (pain.cleared || pain.since > view.as_of) continue;
      const Exercise* exercise = (*library)->find(pain.exercise);
      row.reasons.push_back({Attention::pain, "pain on " +
                                                  (pain.exercise.empty() ? std::string("everything")
                                                   : exercise            ? exercise->name
                                                                         : pain.exercise) +
                                                  " since " + date_text(pain.since)});
    }
    look_at_log(*sets, view.as_of, row);
    const auto fitted = is_fitted(desk, lifter);
    if (!fitted) return tl::unexpected(fitted.error());
    if (!*fitted) {
      if (row.sets > 0)
        row.reasons.push_back(
            {Attention::not_fitted, fmt::format("estimates not up to date with the log's {} sets", row.sets)});
    } else if (row.sets > 0) {
      const auto estimated = estimate(desk, lifter.id);
      if (!estimated) return tl::unexpected(estimated.error());
      look_at_estimate(*estimated, row);
    }
    std::stable_sort(row.reasons.begin(), row.reasons.end(),
                     [](const Reason& a, const Reason& b) { return a.attention < b.attention; });
    view.rows.push_back(std::move(row));
  }
  std::stable_sort(view.rows.begin(), view.rows.end(), [](const RosterRow& a, const RosterRow& b) {
    const auto rank = [](const RosterRow& r) {
      return r.reasons.empty() ? 99 : static_cast<int>(r.reasons.front().attention);
    };
    return rank(a) < rank(b);
  });
  return view;
}

}  // namespace ullage::coach
