// A picture as data: shapes on a page, in units that are a column's width divided by 420. svg.h turns it into text.
//
// Two widths: a column (420 units, printed 88 mm wide, a journal's single column) and a spread (860 units, 180 mm). At
// both, text of kSmall comes out at 7.7 points and more, so what is readable on screen is readable on paper.
//
//   Picture p(kColumn, "Stopping two short costs little", "Growth against reps in reserve, with its 95 % interval.");
//   const double top = p.heading();
//   Plot plot = ...                                            (plot.h)
//   p.end_at(plot.bottom() + 40);
//   svg_text(p)                                                (svg.h)
//
// The title is the finding in plain words and is drawn as the heading; title and description are also what a screen
// reader says. The same calls give the same bytes everywhere: no fonts, clock or locale are asked.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "engine/drawing/colour.h"
#include "engine/drawing/words.h"

namespace ullage::drawing {

inline constexpr double kColumn = 420;
inline constexpr double kSpread = 860;
inline constexpr double kMillimetresPerUnit = 88.0 / 420;

// The one type scale of what is drawn.
inline constexpr double kSmall = 13, kText = 16, kTitle = 18, kLarge = 28;
inline constexpr double kMargin = 16;  // around the page

struct At {
  double x = 0, y = 0;
};

// How a line is drawn; width 0: none.
struct Stroke {
  Role role = Role::ink;
  double width = 1;
  std::vector<double> dash;  // lengths on and off; empty: whole
  double opacity = 1;
};
struct Fill {
  Role role = Role::ink;
  double opacity = 1;
};

struct Line {  // through the points
  std::vector<At> points;
  Stroke stroke;
};
struct Area {  // closed through the points
  std::vector<At> points;
  Fill fill;
  Stroke stroke{Role::ink, 0, {}, 1};
};
struct Box {
  double x = 0, y = 0, width = 0, height = 0;
  Fill fill;
  Stroke stroke{Role::ink, 0, {}, 1};
};
// Marks differ in shape so that they do not rest on colour.
enum class Mark { dot, ring, square, diamond, triangle, cross };
struct Point {
  At at;
  Mark mark = Mark::dot;
  double radius = 3;
  Role role = Role::done;
  double opacity = 1;
  std::string says;  // shown when pointed at, read aloud; may be empty
};
enum class Anchor { start, middle, end };
struct Text {
  At at;  // on the base line
  std::string text;
  double size = kSmall;
  Anchor anchor = Anchor::start;
  Role role = Role::ink;
  Face face = Face::sans;
  bool strong = false;
  bool halo = false;  // paper behind the letters, for text over lines
  double turn = 0;    // degrees, clockwise, about `at`
};
using Shape = std::variant<Line, Area, Box, Point, Text>;

class Picture {
 public:
  // title: the finding; description: what is drawn, for who cannot see it. width: kColumn or kSpread, or any units.
  Picture(double width, std::string title, std::string description)
      : width_(width), title_(std::move(title)), description_(std::move(description)) {}

  double width() const { return width_; }
  double height() const { return height_; }
  const std::string& title() const { return title_; }
  const std::string& description() const { return description_; }
  const std::vector<Shape>& shapes() const { return shapes_; }

  // Adds a shape; later ones lie above. The page grows to nothing by itself: call end_at.
  void add(Shape shape) { shapes_.push_back(std::move(shape)); }
  void text(At at, std::string_view text, Anchor anchor = Anchor::start, Role role = Role::ink, double size = kSmall);
  // The title over the page's width, in serif, and below it, smaller, a line of `more` if any; where what follows may
  // begin.
  double heading(std::string_view more = "");
  // A paragraph in sans at kSmall from `top`, broken to the page's width; where what follows may begin.
  double note(double top, std::string_view text, Role role = Role::quiet);
  // The page ends there.
  void end_at(double height) { height_ = height; }

 private:
  double width_, height_ = 0;
  std::string title_, description_;
  std::vector<Shape> shapes_;
};

}  // namespace ullage::drawing
