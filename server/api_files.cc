// Backups in, exports and backups out, mappings.
#include <filesystem>
#include <fstream>

#include "server/routes.h"
#include "server/shown.h"
#include "server/zip.h"
#include "service/coach/archive.h"
#include "service/coach/read_in.h"
#include "service/store/sqlite_store.h"

namespace ullage::server {
namespace fs = std::filesystem;

http::Response download(const std::string& file, const char* type, const std::string& name) {
  http::Response response;
  response.file = file;
  response.with("Content-Type", type)
      .with("Cache-Control", "no-store")
      .with("Content-Disposition", "attachment; filename=\"" + name + "\"");
  return response;
}

Answer get_mappings(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto all = call.store().mappings();
  if (!all) return problem(all.error());
  Json json = Json::array();
  for (const auto& m : *all) json.push_back({{"name", m.name}, {"toml", m.text}});
  return json_response({{"mappings", std::move(json)}});
}

Answer put_mapping(Call& call) {
  Fields fields = call.fields();
  // A mapping may be longer than other texts.
  std::string toml;
  if (const Json& body = call.body; body.contains("toml") && body.at("toml").is_string()) {
    toml = body.at("toml").get<std::string>();
    (void)fields.has("toml");
  } else {
    (void)fields.text("toml", true);
  }
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto change = coach::save_mapping(call.desk, call.parameter("name"), toml);
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer delete_mapping(Call& call) {
  const std::string& name = call.parameter("name");
  const auto change =
      call.store().change("remove mapping " + name, [&](store::Writer& w) { return w.remove_mapping(name); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer get_export(Call& call) {
  const std::string lifter = call.query.text("lifter").value_or("");
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const std::string folder = call.services.new_file("");
  const auto report = coach::export_all(call.desk, folder, lifter);
  if (!report) return problem(report.error());
  const std::string archive = folder + ".zip";
  const auto zipped = write_zip(archive, folder, report->files);
  std::error_code ignored;
  fs::remove_all(folder, ignored);
  if (!zipped) return problem(zipped.error());
  return download(archive, "application/zip", "ullage-" + date_text(call.desk.today()) + ".zip");
}

Answer get_backup(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const std::string file = call.services.new_file(".db");
  if (const auto done = call.store().backup(file); !done) return problem(done.error());
  return download(file, "application/vnd.sqlite3", "ullage-" + date_text(call.desk.today()) + ".db");
}

Answer post_restore(Call& call) {
  const auto confirm = call.query.text("confirm", true);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  if (*confirm != "replace")
    return wrong("confirm", "must be \"replace\": the data file is replaced, nothing is merged");
  const auto report = store::restore_sqlite(*call.request.file, call.services.desks.data_file, call.desk.clock());
  if (!report) {
    Error error = report.error();
    // The name under which the upload lies here means nothing to anybody.
    for (std::size_t at; (at = error.message.find(*call.request.file)) != std::string::npos;)
      error.message.replace(at, call.request.file->size(), "the backup");
    return problem(error);
  }
  ++call.services.generation;
  call.services.curves.forget();
  call.services.roster.forget();
  call.services.desks.estimates->forget();
  return json_response({{"kept", report->kept.substr(report->kept.rfind('/') + 1)}});
}

}  // namespace ullage::server
