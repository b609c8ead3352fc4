// Policies, places, exercises.
#include <algorithm>
#include <set>

#include "server/routes.h"
#include "server/shown.h"
#include "service/coach/records.h"

namespace ullage::server {
namespace {

const std::vector<std::string>& class_names() {
  static const std::vector<std::string> all{"barbell compound", "supported compound", "isolation"};
  return all;
}

Outcome<ReservePolicy> read_policy(Call& call) {
  Fields fields = call.fields();
  ReservePolicy policy;
  std::set<std::size_t> seen;
  if (const Json* classes = fields.list("classes", 3, true)) {
    for (std::size_t i = 0; i < classes->size(); ++i) {
      Fields f((*classes)[i], "classes." + std::to_string(i));
      const auto cls = f.choice("class", class_names(), true);
      ClassPolicy p;
      p.least_reserve = f.number("least_reserve", 0, 10, true).value_or(0);
      p.most_reserve = f.number("most_reserve", 0, 10, true).value_or(10);
      if (p.most_reserve < p.least_reserve) f.wrong("most_reserve", "is below least_reserve");
      p.last_set_failure = f.flag("last_set_failure", true).value_or(false);
      p.failure_every_days = f.whole("failure_every_days", 0, 3650, true).value_or(0);
      p.test_every_days = f.whole("test_every_days", 0, 3650, true).value_or(0);
      p.miss_limit = f.number("miss_limit", 0.001, 0.9, true).value_or(0.05);
      p.least_reps = f.whole("least_reps", 1, 100, true).value_or(1);
      p.most_reps = f.whole("most_reps", 1, 100, true).value_or(100);
      if (p.most_reps < p.least_reps) f.wrong("most_reps", "is below least_reps");
      p.rest_s = f.number("rest_s", 0, 3600, true).value_or(0);
      p.sets = f.whole("sets", 1, 20, true).value_or(1);
      fields.take_faults(f);
      if (!cls) continue;
      if (!seen.insert(*cls).second) fields.wrong("classes", "a class stands twice");
      policy.of(static_cast<ExerciseClass>(*cls)) = p;
    }
    if (classes->size() != 3) fields.wrong("classes", "all three classes were expected");
  }
  policy.light_share = fields.number("light_share", 0, 1, true).value_or(0);
  policy.light_most_reserve = fields.number("light_most_reserve", 0, 10, true).value_or(0);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  return policy;
}

Answer policy_page(Call& call, const std::string& lifter) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  std::string from = "standard";
  ReservePolicy policy;
  for (const std::string& scope : {lifter, std::string()}) {
    const auto found = call.store().policy(scope);
    if (!found) return problem(found.error());
    if (!*found) continue;
    policy = **found;
    from = scope.empty() ? "everyone" : "lifter";
    break;
  }
  return json_response(
      {{"from", from}, {"policy", coach::to_json(policy)}, {"standard", coach::to_json(ReservePolicy{})}});
}

Answer keep_policy(Call& call, const std::string& scope) {
  const auto policy = read_policy(call);
  if (!policy) return tl::unexpected(policy.error());
  const auto change = call.store().change("policy", [&](store::Writer& w) { return w.put_policy(scope, *policy); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer reset_policy(Call& call, const std::string& scope) {
  const auto found = call.store().policy(scope);
  if (!found) return problem(found.error());
  if (!*found) return json_response({{"change", 0}});
  const auto change = call.store().change("policy reset", [&](store::Writer& w) { return w.remove_policy(scope); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

std::vector<Load> read_loads(Fields& fields, const std::string& name) {
  std::vector<Load> out;
  const Json* list = fields.list(name, 2000);
  if (!list) return out;
  for (const Json& one : *list) {
    const Json wrapped{{"load", one}};
    Fields inner(wrapped, fields.at(name));
    const auto load = inner.load("load", true);
    if (load && !(load->amount > 0)) inner.wrong("load", "a load above 0 was expected");
    fields.take_faults(inner);
    if (load) out.push_back(*load);
  }
  std::sort(out.begin(), out.end(), [](const Load& x, const Load& y) { return kilograms(x) < kilograms(y); });
  return out;
}

// The coach's edits by id.
Outcome<std::set<std::string>> edited(Call& call) {
  const auto edits = call.store().exercise_edits();
  if (!edits) return problem(edits.error());
  std::set<std::string> ids;
  for (const store::NamedText& edit : *edits) ids.insert(edit.name);
  return ids;
}

Json shown(const Exercise& exercise, const std::set<std::string>& edits) {
  return exercise_json(exercise, edits.count(exercise.id) > 0, library::builtin().find(exercise.id) == nullptr);
}

std::string toml_text(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += static_cast<unsigned char>(c) < 0x20 || c == 0x7f ? ' ' : c;
  }
  return out + "\"";
}

}  // namespace

Answer get_lifter_policy(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  return policy_page(call, lifter->id);
}
Answer put_lifter_policy(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  return keep_policy(call, lifter->id);
}
Answer delete_lifter_policy(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  return reset_policy(call, lifter->id);
}
Answer get_policy(Call& call) { return policy_page(call, ""); }
Answer put_policy(Call& call) { return keep_policy(call, ""); }
Answer delete_policy(Call& call) { return reset_policy(call, ""); }

Answer get_places(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto places = call.store().places();
  if (!places) return problem(places.error());
  Json json = Json::array();
  for (const Place& place : *places) json.push_back(coach::to_json(place));
  return json_response({{"places", std::move(json)}});
}

Answer get_place(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto place = call.desk.place(call.parameter("place"));
  if (!place) return problem(place.error());
  return json_response(coach::to_json(*place));
}

Answer put_place(Call& call) {
  Place place;
  place.id = call.parameter("place");
  // An id of a place that is there, or a new one of the kind that make_name_id makes.
  if (const auto there = call.store().place(place.id); !there) {
    return problem(there.error());
  } else if (!*there && coach::make_name_id(place.id, {}) != place.id) {
    return wrong("place", "an id of lower-case letters, digits and hyphens was expected");
  }
  Fields fields = call.fields();
  place.name = coach::plain_name(fields.text("name", true).value_or(""));
  if (place.name.empty() && fields.has("name")) fields.wrong("name", "a name was expected");
  place.unit = fields.choice("unit", {"kg", "lb"}).value_or(0) == 0 ? Unit::kilogram : Unit::pound;
  place.safety_bars = fields.flag("safety_bars").value_or(false);
  if (const Json* bars = fields.list("bars", 100)) {
    for (std::size_t i = 0; i < bars->size(); ++i) {
      Fields f((*bars)[i], "bars." + std::to_string(i));
      Bar bar;
      bar.id = f.text("id", true).value_or("");
      const auto mass = f.load("mass", true);
      if (mass && (mass->unit == Unit::mark || !(mass->amount > 0))) f.wrong("mass", "a mass above 0 was expected");
      bar.mass = mass.value_or(Load{});
      fields.take_faults(f);
      place.bars.push_back(std::move(bar));
    }
  }
  if (const Json* plates = fields.list("plates", 200)) {
    for (std::size_t i = 0; i < plates->size(); ++i) {
      Fields f((*plates)[i], "plates." + std::to_string(i));
      PlatePairs pairs;
      const auto plate = f.load("plate", true);
      if (plate && (plate->unit == Unit::mark || !(plate->amount > 0))) f.wrong("plate", "a mass above 0 was expected");
      pairs.plate = plate.value_or(Load{});
      pairs.pairs = f.whole("pairs", 1, 100, true).value_or(1);
      fields.take_faults(f);
      place.plates.push_back(pairs);
    }
  }
  place.dumbbells = read_loads(fields, "dumbbells");
  place.kettlebells = read_loads(fields, "kettlebells");
  if (const Json* stacks = fields.list("stacks", 500)) {
    for (std::size_t i = 0; i < stacks->size(); ++i) {
      Fields f((*stacks)[i], "stacks." + std::to_string(i));
      Stack stack;
      const std::string name = f.text("exercise").value_or("");
      if (!name.empty()) {
        if (const auto exercise = call.desk.exercise(name))
          stack.exercise = (*exercise)->id;
        else
          f.wrong("exercise", exercise.error().message);
      }
      stack.steps = read_loads(f, "steps");
      fields.take_faults(f);
      place.stacks.push_back(std::move(stack));
    }
  }
  for (const std::string& name : fields.texts("without").value_or(std::vector<std::string>{})) {
    if (const auto exercise = call.desk.exercise(name))
      place.without.push_back((*exercise)->id);
    else
      fields.wrong("without", exercise.error().message);
  }
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto change = call.store().change("place " + place.name, [&](store::Writer& w) { return w.put_place(place); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer delete_place(Call& call) {
  const auto place = call.desk.place(call.parameter("place"));
  if (!place) return problem(place.error());
  const auto change =
      call.store().change("remove place " + place->name, [&](store::Writer& w) { return w.remove_place(place->id); });
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

Answer get_exercises(Call& call) {
  const auto text = call.query.text("q").value_or("");
  const auto cls = call.query.choice("class", class_names());
  std::optional<Muscle> muscle;
  if (const auto name = call.query.text("muscle")) {
    muscle = parse_muscle(*name);
    if (!muscle) return wrong("muscle", "\"" + *name + "\" is no muscle of the library");
  }
  const auto offset = static_cast<std::size_t>(call.query.whole("offset", 0, 1000000).value_or(0));
  const auto limit = static_cast<std::size_t>(call.query.whole("limit", 1, 1000).value_or(100));
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  const auto edits = edited(call);
  if (!edits) return tl::unexpected(edits.error());
  std::vector<const Exercise*> found;
  const auto add = [&](const Exercise* e) {
    if (cls && e->cls != static_cast<ExerciseClass>(*cls)) return;
    if (muscle && !(e->involvement[static_cast<std::size_t>(*muscle)] > 0)) return;
    if (std::find(found.begin(), found.end(), e) == found.end()) found.push_back(e);
  };
  if (text.empty()) {
    for (const Exercise& e : (*library)->all()) add(&e);
  } else {
    // The name itself, then names in which the text stands, then those that are near.
    const library::Resolution resolved = (*library)->resolve(text);
    if (resolved) add(resolved.exercise);
    std::string wanted = text;
    std::transform(wanted.begin(), wanted.end(), wanted.begin(), [](unsigned char c) { return std::tolower(c); });
    const auto holds = [&](std::string name) {
      std::transform(name.begin(), name.end(), name.begin(), [](unsigned char c) { return std::tolower(c); });
      return name.find(wanted) != std::string::npos;
    };
    for (const Exercise& e : (*library)->all()) {
      if (holds(e.name) || holds(e.id) || std::any_of(e.aliases.begin(), e.aliases.end(), holds)) add(&e);
    }
    for (const library::Near& near : resolved.nearest) add(near.exercise);
  }
  Json json;
  json["total"] = found.size();
  json["offset"] = offset;
  json["exercises"] = Json::array();
  for (std::size_t i = offset; i < std::min(offset + limit, found.size()); ++i)
    json["exercises"].push_back(shown(*found[i], *edits));
  return json_response(json);
}

Answer get_exercise(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto exercise = call.desk.exercise(call.parameter("exercise"));
  if (!exercise) return problem(exercise.error());
  const auto edits = edited(call);
  if (!edits) return tl::unexpected(edits.error());
  return json_response(shown(**exercise, *edits));
}

Answer put_exercise(Call& call) {
  Fields fields = call.fields();
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  std::string id = call.parameter("exercise");
  if (const auto known = (*library)->resolve(id)) id = known.exercise->id;
  std::string toml = "[[exercise]]\nid = " + toml_text(id) + "\n";
  const auto add = [&](const std::string& key, const std::string& value) { toml += key + " = " + value + "\n"; };
  if (const auto v = fields.text("name")) add("name", toml_text(*v));
  if (const auto v = fields.texts("aliases")) {
    std::string list;
    for (const std::string& alias : *v) list += (list.empty() ? "" : ", ") + toml_text(alias);
    add("aliases", "[" + list + "]");
  }
  if (const auto v = fields.choice("class", class_names())) add("class", toml_text(class_names()[*v]));
  if (const auto v = fields.text("implement")) {
    if (parse_implement(*v))
      add("implement", toml_text(*v));
    else
      fields.wrong("implement", "\"" + *v + "\" is no implement of the library");
  }
  if (const Json* muscles = fields.object("muscles")) {
    Fields inner(*muscles, "muscles");
    std::string list;
    for (const auto& [name, unused] : muscles->items()) {
      const auto muscle = parse_muscle(name);
      const auto share = inner.number(name, 0, 1, true);
      if (!muscle) inner.wrong(name, "is no muscle of the library");
      if (!muscle || !share) continue;
      std::string key(muscle_name(*muscle));
      std::replace(key.begin(), key.end(), ' ', '_');
      list += (list.empty() ? "" : ", ") + key + " = " + number_text(*share);
    }
    fields.take_faults(inner);
    add("muscles", "{ " + list + " }");
  }
  if (const auto v = fields.number("multiplier", 0.01, 10)) add("multiplier", number_text(*v));
  if (const auto v = fields.number("offset_kg", -500, 500)) add("offset_kg", number_text(*v));
  if (const auto v = fields.number("body_mass_share", 0, 1)) add("body_mass_share", number_text(*v));
  if (const auto v = fields.load("usual_step"))
    add("usual_step", toml_text(number_text(v->amount) + " " + std::string(unit_name(v->unit))));
  if (const auto v = fields.flag("one_sided")) add("one_sided", *v ? "true" : "false");
  if (const auto v = fields.flag("needs_spotter")) add("needs_spotter", *v ? "true" : "false");
  if (const auto v = fields.text("bar")) add("bar", toml_text(*v));
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  store::ChangeId change = 0;
  const auto ids = coach::put_exercises(call.desk, toml, &change);
  if (!ids) return problem(ids.error());
  const auto now = call.desk.library();
  if (!now) return problem(now.error());
  const Exercise* exercise = (*now)->find(id);
  if (!exercise) return problem({Code::internal, "the exercise is not there"});
  const auto edits = edited(call);
  if (!edits) return tl::unexpected(edits.error());
  return json_response({{"change", change}, {"exercise", shown(*exercise, *edits)}});
}

Answer delete_exercise(Call& call) {
  const auto exercise = call.desk.exercise(call.parameter("exercise"));
  if (!exercise) return problem(exercise.error());
  const std::string id = (*exercise)->id;
  const auto change = coach::remove_exercise(call.desk, id);
  if (!change) return problem(change.error());
  return json_response({{"change", *change}});
}

}  // namespace ullage::server
