// demo, import, mapping, undo, history, export, backup, restore, erase, doctor, version.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>

#include "cli/app.h"
#include "cli/context.h"
#include "cli/show.h"
#include "service/coach/archive.h"
#include "service/coach/documents.h"
#include "service/coach/records.h"
#include "service/documents/pdf.h"
#include "service/interchange/mapping.h"
#include "service/interchange/mapping_pick.h"
#include "service/store/sqlite_store.h"

namespace ullage::cli {
namespace {

Result<std::string> read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream all;
  if (in) all << in.rdbuf();
  if (!in) return fail(Code::not_found, "no file " + path + " that can be read");
  return all.str();
}

// "log column=text"; the part before the last "=" for exercises, whose names may hold one.
Result<std::pair<std::string, std::string>> pair_of(const char* option, const std::string& text) {
  const std::size_t at = text.rfind('=');
  if (at == std::string::npos || at == 0 || at + 1 == text.size()) {
    return fail(Code::invalid_input, fmt::format("{}: \"{}\" is not a pair with = between", option, text));
  }
  return std::make_pair(text.substr(0, at), text.substr(at + 1));
}

// Takes the answers given on the command line into the mapping; the questions they answer go.
Result<void> answer_questions(Context& c, interchange::Suggestion& offer) {
  using interchange::LogColumn;
  interchange::Mapping& mapping = offer.mapping;
  std::set<std::string> answered;
  if (c.args.has("--save")) mapping.name = c.args.text("--save");
  if (c.args.has("--date-order")) {
    mapping.date_order = *interchange::parse_date_order(c.args.text("--date-order"));
    answered.insert("file.date_order");
  }
  if (c.args.has("--unit")) {
    mapping.constants[LogColumn::unit] = c.args.text("--unit");
    answered.insert("constants.unit");
  }
  for (const char* option : {"--column", "--constant"}) {
    for (const std::string& text : c.args.all(option)) {
      auto pair = pair_of(option, text);
      if (!pair) return tl::unexpected(pair.error());
      if (std::string(option) == "--column" && pair->first == "sets") {
        if (const auto done = interchange::pick(mapping, {.field = "sets", .columns = {pair->second}}); !done)
          return done;
        answered.insert({"columns.reps", "columns.load"});
        continue;
      }
      const auto column = interchange::parse_log_column(pair->first);
      if (!column)
        return fail(Code::invalid_input, fmt::format("{}: the log has no column \"{}\"", option, pair->first));
      if (std::string(option) == "--constant") {
        if (const auto done = interchange::pick(mapping, {.field = pair->first, .constant = pair->second}); !done)
          return done;
      } else {
        const bool named = std::find(offer.headers.begin(), offer.headers.end(), pair->second) != offer.headers.end();
        if (const auto cell = interchange::parse_cell_address(pair->second); cell && !named)
          pair->second = "#" + interchange::column_letters(cell->second);
        const bool special =
            pair->second.starts_with('(') || pair->second.starts_with('#') || interchange::has_star(pair->second);
        if (!special && !named) {
          return fail(Code::invalid_input,
                      fmt::format("--column: the table has no column \"{}\"{}", pair->second,
                                  coach::did_you_mean(coach::near_names(pair->second, offer.headers, 3))));
        }
        if (const auto done = interchange::pick(mapping, {.field = pair->first, .columns = {pair->second}}); !done)
          return done;
        std::erase(offer.not_mapped, pair->second);
      }
      answered.insert("columns." + std::string(interchange::log_column_name(*column)));
    }
  }
  if (c.args.has("--effort") || c.args.has("--order")) {
    if (!mapping.sets) return fail(Code::invalid_input, "--effort, --order: no cell of this table holds sets");
    interchange::MappingPick choice{.field = "sets", .columns = mapping.sets->columns};
    if (c.args.has("--effort")) {
      choice.as = c.args.text("--effort");
      answered.insert("columns.sets.effort");
    }
    if (c.args.has("--order")) {
      if (!interchange::parse_set_order(c.args.text("--order")))
        return fail(
            Code::invalid_input,
            fmt::format("--order: \"{}\" is not such as \"load x reps\" or \"sets x reps\"", c.args.text("--order")));
      choice.order = c.args.text("--order");
      answered.insert("columns.sets.order");
    }
    if (const auto done = interchange::pick(mapping, choice); !done) return done;
  }
  for (const std::string& name : c.args.all("--sheet")) mapping.workbook.sheets.push_back(name);
  for (const std::string& name : c.args.all("--without-sheet")) mapping.workbook.skip_sheets.push_back(name);
  if (c.args.flag("--skip-hidden-rows")) {
    mapping.workbook.skip_hidden_rows = true;
    answered.insert("workbook.skip_hidden_rows");
  }
  for (const std::string& text : c.args.all("--means")) {
    const auto pair = pair_of("--means", text);
    if (!pair) return tl::unexpected(pair.error());
    const auto exercise = c.desk().exercise(pair->second);
    if (!exercise) return fail(Code::invalid_input, "--means: " + exercise.error().message);
    mapping.values[LogColumn::exercise][pair->first] = (*exercise)->id;
    std::erase_if(offer.unknown_exercises, [&](const auto& unknown) { return unknown.text == pair->first; });
  }
  std::erase_if(offer.questions, [&](const interchange::Question& q) { return answered.count(q.key) > 0; });
  return {};
}

}  // namespace

