// The evidence: study tables read in and kept, questions, pooled fits with what their pictures are drawn from, readings
// for planning, published results.
#include <cmath>
#include <fstream>
#include <set>
#include <sstream>

#include "server/routes.h"
#include "service/coach/evidence_pictures.h"
#include "service/coach/readings.h"
#include "service/coach/studies.h"

namespace ullage::server {
namespace {

constexpr std::size_t kMostValues = 12;  // of a column, told as choices

tl::unexpected<Problem> busy() {
  return tl::unexpected(Problem(503, "busy", "two other tables are being worked on; try again in a moment"));
}

// How a table is meant; what is not sent stays as it was.
void read_meaning(Fields& fields, coach::StudyTableKept& table) {
  if (fields.has("skip_bad")) table.skip_bad = fields.flag("skip_bad").value_or(false);
  if (fields.has("toml")) table.mapping = fields.text("toml").value_or("");
  if (fields.has("measure")) {
    const std::string name = fields.text("measure").value_or("");
    table.measure = evidence::parse_measure(name);
    if (!name.empty() && !table.measure) fields.wrong("measure", "one of MD, SMD, SMCR, ROM, OR and RR was expected");
  }
  if (fields.has("better")) {
    const auto better = fields.choice("better", {"", "more", "less"}).value_or(0);
    table.more_is_better = better == 0 ? std::nullopt : std::optional<bool>(better == 1);
  }
  if (fields.has("assumed_r")) table.assumed_r = fields.number("assumed_r", -0.99, 0.99);
  if (fields.has("compares")) {
    const std::vector<std::string> words{"", "short minus failure", "failure minus short", "groups"};
    table.compares = words[fields.choice("compares", words).value_or(0)];
  }
}

// The text of a table that was sent.
Outcome<void> read_sent(Call& call, const std::string& id, coach::StudyTableKept& table) {
  const auto sent = call.services.tables.find(id);
  if (!sent) return tl::unexpected(Problem(404, "not_found", "this table is no longer here: send it again", "table"));
  auto text = coach::study_text(*sent->file, coach::kLongestStudyTable);
  if (!text && text.error().code == Code::invalid_input) return wrong("table", text.error().message);
  if (!text) return problem(text.error());
  table.text = std::move(*text);
  table.file = sent->name;
  return {};
}

Json meaning_json(const coach::StudyTableKept& t) {
  return {{"toml", t.mapping},
          {"skip_bad", t.skip_bad},
          {"measure", t.measure ? Json(std::string(evidence::measure_name(*t.measure))) : Json()},
          {"better", t.more_is_better ? Json(*t.more_is_better ? "more" : "less") : Json()},
          {"assumed_r", t.assumed_r ? Json(*t.assumed_r) : Json()},
          {"compares", t.compares}};
}

// What the bench says, for somebody who has no command line before them.
void neutral(Json& told) {
  if (told.is_string()) {
    told = without_options(told.get<std::string>());
  } else if (told.is_structured()) {
    for (Json& inner : told) neutral(inner);
  }
}

Json number(double x) { return std::isfinite(x) ? Json(x) : Json(); }

// What was read, and which columns it may be asked by.
Json table_json(const coach::StudyTableKept& kept, const coach::EvidenceTable& table) {
  Json json = {{"name", kept.name},
               {"file", kept.file},
               {"meaning", meaning_json(kept)},
               {"refused", table.refused},
               {"measure_words", std::string(evidence::measure_words(table.measure))},
               {"report", coach::report_json(table)},
               {"columns", Json::array()},
               {"effects", Json::array()}};
  neutral(json["report"]["left_out"]);
  for (const evidence::Column& column : table.columns) {
    if (column.name == "study" || column.name == "group") continue;
    std::set<std::string> values(column.words.begin(), column.words.end());
    values.erase("");
    Json one = {{"column", column.name}, {"numeric", column.numeric}, {"values", Json::array()}};
    if (values.size() <= kMostValues) one["values"] = std::vector<std::string>(values.begin(), values.end());
    json["columns"].push_back(std::move(one));
  }
  for (Eigen::Index i = 0; i < table.y.size() && i < 500; ++i) {
    const auto at = static_cast<std::size_t>(i);
    json["effects"].push_back({{"line", table.line[at]},
                               {"study", table.study[at]},
                               {"label", table.label[at]},
                               {"effect", number(table.y(i))},
                               {"se", number(std::sqrt(table.v(i)))}});
  }
  return json;
}

Outcome<coach::StudyTableKept> kept(Call& call) {
  auto found = coach::studies(call.desk, call.parameter("studies"));
  if (!found) return problem(found.error());
  return std::move(*found);
}

Outcome<coach::EvidenceTable> gathered(const coach::StudyTableKept& kept, const std::string& about) {
  coach::EvidenceWish wish = coach::wish_for(kept);
  if (!about.empty()) wish.where = {{"outcome", about}};
  auto table = coach::gather(wish);
  if (!table) return problem(table.error());
  if (table->refused)
    return tl::unexpected(Problem(422, "invalid_input", "some rows cannot be used: nothing is pooled", "skip_bad"));
  return std::move(*table);
}

// The model of a fit or a curve.
coach::ModelWish read_model(Fields& fields, const coach::EvidenceTable& table) {
  coach::ModelWish model;
  const std::vector<std::string> methods{"REML", "ML", "DL", "PM", "EB", "HE", "SJ", "common"};
  if (const auto method = fields.choice("method", methods)) model.method = *evidence::parse_method(methods[*method]);
  const bool several = table.studies < static_cast<int>(table.y.size());
  // Effects of one study are tied together unless it is said otherwise.
  if (fields.flag("tied").value_or(several) && several) {
    model.random = {"study", "effect"};
    model.cluster = "study";
    if (model.method != evidence::Method::ML) model.method = evidence::Method::REML;
  }
  model.knapp_hartung =
      fields.flag("knapp_hartung").value_or(model.random.empty() && model.method != evidence::Method::common);
  for (const std::string& column : fields.texts("moderators").value_or(std::vector<std::string>{}))
    model.terms.push_back({evidence::Shape::straight, column, "", {}, 3});
  return model;
}

Json fit_json(const coach::EvidenceFit& fit) {
  Json json = coach::to_json(fit);
  neutral(json["warnings"]);
  json["measure_words"] = std::string(evidence::measure_words(fit.data.measure));
  json["log_ratio"] = evidence::is_log_ratio(fit.data.measure);
  json["rows"] = Json::array();
  for (const coach::ForestRow& row : coach::forest_rows(fit))
    json["rows"].push_back({{"name", row.name}, {"effect", row.y}, {"se", row.se}});
  json["effects"] = Json::array();
  for (Eigen::Index i = 0; i < fit.data.y.size(); ++i)
    json["effects"].push_back({{"label", fit.data.label[static_cast<std::size_t>(i)]},
                               {"effect", number(fit.data.y(i))},
                               {"se", number(std::sqrt(fit.data.v(i)))}});
  return json;
}

Outcome<coach::DoseResponse> response_of(Fields& fields, const coach::StudyTableKept& kept) {
  const std::string along = fields.text("along", true).value_or("");
  const bool bent = fields.flag("spline").value_or(false);
  const std::string about = fields.text("about").value_or("");
  const auto table = gathered(kept, about);
  if (!table) return tl::unexpected(table.error());
  coach::ModelWish model = read_model(fields, *table);
  if (bent) model.terms.insert(model.terms.begin(), {evidence::Shape::spline, along, "", {}, 3});
  auto response = coach::dose_response(*table, model, along);
  if (!response) return problem(response.error());
  return std::move(*response);
}

}  // namespace

Answer get_studies(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto all = coach::kept_studies(call.desk);
  if (!all) return problem(all.error());
  Json json = {{"studies", Json::array()}};
  for (const coach::StudyTableKept& table : *all) {
    const auto read = coach::gather(coach::wish_for(table));
    json["studies"].push_back({{"name", table.name},
                               {"file", table.file},
                               {"compares", table.compares},
                               {"studies", read ? read->studies : 0},
                               {"effects", read ? static_cast<int>(read->y.size()) : 0}});
  }
  return json_response(json);
}

Answer post_look_studies(Call& call) {
  Fields fields = call.fields();
  coach::StudyTableKept table;
  const std::string id = fields.text("table", true).value_or("");
  read_meaning(fields, table);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  if (auto read = read_sent(call, id, table); !read) return tl::unexpected(read.error());
  const auto gathered = coach::gather(coach::wish_for(table));
  if (!gathered) return problem(gathered.error());
  return json_response(table_json(table, *gathered));
}

Answer get_study_table(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto table = kept(call);
  if (!table) return tl::unexpected(table.error());
  const auto gathered = coach::gather(coach::wish_for(*table));
  if (!gathered) return problem(gathered.error());
  return json_response(table_json(*table, *gathered));
}

Answer put_study_table(Call& call) {
  Fields fields = call.fields();
  coach::StudyTableKept table;
  const auto id = fields.text("table");
  if (!id) {
    auto was = kept(call);
    if (!was) return tl::unexpected(was.error());
    table = std::move(*was);
  }
  table.name = call.parameter("studies");
  read_meaning(fields, table);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  if (id) {
    if (auto read = read_sent(call, *id, table); !read) return tl::unexpected(read.error());
  }
  const auto change = coach::keep_studies(call.desk, table);
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer delete_study_table(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto change = coach::remove_studies(call.desk, call.parameter("studies"));
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer post_ask(Call& call) {
  const auto turn = call.services.reading.take();
  if (!turn) return busy();
  const auto table = kept(call);
  if (!table) return tl::unexpected(table.error());
  Fields fields = call.fields();
  const std::string about = fields.text("about").value_or("");
  const std::vector<std::string> words{"short minus failure", "failure minus short", "groups"};
  const auto compares = fields.choice("compares", words);
  const auto by = fields.texts("by");
  const auto failure = fields.text("failure"), volume = fields.text("volume"), trained = fields.text("trained");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  auto wish = coach::ask_for(compares ? words[*compares] : table->compares);
  if (!wish) return problem(wish.error());
  wish->outcome = about;
  wish->by = by.value_or(std::vector<std::string>{});
  if (failure) wish->failure = *failure;
  if (volume) wish->volume = *volume;
  if (trained) wish->trained = *trained;
  const auto read = gathered(*table, about);
  if (!read) return tl::unexpected(read.error());
  const auto answers = coach::ask_evidence(*read, *wish);
  if (!answers) return problem(answers.error());
  Json json = coach::to_json(*answers, *read);
  for (Json& answer : json["answers"]) neutral(answer["sentence"]);
  return json_response(json);
}

Answer post_fit_studies(Call& call) {
  const auto turn = call.services.reading.take();
  if (!turn) return busy();
  const auto table = kept(call);
  if (!table) return tl::unexpected(table.error());
  Fields fields = call.fields();
  const std::string about = fields.text("about").value_or("");
  const bool check = fields.flag("check").value_or(false);
  const auto read = gathered(*table, about);
  if (!read) return tl::unexpected(read.error());
  const coach::ModelWish model = read_model(fields, *read);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto fit = coach::fit_evidence(*read, model);
  if (!fit) return problem(fit.error());
  Json json = fit_json(*fit);
  if (check) {
    const auto checks = coach::check_evidence(*fit);
    if (checks) json["checks"] = coach::to_json(*checks);
  }
  return json_response(json);
}

Answer post_study_curve(Call& call) {
  const auto turn = call.services.reading.take();
  if (!turn) return busy();
  const auto table = kept(call);
  if (!table) return tl::unexpected(table.error());
  Fields fields = call.fields();
  const auto response = response_of(fields, *table);
  if (!response) return tl::unexpected(response.error());
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  Json json = fit_json(response->fit);
  const Json curve = coach::to_json(*response);
  json["along"] = curve.at("along");
  json["curve"] = curve.at("curve");
  // Where each effect stands along the column.
  const evidence::Column* column = evidence::find_column(response->fit.data.columns, response->along);
  for (std::size_t i = 0; i < json["effects"].size(); ++i) json["effects"][i]["x"] = number(column->numbers[i]);
  return json_response(json);
}

Answer get_readings(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto all = coach::kept_readings(call.desk);
  if (!all) return problem(all.error());
  Json json = {{"shipped", {"plateau", "linear"}}, {"most", coach::kMostKeptReadings}, {"kept", Json::array()}};
  for (const evidence::GrowthReading& reading : *all) json["kept"].push_back(coach::reading_json(reading));
  return json_response(json);
}

Answer put_reading(Call& call) {
  Fields fields = call.fields();
  const std::string name = fields.text("studies", true).value_or("");
  const auto typical = fields.number("typical", 1e-6, 1e6);
  const auto table = coach::studies(call.desk, name);
  if (!table) return problem(table.error());
  const auto response = response_of(fields, *table);
  if (!response) return tl::unexpected(response.error());
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  auto reading = coach::reading_from(response->fit, {call.parameter("reading"), response->along, typical});
  if (!reading) return problem(reading.error());
  const auto change = coach::keep_reading(call.desk, *reading);
  if (!change) return problem(change.error());
  return json_response({{"change", *change}, {"reading", coach::reading_json(*reading)}});
}

Answer delete_reading(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto change = coach::remove_reading(call.desk, call.parameter("reading"));
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer get_published(Call& call) {
  const std::string topic = call.query.text("topic").value_or("");
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto results = coach::published_results(topic);
  if (!results) return problem(results.error());
  return json_response({{"results", coach::to_json(*results)}});
}

}  // namespace ullage::server
