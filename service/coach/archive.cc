#include "service/coach/archive.h"

#include <filesystem>
#include <fstream>

#include "service/coach/views.h"
#include "service/interchange/write_log.h"

namespace ullage::coach {
namespace {

namespace fs = std::filesystem;

Result<void> write_file(const fs::path& path, const std::string& text) {
  std::ofstream out(path, std::ios::binary);
  out << text;
  out.close();
  if (!out) return fail(Code::unavailable, path.string() + " cannot be written (disk full, or no permission)");
  return {};
}

Result<void> write_log_file(Desk& desk, const fs::path& path, const std::vector<Lifter>& lifters, std::int64_t& count) {
  std::ofstream out(path, std::ios::binary);
  std::vector<std::string> extra;
  for (const Lifter& lifter : lifters) {
    const auto sets = desk.store().sets(lifter.id);
    if (!sets) return tl::unexpected(sets.error());
    std::vector<SetRecord> records;
    for (const store::StoredSet& s : *sets) records.push_back(s.set);
    extra = interchange::extra_columns(records, std::move(extra));
  }
  interchange::LogWriter writer([&](std::string_view text) { out << text; }, extra);
  for (const Lifter& lifter : lifters) {
    const auto sets = desk.store().sets(lifter.id);
    if (!sets) return tl::unexpected(sets.error());
    for (const store::StoredSet& s : *sets) {
      writer.write(lifter.name, s.set);
      ++count;
    }
  }
  out.close();
  if (!out) return fail(Code::unavailable, path.string() + " cannot be written (disk full, or no permission)");
  return {};
}

Result<Json> profiles(Desk& desk, const std::vector<Lifter>& lifters) {
  Json json;
  json["as_of"] = date_text(desk.today());
  json["lifters"] = Json::array();
  for (const Lifter& lifter : lifters) {
    Json one = to_json(lifter);
    const auto health = desk.store().health(lifter.id);
    if (!health) return tl::unexpected(health.error());
    one["health"] = to_json(*health);
    const auto policy = desk.store().policy(lifter.id);
    if (!policy) return tl::unexpected(policy.error());
    one["policy"] = *policy ? to_json(**policy) : Json();
    const auto sheets = desk.store().sheets(lifter.id);
    if (!sheets) return tl::unexpected(sheets.error());
    one["sheets"] = Json::array();
    for (const store::Sheet& sheet : *sheets) {
      Json s;
      s["date"] = date_text(sheet.date);
      s["session"] = sheet.session;
      s["sheet"] = Json::parse(sheet.json, nullptr, false);
      one["sheets"].push_back(std::move(s));
    }
    const auto plans = desk.store().plans(lifter.id);
    if (!plans) return tl::unexpected(plans.error());
    one["plans"] = Json::array();
    for (const store::StoredPlan& plan : *plans) {
      Json s;
      s["number"] = plan.number;
      s["state"] = plan.state;
      s["said"] = plan.said;
      s["start"] = date_text(plan.start);
      s["block"] = Json::parse(plan.json, nullptr, false);
      one["plans"].push_back(std::move(s));
    }
    const auto advice = desk.store().advice(lifter.id);
    if (!advice) return tl::unexpected(advice.error());
    one["advice"] = Json::array();
    for (const store::StoredAdvice& a : *advice) {
      Json s;
      s["number"] = a.number;
      s["kind"] = a.kind;
      s["state"] = a.state;
      s["said"] = a.said;
      s["date"] = date_text(a.date);
      s["proposal"] = Json::parse(a.json, nullptr, false);
      one["advice"].push_back(std::move(s));
    }
    json["lifters"].push_back(std::move(one));
  }
  return json;
}

Result<Json> studio(Desk& desk) {
  Json json;
  const auto places = desk.store().places();
  if (!places) return tl::unexpected(places.error());
  json["places"] = Json::array();
  for (const Place& place : *places) json["places"].push_back(to_json(place));
  const auto policy = desk.store().policy("");
  if (!policy) return tl::unexpected(policy.error());
  json["policy"] = *policy ? to_json(**policy) : Json();
  const auto named = [&](const char* key, const Result<std::vector<store::NamedText>>& texts) -> Result<void> {
    if (!texts) return tl::unexpected(texts.error());
    json[key] = Json::object();
    for (const store::NamedText& text : *texts) json[key][text.name] = text.text;
    return {};
  };
  if (const auto r = named("mappings", desk.store().mappings()); !r) return tl::unexpected(r.error());
  if (const auto r = named("templates", desk.store().templates()); !r) return tl::unexpected(r.error());
  if (const auto r = named("settings", desk.store().settings()); !r) return tl::unexpected(r.error());
  const auto imports = desk.store().imports();
  if (!imports) return tl::unexpected(imports.error());
  json["imports"] = Json::array();
  for (const store::ImportRecord& import : *imports) {
    Json one;
    one["id"] = import.id;
    one["file"] = import.file_name;
    one["time"] = import.time;
    one["mapping"] = import.mapping;
    one["rows_read"] = import.rows_read;
    one["added"] = import.added;
    one["unchanged"] = import.unchanged;
    one["changed"] = import.changed;
    one["applied"] = import.applied;
    one["skipped"] = import.skipped;
    json["imports"].push_back(std::move(one));
  }
  return json;
}

}  // namespace

Result<ExportReport> export_all(Desk& desk, const std::string& folder, const std::string& who) {
  ExportReport report;
  report.folder = folder;
  std::vector<Lifter> lifters;
  if (who.empty()) {
    auto all = desk.store().lifters();
    if (!all) return tl::unexpected(all.error());
    lifters = std::move(*all);
  } else {
    auto one = desk.lifter(who);
    if (!one) return tl::unexpected(one.error());
    lifters.push_back(std::move(*one));
  }
  report.lifters = static_cast<int>(lifters.size());
  std::error_code problem;
  if (fs::exists(folder, problem)) return fail(Code::conflict, folder + " exists already: name a folder that does not");
  const fs::path part = fs::path(folder).parent_path() / (fs::path(folder).filename().string() + ".part");
  fs::remove_all(part, problem);
  fs::create_directories(part, problem);
  if (problem) return fail(Code::unavailable, part.string() + " cannot be made: " + problem.message());

  const auto written = desk.store().snapshot([&]() -> Result<void> {
    if (const auto r = write_log_file(desk, part / "log.csv", lifters, report.sets); !r) return r;
    const auto people = profiles(desk, lifters);
    if (!people) return tl::unexpected(people.error());
    if (const auto r = write_file(part / "profiles.json", json_text(*people) + "\n"); !r) return r;
    report.files = {"log.csv", "profiles.json"};
    if (!who.empty()) return {};
    const auto rest = studio(desk);
    if (!rest) return tl::unexpected(rest.error());
    if (const auto r = write_file(part / "studio.json", json_text(*rest) + "\n"); !r) return r;
    const auto edits = desk.store().exercise_edits();
    if (!edits) return tl::unexpected(edits.error());
    std::string toml;
    for (const store::NamedText& edit : *edits) toml += edit.text + "\n";
    if (const auto r = write_file(part / "exercises.toml", toml); !r) return r;
    report.files.insert(report.files.end(), {"studio.json", "exercises.toml"});
    return {};
  });
  if (written) fs::rename(part, folder, problem);
  if (!written || problem) {
    std::error_code ignored;
    fs::remove_all(part, ignored);
    if (!written) return tl::unexpected(written.error());
    return fail(Code::unavailable, folder + " cannot be made: " + problem.message());
  }
  return report;
}

}  // namespace ullage::coach
