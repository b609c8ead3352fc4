#include "service/coach/block_request.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <set>

#include "service/coach/desk.h"
#include "service/toml/read_toml.h"
#include "service/toml/write_toml.h"

namespace ullage::coach {
namespace {

using planning::WeekKind;

// As the library writes them, underscores or blanks.
std::optional<Muscle> muscle_called(std::string_view text) {
  std::string name(text);
  std::replace(name.begin(), name.end(), '_', ' ');
  return parse_muscle(name);
}

// One table of the text, its keys ticked off as they are read; what is left over is a fault.
class Reader {
 public:
  Reader(const toml::table& table, std::string where, std::vector<std::string>& faults)
      : table_(table), where_(std::move(where)), faults_(faults) {}
  ~Reader() {
    std::vector<std::string> known(known_.begin(), known_.end());
    for (const auto& [key, node] : table_) {
      const std::string name(key.str());
      if (known_.count(name)) continue;
      faults_.push_back(fmt::format("line {}: {}unknown key \"{}\"{}", node.source().begin.line, prefix(), name,
                                    did_you_mean(near_names(name, known, 2))));
    }
  }
  Reader(const Reader&) = delete;
  Reader& operator=(const Reader&) = delete;

  const toml::node* find(const char* key) {
    known_.insert(key);
    return table_.get(key);
  }
  void fault(const toml::node& node, const char* key, const std::string& wanted) {
    faults_.push_back(fmt::format("line {}: {}{} must be {}", node.source().begin.line, prefix(), key, wanted));
  }
  void need(const char* key) {
    if (!table_.contains(key))
      faults_.push_back(fmt::format("line {}: {}\"{}\" is missing", table_.source().begin.line, prefix(), key));
  }
  void text(const char* key, std::string& into) {
    if (const auto* node = find(key)) {
      if (const auto value = node->value_exact<std::string>())
        into = *value;
      else
        fault(*node, key, "text in quotes");
    }
  }
  template <class Number>
  void number(const char* key, Number& into, double low, double high) {
    if (const auto* node = find(key)) {
      const auto value = node->value<double>();
      const bool whole = std::is_integral_v<Number>;
      if (!value || !node->is_number() || *value < low || *value > high || (whole && *value != std::floor(*value)))
        fault(*node, key, fmt::format("{} from {:g} to {:g}", whole ? "a whole number" : "a number", low, high));
      else
        into = static_cast<Number>(*value);
    }
  }
  template <class Number>
  void number(const char* key, std::optional<Number>& into, double low, double high) {
    if (!table_.contains(key)) {
      known_.insert(key);
      return;
    }
    Number value{};
    number(key, value, low, high);
    into = value;
  }
  void yes_no(const char* key, bool& into) {
    if (const auto* node = find(key)) {
      if (const auto value = node->value_exact<bool>())
        into = *value;
      else
        fault(*node, key, "true or false");
    }
  }
  void day(const char* key, std::optional<Date>& into) {
    if (const auto* node = find(key)) {
      std::optional<Date> date;
      if (const auto written = node->value_exact<std::string>()) date = parse_date(*written);
      if (const auto local = node->value_exact<toml::date>()) date = make_date(local->year, local->month, local->day);
      if (date)
        into = date;
      else
        fault(*node, key, "a date such as 2026-03-09");
    }
  }
  void day(const char* key, Date& into) {
    need(key);
    std::optional<Date> date;
    day(key, date);
    if (date) into = *date;
  }
  void week_day(const char* key, int& into) {
    need(key);
    if (const auto* node = find(key)) {
      const auto value = node->value_exact<std::string>();
      const auto parsed = value ? parse_weekday(*value) : std::nullopt;
      if (parsed)
        into = *parsed;
      else
        fault(*node, key, "a day of the week such as \"Mon\"");
    }
  }
  void muscle(const char* key, std::optional<Muscle>& into) {
    if (const auto* node = find(key)) {
      const auto value = node->value_exact<std::string>();
      into = value ? muscle_called(*value) : std::nullopt;
      if (!into) fault(*node, key, "a muscle" + muscles());
    }
  }
  void muscle_list(const char* key, std::vector<Muscle>& into) {
    need(key);
    std::vector<std::string> names;
    list(key, names);
    for (const std::string& name : names) {
      if (const auto m = muscle_called(name))
        into.push_back(*m);
      else if (const auto* node = find(key))
        fault(*node, key, "a list of muscles" + muscles());
    }
  }
  void list(const char* key, std::vector<std::string>& into) {
    if (const auto* node = find(key)) {
      const auto* array = node->as_array();
      bool fine = array != nullptr;
      if (array) {
        for (const auto& each : *array) {
          if (const auto value = each.value_exact<std::string>())
            into.push_back(*value);
          else
            fine = false;
        }
      }
      if (!fine) fault(*node, key, "a list of texts");
    }
  }
  // Calls `read` for every table of a list of tables.
  template <class Read>
  void tables(const char* key, const Read& read) {
    if (const auto* node = find(key)) {
      const auto* array = node->as_array();
      bool fine = array != nullptr;
      if (array) {
        int number = 0;
        for (const auto& each : *array) {
          ++number;
          if (const auto* table = each.as_table()) {
            Reader reader(*table, fmt::format("{}{} {}", where_.empty() ? "" : where_ + ", ", key, number), faults_);
            read(reader);
          } else {
            fine = false;
          }
        }
      }
      if (!fine) fault(*node, key, "a list of tables");
    }
  }
  const toml::table* table(const char* key) {
    if (const auto* node = find(key)) {
      if (const auto* inner = node->as_table()) return inner;
      fault(*node, key, "a table");
    }
    return nullptr;
  }
  std::vector<std::string>& faults() { return faults_; }
  static std::string muscles() {
    std::string out;
    for (int k = 0; k < kMuscleCount; ++k) out += (k ? ", " : ": ") + std::string(muscle_name(static_cast<Muscle>(k)));
    return out;
  }

