#include "service/documents/vessel.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/drawing/colour.h"
#include "service/documents/html.h"

namespace ullage::documents {
namespace {

using drawing::Role;
using drawing::Theme;

std::string_view ink(Role role) { return drawing::colour(role, Theme::print); }

// Strokes of one pen, and fills of one ink, are one path each: a page of vessels has hundreds of them.
class Strokes {
 public:
  void line(double x1, double y1, double x2, double y2) {
    data_ += x1 == x2   ? fmt::format("M{:.2f} {:.2f}V{:.2f}", x1, y1, y2)
             : y1 == y2 ? fmt::format("M{:.2f} {:.2f}H{:.2f}", x1, y1, x2)
                        : fmt::format("M{:.2f} {:.2f}L{:.2f} {:.2f}", x1, y1, x2, y2);
  }
  std::string svg(Role role, double width, const char* more = "") const {
    return data_.empty() ? ""
                         : fmt::format("<path d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{:.2f}\"{}/>", data_,
                                       ink(role), width, more);
  }

 private:
  std::string data_;
};

class Fills {
 public:
  void box(double x, double y, double width, double height) {
    data_ += fmt::format("M{:.2f} {:.2f}h{:.2f}v{:.2f}h{:.2f}z", x, y, width, height, -width);
  }
  void path(const std::string& more) { data_ += more; }
  std::string svg(Role role, double opacity = 1) const {
    return data_.empty() ? ""
                         : fmt::format("<path d=\"{}\" fill=\"{}\"{}/>", data_, ink(role),
                                       opacity < 1 ? fmt::format(" fill-opacity=\"{:.2f}\"", opacity) : "");
  }

 private:
  std::string data_;
};

std::string text(double x, double y, double size, const std::string& words, Role role, const char* anchor = "middle") {
  return fmt::format(
      "<text x=\"{:.2f}\" y=\"{:.2f}\" font-size=\"{:.2f}\" text-anchor=\"{}\" fill=\"{}\" font-family=\"Liberation "
      "Sans, DejaVu "
      "Sans, sans-serif\">{}</text>",
      x, y, size, anchor, ink(role), html_text(words));
}

Drawing framed(double width_mm, double height_mm, const std::string& says, const std::string& inside) {
  std::string svg = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-label=\"{2}\" width=\"{0:.2f}mm\" "
      "height=\"{1:.2f}mm\" "
      "viewBox=\"0 0 {0:.2f} {1:.2f}\"><title>{2}</title>{3}</svg>\n",
      width_mm, height_mm, html_text(says), inside);
  return {std::move(svg), says, width_mm, height_mm};
}

// All in millimetres.
constexpr double kWide = 6.2, kGap = 3.2, kEdge = 1.2, kLabel = 4.2;

}  // namespace

Drawing vessels_drawing(const std::vector<Vessel>& vessels, double height_mm, const std::string& says) {
  double most = 4;
  for (const Vessel& v : vessels) most = std::max({most, v.high, v.reps, v.median + 0.5});
  const double unit = (height_mm - kLabel - kEdge) / most;  // millimetres a rep
  const double floor = height_mm - kLabel;
  Fills doubt, middle, planned, done, pointers;
  Strokes ticks, floors, walls, open_walls, medians;
  std::string labels;
  double x = kEdge;
  for (const Vessel& v : vessels) {
    const auto y = [&](double reps) { return floor - std::clamp(reps, 0.0, most) * unit; };
    const double right = x + kWide;
    const double low = std::min(v.low, v.high), high = std::max(v.low, v.high);
    if (!v.missed && high > low) {
      // Most where failure is most likely: the middle half of the interval is laid on twice.
      const double quarter = (high - low) / 4;
      doubt.box(x, y(high), kWide, y(low) - y(high));
      middle.box(x, y(high - quarter), kWide, y(low + quarter) - y(high - quarter));
    }
    if (v.reps > 0) (v.done ? done : planned).box(x, y(v.reps), kWide, floor - y(v.reps));
    for (int rep = 1; rep <= static_cast<int>(std::floor(high + 1e-9)) && unit > 0.8; ++rep) {
      ticks.line(x, y(rep), x + (rep % 5 == 0 ? 2.0 : 1.1), y(rep));
    }
    const double rim = v.missed ? v.median : low;
    floors.line(x, floor, right, floor);
    walls.line(x, floor, x, y(rim));
    walls.line(right, floor, right, y(rim));
    if (!v.missed) {
      open_walls.line(x, y(low), x, y(high));
      open_walls.line(right, y(low), right, y(high));
      medians.line(x, y(v.median), right, y(v.median));
    } else {
      walls.line(x - 0.7, y(v.median) - 1.2, x + 0.7, y(v.median) + 0.2);
      walls.line(right - 0.7, y(v.median) - 1.2, right + 0.7, y(v.median) + 0.2);
    }
    if (v.called) pointers.path(fmt::format("M{:.2f} {:.2f}l1.9 -1.1v2.2z", right + 0.3, y(v.reps + *v.called)));
    labels += text(x + kWide / 2, height_mm - 0.6, 3.0, v.label, Role::quiet);
    x += kWide + kGap;
  }
  const std::string out = doubt.svg(Role::doubt, drawing::kDoubtOpacity * 0.55) +
                          middle.svg(Role::doubt, drawing::kDoubtOpacity * 0.6) + planned.svg(Role::planned) +
                          done.svg(Role::done) + ticks.svg(Role::ink, 0.18) + floors.svg(Role::ink, 0.5) +
                          walls.svg(Role::ink, 0.4) + open_walls.svg(Role::ink, 0.3, " stroke-dasharray=\"0.5 0.7\"") +
                          medians.svg(Role::median, 0.6) + pointers.svg(Role::ink) + labels;
  return framed(std::max(x - kGap + kEdge + 1.2, 8.0), height_mm, says, out);
}

Drawing bar_drawing(const std::vector<Plate>& plates, const std::string& says) {
  constexpr double kHigh = 11.5, kThick = 6.2, kSleeve = 1.4, kInner = 6;
  const double middle = kHigh / 2;
  double x = kInner;
  std::string discs;
  for (const Plate& plate : plates) {
    const double high = std::clamp(kHigh * std::sqrt(std::max(plate.kilograms, 0.0) / 25), 3.6, kHigh);
    discs += fmt::format(
        "<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\" rx=\"0.8\" fill=\"#ffffff\" stroke=\"{}\" "
        "stroke-width=\"0.45\"/>",
        x + 0.25, middle - high / 2, kThick - 0.5, high, ink(Role::ink));
    discs += text(x + kThick / 2, middle + 1.05, plate.text.size() > 3 ? 2.4 : 2.9, plate.text, Role::ink);
    x += kThick;
  }
  const double width = x + 5;
  Fills bar;
  bar.box(0, middle - 0.55, kInner - 1, 1.1);
  bar.box(kInner - 1.2, middle - 1.9, 1.2, 3.8);
  bar.box(kInner, middle - kSleeve / 2, width - kInner, kSleeve);
  const std::string out = bar.svg(Role::ink) + discs;
  return framed(width, kHigh, says, out);
}

}  // namespace ullage::documents
