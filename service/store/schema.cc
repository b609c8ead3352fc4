#include "service/store/schema.h"

#include <algorithm>
#include <cassert>
#include <functional>

namespace ullage::store {
namespace {

constexpr const char* kNeeded = "NOT NULL";
constexpr const char* kLifter = "NOT NULL REFERENCES lifter(id)";

Table truth(std::string name, std::string meaning, std::vector<Column> columns, std::vector<std::string> keys,
            std::string lifter = "", std::vector<std::string> unique = {}) {
  columns.push_back({"change", "INTEGER", kNeeded, "change that wrote the row last"});
  return {std::move(name), TableKind::truth,  std::move(meaning), std::move(columns),
          std::move(keys), std::move(unique), std::move(lifter)};
}

std::vector<Table> make_tables() {
  return {
      truth("lifter", "Lifters as the coach took them on.",
            {{"id", "TEXT", kNeeded, "made once, never changed"},
             {"name", "TEXT", kNeeded, "name in the roster, unique"},
             {"born", "TEXT", "", "day of birth, YYYY-MM-DD; null: not known"},
             {"sex", "TEXT", kNeeded, "unknown, female or male; sets a prior, never printed"},
             {"training_years", "REAL", "", "years of regular lifting when taken on; null: not known"},
             {"since", "TEXT", "", "day taken on, YYYY-MM-DD; null: not known"},
             {"goal", "TEXT", kNeeded, "goal in the coach's words"},
             {"unit", "TEXT", kNeeded, "unit loads are shown in: kg, lb or mark"},
             {"days_per_week", "INTEGER", kNeeded, "training days in a week"},
             {"minutes_per_session", "INTEGER", kNeeded, "minutes for one session"},
             {"place", "TEXT", kNeeded, "id of the usual place; empty: none"},
             {"avoid", "TEXT", kNeeded, "exercises never prescribed: JSON list of exercise ids"},
             {"answers_in_halves", "INTEGER", kNeeded, "1: has called a reserve in halves; 0: not yet"},
             {"note", "TEXT", kNeeded, "the coach's note"}},
            {"id"}, "id", {"name"}),
      truth("body_mass", "Body masses of the lifters, one a day.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"date", "TEXT", kNeeded, "day weighed, YYYY-MM-DD"},
             {"amount", "REAL", kNeeded, "mass as entered, in `unit`"},
             {"unit", "TEXT", kNeeded, "kg or lb"}},
            {"lifter", "date"}, "lifter"),
      truth("import_file", "Log files that were read in.",
            {{"id", "TEXT", kNeeded, "made by the program"},
             {"file_name", "TEXT", kNeeded, "file name as given"},
             {"time", "TEXT", kNeeded, "when, UTC, YYYY-MM-DDThh:mm:ss.sssZ"},
             {"mapping", "TEXT", kNeeded, "name of the column mapping used; empty: the open log format"},
             {"rows_read", "INTEGER", kNeeded, "rows read from the file"},
             {"added", "INTEGER", kNeeded, "sets that were new"},
             {"unchanged", "INTEGER", kNeeded, "sets that were there already"},
             {"changed", "INTEGER", kNeeded, "sets that were there with other values"},
             {"applied", "INTEGER", kNeeded, "of the changed ones, how many were brought up to the file"},
             {"skipped", "INTEGER", kNeeded, "bad rows left out at the user's wish"}},
            {"id"}),
      truth("training_set",
            "Sets as they were done. A set is known by lifter, date, session, exercise, side and ordinal.",
            {{"id", "INTEGER", "PRIMARY KEY", "made by the program, rising: UTC milliseconds * 2^21 + a random part"},
             {"lifter", "TEXT", kLifter, "lifter id"},
             {"date", "TEXT", kNeeded, "the lifter's local day, YYYY-MM-DD"},
             {"session", "TEXT", kNeeded, "label that tells two sessions of a day apart, usually empty"},
             {"exercise", "TEXT", kNeeded, "exercise id of the library"},
             {"side", "TEXT", kNeeded, "both, left or right"},
             {"ordinal", "INTEGER", kNeeded, "1, 2, ... among the sets of this exercise and side in the session"},
             {"position", "INTEGER", kNeeded, "rises in performed order within the session; gaps are possible"},
             {"time", "TEXT", kNeeded, "time of day as logged, hh:mm or hh:mm+hh:mm; empty: not known"},
             {"load_amount", "REAL", kNeeded, "load as entered, in `load_unit`; negative: assistance"},
             {"load_unit", "TEXT", kNeeded, "kg, lb, or mark for a number on a machine's stack"},
             {"reps", "INTEGER", kNeeded, "repetitions completed"},
             {"failed", "INTEGER", kNeeded, "1: one more was tried and not completed; 0: not"},
             {"called", "REAL", "", "called reserve, reps, 0 to 10 in halves; null: not called"},
             {"called_open", "INTEGER", kNeeded, "1: called as this many or more; 0: not"},
             {"called_at_rep", "INTEGER", "", "rep at which the call was made; null: the last"},
             {"rest_s", "REAL", "", "rest before the set, seconds; null: not known"},
             {"last_rep_speed", "REAL", "", "mean concentric speed of the last rep, m/s; null: not measured"},
             {"kind", "TEXT", kNeeded, "work, warmup or test"},
             {"stop", "TEXT", kNeeded, "how the set ended: unknown, planned, cue or failed"},
             {"planned_reps", "INTEGER", "", "reps prescribed; null: none"},
             {"cue", "REAL", "", "reserve prescribed as stop cue, reps; null: none"},
             {"cue_open", "INTEGER", kNeeded, "1: cue of this many or more; 0: not"},
             {"pain", "INTEGER", kNeeded, "1: pain in this set; 0: none told"},
             {"note", "TEXT", kNeeded, "note on the set"},
             {"place", "TEXT", kNeeded, "place id or name as logged; empty: the usual"},
             {"joined", "TEXT", kNeeded, "sets with one mark are alternated; empty: alone"},
             {"part_of", "TEXT", kNeeded, "mark of the drop or rest-pause unit it belongs to; empty: none"},
             {"part", "INTEGER", "", "1, 2, ... within that unit; null: none"},
             {"body_mass_amount", "REAL", "", "body mass logged with the set, in `body_mass_unit`; null: none"},
             {"body_mass_unit", "TEXT", "", "kg or lb; null: no body mass"},
             {"tempo", "TEXT", kNeeded, "tempo as logged"},
             {"partial_reps", "INTEGER", "", "partial reps after the full ones; null: not told"},
             {"extra_kind", "TEXT", kNeeded, "chain, band, or empty"},
             {"extra", "TEXT", "", "unknown columns of the log: JSON list of [column, text]; null: none"},
             {"import", "TEXT", "REFERENCES import_file(id)", "import that wrote the set last; null: logged by hand"}},
            {"id"}, "lifter", {"lifter", "date", "session", "exercise", "side", "ordinal"}),
      truth("mapping", "Column mappings for logs of other make.",
            {{"name", "TEXT", kNeeded, "name of the mapping"}, {"text", "TEXT", kNeeded, "the mapping, TOML"}},
            {"name"}),
      truth(
          "exercise_edit", "The coach's changes and additions to the exercise library.",
          {{"id", "TEXT", kNeeded, "exercise id"}, {"toml", "TEXT", kNeeded, "the whole entry of this exercise, TOML"}},
          {"id"}),
      truth("place", "What can be loaded where.",
            {{"id", "TEXT", kNeeded, "place id"},
             {"name", "TEXT", kNeeded, "name shown"},
             {"unit", "TEXT", kNeeded, "unit of the place: kg, lb or mark"},
             {"bars", "TEXT", kNeeded, "JSON list of {id, mass}: bars with their collars"},
             {"plates", "TEXT", kNeeded, "JSON list of {plate, pairs}: mass of one plate, number of pairs"},
             {"dumbbells", "TEXT", kNeeded, "JSON list of loads: dumbbells, each a pair"},
             {"kettlebells", "TEXT", kNeeded, "JSON list of loads"},
             {"stacks", "TEXT", kNeeded, "JSON list of {exercise, steps}: loads the pin can select, rising"},
             {"not_here", "TEXT", kNeeded, "exercises that cannot be done here: JSON list of exercise ids"},
             {"safety_bars", "INTEGER", kNeeded, "1: spotters or safety bars confirmed; 0: not"}},
            {"id"}),
      truth("reserve_policy", "How close to failure sets should end.",
            {{"scope", "TEXT", kNeeded, "empty: everyone; otherwise a lifter id"},
             {"lifter", "TEXT", "REFERENCES lifter(id)", "the lifter of the scope; null: everyone"},
             {"policy", "TEXT", kNeeded, "the policy, JSON (keys below)"}},
            {"scope"}, "lifter"),
      truth("template", "Programme templates.",
            {{"name", "TEXT", kNeeded, "name of the template"}, {"text", "TEXT", kNeeded, "the template"}}, {"name"}),
      truth("intake", "Answers to the health questions, one row for each time they were asked.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"number", "INTEGER", kNeeded, "0, 1, ... in the order of asking"},
             {"date", "TEXT", kNeeded, "day asked, YYYY-MM-DD"},
             {"recorded_by", "TEXT", kNeeded, "who wrote it down"},
             {"answers", "TEXT", kNeeded, "JSON list of {question, answer, detail} (numbers below)"}},
            {"lifter", "number"}, "lifter"),
      truth("hold", "Holds: nothing is prescribed until they are lifted.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"id", "TEXT", kNeeded, "hold id, unique for the lifter"},
             {"number", "INTEGER", kNeeded, "0, 1, ... order in the record"},
             {"since", "TEXT", kNeeded, "first day, YYYY-MM-DD"},
             {"reason", "TEXT", kNeeded, "reason in words"},
             {"question", "INTEGER", "", "number of the health question it came from; null: none"},
             {"lifted", "TEXT", "", "day lifted, YYYY-MM-DD; null: still held"},
             {"lifted_by", "TEXT", kNeeded, "who lifted it, and on what ground"}},
            {"lifter", "id"}, "lifter"),
      truth("clinician_word", "What a clinician allowed, with limits.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"id", "TEXT", kNeeded, "id, unique for the lifter"},
             {"number", "INTEGER", kNeeded, "0, 1, ... order in the record"},
             {"date", "TEXT", kNeeded, "day given, YYYY-MM-DD"},
             {"clinician", "TEXT", kNeeded, "name of the clinician"},
             {"recorded_by", "TEXT", kNeeded, "who wrote it down"},
             {"least_reserve", "REAL", "", "least true reserve, reps; null: no limit"},
             {"load_cap_share", "REAL", "", "highest load as a share of strength, 0 to 1; null: no limit"},
             {"only_exercises", "TEXT", kNeeded, "JSON list of exercise ids; empty list: any"},
             {"not_exercises", "TEXT", kNeeded, "JSON list of exercise ids"},
             {"until", "TEXT", "", "last valid day, YYYY-MM-DD; null: no end"},
             {"lifts_holds", "TEXT", kNeeded, "JSON list of hold ids it lifts"},
             {"note", "TEXT", kNeeded, "further words"}},
            {"lifter", "id"}, "lifter"),
      truth("guardian_consent", "A guardian's consent for a minor.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"date", "TEXT", kNeeded, "day given, YYYY-MM-DD"},
             {"guardian", "TEXT", kNeeded, "name of the guardian"},
             {"recorded_by", "TEXT", kNeeded, "who wrote it down"}},
            {"lifter"}, "lifter"),
      truth("pain", "Pain that takes an exercise out of the plan until cleared.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"id", "TEXT", kNeeded, "id, unique for the lifter"},
             {"number", "INTEGER", kNeeded, "0, 1, ... order in the record"},
             {"since", "TEXT", kNeeded, "first day, YYYY-MM-DD"},
             {"exercise", "TEXT", kNeeded, "exercise id; empty: all"},
             {"note", "TEXT", kNeeded, "in words"},
             {"cleared", "TEXT", "", "day cleared, YYYY-MM-DD; null: not yet"},
             {"cleared_by", "TEXT", kNeeded, "who cleared it"}},
            {"lifter", "id"}, "lifter"),
      truth("extra_reserve_lifted", "The coach's word that the extra rep in reserve is no longer needed.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"date", "TEXT", kNeeded, "day, YYYY-MM-DD"},
             {"recorded_by", "TEXT", kNeeded, "who wrote it down"}},
            {"lifter"}, "lifter"),
      truth("sheet", "Sessions as they were prescribed, so that logging can plan on from them.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"date", "TEXT", kNeeded, "day of the session, YYYY-MM-DD"},
             {"session", "TEXT", kNeeded, "label that tells two sessions of a day apart, usually empty"},
             {"json", "TEXT", kNeeded, "the session as planned, JSON"}},
            {"lifter", "date", "session"}, "lifter"),
      truth("plan", "Blocks planned for lifters: proposals and what became of them.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"number", "INTEGER", kNeeded, "1, 2, ... for the lifter"},
             {"state", "TEXT", kNeeded, "proposed, accepted, rejected or replaced"},
             {"said", "TEXT", kNeeded, "the coach's word when it was decided"},
             {"start", "TEXT", kNeeded, "first Monday, YYYY-MM-DD"},
             {"json", "TEXT", kNeeded, "the block with its request and reasons, JSON"}},
            {"lifter", "number"}, "lifter"),
      truth("advice", "What a coach said to proposals made from a lifter's data.",
            {{"lifter", "TEXT", kLifter, "lifter id"},
             {"number", "INTEGER", kNeeded, "1, 2, ... for the lifter"},
             {"kind", "TEXT", kNeeded, "lighter week or stall"},
             {"state", "TEXT", kNeeded, "accepted or rejected"},
             {"said", "TEXT", kNeeded, "the coach's word when it was decided"},
             {"date", "TEXT", kNeeded, "day it was decided, YYYY-MM-DD"},
             {"json", "TEXT", kNeeded, "what was proposed, with its reason, JSON"}},
            {"lifter", "number"}, "lifter"),
      truth("setting", "Settings of the program.",
            {{"key", "TEXT", kNeeded, "name of the setting"}, {"value", "TEXT", kNeeded, "its value"}}, {"key"}),

      {"change",
       TableKind::history,
       "Every change: all its rows were written together.",
       {{"id", "INTEGER", "PRIMARY KEY", "1, 2, 3, ... in the order of writing"},
        {"time", "TEXT", kNeeded, "when, UTC, YYYY-MM-DDThh:mm:ss.sssZ"},
        {"who", "TEXT", kNeeded, "who"},
        {"what", "TEXT", kNeeded, "what, in words"},
        {"undoes", "INTEGER", "", "change that this one took back; null: none"},
        {"final", "INTEGER", kNeeded, "1: cannot be taken back (an erasure, or emptied by one); 0: can be"}},
       {"id"},
       {},
       ""},
      {"change_row",
       TableKind::history,
       "The rows of a change, in the order of writing, as they were and as they became.",
       {{"id", "INTEGER", "PRIMARY KEY", "rising in the order of writing"},
        {"change", "INTEGER", "NOT NULL REFERENCES change(id)", "change"},
        {"table_name", "TEXT", kNeeded, "table of the row"},
        {"row_key", "ANY", kNeeded, "key of the row; JSON list where the key has several columns"},
        {"lifter", "TEXT", "", "lifter the row is about; null: none"},
        {"was", "TEXT", "", "the row before, JSON, reals as text that reads back exactly; null: it was added"},
        {"became", "TEXT", "", "the row after, likewise; null: it was removed"}},
       {"id"},
       {},
       "lifter"},
      {"change_range",
       TableKind::history,
       "Sets added by a merge, told by key alone: every set from first_id to last_id.",
       {{"id", "INTEGER", "PRIMARY KEY", "rising in the order of writing"},
        {"change", "INTEGER", "NOT NULL REFERENCES change(id)", "change"},
        {"lifter", "TEXT", kNeeded, "lifter of the sets"},
        {"first_id", "INTEGER", kNeeded, "id of the first set"},
        {"last_id", "INTEGER", kNeeded, "id of the last set"},
        {"after_row", "INTEGER", kNeeded, "id of the last change_row written before; 0: none"}},
       {"id"},
       {},
       "lifter"},
      {"sent_id",
       TableKind::history,
       "Ids that clients gave the sets they sent: an id counts once, and no undo takes it back.",
       {{"lifter", "TEXT", kNeeded, "lifter the set was sent for"},
        {"client_id", "TEXT", kNeeded, "id the client made"},
        {"set_id", "INTEGER", kNeeded, "id the set was stored under; 0: taken back before it came"},
        {"content", "TEXT", kNeeded, "what was sent, JSON in one form; empty: nothing came"},
        {"time", "TEXT", kNeeded, "when, UTC, YYYY-MM-DDThh:mm:ss.sssZ"}},
       {"lifter", "client_id"},
       {},
       "lifter"},

      {"derived_estimate",
       TableKind::derived,
       "Fitted estimates, one a lifter.",
       {{"lifter", "TEXT", "NOT NULL REFERENCES lifter(id) ON DELETE CASCADE", "lifter id"},
        {"model_version", "TEXT", kNeeded, "version of the model that was fitted"},
        {"fitted_at", "TEXT", kNeeded, "when, UTC, YYYY-MM-DDThh:mm:ss.sssZ"},
        {"input_fingerprint", "TEXT", kNeeded, "mark of the truth it was fitted to; another mark: out of date"},
        {"estimate", "BLOB", kNeeded, "the estimate; layout belongs to the model version"}},
       {"lifter"},
       {},
       "lifter"},
  };
}

