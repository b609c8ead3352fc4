// What a lifter can do, what that rests on, and what planned sets will find.
#include "server/routes.h"
#include "server/shown.h"

namespace ullage::server {
namespace {

// Nothing is fitted while somebody waits for an answer.
Outcome<coach::Fitted> stored(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  return need_fit(call, *lifter);
}

}  // namespace

Answer get_estimate(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  auto fitted = stored(call);
  if (!fitted) return tl::unexpected(fitted.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  const std::vector<store::StoredSet> sets = fitted->sets;
  const auto view = coach::view_of(call.desk, std::move(*fitted));
  if (!view) return problem(view.error());
  return json_response(estimate_json(*view, sets, **library));
}

Answer get_lift(Call& call) {
  const auto side = static_cast<Side>(call.query.choice("side", {"both", "left", "right"}).value_or(0));
  const auto from = call.query.date("from");
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  auto fitted = stored(call);
  if (!fitted) return tl::unexpected(fitted.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  const auto view = coach::lift_view(call.desk, *fitted, call.parameter("exercise"), side, from);
  if (!view) return problem(view.error());
  Json json;
  json["lifter"] = view->lifter.name;
  json["id"] = view->lifter.id;
  json["estimate"] = lift_json(view->estimate);
  json["history"] = Json::array();
  for (const capacity::StrengthPoint& p : view->estimate.summary.history)
    json["history"].push_back({{"date", date_text(p.date)}, {"median", p.median}, {"lo80", p.lo80}, {"hi80", p.hi80}});
  json["sets"] = Json::array();
  for (const coach::SetReading& reading : view->sets) {
    Json one = set_json(reading.set, **library);
    one["kg"] = reading.kg ? Json(*reading.kg) : Json();
    one["at_least"] = reading.at_least;
    one["suspect"] = reading.suspect;
    json["sets"].push_back(std::move(one));
  }
  json["left_out"] = view->left_out;
  return json_response(json);
}

Answer post_forecast(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  coach::ForecastWish wish;
  wish.lifter = lifter->id;
  wish.exercise = fields.text("exercise", true).value_or("");
  wish.side = static_cast<Side>(fields.choice("side", {"both", "left", "right"}).value_or(0));
  wish.load = fields.load("load", true).value_or(Load{});
  if (const Json* reps = fields.list("reps", 50, true)) {
    for (const Json& one : *reps) {
      if (!one.is_number_integer() || one.get<double>() < 0 || one.get<double>() > 500) {
        fields.wrong("reps", "whole numbers from 0 to 500 were expected");
        break;
      }
      wish.reps.push_back(one.get<int>());
    }
    if (reps->empty()) fields.wrong("reps", "at least one set was expected");
  }
  wish.rest_s = fields.number("rest_s", 0, 86400).value_or(120);
  wish.date = fields.date("date");
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  if (const auto fitted = stored(call); !fitted) return tl::unexpected(fitted.error());
  const auto view = coach::forecast(call.desk, wish);
  if (!view) return problem(view.error());
  return json_response(coach::to_json(*view));
}

}  // namespace ullage::server
