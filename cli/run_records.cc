// lifter, exercise, place, policy.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <sstream>

#include "cli/app.h"
#include "cli/context.h"
#include "cli/show.h"
#include "service/coach/records.h"

namespace ullage::cli {
namespace {

tl::unexpected<Error> not_a(const std::string& option, const std::string& value, const char* expected) {
  return fail(Code::invalid_input, fmt::format("{}: \"{}\" is not {}", option, value, expected));
}

// Ids of the exercises named; "none" alone is the empty list.
Result<std::vector<std::string>> exercise_ids(Context& c, const char* option) {
  std::vector<std::string> out;
  const auto& names = c.args.all(option);
  if (names.size() == 1 && names.front() == "none") return out;
  for (const std::string& name : names) {
    const auto exercise = c.desk().exercise(name);
    if (!exercise) return fail(Code::invalid_input, std::string(option) + ": " + exercise.error().message);
    out.push_back((*exercise)->id);
  }
  return out;
}

Result<void> read_profile(Context& c, Lifter& l) {
  const Args& a = c.args;
  if (a.has("--born")) l.born = a.date("--born");
  if (a.has("--born") && *l.born < *make_date(1900, 1, 1))
    return not_a("--born", a.text("--born"), "a day from 1900 on");
  if (l.born && *l.born > c.desk().today()) return not_a("--born", a.text("--born"), "a day in the past");
  if (a.has("--sex"))
    l.sex = a.text("--sex") == "female" ? Sex::female : a.text("--sex") == "male" ? Sex::male : Sex::unknown;
  if (a.has("--training-years")) l.training_years = a.number("--training-years");
  if (a.has("--since")) l.since = a.date("--since");
  if (a.has("--goal")) l.goal = a.text("--goal");
  if (a.has("--unit")) l.unit = *parse_unit(a.text("--unit"));
  if (a.has("--days")) l.days_per_week = *a.whole("--days");
  if (a.has("--minutes")) l.minutes_per_session = *a.whole("--minutes");
  if (a.has("--note")) l.note = a.text("--note");
  if (a.has("--place")) {
    const auto place = c.desk().place(a.text("--place"));
    if (!place) return fail(Code::invalid_input, "--place: " + place.error().message);
    l.place = place->id;
  }
  if (a.has("--avoid")) {
    auto ids = exercise_ids(c, "--avoid");
    if (!ids) return tl::unexpected(ids.error());
    l.avoid = std::move(*ids);
  }
  if (a.has("--body-mass")) {
    const auto mass = parse_load(a.text("--body-mass"), l.unit);
    if (!mass || mass->unit == Unit::mark || kilograms(*mass).value < 20 || kilograms(*mass).value > 400) {
      return not_a("--body-mass", a.text("--body-mass"), "a mass from 20 to 400 kg such as 72.5kg");
    }
    std::erase_if(l.body_mass, [&](const BodyMass& m) { return m.date == c.desk().today(); });
    l.body_mass.push_back({c.desk().today(), *mass});
    std::sort(l.body_mass.begin(), l.body_mass.end(),
              [](const BodyMass& x, const BodyMass& y) { return x.date < y.date; });
  }
  return {};
}

void show_lifter(Terminal& term, const Lifter& l, Date today) {
  term.heading(l.name);
  const auto field = [&](const char* name, const std::string& value) {
    if (!value.empty()) term.line(padded(name, 18) + value, 2, 18);
  };
  field("id", l.id);
  if (l.born)
    field("born", fmt::format("{} ({} years)", date_text(*l.born), age_on(l, today).value_or(0)));
  else
    field("born", "not known: sets to failure are not planned until it is");
  if (l.training_years) field("trained", number_text(*l.training_years) + " years when taken on");
  if (l.since) field("taken on", date_text(*l.since));
  field("goal", l.goal);
  field("loads in", std::string(unit_name(l.unit)));
  field("a week", fmt::format("{} days of {} minutes", l.days_per_week, l.minutes_per_session));
  field("place", l.place);
  if (!l.body_mass.empty())
    field("body mass", fmt::format("{} on {}", load_text(l.body_mass.back().mass), date_text(l.body_mass.back().date)));
  std::string avoid;
  for (const std::string& id : l.avoid) avoid += (avoid.empty() ? "" : ", ") + id;
  field("never prescribed", avoid);
  field("note", l.note);
}

// The keys of one [[exercise]] table from the options given.
Result<std::string> exercise_table(Context& c, const std::string& id) {
  const Args& a = c.args;
  const auto quoted = [](const std::string& text) {
    std::string out = "\"";
    for (const char ch : text) {
      if (ch == '"' || ch == '\\') out += '\\';
      if (ch == '\n' || ch == '\r' || ch == '\t')
        out += ' ';
      else
        out += ch;
    }
    return out + "\"";
  };
  std::string toml = "[[exercise]]\nid = " + quoted(id) + "\n";
  if (a.has("--name")) toml += "name = " + quoted(a.text("--name")) + "\n";
  if (a.has("--alias")) {
    toml += "aliases = [";
    for (const std::string& alias : a.all("--alias")) toml += quoted(alias) + ", ";
    toml += "]\n";
  }
  if (a.has("--class")) toml += "class = " + quoted(a.text("--class")) + "\n";
  if (a.has("--implement")) toml += "implement = " + quoted(a.text("--implement")) + "\n";
  if (a.has("--muscles")) {
    std::string list;
    for (const std::string& part : split(a.text("--muscles"), ',')) {
      const auto pair = split(part, '=');
      if (pair.size() != 2 || !parse_number(pair[1]))
        return not_a("--muscles", a.text("--muscles"), "a list such as chest=1,triceps=0.5");
      std::string muscle = pair[0];
      std::replace(muscle.begin(), muscle.end(), ' ', '_');
      std::replace(muscle.begin(), muscle.end(), '-', '_');
      list += (list.empty() ? "" : ", ") + muscle + " = " + number_text(*parse_number(pair[1]));
    }
    toml += "muscles = { " + list + " }\n";
  }
  if (a.has("--multiplier")) toml += "multiplier = " + number_text(*a.number("--multiplier")) + "\n";
  if (a.has("--offset")) toml += "offset_kg = " + number_text(*a.number("--offset")) + "\n";
  if (a.has("--body-mass-share")) toml += "body_mass_share = " + number_text(*a.number("--body-mass-share")) + "\n";
  if (a.has("--step")) {
    const auto step = parse_load(a.text("--step"), Unit::kilogram);
    if (!step) return not_a("--step", a.text("--step"), "a load such as 2.5kg");
    toml += "usual_step = " + quoted(number_text(step->amount) + " " + std::string(unit_name(step->unit))) + "\n";
  }
  if (a.has("--one-sided"))
    toml += std::string("one_sided = ") + (a.text("--one-sided") == "yes" ? "true" : "false") + "\n";
  if (a.has("--needs-spotter"))
    toml += std::string("needs_spotter = ") + (a.text("--needs-spotter") == "yes" ? "true" : "false") + "\n";
  if (a.has("--bar")) toml += "bar = " + quoted(a.text("--bar")) + "\n";
  return toml;
}

// "4,6,8..30 step 2 kg": single loads and stretches; the last unit named holds for all before it.
Result<std::vector<Load>> load_list(const std::string& option, const std::string& text, Unit otherwise) {
  std::string body = text;
  Unit unit = otherwise;
  std::size_t end = body.size();
  while (end > 0 && !(body[end - 1] >= '0' && body[end - 1] <= '9')) --end;
  std::string tail = body.substr(end);
  tail.erase(std::remove(tail.begin(), tail.end(), ' '), tail.end());
  if (!tail.empty()) {
    const auto named = parse_unit(tail);
    if (!named) return not_a(option, text, "a list such as 4,6,8..30 step 2 kg");
    unit = *named;
    body.resize(end);
  }
  std::vector<Load> out;
  for (const std::string& part : split(body, ',')) {
    const std::size_t dots = part.find("..");
    if (dots == std::string::npos) {
      const auto value = parse_number(part);
      if (!value || *value <= 0 || *value > 1000) return not_a(option, part, "a load above 0, up to 1000");
      out.push_back({*value, unit});
      continue;
    }
    const std::size_t step_at = part.find("step");
    if (step_at == std::string::npos || step_at < dots) return not_a(option, part, "a stretch such as 8..30 step 2");
    const auto low = split(part.substr(0, dots), ' '), high = split(part.substr(dots + 2, step_at - dots - 2), ' '),
               by = split(part.substr(step_at + 4), ' ');
    const auto from = low.size() == 1 ? parse_number(low[0]) : std::nullopt;
    const auto to = high.size() == 1 ? parse_number(high[0]) : std::nullopt;
    const auto step = by.size() == 1 ? parse_number(by[0]) : std::nullopt;
    const double first = from.value_or(0), last = to.value_or(0), stride = step.value_or(0);
    if (first <= 0 || last < first || last > 1000 || stride <= 0 || (last - first) / stride > 1000) {
      return not_a(option, part, "a stretch such as 8..30 step 2, rising, up to 1000");
    }
    for (int i = 0; first + i * stride <= last + 1e-9; ++i)
      out.push_back({std::round((first + i * stride) * 1e6) / 1e6, unit});
  }
  std::sort(out.begin(), out.end(), [](const Load& x, const Load& y) { return kilograms(x) < kilograms(y); });
  return out;
}

Result<void> read_place(Context& c, Place& p) {
  const Args& a = c.args;
  if (a.has("--name")) p.name = a.text("--name");
  if (a.has("--unit")) p.unit = *parse_unit(a.text("--unit"));
  if (a.has("--safety-bars")) p.safety_bars = a.text("--safety-bars") == "yes";
  if (a.has("--bar")) {
    p.bars.clear();
    for (const std::string& text : a.all("--bar")) {
      const auto pair = split(text, '=');
      const auto mass = pair.size() == 2 ? parse_load(pair[1], p.unit) : std::nullopt;
      if (!mass || mass->unit == Unit::mark || mass->amount <= 0)
        return not_a("--bar", text, "a kind and a mass such as olympic=20kg");
      p.bars.push_back({pair[0], *mass});
    }
  }
  if (a.has("--plates")) {
    p.plates.clear();
    for (const std::string& text : split(a.text("--plates"), ',')) {
      const std::size_t x = text.rfind('x');
      const auto plate = parse_load(text.substr(0, x), p.unit);
      const auto pairs = x == std::string::npos ? std::optional<double>(1) : parse_number(text.substr(x + 1));
      if (!plate || plate->unit == Unit::mark || plate->amount <= 0 || !pairs || *pairs < 1 || *pairs > 100 ||
          *pairs != std::floor(*pairs)) {
        return not_a("--plates", text, "a plate and its pairs such as 20kgx4");
      }
      p.plates.push_back({*plate, static_cast<int>(*pairs)});
    }
  }
  const auto list = [&](const char* option, std::vector<Load>& to) -> Result<void> {
    if (!a.has(option)) return {};
    auto loads = load_list(option, a.text(option), p.unit);
    if (!loads) return tl::unexpected(loads.error());
    to = std::move(*loads);
    return {};
  };
  if (const auto r = list("--dumbbells", p.dumbbells); !r) return r;
  if (const auto r = list("--kettlebells", p.kettlebells); !r) return r;
  if (a.has("--stack")) {
    p.stacks.clear();
    for (const std::string& text : a.all("--stack")) {
      const std::size_t is = text.find('=');
      Stack stack;
      if (is != std::string::npos) {
        const auto exercise = c.desk().exercise(text.substr(0, is));
        if (!exercise) return fail(Code::invalid_input, "--stack: " + exercise.error().message);
        stack.exercise = (*exercise)->id;
      }
      auto loads = load_list("--stack", is == std::string::npos ? text : text.substr(is + 1), p.unit);
      if (!loads) return tl::unexpected(loads.error());
      stack.steps = std::move(*loads);
      p.stacks.push_back(std::move(stack));
    }
  }
  if (a.has("--without")) {
    auto ids = exercise_ids(c, "--without");
    if (!ids) return tl::unexpected(ids.error());
    p.without = std::move(*ids);
  }
  return {};
}

void show_place(Terminal& term, const Place& p) {
  term.heading(fmt::format("{} ({})", p.name, p.id));
  const auto loads = [](const std::vector<Load>& all) {
    std::string out;
    for (std::size_t i = 0; i < all.size(); ++i) {
      const bool unit = i + 1 == all.size() || all[i + 1].unit != all[i].unit;
      out += (i ? ", " : "") + (unit ? number_text(all[i].amount) + " " + std::string(unit_name(all[i].unit))
                                     : number_text(all[i].amount));
    }
    return out;
  };
  const auto field = [&](const std::string& name, const std::string& value) {
    if (!value.empty()) term.line(padded(name, 14) + value, 2, 14);
  };
  std::string bars, plates, without;
  for (const Bar& b : p.bars) bars += (bars.empty() ? "" : ", ") + b.id + " " + load_text(b.mass);
  for (const PlatePairs& q : p.plates)
    plates += (plates.empty() ? "" : ", ") + fmt::format("{} x {}", load_text(q.plate), q.pairs);
  for (const std::string& id : p.without) without += (without.empty() ? "" : ", ") + id;
  field("unit", std::string(unit_name(p.unit)));
  field("bars", bars);
  field("plate pairs", plates);
  field("dumbbells", loads(p.dumbbells));
  field("kettlebells", loads(p.kettlebells));
  for (const Stack& s : p.stacks) field(s.exercise.empty() ? "stacks" : s.exercise, loads(s.steps));
  field("not here", without);
  field("safety bars",
        p.safety_bars ? "confirmed" : "not confirmed: no sets to failure on lifts that can pin the lifter");
}

Result<std::string> scope(Context& c) {
  if (!c.args.has("--lifter")) return std::string();
  const auto lifter = c.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  return lifter->id;
}

}  // namespace

Result<void> run_lifter_add(Context& c) {
  Lifter lifter;
  lifter.name = c.args.text("NAME");
  if (const auto read = read_profile(c, lifter); !read) return read;
  store::ChangeId change = 0;
  const auto made = coach::take_on(c.desk(), lifter, &change);
  if (!made) return tl::unexpected(made.error());
  if (c.json) {
    c.print(coach::to_json(*made));
    return {};
  }
  c.say_change(change, "taken on: " + made->name);
  c.term.line(fmt::format("Ask the health questions next: {} intake --lifter \"{}\"", kProgram, made->name));
  return {};
}

Result<void> run_lifter_edit(Context& c) {
  auto lifter = c.desk().lifter(c.args.text("NAME"));
  if (!lifter) return tl::unexpected(lifter.error());
  if (c.args.has("--rename")) lifter->name = c.args.text("--rename");
  if (const auto read = read_profile(c, *lifter); !read) return read;
  const auto change = coach::put_lifter(c.desk(), *lifter);
  if (!change) return tl::unexpected(change.error());
  if (c.json)
    c.print(coach::to_json(*lifter));
  else
    c.say_change(*change, "changed: " + lifter->name);
  return {};
}

Result<void> run_lifter_show(Context& c) {
  const auto lifter = c.desk().lifter(c.args.text("NAME"));
  if (!lifter) return tl::unexpected(lifter.error());
  if (c.json)
    c.print(coach::to_json(*lifter));
  else
    show_lifter(c.term, *lifter, c.desk().today());
  return {};
}

Result<void> run_lifter_list(Context& c) {
  const auto lifters = c.store().lifters();
  if (!lifters) return tl::unexpected(lifters.error());
  coach::Json list = coach::Json::array();
  for (const Lifter& l : *lifters) {
    if (c.json)
      list.push_back(coach::to_json(l));
    else
      c.term.line(l.goal.empty() ? l.name : padded(l.name, 22) + l.goal, 0, 22);
  }
  if (c.json)
    c.print(list);
  else if (lifters->empty())
    c.term.line("the roster is empty");
  return {};
}

Result<void> run_lifter_weigh(Context& c) {
  const auto lifter = c.desk().lifter(c.args.text("NAME"));
  if (!lifter) return tl::unexpected(lifter.error());
  const auto mass = parse_load(c.args.text("MASS"), lifter->unit);
  if (!mass || mass->unit == Unit::mark || kilograms(*mass).value < 20 || kilograms(*mass).value > 400) {
    return not_a("MASS", c.args.text("MASS"), "a mass from 20 to 400 kg such as 72.5kg");
  }
  const auto change = c.store().change("body mass of " + lifter->name,
                                       [&](store::Writer& w) { return w.put_body_mass(lifter->id, {c.day(), *mass}); });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, fmt::format("{}: {} on {}", lifter->name, load_text(*mass), date_text(c.day())));
  return {};
}

