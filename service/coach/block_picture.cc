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
  for (std::size_t r = 0; r < curve.readings.size(); ++r) {
    std::vector<std::pair<double, double>> at;
    for (const auto& p : curve.points) at.emplace_back(p.fatigue, p.effect[r]);
    std::sort(at.begin(), at.end());
    std::vector<double> x, y;
    for (const auto& [f, e] : at) x.push_back(f), y.push_back(e);
    plot.line(x, y,
              {r == 0 ? Role::done : Role::median, 2, r == 0 ? std::vector<double>{} : std::vector<double>{6, 4}, 1});
    if (!x.empty()) plot.label_end(x.back(), y.back(), curve.readings[r], r == 0 ? Role::done : Role::median);
    plot.point(curve.plan.fatigue, curve.plan.effect[r], Mark::dot, 5, Role::ink, 1, "this plan");
    for (std::size_t c = 0; c < curve.corners.size(); ++c)
      plot.point(curve.corners[c].fatigue, curve.corners[c].effect[r], c == 0 ? Mark::cross : Mark::ring, 5,
                 c == 0 ? Role::harm : Role::quiet, 1, curve.corners[c].name);
  }
  top = frame.bottom + Plot::axis_height(true) + 8;
  top = picture.note(top,
                     "Dot: this plan. Cross: the same sets all to failure. Ring: the same sets stopped six short. "
                     "The curves join plans for rising prices of fatigue.");
  picture.end_at(top + 8);
  return picture;
}

}  // namespace ullage::coach