Result<void> run_demo(Context& c) {
  const auto report = coach::make_demo(c.desk(), static_cast<std::uint64_t>(c.args.whole("--seed").value_or(1)));
  if (!report) return tl::unexpected(report.error());
  if (c.json) {
    coach::Json json;
    json["change"] = report->change;
    json["sets"] = report->sets;
    json["lifters"] = coach::Json::array();
    for (const auto& [name, story] : report->lifters) json["lifters"].push_back({{"lifter", name}, {"story", story}});
    c.print(json);
    return {};
  }
  c.term.heading(
      fmt::format("{} invented lifters with {} sets; nobody in it is real", report->lifters.size(), report->sets));
  for (const auto& [name, story] : report->lifters) c.term.line(padded(name, 21) + " " + story, 2, 22);
  return {};
}

Result<void> run_import(Context& c) {
  coach::ImportWish wish;
  wish.file = c.args.text("FILE");
  wish.mapping = c.args.text("--mapping");
  wish.lifter = c.args.text("--lifter");
  wish.dry_run = c.args.flag("--dry-run");
  wish.update = c.args.flag("--update");
  wish.skip_bad = c.args.flag("--skip-bad");
  wish.progress = [&](std::uint64_t done, std::uint64_t total) {
    return c.progress.tell(total ? double(done) / double(total) : 0, "reading " + wish.file);
  };
  wish.ask = !c.args.flag("--sure");
  const auto report = coach::read_in(c.desk(), wish);
  if (!report) {
    Error error = report.error();
    if (wish.mapping.empty() && error.message.find("through a mapping") != std::string::npos) {
      error.message += fmt::format("\nto make one: {} mapping suggest {} --save NAME, then import with --mapping NAME",
                                   kProgram, wish.file);
    }
    return tl::unexpected(error);
  }
  c.progress.clear();
  std::string faults;
  for (const auto& fault : report->summary.faults) {
    if (!faults.empty()) faults += '\n';
    faults += interchange::fault_text(fault);
  }
  if (report->summary.fault_count > report->summary.faults.size()) {
    faults += fmt::format("\nand {} more", report->summary.fault_count - report->summary.faults.size());
  }
  if (!report->summary.unknown_exercises.empty()) {
    faults += fmt::format(
        "\nto add one: {0} exercise add; to teach a spelling: {0} exercise edit EXERCISE --alias TEXT (or [values] of "
        "a mapping)",
        kProgram);
  }
  if (c.json) c.print(coach::to_json(*report));
  std::string doubts;
  for (const auto& row : report->doubts) doubts += interchange::fault_text(row) + "\n";
  if (report->refused && (wish.skip_bad || report->summary.fault_count == 0))
    return fail(Code::invalid_input, doubts + "nothing is stored; if this is right, say so: --sure");
  if (!doubts.empty()) *c.environment.err << doubts << "to import this: --sure\n";
  if (report->refused) {
    return fail(Code::invalid_input,
                faults + fmt::format("\nnothing is stored: {} of {} bad; with --skip-bad the rest is read",
                                     report->summary.bad_rows,
                                     counted(static_cast<std::int64_t>(report->summary.rows), "row")));
  }
  if (!faults.empty()) *c.environment.err << faults << '\n';
  if (c.json) return {};
  show_import(c.term, *report, wish.dry_run);
  if (report->change != 0)
    c.term.quiet(fmt::format("change {}; to take it back: {} undo {}", report->change, kProgram, report->change));
  return {};
}