std::string joined(const std::vector<std::string>& parts, const std::string& between) {
  std::string text;
  for (const auto& part : parts) text += (text.empty() ? "" : between) + part;
  return text;
}

// Applies `write` to every column but `change`.
std::string each_column(const Table& table, const std::string& between,
                        const std::function<std::string(const Column&)>& write) {
  std::vector<std::string> parts;
  for (const auto& column : table.columns) {
    if (table.kind != TableKind::truth || column.name != "change") parts.push_back(write(column));
  }
  return joined(parts, between);
}

std::string create_statement(const Table& table) {
  std::string sql = "CREATE TABLE " + table.name + " (  -- " + table.meaning + "\n";
  const bool row_id = table.keys.size() == 1 && table.columns[0].rest == "PRIMARY KEY";
  std::vector<std::string> constraints;
  if (!row_id) constraints.push_back("PRIMARY KEY (" + joined(table.keys, ", ") + ")");
  if (!table.unique.empty()) constraints.push_back("UNIQUE (" + joined(table.unique, ", ") + ")");
  for (std::size_t i = 0; i < table.columns.size(); ++i) {
    const auto& column = table.columns[i];
    sql += "  " + column.name + " " + column.type + (column.rest.empty() ? "" : " " + column.rest) +
           (i + 1 < table.columns.size() || !constraints.empty() ? "," : "") + "  -- " + column.meaning + "\n";
  }
  for (std::size_t i = 0; i < constraints.size(); ++i) {
    sql += "  " + constraints[i] + (i + 1 < constraints.size() ? ",\n" : "\n");
  }
  return sql + ") STRICT;\n";
}

