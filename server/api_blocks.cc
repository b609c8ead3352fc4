// Blocks of weeks: planned in the background, accepted, edited, rejected; templates; ways to train compared.
#include <algorithm>

#include "server/routes.h"
#include "server/shown.h"
#include "service/coach/block_check.h"
#include "service/coach/block_views.h"
#include "service/coach/compare.h"
#include "service/coach/readings.h"

namespace ullage::server {
namespace {

// The holds that stand in the way, as every path tells them; nothing when training may be prescribed.
Outcome<void> allowed(Call& call, const Lifter& lifter) {
  const auto gate = call.desk.strict_gate(lifter, call.desk.today());
  if (!gate) return problem(gate.error());
  if (gate->allowed()) return {};
  Problem out(Error{Code::not_allowed, lifter.name + " is on hold: " + gate->held_text()});
  out.holds = holds_json(*gate);
  return tl::unexpected(std::move(out));
}

Json summary_json(const coach::KeptBlock& kept) {
  const auto& weeks = kept.sheet.weeks;
  return {{"number", kept.number},
          {"state", kept.state},
          {"said", kept.said},
          {"name", kept.sheet.request.name},
          {"made", date_text(kept.sheet.made)},
          {"from", weeks.empty() ? Json() : Json(date_text(weeks.front().monday))},
          {"until", weeks.empty() ? Json() : Json(date_text(weeks.back().monday + 6))},
          {"weeks", weeks.size()}};
}

// Strength of a lift that was named against growth of a muscle (assumption).
constexpr double kStrengthWeight = 2;

std::vector<coach::BlockRequest::Day> read_days(Fields& fields, const Json& list) {
  std::vector<coach::BlockRequest::Day> days;
  for (std::size_t i = 0; i < list.size(); ++i) {
    Fields f(list[i], fields.at("days") + "." + std::to_string(i));
    coach::BlockRequest::Day day;
    day.weekday = f.whole("weekday", 1, 7, true).value_or(1);
    day.minutes = f.number("minutes", 5, 300, true).value_or(60);
    day.place = f.text("place").value_or("");
    if (std::any_of(days.begin(), days.end(), [&](const auto& d) { return d.weekday == day.weekday; }))
      f.wrong("weekday", "each day once");
    fields.take_faults(f);
    days.push_back(day);
  }
  std::sort(days.begin(), days.end(), [](const auto& a, const auto& b) { return a.weekday < b.weekday; });
  return days;
}

// Each entry of a list of objects: `one` reads it. False: the body has no such list.
template <class One>
bool each(Fields& fields, const char* name, int most, One one) {
  const Json* list = fields.list(name, most);
  if (list == nullptr) return false;
  for (std::size_t i = 0; i < list->size(); ++i) {
    Fields f((*list)[i], fields.at(name) + "." + std::to_string(i));
    one(f);
    fields.take_faults(f);
  }
  return true;
}

std::vector<Muscle> read_muscles(Fields& fields, const char* name) {
  std::vector<Muscle> muscles;
  const auto texts = fields.texts(name).value_or(std::vector<std::string>{});
  for (const std::string& text : texts) {
    if (const auto muscle = parse_muscle(text))
      muscles.push_back(*muscle);
    else
      fields.wrong(name, "no such muscle");
  }
  if (muscles.empty()) fields.wrong(name, "one muscle at least was expected");
  return muscles;
}

// Rules that a plain list of exercises cannot say.
bool read_rules_over(Fields& fields, coach::BlockRequest& q) {
  bool given = each(fields, "order", 40, [&](Fields& f) {
    coach::BlockRequest::Order order;
    order.first = f.text("first", true).value_or("");
    order.then = f.text("then", true).value_or("");
    if (!order.first.empty() && order.first == order.then) f.wrong("then", "another exercise than the first");
    q.order.push_back(order);
  });
  given |= each(fields, "tests", 40, [&](Fields& f) {
    coach::BlockRequest::Test test;
    test.exercise = f.text("exercise", true).value_or("");
    test.week = f.whole("week", 1, 12, true).value_or(1);
    q.tests.push_back(test);
  });
  given |= each(fields, "fixed", 80, [&](Fields& f) {
    coach::BlockRequest::Fixed fixed;
    fixed.exercise = f.text("exercise", true).value_or("");
    fixed.weekday = f.whole("weekday", 1, 7, true).value_or(1);
    fixed.sets = f.whole("sets", 1, 10);
    fixed.reserve = f.whole("reserve", 0, 10);
    q.fixed.push_back(fixed);
  });
  std::vector<Muscle> limited;
  given |= each(fields, "muscles", kMuscleCount, [&](Fields& f) {
    const auto muscle = parse_muscle(f.text("muscle", true).value_or(""));
    const auto least = f.number("least_week", 0, 40);
    const auto most = f.number("most_week", 0, 60);
    if (!f.has("least_week") && !f.has("most_week")) f.wrong("least_week", "least_week or most_week was expected");
    if (!muscle) {
      if (f.has("muscle")) f.wrong("muscle", "no such muscle");
      return;
    }
    if (std::find(limited.begin(), limited.end(), *muscle) != limited.end()) f.wrong("muscle", "each muscle once");
    limited.push_back(*muscle);
    coach::BlockRequest::Limits& limits = q.muscles[*muscle];  // over what a template says of it
    if (least) limits.least_week = least;
    if (most) limits.most_week = most;
    if (limits.least_week && limits.most_week && *limits.least_week > *limits.most_week)
      f.wrong(most ? "most_week" : "least_week", "at most would be below at least");
  });
  given |= each(fields, "balance", 20, [&](Fields& f) {
    coach::BlockRequest::BalanceRule rule;
    rule.of = read_muscles(f, "of");
    rule.against = read_muscles(f, "against");
    rule.ratio = f.number("ratio", 0.1, 10, true).value_or(1);
    const auto names = [](const std::vector<Muscle>& muscles) {
      std::string text;
      for (const Muscle m : muscles) text += (text.empty() ? "" : ", ") + std::string(muscle_name(m));
      return text;
    };
    rule.name = f.text("name").value_or("");
    if (rule.name.empty()) rule.name = names(rule.of) + " against " + names(rule.against);
    q.balance.push_back(rule);
  });
  return given;
}

// What comes between: a stay elsewhere, the way back after illness or injury, an exercise that is out for a time. Part
// of a new request, or a change that an accepted plan is solved again around.
void read_interruptions(Fields& fields, coach::BlockWish& wish) {
  std::vector<coach::BlockRequest::Travel> stays;
  each(fields, "travel", 10, [&](Fields& f) {
    coach::BlockRequest::Travel stay;
    stay.from = f.date("from", true).value_or(Date{});
    stay.until = f.date("until", true).value_or(stay.from);
    stay.place = f.text("place").value_or("");
    if (const Json* days = f.list("days", 7)) stay.days = read_days(f, *days);
    if (stay.until < stay.from) f.wrong("until", "a day after the first was expected");
    stays.push_back(stay);
  });
  std::optional<coach::BlockRequest::Return> back;
  if (const Json* body = fields.object("coming_back")) {
    Fields f(*body, fields.at("coming_back"));
    back = coach::BlockRequest::Return{};
    back->from = f.date("from", true).value_or(Date{});
    back->weeks = f.whole("weeks", 1, 12).value_or(back->weeks);
    back->first_share = f.number("first_share", 0.1, 1).value_or(back->first_share);
    back->why = f.text("why").value_or("");
    fields.take_faults(f);
  }
  std::optional<coach::BlockRequest::Ban> out;
  if (const Json* body = fields.object("out")) {
    Fields f(*body, fields.at("out"));
    out = coach::BlockRequest::Ban{};
    out->exercise = f.text("exercise", true).value_or("");
    out->from = f.date("from");
    out->until = f.date("until");
    out->why = f.text("why").value_or("");
    if (out->from && out->until && *out->until < *out->from) f.wrong("until", "a day after the first was expected");
    fields.take_faults(f);
  }
  if (wish.own_request) {
    wish.request.travel.insert(wish.request.travel.end(), stays.begin(), stays.end());
    if (back) wish.request.coming_back = back;
    if (out) wish.request.ban.push_back(*out);
    return;
  }
  if (stays.size() > 1) fields.wrong("travel", "one stay at a time changes an accepted plan");
  if (!stays.empty()) wish.travel = stays.front();
  wish.coming_back = back;
  wish.ban = out;
}

// The parts of a request that the body names, put over what a template says.
void read_request_over(Fields& fields, coach::BlockRequest& q, bool& given) {
  const auto whole = [&](const char* name, int low, int high, int& into) {
    if (const auto value = fields.whole(name, low, high)) into = *value, given = true;
  };
  whole("weeks", 1, 12, q.weeks);
  if (const auto from = fields.date("from")) q.from = *from, given = true;
  if (const auto price = fields.number("price", 0, 10)) q.price = *price, given = true;
  if (const auto alternate = fields.flag("alternate")) q.alternate = *alternate, given = true;
  if (const Json* days = fields.list("days", 7)) {
    q.days = read_days(fields, *days);
    given = true;
  }
  if (const Json* goals = fields.list("goals", 40)) {
    q.goals.clear();
    given = true;
    for (std::size_t i = 0; i < goals->size(); ++i) {
      Fields f((*goals)[i], fields.at("goals") + "." + std::to_string(i));
      const auto muscle = parse_muscle(f.text("muscle", true).value_or(""));
      const double weight = f.number("weight", 0, 10, true).value_or(1);
      if (muscle)
        q.goals[*muscle] = weight;
      else
        f.wrong("muscle", "no such muscle");
      fields.take_faults(f);
    }
  }
  if (const auto lifts = fields.texts("strength")) {
    q.lifts.clear();
    given = true;
    for (const std::string& lift : *lifts) q.lifts.push_back({lift, kStrengthWeight, 0});
  }
  if (const auto must = fields.texts("must")) {
    given = true;
    for (const std::string& exercise : *must) q.must.push_back({exercise, 1, 1, 99});
  }
  if (const auto ban = fields.texts("ban")) {
    given = true;
    for (const std::string& exercise : *ban) q.ban.push_back({exercise, {}, {}, {}, ""});
  }
  if (read_rules_over(fields, q)) given = true;
  if (const auto readings = fields.texts("readings")) {
    given = true;
    q.readings = *readings;
  }
  if (const auto most = fields.number("most_week", 1, 60)) q.every.most_week = *most, given = true;
  if (const Json* target = fields.object("target")) {
    given = true;
    Fields f(*target, fields.at("target"));
    coach::BlockRequest::Target to;
    to.date = f.date("date", true).value_or(Date{});
    const std::vector<std::string> kinds{"meet", "photo"};
    to.kind = kinds[f.choice("kind", kinds, true).value_or(0)];
    fields.take_faults(f);
    q.target = to;
  }
  if (const Json* lighter = fields.list("lighter_weeks", 12)) {
    given = true;
    for (const Json& week : *lighter) {
      if (!week.is_number_integer() || week.get<double>() < 1 || week.get<double>() > 12) {
        fields.wrong("lighter_weeks", "numbers of weeks from 1 to 12 were expected");
        break;
      }
      coach::BlockRequest::Week one;
      one.number = week.get<int>();
      one.why = "lighter week, you asked for it";
      one.failure = false;
      q.special.push_back(one);
    }
  }
}

// Days that are missed, moved or cut: the accepted plan is solved again around them.
void read_changes(Fields& fields, coach::BlockWish& wish) {
  if (const Json* changes = fields.list("day_changes", 60)) {
    for (std::size_t i = 0; i < changes->size(); ++i) {
      Fields f((*changes)[i], fields.at("day_changes") + "." + std::to_string(i));
      coach::BlockRequest::DayChange change;
      change.date = f.date("date", true).value_or(Date{});
      change.to = f.date("to");
      change.minutes = f.number("minutes", 5, 300);
      fields.take_faults(f);
      wish.day_changes.push_back(change);
    }
  }
}

Answer kept_answer(const Result<coach::KeptBlock>& kept, store::ChangeId change) {
  if (!kept) return problem(kept.error());
  return json_response({{"block", coach::to_json(*kept)}, {"change", change}});
}

Json none_json(const planning::NoPlan& none) { return {{"rules", none.rules}, {"irreducible", none.irreducible}}; }

}  // namespace

Answer get_blocks(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto all = coach::kept_blocks(call.desk, lifter->id);
  if (!all) return problem(all.error());
  const auto gate = call.desk.strict_gate(*lifter, call.desk.today());
  if (!gate) return problem(gate.error());
  const auto readings = coach::readings_for(call.desk, {}, 1, 1);
  if (!readings) return problem(readings.error());
  Json json;
  json["lifter"] = lifter->name;
  json["id"] = lifter->id;
  json["today"] = date_text(call.desk.today());
  json["holds"] = gate->allowed() ? Json() : holds_json(*gate);
  json["readings"] = Json::array();
  for (const planning::Reading& r : *readings) json["readings"].push_back({{"name", r.name}, {"rests_on", r.rests_on}});
  json["blocks"] = Json::array();
  json["accepted"] = json["proposed"] = Json();
  for (const coach::KeptBlock& kept : *all) {
    json["blocks"].push_back(summary_json(kept));
    // On hold nothing that could be read as a prescription is answered.
    if (!gate->allowed()) continue;
    if ((kept.state == "accepted" || kept.state == "proposed") && json.at(kept.state).is_null())
      json[kept.state] = coach::to_json(kept);
  }
  return json_response(json);
}

Answer post_block(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  coach::BlockWish wish;
  wish.lifter = lifter->id;
  const auto name = fields.text("template");
  const auto toml = fields.text("request");
  wish.own_request = fields.flag("anew").value_or(false);
  if (name && toml) fields.wrong("request", "a template or a request, not both");
  if (name && !toml) {
    auto found = coach::block_template(call.desk, *name);
    if (found)
      wish.request = std::move(*found);
    else
      fields.wrong("template", found.error().message);
    wish.own_request = true;
  }
  if (toml && !name) {
    auto read = coach::read_request(*toml);
    if (read)
      wish.request = std::move(*read);
    else
      fields.wrong("request", read.error().message);
    wish.own_request = true;
  }
  read_request_over(fields, wish.request, wish.own_request);
  read_changes(fields, wish);
  read_interruptions(fields, wish);
  wish.place = fields.text("place").value_or("");
  wish.seconds = fields.number("seconds", 0.5, 120).value_or(10);
  const bool watched = fields.flag("watched").value_or(false);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  if (auto may = allowed(call, *lifter); !may) return tl::unexpected(may.error());
  auto job = call.services.jobs.start(
      "plan", lifter->name,
      [wish = std::move(wish)](coach::Desk& desk, const Tell& tell) mutable -> Result<Json> {
        wish.progress = [&](const std::string& what, double share, std::optional<double> gap) {
          std::string text = what;
          if (gap && *gap < 1) {
            const int tenths = static_cast<int>(1000 * *gap + 0.5);
            text += ", within " + std::to_string(tenths / 10) + "." + std::to_string(tenths % 10) + " %";
          }
          return tell(share, text);
        };
        wish.wanted = [&] { return tell.wanted(); };
        const auto made = coach::plan_block(desk, wish);
        if (!made) return tl::unexpected(made.error());
        Json json;
        json["lifter"] = made->lifter.id;
        json["resolved"] = made->resolved;
        json["stopped"] = made->sheet.stopped;
        json["change"] = made->none ? Json() : Json(made->change);
        json["none"] = made->none ? none_json(*made->none) : Json();
        return json;
      },
      watched ? Jobs::Watch::needed : Jobs::Watch::nobody);
  if (!job) return tl::unexpected(job.error());
  return json_response(*job, 202);
}

Answer get_block(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (auto may = allowed(call, *lifter); !may) return tl::unexpected(may.error());
  const auto all = coach::kept_blocks(call.desk, lifter->id);
  if (!all) return problem(all.error());
  for (const coach::KeptBlock& kept : *all) {
    if (std::to_string(kept.number) == call.parameter("number")) return json_response(coach::to_json(kept));
  }
  return tl::unexpected(
      Problem(404, "not_found", lifter->name + " has no block with the number " + call.parameter("number")));
}

namespace {

using Decide = Result<coach::KeptBlock> (*)(coach::Desk&, const std::string&, const std::string&, store::ChangeId*);
Answer decide(Call& call, Decide how, bool prescribes) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const std::string said = fields.text("why").value_or("");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  if (prescribes) {
    if (auto may = allowed(call, *lifter); !may) return tl::unexpected(may.error());
  }
  store::ChangeId change = 0;
  const auto kept = how(call.desk, lifter->id, said, &change);
  return kept_answer(kept, change);
}

}  // namespace

