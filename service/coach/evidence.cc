#include "service/coach/evidence.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <limits>
#include <set>
#include <sstream>

#include "engine/evidence/distributions.h"
#include "service/interchange/cell_text.h"
#include "service/interchange/open_table.h"
#include "service/interchange/sheet_text.h"

namespace ullage::coach {
namespace {

using evidence::Column;
using evidence::EffectSize;
using evidence::Measure;
using interchange::StudyRow;
using C = interchange::StudyColumn;

constexpr double kHalfOf95 = 1.959963984540054;  // an interval as published is taken for one of 95 %

void count(std::vector<RowsWith>& list, const std::string& reason, std::uint64_t line) {
  for (RowsWith& r : list) {
    if (r.reason == reason) {
      ++r.rows;
      return;
    }
  }
  list.push_back({reason, 1, line});
}

// An effect, or why there is none; `how` gathers what had to be worked out.
class Maker {
 public:
  Maker(const StudyRow& row, const EvidenceWish& wish, EvidenceTable& table) : row_(row), wish_(wish), table_(table) {}

  Result<EffectSize> make(Measure measure) {
    switch (measure) {
      case Measure::given: return given();
      case Measure::SMCR: return change();
      case Measure::OR:
      case Measure::RR: {
        const auto a = row_.number(C::events1), n1 = row_.number(C::n1), b = row_.number(C::events2),
                   n2 = row_.number(C::n2);
        if (!a || !n1 || !b || !n2) return fail(Code::invalid_input, "events or n missing");
        const evidence::Counts counts{*a, *n1, *b, *n2};
        return measure == Measure::OR ? evidence::log_odds_ratio(counts) : evidence::log_risk_ratio(counts);
      }
      default: break;
    }
    const auto n1 = row_.number(C::n1), n2 = row_.number(C::n2), m1 = row_.number(C::mean1), m2 = row_.number(C::mean2);
    if (!n1 || !n2) return fail(Code::invalid_input, "n missing");
    if (!m1 || !m2) return fail(Code::invalid_input, "a mean missing");
    const auto sd1 = spread(C::sd1, C::se1, *n1), sd2 = spread(C::sd2, C::se2, *n2);
    if (!sd1 || !sd2) return fail(Code::invalid_input, "an sd missing");
    const evidence::TwoGroups groups{*n1, *m1, *sd1, *n2, *m2, *sd2};
    if (measure == Measure::MD) return evidence::mean_difference(groups);
    if (measure == Measure::SMD) return evidence::standardised_mean_difference(groups);
    return evidence::log_ratio_of_means(groups);
  }

 private:
  Result<EffectSize> given() {
    const auto effect = row_.number(C::effect);
    if (!effect) return fail(Code::invalid_input, "effect missing");
    if (const auto v = row_.number(C::variance)) return EffectSize{*effect, *v};
    if (const auto se = row_.number(C::se)) return EffectSize{*effect, *se * *se};
    const auto low = row_.number(C::ci_lo), high = row_.number(C::ci_hi);
    if (!low || !high) return fail(Code::invalid_input, "variance, se or interval missing");
    count(table_.worked_out, "variance from the 95 % interval", row_.line);
    const double se = (*high - *low) / (2 * kHalfOf95);
    return EffectSize{*effect, se * se};
  }

  std::optional<double> spread(C sd, C se, double n) {
    if (const auto value = row_.number(sd)) return value;
    const auto error = row_.number(se);
    if (!error) return std::nullopt;
    count(table_.worked_out, "sd from its standard error", row_.line);
    return evidence::sd_from_error(*error, n);
  }