Result<void> run_lifter_settle(Context& c) {
  const auto lifter = c.desk().lifter(c.args.text("NAME"));
  if (!lifter) return tl::unexpected(lifter.error());
  const auto change =
      coach::change_health(c.desk(), *lifter, "extra reserve lifted", [&](safety::HealthRecord& r) -> Result<void> {
        r.extra_reserve_lifted = safety::ExtraReserveLifted{c.day(), c.by()};
        return {};
      });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, lifter->name + " no longer gets an extra rep in reserve");
  return {};
}

Result<void> run_lifter_remove(Context& c) {
  const auto lifter = c.desk().lifter(c.args.text("NAME"));
  if (!lifter) return tl::unexpected(lifter.error());
  const auto change =
      c.store().change("remove " + lifter->name, [&](store::Writer& w) { return w.remove_lifter(lifter->id); });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, "removed: " + lifter->name + " (still in the history; \"erase\" removes for good)");
  return {};
}

Result<void> run_exercise_list(Context& c) {
  const auto library = c.desk().library();
  if (!library) return tl::unexpected(library.error());
  const std::string wanted = c.args.text("TEXT");
  coach::Json list = coach::Json::array();
  int shown = 0;
  for (const Exercise& e : (*library)->all()) {
    const bool named = e.name.find(wanted) != std::string::npos || e.id.find(wanted) != std::string::npos ||
                       std::any_of(e.aliases.begin(), e.aliases.end(),
                                   [&](const std::string& a) { return a.find(wanted) != std::string::npos; });
    if (!named) continue;
    ++shown;
    if (c.json)
      list.push_back({{"exercise", e.id},
                      {"name", e.name},
                      {"class", std::string(class_name(e.cls))},
                      {"implement", std::string(implement_name(e.implement))}});
    else
      c.term.line(padded(e.id, 32) + " " + padded(std::string(class_name(e.cls)), 19) +
                  std::string(implement_name(e.implement)));
  }
  if (c.json) {
    c.print(list);
  } else if (shown == 0) {
    const auto near = c.desk().exercise(wanted);
    c.term.line(near ? (*near)->id : near.error().message);
  }
  return {};
}