// JSON of the row's columns; reals as text, since SQLite's own number text is not exact.
std::string image(const Table& table, const std::string& row) {
  return "json_object(" +
         each_column(table, ", ",
                     [&](const Column& column) {
                       const std::string value = row + "." + column.name;
                       return "'" + column.name + "', " + (column.type == "REAL" ? "exact_text(" + value + ")" : value);
                     }) +
         ")";
}

std::string row_key(const Table& table, const std::string& row) {
  std::vector<std::string> values;
  for (const auto& key : table.keys) values.push_back(row + "." + key);
  return values.size() == 1 ? values[0] : "json_array(" + joined(values, ", ") + ")";
}

std::string from_image(const Column& column) {
  const std::string value = "json_extract(?1, '$." + column.name + "')";
  return column.type == "REAL" ? "exact_real(" + value + ")" : value;
}

std::string trigger(const Table& table, const std::string& event, const std::string& row, bool was, bool became) {
  const std::string name = "history_of_" + table.name + "_" + event;
  std::string kind = event;
  std::transform(kind.begin(), kind.end(), kind.begin(), [](char c) { return static_cast<char>(c - 'a' + 'A'); });
  return "DROP TRIGGER IF EXISTS " + name + ";\nCREATE TRIGGER " + name + " AFTER " + kind + " ON " + table.name +
         " WHEN history_wanted(" + (was ? "0" : "1") +
         ") BEGIN\n  INSERT INTO change_row (change, table_name, row_key, lifter, was, became) VALUES "
         "(current_change(), '" +
         table.name + "', " + row_key(table, row) + ", " + (table.lifter.empty() ? "NULL" : row + "." + table.lifter) +
         ", " + (was ? image(table, "OLD") : "NULL") + ", " + (became ? image(table, "NEW") : "NULL") + ");\nEND;\n";
}

}  // namespace