Answer post_accept(Call& call) { return decide(call, coach::accept_block, true); }
Answer post_reject(Call& call) { return decide(call, coach::reject_block, false); }

namespace {

// Changes by hand are checked against the estimates, and nothing is fitted while somebody waits.
Outcome<Lifter> may_change(Call& call) {
  auto lifter = call.lifter();
  if (!lifter) return lifter;
  if (auto may = allowed(call, *lifter); !may) return tl::unexpected(may.error());
  if (auto fitted = need_fit(call, *lifter); !fitted) return tl::unexpected(fitted.error());
  return lifter;
}

}  // namespace

Answer post_block_edit(Call& call) {
  Fields fields = call.fields();
  coach::BlockEdit edit;
  edit.weekday = fields.whole("weekday", 1, 7, true).value_or(1);
  edit.exercise = fields.text("exercise", true).value_or("");
  edit.from_week = fields.whole("from_week", 1, 99).value_or(1);
  edit.to_week = fields.whole("to_week", 1, 99).value_or(99);
  edit.sets = fields.whole("sets", 0, 10);
  edit.reserve = fields.whole("reserve", 0, 10);
  if (!edit.sets && !edit.reserve) fields.wrong("sets", "sets or reserve was expected");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto lifter = may_change(call);
  if (!lifter) return tl::unexpected(lifter.error());
  store::ChangeId change = 0;
  const auto kept = coach::edit_block(call.desk, lifter->id, edit, &change);
  return kept_answer(kept, change);
}