Result<void> run_exercise_show(Context& c) {
  const auto exercise = c.desk().exercise(c.args.text("EXERCISE"));
  if (!exercise) return tl::unexpected(exercise.error());
  std::string toml = library::exercise_toml(**exercise);
  while (!toml.empty() && toml.back() == '\n') toml.pop_back();
  if (c.json)
    c.print({{"exercise", (*exercise)->id}, {"toml", toml}});
  else
    c.term.raw(toml);
  return {};
}

Result<void> run_exercise_add(Context& c) {
  std::string toml;
  if (c.args.has("--file")) {
    std::ifstream in(c.args.text("--file"), std::ios::binary);
    std::ostringstream all;
    all << in.rdbuf();
    if (!in) return fail(Code::not_found, "no file " + c.args.text("--file"));
    toml = all.str();
  } else {
    const std::string id = c.args.text("ID");
    if (id.empty()) return fail(Code::invalid_input, "ID: is needed, or --file");
    const auto library = c.desk().library();
    if (!library) return tl::unexpected(library.error());
    if ((*library)->find(id))
      return fail(Code::conflict, "ID: there is an exercise " + id + " already; to change it: exercise edit");
    auto table = exercise_table(c, id);
    if (!table) return tl::unexpected(table.error());
    toml = std::move(*table);
  }
  store::ChangeId change = 0;
  const auto ids = coach::put_exercises(c.desk(), toml, &change);
  if (!ids) return tl::unexpected(ids.error());
  std::string names;
  for (const std::string& id : *ids) names += (names.empty() ? "" : ", ") + id;
  if (c.json)
    c.print({{"change", change}, {"exercises", *ids}});
  else
    c.say_change(change, "in the library: " + names);
  return {};
}

