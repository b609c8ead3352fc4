#include "service/coach/sheet_text.h"

#include <algorithm>
#include <cstdlib>

#include "service/coach/views.h"

namespace ullage::coach {
namespace {

template <class T>
void maybe(Json& json, const char* name, const std::optional<T>& value) {
  if (value) json[name] = *value;
}
template <class T>
void maybe(const Json& json, const char* name, std::optional<T>& value) {
  if (json.contains(name)) value = json.at(name).get<T>();
}

constexpr const char* kFinishes[] = {"as usual", "failure", "rep-max test"};

Json floor_json(const FloorRecord& floor) {
  Json json;
  json["started"] = floor.started;
  json["finished"] = floor.finished;
  json["sent"] = Json::array();
  for (const SentSet& sent : floor.sent) {
    Json one;
    one["client_id"] = sent.client_id;
    one["set"] = std::to_string(sent.id);
    one["at"] = sent.at;
    one["content"] = sent.content;
    if (sent.expected) {
      one["capacity"] = to_json(sent.expected->capacity);
      one["reserve"] = to_json(sent.expected->reserve);
      one["p_complete"] = sent.expected->p_complete;
    }
    json["sent"].push_back(std::move(one));
  }
  json["withdrawn"] = floor.withdrawn;
  return json;
}

capacity::Interval interval_of(const Json& json) {
  return {json.at("median").get<double>(), json.at("lo80").get<double>(), json.at("hi80").get<double>(),
          json.at("sd").get<double>()};
}

FloorRecord read_floor(const Json& json) {
  FloorRecord floor;
  floor.started = json.at("started").get<std::string>();
  floor.finished = json.at("finished").get<std::string>();
  for (const Json& one : json.at("sent")) {
    SentSet sent;
    sent.client_id = one.at("client_id").get<std::string>();
    sent.id = std::strtoll(one.at("set").get<std::string>().c_str(), nullptr, 10);
    sent.at = one.at("at").get<std::string>();
    sent.content = one.at("content").get<std::string>();
    if (one.contains("capacity")) {
      sent.expected.emplace();
      sent.expected->capacity = interval_of(one.at("capacity"));
      sent.expected->reserve = interval_of(one.at("reserve"));
      sent.expected->p_complete = one.at("p_complete").get<double>();
    }
    floor.sent.push_back(std::move(sent));
  }
  floor.withdrawn = json.at("withdrawn").get<std::vector<std::string>>();
  return floor;
}

}  // namespace

void leave_untrained(SheetContents& contents, const std::vector<store::StoredSet>& sets, const std::string& session) {
  std::erase_if(contents.by_set, [&](const auto& own) {
    const auto of_it = [&](const store::StoredSet& s) {
      return s.set.date == contents.request.date && s.set.session == session && s.set.exercise == own.first &&
             s.set.side == own.second;
    };
    if (std::any_of(sets.begin(), sets.end(), of_it)) return false;
    std::erase_if(contents.request.exercises,
                  [&](const planning::ExerciseRequest& e) { return e.exercise == own.first && e.side == own.second; });
    return true;
  });
}

std::string sheet_json(const SheetContents& contents, const planning::SessionPlan& plan) {
  Json request;
  request["lifter"] = contents.request.lifter;
  request["date"] = date_text(contents.request.date);
  request["place"] = contents.place;
  if (contents.first) request["first"] = date_text(*contents.first);
  if (contents.lighter) request["lighter"] = true;
  request["exercises"] = Json::array();
  for (const planning::ExerciseRequest& e : contents.request.exercises) {
    Json one;
    one["exercise"] = e.exercise;
    one["side"] = side_name(e.side);
    maybe(one, "sets", e.sets);
    maybe(one, "least_reps", e.least_reps);
    maybe(one, "most_reps", e.most_reps);
    maybe(one, "least_reserve", e.least_reserve);
    maybe(one, "most_reserve", e.most_reserve);
    maybe(one, "rest_s", e.rest_s);
    if (e.load) one["load"] = to_json(*e.load);
    one["strategy"] = planning::strategy_name(e.strategy);
    one["finish"] = kFinishes[static_cast<std::size_t>(e.finish)];
    if (std::find(contents.by_set.begin(), contents.by_set.end(), std::pair(e.exercise, e.side)) !=
        contents.by_set.end())
      one["by_set"] = true;
    request["exercises"].push_back(std::move(one));
  }
  Json sheet;
  sheet["request"] = std::move(request);
  sheet["plan"] = to_json(plan);
  const FloorRecord& floor = contents.floor;
  if (!floor.started.empty() || !floor.sent.empty() || !floor.withdrawn.empty()) sheet["floor"] = floor_json(floor);
  return sheet.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<SheetContents> read_sheet(const std::string& text) {
  SheetContents out;
  try {
    const Json sheet = Json::parse(text);
    const Json& request = sheet.at("request");
    out.request.lifter = request.at("lifter").get<std::string>();
    const auto date = parse_date(request.at("date").get<std::string>());
    if (!date) return fail(Code::corrupt, "a session sheet in the data file has no date");
    out.request.date = *date;
    out.place = request.at("place").get<std::string>();
    out.lighter = request.value("lighter", false);
    if (request.contains("first")) out.first = parse_date(request.at("first").get<std::string>());
    for (const Json& one : request.at("exercises")) {
      planning::ExerciseRequest e;
      e.exercise = one.at("exercise").get<std::string>();
      e.side = parse_side(one.at("side").get<std::string>()).value_or(Side::both);
      maybe(one, "sets", e.sets);
      maybe(one, "least_reps", e.least_reps);
      maybe(one, "most_reps", e.most_reps);
      maybe(one, "least_reserve", e.least_reserve);
      maybe(one, "most_reserve", e.most_reserve);
      maybe(one, "rest_s", e.rest_s);
      if (one.contains("load")) {
        e.load = Load{one.at("load").at("amount").get<double>(),
                      parse_unit(one.at("load").at("unit").get<std::string>()).value_or(Unit::kilogram)};
      }
      e.strategy =
          planning::parse_strategy(one.at("strategy").get<std::string>()).value_or(planning::Strategy::same_load);
      for (std::size_t i = 0; i < 3; ++i) {
        if (one.at("finish") == kFinishes[i]) e.finish = static_cast<planning::Finish>(i);
      }
      if (one.value("by_set", false)) out.by_set.emplace_back(e.exercise, e.side);
      out.request.exercises.push_back(std::move(e));
    }
    if (sheet.contains("floor")) out.floor = read_floor(sheet.at("floor"));
  } catch (const Json::exception& problem) {
    return fail(Code::corrupt, std::string("a session sheet in the data file cannot be read: ") + problem.what());
  }
  return out;
}

}  // namespace ullage::coach
