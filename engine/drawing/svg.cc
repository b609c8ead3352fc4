#include "engine/drawing/svg.h"

#include <algorithm>
#include <cmath>
#include <tuple>

namespace ullage::drawing {
namespace {

constexpr std::string_view kSans = "Inter, 'Noto Sans', 'Liberation Sans', 'DejaVu Sans', sans-serif";
constexpr std::string_view kSerif = "'Source Serif 4', 'Noto Serif', 'Liberation Serif', 'DejaVu Serif', serif";

// A coordinate: at most two decimals, no zeros at the end, a plain hyphen.
std::string place(double value) {
  if (!std::isfinite(value)) return std::string(1, '0');
  std::string text = number_text(value, 2);
  if (text.starts_with("\u2212")) {
    text.erase(0, 2);
    text[0] = '-';
  }
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

class Writer {
 public:
  explicit Writer(const SvgOptions& options) : options_(options) {}

  void attribute(std::string_view name, std::string_view value) {
    out += ' ';
    out += name;
    out += "=\"";
    out += value;
    out += '"';
  }
  void number(std::string_view name, double value) { attribute(name, place(value)); }

  // Class and colours of what is filled and stroked; the class first, the colour for who knows no classes.
  void paint(const Fill* fill, const Stroke* stroke) {
    const bool lined = stroke && stroke->width > 0;
    std::string classes;
    if (fill) {
      classes += "fill-";
      classes += role_name(fill->role);
    }
    if (lined) {
      classes += classes.empty() ? "line-" : " line-";
      classes += role_name(stroke->role);
    }
    if (!classes.empty()) attribute("class", classes);
    attribute("fill", fill ? colour(fill->role, options_.theme) : "none");
    if (fill && fill->opacity < 1) number("fill-opacity", fill->opacity);
    if (!lined) return;
    attribute("stroke", colour(stroke->role, options_.theme));
    number("stroke-width", stroke->width);
    if (stroke->opacity < 1) number("stroke-opacity", stroke->opacity);
    if (stroke->dash.empty()) return;
    std::string dash;
    for (const double d : stroke->dash) {
      if (!dash.empty()) dash += ' ';
      dash += place(d);
    }
    attribute("stroke-dasharray", dash);
  }

  void path(const std::vector<At>& points, bool closed) {
    std::string d;
    for (const At& p : points) {
      d += d.empty() ? 'M' : 'L';
      d += place(p.x);
      d += ' ';
      d += place(p.y);
    }
    if (closed) d += "Z";
    attribute("d", d);
  }

  void operator()(const Line& line) {
    if (line.points.size() < 2) return;
    out += "<path";
    path(line.points, false);
    paint(nullptr, &line.stroke);
    attribute("stroke-linejoin", "round");
    out += "/>\n";
  }
  void operator()(const Area& area) {
    if (area.points.size() < 3) return;
    out += "<path";
    path(area.points, true);
    paint(&area.fill, &area.stroke);
    out += "/>\n";
  }
  void operator()(const Box& box) {
    out += "<rect";
    number("x", box.x);
    number("y", box.y);
    number("width", std::max(box.width, 0.0));
    number("height", std::max(box.height, 0.0));
    paint(&box.fill, &box.stroke);
    out += "/>\n";
  }
  void operator()(const Point& point) {
    const double r = point.radius, x = point.at.x, y = point.at.y;
    const Fill fill{point.role, point.opacity}, paper{Role::paper, 1};
    const Stroke line{point.role, 1.5, {}, point.opacity};
    const auto corners = [&](std::vector<At> points) {
      out += "<path";
      path(points, true);
      paint(&fill, nullptr);
    };
    switch (point.mark) {
      case Mark::dot:
      case Mark::ring:
        out += "<circle";
        number("cx", x);
        number("cy", y);
        number("r", r);
        if (point.mark == Mark::dot)
          paint(&fill, nullptr);
        else
          paint(&paper, &line);
        break;
      case Mark::square: corners({{x - r, y - r}, {x + r, y - r}, {x + r, y + r}, {x - r, y + r}}); break;
      case Mark::diamond: corners({{x, y - r}, {x + r, y}, {x, y + r}, {x - r, y}}); break;
      case Mark::triangle: corners({{x, y - r}, {x + r, y + r * 0.8}, {x - r, y + r * 0.8}}); break;
      case Mark::cross: {
        out += "<path";
        std::string d;
        for (const auto& [letter, px, py] : {std::tuple('M', x - r, y - r), std::tuple('L', x + r, y + r),
                                             std::tuple('M', x - r, y + r), std::tuple('L', x + r, y - r)}) {
          d += letter;
          d += place(px);
          d += ' ';
          d += place(py);
        }
        attribute("d", d);
        paint(nullptr, &line);
        break;
      }
    }
    if (point.says.empty())
      out += "/>\n";
    else
      out += "><title>" + escaped(point.says) + "</title></" +
             (point.mark == Mark::dot || point.mark == Mark::ring ? "circle" : "path") + ">\n";
  }
  void operator()(const Text& text) {
    // The halo lies behind as a copy in paper: drawing order of fill and stroke is not the same everywhere.
    if (text.halo) write_text(text, true);
    write_text(text, false);
  }

  std::string out;

 private:
  void write_text(const Text& text, bool halo) {
    out += "<text";
    number("x", text.at.x);
    number("y", text.at.y);
    if (text.turn != 0) {
      std::string turn("rotate(");
      for (const double part : {text.turn, text.at.x, text.at.y}) turn.append(place(part)).append(1, ' ');
      turn.back() = ')';
      attribute("transform", turn);
    }
    number("font-size", text.size);
    if (text.face == Face::serif) attribute("font-family", kSerif);
    if (text.strong) attribute("font-weight", "600");
    if (text.anchor != Anchor::start) attribute("text-anchor", text.anchor == Anchor::middle ? "middle" : "end");
    const Fill fill{halo ? Role::paper : text.role, 1};
    const Stroke stroke{Role::paper, 4, {}, 1};
    paint(&fill, halo ? &stroke : nullptr);
    if (halo) {
      attribute("stroke-linejoin", "round");
      attribute("aria-hidden", "true");
    }
    out.append(">").append(escaped(text.text)).append("</text>\n");
  }

  const SvgOptions& options_;
};

}  // namespace

std::string escaped(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c == '&') {
      out += "&amp;";
    } else if (c == '<') {
      out += "&lt;";
    } else if (c == '>') {
      out += "&gt;";
    } else if (c == '"') {
      out += "&quot;";
    } else if (c == '\'') {
      out += "&#39;";
    } else if (c < 32) {
      if (c == '\t' || c == '\n') out += ' ';
    } else if (c == 127) {
      continue;
    } else if (c < 128) {
      out += static_cast<char>(c);
    } else {
      // A whole UTF-8 letter, or nothing.
      const std::size_t size = c >= 0xF0 && c < 0xF5 ? 4 : c >= 0xE0 && c < 0xF0 ? 3 : c >= 0xC2 && c < 0xE0 ? 2 : 0;
      bool whole = size > 0 && i + size <= text.size();
      for (std::size_t k = 1; whole && k < size; ++k) whole = (static_cast<unsigned char>(text[i + k]) & 0xC0) == 0x80;
      if (!whole) continue;
      const auto second = static_cast<unsigned char>(text[i + 1]);
      const auto third = size > 2 ? static_cast<unsigned char>(text[i + 2]) : 0U;
      const bool forbidden = (c == 0xE0 && second < 0xA0) || (c == 0xED && second > 0x9F) ||
                             (c == 0xF0 && second < 0x90) || (c == 0xF4 && second > 0x8F) ||
                             (c == 0xEF && second == 0xBF && third >= 0xBE) || (c == 0xC2 && second < 0xA0);
      if (!forbidden) out.append(text.substr(i, size));
      i += size - 1;
    }
  }
  return out;
}