  Result<EffectSize> change() {
    const auto n = row_.number(C::n);
    if (!n) return fail(Code::invalid_input, "n missing");
    const auto before = row_.number(C::pre_mean), after = row_.number(C::post_mean),
               difference = row_.number(C::change_mean);
    if (!difference && (!before || !after)) return fail(Code::invalid_input, "a mean before or after missing");
    const double moved = before && after ? *after - *before : *difference;
    auto before_sd = spread(C::pre_sd, C::pre_se, *n);
    const auto after_sd = spread(C::post_sd, C::post_se, *n);
    auto change_sd = spread(C::change_sd, C::change_se, *n);
    if (!change_sd && wish_.sd_from_tests) {
      if (const auto t = row_.number(C::change_t); t && *t != 0 && moved != 0) {
        change_sd = std::abs(moved) * std::sqrt(*n) / std::abs(*t);
        count(table_.worked_out, "sd of the change from its t value", row_.line);
      }
    }
    auto r = row_.number(C::r);
    if (!r && before_sd && after_sd && change_sd) {
      const double worked =
          (*before_sd * *before_sd + *after_sd * *after_sd - *change_sd * *change_sd) / (2 * *before_sd * *after_sd);
      if (worked > -1 && worked < 1) {
        r = worked;
        count(table_.worked_out, "correlation of before and after from the three sds", row_.line);
      }
    }
    if (!r && wish_.assumed_r) {
      r = wish_.assumed_r;
      count(table_.worked_out, fmt::format("correlation of before and after assumed to be {:g}", *r), row_.line);
    }
    if (!r) return fail(Code::invalid_input, "correlation of before and after missing (--assumed-r gives one)");
    if (!before_sd && change_sd && wish_.sd_from_tests) {
      // Equal spread before and after: sd of the change = sd sqrt(2 (1 - r)).
      before_sd = *change_sd / std::sqrt(2 * (1 - *r));
      count(table_.worked_out, "sd before from the change's", row_.line);
    }
    if (!before_sd) return fail(Code::invalid_input, "sd before missing");
    return evidence::standardised_mean_change({*n, 0, *before_sd, moved, *r});
  }

