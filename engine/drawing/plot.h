// A plot inside a picture: two scales over a frame, and what is drawn in values instead of places.
//
//   Plot plot(picture, {60, top, 400, top + 220}, Scale::around(xs), Scale::around(ys));
//   plot.grid_y();
//   plot.axis_x("reps in reserve");
//   plot.axis_y("growth, standardised");
//   plot.band(xs, lows, highs);                 // an interval as a band
//   plot.line(xs, means, {Role::median, 2});
//   plot.points(points);
//   plot.label_end(xs.back(), means.back(), "all studies");   // a direct label instead of a legend
//
// Values that are not finite are left out; lines and bands are cut there. Nothing is clipped: give values within the
// scales, or ask the scale for clamped().
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/drawing/picture.h"
#include "engine/drawing/scale.h"

namespace ullage::drawing {

struct Frame {
  double left = 0, top = 0, right = 0, bottom = 0;
};

class Plot {
 public:
  // The picture must outlive the plot. y: up is more, unless upside_down (ranks, standard errors).
  Plot(Picture& picture, Frame frame, const Scale& x, const Scale& y, bool upside_down = false);

  const Frame& frame() const { return frame_; }
  const Scale& x() const { return x_; }
  const Scale& y() const { return y_; }
  At at(double x, double y) const { return {x_(x), y_(y)}; }
  Picture& picture() { return picture_; }

  // ---- Axes. The text of the y axis stands above it, level, not turned.
  void axis_x(std::string_view text = "", int about = 5);
  void axis_y(std::string_view text = "", int about = 5);
  // The same with names for the values.
  void axis_x(std::string_view text, const std::vector<std::pair<double, std::string>>& ticks);
  // Hairlines behind the data at the ticks.
  void grid_x(int about = 5);
  void grid_y(int about = 5);
  // A reference line across the frame, dashed, with a word at its end if any.
  void rule_x(double x, std::string_view text = "", Role role = Role::quiet);
  void rule_y(double y, std::string_view text = "", Role role = Role::quiet);
  // Height that axis_x takes below the frame.
  static double axis_height(bool with_text) { return with_text ? 40 : 22; }

  // ---- Data.
  void line(const std::vector<double>& xs, const std::vector<double>& ys,
            const Stroke& stroke = {Role::done, 2, {}, 1});
  // Between two curves.
  void band(const std::vector<double>& xs, const std::vector<double>& lows, const std::vector<double>& highs,
            Fill fill = {Role::doubt, kDoubtOpacity});
  // An interval upright at x, or level at y; ends beyond the scale become arrow heads at the frame.
  void whisker_y(double x, double low, double high, const Stroke& stroke = {Role::ink, 1.5, {}, 1});
  void whisker_x(double y, double low, double high, const Stroke& stroke = {Role::ink, 1.5, {}, 1});
  void point(double x, double y, Mark mark = Mark::dot, double radius = 3, Role role = Role::done, double opacity = 1,
             std::string says = "");
  // A word beside a value: to its right, or to its left when it would leave the page.
  void label_end(double x, double y, std::string_view text, Role role = Role::ink);
  // A word over a value.
  void label_over(double x, double y, std::string_view text, Role role = Role::ink);

 private:
  Picture& picture_;
  Frame frame_;
  Scale x_, y_;
};

}  // namespace ullage::drawing
