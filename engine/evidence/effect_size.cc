#include "engine/evidence/effect_size.h"

#include <array>
#include <cmath>

#include "engine/evidence/distributions.h"

namespace ullage::evidence {
namespace {

struct Named {
  Measure measure;
  std::string_view name, words;
};
constexpr std::array<Named, 7> kMeasures = {{{Measure::given, "", "effect as given"},
                                             {Measure::MD, "MD", "mean difference"},
                                             {Measure::SMD, "SMD", "standardised mean difference (Hedges g)"},
                                             {Measure::SMCR, "SMCR", "standardised mean change (sd before)"},
                                             {Measure::ROM, "ROM", "log ratio of means"},
                                             {Measure::OR, "OR", "log odds ratio"},
                                             {Measure::RR, "RR", "log risk ratio"}}};

tl::unexpected<Error> impossible(std::string what) { return fail(Code::invalid_input, std::move(what)); }

Result<void> check_n(double n, const char* name) {
  if (std::isfinite(n) && n >= 2) return {};
  return impossible(std::string(name) + " must be 2 or more people");
}
Result<void> check_sd(double sd, const char* name) {
  if (std::isfinite(sd) && sd > 0) return {};
  return impossible(std::string(name) + " must be above 0");
}
Result<void> check_mean(double mean, const char* name) {
  if (std::isfinite(mean)) return {};
  return impossible(std::string(name) + " must be a number");
}

Result<void> check(const TwoGroups& g) {
  for (const auto& result : {check_n(g.n1, "n1"), check_n(g.n2, "n2"), check_sd(g.sd1, "sd1"), check_sd(g.sd2, "sd2"),
                             check_mean(g.mean1, "mean1"), check_mean(g.mean2, "mean2")}) {
    if (!result) return result;
  }
  return {};
}

// The four cells of a table, a half added to each when one is empty.
struct Cells {
  double a, b, c, d;
};
Result<Cells> cells(const Counts& t) {
  if (!(t.n1 >= 1) || !(t.n2 >= 1) || !std::isfinite(t.n1) || !std::isfinite(t.n2))
    return impossible("n1 and n2 must be 1 or more people");
  if (!(t.events1 >= 0 && t.events1 <= t.n1)) return impossible("events1 must lie within 0 to n1");
  if (!(t.events2 >= 0 && t.events2 <= t.n2)) return impossible("events2 must lie within 0 to n2");
  Cells cells{t.events1, t.n1 - t.events1, t.events2, t.n2 - t.events2};
  if (cells.a + cells.c == 0)
    return impossible("nobody in either group had the event: the row says nothing about a ratio");
  if (cells.b + cells.d == 0)
    return impossible("everybody in both groups had the event: the row says nothing about a ratio");
  if (cells.a == 0 || cells.b == 0 || cells.c == 0 || cells.d == 0) {
    for (double* cell : {&cells.a, &cells.b, &cells.c, &cells.d}) *cell += 0.5;
  }
  return cells;
}

}  // namespace

std::string_view measure_name(Measure measure) { return kMeasures[static_cast<std::size_t>(measure)].name; }
std::string_view measure_words(Measure measure) { return kMeasures[static_cast<std::size_t>(measure)].words; }

std::optional<Measure> parse_measure(std::string_view text) {
  for (const Named& m : kMeasures) {
    if (m.name == text && !text.empty()) return m.measure;
  }
  return std::nullopt;
}

bool is_log_ratio(Measure measure) {
  return measure == Measure::ROM || measure == Measure::OR || measure == Measure::RR;
}

double small_sample_factor(double m) {
  return std::exp(std::lgamma(m / 2) - std::log(std::sqrt(m / 2)) - std::lgamma((m - 1) / 2));
}

bool usable(const EffectSize& e) { return std::abs(e.effect) <= 1e6 && e.variance >= 1e-12 && e.variance <= 1e12; }

Result<EffectSize> mean_difference(const TwoGroups& g) {
  if (const auto good = check(g); !good) return tl::unexpected(good.error());
  return EffectSize{g.mean1 - g.mean2, g.sd1 * g.sd1 / g.n1 + g.sd2 * g.sd2 / g.n2};
}

Result<EffectSize> standardised_mean_difference(const TwoGroups& g) {
  if (const auto good = check(g); !good) return tl::unexpected(good.error());
  const double m = g.n1 + g.n2 - 2;
  const double pooled = std::sqrt(((g.n1 - 1) * g.sd1 * g.sd1 + (g.n2 - 1) * g.sd2 * g.sd2) / m);
  const double effect = small_sample_factor(m) * (g.mean1 - g.mean2) / pooled;
  return EffectSize{effect, 1 / g.n1 + 1 / g.n2 + effect * effect / (2 * (g.n1 + g.n2))};
}

Result<EffectSize> standardised_mean_change(const BeforeAfter& g) {
  for (const auto& result : {check_n(g.n, "n"), check_sd(g.before_sd, "the sd before"),
                             check_mean(g.before, "the mean before"), check_mean(g.after, "the mean after")}) {
    if (!result) return tl::unexpected(result.error());
  }
  if (g.n < 3) return impossible("n must be 3 or more people for a standardised change");
  if (!(g.r > -1 && g.r < 1)) return impossible("r must lie between -1 and 1");
  const double effect = small_sample_factor(g.n - 1) * (g.after - g.before) / g.before_sd;
  return EffectSize{effect, 2 * (1 - g.r) / g.n + effect * effect / (2 * g.n)};
}

Result<EffectSize> log_ratio_of_means(const TwoGroups& g) {
  if (const auto good = check(g); !good) return tl::unexpected(good.error());
  if (!(g.mean1 / g.mean2 > 0) || !std::isfinite(g.mean1 / g.mean2))
    return impossible("mean1 and mean2 must both be above 0 (or both below) for a ratio");
  return EffectSize{std::log(g.mean1 / g.mean2),
                    g.sd1 * g.sd1 / (g.n1 * g.mean1 * g.mean1) + g.sd2 * g.sd2 / (g.n2 * g.mean2 * g.mean2)};
}

Result<EffectSize> log_odds_ratio(const Counts& counts) {
  const auto t = cells(counts);
  if (!t) return tl::unexpected(t.error());
  return EffectSize{std::log(t->a * t->d / (t->b * t->c)), 1 / t->a + 1 / t->b + 1 / t->c + 1 / t->d};
}

Result<EffectSize> log_risk_ratio(const Counts& counts) {
  const auto t = cells(counts);
  if (!t) return tl::unexpected(t.error());
  const double n1 = t->a + t->b, n2 = t->c + t->d;
  return EffectSize{std::log(t->a / n1 / (t->c / n2)), 1 / t->a - 1 / n1 + 1 / t->c - 1 / n2};
}

double sd_of_change(double before, double after, double r) {
  return std::sqrt(before * before + after * after - 2 * r * before * after);
}
double sd_from_error(double se, double n) { return se * std::sqrt(n); }
double sd_from_interval(double low, double high, double n, double level) {
  return std::sqrt(n) * (high - low) / (2 * student_quantile(0.5 + level / 2, n - 1));
}

}  // namespace ullage::evidence