Answer post_block_move(Call& call) {
  Fields fields = call.fields();
  coach::BlockMove move;
  move.weekday = fields.whole("weekday", 1, 7, true).value_or(1);
  move.to_weekday = fields.whole("to_weekday", 1, 7, true).value_or(2);
  move.from_week = fields.whole("from_week", 1, 99).value_or(1);
  move.to_week = fields.whole("to_week", 1, 99).value_or(99);
  move.exercise = fields.text("exercise").value_or("");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto lifter = may_change(call);
  if (!lifter) return tl::unexpected(lifter.error());
  store::ChangeId change = 0;
  const auto kept = coach::move_in_block(call.desk, lifter->id, move, &change);
  return kept_answer(kept, change);
}

Answer post_block_note(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const int week = fields.whole("week", 1, 99, true).value_or(1);
  const std::string note = fields.text("note", true).value_or("");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  store::ChangeId change = 0;
  const auto kept = coach::note_week(call.desk, lifter->id, week, note, &change);
  return kept_answer(kept, change);
}

Answer post_curve(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const bool watched = fields.flag("watched").value_or(false);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  if (auto may = allowed(call, *lifter); !may) return tl::unexpected(may.error());
  Services& services = call.services;
  const int generation = services.generation;
  auto job = services.jobs.start(
      "curve", lifter->name,
      [&services, generation, id = lifter->id](coach::Desk& desk, const Tell& tell) -> Result<Json> {
        auto curve =
            coach::block_curve(desk, id, [&](double share) { return tell(share, "what other prices would ask for"); });
        if (!curve) return tl::unexpected(curve.error());
        const auto number = curve->number;
        if (services.generation == generation) services.curves.put(id, std::move(*curve));
        return Json{{"lifter", id}, {"number", number}};
      },
      watched ? Jobs::Watch::needed : Jobs::Watch::nobody);
  if (!job) return tl::unexpected(job.error());
  return json_response(*job, 202);
}

