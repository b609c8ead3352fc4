#include "service/coach/desk.h"

#include <algorithm>
#include <filesystem>
#include <set>
#include <utility>

#include "service/library/names.h"
#include "service/store/sqlite_store.h"

namespace ullage::coach {

Result<std::unique_ptr<Desk>> Desk::open(const std::string& path, store::Clock& clock, const std::string& who,
                                         std::optional<Date> as_of) {
  const std::filesystem::path folder = std::filesystem::path(path).parent_path();
  std::error_code problem;
  if (!folder.empty()) std::filesystem::create_directories(folder, problem);
  if (problem) {
    return fail(Code::unavailable, "the folder " + folder.string() + " cannot be made: " + problem.message());
  }
  auto store = store::open_sqlite(path, clock, who);
  if (!store) return tl::unexpected(store.error());
  return std::make_unique<Desk>(std::move(*store), clock, as_of);
}

Desk::Desk(std::unique_ptr<store::Store> store, store::Clock& clock, std::optional<Date> as_of)
    : store_(std::move(store)), clock_(clock), today_(as_of ? *as_of : clock.today()) {}

namespace {

std::string joined_texts(const std::vector<store::NamedText>& texts) {
  std::string all;
  for (const store::NamedText& each : texts) all += each.text + "\n";
  return all;
}

}  // namespace

Result<void> Desk::renew() {
  if (!library_) return {};
  const auto edits = store_->exercise_edits();
  if (!edits) return tl::unexpected(edits.error());
  if (joined_texts(*edits) != edits_) library_.reset();
  return {};
}

Result<const library::Library*> Desk::library() {
  if (library_) return library_.get();
  const auto edits = store_->exercise_edits();
  if (!edits) return tl::unexpected(edits.error());
  const std::string toml = joined_texts(*edits);
  edits_ = toml;
  if (toml.empty()) {
    library_ = std::make_unique<library::Library>(library::builtin());
    return library_.get();
  }
  auto edited = library::builtin().with(toml);
  if (!edited)
    return fail(Code::corrupt, "the exercise edits in the data file cannot be read: " + edited.error().message);
  library_ = std::make_unique<library::Library>(std::move(*edited));
  return library_.get();
}

Result<Lifter> Desk::lifter(const std::string& id_or_name) {
  auto called = lifter_called(*store_, id_or_name);
  if (!called) return tl::unexpected(called.error());
  if (*called) return std::move(**called);
  const auto all = store_->lifters();
  if (!all) return tl::unexpected(all.error());
  if (all->empty()) {
    return fail(Code::not_found, "no lifter \"" + id_or_name +
                                     "\": the roster is empty (import a log, add a lifter, or make the demo roster)");
  }
  std::vector<std::string> names;
  const std::string wanted = library::joined(library::plain_words(id_or_name));
  const Lifter* same = nullptr;  // but for hyphens and blanks
  int alike = 0;
  for (const Lifter& l : *all) {
    names.push_back(l.name);
    if (wanted.empty() || library::joined(library::plain_words(l.name)) != wanted) continue;
    same = &l;
    ++alike;
  }
  if (alike == 1) return *same;
  return fail(Code::not_found, "no lifter \"" + id_or_name + "\"" + did_you_mean(near_names(id_or_name, names, 3)));
}

Result<const Exercise*> Desk::exercise(const std::string& text) {
  const auto lib = library();
  if (!lib) return tl::unexpected(lib.error());
  const library::Resolution resolved = (*lib)->resolve(text);
  if (resolved) return resolved.exercise;
  std::vector<std::string> names;
  for (const library::Near& near : resolved.nearest) names.push_back(near.exercise->name);
  return fail(Code::not_found, "no exercise \"" + text + "\" in the library" + did_you_mean(names));
}

Result<Place> Desk::place(const std::string& id_or_name) {
  const auto places = store_->places();
  if (!places) return tl::unexpected(places.error());
  std::vector<std::string> names;
  for (const Place& p : *places) {
    if (p.id == id_or_name ||
        library::joined(library::plain_words(p.name)) == library::joined(library::plain_words(id_or_name))) {
      return p;
    }
    names.push_back(p.id);
  }
  return fail(Code::not_found, "no place \"" + id_or_name + "\"" + did_you_mean(near_names(id_or_name, names, 3)));
}

Result<Desk::Where> Desk::where(const Lifter& lifter, const std::string& named) {
  if (!named.empty()) {
    auto found = place(named);
    if (found) return Where{std::move(*found), false};
    // What was planned where no place was described says so by the assumed gym's own id.
    for (const Place& gym : {plain_gym(), plain_gym_in_pounds()}) {
      if (named == gym.id) return Where{gym, true};
    }
    return tl::unexpected(found.error());
  }
  const auto places = store_->places();
  if (!places) return tl::unexpected(places.error());
  for (const Place& p : *places) {
    if (!lifter.place.empty() && (p.id == lifter.place || p.name == lifter.place)) return Where{p, false};
  }
  if (lifter.place.empty() && places->size() == 1) return Where{places->front(), false};
  return Where{lifter.unit == Unit::pound ? plain_gym_in_pounds() : plain_gym(), true};
}

Result<ReservePolicy> Desk::policy(const Lifter& lifter) {
  for (const std::string& scope : {lifter.id, std::string()}) {
    const auto found = store_->policy(scope);
    if (!found) return tl::unexpected(found.error());
    if (*found) return **found;
  }
  return ReservePolicy{};
}

Result<safety::Gate> Desk::gate(const Lifter& lifter, Date day, const std::vector<Date>& sessions) {
  const auto record = store_->health(lifter.id);
  if (!record) return tl::unexpected(record.error());
  return safety::evaluate(*record, lifter, day, count_until(sessions, day));
}

Result<safety::Gate> Desk::gate(const Lifter& lifter, Date day) {
  const auto sessions = store_->session_days(lifter.id);
  if (!sessions) return tl::unexpected(sessions.error());
  return gate(lifter, day, *sessions);
}

Result<safety::Gate> Desk::strict_gate(const Lifter& lifter, Date day) {
  const auto sessions = store_->session_days(lifter.id);
  if (!sessions) return tl::unexpected(sessions.error());
  return strict_gate(lifter, day, *sessions);
}

Result<safety::Gate> Desk::strict_gate(const Lifter& lifter, Date day, const std::vector<Date>& sessions) {
  auto asked = gate(lifter, day, sessions);
  const Date now = clock_.today();
  if (!asked || day == now) return asked;
  auto real = gate(lifter, now, sessions);
  if (!real) return real;
  for (safety::Held& held : real->holds) {
    const bool both = std::any_of(asked->holds.begin(), asked->holds.end(),
                                  [&](const safety::Held& h) { return h.id == held.id && h.reason == held.reason; });
    if (!both) held.reason += " (on " + date_text(now) + ", the day it is)";
  }
  return stricter(*asked, *real);
}

Result<safety::Gate> Desk::session_gate(const Lifter& lifter, Date day, const std::vector<Date>& sessions) {
  auto gate = strict_gate(lifter, day, sessions);
  if (gate) safety::apply_time_off(*gate, day, sessions);
  return gate;
}

Result<safety::Gate> Desk::session_gate(const Lifter& lifter, Date day) {
  const auto sessions = store_->session_days(lifter.id);
  if (!sessions) return tl::unexpected(sessions.error());
  return session_gate(lifter, day, *sessions);
}

safety::Gate stricter(const safety::Gate& a, const safety::Gate& b) {
  safety::Gate out = a;
  for (const safety::Held& held : b.holds) {
    const bool there = std::any_of(a.holds.begin(), a.holds.end(), [&](const safety::Held& h) {
      return h.id == held.id && (!h.id.empty() || h.reason == held.reason);
    });
    if (!there) out.holds.push_back(held);
  }
  if (b.least_reserve > out.least_reserve) {
    out.least_reserve = b.least_reserve;
    out.least_reserve_from = b.least_reserve_from;
  }
  if (b.extra_reserve > out.extra_reserve) {
    out.extra_reserve = b.extra_reserve;
    out.extra_reserve_from = b.extra_reserve_from;
  }
  if (b.load_cap_share && (!out.load_cap_share || *b.load_cap_share < *out.load_cap_share)) {
    out.load_cap_share = b.load_cap_share;
    out.load_cap_from = b.load_cap_from;
  }
  if (b.only_some) {
    if (out.only_some) {
      std::erase_if(out.only_exercises, [&](const std::string& id) {
        return std::find(b.only_exercises.begin(), b.only_exercises.end(), id) == b.only_exercises.end();
      });
    } else {
      out.only_exercises = b.only_exercises;
    }
    out.only_some = true;
  }
  for (const safety::Barred& barred : b.barred) {
    const bool there = std::any_of(out.barred.begin(), out.barred.end(),
                                   [&](const safety::Barred& x) { return x.exercise == barred.exercise; });
    if (!there) out.barred.push_back(barred);
  }
  if (out.failure && !b.failure) {
    out.failure = false;
    out.no_failure = b.no_failure;
  }
  if (b.until) out.until = out.until ? std::min(*out.until, *b.until) : *b.until;
  for (const std::string& caution : b.cautions) {
    if (std::find(out.cautions.begin(), out.cautions.end(), caution) == out.cautions.end())
      out.cautions.push_back(caution);
  }
  return out;
}

std::string plain_name(const std::string& name) {
  std::string out;
  for (const char c : name) {
    const bool blank = c == ' ' || c == '\t';
    if (blank && (out.empty() || out.back() == ' ')) continue;
    out += blank ? ' ' : c;
  }
  if (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

Result<std::optional<Lifter>> lifter_called(store::Store& store, const std::string& name) {
  const std::string plain = plain_name(name);
  for (const std::string& text : {name, plain}) {
    auto found = store.find_lifter(text);
    if (found) return std::optional<Lifter>(std::move(*found));
    if (found.error().code != Code::not_found) return tl::unexpected(found.error());
  }
  const auto small = [](std::string text) {
    for (char& c : text) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    return text;
  };
  const auto all = store.lifters();
  if (!all) return tl::unexpected(all.error());
  for (const Lifter& l : *all) {
    if (!plain.empty() && small(plain_name(l.name)) == small(plain)) return std::optional<Lifter>(l);
  }
  return std::optional<Lifter>();
}

Place plain_gym_in_pounds() {
  Place place;
  place.id = "plain-gym";
  place.name = "plain gym";
  place.unit = Unit::pound;
  place.bars = {{"olympic", {45, Unit::pound}}};
  for (const double plate : {45.0, 35.0, 25.0, 10.0, 5.0, 2.5})
    place.plates.push_back({{plate, Unit::pound}, plate == 45 ? 6 : 2});
  for (int mass = 5; mass <= 100; mass += 5) place.dumbbells.push_back({double(mass), Unit::pound});
  Stack stack;
  for (int mass = 10; mass <= 250; mass += 10) stack.steps.push_back({double(mass), Unit::pound});
  place.stacks.push_back(stack);
  for (int mass = 10; mass <= 100; mass += 10) place.kettlebells.push_back({double(mass), Unit::pound});
  return place;
}

std::vector<std::string> near_names(const std::string& text, const std::vector<std::string>& names, std::size_t most) {
  const std::string wanted = library::joined(library::plain_words(text));
  std::vector<std::pair<double, std::string>> scored;
  for (const std::string& name : names) {
    const std::string letters = library::joined(library::plain_words(name));
    double score = library::letter_likeness(wanted, letters);
    if (!wanted.empty() && letters.find(wanted) != std::string::npos) score = std::max(score, 0.8);
    if (score >= 0.5) scored.emplace_back(-score, name);
  }
  std::sort(scored.begin(), scored.end());
  std::vector<std::string> out;
  for (std::size_t i = 0; i < scored.size() && i < most; ++i) out.push_back(scored[i].second);
  return out;
}

std::string did_you_mean(const std::vector<std::string>& names) {
  if (names.empty()) return "";
  std::string text = ": did you mean ";
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) text += i + 1 == names.size() ? " or " : ", ";
    text += names[i];
  }
  return text + "?";
}

std::string make_name_id(const std::string& name, const std::vector<std::string>& taken) {
  std::string id;
  for (const char c : name) {
    const bool letter = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    const bool capital = c >= 'A' && c <= 'Z';
    if (letter || capital)
      id += capital ? static_cast<char>(c - 'A' + 'a') : c;
    else if (!id.empty() && id.back() != '-')
      id += '-';
  }
  while (!id.empty() && id.back() == '-') id.pop_back();
  if (id.empty()) id = "lifter";
  std::string free = id;
  for (int n = 2; std::find(taken.begin(), taken.end(), free) != taken.end(); ++n) free = id + "-" + std::to_string(n);
  return free;
}

std::vector<Date> session_days(const std::vector<store::StoredSet>& sets) {
  std::set<std::pair<Date, std::string>> sessions;
  for (const store::StoredSet& s : sets) sessions.emplace(s.set.date, s.set.session);
  std::vector<Date> days;
  for (const auto& [day, label] : sessions) days.push_back(day);
  return days;
}

int count_until(const std::vector<Date>& days, Date day) {
  return static_cast<int>(std::upper_bound(days.begin(), days.end(), day) - days.begin());
}

}  // namespace ullage::coach
