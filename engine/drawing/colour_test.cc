#include "engine/drawing/colour.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>

namespace ullage::drawing {
namespace {

struct Rgb {
  double r, g, b;  // linear light, 0 to 1
};

double encoded(double c) { return c <= 0.0031308 ? 12.92 * c : 1.055 * std::pow(c, 1 / 2.4) - 0.055; }
double decoded(double c) { return c <= 0.04045 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4); }

Rgb linear(std::string_view hex) {
  const auto part = [&](std::size_t at) {
    const double c = static_cast<double>(std::strtol(std::string(hex.substr(at, 2)).c_str(), nullptr, 16)) / 255;
    return decoded(c);
  };
  return {part(1), part(3), part(5)};
}

// Laid over each other as SVG does: in the encoded values.
Rgb over(const Rgb& top, double opacity, const Rgb& below) {
  const auto mix = [&](double a, double b) { return decoded(opacity * encoded(a) + (1 - opacity) * encoded(b)); };
  return {mix(top.r, below.r), mix(top.g, below.g), mix(top.b, below.b)};
}

double luminance(const Rgb& c) { return 0.2126 * c.r + 0.7152 * c.g + 0.0722 * c.b; }

// Contrast ratio of WCAG 2.1, "relative luminance" and "contrast ratio" (W3C Recommendation 5 June 2018).
double contrast(const Rgb& a, const Rgb& b) {
  const double high = std::max(luminance(a), luminance(b)), low = std::min(luminance(a), luminance(b));
  return (high + 0.05) / (low + 0.05);
}

// How a colour is seen without one kind of cone: matrices of Machado, Oliveira, Fernandes 2009, IEEE Trans Vis Comput
// Graph 15(6):1291-1298, doi 10.1109/TVCG.2009.113, severity 1 (from memory).
constexpr double kSeen[3][3][3] = {
    {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
    {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
    {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}}};
Rgb seen(const Rgb& c, int kind) {
  const auto row = [&](int i) {
    const auto& m = kSeen[kind][i];
    return std::clamp(m[0] * c.r + m[1] * c.g + m[2] * c.b, 0.0, 1.0);
  };
  return {row(0), row(1), row(2)};
}

// Difference in CIE 1976 L*a*b* (ISO/CIE 11664-4), D65.
double difference(const Rgb& a, const Rgb& b) {
  const auto lab = [](const Rgb& c, double out[3]) {
    const auto f = [](double t) { return t > 216.0 / 24389 ? std::cbrt(t) : (24389.0 / 27 * t + 16) / 116; };
    const double x = f((0.4124 * c.r + 0.3576 * c.g + 0.1805 * c.b) / 0.9505), y = f(luminance(c)),
                 z = f((0.0193 * c.r + 0.1192 * c.g + 0.9505 * c.b) / 1.089);
    out[0] = 116 * y - 16;
    out[1] = 500 * (x - y);
    out[2] = 200 * (y - z);
  };
  double p[3], q[3];
  lab(a, p);
  lab(b, q);
  return std::sqrt((p[0] - q[0]) * (p[0] - q[0]) + (p[1] - q[1]) * (p[1] - q[1]) + (p[2] - q[2]) * (p[2] - q[2]));
}

constexpr Theme kThemes[] = {Theme::light, Theme::dark, Theme::print};

TEST(Colour, TextIsReadable) {
  for (const Theme theme : kThemes) {
    const Rgb paper = linear(colour(Role::paper, theme));
    for (const Role role : {Role::ink, Role::quiet, Role::done, Role::median, Role::harm})
      EXPECT_GE(contrast(linear(colour(role, theme)), paper), 4.5) << role_name(role);
    // Over the haze of doubt as well.
    const Rgb haze = over(linear(colour(Role::doubt, theme)), kDoubtOpacity, paper);
    EXPECT_GE(contrast(linear(colour(Role::ink, theme)), haze), 4.5);
  }
}

TEST(Colour, MarksStandOutFromTheHazeAndThePaper) {
  for (const Theme theme : kThemes) {
    const Rgb paper = linear(colour(Role::paper, theme));
    const Rgb haze = over(linear(colour(Role::doubt, theme)), kDoubtOpacity, paper);
    for (const Role role : {Role::done, Role::median, Role::harm})
      EXPECT_GE(contrast(linear(colour(role, theme)), haze), 3) << role_name(role);
    EXPECT_GE(difference(haze, paper), 15);
  }
}

TEST(Colour, RolesStayApartWithoutOneKindOfCone) {
  const Role roles[] = {Role::done, Role::planned, Role::median, Role::harm, Role::doubt};
  for (const Theme theme : kThemes) {
    for (int kind = 0; kind < 3; ++kind) {
      for (const Role a : roles) {
        for (const Role b : roles) {
          // Harm and the median are both warm: the median is a line, harm always carries a word.
          if (a >= b || (a == Role::median && b == Role::harm)) continue;
          EXPECT_GE(difference(seen(linear(colour(a, theme)), kind), seen(linear(colour(b, theme)), kind)), 15)
              << role_name(a) << " and " << role_name(b) << ", kind " << kind << ", theme " << static_cast<int>(theme);
        }
      }
    }
  }
}

}  // namespace
}  // namespace ullage::drawing
