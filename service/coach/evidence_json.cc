// The evidence bench as JSON, readings as files, and the published results that are shipped.
#include <algorithm>
#include <cmath>

#include "service/coach/evidence.h"
#include "service/interchange/csv_reader.h"

namespace ullage::embedded {
std::string_view published_results_csv();
}

namespace ullage::coach {
namespace {

Json number(double x) { return std::isfinite(x) ? Json(x) : Json(nullptr); }

Json rows_json(const std::vector<RowsWith>& list) {
  Json out = Json::array();
  for (const RowsWith& r : list) out.push_back({{"reason", r.reason}, {"rows", r.rows}, {"first_line", r.first_line}});
  return out;
}

Json faults_json(const std::vector<interchange::Fault>& faults) {
  Json out = Json::array();
  for (const interchange::Fault& f : faults) out.push_back(interchange::fault_text(f));
  return out;
}

}  // namespace

Json report_json(const EvidenceTable& t) {
  Json dropped = Json::array();
  for (const interchange::DroppedRows& d : t.dropped) dropped.push_back({{"rule", d.rule}, {"rows", d.rows}});
  return {{"rows_read", t.rows_read},
          {"effects_used", t.y.size()},
          {"studies_used", t.studies},
          {"measure", std::string(evidence::measure_name(t.measure))},
          {"signs", t.turned ? "above 0 is better" : "as in the table"},
          {"dropped", dropped},
          {"left_out", rows_json(t.left_out)},
          {"worked_out", rows_json(t.worked_out)},
          {"faults", faults_json(t.faults)},
          {"remarks", faults_json(t.remarks)}};
}

Json to_json(const EvidenceFit& fit) {
  const evidence::Summary& s = fit.summary;
  Json coefficients = Json::array();
  for (const evidence::Coefficient& c : s.coefficients) {
    coefficients.push_back({{"term", c.term},
                            {"estimate", number(c.estimate)},
                            {"se", number(c.se)},
                            {"statistic", number(c.statistic)},
                            {"df", number(c.df)},
                            {"p", number(c.p)},
                            {"ci_lo", number(c.interval.low)},
                            {"ci_hi", number(c.interval.high)}});
  }
  Json sigma2 = Json::array();
  for (const double x : fit.sigma2) sigma2.push_back(number(x));
  Json out = {
      {"model", fit.model_words},
      {"method", std::string(evidence::method_name(fit.model.method))},
      {"k", s.k},
      {"studies", fit.data.studies},
      {"coefficients", coefficients},
      {"tau2", fit.tau2 ? number(*fit.tau2) : Json(nullptr)},
      {"sigma2", sigma2},
      {"q", number(s.q)},
      {"q_df", number(s.q_df)},
      {"q_p", number(s.q_p)},
      {"i2", number(s.i2)},
      {"prediction", s.prediction.known() ? Json{{"lo", number(s.prediction.low)}, {"hi", number(s.prediction.high)}}
                                          : Json(nullptr)}};
  if (fit.tau2_interval.known())
    out["tau2_interval"] = {{"lo", number(fit.tau2_interval.low)}, {"hi", number(fit.tau2_interval.high)}};
  if (!fit.multilevel_fit.sigma2_intervals.empty()) {
    Json list = Json::array();
    for (const evidence::Range& r : fit.multilevel_fit.sigma2_intervals)
      list.push_back({{"lo", number(r.low)}, {"hi", number(r.high)}});
    out["sigma2_intervals"] = list;
  }
  if (s.p > 1)
    out["moderators"] = {
        {"statistic", number(s.qm)}, {"df", number(s.qm_df)}, {"df2", number(s.qm_df2)}, {"p", number(s.qm_p)}};
  if (s.log_likelihood) out["log_likelihood"] = number(*s.log_likelihood);
  out["converged"] = s.converged;
  out["random"] = fit.model.random;
  out["robust"] = fit.robust;
  out["warnings"] = fit.warnings;
  out["table"] = report_json(fit.data);
  return out;
}

Json to_json(const EvidenceChecks& checks) {
  Json without = Json::array();
  for (std::size_t i = 0; i < checks.without.size(); ++i) {
    const evidence::WithoutGroup& w = checks.without[i];
    without.push_back({{"without", checks.names[i]},
                       {"effects", w.effects},
                       {"estimate", number(w.estimate)},
                       {"se", number(w.se)},
                       {"ci_lo", number(w.interval.low)},
                       {"ci_hi", number(w.interval.high)},
                       {"heterogeneity", number(w.heterogeneity)}});
  }
  Json out = {{"without", without}, {"words", checks.words}};
  if (checks.egger)
    out["egger"] = {{"slope", number(checks.egger->slope)},
                    {"t", number(checks.egger->statistic)},
                    {"df", number(checks.egger->df)},
                    {"p", number(checks.egger->p)}};
  if (checks.rank)
    out["rank"] = {{"tau", number(checks.rank->tau)}, {"p", number(checks.rank->p)}, {"exact", checks.rank->exact}};
  return out;
}

Json to_json(const Answers& answers, const EvidenceTable& table) {
  Json list = Json::array();
  for (const Answer& a : answers.answers) {
    Json one = {{"about", a.about}, {"studies", a.studies}, {"effects", a.effects}, {"answered", a.answered}};
    if (a.answered) {
      one["estimate"] = number(a.estimate);
      one["ci_lo"] = number(a.interval.low);
      one["ci_hi"] = number(a.interval.high);
      one["p"] = number(a.p);
      one["p_adjusted"] = number(a.p_adjusted);
      one["df"] = number(a.df);
      if (a.prediction.known())
        one["prediction"] = {{"lo", number(a.prediction.low)}, {"hi", number(a.prediction.high)}};
      if (a.without_one.known())
        one["without_one"] = {{"lo", number(a.without_one.low)}, {"hi", number(a.without_one.high)}};
      if (!a.checks.empty()) one["checks"] = a.checks;
      one["i2"] = number(a.i2);
      one["heterogeneity"] = number(a.heterogeneity);
    }
    one["sentence"] = a.sentence;
    list.push_back(one);
  }
  return {{"question", answers.question},
          {"above_zero", "stopping short did better"},
          {"answers", list},
          {"multiplicity", answers.multiplicity},
          {"table", report_json(table)}};
}

Json to_json(const DoseResponse& response) {
  Json json = to_json(response.fit);
  json["along"] = response.along;
  json["curve"] = Json::array();
  for (const evidence::CurvePoint& p : response.curve) {
    json["curve"].push_back({{"x", p.x},
                             {"estimate", number(p.estimate)},
                             {"ci_lo", number(p.interval.low)},
                             {"ci_hi", number(p.interval.high)},
                             {"prediction", {{"lo", number(p.prediction.low)}, {"hi", number(p.prediction.high)}}}});
  }
  return json;
}

Json reading_json(const evidence::GrowthReading& r) {
  return {{"name", r.name}, {"rests_on", r.rests_on}, {"median", r.median}, {"lo80", r.low80}, {"hi80", r.high80}};
}

std::string reading_text(const evidence::GrowthReading& reading) {
  Json reserve = Json::array(), draws = Json::array();
  for (int r = 0; r <= evidence::kReadingReps; ++r) reserve.push_back(r);
  for (const evidence::GrowthRow& row : reading.draws) draws.push_back(row);
  return json_text({{"name", reading.name},
                    {"rests_on", reading.rests_on},
                    {"what", "growth at equal sets as a ratio to sets to failure, by whole reps in reserve"},
                    {"reserve", reserve},
                    {"median", reading.median},
                    {"lo80", reading.low80},
                    {"hi80", reading.high80},
                    {"draws", draws}});
}

Result<evidence::GrowthReading> parse_reading(std::string_view text) {
  const Json json = Json::parse(text, nullptr, false);
  const auto wrong = [](const std::string& what) { return fail(Code::invalid_input, "reading: " + what); };
  if (!json.is_object()) return wrong("a JSON object as \"evidence curve --save-reading\" writes it was expected");
  evidence::GrowthReading out;
  for (const auto& [key, to] : {std::pair<const char*, std::string*>{"name", &out.name}, {"rests_on", &out.rests_on}}) {
    if (!json.contains(key) || !json[key].is_string()) return wrong(std::string(key) + " was expected to be a text");
    *to = json[key].get<std::string>();
  }
  if (out.name.empty()) return wrong("a name was expected");
  const auto row = [](const Json& from, evidence::GrowthRow& to) {
    if (!from.is_array() || from.size() != to.size()) return false;
    for (std::size_t r = 0; r < to.size(); ++r) {
      if (!from[r].is_number()) return false;
      to[r] = from[r].get<double>();
      if (!(to[r] >= 0 && to[r] < 1000)) return false;
    }
    return std::abs(to[0] - 1) < 1e-9;
  };
  for (const auto& [key, to] : {std::pair<const char*, evidence::GrowthRow*>{"median", &out.median},
                                {"lo80", &out.low80},
                                {"hi80", &out.high80}}) {
    if (!json.contains(key) || !row(json[key], *to))
      return wrong(std::string(key) + " was expected to hold 11 ratios of 0 to 1000, the first 1");
  }
  if (!json.contains("draws") || !json["draws"].is_array() || json["draws"].empty() || json["draws"].size() > 100000)
    return wrong("draws were expected, a list of 1 to 100000 lists");
  for (const Json& from : json["draws"]) {
    evidence::GrowthRow draw{};
    if (!row(from, draw))
      return wrong("draw " + std::to_string(out.draws.size() + 1) +
                   " was expected to hold 11 ratios of 0 to 1000, the first 1");
    out.draws.push_back(draw);
  }
  return out;
}

Result<std::vector<PublishedResult>> published_results(const std::string& topic) {
  interchange::StringSource source(embedded::published_results_csv());
  interchange::CsvReader reader(source);
  interchange::TableRow row;
  std::vector<PublishedResult> out;
  for (bool header = true;; header = false) {
    const auto more = reader.next(row);
    if (!more || (*more && row.size() != 13))
      return fail(Code::corrupt, "the shipped table of published results cannot be read");
    if (!*more) break;
    if (header) continue;
    PublishedResult r;
    std::size_t at = 0;
    for (std::string* to : {&r.id, &r.topic, &r.quantity, &r.value, &r.lower, &r.upper, &r.n, &r.unit, &r.protocol,
                            &r.source, &r.doi, &r.status, &r.note})
      *to = std::string(row.field(at++));
    if (r.topic.find(topic) != std::string::npos || r.quantity.find(topic) != std::string::npos)
      out.push_back(std::move(r));
  }
  const auto rank = [](const PublishedResult& r) { return r.status == "VERIFIED" ? 0 : r.status == "RE-RUN" ? 1 : 2; };
  std::sort(out.begin(), out.end(), [&](const PublishedResult& a, const PublishedResult& b) {
    return std::pair(rank(a), a.id) < std::pair(rank(b), b.id);
  });
  return out;
}

Json to_json(const std::vector<PublishedResult>& results) {
  Json out = Json::array();
  for (const PublishedResult& r : results) {
    out.push_back({{"id", r.id},
                   {"topic", r.topic},
                   {"quantity", r.quantity},
                   {"value", r.value},
                   {"lower", r.lower},
                   {"upper", r.upper},
                   {"n", r.n},
                   {"unit", r.unit},
                   {"protocol", r.protocol},
                   {"source", r.source},
                   {"doi", r.doi},
                   {"status", r.status},
                   {"note", r.note}});
  }
  return out;
}

}  // namespace ullage::coach