Result<void> run_exercise_edit(Context& c) {
  const auto exercise = c.desk().exercise(c.args.text("EXERCISE"));
  if (!exercise) return tl::unexpected(exercise.error());
  const std::string id = (*exercise)->id;
  const auto table = exercise_table(c, id);
  if (!table) return tl::unexpected(table.error());
  store::ChangeId change = 0;
  const auto ids = coach::put_exercises(c.desk(), *table, &change);
  if (!ids) return tl::unexpected(ids.error());
  if (c.json)
    c.print({{"change", change}, {"exercises", *ids}});
  else
    c.say_change(change, "changed: " + id);
  return {};
}

Result<void> run_exercise_remove(Context& c) {
  const auto exercise = c.desk().exercise(c.args.text("EXERCISE"));
  if (!exercise) return tl::unexpected(exercise.error());
  const std::string id = (*exercise)->id;
  const auto change = coach::remove_exercise(c.desk(), id);
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, "your edit is gone: " + id);
  return {};
}

Result<void> run_place_add(Context& c) {
  const auto there = c.store().places();
  if (!there) return tl::unexpected(there.error());
  std::vector<std::string> taken;
  Place place;
  place.name = c.args.text("PLACE");
  for (const Place& p : *there) {
    if (p.name == place.name || p.id == place.name)
      return fail(Code::conflict, "PLACE: there is a place " + place.name + " already; to change it: place edit");
    taken.push_back(p.id);
  }
  place.id = coach::make_name_id(place.name, taken);
  if (const auto read = read_place(c, place); !read) return read;
  const auto change = c.store().change("place " + place.name, [&](store::Writer& w) { return w.put_place(place); });
  if (!change) return tl::unexpected(change.error());
  if (c.json) {
    c.print(coach::to_json(place));
    return {};
  }
  show_place(c.term, place);
  c.say_change(*change, "described: " + place.name);
  return {};
}