 private:
  std::string prefix() const { return where_.empty() ? "" : where_ + ": "; }
  const toml::table& table_;
  std::string where_;
  std::vector<std::string>& faults_;
  std::set<std::string, std::less<>> known_;
};

void read_days(Reader& r, std::vector<BlockRequest::Day>& into) {
  r.tables("day", [&](Reader& d) {
    BlockRequest::Day day;
    d.week_day("on", day.weekday);
    d.number("minutes", day.minutes, 10, 300);
    d.text("place", day.place);
    into.push_back(day);
  });
}

void read_limits(Reader& r, BlockRequest::Limits& l) {
  r.number("least_week", l.least_week, 0, 40);
  r.number("most_week", l.most_week, 0, 60);
  r.number("least_session", l.least_session, 0, 20);
  r.number("most_session", l.most_session, 0.5, 30);
  r.number("recovery_hours", l.recovery_hours, 0, 168);
}

std::string muscle_key(Muscle m) {
  std::string out(muscle_name(m));
  std::replace(out.begin(), out.end(), ' ', '_');
  return out;
}
std::string muscle_texts(const std::vector<Muscle>& muscles) {
  std::string out;
  for (Muscle m : muscles) out += (out.empty() ? "" : ", ") + toml_text(muscle_key(m));
  return "[" + out + "]";
}

}  // namespace

std::string_view week_kind_name(WeekKind kind) {
  switch (kind) {
    case WeekKind::usual: return "usual";
    case WeekKind::lighter: return "lighter";
    case WeekKind::test: return "test";
    case WeekKind::travel: return "travel";
    case WeekKind::taper: return "taper";
    case WeekKind::returning: return "returning";
  }
  return "usual";
}
std::optional<WeekKind> parse_week_kind(std::string_view text) {
  for (WeekKind kind :
       {WeekKind::usual, WeekKind::lighter, WeekKind::test, WeekKind::travel, WeekKind::taper, WeekKind::returning}) {
    if (text == week_kind_name(kind)) return kind;
  }
  return std::nullopt;
}
std::optional<int> parse_weekday(std::string_view text) {
  std::string low(text);
  for (char& c : low) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  static const char* const names[] = {"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"};
  for (int i = 0; i < 7; ++i) {
    const std::string name = names[i];
    if (low == name || low == name.substr(0, 3) || low == std::to_string(i + 1)) return i + 1;
  }
  return std::nullopt;
}

Result<BlockRequest> read_request(std::string_view text) {
  const auto table = read_toml(text);
  if (!table) return fail(Code::invalid_input, fmt::format("line {}: {}", table.error().line, table.error().problem));
  BlockRequest q;
  std::vector<std::string> faults;
  {
    Reader r(*table, "", faults);
    r.text("name", q.name);
    r.text("about", q.about);
    r.number("weeks", q.weeks, 1, 12);
    r.day("from", q.from);
    read_days(r, q.days);
    if (const auto* goals = r.table("goals")) {
      for (const auto& [key, node] : *goals) {
        const auto muscle = muscle_called(key.str());
        const auto weight = node.value<double>();
        if (!muscle)
          faults.push_back(fmt::format("line {}: goals: no muscle \"{}\"; there are{}", node.source().begin.line,
                                       key.str(), Reader::muscles()));
        else if (!node.is_number() || !weight || *weight < 0 || *weight > 10)
          faults.push_back(
              fmt::format("line {}: goals: {} must be a number from 0 to 10", node.source().begin.line, key.str()));
        else
          q.goals[*muscle] = *weight;
      }
    }
    r.tables("lift", [&](Reader& l) {
      BlockRequest::Lift lift;
      l.need("exercise");
      l.text("exercise", lift.exercise);
      l.number("weight", lift.weight, 0, 10);
      l.number("least_heavy", lift.least_heavy, 0, 20);
      q.lifts.push_back(lift);
    });
    if (const auto* every = r.table("every_muscle")) {
      Reader e(*every, "every_muscle", faults);
      read_limits(e, q.every);
    }
    r.tables("muscle", [&](Reader& m) {
      std::optional<Muscle> muscle;
      m.need("name");
      m.muscle("name", muscle);
      BlockRequest::Limits limits;
      read_limits(m, limits);
      if (muscle) q.muscles[*muscle] = limits;
    });
    r.tables("must", [&](Reader& m) {
      BlockRequest::Must must;
      m.need("exercise");
      m.text("exercise", must.exercise);
      m.number("days", must.days, 1, 7);
      m.number("from_week", must.from_week, 1, 12);
      m.number("to_week", must.to_week, 1, 99);
      q.must.push_back(must);
    });
    r.tables("ban", [&](Reader& b) {
      BlockRequest::Ban ban;
      b.text("exercise", ban.exercise);
      b.muscle("muscle", ban.muscle);
      b.day("from", ban.from);
      b.day("until", ban.until);
      b.text("why", ban.why);
      if (ban.exercise.empty() && !ban.muscle) b.need("exercise");
      q.ban.push_back(ban);
    });
    r.tables("fixed", [&](Reader& f) {
      BlockRequest::Fixed fixed;
      f.need("exercise");
      f.text("exercise", fixed.exercise);
      f.week_day("on", fixed.weekday);
      f.number("sets", fixed.sets, 1, 10);
      f.number("reserve", fixed.reserve, 0, 10);
      f.number("from_week", fixed.from_week, 1, 12);
      f.number("to_week", fixed.to_week, 1, 99);
      q.fixed.push_back(fixed);
    });
    r.tables("order", [&](Reader& o) {
      BlockRequest::Order order;
      o.need("first");
      o.need("then");
      o.text("first", order.first);
      o.text("then", order.then);
      q.order.push_back(order);
    });
    r.tables("balance", [&](Reader& b) {
      BlockRequest::BalanceRule balance;
      b.need("name");
      b.text("name", balance.name);
      b.muscle_list("of", balance.of);
      b.muscle_list("against", balance.against);
      b.number("ratio", balance.ratio, 0.1, 10);
      q.balance.push_back(balance);
    });
    r.tables("test", [&](Reader& t) {
      BlockRequest::Test test;
      t.need("exercise");
      t.need("week");
      t.text("exercise", test.exercise);
      t.number("week", test.week, 1, 12);
      q.tests.push_back(test);
    });
    r.tables("week", [&](Reader& w) {
      BlockRequest::Week week;
      w.need("number");
      w.number("number", week.number, 1, 12);
      std::string kind(week_kind_name(week.kind));
      w.text("kind", kind);
      if (const auto parsed = parse_week_kind(kind))
        week.kind = *parsed;
      else if (const auto* node = w.find("kind"))
        w.fault(*node, "kind", "usual, lighter, test, travel, taper or returning");
      if (week.kind == WeekKind::usual) week.share = 1;
      w.number("share", week.share, 0.1, 1.5);
      w.number("least_reserve", week.least_reserve, 0, 10);
      w.yes_no("failure", week.failure);
      w.text("why", week.why);
      w.text("note", week.note);
      q.special.push_back(week);
    });
    r.tables("travel", [&](Reader& t) {
      BlockRequest::Travel travel;
      t.day("from", travel.from);
      t.day("until", travel.until);
      t.text("place", travel.place);
      read_days(t, travel.days);
      q.travel.push_back(travel);
    });
    if (const auto* target = r.table("target")) {
      Reader t(*target, "target", faults);
      BlockRequest::Target made;
      t.day("date", made.date);
      t.text("kind", made.kind);
      if (made.kind != "meet" && made.kind != "photo") {
        if (const auto* node = t.find("kind")) t.fault(*node, "kind", "\"meet\" or \"photo\"");
      }
      q.target = made;
    }
    if (const auto* back = r.table("return")) {
      Reader b(*back, "return", faults);
      BlockRequest::Return made;
      b.day("from", made.from);
      b.number("weeks", made.weeks, 1, 12);
      b.number("first_share", made.first_share, 0.1, 1);
      b.text("why", made.why);
      q.coming_back = made;
    }
    r.tables("day_change", [&](Reader& d) {
      BlockRequest::DayChange change;
      d.day("date", change.date);
      d.day("to", change.to);
      d.number("minutes", change.minutes, 5, 300);
      q.day_changes.push_back(change);
    });
    r.list("exercises", q.exercises);
    r.list("readings", q.readings);
    r.number("most_exercises", q.most_exercises, 1, 20);
    r.number("least_sets", q.least_sets, 1, 6);
    r.number("most_sets", q.most_sets, 1, 8);
    r.number("most_rise", q.most_rise, 0, 2);
    r.number("price", q.price, 0, 1);
    r.yes_no("alternate", q.alternate);
    r.yes_no("exercises_stay", q.exercises_stay);
    r.number("lifters_on_rack", q.lifters_on_rack, 1, 6);
  }
  if (q.most_sets < q.least_sets) faults.push_back("most_sets must not be below least_sets");
  std::set<int> days;
  for (const BlockRequest::Day& day : q.days) {
    if (!days.insert(day.weekday).second)
      faults.push_back(
          fmt::format("two entries for {}; one session a day is planned", weekday_name(Date{3 + day.weekday})));
  }
  if (!faults.empty()) {
    std::string all;
    for (const std::string& f : faults) all += (all.empty() ? "" : "\n") + f;
    return fail(Code::invalid_input, all);
  }
  std::sort(q.days.begin(), q.days.end(), [](const auto& a, const auto& b) { return a.weekday < b.weekday; });
  return q;
}

std::string request_toml(const BlockRequest& q) {
  std::string out;
  const auto put = [&](const std::string& key, const std::string& value) { out += key + " = " + value + "\n"; };
  const auto text = [&](const char* key, const std::string& value) {
    if (!value.empty()) put(key, toml_text(value));
  };
  const auto number = [&](const char* key, double value) { put(key, fmt::format("{}", value)); };
  const auto whole = [&](const char* key, int value) { put(key, std::to_string(value)); };
  const auto date = [&](const char* key, const std::optional<Date>& value) {
    if (value) put(key, toml_text(date_text(*value)));
  };
  const auto days = [&](const char* table, const std::vector<BlockRequest::Day>& all) {
    for (const BlockRequest::Day& d : all) {
      out += fmt::format("[[{}]]\n", table);
      text("on", std::string(weekday_name(Date{3 + d.weekday})));
      number("minutes", d.minutes);
      text("place", d.place);
    }
  };
  const auto limits = [&](const BlockRequest::Limits& l) {
    if (l.least_week) number("least_week", *l.least_week);
    if (l.most_week) number("most_week", *l.most_week);
    if (l.least_session) number("least_session", *l.least_session);
    if (l.most_session) number("most_session", *l.most_session);
    if (l.recovery_hours) whole("recovery_hours", *l.recovery_hours);
  };
  text("name", q.name);
  text("about", q.about);
  whole("weeks", q.weeks);
  date("from", q.from);
  const auto names = [&](const char* key, const std::vector<std::string>& all) {
    if (all.empty()) return;
    std::string list;
    for (const std::string& name : all) list += (list.empty() ? "" : ", ") + toml_text(name);
    put(key, "[" + list + "]");
  };
  names("exercises", q.exercises);
  names("readings", q.readings);
  whole("most_exercises", q.most_exercises);
  whole("least_sets", q.least_sets);
  whole("most_sets", q.most_sets);
  number("most_rise", q.most_rise);
  number("price", q.price);
  put("alternate", q.alternate ? "true" : "false");
  put("exercises_stay", q.exercises_stay ? "true" : "false");
  whole("lifters_on_rack", q.lifters_on_rack);
  days("day", q.days);
  if (!q.goals.empty()) {
    out += "[goals]\n";
    for (const auto& [muscle, weight] : q.goals) put(muscle_key(muscle), fmt::format("{}", weight));
  }
  for (const auto& l : q.lifts) {
    out += "[[lift]]\n";
    text("exercise", l.exercise);
    number("weight", l.weight);
    number("least_heavy", l.least_heavy);
  }
  out += "[every_muscle]\n";
  limits(q.every);
  for (const auto& [muscle, l] : q.muscles) {
    out += "[[muscle]]\n";
    text("name", muscle_key(muscle));
    limits(l);
  }
  for (const auto& m : q.must) {
    out += "[[must]]\n";
    text("exercise", m.exercise);
    whole("days", m.days);
    whole("from_week", m.from_week);
    whole("to_week", m.to_week);
  }
  for (const auto& b : q.ban) {
    out += "[[ban]]\n";
    text("exercise", b.exercise);
    if (b.muscle) text("muscle", muscle_key(*b.muscle));
    date("from", b.from);
    date("until", b.until);
    text("why", b.why);
  }
  for (const auto& f : q.fixed) {
    out += "[[fixed]]\n";
    text("exercise", f.exercise);
    text("on", std::string(weekday_name(Date{3 + f.weekday})));
    if (f.sets) whole("sets", *f.sets);
    if (f.reserve) whole("reserve", *f.reserve);
    whole("from_week", f.from_week);
    whole("to_week", f.to_week);
  }
  for (const auto& o : q.order) {
    out += "[[order]]\n";
    text("first", o.first);
    text("then", o.then);
  }
  for (const auto& b : q.balance) {
    out += "[[balance]]\n";
    text("name", b.name);
    put("of", muscle_texts(b.of));
    put("against", muscle_texts(b.against));
    number("ratio", b.ratio);
  }
  for (const auto& t : q.tests) {
    out += "[[test]]\n";
    text("exercise", t.exercise);
    whole("week", t.week);
  }
  for (const auto& w : q.special) {
    out += "[[week]]\n";
    whole("number", w.number);
    text("kind", std::string(week_kind_name(w.kind)));
    number("share", w.share);
    whole("least_reserve", w.least_reserve);
    put("failure", w.failure ? "true" : "false");
    text("why", w.why);
    text("note", w.note);
  }
  for (const auto& t : q.travel) {
    out += "[[travel]]\n";
    date("from", t.from);
    date("until", t.until);
    text("place", t.place);
    days("travel.day", t.days);
  }
  if (q.target) {
    out += "[target]\n";
    date("date", q.target->date);
    text("kind", q.target->kind);
  }
  if (q.coming_back) {
    out += "[return]\n";
    date("from", q.coming_back->from);
    whole("weeks", q.coming_back->weeks);
    number("first_share", q.coming_back->first_share);
    text("why", q.coming_back->why);
  }
  for (const auto& d : q.day_changes) {
    out += "[[day_change]]\n";
    date("date", d.date);
    date("to", d.to);
    if (d.minutes) number("minutes", *d.minutes);
  }
  return out;
}

}  // namespace ullage::coach
