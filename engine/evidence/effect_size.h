// Effect sizes of single comparisons with their sampling variances.
//
// Sign: always the first group minus the second, or after minus before. More is better or worse as the outcome is; who
// reads the table says which (service/coach/evidence.h asks).
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "engine/base/result.h"

namespace ullage::evidence {

enum class Measure { given, MD, SMD, SMCR, ROM, OR, RR };
std::string_view measure_name(Measure measure);  // "MD"; "" when given
std::optional<Measure> parse_measure(std::string_view text);
// In words: "standardised mean difference (Hedges g)".
std::string_view measure_words(Measure measure);
// The log of a ratio: effects are shown as exp(effect) beside it.
bool is_log_ratio(Measure measure);

struct EffectSize {
  double effect = 0;
  double variance = 0;  // of its sampling error, > 0
};

// Whether an effect can be pooled: |effect| up to 1e6, variance from 1e-12 to 1e12 (assumption: beyond, a unit or a
// column is wrong, and squares of weights lose their digits).
bool usable(const EffectSize& effect);

// Two groups that have nobody in common.
struct TwoGroups {
  double n1 = 0, mean1 = 0, sd1 = 0, n2 = 0, mean2 = 0, sd2 = 0;
};
// One group before and after; r: correlation of the two.
struct BeforeAfter {
  double n = 0, before = 0, before_sd = 0, after = 0, r = 0;
};
// Events in two groups of n.
struct Counts {
  double events1 = 0, n1 = 0, events2 = 0, n2 = 0;
};

// All: invalid_input when the numbers are impossible (n below 2, sd not above 0, events not within 0 to n, r not within
// -1 to 1), with what was expected in words.

// Mean difference: mean1 - mean2, variance sd1^2/n1 + sd2^2/n2.
Result<EffectSize> mean_difference(const TwoGroups& groups);

// Standardised mean difference, Hedges g = J(m) (mean1 - mean2)/s, s pooled, m = n1 + n2 - 2, variance
// 1/n1 + 1/n2 + g^2/(2 (n1 + n2)). Hedges 1981, J Educ Stat 6(2):107-128, doi 10.3102/10769986006002107 (J exact);
// variance: Hedges 1982, Psychol Bull 92(2):490-499, doi 10.1037/0033-2909.92.2.490.
Result<EffectSize> standardised_mean_difference(const TwoGroups& groups);

// Standardised mean change with the sd before: J(n-1) (after - before)/before_sd, variance
// 2(1-r)/n + g^2/(2n). Becker 1988, Br J Math Stat Psychol 41(2):257-278, doi 10.1111/j.2044-8317.1988.tb00901.x.
Result<EffectSize> standardised_mean_change(const BeforeAfter& group);

// Log ratio of means: log(mean1/mean2), variance sd1^2/(n1 mean1^2) + sd2^2/(n2 mean2^2); means of one sign.
// Hedges, Gurevitch, Curtis 1999, Ecology 80(4):1150-1156, doi 10.1890/0012-9658(1999)080[1150:TMAORR]2.0.CO;2.
Result<EffectSize> log_ratio_of_means(const TwoGroups& groups);

// Log odds ratio, variance the sum of 1/cell; log risk ratio, variance 1/a - 1/n1 + 1/c - 1/n2. With an empty cell a
// half is added to each of that table's four. Cochrane Handbook 6.4, sections 10.4.1-10.4.2. Nobody or everybody with
// the event in both groups: for the odds ratio and the risk ratio such a table says nothing and is refused.
Result<EffectSize> log_odds_ratio(const Counts& counts);
Result<EffectSize> log_risk_ratio(const Counts& counts);

// J(m) = Gamma(m/2) / (sqrt(m/2) Gamma((m-1)/2)): what takes the small-sample bias out of a standardised difference.
double small_sample_factor(double m);

// ---- What a table often gives instead of what is needed.

// sd of the change from those before and after: Cochrane Handbook 6.4, section 6.5.2.8.
double sd_of_change(double sd_before, double sd_after, double r);
// sd from a standard error, and from a two-sided interval by Student's t with n - 1 degrees of freedom:
// section 6.5.2.2.
double sd_from_error(double se, double n);
double sd_from_interval(double low, double high, double n, double level = 0.95);

}  // namespace ullage::evidence
