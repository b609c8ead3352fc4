#include "engine/drawing/plot.h"

#include <algorithm>
#include <cmath>

namespace ullage::drawing {
namespace {

constexpr double kTick = 4;

Stroke hair(Role role, double width = 1) { return {role, width, {}, 1}; }

// An arrow head at `tip`, pointing along (dx, dy) of length 1.
Area arrow(At tip, double dx, double dy, Role role) {
  const double size = 5;
  return {{tip,
           {tip.x - size * dx - size * 0.6 * dy, tip.y - size * dy - size * 0.6 * dx},
           {tip.x - size * dx + size * 0.6 * dy, tip.y - size * dy + size * 0.6 * dx}},
          {role, 1},
          {role, 0, {}, 1}};
}

}  // namespace

Plot::Plot(Picture& picture, Frame frame, const Scale& x, const Scale& y, bool upside_down)
    : picture_(picture),
      frame_(frame),
      x_(x.onto(frame.left, frame.right)),
      y_(upside_down ? y.onto(frame.top, frame.bottom) : y.onto(frame.bottom, frame.top)) {}

void Plot::axis_x(std::string_view text, int about) {
  std::vector<std::pair<double, std::string>> ticks;
  for (const double tick : x_.ticks(about)) ticks.emplace_back(tick, x_.tick_text(tick, about));
  axis_x(text, ticks);
}

void Plot::axis_x(std::string_view text, const std::vector<std::pair<double, std::string>>& ticks) {
  picture_.add(Line{{{frame_.left, frame_.bottom}, {frame_.right, frame_.bottom}}, hair(Role::quiet)});
  for (const auto& [value, words] : ticks) {
    const double x = x_(value);
    picture_.add(Line{{{x, frame_.bottom}, {x, frame_.bottom + kTick}}, hair(Role::quiet)});
    picture_.text({x, frame_.bottom + kTick + kSmall}, words, Anchor::middle, Role::quiet);
  }
  if (!text.empty())
    picture_.text({(frame_.left + frame_.right) / 2, frame_.bottom + kTick + 2 * kSmall + 5}, text, Anchor::middle,
                  Role::quiet);
}

void Plot::axis_y(std::string_view text, int about) {
  for (const double tick : y_.ticks(about))
    picture_.text({frame_.left - 6, y_(tick) + kSmall * 0.35}, y_.tick_text(tick, about), Anchor::end, Role::quiet);
  if (!text.empty()) picture_.text({kMargin, frame_.top - 10}, text, Anchor::start, Role::quiet);
}

void Plot::grid_x(int about) {
  for (const double tick : x_.ticks(about))
    picture_.add(Line{{{x_(tick), frame_.top}, {x_(tick), frame_.bottom}}, hair(Role::rule)});
}

void Plot::grid_y(int about) {
  for (const double tick : y_.ticks(about))
    picture_.add(Line{{{frame_.left, y_(tick)}, {frame_.right, y_(tick)}}, hair(Role::rule)});
}

void Plot::rule_x(double x, std::string_view text, Role role) {
  picture_.add(Line{{{x_(x), frame_.top}, {x_(x), frame_.bottom}}, {role, 1, {4, 3}, 1}});
  if (!text.empty()) picture_.text({x_(x), frame_.top - 4}, text, Anchor::middle, role);
}

void Plot::rule_y(double y, std::string_view text, Role role) {
  picture_.add(Line{{{frame_.left, y_(y)}, {frame_.right, y_(y)}}, {role, 1, {4, 3}, 1}});
  if (!text.empty()) picture_.text({frame_.right, y_(y) - 4}, text, Anchor::end, role);
}

void Plot::line(const std::vector<double>& xs, const std::vector<double>& ys, const Stroke& stroke) {
  Line piece{{}, stroke};
  const std::size_t n = std::min(xs.size(), ys.size());
  for (std::size_t i = 0; i <= n; ++i) {
    if (i < n && std::isfinite(xs[i]) && std::isfinite(ys[i])) {
      piece.points.push_back(at(xs[i], ys[i]));
    } else if (piece.points.size() > 1) {
      picture_.add(piece);
      piece.points.clear();
    } else {
      piece.points.clear();
    }
  }
}

void Plot::band(const std::vector<double>& xs, const std::vector<double>& lows, const std::vector<double>& highs,
                Fill fill) {
  std::vector<At> upper, lower;
  const std::size_t n = std::min({xs.size(), lows.size(), highs.size()});
  for (std::size_t i = 0; i <= n; ++i) {
    if (i < n && std::isfinite(xs[i]) && std::isfinite(lows[i]) && std::isfinite(highs[i])) {
      upper.push_back(at(xs[i], highs[i]));
      lower.push_back(at(xs[i], lows[i]));
      continue;
    }
    if (upper.size() > 1) {
      Area area{upper, fill, {fill.role, 0, {}, 1}};
      area.points.insert(area.points.end(), lower.rbegin(), lower.rend());
      picture_.add(area);
    }
    upper.clear();
    lower.clear();
  }
}

void Plot::whisker_y(double x, double low, double high, const Stroke& stroke) {
  if (!std::isfinite(x) || std::isnan(low) || std::isnan(high)) return;
  const At from = at(x, y_.clamped(low)), to = at(x, y_.clamped(high));
  picture_.add(Line{{from, to}, stroke});
  const double up = from.y >= to.y ? -1 : 1;  // where more lies on the page
  if (low < y_.low()) picture_.add(arrow(from, 0, -up, stroke.role));
  if (high > y_.high()) picture_.add(arrow(to, 0, up, stroke.role));
}

void Plot::whisker_x(double y, double low, double high, const Stroke& stroke) {
  if (!std::isfinite(y) || std::isnan(low) || std::isnan(high)) return;
  const At from = at(x_.clamped(low), y), to = at(x_.clamped(high), y);
  picture_.add(Line{{from, to}, stroke});
  if (low < x_.low()) picture_.add(arrow(from, -1, 0, stroke.role));
  if (high > x_.high()) picture_.add(arrow(to, 1, 0, stroke.role));
}

void Plot::point(double x, double y, Mark mark, double radius, Role role, double opacity, std::string says) {
  if (!std::isfinite(x) || !std::isfinite(y)) return;
  picture_.add(Point{at(x, y), mark, radius, role, opacity, std::move(says)});
}

void Plot::label_end(double x, double y, std::string_view text, Role role) {
  const At place = at(x, y);
  Text t;
  t.text = std::string(text);
  t.role = role;
  t.halo = true;
  t.strong = true;
  const bool fits = place.x + 8 + text_width(text, kSmall) <= picture_.width() - kMargin / 2;
  t.at = {fits ? place.x + 8 : place.x - 8, place.y + kSmall * 0.35};
  t.anchor = fits ? Anchor::start : Anchor::end;
  picture_.add(t);
}

void Plot::label_over(double x, double y, std::string_view text, Role role) {
  Text t;
  const double half = text_width(text, kSmall) / 2;
  t.at = at(x, y);
  t.at.x = std::clamp(t.at.x, kMargin / 2 + half, std::max(picture_.width() - kMargin / 2 - half, kMargin / 2 + half));
  t.at.y -= 8;
  t.text = std::string(text);
  t.anchor = Anchor::middle;
  t.role = role;
  t.halo = true;
  picture_.add(t);
}

}  // namespace ullage::drawing