const std::vector<Table>& tables() {
  static const std::vector<Table> all = make_tables();
  return all;
}

const Table& table(std::string_view name) {
  const auto found = std::find_if(tables().begin(), tables().end(), [&](const Table& t) { return t.name == name; });
  assert(found != tables().end());
  return *found;
}

const std::vector<std::string>& migrations() {
  static const std::vector<std::string> all = [] {
    // Tables that came later have a migration of their own.
    std::string first;
    for (const auto& each : tables()) {
      if (each.name != "plan" && each.name != "advice" && each.name != "sent_id") first += create_statement(each);
    }
    first +=
        "CREATE INDEX change_row_by_change ON change_row (change);\n"
        "CREATE INDEX change_row_by_key ON change_row (table_name, row_key, change);\n"
        "CREATE INDEX change_row_by_lifter ON change_row (lifter, table_name, change);\n"
        "CREATE INDEX change_range_by_change ON change_range (change);\n"
        "CREATE INDEX change_range_by_lifter ON change_range (lifter, change);\n";
    return std::vector<std::string>{first, create_statement(table("plan")), create_statement(table("advice")),
                                    create_statement(table("sent_id"))};
  }();
  return all;
}

std::string trigger_script() {
  std::string script;
  for (const auto& each : tables()) {
    if (each.kind != TableKind::truth) continue;
    script += trigger(each, "insert", "NEW", false, true);
    script += trigger(each, "update", "NEW", true, true);
    script += trigger(each, "delete", "OLD", true, false);
  }
  return script;
}

