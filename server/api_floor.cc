// Sessions: written at the desk, trained on the floor.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <optional>

#include "server/routes.h"
#include "server/set_fields.h"
#include "server/shown.h"
#include "service/coach/day_notes.h"

namespace ullage::server {
tl::unexpected<Problem> refused(Call& call, const Lifter& lifter, const Error& error) {
  Problem out(error);
  if (error.code == Code::not_allowed) {
    const auto gate = call.desk.strict_gate(lifter, call.desk.today());
    if (gate && !gate->allowed()) out.holds = holds_json(*gate);
  }
  return tl::unexpected(std::move(out));
}

Outcome<coach::Fitted> need_fit(Call& call, const Lifter& lifter) {
  auto fitted = coach::stored_estimate(call.desk, lifter.id);
  if (!fitted) return problem(fitted.error());
  if (*fitted) return std::move(**fitted);
  return tl::unexpected(Problem(409, "not_fitted",
                                "the estimates of " + lifter.name +
                                    " do not rest on the log as it is now: fit them (POST /api/fits) and ask again"));
}

namespace {

coach::FloorOf of_query(Call& call, const Lifter& lifter) {
  return {lifter.id, call.query.date("date"), call.query.text("session").value_or("")};
}
coach::FloorOf of_body(Fields& fields, const Lifter& lifter) {
  return {lifter.id, fields.date("date"), fields.text("session").value_or("")};
}

Outcome<coach::SessionWish> read_wish(Call& call, const Lifter& lifter, bool may_keep) {
  Fields fields = call.fields();
  coach::SessionWish wish;
  wish.lifter = lifter.id;
  wish.date = fields.date("date");
  wish.session = fields.text("session").value_or("");
  wish.place = fields.text("place").value_or("");
  if (may_keep)
    wish.keep = fields.flag("keep").value_or(true);
  else
    (void)fields.flag("keep");
  if (const Json* exercises = fields.list("exercises", 40)) {
    for (std::size_t i = 0; i < exercises->size(); ++i) {
      Fields f((*exercises)[i], "exercises." + std::to_string(i));
      planning::ExerciseRequest e;
      e.exercise = f.text("exercise", true).value_or("");
      e.side = static_cast<Side>(f.choice("side", {"both", "left", "right"}).value_or(0));
      e.sets = f.whole("sets", 1, 10);
      e.least_reps = f.whole("least_reps", 1, 100);
      e.most_reps = f.whole("most_reps", 1, 100);
      e.least_reserve = f.number("least_reserve", 0, 10);
      e.most_reserve = f.number("most_reserve", 0, 10);
      e.rest_s = f.number("rest_s", 10, 1800);
      e.load = f.load("load");
      e.strategy =
          static_cast<planning::Strategy>(f.choice("strategy", {"same load", "same reps", "top set"}).value_or(0));
      e.finish = static_cast<planning::Finish>(f.choice("finish", {"as usual", "failure", "test"}).value_or(0));
      fields.take_faults(f);
      wish.exercises.push_back(std::move(e));
    }
  }
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  return wish;
}

Answer session_answer(Call& call, const Lifter& lifter, const coach::SessionWish& wish) {
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  // A hold is told before a missing fit.
  const auto gate = call.desk.strict_gate(lifter, wish.date.value_or(call.desk.today()));
  if (!gate) return problem(gate.error());
  if (gate->allowed()) {
    if (auto fitted = need_fit(call, lifter); !fitted) return tl::unexpected(fitted.error());
  }
  const auto sheet = coach::write_session(call.desk, wish);
  if (!sheet) return refused(call, lifter, sheet.error());
  return json_response(sheet_json(*sheet, call.desk, **library));
}

// The session as it stands, with what its day is.
Outcome<Json> floor_of(Call& call, const coach::FloorView& view) {
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  auto notes = coach::notes_of_day(call.desk, view.lifter.id, view.date);
  if (!notes) return problem(notes.error());
  Json json = floor_json(view, **library);
  json["notes"] = std::move(*notes);
  return json;
}

Answer changed(Call& call, const Lifter& lifter, const Result<coach::FloorChange>& change) {
  if (!change) return refused(call, lifter, change.error());
  auto floor = floor_of(call, change->view);
  if (!floor) return tl::unexpected(floor.error());
  return json_response({{"floor", std::move(*floor)}, {"change", change->change}});
}

bool is_client_id(const std::string& text) {
  return text.size() >= 8 && text.size() <= 64 &&
         std::all_of(text.begin(), text.end(), [](unsigned char c) { return std::isalnum(c) || c == '-' || c == '_'; });
}

// An instant of RFC 3339, such as 2026-03-09T17:40:05Z or 2026-03-09T18:40:05.25+01:00, in UTC; empty: it is none.
std::optional<std::string> utc_instant(const std::string& text) {
  const auto number = [&](std::size_t at, int most) {
    if (at + 2 > text.size() || !std::isdigit(static_cast<unsigned char>(text[at])) ||
        !std::isdigit(static_cast<unsigned char>(text[at + 1])))
      return -1;
    const int value = (text[at] - '0') * 10 + (text[at + 1] - '0');
    return value <= most ? value : -1;
  };
  if (text.size() < 20 || text[10] != 'T' || text[13] != ':' || text[16] != ':') return std::nullopt;
  auto day = parse_date(text.substr(0, 10));
  const int hour = number(11, 23), minute = number(14, 59), second = number(17, 60);
  if (!day || hour < 0 || minute < 0 || second < 0) return std::nullopt;
  std::size_t end = 19;
  if (text[end] == '.') {
    while (++end < text.size() && std::isdigit(static_cast<unsigned char>(text[end]))) continue;
    if (end == 20 || end > 29) return std::nullopt;
  }
  const std::string rest = text.substr(19, end - 19), zone = text.substr(end);
  int ahead = 0;  // minutes
  if (zone != "Z") {
    const int hours = zone.size() == 6 ? number(end + 1, 23) : -1,
              minutes = zone.size() == 6 ? number(end + 4, 59) : -1;
    if (hours < 0 || minutes < 0 || zone[3] != ':' || (zone[0] != '+' && zone[0] != '-')) return std::nullopt;
    ahead = (zone[0] == '-' ? -1 : 1) * (hours * 60 + minutes);
  }
  int of_day = hour * 60 + minute - ahead;
  for (; of_day < 0; of_day += 24 * 60) day = *day - 1;
  for (; of_day >= 24 * 60; of_day -= 24 * 60) day = *day + 1;
  return fmt::format("{}T{:02}:{:02}:{:02}{}Z", date_text(*day), of_day / 60, of_day % 60, second, rest);
}

// What was sent, in one form: fields in order of name, without those that say when it was sent. The day is compared by
// itself, since it may be left out.
std::string content_of(const Json& body) {
  nlohmann::json sorted = nlohmann::json::parse(body.dump(-1, ' ', false, Json::error_handler_t::replace));
  sorted.erase("client_id");
  sorted.erase("done_at");
  sorted.erase("date");
  return sorted.dump();
}

}  // namespace

Answer get_session(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  coach::SessionWish wish;
  wish.lifter = lifter->id;
  wish.date = call.query.date("date");
  wish.session = call.query.text("session").value_or("");
  wish.place = call.query.text("place").value_or("");
  wish.keep = false;
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  return session_answer(call, *lifter, wish);
}

Answer post_session(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto wish = read_wish(call, *lifter, true);
  if (!wish) return tl::unexpected(wish.error());
  return session_answer(call, *lifter, *wish);
}

Answer get_floors(Call& call) {
  const Date date = call.query.date("date").value_or(call.desk.today());
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto sessions = coach::floor_sessions(call.desk, date);
  if (!sessions) return problem(sessions.error());
  Json json;
  json["date"] = date_text(date);
  json["sessions"] = Json::array();
  for (const coach::FloorSession& s : *sessions) {
    json["sessions"].push_back({{"lifter", s.lifter.name},
                                {"id", s.lifter.id},
                                {"date", date_text(s.date)},
                                {"session", s.session},
                                {"started", text_or_null(s.started)},
                                {"finished", text_or_null(s.finished)},
                                {"sets", s.sets}});
  }
  return json_response(json);
}

Answer get_floor(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const coach::FloorOf of = of_query(call, *lifter);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto view = coach::floor_view(call.desk, of);
  if (!view) return refused(call, *lifter, view.error());
  auto floor = floor_of(call, *view);
  if (!floor) return tl::unexpected(floor.error());
  return json_response(*floor);
}

Answer post_start(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto wish = read_wish(call, *lifter, false);
  if (!wish) return tl::unexpected(wish.error());
  const auto started = coach::start_floor(call.desk, *wish);
  if (!started && started.error().code == Code::unavailable) {
    if (auto fitted = need_fit(call, *lifter); !fitted) return tl::unexpected(fitted.error());
  }
  return changed(call, *lifter, started);
}

Answer post_floor_set(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  Fields fields = call.fields();
  coach::LogWish wish;
  wish.lifter = lifter->id;
  wish.client_id = fields.text("client_id", true).value_or("");
  if (!wish.client_id.empty() && !is_client_id(wish.client_id))
    fields.wrong("client_id", "8 to 64 letters, digits, hyphens or underscores were expected");
  if (const auto done_at = fields.text("done_at")) {
    const auto instant = utc_instant(*done_at);
    if (!instant)
      fields.wrong("done_at", "an instant such as 2026-03-09T17:40:05Z or 2026-03-09T18:40:05+01:00 was expected");
    wish.done_at = instant.value_or("");
  }
  auto read = read_set(fields, {}, true);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  wish.set = std::move(read.set);
  wish.stop_given = read.stop_given;
  wish.content = content_of(call.body);
  const auto logged = coach::log_on_floor(call.desk, wish);
  if (!logged) return refused(call, *lifter, logged.error());
  const Json report = report_json(logged->report, **library);
  if (logged->clash) {
    Problem clash(409, "clash", "another set was logged under this client_id: it stands", "client_id");
    clash.stored = report.at("set");
    return tl::unexpected(std::move(clash));
  }
  Json json;
  auto floor = floor_of(call, logged->view);
  if (!floor) return tl::unexpected(floor.error());
  json["floor"] = std::move(*floor);
  json["logged"] = {{"client_id", wish.client_id},
                    {"change", logged->report.change},
                    {"set", report.at("set")},
                    {"expected", outcome_json(logged->report.expected)},
                    {"duplicate", logged->duplicate},
                    {"withdrawn", logged->withdrawn},
                    {"pain_opened", logged->report.pain_opened},
                    {"remarks", logged->report.remarks}};
  return json_response(json);
}

Answer delete_floor_set(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const coach::FloorOf of = of_query(call, *lifter);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const std::string& client_id = call.parameter("client_id");
  if (!is_client_id(client_id))
    return tl::unexpected(Problem(404, "not_found", "no set was sent under the id \"" + client_id + "\""));
  return changed(call, *lifter, coach::withdraw(call.desk, of, client_id));
}

Answer get_alternatives(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const coach::FloorOf of = of_query(call, *lifter);
  const auto exercise = call.query.text("exercise", true);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto found = coach::alternatives(call.desk, of, *exercise);
  if (!found) return problem(found.error());
  Json json = Json::array();
  for (const coach::Alternative& a : *found) {
    json.push_back({{"exercise", a.exercise->id},
                    {"name", a.exercise->name},
                    {"overlap", a.overlap},
                    {"done_before", a.done_before}});
  }
  return json_response({{"exercises", std::move(json)}});
}

Answer post_swap(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const coach::FloorOf of = of_body(fields, *lifter);
  const std::string exercise = fields.text("exercise", true).value_or("");
  const std::string with = fields.text("with", true).value_or("");
  const auto side = static_cast<Side>(fields.choice("side", {"both", "left", "right"}).value_or(0));
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  return changed(call, *lifter, coach::swap_exercise(call.desk, of, exercise, side, with));
}

Answer post_floor_pain(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const coach::FloorOf of = of_body(fields, *lifter);
  const std::string exercise = fields.text("exercise", true).value_or("");
  const std::string note = fields.text("note").value_or("");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  return changed(call, *lifter, coach::pain_on_floor(call.desk, of, exercise, note));
}

Answer post_finish(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const coach::FloorOf of = of_body(fields, *lifter);
  const bool finished = fields.flag("finished").value_or(true);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto done = coach::finish_floor(call.desk, of, finished);
  // The session is over: what it taught is worked in, in the background.
  if (done && finished && !done->view.done.empty()) (void)start_fit(call, {lifter->id}, true);
  return changed(call, *lifter, done);
}

}  // namespace ullage::server
