// About the program, events, history, settings, jobs.
#include <algorithm>

#include "engine/capacity/posterior.h"
#include "server/routes.h"
#include "server/shown.h"
#include "service/coach/estimate_cache.h"
#include "service/coach/records.h"
#include "service/coach/sessions.h"

namespace ullage::server {
namespace {

struct Setting {
  const char* name;
  std::vector<std::string> words;  // the first is the standard
};
const std::vector<Setting>& settings_known() {
  static const std::vector<Setting> all{{"language", {"en", "de"}},
                                        {"unit", {"kg", "lb"}},
                                        {"date_format", {"iso", "dmy", "mdy"}},
                                        {"decimal", {"dot", "comma"}},
                                        {"paper", {"a4", "letter"}},
                                        {"week_start", {"monday", "sunday", "saturday"}},
                                        {"clock", {"24", "12"}},
                                        {"theme", {"auto", "light", "dark"}}};
  return all;
}
std::string key_of(const Setting& setting) { return std::string("page.") + setting.name; }

Outcome<Json> settings_now(store::Store& store) {
  Json json;
  for (const Setting& setting : settings_known()) {
    const auto kept = store.setting(key_of(setting));
    if (!kept) return problem(kept.error());
    const bool known = *kept && std::find(setting.words.begin(), setting.words.end(), **kept) != setting.words.end();
    json[setting.name] = known ? **kept : setting.words.front();
  }
  return json;
}

http::Response stream_response(std::shared_ptr<http::EventStream> stream) {
  http::Response response;
  response.with("Content-Type", "text/event-stream").with("Cache-Control", "no-store");
  response.stream = std::move(stream);
  return response;
}

}  // namespace

Outcome<Json> start_fit(Call& call, std::vector<std::string> lifters, bool anew) {
  std::string text = "fit of everyone";
  if (lifters.size() == 1) text = "fit of " + lifters.front();
  if (lifters.size() > 1) text = "fit of " + std::to_string(lifters.size()) + " lifters";
  return call.services.jobs.start(
      "fit", text, [lifters = std::move(lifters), anew](coach::Desk& desk, const Tell& tell) -> Result<Json> {
        coach::FitWish wish;
        wish.lifters = lifters;
        wish.anew = anew;
        wish.workers = std::max(1, static_cast<int>(std::thread::hardware_concurrency()) - 1);
        wish.progress = [&](int done, int total, const std::string& name) {
          return tell(total > 0 ? double(done) / total : 0, name);
        };
        const auto report = coach::fit_lifters(desk, wish);
        if (desk.estimates()) desk.estimates()->forget();
        if (!report) return tl::unexpected(report.error());
        return coach::to_json(*report);
      });
}

Answer get_about(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto marks = call.store().lifter_marks();
  if (!marks) return problem(marks.error());
  const auto newest = call.store().newest_change();
  if (!newest) return problem(newest.error());
  const std::string& path = call.services.desks.data_file;
  return json_response({{"version", call.services.version},
                        {"model_version", capacity::kModelVersion},
                        {"today", date_text(call.desk.today())},
                        {"as_of_fixed", call.services.desks.as_of.has_value()},
                        {"lifters", marks->size()},
                        {"empty", marks->empty()},
                        {"data_file", path.substr(path.rfind('/') + 1)},
                        {"sign_in", "none"},
                        {"changes", *newest}});
}

Answer get_events(Call& call) { return stream_response(call.services.listeners.listen()); }

Answer get_history(Call& call) {
  const int limit = call.query.whole("limit", 1, 2000).value_or(50);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto history = call.store().history(limit);
  if (!history) return problem(history.error());
  return json_response({{"changes", coach::to_json(*history)}});
}

Answer post_undo(Call& call) {
  Fields fields = call.fields();
  std::optional<store::ChangeId> wanted;
  if (const auto change = fields.number("change", 1, 9007199254740991.0))
    wanted = static_cast<store::ChangeId>(*change);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto change = coach::take_back(call.desk, wanted);
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer get_doctor(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto findings = call.store().doctor();
  if (!findings) return problem(findings.error());
  return json_response({{"findings", coach::to_json(*findings)}});
}

Answer get_settings(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  auto json = settings_now(call.store());
  if (!json) return tl::unexpected(json.error());
  return json_response(*json);
}

Answer patch_settings(Call& call) {
  Fields fields = call.fields();
  std::vector<std::pair<std::string, std::string>> wanted;
  for (const Setting& setting : settings_known()) {
    if (const auto word = fields.choice(setting.name, setting.words))
      wanted.emplace_back(key_of(setting), setting.words[*word]);
  }
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto change = call.store().change("settings of the page", [&](store::Writer& writer) -> Result<void> {
    for (const auto& [key, value] : wanted) {
      if (const auto put = writer.put_setting(key, value); !put) return put;
    }
    return {};
  });
  if (!change) return problem(change.error());
  auto json = settings_now(call.store());
  if (!json) return tl::unexpected(json.error());
  return json_response({{"change", *change}, {"settings", *json}});
}

Answer get_jobs(Call& call) { return json_response({{"jobs", call.services.jobs.all()}}); }

Answer get_job(Call& call) {
  auto job = call.services.jobs.find(call.parameter("job"));
  if (!job) return tl::unexpected(job.error());
  return json_response(*job);
}

Answer delete_job(Call& call) {
  const bool drop = call.query.flag("drop").value_or(false);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  auto job = call.services.jobs.cancel(call.parameter("job"), drop ? Jobs::Stop::drop : Jobs::Stop::keep);
  if (!job) return tl::unexpected(job.error());
  return json_response(*job);
}

Answer get_job_events(Call& call) {
  auto stream = call.services.jobs.follow(call.parameter("job"));
  if (!stream) return tl::unexpected(stream.error());
  return stream_response(std::move(*stream));
}

Answer post_fits(Call& call) {
  Fields fields = call.fields();
  const auto names = fields.texts("lifters").value_or(std::vector<std::string>{});
  const bool anew = fields.flag("anew").value_or(false);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  std::vector<std::string> ids;
  for (const std::string& name : names) {
    const auto lifter = call.desk.lifter(name);
    if (!lifter) return problem(lifter.error());
    ids.push_back(lifter->id);
  }
  auto job = start_fit(call, std::move(ids), anew);
  if (!job) return tl::unexpected(job.error());
  return json_response(*job, 202);
}

Answer post_demo(Call& call) {
  Fields fields = call.fields();
  const int seed = fields.whole("seed", 0, 1000000000).value_or(1);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto report = coach::make_demo(call.desk, static_cast<std::uint64_t>(seed));
  if (!report) return problem(report.error());
  Json json;
  json["change"] = report->change;
  json["sets"] = report->sets;
  json["lifters"] = Json::array();
  for (const auto& [name, story] : report->lifters) json["lifters"].push_back({{"lifter", name}, {"story", story}});
  auto job = start_fit(call, {}, false);
  if (!job) return tl::unexpected(job.error());
  json["job"] = *job;
  return json_response(json, 201);
}

}  // namespace ullage::server
