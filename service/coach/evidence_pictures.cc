#include "service/coach/evidence_pictures.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "engine/drawing/plot.h"
#include "engine/drawing/scale.h"
#include "engine/evidence/distributions.h"

namespace ullage::coach {
namespace {

using drawing::Anchor;
using drawing::At;
using drawing::interval_text;
using drawing::kColumn;
using drawing::kMargin;
using drawing::kSmall;
using drawing::Mark;
using drawing::Picture;
using drawing::Plot;
using drawing::Role;
using drawing::Scale;
using drawing::Stroke;

constexpr double kRow = 18;

std::string axis_words(const EvidenceFit& fit) {
  std::string words(evidence::measure_words(fit.data.measure));
  if (evidence::is_log_ratio(fit.data.measure)) words = words.substr(4) + ", log scale";
  return words;
}

std::string effects_words(const EvidenceFit& fit) {
  const auto k = fit.data.y.size();
  if (fit.data.studies == static_cast<int>(k)) return fmt::format("{} studies", fit.data.studies);
  return fmt::format("{} effects in {} studies", k, fit.data.studies);
}

// A log ratio's axis is marked with the ratios.
void value_axis(Plot& plot, const EvidenceFit& fit, const std::string& words, int about) {
  if (!evidence::is_log_ratio(fit.data.measure)) {
    plot.axis_x(words, about);
    return;
  }
  const Scale ratio = Scale::log(std::exp(plot.x().low()), std::exp(plot.x().high()));
  std::vector<std::pair<double, std::string>> ticks;
  for (const double t : ratio.ticks(about)) ticks.emplace_back(std::log(t), ratio.tick_text(t, about));
  plot.axis_x(words, ticks);
}

// Ends that hold nearly all intervals; the widest few end in arrows.
Scale forest_scale(const std::vector<ForestRow>& entries, const evidence::Range& also, double critical) {
  std::vector<double> ends{0}, halves;
  for (const ForestRow& e : entries) halves.push_back(critical * e.se);
  std::sort(halves.begin(), halves.end());
  const double usual = halves[static_cast<std::size_t>(0.9 * static_cast<double>(halves.size() - 1))];
  for (const ForestRow& e : entries) {
    const double half = std::min(critical * e.se, usual);
    ends.push_back(e.y - half);
    ends.push_back(e.y + half);
  }
  if (also.known()) {
    ends.push_back(also.low);
    ends.push_back(also.high);
  }
  return Scale::around(ends, false, 4);
}

// A name that fits, its year kept: "Alexander J... 1981".
std::string fitted_name(const std::string& name, double width) {
  const auto blank = name.rfind(' ');
  const bool year = blank != std::string::npos && name.size() - blank == 5 &&
                    std::all_of(name.begin() + static_cast<std::ptrdiff_t>(blank) + 1, name.end(),
                                [](char c) { return c >= '0' && c <= '9'; });
  if (!year || drawing::text_width(name, kSmall) <= width) return drawing::shortened(name, kSmall, width);
  const std::string end = name.substr(blank);
  return drawing::shortened(name.substr(0, blank), kSmall, width - drawing::text_width(end, kSmall)) + end;
}

std::string pooled_words(const EvidenceFit& fit) {
  const evidence::Coefficient& c = fit.summary.coefficients[0];
  return interval_text(c.estimate, c.interval.low, c.interval.high, 2);
}

}  // namespace

std::vector<ForestRow> forest_rows(const EvidenceFit& fit) {
  std::vector<ForestRow> out;
  if (fit.data.y.size() <= kMostForestRows) {
    for (Eigen::Index i = 0; i < fit.data.y.size(); ++i)
      out.push_back({fit.data.label[static_cast<std::size_t>(i)], fit.data.y(i), std::sqrt(fit.data.v(i))});
    return out;
  }
  for (int s = 0; s < fit.data.studies; ++s) {
    double w = 0, wy = 0;
    ForestRow e;
    for (std::size_t i = 0; i < fit.data.study_of.size(); ++i) {
      if (fit.data.study_of[i] != s) continue;
      const auto at = static_cast<Eigen::Index>(i);
      w += 1 / fit.data.v(at);
      wy += fit.data.y(at) / fit.data.v(at);
      e.name = fit.data.label[i];
    }
    e.y = wy / w;
    e.se = 1 / std::sqrt(w);
    out.push_back(e);
  }
  return out;
}

Picture forest_picture(const EvidenceFit& fit) {
  const bool pooled = fit.summary.p == 1;
  const evidence::Coefficient& c = fit.summary.coefficients[0];
  const double critical =
      evidence::student_quantile(0.5 + fit.model.level / 2, std::numeric_limits<double>::infinity());
  const std::vector<ForestRow> entries = forest_rows(fit);
  const bool by_study = static_cast<Eigen::Index>(entries.size()) < fit.data.y.size();
  Picture p(
      kColumn,
      pooled ? "Pooled: " + pooled_words(fit) + " from " + effects_words(fit) : "The effects: " + effects_words(fit),
      fmt::format("Forest plot, {}: each effect with its {:.0f} % interval{}. {}.",
                  evidence::measure_words(fit.data.measure), 100 * fit.model.level,
                  pooled ? ", the pooled effect and the prediction interval" : "", fit.model_words));
  const double top = p.heading(fit.model_words + (fit.data.turned ? "; above 0 is better" : ""));
  const double left = 134, right = 272;
  const double rows = static_cast<double>(entries.size());
  const double bottom = top + kRow * rows + (pooled ? 2.6 * kRow : 0.4 * kRow);
  Plot plot(p, {left, top, right, bottom},
            forest_scale(entries, pooled ? fit.summary.prediction : evidence::Range{}, critical),
            Scale::linear(0, bottom - top), true);
  plot.rule_x(0);
  double most = 0;
  for (const ForestRow& e : entries) most = std::max(most, 1 / e.se);
  double y = 0.5 * kRow;
  for (const ForestRow& e : entries) {
    const double text_y = top + y + kSmall * 0.35;
    p.text({kMargin, text_y}, fitted_name(e.name, left - kMargin - 6));
    plot.whisker_x(y, e.y - critical * e.se, e.y + critical * e.se, {Role::ink, 1.2, {}, 1});
    if (plot.x().holds(e.y)) plot.point(e.y, y, Mark::square, 2 + 3.5 / (e.se * most), Role::done);
    p.text({kColumn - kMargin, text_y}, interval_text(e.y, e.y - critical * e.se, e.y + critical * e.se, 2),
           Anchor::end, Role::ink);
    y += kRow;
  }
  if (pooled) {
    y += 0.3 * kRow;
    const double at = top + y;
    p.add(drawing::Line{{{kMargin, at - kRow * 0.62}, {kColumn - kMargin, at - kRow * 0.62}}, {Role::rule, 1, {}, 1}});
    const double x0 = plot.x()(plot.x().clamped(c.interval.low)), x1 = plot.x()(plot.x().clamped(c.interval.high)),
                 xm = plot.x()(plot.x().clamped(c.estimate));
    p.add(drawing::Area{{{x0, at}, {xm, at - 6}, {x1, at}, {xm, at + 6}}, {Role::median, 1}, {Role::ink, 0, {}, 1}});
    p.text({kMargin, at + kSmall * 0.35}, "pooled");
    p.text({kColumn - kMargin, at + kSmall * 0.35}, pooled_words(fit), Anchor::end);
    y += kRow;
    const evidence::Range& r = fit.summary.prediction;
    const double from = plot.x()(plot.x().clamped(r.low)), to = plot.x()(plot.x().clamped(r.high));
    p.add(drawing::Box{
        from, top + y - 4, to - from, 8, {Role::doubt, drawing::kDoubtOpacity}, {Role::median, 1, {3, 2}, 1}});
    p.text({kMargin, top + y + kSmall * 0.35}, "a new study");
    p.text({kColumn - kMargin, top + y + kSmall * 0.35},
           drawing::number_text(r.low, 2) + " to " + drawing::number_text(r.high, 2), Anchor::end);
  }
  value_axis(plot, fit, "", 3);
  double end = bottom + Plot::axis_height(false) + 4;
  std::string note = axis_words(fit) + fmt::format("; {:.0f} % intervals", 100 * fit.model.level);
  if (evidence::is_log_ratio(fit.data.measure)) note += "; figures are logs, the axis ratios";
  if (by_study) note += "; each line is a study, its effects averaged by precision";
  note += fmt::format(". I\u00B2 {:.0f} %.", fit.summary.i2);
  p.end_at(p.note(end, note) + 4);
  return p;
}

Picture funnel_picture(const EvidenceFit& fit) {
  const double center = fit.summary.coefficients[0].estimate;
  // A few far less precise than the rest do not decide the scale: they are marked at the edge.
  std::vector<double> errors, xs;
  for (const double v : fit.data.v) errors.push_back(std::sqrt(v));
  std::sort(errors.begin(), errors.end());
  const double usual = errors[static_cast<std::size_t>(0.9 * static_cast<double>(errors.size() - 1))];
  double most = usual;
  for (const double e : errors) {
    if (e <= 2 * usual) most = e;
  }
  for (Eigen::Index i = 0; i < fit.data.y.size(); ++i) {
    if (std::sqrt(fit.data.v(i)) <= most) xs.push_back(fit.data.y(i));
  }
  Picture p(kColumn, "Small studies against large: " + effects_words(fit),
            "Funnel plot: effects against their standard errors, with the 95 % cone around the pooled effect.");
  const double top = p.heading("within the cone lie 95 % if nothing but sampling spreads them") + 22;
  const Scale se = Scale::around({0, most});
  xs.push_back(center - 1.96 * se.high());
  xs.push_back(center + 1.96 * se.high());
  Plot plot(p, {56, top, 400, top + 250}, Scale::around(xs), se, true);
  plot.grid_y();
  plot.axis_y("standard error (top: most precise)");
  plot.line({center, center - 1.96 * se.high()}, {0, se.high()}, {Role::quiet, 1, {4, 3}, 1});
  plot.line({center, center + 1.96 * se.high()}, {0, se.high()}, {Role::quiet, 1, {4, 3}, 1});
  plot.line({center, center}, {0, se.high()}, {Role::median, 1.5, {}, 1});
  bool beyond = false;
  for (Eigen::Index i = 0; i < fit.data.y.size(); ++i) {
    const double x = plot.x().clamped(fit.data.y(i)), y = plot.y().clamped(std::sqrt(fit.data.v(i)));
    const bool inside = x == fit.data.y(i) && y * y >= fit.data.v(i) * (1 - 1e-9);
    beyond = beyond || !inside;
    plot.point(x, y, inside ? Mark::dot : Mark::triangle, 3.5, Role::done, 0.65,
               fit.data.label[static_cast<std::size_t>(i)]);
  }
  value_axis(plot, fit, axis_words(fit), 5);
  const double end = top + 250 + Plot::axis_height(true);
  p.end_at(beyond ? p.note(end + 4, "Triangles lie beyond the picture.") + 4 : end + kMargin);
  return p;
}

Picture influence_picture(const EvidenceFit& fit, const EvidenceChecks& checks) {
  const evidence::Coefficient& c = fit.by_model[0];
  double low = c.estimate, high = c.estimate;
  std::vector<double> ends{c.interval.low, c.interval.high};
  for (const evidence::WithoutGroup& w : checks.without) {
    if (!w.possible) continue;
    ends.push_back(w.interval.low);
    ends.push_back(w.interval.high);
    low = std::min(low, w.estimate);
    high = std::max(high, w.estimate);
  }
  Picture p(kColumn,
            fmt::format("Any one left out: {} to {}", drawing::number_text(low, 2), drawing::number_text(high, 2)),
            "Influence: the estimate and its interval with each study left out, against that of all studies.");
  const double top =
      p.heading(fit.model_words + "; all studies: " + interval_text(c.estimate, c.interval.low, c.interval.high, 2));
  const double left = 134, right = 272;
  const double bottom = top + kRow * (static_cast<double>(checks.without.size()) + 0.4);
  Plot plot(p, {left, top, right, bottom}, Scale::around(ends, false, 4), Scale::linear(0, bottom - top), true);
  plot.band({c.interval.low, c.interval.high}, {0, 0}, {bottom - top, bottom - top}, {Role::doubt, 0.25});
  plot.line({c.estimate, c.estimate}, {0, bottom - top}, {Role::median, 1.5, {}, 1});
  if (plot.x().holds(0)) plot.rule_x(0);
  double y = 0.6 * kRow;
  for (std::size_t i = 0; i < checks.without.size(); ++i, y += kRow) {
    const evidence::WithoutGroup& w = checks.without[i];
    const double text_y = top + y + kSmall * 0.35;
    p.text({kMargin, text_y}, fitted_name(checks.names[i], left - kMargin - 6));
    if (!w.possible) {
      p.text({kColumn - kMargin, text_y}, "not possible", Anchor::end, Role::quiet);
      continue;
    }
    plot.whisker_x(y, w.interval.low, w.interval.high, {Role::ink, 1.2, {}, 1});
    plot.point(w.estimate, y, Mark::dot, 3, Role::done);
    p.text({kColumn - kMargin, text_y}, interval_text(w.estimate, w.interval.low, w.interval.high, 2), Anchor::end);
  }
  value_axis(plot, fit, "", 3);
  p.end_at(p.note(bottom + Plot::axis_height(false) + 4,
                  axis_words(fit) + "; each line: the result without that one. Line and band: with all." +
                      (fit.robust ? " Here with the model's own errors." : "")) +
           4);
  return p;
}

Picture curve_picture(const EvidenceFit& fit, const std::string& along,
                      const std::vector<evidence::CurvePoint>& curve) {
  std::vector<double> xs, means, lows, highs, far_low, far_high, ys;
  for (const evidence::CurvePoint& c : curve) {
    xs.push_back(c.x);
    means.push_back(c.estimate);
    lows.push_back(c.interval.low);
    highs.push_back(c.interval.high);
    far_low.push_back(c.prediction.low);
    far_high.push_back(c.prediction.high);
  }
  const evidence::CurvePoint &first = curve.front(), &last = curve.back();
  Picture p(
      kColumn,
      fmt::format("{} {}: {}; {}: {}", along, drawing::number_text(first.x, 0),
                  interval_text(first.estimate, first.interval.low, first.interval.high, 2),
                  drawing::number_text(last.x, 0),
                  interval_text(last.estimate, last.interval.low, last.interval.high, 2)),
      "Dose-response: fitted mean along " + along + " with its interval and prediction band, over the single effects.");
  const double top = p.heading(effects_words(fit) + ", " + fit.model_words) + 22;
  // Outlying effects do not decide the scale: 2.5 % on each side may be marked at the edge.
  std::vector<double> sorted(fit.data.y.begin(), fit.data.y.end());
  std::sort(sorted.begin(), sorted.end());
  const auto share = [&](double q) {
    return sorted[static_cast<std::size_t>(q * static_cast<double>(sorted.size() - 1))];
  };
  ys = {share(0.025), share(0.975), 0};
  ys.insert(ys.end(), far_low.begin(), far_low.end());
  ys.insert(ys.end(), far_high.begin(), far_high.end());
  const evidence::Column* column = evidence::find_column(fit.data.columns, along);
  std::vector<double> span = xs;
  for (const double x : column->numbers) span.push_back(x);
  Plot plot(p, {52, top, 400, top + 250}, Scale::around(span), Scale::around(ys));
  plot.grid_y();
  plot.band(xs, far_low, far_high, {Role::doubt, 0.18});
  plot.band(xs, lows, highs);
  if (plot.y().holds(0)) plot.rule_y(0);
  double most = 0;
  for (Eigen::Index i = 0; i < fit.data.y.size(); ++i) most = std::max(most, 1 / std::sqrt(fit.data.v(i)));
  for (Eigen::Index i = 0; i < fit.data.y.size(); ++i) {
    const double y = plot.y().clamped(fit.data.y(i));
    plot.point(column->numbers[static_cast<std::size_t>(i)], y, y == fit.data.y(i) ? Mark::dot : Mark::triangle,
               1.5 + 4 / (std::sqrt(fit.data.v(i)) * most), Role::done, 0.45,
               fit.data.label[static_cast<std::size_t>(i)]);
  }
  plot.line(xs, means, {Role::median, 2.2, {}, 1});
  plot.axis_x(along);
  plot.axis_y(axis_words(fit));
  p.end_at(
      p.note(top + 250 + Plot::axis_height(true) + 4,
             fmt::format("Dark band: {:.0f} % interval of the mean. {} Larger dots are more precise; triangles lie "
                         "beyond the picture.",
                         100 * fit.model.level,
                         fit.summary.heterogeneity > 1e-9
                             ? "Light band: where a new study's true effect may lie."
                             : "No spread between studies was found, so a new study's band is the same.")) +
      4);
  return p;
}

}  // namespace ullage::coach