namespace {

// The curve of the block that is shown (the proposal, else the plan), and whether the block is still as it was then.
struct CurveNow {
  Curves::Curve curve;
  bool current = false;
};
Outcome<CurveNow> curve_now(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  if (auto may = allowed(call, *lifter); !may) return tl::unexpected(may.error());
  const auto all = coach::kept_blocks(call.desk, lifter->id);
  if (!all) return problem(all.error());
  for (const char* state : {"proposed", "accepted"}) {
    for (const coach::KeptBlock& kept : *all) {
      if (kept.state != state) continue;
      CurveNow out{call.services.curves.find(lifter->id, kept.number), false};
      if (!out.curve) return tl::unexpected(Problem(404, "not_found", "no trade-off was drawn of this block yet"));
      out.current = out.curve->block == coach::curve_mark(kept);
      return out;
    }
  }
  return tl::unexpected(Problem(404, "not_found", "no block is planned for " + lifter->name));
}

}  // namespace

Answer get_curve(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto now = curve_now(call);
  if (!now) return tl::unexpected(now.error());
  Json json = coach::to_json(now->curve->curve);
  json["number"] = now->curve->number;
  json["current"] = now->current;
  return json_response(json);
}

Answer get_curve_point(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto now = curve_now(call);
  if (!now) return tl::unexpected(now.error());
  const auto& weeks = now->curve->weeks;
  for (std::size_t i = 0; i < weeks.size(); ++i) {
    if (std::to_string(i) != call.parameter("point")) continue;
    return json_response({{"price", now->curve->curve.points[i].price}, {"weeks", coach::weeks_json(weeks[i])}});
  }
  return tl::unexpected(Problem(404, "not_found", "the curve has " + std::to_string(weeks.size()) + " points"));
}

