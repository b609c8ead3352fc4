#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/drawing/vessel.h"
#include "service/coach/compare.h"

namespace ullage::coach {
namespace {

using comparing::Outcome;
using comparing::WayResult;
using comparing::WaySet;
using drawing::Anchor;
using drawing::Picture;
using drawing::Role;

constexpr double kGlass = 34, kGap = 22;  // of a vessel, and between two
constexpr double kMostTall = 130;         // of the tallest vessel
constexpr double kFigures = 300;          // width of the figures beside the vessels
constexpr double kRowGap = 26;

// "28 (25-31)".
std::string span(const capacity::Interval& i, int decimals, double factor = 1) {
  return drawing::interval_text(factor * i.median, factor * i.lo80, factor * i.hi80, decimals);
}

std::string difference(const comparing::Measure& m, int decimals, double factor, const char* unit) {
  const double a = factor * m.interval.lo80, b = factor * m.interval.hi80;
  return fmt::format("{}{} ({} to {}){}", factor * m.interval.median > 0 ? "+" : "",
                     drawing::number_text(factor * m.interval.median, decimals),
                     drawing::number_text(std::min(a, b), decimals), drawing::number_text(std::max(a, b), decimals),
                     unit);
}

}  // namespace

drawing::Picture compare_picture(const CompareView& view) {
  const comparing::Comparison& c = view.comparison;
  std::size_t most_sets = 1;
  double most_reps = 1;
  for (const WayResult& way : c.ways) {
    most_sets = std::max(most_sets, way.each.size());
    for (const WaySet& s : way.each) most_reps = std::max({most_reps, s.capacity.hi80, s.reps.median});
  }
  const double left = drawing::kMargin + 8;
  const double vessels = static_cast<double>(most_sets) * (kGlass + kGap);
  const double width = std::max(drawing::kSpread, left + vessels + kFigures + drawing::kMargin);
  std::string described = "Rows of vessels, one vessel a set.";
  for (const WayResult& way : c.ways) {
    described += fmt::format(" {}:", way.name);
    for (const WaySet& s : way.each) described += fmt::format(" {:.0f}", s.reps.median);
    described += " reps.";
  }
  Picture picture(width, view.finding, described);
  std::string more = (view.lifter ? view.lifter->name : std::string("An average lifter")) + ", " + view.exercise.name;
  if (view.side != Side::both) more += fmt::format(", {}", side_name(view.side));
  const bool same_load = c.ways.size() < 2 || view.shares.front() == view.shares.back();
  if (same_load && !view.loads.empty()) {
    more += fmt::format(", {} {}", number_text(view.loads.front().amount), unit_name(view.loads.front().unit));
  }
  if (same_load) more += fmt::format(", {:.0f} % of strength", 100 * view.shares.front());
  more += fmt::format(", {:.0f} s of rest, {}", view.rest_s,
                      c.by_tonnage ? std::string("equal tonnage") : std::string(comparing::basis_name(c.basis)));
  double top = picture.heading(more) + 6;

  drawing::VesselScale scale;
  scale.width = kGlass;
  scale.rep_height = std::min(9.0, kMostTall / most_reps);
  for (std::size_t w = 0; w < c.ways.size(); ++w) {
    const WayResult& way = c.ways[w];
    drawing::Text name;
    name.at = {drawing::kMargin, top + drawing::kText};
    name.text = way.name + ", " + sets_words(way.sets);
    if (!same_load && !view.loads.empty()) {
      name.text += fmt::format(" at {} {}", number_text(view.loads[w].amount), unit_name(view.loads[w].unit));
    } else if (!same_load) {
      name.text += fmt::format(" at {:.0f} % of strength", 100 * view.shares[w]);
    }
    name.size = drawing::kText;
    name.face = drawing::Face::serif;
    name.strong = true;
    picture.add(name);
    top += drawing::kText + 10;
    const double floor = top + most_reps * scale.rep_height + 6;
    for (std::size_t k = 0; k < way.each.size(); ++k) {
      const WaySet& s = way.each[k];
      drawing::VesselSet vessel;
      vessel.reps = s.reserve ? std::floor(s.reps.median) : s.capacity.median;
      vessel.part = s.share < 1;
      vessel.low = s.capacity.lo80;
      vessel.median = s.capacity.median;
      vessel.high = s.capacity.hi80;
      vessel.inside = fmt::format("{:.0f}", s.reps.median);
      vessel.below = s.share < 1 ? fmt::format("in {:.0f} %", 100 * s.share) : k == 0 ? "set 1" : std::to_string(k + 1);
      drawing::draw_vessel(picture, {left + static_cast<double>(k) * (kGlass + kGap), floor}, vessel, scale);
    }
    const double x = left + vessels + 12, value = x + 165;
    double y = top + drawing::kSmall;
    const auto row = [&](const std::string& what, const std::string& figure, bool harm = false) {
      picture.text({x, y}, what, Anchor::start, Role::quiet);
      picture.text({value, y}, figure, Anchor::start, harm ? Role::harm : Role::ink);
      y += drawing::kSmall + 6;
    };
    const Outcome& o = way.outcome;
    row("reps in all", span(o.total_reps.interval, 0));
    row("stimulus, plateau", span(o.stimulus[0].interval, 1) + " sets to failure");
    row("stimulus, every rep counts", span(o.stimulus[1].interval, 1));
    for (std::size_t r = 2; r < o.stimulus.size(); ++r)
      row(drawing::shortened("stimulus, " + view.readings[r], drawing::kSmall, 155), span(o.stimulus[r].interval, 1));
    row("strength lost at the end", span(strength_lost(o.margin_lost_end.interval), 1, 100) + " %");
    row("still lost a day later", span(strength_lost(o.residual_24h.interval), 1, 100) + " %");
    row("minutes", drawing::number_text(o.minutes.mean, 1));
    row("chance of a miss", fmt::format("{:.0f} %", 100 * way.p_miss), way.p_miss > 0.25);
    if (w > 0) {
      row("against " + c.ways.front().name, difference(c.against_first[w].total_reps, 1, 1, " reps"));
      row("", difference({strength_lost(c.against_first[w].margin_lost_end.interval), 0}, 1, 100, " % lost"));
    }
    top = std::max(floor + drawing::kVesselBelow, y) + kRowGap - 10;
    if (w + 1 < c.ways.size()) {
      picture.add(
          drawing::Line{{{drawing::kMargin, top - 8}, {width - drawing::kMargin, top - 8}}, {Role::rule, 1, {}, 1}});
    }
  }
  top = picture.note(
      top, drawing::vessel_words() +
               (std::any_of(c.ways.begin(), c.ways.end(),
                            [](const WayResult& way) { return !way.each.empty() && way.each.back().share < 1; })
                    ? " A dashed one is done in that share of sessions."
                    : ""));
  for (const std::string& caution : view.cautions) top = picture.note(top, caution);
  picture.end_at(top + 6);
  return picture;
}

}  // namespace ullage::coach
