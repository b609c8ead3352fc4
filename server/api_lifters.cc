// The roster, and lifters' profiles.
#include <algorithm>

#include "server/routes.h"
#include "server/shown.h"
#include "service/coach/records.h"

namespace ullage::server {
namespace {

constexpr auto kPatience = std::chrono::milliseconds(100);  // of a request, for rows not looked at yet

std::optional<Load> mass_of(Fields& fields, const std::string& name, bool needed) {
  const auto mass = fields.load(name, needed);
  if (!mass) return std::nullopt;
  if (mass->unit == Unit::mark || kilograms(*mass).value < 20 || kilograms(*mass).value > 400) {
    fields.wrong(name, "a mass from 20 to 400 kg was expected");
    return std::nullopt;
  }
  return mass;
}

// Changes of the profile that the body asks for.
Outcome<void> read_profile(Call& call, Lifter& l, bool name_needed) {
  Fields f = call.fields();
  if (const auto v = f.text("lifter", name_needed)) l.name = *v;
  if (f.is_null("born")) l.born.reset();
  if (const auto v = f.date("born")) {
    if (*v < *make_date(1900, 1, 1) || *v > call.desk.today())
      f.wrong("born", "a day from 1900 on, in the past, was expected");
    else
      l.born = v;
  }
  if (const auto v = f.choice("sex", {"unknown", "female", "male"}))
    l.sex = *v == 1 ? Sex::female : *v == 2 ? Sex::male : Sex::unknown;
  if (f.is_null("training_years")) l.training_years.reset();
  if (const auto v = f.number("training_years", 0, 80)) l.training_years = v;
  if (f.is_null("since")) l.since.reset();
  if (const auto v = f.date("since")) l.since = v;
  if (const auto v = f.text("goal")) l.goal = *v;
  if (const auto v = f.choice("unit", {"kg", "lb"})) l.unit = *v == 0 ? Unit::kilogram : Unit::pound;
  if (const auto v = f.whole("days_per_week", 1, 14)) l.days_per_week = *v;
  if (const auto v = f.whole("minutes_per_session", 5, 600)) l.minutes_per_session = *v;
  if (const auto v = f.text("note")) l.note = *v;
  if (const auto v = f.text("place")) {
    if (v->empty()) {
      l.place.clear();
    } else if (const auto place = call.desk.place(*v)) {
      l.place = place->id;
    } else {
      f.wrong("place", place.error().message);
    }
  }
  if (const auto v = f.texts("avoid")) {
    l.avoid.clear();
    for (const std::string& name : *v) {
      const auto exercise = call.desk.exercise(name);
      if (exercise)
        l.avoid.push_back((*exercise)->id);
      else
        f.wrong("avoid", exercise.error().message);
    }
  }
  if (const auto mass = mass_of(f, "body_mass", false)) {
    const Date today = call.desk.today();
    std::erase_if(l.body_mass, [&](const BodyMass& m) { return m.date == today; });
    l.body_mass.push_back({today, *mass});
    std::sort(l.body_mass.begin(), l.body_mass.end(),
              [](const BodyMass& x, const BodyMass& y) { return x.date < y.date; });
  }
  return f.done();
}

const std::vector<std::string>& kind_names() {
  static const std::vector<std::string> all = [] {
    std::vector<std::string> names;
    for (int k = 0; k <= static_cast<int>(coach::Attention::assumed); ++k)
      names.emplace_back(coach::attention_name(static_cast<coach::Attention>(k)));
    return names;
  }();
  return all;
}

}  // namespace

Answer get_roster(Call& call) {
  coach::RosterQuery query;
  if (const auto v = call.query.choice("sort", {"attention", "name", "last_session", "sessions", "sets"}))
    query.sort = static_cast<coach::RosterQuery::Sort>(*v);
  query.descending = call.query.choice("order", {"asc", "desc"}).value_or(0) == 1;
  query.text = call.query.text("q").value_or("");
  if (const auto v = call.query.choice("kind", kind_names())) query.kind = static_cast<coach::Attention>(*v);
  query.offset = static_cast<std::size_t>(call.query.whole("offset", 0, 100000000).value_or(0));
  query.limit = static_cast<std::size_t>(call.query.whole("limit", 1, 10000).value_or(100));
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  if (const auto all = call.services.roster.refresh(call.desk, kPatience); !all) return problem(all.error());
  const coach::RosterPage page = call.services.roster.page(query);
  Json json;
  json["as_of"] = date_text(page.as_of);
  json["total"] = page.total;
  json["standing_out"] = page.standing_out;
  json["matching"] = page.matching;
  json["offset"] = query.offset;
  json["pending"] = page.pending;
  json["counts"] = Json::object();
  for (const auto& [kind, count] : page.counts) json["counts"][std::string(coach::attention_name(kind))] = count;
  json["lifters"] = Json::array();
  for (const auto& [row, pending] : page.rows) {
    Json one;
    one["lifter"] = row.lifter.name;
    one["id"] = row.lifter.id;
    one["reasons"] = Json::array();
    for (const coach::Reason& reason : row.reasons)
      one["reasons"].push_back({{"kind", coach::attention_name(reason.attention)}, {"text", reason.text}});
    one["last_session"] = day_or_null(row.last_session);
    one["sessions"] = row.sessions;
    one["sets"] = row.sets;
    one["pending"] = pending;
    json["lifters"].push_back(std::move(one));
  }
  return json_response(json);
}

Answer post_lifter(Call& call) {
  Lifter lifter;
  if (auto read = read_profile(call, lifter, true); !read) return tl::unexpected(read.error());
  store::ChangeId change = 0;
  const auto made = coach::take_on(call.desk, lifter, &change);
  if (!made) return problem(made.error());
  return json_response({{"change", change}, {"profile", coach::to_json(*made)}}, 201);
}

Answer get_lifter(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  const auto sessions = call.store().session_days(lifter->id);
  if (!sessions) return problem(sessions.error());
  const auto sets = call.store().set_count(lifter->id);
  if (!sets) return problem(sets.error());
  const auto gate = call.desk.session_gate(*lifter, call.desk.today(), *sessions);
  if (!gate) return problem(gate.error());
  const auto where = call.desk.where(*lifter);
  if (!where) return problem(where.error());
  const auto fitted = coach::is_fitted(call.desk, *lifter);
  if (!fitted) return problem(fitted.error());
  Json json;
  json["profile"] = coach::to_json(*lifter);
  json["gate"] = gate_json(*gate, **library);
  json["place"] = {{"place", where->place.id}, {"name", where->place.name}, {"assumed", where->assumed}};
  json["fitted"] = *fitted;
  json["sessions"] = coach::count_until(*sessions, call.desk.today());
  json["sets"] = *sets;
  json["last_session"] = sessions->empty() ? Json() : Json(date_text(sessions->back()));
  return json_response(json);
}

Answer patch_lifter(Call& call) {
  auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (auto read = read_profile(call, *lifter, false); !read) return tl::unexpected(read.error());
  const auto change = coach::put_lifter(call.desk, *lifter);
  if (!change) return problem(change.error());
  const auto now = call.store().lifter(lifter->id);
  if (!now) return problem(now.error());
  return json_response({{"change", *change}, {"profile", coach::to_json(*now)}});
}

Answer delete_lifter(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto change =
      call.store().change("remove " + lifter->name, [&](store::Writer& w) { return w.remove_lifter(lifter->id); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer get_held(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto held = call.store().what_is_held(lifter->id);
  if (!held) return problem(held.error());
  Json json = Json::array();
  for (const store::TableCount& t : *held) json.push_back({{"table", t.table}, {"rows", t.rows}});
  return json_response({{"tables", std::move(json)}});
}

Answer post_erase(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const auto name = fields.text("name", true);
  if (name && *name != lifter->name) fields.wrong("name", "is not the lifter's name: nothing was erased");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto report = call.store().erase_lifter(lifter->id);
  if (!report) return problem(report.error());
  Json json;
  json["removed"] = Json::array();
  for (const store::TableCount& t : report->removed) json["removed"].push_back({{"table", t.table}, {"rows", t.rows}});
  json["mentions"] = report->mentions;
  return json_response(json);
}

Answer post_body_mass(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const auto mass = mass_of(fields, "mass", true);
  const Date date = fields.date("date").value_or(call.desk.today());
  if (date > call.desk.today()) fields.wrong("date", "is after today, " + date_text(call.desk.today()));
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto change = call.store().change("body mass of " + lifter->name,
                                          [&](store::Writer& w) { return w.put_body_mass(lifter->id, {date, *mass}); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

}  // namespace ullage::server