Answer get_templates(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto all = coach::block_templates(call.desk);
  if (!all) return problem(all.error());
  Json json = Json::array();
  for (const coach::TemplateEntry& t : *all) {
    json.push_back({{"name", t.name},
                    {"title", t.request.name},
                    {"about", t.request.about},
                    {"own", t.own},
                    {"weeks", t.request.weeks},
                    {"days", t.request.days.size()},
                    {"toml", coach::request_toml(t.request)}});
  }
  return json_response({{"templates", json}});
}

Answer put_template(Call& call) {
  Fields fields = call.fields();
  const std::string toml = fields.text("toml", true).value_or("");
  if (!toml.empty()) {
    if (const auto read = coach::read_request(toml); !read) fields.wrong("toml", read.error().message);
  }
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const std::string& name = call.parameter("name");
  const auto change =
      call.store().change("template " + name, [&](store::Writer& w) { return w.put_template(name, toml); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer delete_template(Call& call) {
  const std::string& name = call.parameter("name");
  const auto there = call.store().template_text(name);
  if (!there) return problem(there.error());
  if (!*there) return tl::unexpected(Problem(404, "not_found", "no template of your own is called \"" + name + "\""));
  const auto change =
      call.store().change("template " + name + " removed", [&](store::Writer& w) { return w.remove_template(name); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer post_compare(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  coach::CompareWish wish;
  const bool average = fields.flag("average").value_or(false);
  if (!average) wish.lifter = lifter->id;
  wish.exercise = fields.text("exercise", true).value_or("");
  wish.side = static_cast<Side>(fields.choice("side", {"both", "left", "right"}).value_or(0));
  wish.strategies = fields.texts("strategies", true).value_or(std::vector<std::string>{});
  if (wish.strategies.empty() || wish.strategies.size() > 6) fields.wrong("strategies", "1 to 6 ways were expected");
  if (const auto load = fields.load("load")) wish.loads.push_back({*load, {}, {}});
  if (const auto share = fields.number("share", 0.01, 1.5)) wish.loads.push_back({{}, *share, {}});
  if (const auto reps = fields.whole("reps", 1, 50)) wish.loads.push_back({{}, {}, *reps});
  if (wish.loads.size() > 1) fields.wrong("load", "one of load, share and reps");
  wish.sets = fields.whole("sets", 1, 12);
  wish.rest_s = fields.number("rest_s", 10, 1800);
  const auto basis = fields.choice("equal", {"sets", "volume", "minutes"});
  wish.basis = static_cast<comparing::Basis>(basis.value_or(0));
  wish.date = fields.date("date");
  wish.place = fields.text("place").value_or("");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  if (!average) {
    if (auto fitted = need_fit(call, *lifter); !fitted) return tl::unexpected(fitted.error());
  }
  const auto view = coach::compare_ways(call.desk, wish);
  if (!view) return problem(view.error());
  Json json = coach::to_json(*view);
  json["name"] = view->exercise.name;
  json["readings"] = view->readings;
  json["marks"] = view->marks;
  json["learned"] = view->learned_fatigability;
  return json_response(json);
}

}  // namespace ullage::server
