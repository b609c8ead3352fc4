// Logs in: a table sent once, its cells looked at, a mapping picked, what would be read shown, and only then stored.
#include <sys/stat.h>

#include <mutex>

#include "server/routes.h"
#include "service/coach/read_in.h"
#include "service/coach/views.h"
#include "service/interchange/mapping_pick.h"
#include "service/interchange/open_table.h"

namespace ullage::server {
namespace {

constexpr std::size_t kLongestMapping = 200000;  // characters

Outcome<Table> table_of(Call& call) {
  auto table = call.services.tables.find(call.parameter("table"));
  if (!table) return tl::unexpected(Problem(404, "not_found", "this table is no longer here: send it again", "table"));
  return std::move(*table);
}

tl::unexpected<Problem> busy() {
  return tl::unexpected(Problem(503, "busy", "two other tables are being read; try again in a moment"));
}

// The name under which an upload lies here means nothing to anybody.
tl::unexpected<Problem> problem_with(const Error& error, const std::string& file, const std::string& name) {
  Error told = error;
  for (std::size_t at; (at = told.message.find(file)) != std::string::npos;)
    told.message.replace(at, file.size(), name.empty() ? "the file" : name);
  return problem(told);
}

Json unknown_json(const std::vector<interchange::UnknownExercise>& all) {
  Json json = Json::array();
  for (const auto& u : all)
    json.push_back({{"text", u.text}, {"rows", u.rows}, {"first_line", u.first_line}, {"nearest", u.nearest}});
  return json;
}

Json parts_json(const interchange::Mapping& m) {
  Json json;
  json["fields"] = Json::array();
  for (const auto& [column, source] : m.columns) {
    json["fields"].push_back({{"field", std::string(interchange::log_column_name(column))},
                              {"columns", source.columns},
                              {"join", source.join},
                              {"as", interchange::form_text(source.form)},
                              {"unit", interchange::unit_text(source)}});
  }
  json["constants"] = Json::array();
  for (const auto& [column, text] : m.constants)
    json["constants"].push_back({{"field", std::string(interchange::log_column_name(column))}, {"text", text}});
  json["sets"] = nullptr;
  if (m.sets) {
    using Effort = interchange::CompactForm::Effort;
    const Effort effort = m.sets->form.effort;
    json["sets"] = {{"columns", m.sets->columns},
                    {"order", interchange::set_order_text(m.sets->form.order)},
                    {"unit", m.sets->unit ? std::string(unit_name(*m.sets->unit)) : ""},
                    {"effort", effort == Effort::rpe       ? "rpe"
                               : effort == Effort::reserve ? "reserve"
                                                           : ""}};
  }
  json["header_row"] = m.header_row;
  json["header_rows"] = m.workbook.header_rows;
  json["sheets"] = m.workbook.sheets;
  json["skip_hidden_rows"] = m.workbook.skip_hidden_rows;
  json["date_order"] = std::string(interchange::date_order_name(m.date_order));
  json["decimal_comma"] = m.decimal_comma;
  return json;
}

Answer run(Call& call, coach::ImportWish wish, bool sure) {
  const auto turn = call.services.reading.take();
  if (!turn) return busy();
  wish.ask = !sure;
  // The table is looked through while others write; only what stores waits for them, and they for it.
  std::unique_lock<std::mutex> writing;
  wish.before_storing = [&] { writing = std::unique_lock(call.services.writing); };
  const auto report = coach::read_in(call.desk, wish);
  if (!report) return problem_with(report.error(), wish.file, wish.name);
  Json json = coach::to_json(*report);
  json["dry_run"] = wish.dry_run;
  json["fault_count"] = report->summary.fault_count;
  return json_response(json);
}

// A text that may be longer than others.
std::string mapping_text_of(Fields& fields, const Json& body, const std::string& name, bool needed) {
  if (body.contains(name) && body.at(name).is_string()) {
    (void)fields.has(name);
    std::string text = body.at(name).get<std::string>();
    if (text.size() > kLongestMapping) fields.wrong(name, "is longer than 200 000 characters");
    return text;
  }
  return fields.text(name, needed).value_or("");
}

}  // namespace

Answer post_table(Call& call) {
  const std::string name = call.query.text("name").value_or("table");
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  if (name.size() > 200) return wrong("name", "is longer than 200 characters");
  const auto turn = call.services.reading.take();
  if (!turn) return busy();
  const std::string& file = *call.request.file;
  const auto source = interchange::open_table(file);
  if (!source) return problem_with(source.error(), file, name);
  struct stat about{};
  const std::uint64_t bytes = ::stat(file.c_str(), &about) == 0 ? static_cast<std::uint64_t>(about.st_size) : 0;
  Json json;
  json["table"] = "";
  json["name"] = name;
  json["bytes"] = bytes;
  json["workbook"] = source->book != nullptr;
  json["sheets"] = Json::array();
  if (source->book) {
    for (const auto& sheet : source->book->sheets())
      json["sheets"].push_back({{"sheet", sheet.name}, {"hidden", sheet.hidden}});
  }
  json["open_format"] = coach::reads_as_log(call.desk, file);
  json["table"] = call.services.tables.add(name, call.request.file, bytes).id;
  return json_response(json, 201);
}

Answer delete_table(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  if (const auto table = table_of(call); !table) return tl::unexpected(table.error());
  call.services.tables.remove(call.parameter("table"));
  return json_response({{"removed", true}});
}

Answer get_cells(Call& call) {
  const std::string sheet = call.query.text("sheet").value_or("");
  const int rows = call.query.whole("rows", 1, 200).value_or(30);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto table = table_of(call);
  if (!table) return tl::unexpected(table.error());
  const auto turn = call.services.reading.take();
  if (!turn) return busy();
  const auto sheets = coach::cells_of(*table->file, sheet, static_cast<std::size_t>(rows));
  if (!sheets) return problem_with(sheets.error(), *table->file, table->name);
  Json json = {{"sheets", Json::array()}};
  for (const coach::TableSheet& one : *sheets) json["sheets"].push_back(coach::to_json(one));
  return json_response(json);
}

Answer get_offer(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto table = table_of(call);
  if (!table) return tl::unexpected(table.error());
  const auto turn = call.services.reading.take();
  if (!turn) return busy();
  const auto offer = coach::look_at_table(call.desk, *table->file);
  if (!offer) return problem_with(offer.error(), *table->file, table->name);
  Json json;
  json["mapping"] = interchange::mapping_text(offer->mapping);
  json["parts"] = parts_json(offer->mapping);
  json["questions"] = Json::array();
  for (const auto& q : offer->questions)
    json["questions"].push_back({{"key", q.key}, {"text", q.text}, {"choices", q.choices}, {"required", q.required}});
  json["found"] = offer->found;
  json["headers"] = offer->headers;
  json["not_mapped"] = offer->not_mapped;
  json["unknown_exercises"] = unknown_json(offer->unknown_exercises);
  return json_response(json);
}

Answer post_read_table(Call& call) {
  const auto table = table_of(call);
  if (!table) return tl::unexpected(table.error());
  Fields fields = call.fields();
  coach::ImportWish wish;
  wish.file = *table->file;
  wish.name = table->name;
  wish.mapping = fields.text("mapping").value_or("");
  wish.mapping_text = mapping_text_of(fields, call.body, "toml", false);
  wish.lifter = fields.text("lifter").value_or("");
  wish.dry_run = fields.flag("dry_run").value_or(false);
  wish.update = fields.flag("update").value_or(false);
  wish.skip_bad = fields.flag("skip_bad").value_or(false);
  const bool sure = fields.flag("sure").value_or(false);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  return run(call, std::move(wish), sure);
}

Answer post_import(Call& call) {
  coach::ImportWish wish;
  wish.file = *call.request.file;
  wish.name = call.query.text("name").value_or("upload.csv");
  wish.mapping = call.query.text("mapping").value_or("");
  wish.lifter = call.query.text("lifter").value_or("");
  wish.dry_run = call.query.flag("dry_run").value_or(false);
  wish.update = call.query.flag("update").value_or(false);
  wish.skip_bad = call.query.flag("skip_bad").value_or(false);
  const bool sure = call.query.flag("sure").value_or(false);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  if (wish.name.size() > 200) return wrong("name", "is longer than 200 characters");
  return run(call, std::move(wish), sure);
}

Answer post_pick(Call& call) {
  Fields fields = call.fields();
  const std::string toml = mapping_text_of(fields, call.body, "toml", true);
  std::vector<interchange::MappingPick> picks;
  if (const Json* list = fields.list("picks", 40)) {
    for (std::size_t i = 0; i < list->size(); ++i) {
      Fields f((*list)[i], "picks." + std::to_string(i));
      interchange::MappingPick one;
      one.field = f.text("field", true).value_or("");
      one.columns = f.texts("columns").value_or(std::vector<std::string>{});
      one.constant = f.text("constant").value_or("");
      if (f.has("unit")) one.unit = f.text("unit").value_or("");
      if (f.has("as")) one.as = f.text("as").value_or("");
      if (f.has("join")) one.join = f.text("join").value_or(" ");
      one.order = f.text("order");
      fields.take_faults(f);
      picks.push_back(std::move(one));
    }
  }
  const auto header_row = fields.whole("header_row", 0, 1000);
  const auto header_rows = fields.whole("header_rows", 1, 5);
  const auto sheets = fields.texts("sheets");
  const auto order = fields.choice("date_order", {"", "ymd", "dmy", "mdy"});
  const auto comma = fields.flag("decimal_comma");
  const auto skip_hidden = fields.flag("skip_hidden_rows");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  auto mapping = interchange::parse_mapping(toml);
  if (!mapping) return problem(mapping.error());
  for (const auto& one : picks) {
    if (const auto done = interchange::pick(*mapping, one); !done) return problem(done.error());
  }
  if (header_row) mapping->header_row = *header_row;
  if (header_rows) mapping->workbook.header_rows = *header_rows;
  if (sheets) mapping->workbook.sheets = *sheets;
  if (order) mapping->date_order = static_cast<interchange::DateOrder>(*order);
  if (comma) mapping->decimal_comma = *comma;
  if (skip_hidden) mapping->workbook.skip_hidden_rows = *skip_hidden;
  const std::string text = interchange::mapping_text(*mapping);
  // Said now rather than when the file is read.
  if (const auto whole = interchange::parse_mapping(text); !whole) return problem(whole.error());
  return json_response({{"mapping", text}, {"parts", parts_json(*mapping)}});
}

}  // namespace ullage::server
