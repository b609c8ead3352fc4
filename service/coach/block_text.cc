// The layout of a block in the store and in JSON results: the same.
#include <nlohmann/json.hpp>

#include "service/coach/block.h"
#include "service/coach/block_views.h"
#include "service/coach/views.h"

namespace ullage::coach {
namespace {

Json to_json(const BlockItem& item) {
  Json one;
  one["exercise"] = item.exercise;
  one["name"] = item.name;
  one["sets"] = Json::array();
  for (const BlockSets& s : item.sets) {
    Json set;
    set["sets"] = s.sets;
    set["reserve"] = s.reserve;
    set["least_reps"] = s.least_reps;
    set["most_reps"] = s.most_reps;
    set["heavy"] = s.heavy;
    one["sets"].push_back(std::move(set));
  }
  one["test"] = item.test;
  one["why"] = item.why;
  return one;
}

Json to_json(const planning::PlanFigures& f) {
  return {{"sets", f.sets},
          {"failure_sets", f.failure_sets},
          {"reserve", f.reserve},
          {"fatigue_pct", f.fatigue},
          {"effect", f.effect}};
}

// Blocks of before these were told have none.
planning::PlanFigures figures_from(const Json& json) {
  planning::PlanFigures f;
  if (!json.is_object()) return f;
  f.sets = json.at("sets").get<double>();
  f.failure_sets = json.at("failure_sets").get<double>();
  f.reserve = json.at("reserve").get<double>();
  f.fatigue = json.at("fatigue_pct").get<double>();
  f.effect = json.at("effect").get<double>();
  return f;
}

Date date_of(const Json& json) {
  const auto date = parse_date(json.get<std::string>());
  if (!date) throw std::runtime_error("a date");
  return *date;
}

}  // namespace

Json weeks_json(const std::vector<BlockWeekPlan>& weeks) {
  Json json = Json::array();
  for (const BlockWeekPlan& w : weeks) {
    Json week;
    week["monday"] = date_text(w.monday);
    week["kind"] = std::string(week_kind_name(w.kind));
    week["why"] = w.why;
    week["note"] = w.note;
    week["effect"] = w.effect;
    week["fatigue_pct"] = w.fatigue;
    week["muscle_sets"] = Json::object();
    for (const auto& [muscle, sets] : w.sets) week["muscle_sets"][std::string(muscle_name(muscle))] = sets;
    week["days"] = Json::array();
    for (const BlockDayPlan& d : w.days) {
      Json day;
      day["date"] = date_text(d.date);
      day["place"] = d.place;
      day["limit_minutes"] = d.limit;
      day["minutes"] = d.minutes;
      day["closed"] = d.closed;
      day["exercises"] = Json::array();
      for (const BlockItem& item : d.items) day["exercises"].push_back(to_json(item));
      week["days"].push_back(std::move(day));
    }
    json.push_back(std::move(week));
  }
  return json;
}

Json to_json(const BlockSheet& b) {
  Json json;
  json["lifter"] = b.lifter;
  json["made"] = date_text(b.made);
  json["name"] = b.request.name;
  json["request"] = request_toml(b.request);
  json["weeks"] = weeks_json(b.weeks);
  json["solve"] = {{"gap", b.gap},         {"seconds", b.seconds},
                   {"stopped", b.stopped}, {"chosen_for", b.chosen_for},
                   {"tie", b.tie},         {"worst_regret", b.worst_regret}};
  json["figures"] = to_json(b.figures);
  json["readings"] = Json::array();
  for (std::size_t r = 0; r < b.verdicts.size(); ++r) {
    const planning::Verdict& v = b.verdicts[r];
    Json one = {{"name", v.reading}, {"rests_on", r < b.rests_on.size() ? b.rests_on[r] : ""},
                {"value", v.value},  {"best", v.best},
                {"found", v.found},  {"regret", v.regret},
                {"gap", v.gap},      {"regret_found", v.regret_found}};
    one["alone"] = to_json(v.alone);
    one["alone"]["same_plan"] = v.same_plan;
    one["alone"]["days_different"] = v.days_different;
    json["readings"].push_back(std::move(one));
  }
  json["trade_off"] = {{"readings", b.readings}, {"effect", b.effect}, {"fatigue_pct", b.fatigue}};
  json["trade_off"]["corners"] = Json::array();
  for (const planning::Corner& c : b.corners)
    json["trade_off"]["corners"].push_back({{"name", c.name}, {"effect", c.effect}, {"fatigue_pct", c.fatigue}});
  if (!b.played.effect.empty())
    json["played"] = {{"effect", b.played.effect}, {"fatigue_pct", b.played.fatigue}, {"missed", b.played.missed}};
  json["changes"] = b.changes;
  json["edited"] = b.edited;
  json["faults"] = Json::array();
  for (const BlockFault& f : b.faults)
    json["faults"].push_back(
        {{"week", f.week}, {"date", f.date ? Json(date_text(*f.date)) : Json()}, {"rule", f.rule}, {"found", f.found}});
  json["remarks"] = b.remarks;
  json["cautions"] = b.cautions;
  return json;
}

Json to_json(const planning::Frontier& f) {
  Json json;
  json["readings"] = f.readings;
  const auto point = [](const planning::FrontierPoint& p) {
    return Json{{"price", p.price}, {"fatigue_pct", p.fatigue}, {"effect", p.effect}, {"figures", to_json(p.figures)}};
  };
  json["points"] = Json::array();
  for (const auto& p : f.points) json["points"].push_back(point(p));
  json["plan"] = point(f.plan);
  json["corners"] = Json::array();
  for (const auto& c : f.corners)
    json["corners"].push_back({{"name", c.name}, {"fatigue_pct", c.fatigue}, {"effect", c.effect}});
  return json;
}

Json to_json(const KeptBlock& kept) {
  Json json;
  json["number"] = kept.number;
  json["state"] = kept.state;
  json["said"] = kept.said;
  json["block"] = to_json(kept.sheet);
  return json;
}

std::string block_json(const BlockSheet& sheet) { return to_json(sheet).dump(); }

Result<BlockSheet> read_block(const std::string& text) {
  try {
    const Json json = Json::parse(text);
    BlockSheet b;
    b.lifter = json.at("lifter").get<std::string>();
    b.made = date_of(json.at("made"));
    auto request = read_request(json.at("request").get<std::string>());
    if (!request)
      return fail(Code::corrupt, "the request kept with a block cannot be read: " + request.error().message);
    b.request = std::move(*request);
    for (const Json& week : json.at("weeks")) {
      BlockWeekPlan w;
      w.monday = date_of(week.at("monday"));
      w.kind = parse_week_kind(week.at("kind").get<std::string>()).value_or(planning::WeekKind::usual);
      w.why = week.at("why").get<std::string>();
      w.note = week.at("note").get<std::string>();
      w.effect = week.at("effect").get<double>();
      w.fatigue = week.at("fatigue_pct").get<double>();
      for (const auto& [name, sets] : week.at("muscle_sets").items()) {
        if (const auto muscle = parse_muscle(name)) w.sets.emplace_back(*muscle, sets.get<double>());
      }
      for (const Json& day : week.at("days")) {
        BlockDayPlan d;
        d.date = date_of(day.at("date"));
        d.place = day.at("place").get<std::string>();
        d.limit = day.at("limit_minutes").get<double>();
        d.minutes = day.at("minutes").get<double>();
        d.closed = day.at("closed").get<std::string>();
        for (const Json& one : day.at("exercises")) {
          BlockItem item;
          item.exercise = one.at("exercise").get<std::string>();
          item.name = one.at("name").get<std::string>();
          for (const Json& set : one.at("sets"))
            item.sets.push_back({set.at("sets").get<int>(), set.at("reserve").get<int>(),
                                 set.at("least_reps").get<int>(), set.at("most_reps").get<int>(),
                                 set.at("heavy").get<bool>()});
          item.test = one.at("test").get<bool>();
          item.why = one.at("why").get<std::string>();
          d.items.push_back(std::move(item));
        }
        w.days.push_back(std::move(d));
      }
      b.weeks.push_back(std::move(w));
    }
    const Json& solve = json.at("solve");
    b.gap = solve.at("gap").get<double>();
    b.seconds = solve.at("seconds").get<double>();
    b.stopped = solve.at("stopped").get<bool>();
    b.tie = solve.at("tie").get<bool>();
    b.chosen_for = solve.at("chosen_for").get<std::string>();
    b.worst_regret = solve.at("worst_regret").get<double>();
    b.figures = figures_from(json.value("figures", Json()));
    for (const Json& v : json.at("readings")) {
      planning::Verdict to;
      to.reading = v.at("name").get<std::string>();
      to.value = v.at("value").get<double>();
      to.best = v.at("best").get<double>();
      to.found = v.at("found").get<double>();
      to.regret = v.at("regret").get<double>();
      to.gap = v.at("gap").get<double>();
      to.regret_found = v.value("regret_found", 0.0);
      const Json alone = v.value("alone", Json());
      to.alone = figures_from(alone);
      if (alone.is_object()) {
        to.same_plan = alone.at("same_plan").get<bool>();
        to.days_different = alone.at("days_different").get<int>();
      }
      b.verdicts.push_back(to);
      b.rests_on.push_back(v.value("rests_on", std::string()));
    }
    const Json& trade = json.at("trade_off");
    b.readings = trade.at("readings").get<std::vector<std::string>>();
    b.effect = trade.at("effect").get<std::vector<double>>();
    b.fatigue = trade.at("fatigue_pct").get<double>();
    for (const Json& c : trade.at("corners"))
      b.corners.push_back({c.at("name").get<std::string>(), c.at("fatigue_pct").get<double>(),
                           c.at("effect").get<std::vector<double>>()});
    if (const Json played = json.value("played", Json()); played.is_object()) {
      b.played = {played.at("effect").get<std::vector<double>>(), played.at("fatigue_pct").get<double>(),
                  played.at("missed").get<double>()};
    }
    b.changes = json.at("changes").get<std::vector<std::string>>();
    b.edited = json.value("edited", false);
    for (const Json& f : json.value("faults", Json::array())) {
      BlockFault fault{f.at("week").get<int>(), {}, f.at("rule").get<std::string>(), f.at("found").get<std::string>()};
      if (!f.at("date").is_null()) fault.date = date_of(f.at("date"));
      b.faults.push_back(std::move(fault));
    }
    b.remarks = json.at("remarks").get<std::vector<std::string>>();
    b.cautions = json.at("cautions").get<std::vector<std::string>>();
    return b;
  } catch (const std::exception&) {
    return fail(Code::corrupt, "a block kept in the data file cannot be read");
  }
}

}  // namespace ullage::coach