Result<void> run_place_edit(Context& c) {
  auto place = c.desk().place(c.args.text("PLACE"));
  if (!place) return tl::unexpected(place.error());
  if (const auto read = read_place(c, *place); !read) return read;
  const auto change =
      c.store().change("edit place " + place->name, [&](store::Writer& w) { return w.put_place(*place); });
  if (!change) return tl::unexpected(change.error());
  if (c.json)
    c.print(coach::to_json(*place));
  else
    c.say_change(*change, "changed: " + place->name);
  return {};
}

Result<void> run_place_show(Context& c) {
  const auto place = c.desk().place(c.args.text("PLACE"));
  if (!place) return tl::unexpected(place.error());
  if (c.json)
    c.print(coach::to_json(*place));
  else
    show_place(c.term, *place);
  return {};
}

Result<void> run_place_list(Context& c) {
  const auto places = c.store().places();
  if (!places) return tl::unexpected(places.error());
  coach::Json list = coach::Json::array();
  for (const Place& p : *places) {
    if (c.json)
      list.push_back(coach::to_json(p));
    else
      c.term.line(padded(p.id, 22) + p.name);
  }
  if (c.json)
    c.print(list);
  else if (places->empty())
    c.term.line("no place is described: a plain gym is assumed");
  return {};
}

