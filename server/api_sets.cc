// The log: shown, added to, corrected.
#include <algorithm>
#include <cstdlib>
#include <utility>

#include "server/routes.h"
#include "server/set_fields.h"
#include "server/shown.h"
#include "service/coach/doubt.h"
#include "service/coach/session_log.h"

namespace ullage::server {
namespace {

Outcome<store::StoredSet> set_of(Call& call) {
  const std::string& text = call.parameter("set");
  char* end = nullptr;
  const store::SetId id = std::strtoll(text.c_str(), &end, 10);
  if (text.empty() || *end != '\0' || id <= 0)
    return tl::unexpected(Problem(404, "not_found", "no set \"" + text + "\""));
  auto set = call.store().set(id);
  if (!set) return problem(set.error());
  return std::move(*set);
}

// More likely a slip than meant: asked about. Sent again with `sure` it is done.
Outcome<bool> ask_about(Call& call, const Lifter& lifter, const std::vector<SetRecord>& sets, store::SetId but = 0) {
  std::string message;
  const auto doubts = coach::doubts_about(call.desk, lifter, sets, but);
  if (!doubts) return problem(doubts.error());
  if (doubts->empty()) return true;
  for (const std::string& doubt : *doubts) message += (message.empty() ? "" : "\n") + doubt;
  return tl::unexpected(Problem(409, "doubtful", std::move(message), "load"));
}

}  // namespace

Answer get_sets(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  store::SetFilter filter;
  if (const auto name = call.query.text("exercise")) {
    const auto exercise = call.desk.exercise(*name);
    if (!exercise) return wrong("exercise", exercise.error().message);
    filter.exercise = (*exercise)->id;
  }
  filter.from = call.query.date("from");
  filter.to = call.query.date("to");
  filter.newest_first = call.query.choice("order", {"asc", "desc"}).value_or(1) == 1;
  filter.skip = static_cast<std::size_t>(call.query.whole("offset", 0, 100000000).value_or(0));
  filter.most = static_cast<std::size_t>(call.query.whole("limit", 1, 5000).value_or(100));
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto total = call.store().set_count(lifter->id, filter);
  if (!total) return problem(total.error());
  const auto sets = call.store().sets(lifter->id, filter);
  if (!sets) return problem(sets.error());
  Json json;
  json["total"] = *total;
  json["offset"] = filter.skip;
  json["sets"] = Json::array();
  for (const store::StoredSet& set : *sets) json["sets"].push_back(set_json(set, **library));
  return json_response(json);
}

Answer post_set(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  Fields fields = call.fields();
  auto read = read_set(fields, {}, true);
  const bool sure = fields.flag("sure").value_or(false);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  coach::LogWish wish;
  wish.lifter = lifter->id;
  wish.set = std::move(read.set);
  wish.stop_given = read.stop_given;
  wish.may_fit = false;
  if (!sure) {
    if (auto asked = ask_about(call, *lifter, {wish.set}); !asked) return tl::unexpected(asked.error());
  }
  const auto report = coach::log_set(call.desk, wish);
  if (!report) return problem(report.error());
  return json_response(report_json(*report, **library), 201);
}

// A paper sheet that was filled in, typed in plain words.
Answer post_session_line(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  Fields fields = call.fields();
  coach::SessionLogWish wish;
  wish.lifter = lifter->id;
  wish.text = fields.text("text", true).value_or("");
  wish.date = fields.date("date");
  wish.session = fields.text("session").value_or("");
  wish.place = fields.text("place").value_or("");
  if (const auto unit = fields.choice("unit", {"kg", "lb"})) wish.unit = *unit == 0 ? Unit::kilogram : Unit::pound;
  wish.dry_run = fields.flag("dry_run").value_or(false);
  const bool sure = fields.flag("sure").value_or(false);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  // Read first: what is doubtful is told, or asked about.
  const bool dry_run = std::exchange(wish.dry_run, true);
  auto report = coach::log_session(call.desk, wish);
  if (!report) return problem(report.error());
  const auto doubts = coach::doubts_about(call.desk, *lifter, report->sets);
  if (!doubts) return problem(doubts.error());
  if (!dry_run) {
    if (!sure) {
      if (auto asked = ask_about(call, *lifter, report->sets); !asked) return tl::unexpected(asked.error());
    }
    wish.dry_run = false;
    report = coach::log_session(call.desk, wish);
    if (!report) return problem(report.error());
  }
  Json json = {{"date", date_text(report->date)}, {"change", nullptr}, {"sets", Json::array()}};
  if (report->change != 0) json["change"] = report->change;
  for (const SetRecord& set : report->sets) {
    store::StoredSet stored;
    stored.set = set;
    const Json whole = set_json(stored, **library);
    Json line;
    for (const char* key : {"exercise", "name", "side", "load", "reps", "failed", "called_reserve", "rest_s", "pain"})
      line[key] = whole.at(key);
    json["sets"].push_back(std::move(line));
  }
  json["pains"] = report->pains;
  json["remarks"] = report->remarks;
  json["doubts"] = *doubts;
  return json_response(json, report->change != 0 ? 201 : 200);
}

Answer patch_set(Call& call) {
  const auto stored = set_of(call);
  if (!stored) return tl::unexpected(stored.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  Fields fields = call.fields();
  auto read = read_set(fields, stored->set, false);
  const bool sure = fields.flag("sure").value_or(false);
  if (const auto exercise = call.desk.exercise(read.set.exercise))
    read.set.exercise = (*exercise)->id;
  else
    fields.wrong("exercise", exercise.error().message);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const SetRecord& was = stored->set;
  if (!sure && (was.exercise != read.set.exercise || !(was.load == read.set.load) || was.reps != read.set.reps)) {
    const auto lifter = call.desk.lifter(stored->lifter);
    if (!lifter) return problem(lifter.error());
    if (auto asked = ask_about(call, *lifter, {read.set}, stored->id); !asked) return tl::unexpected(asked.error());
  }
  const auto change = coach::edit_set(call.desk, stored->id, read.set);
  if (!change) return problem(change.error());
  const auto now = call.store().set(stored->id);
  if (!now) return problem(now.error());
  return json_response({{"change", *change}, {"set", set_json(*now, **library)}});
}

Answer delete_set(Call& call) {
  const auto stored = set_of(call);
  if (!stored) return tl::unexpected(stored.error());
  const auto change = coach::remove_set(call.desk, stored->id);
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

}  // namespace ullage::server
