#include "service/library/library.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <stdexcept>
#include <utility>

#include "service/library/names.h"
#include "service/toml/read_toml.h"
#include "service/toml/write_toml.h"

namespace ullage::embedded {
std::string_view exercises_de_json();
}  // namespace ullage::embedded

namespace ullage::library {
namespace {

int line_of(const toml::node& node) { return static_cast<int>(node.source().begin.line); }

// Faults found while reading; every one becomes a line of the message.
class Faults {
 public:
  void add(int line, std::string_view exercise, std::string_view what) {
    if (!text_.empty()) text_ += '\n';
    if (line > 0) text_ += "line " + std::to_string(line) + ": ";
    if (!exercise.empty()) text_ += std::string(exercise) + ": ";
    text_ += what;
  }
  bool none() const { return text_.empty(); }
  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

// The German name of an exercise by its English one (data/words, compiled in).
const std::map<std::string, std::string, std::less<>>& german_names() {
  static const auto names =
      nlohmann::json::parse(embedded::exercises_de_json()).get<std::map<std::string, std::string, std::less<>>>();
  return names;
}

std::string in_quotes(std::string_view text) { return '"' + std::string(text) + '"'; }

bool good_id(std::string_view id) {
  if (id.empty() || id.size() > 64 || id.front() == '-' || id.back() == '-') return false;
  for (std::size_t i = 0; i < id.size(); ++i) {
    const char c = id[i];
    if (c == '-' ? id[i - 1] == '-' : !((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'))) return false;
  }
  return true;
}

// "2.5 kg": a number above 0 and a unit.
std::optional<Load> parse_step(std::string_view text) {
  double amount = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), amount);
  if (error != std::errc() || !(amount > 0) || amount > 1000) return std::nullopt;
  const auto unit = parse_unit(text.substr(static_cast<std::size_t>(end - text.data())));
  if (!unit) return std::nullopt;
  return Load{amount, *unit};
}

// Reads the keys of one [[exercise]] over what `exercise` already holds.
class Reader {
 public:
  Reader(const toml::table& table, Exercise& exercise, Faults& faults)
      : table_(table), exercise_(exercise), faults_(faults) {}

  // `fresh`: no exercise of this id yet, so the keys without a usual value must be there.
  void read(bool fresh) {
    for (const auto& [key, node] : table_) one_key(key.str(), node);
    if (!fresh) return;
    for (const std::string_view needed : {"name", "class", "implement", "muscles"}) {
      if (!table_.contains(needed)) fault(line_of(table_), "needs the key " + in_quotes(needed));
    }
  }

 private:
  void fault(int line, std::string_view what) { faults_.add(line, exercise_.id, what); }

  void one_key(std::string_view key, const toml::node& node) {
    Exercise& e = exercise_;
    if (key == "id") return;
    if (key == "name") return text(key, node, e.name);
    if (key == "aliases") return aliases(node);
    if (key == "class") {
      return word(key, node, e.cls, parse_class, R"("barbell compound", "supported compound" or "isolation")");
    }
    if (key == "implement") {
      return word(key, node, e.implement, parse_implement,
                  R"("barbell", "dumbbell", "stack", "plates", "added mass", "kettlebell", "band" or "bodyweight")");
    }
    if (key == "muscles") return muscles(node);
    if (key == "multiplier") return number(key, node, e.multiplier, 0.01, 10);
    if (key == "offset_kg") return number(key, node, e.offset_kg, -500, 500);
    if (key == "body_mass_share") return number(key, node, e.body_mass_share, 0, 1);
    if (key == "usual_step") {
      std::string written;
      const bool is_text = node.is_string();
      if (is_text) written = node.as_string()->get();
      const auto step = is_text ? parse_step(written) : std::nullopt;
      if (step) {
        e.usual_step = *step;
      } else {
        fault(line_of(node), R"(usual_step: a number above 0 and "kg", "lb" or "mark" was expected, such as "2.5 kg")");
      }
      return;
    }
    if (key == "one_sided") return yes_no(key, node, e.one_sided);
    if (key == "needs_spotter") return yes_no(key, node, e.needs_spotter);
    if (key == "bar") {
      std::string kind;
      if (node.is_string() && node.as_string()->get().empty()) {
        e.bar.reset();  // an edit back to the place's first bar
        return;
      }
      text(key, node, kind);
      if (!kind.empty()) e.bar = kind;
      return;
    }
    if (key == "strength_ratio") return number(key, node, e.strength_ratio, 0, 20);
    if (key == "strength_log_sd") return number(key, node, e.strength_log_sd, 0.01, 3);
    if (key == "endurance") {
      number(key, node, e.endurance, 0, 1000);
      if (e.endurance != 0 && !(e.endurance > 2)) {
        fault(line_of(node), "endurance: a number above 2 was expected, or 0 for the class's own");
        e.endurance = 0;
      }
      return;
    }
    fault(line_of(node), "unknown key " + in_quotes(key));
  }

  void text(std::string_view key, const toml::node& node, std::string& out) {
    const auto* value = node.as_string();
    if (!value || value->get().find_first_not_of(" \t\r\n") == std::string::npos) {
      fault(line_of(node), std::string(key) + ": a text in quotes was expected");
      return;
    }
    out = value->get();
  }

  template <class Enum>
  void word(std::string_view key, const toml::node& node, Enum& out, std::optional<Enum> (*parse)(std::string_view),
            std::string_view expected) {
    const auto* value = node.as_string();
    const auto parsed = value ? parse(value->get()) : std::nullopt;
    if (parsed) {
      out = *parsed;
    } else {
      fault(line_of(node), std::string(key) + ": " + std::string(expected) + " was expected" +
                               (value ? ", got " + in_quotes(value->get()) : ""));
    }
  }

  void number(std::string_view key, const toml::node& node, double& out, double least, double most) {
    const auto value = node.is_number() ? node.value<double>() : std::nullopt;
    if (value && *value >= least && *value <= most) {
      out = *value;
    } else {
      fault(line_of(node), std::string(key) + ": a number from " + number_text(least) + " to " + number_text(most) +
                               " was expected" + (value ? ", got " + number_text(*value) : ""));
    }
  }

  void yes_no(std::string_view key, const toml::node& node, bool& out) {
    if (const auto* value = node.as_boolean()) {
      out = value->get();
    } else {
      fault(line_of(node), std::string(key) + ": true or false was expected");
    }
  }

  void aliases(const toml::node& node) {
    const auto* list = node.as_array();
    if (!list) return fault(line_of(node), R"(aliases: a list of texts was expected, such as ["bench", "bp"])");
    exercise_.aliases.clear();
    for (const toml::node& item : *list) {
      std::string alias;
      text("aliases", item, alias);
      if (!alias.empty()) exercise_.aliases.push_back(std::move(alias));
    }
  }

  void muscles(const toml::node& node) {
    const auto* table = node.as_table();
    if (!table) return fault(line_of(node), "muscles: a table was expected, such as { chest = 1, triceps = 0.5 }");
    exercise_.involvement = {};
    std::set<Muscle> seen;
    double most = 0;
    for (const auto& [key, value] : *table) {
      const auto muscle = parse_muscle(key.str());
      if (!muscle) {
        fault(line_of(value), "muscles: unknown muscle " + in_quotes(key.str()));
        continue;
      }
      if (!seen.insert(*muscle).second) fault(line_of(value), "muscles: " + in_quotes(key.str()) + " is there twice");
      double& share = exercise_.involvement[static_cast<std::size_t>(*muscle)];
      number("muscles: " + std::string(key.str()), value, share, 0, 1);
      most = std::max(most, share);
    }
    if (!(most > 0)) fault(line_of(node), "muscles: at least one number above 0 was expected");
  }

  const toml::table& table_;
  Exercise& exercise_;
  Faults& faults_;
};

// Reads the tables of `toml` over `exercises`; lines[i] is where exercise i was last written, 0 when untouched.
void read_tables(std::string_view text, std::vector<Exercise>& exercises, std::vector<int>& lines, Faults& faults) {
  const auto read = read_toml(text);
  if (!read) return faults.add(read.error().line, "", read.error().problem);
  const toml::table& root = *read;
  for (const auto& [key, node] : root) {
    if (key.str() != "exercise") {
      faults.add(line_of(node), "", "unknown key " + in_quotes(key.str()) + "; [[exercise]] was expected");
    } else if (!node.is_array_of_tables()) {
      faults.add(line_of(node), "", "exercise: tables headed [[exercise]] were expected");
    }
  }
  const auto* tables = root["exercise"].as_array();
  if (!tables || !faults.none()) return;

  std::unordered_map<std::string, std::size_t> place;
  for (std::size_t i = 0; i < exercises.size(); ++i) place.emplace(exercises[i].id, i);
  for (const toml::node& node : *tables) {
    const toml::table& table = *node.as_table();
    const int line = line_of(table);
    const toml::node* id_node = table.get("id");
    if (!id_node || !id_node->is_string()) {
      faults.add(id_node ? line_of(*id_node) : line, "", R"(a key id was expected, such as id = "bench-press")");
      continue;
    }
    const std::string& id = id_node->as_string()->get();
    if (!good_id(id)) {
      faults.add(line_of(*id_node), "",
                 "id: lower case letters, digits and single hyphens were expected, such as \"bench-press\", got " +
                     in_quotes(id));
      continue;
    }
    const auto [at, fresh] = place.emplace(id, exercises.size());
    if (fresh) {
      exercises.emplace_back().id = id;
      lines.push_back(0);
    } else if (lines[at->second] > 0) {
      faults.add(line, id, "is there twice, first in line " + std::to_string(lines[at->second]));
      continue;
    }
    lines[at->second] = line;
    Reader(table, exercises[at->second], faults).read(fresh);
  }
}

}  // namespace

Result<Library> Library::build(std::vector<Exercise> exercises, const std::vector<int>& lines) {
  Library library;
  library.exercises_ = std::move(exercises);
  Faults faults;
  const auto claim = [&](int exercise, const std::string& text) {
    const Exercise& owner = library.exercises_[static_cast<std::size_t>(exercise)];
    const int line = lines[static_cast<std::size_t>(exercise)];
    std::vector<std::string> words = plain_words(text);
    if (words.empty()) return faults.add(line, owner.id, in_quotes(text) + " has no letter or digit");
    const auto [at, fresh] = library.by_letters_.emplace(joined(words), exercise);
    if (!fresh) {
      const int other = at->second;
      if (other == exercise) return;  // the same spelling again
      const int other_line = lines[static_cast<std::size_t>(other)];
      faults.add(line, owner.id,
                 in_quotes(text) + " already belongs to " + library.exercises_[static_cast<std::size_t>(other)].id +
                     (other_line > 0 ? " (line " + std::to_string(other_line) + ")" : ""));
      return;
    }
    const auto [sorted, first] = library.by_words_.emplace(sorted_words(words), exercise);
    if (!first && sorted->second != exercise) sorted->second = -1;
    library.spellings_.push_back({exercise, text, joined(words), std::move(words)});
  };
  for (int i = 0; i < static_cast<int>(library.exercises_.size()); ++i) {
    const Exercise& e = library.exercises_[static_cast<std::size_t>(i)];
    library.by_id_.emplace(e.id, i);
    claim(i, e.name);
    claim(i, e.id);
    for (const std::string& alias : e.aliases) claim(i, alias);
  }
  // The German names after all others, so that none of them takes a coach's own spelling.
  for (int i = 0; i < static_cast<int>(library.exercises_.size()); ++i) {
    const auto german = german_names().find(library.exercises_[static_cast<std::size_t>(i)].name);
    if (german == german_names().end()) continue;
    if (library.by_letters_.count(joined(plain_words(german->second))) == 0) claim(i, german->second);
  }
  if (!faults.none()) return fail(Code::invalid_input, faults.text());
  return library;
}

Result<Library> Library::parse(std::string_view toml) { return Library().with(toml); }

Result<Library> Library::with(std::string_view toml_of_edits) const {
  std::vector<Exercise> exercises = exercises_;
  std::vector<int> lines(exercises.size(), 0);
  Faults faults;
  read_tables(toml_of_edits, exercises, lines, faults);
  if (!faults.none()) return fail(Code::invalid_input, faults.text());
  return build(std::move(exercises), lines);
}

const Exercise* Library::find(std::string_view id) const {
  const auto at = by_id_.find(id);
  return at == by_id_.end() ? nullptr : &exercises_[static_cast<std::size_t>(at->second)];
}

Resolution Library::resolve(std::string_view text) const {
  Resolution answer;
  if ((answer.exercise = find(text))) return answer;
  const std::vector<std::string> words = plain_words(text);
  if (words.empty()) return answer;
  const std::string letters = joined(words);
  auto at = by_letters_.find(letters);
  if (at == by_letters_.end()) {
    at = by_words_.find(sorted_words(words));
    if (at != by_words_.end() && at->second < 0) at = by_words_.end();
    if (at == by_words_.end()) at = by_letters_.end();
  }
  if (at != by_letters_.end()) {
    answer.exercise = &exercises_[static_cast<std::size_t>(at->second)];
    return answer;
  }

  constexpr double kLeastScore = 0.45;
  constexpr std::size_t kMostOffers = 5;
  std::vector<const Spelling*> best(exercises_.size(), nullptr);
  std::vector<double> score(exercises_.size(), 0);
  for (const Spelling& spelling : spellings_) {
    const double by_letter = letter_likeness(letters, spelling.letters);
    const double by_word = word_likeness(words, spelling.words);
    const double likeness = 0.8 * std::max(by_letter, by_word) + 0.2 * std::min(by_letter, by_word);
    const auto i = static_cast<std::size_t>(spelling.exercise);
    if (likeness > score[i]) {
      score[i] = likeness;
      best[i] = &spelling;
    }
  }
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < exercises_.size(); ++i) {
    if (score[i] >= kLeastScore) order.push_back(i);
  }
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return score[a] != score[b] ? score[a] > score[b] : a < b; });
  if (order.size() > kMostOffers) order.resize(kMostOffers);
  for (const std::size_t i : order) answer.nearest.push_back({&exercises_[i], best[i]->text, score[i]});
  return answer;
}