Result<void> run_mapping_cells(Context& c) {
  const auto sheets = coach::cells_of(c.args.text("FILE"), c.args.text("--sheet"),
                                      static_cast<std::size_t>(c.args.whole("--rows").value_or(12)));
  if (!sheets) return tl::unexpected(sheets.error());
  if (c.json) {
    coach::Json json = coach::Json::array();
    for (const coach::TableSheet& sheet : *sheets) json.push_back(coach::to_json(sheet));
    c.print(json);
    return {};
  }
  for (const coach::TableSheet& sheet : *sheets) {
    if (!sheet.name.empty()) c.term.heading(interchange::printable(sheet.name) + (sheet.hidden ? " (hidden)" : ""));
    for (const coach::TableLine& line : sheet.lines) {
      std::string text;
      for (const coach::TableCell& cell : line.cells) {
        text += (text.empty() ? "" : " | ") + interchange::column_letters(cell.column) + " " +
                cut(interchange::printable(cell.text), 30);
      }
      c.term.line(fmt::format("{:>4}{}  {}", line.number, line.hidden ? " hidden" : "", text), 0, 6);
    }
    if (sheet.more) c.term.quiet("more rows below", 6);
    if (sheet.lines.empty()) c.term.quiet("nothing stands here", 6);
  }
  return {};
}

Result<void> run_mapping_suggest(Context& c) {
  auto offer = coach::look_at_table(c.desk(), c.args.text("FILE"));
  if (!offer) return tl::unexpected(offer.error());
  if (const auto answered = answer_questions(c, *offer); !answered) return answered;
  const std::vector<interchange::Question>& open = offer->questions;
  const std::string toml = interchange::mapping_text(offer->mapping);
  if (c.json) {
    coach::Json json;
    json["mapping"] = toml;
    json["found"] = offer->found;
    json["not_mapped"] = offer->not_mapped;
    json["questions"] = coach::Json::array();
    for (const auto& q : open)
      json["questions"].push_back({{"key", q.key}, {"text", q.text}, {"choices", q.choices}, {"required", q.required}});
    json["unknown_exercises"] = coach::Json::array();
    for (const auto& u : offer->unknown_exercises)
      json["unknown_exercises"].push_back({{"text", u.text}, {"rows", u.rows}, {"nearest", u.nearest}});
    c.print(json);
  } else {
    for (const std::string& found : offer->found) c.term.line(found);
    for (const auto& u : offer->unknown_exercises) {
      c.term.line(fmt::format("exercise \"{}\" is not in the library ({}){}", interchange::printable(u.text),
                              counted(static_cast<std::int64_t>(u.rows), "row"), coach::did_you_mean(u.nearest)));
    }
    if (!offer->not_mapped.empty()) {
      std::string names;
      for (const std::string& name : offer->not_mapped) names += (names.empty() ? "" : ", ") + name;
      c.term.line("kept as notes: " + names);
    }
    for (const auto& q : open)
      c.term.line(fmt::format("{} {}", q.required ? "to be answered:" : "you may want to say:", q.text));
    c.term.line();
    c.term.raw(toml);
  }
  const bool must = std::any_of(open.begin(), open.end(), [](const auto& q) { return q.required; });
  if (c.args.has("--save")) {
    const auto change = coach::save_mapping(c.desk(), c.args.text("--save"), toml);
    if (!change) return tl::unexpected(change.error());
    if (!c.json) c.say_change(*change, fmt::format("saved as {}", c.args.text("--save")));
    if (must && !c.json)
      c.term.line(
          "Answer the questions first: with the options of this command, or in the text above with mapping add.");
  } else if (!c.json) {
    c.term.quiet(must ? "not saved: questions are open" : "not saved: --save NAME saves it");
  }
  return {};
}

Result<void> run_mapping_add(Context& c) {
  const auto toml = read_file(c.args.text("FILE"));
  if (!toml) return tl::unexpected(toml.error());
  const auto change = coach::save_mapping(c.desk(), c.args.text("NAME"), *toml);
  if (!change) return tl::unexpected(change.error());
  if (c.json)
    c.print({{"change", *change}});
  else
    c.say_change(*change, fmt::format("saved: mapping {}", c.args.text("NAME")));
  return {};
}

