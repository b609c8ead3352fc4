// Pictures of estimates, forecasts, sessions and the roster.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "engine/drawing/plot.h"
#include "service/coach/documents.h"
#include "service/coach/roster.h"

namespace ullage::coach {
namespace {

using drawing::Anchor;
using drawing::At;
using drawing::Picture;
using drawing::Plot;
using drawing::Role;
using drawing::Scale;

std::string name_of(const LiftEstimate& lift) {
  return capital(lift.name) +
         (lift.summary.side == Side::both ? "" : ", " + std::string(side_name(lift.summary.side)) + " side");
}

// Months as names below a time axis: at most six.
std::vector<std::pair<double, std::string>> month_ticks(Date first, Date last) {
  constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  std::vector<std::pair<double, std::string>> all;
  for (Date day = first; day <= last; day = day + 1) {
    const std::string iso = date_text(day);
    if (iso.substr(8) != "01") continue;
    const int month = std::stoi(iso.substr(5, 2));
    all.emplace_back(day.days, month == 1 ? iso.substr(0, 4) : kMonths[month - 1]);
  }
  if (all.empty()) return {{first.days, date_text(first).substr(5)}, {last.days, date_text(last).substr(5)}};
  std::vector<std::pair<double, std::string>> out;
  const std::size_t step = (all.size() + 5) / 6;
  for (std::size_t i = 0; i < all.size(); i += step) out.push_back(all[i]);
  return out;
}

// A set as a vessel standing on the floor of a plot whose y axis counts reps.
void vessel(Plot& plot, double x, double reps, const capacity::Interval& capacity, Role filled,
            const std::string& label) {
  Picture& p = plot.picture();
  const double half = 11, left = plot.x()(x) - half, right = plot.x()(x) + half;
  const auto y = [&](double value) { return plot.y()(plot.y().clamped(value)); };
  const double quarter = (capacity.hi80 - capacity.lo80) / 4;
  p.add(drawing::Box{left,
                     y(capacity.hi80),
                     2 * half,
                     y(capacity.lo80) - y(capacity.hi80),
                     {Role::doubt, drawing::kDoubtOpacity * 0.6},
                     {Role::ink, 0, {}, 1}});
  p.add(drawing::Box{left,
                     y(capacity.hi80 - quarter),
                     2 * half,
                     y(capacity.lo80 + quarter) - y(capacity.hi80 - quarter),
                     {Role::doubt, drawing::kDoubtOpacity * 0.6},
                     {Role::ink, 0, {}, 1}});
  p.add(drawing::Box{left, y(reps), 2 * half, y(0) - y(reps), {filled, 1}, {Role::ink, 0, {}, 1}});
  for (const double wall : {left, right}) {
    p.add(drawing::Line{{{wall, y(0)}, {wall, y(capacity.lo80)}}, {Role::ink, 1.2, {}, 1}});
    p.add(drawing::Line{{{wall, y(capacity.lo80)}, {wall, y(capacity.hi80)}}, {Role::ink, 1, {2, 2.5}, 1}});
  }
  for (int rep = 1; rep <= static_cast<int>(capacity.hi80); ++rep) {
    p.add(drawing::Line{{{left, y(rep)}, {left + (rep % 5 == 0 ? 7.0 : 4.0), y(rep)}}, {Role::ink, 0.7, {}, 1}});
  }
  p.add(drawing::Line{{{left, y(0)}, {right, y(0)}}, {Role::ink, 1.6, {}, 1}});
  p.add(drawing::Line{{{left, y(capacity.median)}, {right, y(capacity.median)}}, {Role::median, 2, {}, 1}});
  p.text({plot.x()(x), plot.frame().bottom + 16}, label, Anchor::middle, Role::quiet);
}

// The plot of one lift below `top`; where what follows may begin.
double strength_plot(Picture& p, double top, const LiftEstimate& lift, Unit unit) {
  const auto& history = lift.summary.history;
  const double factor = !lift.summary.marks && unit == Unit::pound ? 1 / kKilogramsPerPound : 1;
  std::vector<double> xs, ys, lows, highs, all;
  for (const auto& point : history) {
    xs.push_back(point.date.days);
    ys.push_back(point.median * factor);
    lows.push_back(point.lo80 * factor);
    highs.push_back(point.hi80 * factor);
  }
  all = lows;
  all.insert(all.end(), highs.begin(), highs.end());
  const double frame_top = top + 26;
  Plot plot(p, {52, frame_top, drawing::kColumn - 24, frame_top + 110}, Scale::linear(xs.front(), xs.back()),
            Scale::around(all, false, 4));
  plot.grid_y(4);
  plot.band(xs, lows, highs);
  plot.line(xs, ys, {Role::median, 2, {}, 1});
  plot.axis_y(lift.summary.marks ? "marks" : std::string(unit_name(unit)), 4);
  plot.axis_x("", month_ticks(history.front().date, history.back().date));
  return frame_top + 110 + Plot::axis_height(false) + 10;
}

constexpr const char* kVesselKey =
    "Each vessel is a set: filled are the reps planned, empty is what is left in reserve. Tinted between dotted walls: "
    "where failure "
    "lies, with 80 %; the dark line is its middle.";

}  // namespace

Picture estimate_picture(const EstimateView& view, std::size_t most) {
  std::vector<const LiftEstimate*> lifts;
  for (const LiftEstimate& lift : view.lifts) {
    if (lift.summary.history.size() >= 2 && lifts.size() < most) lifts.push_back(&lift);
  }
  std::string title = view.lifter.name + ": strength over time";
  if (lifts.size() == 1) {
    title = fmt::format("{}: {} {}", view.lifter.name, view.lifts.front().name,
                        paper_mass(lifts[0]->strength, view.lifter.unit, lifts[0]->summary.marks));
  }
  Picture p(
      drawing::kColumn, title,
      "Estimated strength, the load for one rep, of each lift over time, as a line with its 80 % interval as a band.");
  double top = p.heading(fmt::format("load for one rep, with its 80 % interval, up to {}", paper_day(view.as_of)));
  if (lifts.empty()) {
    p.end_at(p.note(top, "No lift has been trained on two days yet.") + drawing::kMargin);
    return p;
  }
  for (const LiftEstimate* lift : lifts) {
    p.text({drawing::kMargin, top + 16},
           name_of(*lift) + ": " + paper_mass(lift->strength, view.lifter.unit, lift->summary.marks), Anchor::start,
           Role::ink, drawing::kText);
    top = strength_plot(p, top + 22, *lift, view.lifter.unit);
  }
  p.end_at(top + 6);
  return p;
}

Picture strength_picture(const LiftEstimate& lift, Unit unit) {
  Picture p(drawing::kColumn, name_of(lift) + ": strength over time",
            "The load for one rep over time, with its 80 % interval as a band.");
  p.end_at(strength_plot(p, 0, lift, unit) + 6);
  return p;
}

Picture forecast_picture(const ForecastView& view) {
  Picture p(drawing::kColumn, fmt::format("{}: {} at {}", view.lifter.name, view.exercise.name, paper_load(view.load)),
            "The planned sets as vessels: reps planned against reps to failure with their 80 % intervals.");
  const double top = p.heading(fmt::format("reps, set by set, with {} rest", paper_rest(view.rest_s))) + 24;
  double high = 4;
  for (std::size_t i = 0; i < view.sets.size(); ++i)
    high = std::max({high, view.sets[i].capacity.hi80, double(view.reps[i])});
  Plot plot(p, {52, top, drawing::kColumn - 24, top + 170},
            Scale::linear(0.4, static_cast<double>(view.sets.size()) + 0.6), Scale::around({0, high}));
  plot.grid_y();
  for (std::size_t i = 0; i < view.sets.size(); ++i) {
    vessel(plot, static_cast<double>(i + 1), view.reps[i], view.sets[i].capacity, Role::planned,
           "set " + std::to_string(i + 1));
  }
  plot.axis_y("reps");
  p.end_at(p.note(top + 170 + 40, kVesselKey) + drawing::kMargin);
  return p;
}

Picture session_picture(const SessionSheet& sheet) {
  Picture p(drawing::kColumn, fmt::format("{}: session of {}", sheet.lifter.name, paper_day(sheet.plan.date)),
            "Each exercise of the session as a row of vessels, one a work set: reps planned against reps to failure.");
  double top = p.heading(fmt::format("reps planned, and where failure lies; {:.0f} minutes", sheet.plan.minutes));
  for (const planning::PlanItem& item : sheet.plan.items) {
    double high = 4;
    int count = 0;
    for (const planning::PlanSet& s : item.sets) {
      if (s.kind == SetKind::warmup) continue;
      high = std::max({high, s.capacity.hi80, double(s.reps)});
      ++count;
    }
    const documents::SheetExercise words = [&] {
      SessionSheet one = sheet;
      one.plan.items = {item};
      return sheet_page(one).exercises.front();
    }();
    p.text({drawing::kMargin, top + 16}, words.name + ": " + words.aim, Anchor::start, Role::ink, drawing::kText);
    const double frame_top = top + 50;
    Plot plot(p, {52, frame_top, std::min(drawing::kColumn - 24, 52 + 76.0 * std::max(count, 1)), frame_top + 110},
              Scale::linear(0.4, count + 0.6), Scale::around({0, high}, false, 4));
    int number = 0;
    for (const planning::PlanSet& s : item.sets) {
      if (s.kind == SetKind::warmup) continue;
      const double reps = !s.cue || s.to_failure ? s.reps : std::min<double>(s.reps, std::round(s.reps_done.median));
      vessel(plot, ++number, reps, s.capacity, Role::planned,
             fmt::format("{} x {}", number_text(s.load.amount), s.reps));
    }
    plot.axis_y("reps", 4);
    top = frame_top + 110 + 30;
  }
  p.end_at(p.note(top + 10, kVesselKey) + drawing::kMargin);
  return p;
}

Picture roster_picture(const RosterView& view) {
  constexpr std::size_t kMostRows = 60;
  std::vector<const RosterRow*> rows;
  for (const RosterRow& row : view.rows) {
    if (!row.reasons.empty() && rows.size() < kMostRows) rows.push_back(&row);
  }
  const auto out = static_cast<std::size_t>(
      std::count_if(view.rows.begin(), view.rows.end(), [](const RosterRow& r) { return !r.reasons.empty(); }));
  Picture p(drawing::kSpread, fmt::format("{} of {} stand out on {}", out, view.rows.size(), paper_day(view.as_of)),
            "Who stands out and why: a line for each lifter, a mark for each kind of reason.");
  double top = p.heading();
  std::vector<Attention> kinds;
  for (const RosterRow* row : rows) {
    for (const Reason& reason : row->reasons) {
      if (std::find(kinds.begin(), kinds.end(), reason.attention) == kinds.end()) kinds.push_back(reason.attention);
    }
  }
  std::sort(kinds.begin(), kinds.end());
  const double first = 210, step = 78;
  top += 20;
  for (std::size_t k = 0; k < kinds.size(); ++k) {
    std::string name(attention_name(kinds[k]));
    std::replace(name.begin(), name.end(), '_', ' ');
    p.text({first + step * static_cast<double>(k), top}, name, Anchor::middle, Role::quiet);
  }
  top += 8;
  for (const RosterRow* row : rows) {
    p.add(drawing::Line{{{drawing::kMargin, top}, {drawing::kSpread - drawing::kMargin, top}}, {Role::rule, 1, {}, 1}});
    top += 22;
    p.text({drawing::kMargin, top - 6}, drawing::shortened(row->lifter.name, drawing::kSmall, 150), Anchor::start);
    for (std::size_t k = 0; k < kinds.size(); ++k) {
      for (const Reason& reason : row->reasons) {
        if (reason.attention != kinds[k]) continue;
        const bool harm = reason.attention == Attention::hold || reason.attention == Attention::pain;
        drawing::Point point;
        point.at = {first + step * static_cast<double>(k), top - 10};
        point.mark = harm ? drawing::Mark::cross : drawing::Mark::dot;
        point.radius = 4.5;
        point.role = harm ? Role::harm : Role::ink;
        point.says = reason.text;
        p.add(point);
        break;
      }
    }
  }
  if (rows.empty()) top = p.note(top, "Nothing stands out.");
  if (out > rows.size()) top = p.note(top + 16, fmt::format("and {} more", out - rows.size()));
  p.end_at(top + drawing::kMargin);
  return p;
}

}  // namespace ullage::coach
