// Study tables: text up to a line "----" is a mapping, what follows is a table read through it; without such a line the
// table is in the open form. What is accepted becomes effects, a design and a pooled fit: numbers, or a reason in
// words.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <string>
#include <string_view>
#include <vector>

#include "engine/evidence/design.h"
#include "engine/evidence/effect_size.h"
#include "engine/evidence/multilevel.h"
#include "engine/evidence/pool.h"
#include "engine/evidence/robust.h"
#include "fuzz/require.h"
#include "service/interchange/cell_text.h"
#include "service/interchange/study_table.h"
#include "service/interchange/utf8.h"

namespace {

using namespace ullage;
using namespace ullage::evidence;
using C = interchange::StudyColumn;

void said(const std::string& message) {
  REQUIRE(!message.empty());
  REQUIRE(interchange::first_invalid_utf8(message) == std::string_view::npos);
}

// What no row may hold that is not called bad.
void check_row(const interchange::StudyRow& row) {
  for (std::size_t c = interchange::kStudyWords; c < interchange::kStudyColumnCount; ++c) {
    if (const auto value = row.number(static_cast<C>(c))) REQUIRE(std::isfinite(*value));
  }
  if (row.bad) return;
  for (const C n : {C::n, C::n1, C::n2}) {
    if (const auto value = row.number(n)) REQUIRE(*value >= 2);
  }
  for (const C sd : {C::sd1, C::sd2, C::pre_sd, C::post_sd, C::change_sd, C::se, C::variance}) {
    if (const auto value = row.number(sd)) REQUIRE(*value > 0);
  }
}

std::vector<Result<EffectSize>> effects_of(const interchange::StudyRow& row) {
  std::vector<Result<EffectSize>> out;
  const auto at = [&](C c) { return row.number(c); };
  if (at(C::effect) && at(C::variance)) out.push_back(EffectSize{*at(C::effect), *at(C::variance)});
  if (at(C::n1) && at(C::mean1) && at(C::sd1) && at(C::n2) && at(C::mean2) && at(C::sd2)) {
    const TwoGroups groups{*at(C::n1), *at(C::mean1), *at(C::sd1), *at(C::n2), *at(C::mean2), *at(C::sd2)};
    out.push_back(mean_difference(groups));
    out.push_back(standardised_mean_difference(groups));
    out.push_back(log_ratio_of_means(groups));
  }
  if (at(C::events1) && at(C::n1) && at(C::events2) && at(C::n2)) {
    const Counts counts{*at(C::events1), *at(C::n1), *at(C::events2), *at(C::n2)};
    out.push_back(log_odds_ratio(counts));
    out.push_back(log_risk_ratio(counts));
  }
  if (at(C::n) && at(C::pre_mean) && at(C::pre_sd) && at(C::post_mean) && at(C::r))
    out.push_back(
        standardised_mean_change({*at(C::n), *at(C::pre_mean), *at(C::pre_sd), *at(C::post_mean), *at(C::r)}));
  return out;
}

void fit(const std::vector<EffectSize>& effects, const std::vector<int>& study, const Eigen::MatrixXd& x,
         const std::vector<std::string>& names) {
  const auto n = static_cast<Eigen::Index>(effects.size());
  Eigen::VectorXd y(n), v(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    y(i) = effects[static_cast<std::size_t>(i)].effect;
    v(i) = effects[static_cast<std::size_t>(i)].variance;
  }
  const auto check = [](const Summary& s) {
    for (const Coefficient& c : s.coefficients) REQUIRE(!s.converged || std::isfinite(c.estimate));
  };
  for (const Method method : {Method::common, Method::REML, Method::PM}) {
    PoolOptions options;
    options.method = method;
    const auto pooled = pool(y, v, x, names, options);
    if (pooled) check(*pooled);
    if (!pooled) said(pooled.error().message);
  }
  MultilevelData data{y, v, x, names, {study, {}}};
  for (int i = 0; i < static_cast<int>(n); ++i) data.levels[1].push_back(i);
  const auto levels = fit_multilevel(data);
  if (!levels) return said(levels.error().message);
  check(*levels);
  const auto robust = cluster_robust(y, x, names, {v, 0, data.levels, levels->sigma2, 0.5}, study);
  if (!robust) said(robust.error().message);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using interchange::StudyRow;
  const std::string_view bytes(reinterpret_cast<const char*>(data), size);
  const std::size_t line = bytes.find("----\n");
  const bool mapped = line != std::string_view::npos;
  interchange::StudyMapping mapping;
  if (mapped) {
    auto parsed = interchange::parse_study_mapping(bytes.substr(0, line));
    if (!parsed) return said(parsed.error().message), 0;
    mapping = *std::move(parsed);
  }
  interchange::StringSource source(mapped ? bytes.substr(line + 5) : bytes);
  const auto table = interchange::read_study_table(source, mapped ? &mapping : nullptr);
  if (!table) return said(table.error().message), 0;
  for (const auto* faults : {&table->faults, &table->remarks}) {
    for (const interchange::Fault& f : *faults) said(interchange::fault_text(f));
  }
  std::vector<EffectSize> effects;
  std::vector<const StudyRow*> rows;
  for (const StudyRow& row : table->rows) {
    check_row(row);
    REQUIRE(row.moderators.size() == table->moderators.size());
    if (row.bad) continue;
    for (const auto& effect : effects_of(row)) {
      if (!effect) {
        said(effect.error().message);
      } else if (usable(*effect)) {
        effects.push_back(*effect);
        rows.push_back(&row);
      }
    }
  }
  if (effects.size() < 2 || effects.size() > 200) return 0;
  std::vector<std::string> studies;
  std::vector<int> study;
  for (const StudyRow* row : rows) {
    const auto at = std::find(studies.begin(), studies.end(), row->word(C::study));
    study.push_back(static_cast<int>(at - studies.begin()));
    if (at == studies.end()) studies.push_back(row->word(C::study));
  }
  fit(effects, study, Eigen::MatrixXd::Ones(static_cast<Eigen::Index>(effects.size()), 1), {"intercept"});
  if (table->moderators.empty()) return 0;
  Column column{table->moderators[0], true, {}, {}};
  for (const StudyRow* row : rows) {
    const std::string& text = row->moderators[0];
    const auto number = interchange::parse_number(text, false);
    column.words.push_back(text);
    column.numeric = column.numeric && (text.empty() || number);
    column.numbers.push_back(number.value_or(std::numeric_limits<double>::quiet_NaN()));
  }
  for (const Shape shape : {Shape::straight, Shape::spline}) {
    const auto complete = complete_rows({column.name}, {column}, rows.size());
    if (complete.size() != rows.size()) break;
    const auto terms = resolve({{shape, column.name, "", {}, 3}}, {column});
    if (!terms) {
      said(terms.error().message);
      continue;
    }
    const auto x = terms->matrix({column});
    if (!x)
      said(x.error().message);
    else
      fit(effects, study, *x, terms->names());
  }
  return 0;
}