Result<void> run_mapping_list(Context& c) {
  const auto all = c.store().mappings();
  if (!all) return tl::unexpected(all.error());
  coach::Json list = coach::Json::array();
  for (const auto& m : *all) {
    if (c.json)
      list.push_back({{"name", m.name}, {"mapping", m.text}});
    else
      c.term.line(m.name);
  }
  if (c.json)
    c.print(list);
  else if (all->empty())
    c.term.line("no mapping is saved");
  return {};
}

Result<void> run_mapping_show(Context& c) {
  const auto text = c.store().mapping(c.args.text("NAME"));
  if (!text) return tl::unexpected(text.error());
  if (!*text) return fail(Code::not_found, fmt::format("no mapping \"{}\"; see mapping list", c.args.text("NAME")));
  if (c.json)
    c.print({{"name", c.args.text("NAME")}, {"mapping", **text}});
  else
    c.term.raw(**text);
  return {};
}

Result<void> run_mapping_remove(Context& c) {
  const std::string name = c.args.text("NAME");
  const auto text = c.store().mapping(name);
  if (!text) return tl::unexpected(text.error());
  if (!*text) return fail(Code::not_found, fmt::format("no mapping \"{}\"; see mapping list", name));
  const auto change =
      c.store().change("remove mapping " + name, [&](store::Writer& w) { return w.remove_mapping(name); });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, "removed: mapping " + name);
  return {};
}

Result<void> run_undo(Context& c) {
  std::optional<store::ChangeId> wanted;
  if (c.args.has("CHANGE")) wanted = c.args.id("CHANGE");
  const auto change = coach::take_back(c.desk(), wanted);
  if (!change) return tl::unexpected(change.error());
  const auto history = c.store().history(1);
  if (!history) return tl::unexpected(history.error());
  if (c.json) {
    c.print(coach::to_json(*history).front());
    return {};
  }
  c.say_change(*change, history->empty() ? "taken back"
                                         : fmt::format("taken back: change {}", history->front().undoes.value_or(0)));
  return {};
}

Result<void> run_history(Context& c) {
  const auto history = c.store().history(c.args.whole("--last").value_or(20));
  if (!history) return tl::unexpected(history.error());
  if (c.json) {
    c.print(coach::to_json(*history));
    return {};
  }
  if (history->empty()) c.term.line("no changes yet");
  for (const store::Change& change : *history) {
    std::string text = fmt::format("{:>6}  {}  {}", change.id, change.time.substr(0, 16), change.what);
    if (change.undone_by)
      text += fmt::format(" (taken back by {})", *change.undone_by);
    else if (change.final)
      text += " (cannot be taken back)";
    c.term.line(text, 0, 26);
  }
  return {};
}

Result<void> run_export(Context& c) {
  auto report = coach::export_all(c.desk(), c.args.text("FOLDER"), c.args.text("--lifter"));
  if (!report) return tl::unexpected(report.error());
  if (c.args.flag("--workbook")) {
    const auto sets = coach::write_data_workbook(c.desk(), report->folder + "/data.xlsx", c.args.text("--lifter"),
                                                 c.share("estimating"));
    if (!sets) return tl::unexpected(sets.error());
    const auto csv = coach::data_csv(c.desk(), c.args.text("--lifter"));
    if (!csv) return tl::unexpected(csv.error());
    report->files.emplace_back("data.xlsx");
    for (const coach::CsvFile& file : *csv) {
      if (const auto put = documents::write_whole_file(report->folder + "/" + file.name, file.text); !put) return put;
      report->files.push_back(file.name);
    }
    c.progress.clear();
  }
  if (c.json) {
    c.print(
        {{"folder", report->folder}, {"files", report->files}, {"lifters", report->lifters}, {"sets", report->sets}});
    return {};
  }
  std::string files;
  for (const std::string& file : report->files) files += (files.empty() ? "" : ", ") + file;
  c.term.line(fmt::format("{} of {} in {}: {}", counted(report->sets, "set"), counted(report->lifters, "lifter"),
                          report->folder, files));
  return {};
}

Result<void> run_backup(Context& c) {
  const std::string file = c.args.text("FILE");
  if (const auto done = c.store().backup(file); !done) return done;
  std::error_code ignored;
  const auto bytes = std::filesystem::file_size(file, ignored);
  if (c.json)
    c.print({{"file", file}, {"bytes", bytes}});
  else
    c.term.line(fmt::format("copied and checked: {} ({:.1f} MB)", file, static_cast<double>(bytes) / 1e6));
  return {};
}