Result<void> run_place_remove(Context& c) {
  const auto place = c.desk().place(c.args.text("PLACE"));
  if (!place) return tl::unexpected(place.error());
  const auto change =
      c.store().change("remove place " + place->name, [&](store::Writer& w) { return w.remove_place(place->id); });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, "removed: " + place->name);
  return {};
}

Result<void> run_policy_show(Context& c) {
  ReservePolicy policy;
  std::string whose = "everyone";
  if (c.args.has("--lifter")) {
    const auto lifter = c.lifter();
    if (!lifter) return tl::unexpected(lifter.error());
    const auto found = c.desk().policy(*lifter);
    if (!found) return tl::unexpected(found.error());
    policy = *found;
    whose = lifter->name;
  } else {
    const auto found = c.store().policy("");
    if (!found) return tl::unexpected(found.error());
    if (*found) policy = **found;
  }
  if (c.json) {
    c.print(coach::to_json(policy));
    return {};
  }
  c.term.heading("Reserve policy for " + whose);
  for (const ExerciseClass cls :
       {ExerciseClass::barbell_compound, ExerciseClass::supported_compound, ExerciseClass::isolation}) {
    const ClassPolicy& p = policy.of(cls);
    c.term.line(
        fmt::format("{}: end with {} in reserve; {} sets of {}-{} reps, rest {}; chance of a miss up to {}",
                    class_name(cls),
                    p.least_reserve == p.most_reserve ? fmt::format("{:g}", p.least_reserve)
                                                      : fmt::format("{:g}-{:g}", p.least_reserve, p.most_reserve),
                    p.sets, p.least_reps, p.most_reps, rest_text(p.rest_s), percent_text(p.miss_limit)),
        2);
    const std::string failure =
        p.last_set_failure
            ? fmt::format("last set of an exercise may go to failure, at most every {} days", p.failure_every_days)
            : "no sets to failure";
    c.term.quiet(fmt::format("{}; rep-max tests at most every {} days", failure, p.test_every_days), 4);
  }
  c.term.line(fmt::format("isolation below {} of strength must end with less than {:g} in reserve",
                          percent_text(policy.light_share), policy.light_most_reserve),
              2);
  return {};
}

