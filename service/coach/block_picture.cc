#include "service/coach/block_picture.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/drawing/plot.h"

namespace ullage::coach {

drawing::Picture frontier_picture(const planning::Frontier& curve, const std::string& lifter) {
  using namespace drawing;
  const planning::Corner& hard = curve.corners.front();
  const double fatigue = hard.fatigue / curve.plan.fatigue - 1;
  double low = 1e9, high = -1e9;
  for (std::size_t r = 0; r < curve.readings.size(); ++r) {
    const double gain = hard.effect[r] / curve.plan.effect[r] - 1;
    low = std::min(low, gain);
    high = std::max(high, gain);
  }
  Picture picture(kColumn,
                  fmt::format("All to failure: {:+.0f} to {:+.0f} % effect for {:+.0f} % strength lost", 100 * low,
                              100 * high, 100 * fatigue),
                  "Curves of the expected effect of a week against the strength it takes off later work, one for each "
                  "reading of growth short of failure, with this plan, the same sets all to failure and the same sets "
                  "stopped six short.");
  double top = picture.heading(lifter + ": effect of a week against strength lost") + 24;
  std::vector<double> xs{curve.plan.fatigue}, ys;
  for (const auto& c : curve.corners) {
    xs.push_back(c.fatigue);
    ys.insert(ys.end(), c.effect.begin(), c.effect.end());
  }
  for (const auto& p : curve.points) {
    xs.push_back(p.fatigue);
    ys.insert(ys.end(), p.effect.begin(), p.effect.end());
  }
  const Frame frame{48, top, kColumn - kMargin - 50, top + 240};
  Plot plot(picture, frame, Scale::around(xs), Scale::around(ys));
  plot.grid_y();
  plot.axis_y("effect, root of weekly sets");
  plot.axis_x("strength lost in a week, % summed over sets and muscles");
  struct End {
    double x, y;
    std::string name;
    Role role;
  };
  std::vector<End> ends;
  for (std::size_t r = 0; r < curve.readings.size(); ++r) {
    std::vector<std::pair<double, double>> at;
    for (const auto& p : curve.points) at.emplace_back(p.fatigue, p.effect[r]);
    std::sort(at.begin(), at.end());
    std::vector<double> x, y;
    for (const auto& [f, e] : at) x.push_back(f), y.push_back(e);
    const Role role = r == 0 ? Role::done : r == 1 ? Role::median : Role::ink;
    const std::vector<double> dashes = r == 0   ? std::vector<double>{}
                                       : r == 1 ? std::vector<double>{6, 4}
                                                : std::vector<double>{2, static_cast<double>(r)};
    plot.line(x, y, {role, 2, dashes, 1});
    if (!x.empty()) ends.push_back({x.back(), y.back(), shortened(curve.readings[r], kSmall, 64), role});
    plot.point(curve.plan.fatigue, curve.plan.effect[r], Mark::dot, 5, Role::ink, 1, "this plan");
    for (std::size_t c = 0; c < curve.corners.size(); ++c)
      plot.point(curve.corners[c].fatigue, curve.corners[c].effect[r], c == 0 ? Mark::cross : Mark::ring, 5,
                 c == 0 ? Role::harm : Role::quiet, 1, curve.corners[c].name);
  }
  // Names at the curves' ends, moved apart where they would lie on each other.
  std::sort(ends.begin(), ends.end(), [](const End& a, const End& b) { return a.y > b.y; });
  double last = -1e9;
  for (const End& e : ends) {
    const double at = std::max(plot.y()(e.y), last + kSmall * 1.15);
    Text t;
    t.text = e.name;
    t.role = e.role;
    t.halo = true;
    t.strong = true;
    t.at = {plot.x()(e.x) + 8, at + kSmall * 0.35};
    t.anchor = Anchor::start;
    picture.add(t);
    last = at;
  }
  top = frame.bottom + Plot::axis_height(true) + 8;
  top = picture.note(top,
                     "Dot: this plan. Cross: the same sets all to failure. Ring: the same sets stopped six short. "
                     "The curves join plans for rising prices of fatigue.");
  picture.end_at(top + 8);
  return picture;
}

}  // namespace ullage::coach
