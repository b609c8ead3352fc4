#include "service/store/rows.h"

#include <cmath>
#include <nlohmann/json.hpp>

#include "service/store/attempt.h"
#include "service/store/schema.h"

namespace ullage::store {
namespace {

using Json = nlohmann::json;

// ---- To rows.

Value opt_date(const std::optional<Date>& date) { return date ? Value(date_text(*date)) : Value(Null{}); }
Value opt_real(const std::optional<double>& value) { return value ? Value(*value) : Value(Null{}); }
Value flag(bool value) { return std::int64_t{value}; }
Value whole(int value) { return std::int64_t{value}; }

const char* sex_name(Sex sex) { return sex == Sex::female ? "female" : sex == Sex::male ? "male" : "unknown"; }

Result<std::string> dumped(const Json& json) {
  try {
    return json.dump();
  } catch (const Json::exception&) {
    return fail(Code::invalid_input, "a text is not UTF-8");
  }
}

Json load_json(const Load& load) {
  return {{"amount", std::isfinite(load.amount) ? Json(load.amount) : Json()}, {"unit", unit_name(load.unit)}};
}

Json loads_json(const std::vector<Load>& loads) {
  Json list = Json::array();
  for (const auto& load : loads) list.push_back(load_json(load));
  return list;
}

Json words(const std::vector<std::string>& list) {
  Json json = Json::array();
  for (const auto& word : list) json.push_back(word);
  return json;
}

// ---- From rows.

// Reads the columns of a row in order; the first one that is wrong is remembered.
class Reading {
 public:
  Reading(std::string table, const Row& row) : table_(std::move(table)), row_(row) {}

  std::string text() {
    const Value& value = next();
    if (const auto* held = std::get_if<std::string>(&value)) return *held;
    if (!std::holds_alternative<Null>(value)) wrong("text expected");
    return {};
  }
  std::int64_t integer() {
    const Value& value = next();
    if (const auto* held = std::get_if<std::int64_t>(&value)) return *held;
    wrong("whole number expected");
    return 0;
  }
  int whole() { return static_cast<int>(integer()); }
  bool flag() { return integer() != 0; }
  double real() { return optional_real().value_or(0); }
  std::optional<double> optional_real() {
    const Value& value = next();
    if (const auto* held = std::get_if<double>(&value)) return *held;
    if (!std::holds_alternative<Null>(value)) wrong("number expected");
    return std::nullopt;
  }
  std::optional<int> optional_whole() {
    if (std::holds_alternative<Null>(row_[at_])) {
      ++at_;
      return std::nullopt;
    }
    return whole();
  }
  Date date() { return parsed(parse_date(text()), "YYYY-MM-DD expected"); }
  std::optional<Date> optional_date() {
    if (std::holds_alternative<Null>(row_[at_])) {
      ++at_;
      return std::nullopt;
    }
    return date();
  }
  Unit unit() { return parsed(parse_unit(text()), "unit expected"); }
  Json json() {
    auto json = Json::parse(text(), nullptr, false);
    if (json.is_discarded()) wrong("JSON expected");
    return json;
  }
  // Reads a JSON column; `read` may throw when the layout is not the expected one.
  template <class Read>
  void json(const Read& read) {
    const Json value = json();
    if (!fault_.empty()) return;
    try {
      read(value);
    } catch (const Json::exception& error) {
      wrong(error.what());
    }
  }
  void words(std::vector<std::string>& list) {
    json([&](const Json& value) { list = value.get<std::vector<std::string>>(); });
  }

  template <class T>
  T parsed(const std::optional<T>& value, const char* expected) {
    if (!value) wrong(expected);
    return value.value_or(T{});
  }
  void wrong(const std::string& expected) {
    if (!fault_.empty()) return;
    fault_ = "table " + table_ + ", column " + table(table_).columns[at_ ? at_ - 1 : 0].name + ": " + expected;
  }

  template <class T>
  Result<T> outcome(T value) const {
    if (!fault_.empty()) return fail(Code::corrupt, "the data file is damaged; " + fault_);
    return value;
  }

 private:
  const Value& next() { return row_[at_++]; }