std::string svg_text(const Picture& picture, const SvgOptions& options) {
  Writer w(options);
  if (!options.in_a_page) w.out += "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n";
  const std::string id = escaped(options.id);
  w.out += "<svg";
  w.attribute("xmlns", "http://www.w3.org/2000/svg");
  w.attribute("viewBox", std::string("0 0 ").append(place(picture.width())) + " " + place(picture.height()));
  if (options.in_a_page) {
    w.attribute("width", "100%");
  } else {
    w.attribute("width", place(picture.width() * kMillimetresPerUnit) + "mm");
    w.attribute("height", place(picture.height() * kMillimetresPerUnit) + "mm");
  }
  w.attribute("role", "img");
  w.attribute("aria-labelledby", std::string("title").append(id) + " desc" + id);
  w.attribute("font-family", kSans);
  w.out += ">\n<title id=\"title" + id + "\">" + escaped(picture.title()) + "</title>\n<desc id=\"desc" + id + "\">" +
           escaped(picture.description()) + "</desc>\n";
  if (options.ground) w(Box{0, 0, picture.width(), picture.height(), {Role::paper, 1}, {Role::ink, 0, {}, 1}});
  for (const Shape& shape : picture.shapes()) std::visit(w, shape);
  w.out += "</svg>\n";
  return w.out;
}

}  // namespace ullage::drawing