const Library& builtin() {
  static const Library library = [] {
    Result<Library> read = Library::parse(embedded::exercises_toml());
    if (!read) throw std::logic_error("the built-in exercise library: " + read.error().message);
    return std::move(*read);
  }();
  return library;
}

std::string exercise_toml(const Exercise& e) {
  std::string out = "[[exercise]]\n";
  const auto key = [&](std::string_view name, std::string_view value) {
    out += std::string(name) + " = " + std::string(value) + '\n';
  };
  key("id", toml_text(e.id));
  key("name", toml_text(e.name));
  std::string aliases;
  for (const std::string& alias : e.aliases) {
    if (!aliases.empty()) aliases += ", ";
    aliases += toml_text(alias);
  }
  key("aliases", "[" + aliases + "]");
  key("class", toml_text(class_name(e.cls)));
  key("implement", toml_text(implement_name(e.implement)));
  std::string muscles;
  for (int m = 0; m < kMuscleCount; ++m) {
    const double share = e.involvement[static_cast<std::size_t>(m)];
    if (share == 0) continue;
    std::string name(muscle_name(static_cast<Muscle>(m)));
    std::replace(name.begin(), name.end(), ' ', '_');
    if (!muscles.empty()) muscles += ", ";
    muscles.append(name).append(" = ").append(number_text(share));
  }
  key("muscles", "{ " + muscles + " }");
  key("multiplier", number_text(e.multiplier));
  key("offset_kg", number_text(e.offset_kg));
  key("body_mass_share", number_text(e.body_mass_share));
  key("usual_step", toml_text(number_text(e.usual_step.amount) + " " + std::string(unit_name(e.usual_step.unit))));
  key("one_sided", e.one_sided ? "true" : "false");
  key("needs_spotter", e.needs_spotter ? "true" : "false");
  key("bar", toml_text(e.bar.value_or("")));
  key("strength_ratio", number_text(e.strength_ratio));
  key("strength_log_sd", number_text(e.strength_log_sd));
  key("endurance", number_text(e.endurance));
  return out;
}

std::string library_toml(const std::vector<Exercise>& exercises) {
  std::string out;
  for (const Exercise& exercise : exercises) {
    if (!out.empty()) out += '\n';
    out += exercise_toml(exercise);
  }
  return out;
}

}  // namespace ullage::library
