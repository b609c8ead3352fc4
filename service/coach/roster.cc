#include "service/coach/roster.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include "engine/capacity/summary.h"
#include "service/coach/doubt.h"

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
  row.sessions = count_until(session_days(sets), today);
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

void look_at_estimate(Desk& desk, const Fitted& fitted, const library::Library& library, Date as_of, RosterRow& row) {
  const capacity::Posterior& p = fitted.posterior;
  const auto& bias = p.bias_reps;
  if (p.learned_judgement >= kMostlyAssumedBelow && (bias.median > kHasMoreReps || bias.median < -kHasLessReps) &&
      (bias.lo80 > 0.5 || bias.hi80 < -0.5)) {
    const bool more = bias.median > 0;
    row.reasons.push_back(
        {Attention::judgement,
         fmt::format("has {:.1f} reps {} than called ({:.1f}-{:.1f})", std::fabs(bias.median), more ? "more" : "less",
                     more ? bias.lo80 : -bias.hi80, more ? bias.hi80 : -bias.lo80)});
  }
  int looked = 0, assumed = 0;
  if (const auto stall = find_stall(p, library, as_of, &looked, &assumed)) {
    const double gained = std::round(1000 * stall->gained) / 10 + 0.0;  // never -0.0
    row.reasons.push_back(
        {Attention::stall, fmt::format("{} has stalled: {:+.1f} % in {} weeks", stall->name, gained, stall->weeks)});
  }
  const std::size_t suspects = suspects_of(desk, fitted).size();
  if (suspects > 0) {
    row.reasons.push_back({Attention::suspects, suspects == 1 ? fmt::format("a load looks mis-typed: {}", suspects)
                                                              : fmt::format("loads look mis-typed: {}", suspects)});
  }
  if (looked > 0 && assumed > 0) {
    row.reasons.push_back(
        {Attention::assumed, fmt::format("strength mostly assumed in {} of {} current lifts", assumed, looked)});
  }
}

}  // namespace

std::string_view attention_name(Attention attention) {
  constexpr std::string_view kNames[] = {"hold",  "pain",   "lighter",  "misses",     "judgement",
                                         "stall", "unseen", "suspects", "not fitted", "assumed"};
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

Result<RosterRow> look_at(Desk& desk, const Lifter& lifter) {
  const auto library = desk.library();
  if (!library) return tl::unexpected(library.error());
  const Date today = desk.today();
  RosterRow row;
  row.lifter = lifter;
  auto fitted = stored_estimate(desk, lifter.id);
  if (!fitted) return tl::unexpected(fitted.error());
  // An estimate is of the sets up to today, which are those looked at here.
  std::vector<store::StoredSet> read;
  if (!*fitted) {
    auto sets = desk.store().sets(lifter.id);
    if (!sets) return tl::unexpected(sets.error());
    read = std::move(*sets);
  }
  const std::vector<store::StoredSet>& sets = *fitted ? (*fitted)->sets : read;
  const auto gate = desk.gate(lifter, today, session_days(sets));
  if (!gate) return tl::unexpected(gate.error());
  for (const safety::Held& held : gate->holds) row.reasons.push_back({Attention::hold, held.reason});
  const auto health = desk.store().health(lifter.id);
  if (!health) return tl::unexpected(health.error());
  for (const safety::Pain& pain : health->pains) {
    if (pain.cleared || pain.since > today) continue;
    const Exercise* exercise = (*library)->find(pain.exercise);
    row.reasons.push_back({Attention::pain, "pain on " +
                                                (pain.exercise.empty() ? std::string("everything")
                                                 : exercise            ? exercise->name
                                                                       : pain.exercise) +
                                                " since " + date_text(pain.since)});
  }
  look_at_log(sets, today, row);
  if (!*fitted) {
    if (row.sets > 0)
      row.reasons.push_back(
          {Attention::not_fitted, fmt::format("estimates not up to date with the log's {} sets", row.sets)});
  } else if (row.sets > 0) {
    if ((*fitted)->live_sets > 0) capacity::refresh_judgement((*fitted)->posterior);
    look_at_estimate(desk, **fitted, **library, today, row);
    const auto steered = steering(desk, **fitted);
    if (!steered) return tl::unexpected(steered.error());
    for (const SteeringProposal& p : steered->open) {
      if (p.kind == SteeringKind::lighter_week)
        row.reasons.push_back({Attention::lighter, "a lighter week? " + p.brief});
    }
  }
  std::sort(row.reasons.begin(), row.reasons.end(), [](const Reason& a, const Reason& b) {
    return std::tie(a.attention, a.text) < std::tie(b.attention, b.text);
  });
  return row;
}

Result<RosterView> roster(Desk& desk) {
  RosterView view;
  view.as_of = desk.today();
  const auto lifters = desk.store().lifters();
  if (!lifters) return tl::unexpected(lifters.error());
  for (const Lifter& lifter : *lifters) {
    auto row = look_at(desk, lifter);
    if (!row) return tl::unexpected(row.error());
    view.rows.push_back(std::move(*row));
  }
  const auto rank = [](const RosterRow& r) {
    return std::make_pair(r.reasons.empty() ? 99 : static_cast<int>(r.reasons.front().attention), r.lifter.name);
  };
  std::sort(view.rows.begin(), view.rows.end(),
            [&](const RosterRow& a, const RosterRow& b) { return rank(a) < rank(b); });
  return view;
}

}  // namespace ullage::coach
