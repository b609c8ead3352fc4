#include "service/documents/vessel.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "engine/drawing/colour.h"
#include "service/documents/page.h"

namespace ullage::documents {
namespace {

using drawing::Role;
using drawing::Theme;

std::string_view ink(Role role) { return drawing::colour(role, Theme::print); }

std::string line(double x1, double y1, double x2, double y2, Role role, double width, const char* more = "") {
  return fmt::format(
      "<line x1=\"{:.2f}\" y1=\"{:.2f}\" x2=\"{:.2f}\" y2=\"{:.2f}\" stroke=\"{}\" stroke-width=\"{:.2f}\"{}/>", x1, y1,
      x2, y2, ink(role), width, more);
}
std::string box(double x, double y, double width, double height, Role role, double opacity = 1) {
  return fmt::format("<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\" fill=\"{}\"{}/>", x, y, width,
                     height, ink(role), opacity < 1 ? fmt::format(" fill-opacity=\"{:.2f}\"", opacity) : "");
}
std::string text(double x, double y, double size, const std::string& words, Role role, const char* anchor = "middle") {
  return fmt::format(
      "<text x=\"{:.2f}\" y=\"{:.2f}\" font-size=\"{:.2f}\" text-anchor=\"{}\" fill=\"{}\" font-family=\"Liberation "
      "Sans, DejaVu "
      "Sans, sans-serif\">{}</text>",
      x, y, size, anchor, ink(role), html_text(words));
}

std::string framed(double width_mm, double height_mm, const std::string& says, const std::string& inside) {
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-label=\"{2}\" width=\"{0:.2f}mm\" "
      "height=\"{1:.2f}mm\" "
      "viewBox=\"0 0 {0:.2f} {1:.2f}\"><title>{2}</title>{3}</svg>\n",
      width_mm, height_mm, html_text(says), inside);
}

// All in millimetres.
constexpr double kWide = 6.2, kGap = 3.2, kEdge = 1.2, kLabel = 4.2;

}  // namespace

std::string vessels_svg(const std::vector<Vessel>& vessels, double height_mm, const std::string& says) {
  double most = 4;
  for (const Vessel& v : vessels) most = std::max({most, v.high, v.reps, v.median + 0.5});
  const double unit = (height_mm - kLabel - kEdge) / most;  // millimetres a rep
  const double floor = height_mm - kLabel;
  std::string out;
  double x = kEdge;
  for (const Vessel& v : vessels) {
    const auto y = [&](double reps) { return floor - std::clamp(reps, 0.0, most) * unit; };
    const double right = x + kWide;
    const double low = std::min(v.low, v.high), high = std::max(v.low, v.high);
    if (!v.missed && high > low) {
      // Most where failure is most likely: the middle half of the interval is laid on twice.
      const double quarter = (high - low) / 4;
      out += box(x, y(high), kWide, y(low) - y(high), Role::doubt, drawing::kDoubtOpacity * 0.55);
      out += box(x, y(high - quarter), kWide, y(low + quarter) - y(high - quarter), Role::doubt,
                 drawing::kDoubtOpacity * 0.6);
    }
    if (v.reps > 0) out += box(x, y(v.reps), kWide, floor - y(v.reps), v.done ? Role::done : Role::planned);
    for (int rep = 1; rep <= static_cast<int>(std::floor(high + 1e-9)) && unit > 0.8; ++rep) {
      out += line(x, y(rep), x + (rep % 5 == 0 ? 2.0 : 1.1), y(rep), Role::ink, 0.18);
    }
    const double rim = v.missed ? v.median : low;
    out += line(x, floor, right, floor, Role::ink, 0.5);
    out += line(x, floor, x, y(rim), Role::ink, 0.4);
    out += line(right, floor, right, y(rim), Role::ink, 0.4);
    if (!v.missed) {
      out += line(x, y(low), x, y(high), Role::ink, 0.3, " stroke-dasharray=\"0.5 0.7\"");
      out += line(right, y(low), right, y(high), Role::ink, 0.3, " stroke-dasharray=\"0.5 0.7\"");
      out += line(x, y(v.median), right, y(v.median), Role::median, 0.6);
    } else {
      out += line(x - 0.7, y(v.median) - 1.2, x + 0.7, y(v.median) + 0.2, Role::ink, 0.4);
      out += line(right - 0.7, y(v.median) - 1.2, right + 0.7, y(v.median) + 0.2, Role::ink, 0.4);
    }
    if (v.called) {
      const double at = y(v.reps + *v.called);
      out += fmt::format("<path d=\"M {0:.2f} {1:.2f} l 1.9 -1.1 l 0 2.2 z\" fill=\"{2}\"/>", right + 0.3, at,
                         ink(Role::ink));
    }
    out += text(x + kWide / 2, height_mm - 0.6, 3.0, v.label, Role::quiet);
    x += kWide + kGap;
  }
  return framed(std::max(x - kGap + kEdge + 1.2, 8.0), height_mm, says, out);
}

std::string bar_svg(const std::vector<Plate>& plates, const std::string& says) {
  constexpr double kHigh = 11.5, kThick = 6.2, kSleeve = 1.4, kInner = 6;
  const double middle = kHigh / 2;
  std::string out;
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
  out += box(0, middle - 0.55, kInner - 1, 1.1, Role::ink);
  out += box(kInner - 1.2, middle - 1.9, 1.2, 3.8, Role::ink);
  out += box(kInner, middle - kSleeve / 2, width - kInner, kSleeve, Role::ink);
  out += discs;
  return framed(width, kHigh, says, out);
}

}  // namespace ullage::documents