std::string column_list(const Table& table) {
  return each_column(table, ", ", [](const Column& column) { return column.name; });
}

std::string put_statement(const Table& table) {
  std::string sql = "INSERT INTO " + table.name + " (" + column_list(table) + ", change) VALUES (?";
  for (std::size_t i = 1; i < table.columns.size(); ++i) sql += ", ?";
  // The key is the same already; written again, every row that refers to it would be looked for.
  std::vector<std::string> sets, differences;
  for (const auto& column : table.columns) {
    const bool key = std::find(table.keys.begin(), table.keys.end(), column.name) != table.keys.end();
    if (key || column.name == "change") continue;
    sets.push_back(column.name + " = excluded." + column.name);
    differences.push_back(table.name + "." + column.name + " IS NOT excluded." + column.name);
  }
  return sql + ") ON CONFLICT (" + joined(table.keys, ", ") + ") DO UPDATE SET " + joined(sets, ", ") +
         ", change = excluded.change WHERE " + joined(differences, " OR ");
}

std::string remove_statement(const Table& table) {
  std::vector<std::string> parts;
  for (const auto& key : table.keys) parts.push_back(key + " = ?");
  return "DELETE FROM " + table.name + " WHERE " + joined(parts, " AND ");
}

std::string insert_from_image(const Table& table) {
  return "INSERT INTO " + table.name + " (" + column_list(table) + ", change) VALUES (" +
         each_column(table, ", ", from_image) + ", ?2)";
}