  const StudyRow& row_;
  const EvidenceWish& wish_;
  EvidenceTable& table_;
};

Result<Measure> measure_of(const interchange::StudyTable& t, const EvidenceWish& wish) {
  if (wish.measure) return *wish.measure;
  std::vector<Measure> fits;
  if (t.has(C::effect)) fits.push_back(Measure::given);
  if (fits.empty() && t.has(C::mean1) && t.has(C::mean2)) fits = {Measure::SMD, Measure::MD, Measure::ROM};
  if (fits.empty() && t.has(C::events1) && t.has(C::events2)) fits = {Measure::RR, Measure::OR};
  if (fits.empty() && (t.has(C::pre_mean) || t.has(C::change_mean))) fits = {Measure::SMCR};
  if (fits.size() == 1) return fits.front();
  if (fits.empty())
    return fail(Code::invalid_input,
                "the study table has neither effects nor what they are computed from: effect with "
                "variance, se or ci_lo and ci_hi; n1, mean1, sd1, n2, mean2, sd2; events1, n1, events2, n2; or n, "
                "pre_mean, pre_sd, post_mean, r");
  std::string names;
  for (const Measure m : fits)
    names += fmt::format("{}{} ({})", names.empty() ? "" : ", ", evidence::measure_name(m), evidence::measure_words(m));
  return fail(Code::invalid_input, "--measure: the table allows several: " + names);
}

std::vector<int> numbered(const std::vector<std::string>& words) {
  std::map<std::string, int> seen;
  std::vector<int> out;
  for (const std::string& w : words) out.push_back(seen.emplace(w, static_cast<int>(seen.size())).first->second);
  return out;
}

Result<std::string> file_text(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  if (!in) return fail(Code::not_found, "no file " + path);
  return text.str();
}

}  // namespace

Result<std::string> study_text(const std::string& path, std::size_t most) {
  const auto opened = interchange::open_table(path);
  if (!opened) return tl::unexpected(opened.error());
  if (!opened->book) {
    auto text = file_text(path);
    if (text && text->size() > most)
      return fail(Code::invalid_input, "it is longer than " + std::to_string(most >> 20) + " MB");
    return text;
  }
  auto sheet = interchange::first_sheet_as_csv(*opened->book, most);
  if (!sheet) return tl::unexpected(sheet.error());
  return std::move(sheet->text);
}

EvidenceTable EvidenceTable::subset(const std::vector<std::size_t>& rows) const {
  EvidenceTable out = *this;
  std::vector<Eigen::Index> at(rows.begin(), rows.end());
  out.y = Eigen::VectorXd(y(at));
  out.v = Eigen::VectorXd(v(at));
  const auto pick = [&](const auto& from) {
    std::decay_t<decltype(from)> to;
    for (const std::size_t i : rows) to.push_back(from[i]);
    return to;
  };
  for (Column& c : out.columns) {
    if (c.numeric) c.numbers = pick(c.numbers);
    if (!c.words.empty()) c.words = pick(c.words);
  }
  out.study = pick(study);
  out.label = pick(label);
  out.line = pick(line);
  out.group_of = pick(group_of);
  out.study_of = numbered(out.study);
  out.studies = static_cast<int>(std::set<int>(out.study_of.begin(), out.study_of.end()).size());
  return out;
}

Result<EvidenceTable> gather(const EvidenceWish& wish) {
  std::optional<interchange::StudyMapping> mapping;
  if (!wish.mapping.empty() || !wish.mapping_text.empty()) {
    const auto text = wish.mapping_text.empty() ? file_text(wish.mapping) : Result<std::string>(wish.mapping_text);
    if (!text) return tl::unexpected(text.error());
    auto parsed = interchange::parse_study_mapping(*text);
    if (!parsed) return tl::unexpected(parsed.error());
    mapping = *std::move(parsed);
  }
  const auto read = [&]() -> Result<interchange::StudyTable> {
    const interchange::StudyMapping* through = mapping ? &*mapping : nullptr;
    if (!wish.text.empty()) {
      interchange::StringSource source(wish.text);
      return interchange::read_study_table(source, through);
    }
    const auto text = study_text(wish.file, kLongestStudyFile);
    if (!text) return tl::unexpected(text.error());
    interchange::StringSource source(*text);
    return interchange::read_study_table(source, through);
  }();
  if (!read) return tl::unexpected(read.error());
  const auto measure = measure_of(*read, wish);
  if (!measure) return tl::unexpected(measure.error());

  EvidenceTable t;
  t.measure = *measure;
  t.rows_read = read->read;
  t.dropped = read->dropped;
  std::vector<std::size_t> where;
  for (const auto& [name, value] : wish.where) {
    const auto at = std::find(read->moderators.begin(), read->moderators.end(), name);
    if (at == read->moderators.end())
      return fail(Code::invalid_input, "the study table has no column \"" + name + "\" to choose rows by");
    where.push_back(static_cast<std::size_t>(at - read->moderators.begin()));
    t.dropped.push_back({name + " is not \"" + value + "\"", 0});
  }
  std::set<std::uint64_t> faulty;
  const bool by_column = read->has(C::better);
  std::vector<double> y, v;
  std::vector<const StudyRow*> used;
  for (const StudyRow& row : read->rows) {
    bool wanted = true;
    for (std::size_t i = 0; i < where.size() && wanted; ++i) {
      wanted = interchange::lower_case(row.moderators[where[i]]) == interchange::lower_case(wish.where[i].second);
      if (!wanted) ++t.dropped[read->dropped.size() + i].rows;
    }
    if (!wanted) continue;
    if (row.bad) {
      faulty.insert(row.line);
      count(t.left_out, "impossible or not a number (listed below)", row.line);
      continue;
    }
    EvidenceTable tried;  // what was worked out counts only where an effect came of it
    auto effect = Maker(row, wish, tried).make(*measure);
    if (!effect) {
      count(t.left_out, effect.error().message, row.line);
      continue;
    }
    if (!evidence::usable(*effect)) {
      count(t.left_out, "effect or variance too large or too small to be one", row.line);
      continue;
    }
    if (wish.more_is_better || by_column) {
      const std::string& word = row.word(C::better);
      if (word.empty() && !wish.more_is_better) {
        count(t.left_out, "better is blank: which side is better is not known", row.line);
        continue;
      }
      const bool less = word.empty() ? !*wish.more_is_better : word == "less";
      if (less) effect->effect = -effect->effect;
      if (less) count(t.worked_out, "sign turned round, because less is better", row.line);
      t.turned = true;
    }
    for (const RowsWith& w : tried.worked_out) count(t.worked_out, w.reason, row.line);
    y.push_back(effect->effect);
    v.push_back(effect->variance);
    used.push_back(&row);
  }
  for (const interchange::Fault& fault : read->faults) {
    if (faulty.contains(fault.line)) t.faults.push_back(fault);
  }
  std::set<std::uint64_t> lines;
  for (const StudyRow* row : used) lines.insert(row->line);
  for (const interchange::Fault& remark : read->remarks) {
    if (lines.contains(remark.line)) t.remarks.push_back(remark);
  }
  t.refused = !t.left_out.empty() && !wish.skip_bad;

  t.y = Eigen::Map<Eigen::VectorXd>(y.data(), static_cast<Eigen::Index>(y.size()));
  t.v = Eigen::Map<Eigen::VectorXd>(v.data(), static_cast<Eigen::Index>(v.size()));
  std::vector<std::string> groups;
  Column study{"study", false, {}, {}}, group{"group", false, {}, {}};
  for (const StudyRow* row : used) {
    std::string name = row->word(C::study);
    if (name.empty()) name = row->word(C::label);
    if (name.empty()) name = fmt::format("row {}", row->line);
    const std::string& label = row->word(C::label);
    t.label.push_back(label.empty() ? name : label);
    groups.push_back(name + "\n" + row->word(C::group));
    study.words.push_back(name);
    group.words.push_back(row->word(C::group));
    t.study.push_back(std::move(name));
    t.line.push_back(row->line);
  }
  t.study_of = numbered(t.study);
  t.group_of = numbered(groups);
  t.studies = static_cast<int>(std::set<int>(t.study_of.begin(), t.study_of.end()).size());
  for (std::size_t m = 0; m < read->moderators.size(); ++m) {
    Column c{read->moderators[m], true, {}, {}};
    for (const StudyRow* row : used) {
      const std::string& text = row->moderators[m];
      c.words.push_back(text);
      const auto number = interchange::parse_number(text, mapping && mapping->file.decimal_comma);
      c.numeric = c.numeric && (text.empty() || number);
      c.numbers.push_back(number.value_or(std::numeric_limits<double>::quiet_NaN()));
    }
    if (std::find(wish.levels.begin(), wish.levels.end(), c.name) != wish.levels.end()) c.numeric = false;
    t.columns.push_back(std::move(c));
  }
  t.columns.push_back(std::move(study));
  t.columns.push_back(std::move(group));
  return t;
}

evidence::PoolOptions EvidenceFit::pool_options() const {
  evidence::PoolOptions o;
  o.method = model.method;
  o.reference = model.knapp_hartung ? evidence::Reference::knapp_hartung : evidence::Reference::normal;
  o.level = model.level;
  return o;
}

evidence::MultilevelOptions EvidenceFit::multilevel_options() const {
  evidence::MultilevelOptions o;
  o.restricted = model.method != evidence::Method::ML;
  o.reference = model.knapp_hartung ? evidence::Reference::student : evidence::Reference::normal;
  o.level = model.level;
  o.correlation = model.correlation;
  return o;
}

evidence::MultilevelData EvidenceFit::multilevel() const {
  evidence::MultilevelData d{data.y, data.v, x, terms.names(), {}};
  for (const std::string& level : model.random) {
    if (level == "study") d.levels.push_back(data.study_of);
    if (level == "group") d.levels.push_back(data.group_of);
    if (level == "effect") {
      d.levels.emplace_back();
      for (int i = 0; i < static_cast<int>(data.y.size()); ++i) d.levels.back().push_back(i);
    }
  }
  return d;
}

Result<EvidenceFit> fit_evidence(const EvidenceTable& table, const ModelWish& model) {
  EvidenceFit fit;
  fit.model = model;
  std::vector<std::string> needed;
  for (const evidence::Term& t : model.terms) {
    for (const std::string& name : {t.column, t.with}) {
      if (name.empty()) continue;
      if (!evidence::find_column(table.columns, name))
        return fail(Code::invalid_input, "no column \"" + name + "\" in the study table");
      needed.push_back(name);
    }
  }
  const auto rows = evidence::complete_rows(needed, table.columns, static_cast<std::size_t>(table.y.size()));
  fit.incomplete = static_cast<int>(table.y.size()) - static_cast<int>(rows.size());
  if (rows.size() < 2)
    return fail(Code::invalid_input, fmt::format("{} usable effects: there is nothing to pool", rows.size()));
  fit.data = table.subset(rows);
  const auto terms = evidence::resolve(model.terms, fit.data.columns);
  if (!terms) return tl::unexpected(terms.error());
  fit.terms = *terms;
  if (model.terms.empty()) {
    fit.x = Eigen::MatrixXd::Ones(fit.data.y.size(), 1);
  } else {
    const auto x = terms->matrix(fit.data.columns);
    if (!x) return tl::unexpected(x.error());
    fit.x = *x;
  }
  evidence::WorkingCovariance& working = fit.working;
  working.v = fit.data.v;
  if (!model.random.empty()) {
    if (model.method != evidence::Method::REML && model.method != evidence::Method::ML)
      return fail(Code::invalid_input, "--method: random levels are fitted by REML or ML");
    const evidence::MultilevelData data = fit.multilevel();
    auto result = evidence::fit_multilevel(data, fit.multilevel_options());
    if (!result) return tl::unexpected(result.error());
    fit.multilevel_fit = *std::move(result);
    fit.summary = fit.multilevel_fit;
    fit.sigma2 = fit.multilevel_fit.sigma2;
    working.levels = data.levels;
    working.sigma2 = fit.sigma2;
    working.correlation = model.correlation;
    std::string levels;
    for (const std::string& l : model.random) levels += (levels.empty() ? "" : " and ") + l;
    fit.model_words = fmt::format("random effects of {}, {}", levels, evidence::method_name(model.method));
    for (std::size_t l = 0; l < fit.sigma2.size(); ++l) {
      if (fit.sigma2[l] == 0)
        fit.warnings.push_back("no spread between " +
                               std::string(model.random[l] == "study"   ? "studies"
                                           : model.random[l] == "group" ? "groups of a study"
                                                                        : "effects of a study") +
                               " was found beyond that of the other levels");
    }
  } else {
    const auto result = evidence::pool(fit.data.y, fit.data.v, fit.x, terms->names(), fit.pool_options());
    if (!result) return tl::unexpected(result.error());
    fit.summary = *result;
    if (model.method != evidence::Method::common) {
      fit.tau2 = result->tau2;
      fit.tau2_interval = result->tau2_interval;
    }
    working.tau2 = result->tau2;
    fit.model_words = model.method == evidence::Method::common
                          ? std::string("common effect")
                          : fmt::format("random effects, {}{}", evidence::method_name(model.method),
                                        model.knapp_hartung ? ", Knapp-Hartung" : "");
    if (fit.data.studies < static_cast<int>(fit.data.y.size()))
      fit.warnings.push_back(
          "some studies give several effects, which this model takes for independent (--random study/effect "
          "ties them)");
  }
  fit.by_model = fit.summary.coefficients;
  if (!model.cluster.empty()) {
    if (model.cluster != "study") return fail(Code::invalid_input, "--cluster: \"study\" was expected");
    auto robust = evidence::cluster_robust(fit.data.y, fit.x, terms->names(), working, fit.data.study_of, model.level);
    if (!robust) return tl::unexpected(robust.error());
    fit.robust = true;
    fit.summary.coefficients = robust->coefficients;
    fit.summary.covariance = robust->covariance;
    fit.model_words += ", robust errors (CR2)";
    if (fit.summary.p == 1) {
      // As without, with the robust error and its degrees of freedom.
      const evidence::Coefficient& c = robust->coefficients[0];
      const double half =
          evidence::student_quantile(0.5 + model.level / 2, c.df) * std::sqrt(c.se * c.se + fit.summary.heterogeneity);
      fit.summary.prediction = {c.estimate - half, c.estimate + half};
    }
    for (const evidence::Coefficient& c : robust->coefficients) {
      if (c.df < 4)
        fit.warnings.push_back(
            fmt::format("\"{}\" rests on {:.1f} degrees of freedom: its p is not to be trusted below 4", c.term, c.df));
    }
  }
  if (!fit.summary.converged) fit.warnings.push_back("the fit did not converge: do not use these numbers");
  if (fit.data.studies < 5)
    fit.warnings.push_back(fmt::format("{} studies: how much they differ is hardly known, and intervals are too narrow",
                                       fit.data.studies));
  if (fit.incomplete > 0)
    fit.warnings.push_back(
        fmt::format("{} effects have no value for a moderator and are not in the fit", fit.incomplete));
  return fit;
}

Result<DoseResponse> dose_response(const EvidenceTable& table, ModelWish model, const std::string& along) {
  if (!evidence::find_column(table.columns, along))
    return fail(Code::invalid_input, "--along: the study table has no column \"" + along + "\"");
  const bool named = std::any_of(model.terms.begin(), model.terms.end(), [&](const evidence::Term& t) {
    return t.column == along && t.shape != evidence::Shape::product;
  });
  if (!named) model.terms.insert(model.terms.begin(), {evidence::Shape::straight, along, "", {}, 3});
  auto fit = fit_evidence(table, model);
  if (!fit) return tl::unexpected(fit.error());
  DoseResponse out{*std::move(fit), along, {}};
  const Column* used = evidence::find_column(out.fit.data.columns, along);
  if (!used->numeric) return fail(Code::invalid_input, "--along: \"" + along + "\" holds words: a curve needs numbers");
  const auto [low, high] = std::minmax_element(used->numbers.begin(), used->numbers.end());
  std::vector<double> at;
  for (int i = 0; i < kCurvePoints; ++i) at.push_back(*low + (*high - *low) * i / (kCurvePoints - 1));
  auto curve = evidence_curve(out.fit, along, at);
  if (!curve) return tl::unexpected(curve.error());
  out.curve = *std::move(curve);
  return out;
}

Result<std::vector<evidence::CurvePoint>> evidence_curve(const EvidenceFit& fit, const std::string& along,
                                                         const std::vector<double>& at) {
  auto curve = evidence::fitted_curve(fit.terms, fit.data.columns, fit.summary, along, at);
  if (!curve || !fit.robust) return curve;
  const auto rows = evidence::rows_along(fit.terms, fit.data.columns, along, at);
  if (!rows) return tl::unexpected(rows.error());
  const auto lines = evidence::robust_contrasts(fit.data.y, fit.x, fit.terms.names(), fit.working, fit.data.study_of,
                                                *rows, fit.model.level);
  if (!lines) return tl::unexpected(lines.error());
  for (std::size_t i = 0; i < at.size(); ++i) {
    const evidence::Coefficient& line = (*lines)[i];
    evidence::CurvePoint& p = (*curve)[i];
    p.interval = line.interval;
    const double half = evidence::student_quantile(0.5 + fit.model.level / 2, line.df) *
                        std::sqrt(line.se * line.se + fit.summary.heterogeneity);
    p.prediction = {p.estimate - half, p.estimate + half};
  }
  return curve;
}

Result<evidence::GrowthReading> reading_from(const EvidenceFit& fit, const CurveReadingWish& wish) {
  const auto refused = [](const std::string& why) { return fail(Code::invalid_input, "no reading: " + why); };
  if (!fit.summary.converged) return refused("the fit did not converge");
  if (fit.data.studies < kFewestReadingStudies)
    return refused(
        fmt::format("{} studies; a plan should not rest on fewer than {}", fit.data.studies, kFewestReadingStudies));
  const Column* column = evidence::find_column(fit.data.columns, wish.along);
  if (!column || !column->numeric) return refused("\"" + wish.along + "\" is no column of numbers in this fit");
  const auto [low, high] = std::minmax_element(column->numbers.begin(), column->numbers.end());
  if (*low > 0 || *high < kLeastReadingReserve)
    return refused(
        fmt::format("\"{}\" runs from {:g} to {:g}; effects at failure (0) and up to {:g} or more short of it "
                    "are needed",
                    wish.along, *low, *high, kLeastReadingReserve));
  evidence::ReadingWish to;
  to.name = wish.name;
  to.along = wish.along;
  to.kind = wish.typical ? evidence::EffectKind::contrast : evidence::EffectKind::change;
  to.typical = wish.typical.value_or(0);
  if (fit.robust) {
    // The least certain of the level at failure and the slope from there to the middle of the reading.
    const auto rows = evidence::rows_along(fit.terms, fit.data.columns, wish.along, {0, 5});
    if (!rows) return tl::unexpected(rows.error());
    Eigen::MatrixXd lines = *rows;
    lines.row(1) -= lines.row(0);
    const auto told = evidence::robust_contrasts(fit.data.y, fit.x, fit.terms.names(), fit.working, fit.data.study_of,
                                                 lines, fit.model.level);
    if (!told) return tl::unexpected(told.error());
    to.df = std::min((*told)[0].df, (*told)[1].df);
    if (to.df < 4)
      return refused(
          fmt::format("the curve rests on {:.1f} degrees of freedom, and below 4 its errors are not to be "
                      "trusted",
                      to.df));
  }
  to.rests_on =
      fmt::format("{} effects of {} studies, {}, {}{}{}", fit.data.y.size(), fit.data.studies,
                  evidence::measure_words(fit.data.measure), fit.model_words,
                  wish.typical ? fmt::format("; typical gain at failure {:g} (assumption)", *wish.typical) : "",
                  *high < evidence::kReadingReps
                      ? fmt::format("; beyond {:g} in reserve the curve is carried on, not measured", *high)
                      : "");
  auto reading = evidence::growth_reading(fit.terms, fit.data.columns, fit.summary, to);
  if (!reading) return refused(reading.error().message);
  return reading;
}

Result<EvidenceChecks> check_evidence(const EvidenceFit& fit, const std::function<bool(int, int)>& keep_going,
                                      int which) {
  EvidenceChecks out;
  for (int s = 0; s < fit.data.studies; ++s) {
    const auto at = std::find(fit.data.study_of.begin(), fit.data.study_of.end(), s);
    out.names.push_back(fit.data.label[static_cast<std::size_t>(at - fit.data.study_of.begin())]);
  }
  if (!fit.model.random.empty()) {
    if (fit.model.random.front() != "study")
      return fail(Code::invalid_input, "--check needs study as the outermost random level");
    auto without = evidence::leave_one_group_out(fit.multilevel(), fit.multilevel_fit, fit.multilevel_options(), which,
                                                 keep_going);
    if (!without) return tl::unexpected(without.error());
    out.without = *std::move(without);
  } else {
    const auto all = evidence::influence(fit.data.y, fit.data.v, fit.x, fit.terms.names(), fit.pool_options());
    if (!all) return tl::unexpected(all.error());
    out.names = fit.data.label;
    for (std::size_t i = 0; i < all->size(); ++i) {
      const evidence::Influence& one = (*all)[i];
      const double half = fit.summary.critical * one.se;
      out.without.push_back({static_cast<int>(i),
                             1,
                             one.estimate,
                             one.se,
                             {one.estimate - half, one.estimate + half},
                             one.p,
                             one.tau2,
                             one.possible});
    }
  }
  // What is left out is fitted with the model's own errors, and so held against them.
  const evidence::Coefficient& followed = fit.by_model[static_cast<std::size_t>(which)];
  const double whole = followed.estimate;
  double low = std::numeric_limits<double>::infinity(), high = -low;
  std::size_t most = 0;
  int impossible = 0, crossing = 0;
  const auto clear = [](const evidence::Range& r) { return r.low > 0 || r.high < 0; };
  for (std::size_t i = 0; i < out.without.size(); ++i) {
    const evidence::WithoutGroup& w = out.without[i];
    if (!w.possible) {
      ++impossible;
      continue;
    }
    low = std::min(low, w.estimate);
    high = std::max(high, w.estimate);
    if (clear(w.interval) != clear(followed.interval)) ++crossing;
    if (!out.without[most].possible || std::abs(w.estimate - whole) > std::abs(out.without[most].estimate - whole))
      most = i;
  }
  const std::string what = fit.terms.names().size() > 1
                               ? "\"" + fit.terms.names()[static_cast<std::size_t>(which)] + "\""
                               : "the pooled effect";
  if (low <= high)
    out.words.push_back(
        fmt::format("With any one left out {} stays within {:.2f} to {:.2f}; {} moves it most (to {:.2f}).", what, low,
                    high, out.names[most], out.without[most].estimate));
  if (crossing > 0)
    out.words.push_back(fmt::format(
        "Leaving out one of {} changes whether its interval holds 0: the finding hangs on single studies.", crossing));
  if (impossible > 0)
    out.words.push_back(
        fmt::format("{} cannot be left out: the terms could not be told apart without it.", impossible));
  if (fit.terms.names().size() == 1) {
    if (const auto e = evidence::egger(fit.data.y, fit.data.v, fit.model.level)) out.egger = *e;
    if (const auto r = evidence::rank_test(fit.data.y, fit.data.v)) out.rank = *r;
    if (out.egger) {
      out.words.push_back(fmt::format(
          "Small studies against large: Egger's slope {:.2f} (p {:.3f}).{}", out.egger->slope, out.egger->p,
          out.egger->p < 0.1 ? " Small studies say something else: unpublished results are one reason, other people "
                               "and programmes another."
                             : " No sign of a difference, which with few studies means little."));
      if (static_cast<int>(fit.data.y.size()) < evidence::kFewestForFunnel)
        out.words.push_back("Fewer than 10 effects: this test finds little.");
      if (fit.data.studies < static_cast<int>(fit.data.y.size()))
        out.words.push_back("It takes effects of one study for independent.");
    }
  }
  return out;
}

}  // namespace ullage::coach