  std::string table_;
  const Row& row_;
  std::size_t at_ = 0;
  std::string fault_;
};

Load load_from(const Json& json) {
  const auto unit = parse_unit(json.at("unit").get<std::string>());
  if (!unit) throw Json::other_error::create(501, "unknown unit", nullptr);
  return {json.at("amount").get<double>(), *unit};
}

std::vector<Load> loads_from(const Json& json) {
  std::vector<Load> loads;
  for (const auto& each : json) loads.push_back(load_from(each));
  return loads;
}

constexpr ExerciseClass kClasses[] = {ExerciseClass::barbell_compound, ExerciseClass::supported_compound,
                                      ExerciseClass::isolation};

}  // namespace

Result<std::string> words_json(const std::vector<std::string>& list) { return dumped(words(list)); }

Result<Row> lifter_row(const Lifter& lifter) {
  ULLAGE_TAKE(auto avoid, words_json(lifter.avoid));
  return Row{lifter.id,
             lifter.name,
             opt_date(lifter.born),
             std::string(sex_name(lifter.sex)),
             opt_real(lifter.training_years),
             opt_date(lifter.since),
             lifter.goal,
             std::string(unit_name(lifter.unit)),
             whole(lifter.days_per_week),
             whole(lifter.minutes_per_session),
             lifter.place,
             std::move(avoid),
             flag(lifter.answers_in_halves),
             lifter.note};
}

Result<Lifter> lifter_of(const Row& row) {
  Reading read("lifter", row);
  Lifter lifter;
  lifter.id = read.text();
  lifter.name = read.text();
  lifter.born = read.optional_date();
  const std::string sex = read.text();
  lifter.sex = sex == "female" ? Sex::female : sex == "male" ? Sex::male : Sex::unknown;
  lifter.training_years = read.optional_real();
  lifter.since = read.optional_date();
  lifter.goal = read.text();
  lifter.unit = read.unit();
  lifter.days_per_week = read.whole();
  lifter.minutes_per_session = read.whole();
  lifter.place = read.text();
  read.words(lifter.avoid);
  lifter.answers_in_halves = read.flag();
  lifter.note = read.text();
  return read.outcome(std::move(lifter));
}

Row body_mass_row(const std::string& lifter, const BodyMass& mass) {
  return {lifter, date_text(mass.date), mass.mass.amount, std::string(unit_name(mass.mass.unit))};
}

Result<BodyMass> body_mass_of(const Row& row) {
  Reading read("body_mass", row);
  BodyMass mass;
  read.text();
  mass.date = read.date();
  mass.mass.amount = read.real();
  mass.mass.unit = read.unit();
  return read.outcome(mass);
}

Row import_row(const ImportRecord& import) {
  return {import.id,
          import.file_name,
          import.time,
          import.mapping,
          whole(import.rows_read),
          whole(import.added),
          whole(import.unchanged),
          whole(import.changed),
          whole(import.applied),
          whole(import.skipped)};
}

Result<ImportRecord> import_of(const Row& row) {
  Reading read("import_file", row);
  ImportRecord import;
  import.id = read.text();
  import.file_name = read.text();
  import.time = read.text();
  import.mapping = read.text();
  import.rows_read = read.whole();
  import.added = read.whole();
  import.unchanged = read.whole();
  import.changed = read.whole();
  import.applied = read.whole();
  import.skipped = read.whole();
  return read.outcome(std::move(import));
}

Result<Row> place_row(const Place& place) {
  Json bars = Json::array();
  for (const auto& bar : place.bars) bars.push_back({{"id", bar.id}, {"mass", load_json(bar.mass)}});
  Json plates = Json::array();
  for (const auto& each : place.plates) plates.push_back({{"plate", load_json(each.plate)}, {"pairs", each.pairs}});
  Json stacks = Json::array();
  for (const auto& stack : place.stacks) {
    stacks.push_back({{"exercise", stack.exercise}, {"steps", loads_json(stack.steps)}});
  }
  Row row{place.id, place.name, std::string(unit_name(place.unit))};
  for (const Json& json :
       {bars, plates, loads_json(place.dumbbells), loads_json(place.kettlebells), stacks, words(place.without)}) {
    ULLAGE_TAKE(auto text, dumped(json));
    if (text.find("\"amount\":null") != std::string::npos) {
      return fail(Code::invalid_input, "place " + place.id + ": a load is not finite");
    }
    row.emplace_back(std::move(text));
  }
  row.push_back(flag(place.safety_bars));
  return row;
}

Result<Place> place_of(const Row& row) {
  Reading read("place", row);
  Place place;
  place.id = read.text();
  place.name = read.text();
  place.unit = read.unit();
  read.json([&](const Json& json) {
    for (const auto& each : json) place.bars.push_back({each.at("id"), load_from(each.at("mass"))});
  });
  read.json([&](const Json& json) {
    for (const auto& each : json) place.plates.push_back({load_from(each.at("plate")), each.at("pairs")});
  });
  read.json([&](const Json& json) { place.dumbbells = loads_from(json); });
  read.json([&](const Json& json) { place.kettlebells = loads_from(json); });
  read.json([&](const Json& json) {
    for (const auto& each : json) place.stacks.push_back({each.at("exercise"), loads_from(each.at("steps"))});
  });
  read.words(place.without);
  place.safety_bars = read.flag();
  return read.outcome(std::move(place));
}

Row policy_row(const std::string& scope, const ReservePolicy& policy) {
  Json json;
  for (const auto cls : kClasses) {
    const ClassPolicy& each = policy.of(cls);
    json["classes"][std::string(class_name(cls))] = {{"least_reserve", each.least_reserve},
                                                     {"most_reserve", each.most_reserve},
                                                     {"last_set_failure", each.last_set_failure},
                                                     {"failure_every_days", each.failure_every_days},
                                                     {"test_every_days", each.test_every_days},
                                                     {"miss_limit", each.miss_limit},
                                                     {"least_reps", each.least_reps},
                                                     {"most_reps", each.most_reps},
                                                     {"rest_s", each.rest_s},
                                                     {"sets", each.sets}};
  }
  json["light_share"] = policy.light_share;
  json["light_most_reserve"] = policy.light_most_reserve;
  return {scope, scope.empty() ? Value(Null{}) : Value(scope), json.dump()};
}

Result<ReservePolicy> policy_of(const Row& row) {
  Reading read("reserve_policy", row);
  ReservePolicy policy;
  read.text();
  read.text();
  read.json([&](const Json& json) {
    for (const auto cls : kClasses) {
      const Json& from = json.at("classes").at(std::string(class_name(cls)));
      ClassPolicy& to = policy.of(cls);
      from.at("least_reserve").get_to(to.least_reserve);
      from.at("most_reserve").get_to(to.most_reserve);
      from.at("last_set_failure").get_to(to.last_set_failure);
      from.at("failure_every_days").get_to(to.failure_every_days);
      from.at("test_every_days").get_to(to.test_every_days);
      from.at("miss_limit").get_to(to.miss_limit);
      from.at("least_reps").get_to(to.least_reps);
      from.at("most_reps").get_to(to.most_reps);
      from.at("rest_s").get_to(to.rest_s);
      from.at("sets").get_to(to.sets);
    }
    json.at("light_share").get_to(policy.light_share);
    json.at("light_most_reserve").get_to(policy.light_most_reserve);
  });
  return read.outcome(policy);
}

Row sheet_row(const Sheet& sheet) { return {sheet.lifter, date_text(sheet.date), sheet.session, sheet.json}; }

Result<Sheet> sheet_of(const Row& row) {
  Reading read("sheet", row);
  Sheet sheet;
  sheet.lifter = read.text();
  sheet.date = read.date();
  sheet.session = read.text();
  sheet.json = read.text();
  return read.outcome(std::move(sheet));
}

Row plan_row(const StoredPlan& plan) {
  return {plan.lifter, plan.number, plan.state, plan.said, date_text(plan.start), plan.json};
}

Result<StoredPlan> plan_of(const Row& row) {
  Reading read("plan", row);
  StoredPlan plan;
  plan.lifter = read.text();
  plan.number = read.integer();
  plan.state = read.text();
  plan.said = read.text();
  plan.start = read.date();
  plan.json = read.text();
  return read.outcome(std::move(plan));
}

Row advice_row(const StoredAdvice& advice) {
  return {advice.lifter, advice.number, advice.kind, advice.state, advice.said, date_text(advice.date), advice.json};
}

Result<StoredAdvice> advice_of(const Row& row) {
  Reading read("advice", row);
  StoredAdvice advice;
  advice.lifter = read.text();
  advice.number = read.integer();
  advice.kind = read.text();
  advice.state = read.text();
  advice.said = read.text();
  advice.date = read.date();
  advice.json = read.text();
  return read.outcome(std::move(advice));
}

Result<std::vector<HealthRows>> health_rows(const std::string& lifter, const safety::HealthRecord& record) {
  std::vector<HealthRows> all{{"intake", {}},           {"hold", {}}, {"clinician_word", {}},
                              {"guardian_consent", {}}, {"pain", {}}, {"extra_reserve_lifted", {}}};
  for (const auto& intake : record.intakes) {
    Json answers = Json::array();
    for (const auto& each : intake.answers) {
      answers.push_back({{"question", static_cast<int>(each.question)},
                         {"answer", static_cast<int>(each.answer)},
                         {"detail", each.detail}});
    }
    ULLAGE_TAKE(auto text, dumped(answers));
    auto& rows = all[0].rows;
    rows.push_back(
        {lifter, whole(static_cast<int>(rows.size())), date_text(intake.date), intake.recorded_by, std::move(text)});
  }
  for (const auto& hold : record.holds) {
    auto& rows = all[1].rows;
    rows.push_back({lifter, hold.id, whole(static_cast<int>(rows.size())), date_text(hold.since), hold.reason,
                    hold.question ? whole(static_cast<int>(*hold.question)) : Value(Null{}), opt_date(hold.lifted),
                    hold.lifted_by});
  }
  for (const auto& word : record.words) {
    ULLAGE_TAKE(auto only, words_json(word.only_exercises));
    ULLAGE_TAKE(auto excluded, words_json(word.not_exercises));
    ULLAGE_TAKE(auto lifts, words_json(word.lifts_holds));
    auto& rows = all[2].rows;
    rows.push_back({lifter, word.id, whole(static_cast<int>(rows.size())), date_text(word.date), word.clinician,
                    word.recorded_by, opt_real(word.least_reserve), opt_real(word.load_cap_share), std::move(only),
                    std::move(excluded), opt_date(word.until), std::move(lifts), word.note});
  }
  if (record.consent) {
    all[3].rows.push_back(
        {lifter, date_text(record.consent->date), record.consent->guardian, record.consent->recorded_by});
  }
  for (const auto& pain : record.pains) {
    auto& rows = all[4].rows;
    rows.push_back({lifter, pain.id, whole(static_cast<int>(rows.size())), date_text(pain.since), pain.exercise,
                    pain.note, opt_date(pain.cleared), pain.cleared_by});
  }
  if (record.extra_reserve_lifted) {
    all[5].rows.push_back(
        {lifter, date_text(record.extra_reserve_lifted->date), record.extra_reserve_lifted->recorded_by});
  }
  return all;
}

Result<void> add_health(const std::string& name, const Row& row, safety::HealthRecord& record) {
  Reading read(name, row);
  read.text();  // lifter
  if (name == "intake") {
    safety::Intake intake;
    read.whole();
    intake.date = read.date();
    intake.recorded_by = read.text();
    read.json([&](const Json& json) {
      for (const auto& each : json) {
        intake.answers.push_back({static_cast<safety::Question>(each.at("question").get<int>()),
                                  static_cast<safety::Answer>(each.at("answer").get<int>()), each.at("detail")});
      }
    });
    record.intakes.push_back(std::move(intake));
  } else if (name == "hold") {
    safety::Hold hold;
    hold.id = read.text();
    read.whole();
    hold.since = read.date();
    hold.reason = read.text();
    if (const auto number = read.optional_whole()) hold.question = static_cast<safety::Question>(*number);
    hold.lifted = read.optional_date();
    hold.lifted_by = read.text();
    record.holds.push_back(std::move(hold));
  } else if (name == "clinician_word") {
    safety::ClinicianWord word;
    word.id = read.text();
    read.whole();
    word.date = read.date();
    word.clinician = read.text();
    word.recorded_by = read.text();
    word.least_reserve = read.optional_real();
    word.load_cap_share = read.optional_real();
    read.words(word.only_exercises);
    read.words(word.not_exercises);
    word.until = read.optional_date();
    read.words(word.lifts_holds);
    word.note = read.text();
    record.words.push_back(std::move(word));
  } else if (name == "guardian_consent") {
    safety::GuardianConsent consent;
    consent.date = read.date();
    consent.guardian = read.text();
    consent.recorded_by = read.text();
    record.consent = std::move(consent);
  } else if (name == "pain") {
    safety::Pain pain;
    pain.id = read.text();
    read.whole();
    pain.since = read.date();
    pain.exercise = read.text();
    pain.note = read.text();
    pain.cleared = read.optional_date();
    pain.cleared_by = read.text();
    record.pains.push_back(std::move(pain));
  } else {
    safety::ExtraReserveLifted lifted;
    lifted.date = read.date();
    lifted.recorded_by = read.text();
    record.extra_reserve_lifted = std::move(lifted);
  }
  const auto outcome = read.outcome(true);
  if (!outcome) return tl::unexpected<Error>(outcome.error());
  return {};
}

Result<void> bind_set(Statement& to, const StoredSet& stored, std::int64_t change, SetTexts& texts) {
  const SetRecord& set = stored.set;
  texts.date = date_text(set.date);
  if (!set.extra.empty()) {
    Json list = Json::array();
    for (const auto& [column, text] : set.extra) list.push_back(Json::array({column, text}));
    ULLAGE_TAKE(texts.extra, dumped(list));
  }
  int at = 0;
  const auto next = [&](const auto& value) { to.bind(++at, value); };
  const auto next_optional_call = [&](const std::optional<Call>& call) {
    next(call ? std::optional(call->reserve) : std::nullopt);
    next(call && call->open);
  };
  next(stored.id);
  next(stored.lifter);
  next(texts.date);
  next(set.session);
  next(set.exercise);
  next(side_name(set.side));
  next(stored.ordinal);
  next(stored.position);
  next(set.time);
  next(set.load.amount);
  next(unit_name(set.load.unit));
  next(set.reps);
  next(set.failed);
  next_optional_call(set.called);
  next(set.called_at_rep);
  next(set.rest_s);
  next(set.last_rep_speed);
  next(kind_name(set.kind));
  next(stop_name(set.stop));
  next(set.planned_reps);
  next_optional_call(set.cue);
  next(set.pain);
  next(set.note);
  next(set.place);
  next(set.joined);
  next(set.part_of);
  next(set.part);
  next(set.body_mass ? std::optional(set.body_mass->amount) : std::nullopt);
  next(set.body_mass ? std::optional(unit_name(set.body_mass->unit)) : std::nullopt);
  next(set.tempo);
  next(set.partial_reps);
  next(extra_kind_name(set.extra_kind));
  next(set.extra.empty() ? std::nullopt : std::optional(std::string_view(texts.extra)));
  next(stored.import.empty() ? std::nullopt : std::optional(std::string_view(stored.import)));
  next(change);
  return {};
}

Result<StoredSet> set_of(const Statement& from) {
  StoredSet stored;
  SetRecord& set = stored.set;
  const char* wrong = nullptr;
  int at = 0;
  const auto text = [&] { return std::string(from.text(at++)); };
  const auto whole = [&] { return static_cast<int>(from.integer(at++)); };
  const auto flag = [&] { return from.integer(at++) != 0; };
  const auto optional_whole = [&] {
    const auto value = from.is_null(at) ? std::nullopt : std::optional(static_cast<int>(from.integer(at)));
    ++at;
    return value;
  };
  const auto optional_real = [&] {
    const auto value = from.is_null(at) ? std::nullopt : std::optional(from.real(at));
    ++at;
    return value;
  };
  const auto optional_call = [&]() -> std::optional<Call> {
    const auto reserve = optional_real();
    const bool open = flag();
    return reserve ? std::optional(Call{*reserve, open}) : std::nullopt;
  };
  const auto parsed = [&](const auto& value, const char* column) {
    if (!value && !wrong) wrong = column;
    return value.value_or(typename std::decay_t<decltype(value)>::value_type{});
  };

  stored.id = from.integer(at++);
  stored.lifter = text();
  set.date = parsed(parse_date(from.text(at++)), "date");
  set.session = text();
  set.exercise = text();
  set.side = parsed(parse_side(from.text(at++)), "side");
  stored.ordinal = whole();
  stored.position = whole();
  set.time = text();
  set.load.amount = from.real(at++);
  set.load.unit = parsed(parse_unit(from.text(at++)), "load_unit");
  set.reps = whole();
  set.failed = flag();
  set.called = optional_call();
  set.called_at_rep = optional_whole();
  set.rest_s = optional_real();
  set.last_rep_speed = optional_real();
  set.kind = parsed(parse_kind(from.text(at++)), "kind");
  set.stop = parsed(parse_stop(from.text(at++)), "stop");
  set.planned_reps = optional_whole();
  set.cue = optional_call();
  set.pain = flag();
  set.note = text();
  set.place = text();
  set.joined = text();
  set.part_of = text();
  set.part = optional_whole();
  const auto mass = optional_real();
  if (mass) {
    set.body_mass = Load{*mass, parsed(parse_unit(from.text(at)), "body_mass_unit")};
  }
  ++at;
  set.tempo = text();
  set.partial_reps = optional_whole();
  set.extra_kind = parsed(parse_extra_kind(from.text(at++)), "extra_kind");
  if (!from.is_null(at)) {
    const Json list = Json::parse(from.text(at), nullptr, false);
    try {
      for (const auto& pair : list) {
        set.extra.emplace_back(pair.at(0).get<std::string>(), pair.at(1).get<std::string>());
      }
    } catch (const Json::exception&) {
      wrong = "extra";
    }
  }
  ++at;
  stored.import = text();
  if (wrong) {
    return fail(Code::corrupt, "the data file is damaged; table training_set, row " + std::to_string(stored.id) +
                                   ", column " + wrong + ": a value that is not known");
  }
  return stored;
}

}  // namespace ullage::store