std::string update_from_image(const Table& table) {
  std::vector<std::string> parts;
  for (const auto& key : table.keys) parts.push_back(key + " = json_extract(?1, '$." + key + "')");
  return "UPDATE " + table.name + " SET " +
         each_column(table, ", ", [](const Column& c) { return c.name + " = " + from_image(c); }) +
         ", change = ?2 WHERE " + joined(parts, " AND ");
}

std::string remove_by_row_key(const Table& table) {
  if (table.keys.size() == 1) return "DELETE FROM " + table.name + " WHERE " + table.keys[0] + " = ?1";
  std::vector<std::string> parts;
  for (std::size_t i = 0; i < table.keys.size(); ++i) {
    parts.push_back(table.keys[i] + " = json_extract(?1, '$[" + std::to_string(i) + "]')");
  }
  return "DELETE FROM " + table.name + " WHERE " + joined(parts, " AND ");
}

std::string holder_of_unique(const Table& table) {
  const auto& columns = table.unique.empty() ? table.keys : table.unique;
  std::vector<std::string> parts;
  for (const auto& column : columns) parts.push_back(column + " = json_extract(?1, '$." + column + "')");
  return "SELECT change FROM " + table.name + " WHERE " + joined(parts, " AND ");
}

}  // namespace ullage::store