Result<void> run_policy_set(Context& c) {
  const auto where = scope(c);
  if (!where) return tl::unexpected(where.error());
  ReservePolicy policy;
  if (where->empty()) {
    const auto found = c.store().policy("");
    if (!found) return tl::unexpected(found.error());
    if (*found) policy = **found;
  } else {
    const auto found = c.desk().policy(*c.lifter());
    if (!found) return tl::unexpected(found.error());
    policy = *found;
  }
  ClassPolicy& p = policy.of(*parse_class(c.args.text("--class")));
  const Args& a = c.args;
  if (a.has("--reserve")) {
    const auto range = parse_range(a.text("--reserve"));
    if (!range || range->second > 10) return not_a("--reserve", a.text("--reserve"), "a range such as 1-2, up to 10");
    p.least_reserve = range->first;
    p.most_reserve = range->second;
  }
  if (a.has("--reps")) {
    const auto range = parse_range(a.text("--reps"));
    if (!range || range->first < 1 || range->second > 100)
      return not_a("--reps", a.text("--reps"), "a range such as 6-12");
    p.least_reps = static_cast<int>(range->first);
    p.most_reps = static_cast<int>(range->second);
  }
  if (a.has("--failure")) p.last_set_failure = a.text("--failure") == "yes";
  if (a.has("--failure-every")) p.failure_every_days = *a.whole("--failure-every");
  if (a.has("--test-every")) p.test_every_days = *a.whole("--test-every");
  if (a.has("--miss-limit")) p.miss_limit = *a.number("--miss-limit") / 100;
  if (a.has("--rest")) p.rest_s = *a.number("--rest");
  if (a.has("--sets")) p.sets = *a.whole("--sets");
  const auto change = c.store().change("policy of " + c.args.text("--class"),
                                       [&](store::Writer& w) { return w.put_policy(*where, policy); });
  if (!change) return tl::unexpected(change.error());
  if (c.json)
    c.print(coach::to_json(policy));
  else
    c.say_change(*change, "policy changed: " + c.args.text("--class"));
  return {};
}

Result<void> run_policy_reset(Context& c) {
  const auto where = scope(c);
  if (!where) return tl::unexpected(where.error());
  const auto found = c.store().policy(*where);
  if (!found) return tl::unexpected(found.error());
  if (!*found) {
    c.say_change(0, "");
    return {};
  }
  const auto change = c.store().change("policy reset", [&](store::Writer& w) { return w.remove_policy(*where); });
  if (!change) return tl::unexpected(change.error());
  c.say_change(*change, where->empty() ? "the standard policy holds again" : "everyone's policy holds again");
  return {};
}

}  // namespace ullage::cli
