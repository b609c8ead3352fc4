#include "service/coach/lift_view.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/capacity/curve.h"

namespace ullage::coach {
double left_at_call(const capacity::Posterior& posterior, double called) {
  const auto& points = posterior.at_called;
  if (points.empty()) return called;
  if (called <= points.front().called) return points.front().true_reserve.median;
  for (std::size_t i = 1; i < points.size(); ++i) {
    if (called > points[i].called) continue;
    const double share = (called - points[i - 1].called) / (points[i].called - points[i - 1].called);
    return points[i - 1].true_reserve.median +
           share * (points[i].true_reserve.median - points[i - 1].true_reserve.median);
  }
  return points.back().true_reserve.median + called - points.back().called;
}

Result<LiftView> lift_view(Desk& desk, const Fitted& fitted, const std::string& exercise_text, Side side,
                           std::optional<Date> from, std::size_t most) {
  const auto exercise = desk.exercise(exercise_text);
  if (!exercise) return tl::unexpected(exercise.error());
  auto view = view_of(desk, fitted);
  if (!view) return tl::unexpected(view.error());
  LiftView out;
  out.lifter = view->lifter;
  const auto lift = std::find_if(view->lifts.begin(), view->lifts.end(), [&](const LiftEstimate& l) {
    return l.summary.exercise == (*exercise)->id && l.summary.side == side;
  });
  if (lift == view->lifts.end()) {
    return fail(Code::not_found, out.lifter.name + " has no sets of " + (*exercise)->name +
                                     (side == Side::both ? "" : " on the " + std::string(side_name(side)) + " side"));
  }
  out.estimate = *lift;
  const double k = lift->summary.endurance.median, p = lift->summary.shape;
  for (const store::StoredSet& s : fitted.sets) {
    if (s.set.exercise != (*exercise)->id || s.set.side != side) continue;
    if (from && s.set.date < *from) {
      ++out.left_out;
      continue;
    }
    SetReading reading;
    reading.set = s;
    const double mass =
        s.set.body_mass ? kilograms(*s.set.body_mass).value : body_mass_on(out.lifter, s.set.date).value_or(75);
    const double load = total_load(**exercise, s.set.load, mass);
    const bool tells = s.set.kind != SetKind::warmup && s.set.extra_kind == ExtraKind::none && load > 0 &&
                       s.set.reps + (s.set.failed ? 0 : 1) > 0;
    if (tells) {
      const bool failed = s.set.failed || s.set.stop == Stop::failed;
      double left = 0;
      if (failed)
        left = 0.5;
      else if (s.set.called)
        left = std::max(0.0, left_at_call(fitted.posterior, s.set.called->reserve));
      reading.at_least = !failed && (!s.set.called || s.set.called->open);
      const double reps = std::max(s.set.reps + left, 0.2);
      reading.kg = load * std::exp(capacity::margin_for_reps(reps, capacity::Curve{k, p}));
    }
    for (const SuspectView& suspect : view->suspects) {
      if (suspect.set.id == s.id) reading.suspect = suspect.reason;
    }
    out.sets.push_back(std::move(reading));
  }
  if (out.sets.size() > most) {
    out.left_out += static_cast<int>(out.sets.size() - most);
    out.sets.erase(out.sets.begin(), out.sets.end() - static_cast<std::ptrdiff_t>(most));
  }
  return out;
}

Why why_of(const LiftEstimate& lift) {
  const capacity::LiftSummary& s = lift.summary;
  Why why;
  why.strength = fmt::format("rests on {} sets in {} sessions from {} to {}, the last ones most; learned {:.2f}",
                             s.sets_used, s.sessions, date_text(s.first), date_text(s.last), s.learned);
  if (lift.assumed) why.strength = "mostly assumed: " + why.strength;
  // Of sets that tell nothing there is no share.
  why.endurance = s.seen_margin_high < s.seen_margin_low
                      ? "no set tells how reps fall with load: as published for such exercises"
                      : fmt::format("rests on sets at different loads: from {:.0f} to {:.0f} % of strength",
                                    100 * std::exp(-s.seen_margin_high), 100 * std::exp(-s.seen_margin_low));
  why.fatigability = fmt::format("rests on how later sets of a session compare with the first; learned {:.2f}",
                                 s.learned_fatigability);
  why.trend = fmt::format("of the {} days up to {}, smoothed; a week's change within the interval is none for certain",
                          s.last - s.first, date_text(s.last));
  return why;
}

std::string why_judgement(const EstimateView& view, int called_sets) {
  return fmt::format(
      "rests on {} sets with a call, compared with what the sets around them show was in them; learned {:.2f}",
      called_sets, view.posterior.learned_judgement);
}

}  // namespace ullage::coach