Result<void> run_restore(Context& c) {
  const auto report = store::restore_sqlite(c.args.text("FILE"), c.data_file, *c.environment.clock);
  if (!report) return tl::unexpected(report.error());
  if (c.json)
    c.print({{"file", c.data_file}, {"kept", report->kept}});
  else {
    c.term.line(fmt::format("restored: {}", c.data_file));
    if (!report->kept.empty()) c.term.line("the file as it was before: " + report->kept);
  }
  return {};
}

Result<void> run_erase(Context& c) {
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto held = c.store().what_is_held(lifter->id);
  if (!held) return tl::unexpected(held.error());
  if (!c.args.flag("--yes")) {
    for (const store::TableCount& t : *held)
      *c.environment.err << fmt::format("  {}: {}\n", t.table, counted(t.rows, "row"));
    *c.environment.err << fmt::format("This removes {} for good and cannot be undone.\nType the name to go on: ",
                                      lifter->name)
                       << std::flush;
    std::string typed;
    if (!c.environment.in || !std::getline(*c.environment.in, typed) || typed != lifter->name) {
      return fail(Code::cancelled, "nothing was erased: the name was not typed");
    }
  }
  const auto report = c.store().erase_lifter(lifter->id);
  if (!report) return tl::unexpected(report.error());
  if (c.json) {
    coach::Json json;
    json["removed"] = coach::Json::array();
    for (const auto& t : report->removed) json["removed"].push_back({{"table", t.table}, {"rows", t.rows}});
    json["mentions"] = report->mentions;
    c.print(json);
    return {};
  }
  std::int64_t rows = 0;
  for (const auto& t : report->removed) rows += t.rows;
  c.term.line(fmt::format("erased for good: {} ({})", lifter->name, counted(rows, "row")));
  for (const std::string& mention : report->mentions) c.term.line("still named in " + mention);
  c.term.line("Backups and exports made before still hold this lifter.");
  return {};
}

Result<void> run_doctor(Context& c) {
  auto findings = c.store().doctor();
  if (!findings) return tl::unexpected(findings.error());
  using Grade = store::Finding::Grade;
  const auto library = c.desk().library();
  std::vector<store::Finding> own;
  own.push_back({Grade::fine, "program", fmt::format("version {}, model {}", kVersion, capacity::kModelVersion)});
  own.push_back({Grade::fine, "data file", c.data_file});
  own.push_back(
      library ? store::Finding{Grade::fine, "exercises", fmt::format("{} in the library", (*library)->all().size())}
              : store::Finding{Grade::fault, "exercises", library.error().message});
  own.push_back(c.term.utf8()
                    ? store::Finding{Grade::fine, "terminal", "UTF-8"}
                    : store::Finding{Grade::note, "terminal", "the locale is not UTF-8: drawings are plain ASCII"});
  const auto lifters = c.store().lifters();
  if (!lifters) return tl::unexpected(lifters.error());
  std::size_t current = 0;
  for (const Lifter& lifter : *lifters) {
    const auto fitted = coach::is_fitted(c.desk(), lifter);
    if (!fitted) return tl::unexpected(fitted.error());
    current += *fitted;
  }
  own.push_back({current == lifters->size() ? Grade::fine : Grade::note, "estimates",
                 fmt::format("{} of {} lifters up to date{}", current, lifters->size(),
                             current == lifters->size() ? "" : "; fit makes the rest")});
  findings->insert(findings->begin(), own.begin(), own.end());
  bool fault = false;
  for (const store::Finding& f : *findings) fault = fault || f.grade == Grade::fault;
  if (c.json) {
    c.print(coach::to_json(*findings));
  } else {
    for (const store::Finding& f : *findings) {
      c.term.line(padded(f.grade == Grade::fine   ? "fine"
                         : f.grade == Grade::note ? "note"
                                                  : "FAULT",
                         6) +
                      padded(f.subject, 12) + " " + f.text,
                  0, 19);
    }
  }
  if (fault)
    return fail(Code::corrupt, "the data file has a fault: restore a backup, or ask for help with the lines above");
  return {};
}

Result<void> run_version(Context& c) {
  if (c.json)
    c.print({{"program", kProgram}, {"version", kVersion}, {"model_version", capacity::kModelVersion}});
  else
    c.term.line(fmt::format("{} {} (model {})", kProgram, kVersion, capacity::kModelVersion));
  return {};
}

}  // namespace ullage::cli
