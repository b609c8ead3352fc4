#include "server/shown.h"

#include <algorithm>
#include <map>

namespace ullage::server {

Json text_or_null(const std::string& text) { return text.empty() ? Json() : Json(text); }
Json day_or_null(const std::optional<Date>& date) { return date ? Json(date_text(*date)) : Json(); }

namespace {

template <class T>
Json maybe(const std::optional<T>& value) {
  return value ? Json(*value) : Json();
}

std::string name_of(const std::string& id, const library::Library& library) {
  const Exercise* exercise = library.find(id);
  return exercise ? exercise->name : id;
}

}  // namespace

Json set_json(const store::StoredSet& stored, const library::Library& library) {
  const SetRecord& s = stored.set;
  Json json = coach::to_json(stored);
  json["name"] = name_of(s.exercise, library);
  json["called_at_rep"] = maybe(s.called_at_rep);
  json["last_rep_speed"] = maybe(s.last_rep_speed);
  json["place"] = s.place;
  json["joined"] = s.joined;
  json["part_of"] = s.part_of;
  json["part"] = maybe(s.part);
  json["body_mass"] = s.body_mass ? coach::to_json(*s.body_mass) : Json();
  json["tempo"] = s.tempo;
  json["partial_reps"] = maybe(s.partial_reps);
  json["extra"] = extra_kind_name(s.extra_kind);
  json["imported"] = !stored.import.empty();
  return json;
}

Json holds_json(const safety::Gate& gate) {
  Json json = Json::array();
  for (const safety::Held& held : gate.holds)
    json.push_back({{"id", held.id}, {"reason", held.reason}, {"lifts", held.lifts}});
  return json;
}

Json gate_json(const safety::Gate& gate, const library::Library& library) {
  Json json;
  json["allowed"] = gate.allowed();
  json["holds"] = holds_json(gate);
  json["least_reserve"] = gate.least_reserve;
  json["least_reserve_from"] = gate.least_reserve_from;
  json["extra_reserve"] = gate.extra_reserve;
  json["extra_reserve_from"] = gate.extra_reserve_from;
  json["load_cap_share"] = maybe(gate.load_cap_share);
  json["load_cap_from"] = gate.load_cap_from;
  json["barred"] = Json::array();
  for (const safety::Barred& barred : gate.barred)
    json["barred"].push_back(
        {{"exercise", barred.exercise}, {"name", name_of(barred.exercise, library)}, {"reason", barred.reason}});
  json["failure"] = gate.failure;
  json["no_failure"] = gate.no_failure;
  json["cautions"] = gate.cautions;
  return json;
}

Json place_json(const Place& place, bool assumed) {
  return {{"place", place.id}, {"name", place.name}, {"assumed", assumed}, {"safety_bars", place.safety_bars}};
}

Json outcome_json(const std::optional<capacity::SetOutcome>& outcome) {
  if (!outcome) return Json();
  return {{"capacity", coach::to_json(outcome->capacity)},
          {"reserve", coach::to_json(outcome->reserve)},
          {"p_complete", outcome->p_complete}};
}

Json lift_json(const coach::LiftEstimate& lift) {
  Json one = coach::to_json(lift);
  one["assumed"] = lift.assumed;
  one["body_mass_part"] = lift.body_mass_part;
  one["multiplier"] = lift.multiplier;
  const coach::Why why = coach::why_of(lift);
  one["why"] = {{"strength", why.strength},
                {"endurance", why.endurance},
                {"fatigability", why.fatigability},
                {"trend", why.trend}};
  return one;
}

Json estimate_json(const coach::EstimateView& view, const std::vector<store::StoredSet>& sets,
                   const library::Library& library) {
  Json json = coach::to_json(view);
  json["id"] = view.lifter.id;
  json["exercises"] = Json::array();  // with more about each
  for (const coach::LiftEstimate& lift : view.lifts) json["exercises"].push_back(lift_json(lift));
  std::map<std::pair<double, bool>, int> calls;
  int called = 0;
  for (const store::StoredSet& s : sets) {
    if (!s.set.called) continue;
    ++calls[{s.set.called->reserve, s.set.called->open}];
    ++called;
  }
  json["judgement"]["calls"] = Json::array();
  for (const auto& [call, count] : calls)
    json["judgement"]["calls"].push_back({{"called", call_text({call.first, call.second})}, {"sets", count}});
  json["judgement"]["why"] = coach::why_judgement(view, called);
  json["suspects"] = Json::array();
  for (const coach::SuspectView& s : view.suspects) {
    Json one = set_json(s.set, library);
    one["reason"] = s.reason;
    json["suspects"].push_back(std::move(one));
  }
  return json;
}

Json report_json(const coach::LogReport& report, const library::Library& library) {
  Json json = coach::to_json(report);
  store::StoredSet stored;
  stored.id = report.id;
  stored.set = report.set;
  json["set"] = set_json(stored, library);
  return json;
}

Json floor_json(const coach::FloorView& view, const library::Library& library) {
  Json json;
  json["lifter"] = view.lifter.name;
  json["id"] = view.lifter.id;
  json["unit"] = unit_name(view.lifter.unit);
  json["answers_in_halves"] = view.lifter.answers_in_halves;
  json["date"] = date_text(view.date);
  json["session"] = view.session;
  json["started"] = text_or_null(view.started);
  json["finished"] = text_or_null(view.finished);
  json["place"] = place_json(view.place, view.place_assumed);
  json["gate"] = gate_json(view.gate, library);
  json["fitted"] = view.fitted;
  json["plan"] = view.plan ? coach::to_json(*view.plan) : Json();
  json["next"] = nullptr;
  if (view.plan && view.finished.empty()) {
    for (const planning::PlanItem& item : view.plan->items) {
      if (item.sets.empty()) continue;
      const auto work = [](const planning::PlanSet& s) { return s.kind != SetKind::warmup; };
      const auto done =
          static_cast<int>(std::count_if(view.done.begin(), view.done.end(), [&](const coach::FloorSet& d) {
            return d.set.set.exercise == item.exercise && d.set.set.side == item.side &&
                   d.set.set.kind != SetKind::warmup;
          }));
      const auto left = static_cast<int>(std::count_if(item.sets.begin(), item.sets.end(), work));
      Json next;
      next["exercise"] = item.exercise;
      next["name"] = item.name;
      next["side"] = side_name(item.side);
      next["set"] = coach::to_json(item.sets.front());
      next["work_set"] = work(item.sets.front()) ? done + 1 : 0;
      next["work_sets"] = done + left;
      json["next"] = std::move(next);
      break;
    }
  }
  json["no_next"] = view.no_next;
  json["done"] = Json::array();
  for (const coach::FloorSet& done : view.done) {
    json["done"].push_back({{"client_id", text_or_null(done.client_id)},
                            {"at", text_or_null(done.at)},
                            {"set", set_json(done.set, library)},
                            {"expected", outcome_json(done.expected)}});
  }
  json["rest_since"] = text_or_null(view.rest_since);
  return json;
}

Json sheet_json(const coach::SessionSheet& sheet, coach::Desk& desk, const library::Library& library) {
  Json json;
  json["lifter"] = sheet.lifter.name;
  json["id"] = sheet.lifter.id;
  json["date"] = date_text(sheet.request.date);
  json["session"] = sheet.session;
  json["plan"] = coach::to_json(sheet.plan);
  json["why_empty"] = sheet.why_empty;
  json["done"] = Json::array();
  store::SetFilter day;
  day.from = day.to = sheet.request.date;
  if (const auto sets = desk.store().sets(sheet.lifter.id, day)) {
    for (const store::StoredSet& s : *sets) {
      if (s.set.session == sheet.session) json["done"].push_back(set_json(s, library));
    }
  }
  json["repeats"] = day_or_null(sheet.repeats);
  json["place"] = place_json(sheet.place, sheet.place_assumed);
  json["steered"] = sheet.steered;
  json["proposals"] = Json::array();
  for (const coach::SteeringProposal& p : sheet.proposals) json["proposals"].push_back(coach::to_json(p));
  json["change"] = sheet.change;
  return json;
}

Json exercise_json(const Exercise& e, bool edited, bool own) {
  Json json;
  json["exercise"] = e.id;
  json["name"] = e.name;
  json["aliases"] = e.aliases;
  json["class"] = class_name(e.cls);
  json["implement"] = implement_name(e.implement);
  json["muscles"] = Json::object();
  for (int m = 0; m < kMuscleCount; ++m) {
    const double share = e.involvement[static_cast<std::size_t>(m)];
    if (share > 0) json["muscles"][std::string(muscle_name(static_cast<Muscle>(m)))] = share;
  }
  json["multiplier"] = e.multiplier;
  json["offset_kg"] = e.offset_kg;
  json["body_mass_share"] = e.body_mass_share;
  json["usual_step"] = coach::to_json(e.usual_step);
  json["one_sided"] = e.one_sided;
  json["needs_spotter"] = e.needs_spotter;
  json["bar"] = maybe(e.bar);
  json["edited"] = edited;
  json["own"] = own;
  return json;
}

}  // namespace ullage::server
