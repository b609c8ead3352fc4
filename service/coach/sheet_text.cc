#include "service/coach/sheet_text.h"

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

}  // namespace

std::string sheet_json(const SheetContents& contents, const planning::SessionPlan& plan) {
  Json request;
  request["lifter"] = contents.request.lifter;
  request["date"] = date_text(contents.request.date);
  request["place"] = contents.place;
  if (contents.first) request["first"] = date_text(*contents.first);
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
    request["exercises"].push_back(std::move(one));
  }
  Json sheet;
  sheet["request"] = std::move(request);
  sheet["plan"] = to_json(plan);
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
      out.request.exercises.push_back(std::move(e));
    }
  } catch (const Json::exception& problem) {
    return fail(Code::corrupt, std::string("a session sheet in the data file cannot be read: ") + problem.what());
  }
  return out;
}

}  // namespace ullage::coach
