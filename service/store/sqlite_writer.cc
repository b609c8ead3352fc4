// Writing everything but sets.
#include <algorithm>
#include <map>
#include <set>

#include "service/store/rows.h"
#include "service/store/sqlite_store_parts.h"

namespace ullage::store {

Result<void> SqliteWriter::atomically(const std::function<Result<void>()>& work) {
  ULLAGE_TRY(db_.run("SAVEPOINT part"));
  const auto outcome = work();
  if (!outcome) (void)db_.run("ROLLBACK TO part");
  const auto released = db_.run("RELEASE part");
  return outcome ? released : outcome;
}

Result<void> SqliteWriter::need_lifter(const std::string& id) {
  ULLAGE_TAKE(const auto known, db_.number("SELECT count(*) FROM lifter WHERE id = ?", id));
  if (known == 0) return fail(Code::not_found, "there is no lifter with the id \"" + id + "\"");
  return {};
}

Result<void> SqliteWriter::put(const Table& to, const Row& row) {
  ULLAGE_TAKE(auto use, db_.statement(put_statement(to)));
  for (std::size_t i = 0; i < row.size(); ++i) use->bind(static_cast<int>(i) + 1, row[i]);
  use->bind(static_cast<int>(row.size()) + 1, store_.history_state().change);
  ULLAGE_TAKE(const bool more, use->step());
  (void)more;
  return {};
}

Result<void> SqliteWriter::put_rows(const Table& to, const std::string& lifter, const std::vector<Row>& rows) {
  // The second key column tells the lifter's rows apart; where there is none, there is at most one row.
  const std::string key = to.keys.size() > 1 ? to.keys[1] : to.keys[0];
  std::size_t at = 0;
  while (to.columns[at].name != key) ++at;
  std::set<Value> kept;
  for (const auto& row : rows) {
    if (!kept.insert(row[at]).second) {
      return fail(Code::invalid_input, "two entries of " + to.name + " have the same " + key);
    }
  }
  ULLAGE_TAKE(const auto there, db_.rows("SELECT " + key + " FROM " + to.name + " WHERE lifter = ?", lifter));
  for (const auto& row : there) {
    if (kept.count(row[0])) continue;
    ULLAGE_TRY(db_.run("DELETE FROM " + to.name + " WHERE lifter = ? AND " + key + " = ?", lifter, row[0]));
  }
  for (const auto& row : rows) ULLAGE_TRY(put(to, row));
  return {};
}

Result<void> SqliteWriter::put_text(const std::string& name, const std::string& key, const std::string& text) {
  return put(table(name), {key, text});
}

Result<void> SqliteWriter::remove(const std::string& name, const std::vector<std::string>& key) {
  ULLAGE_TAKE(auto use, db_.statement(remove_statement(table(name))));
  for (std::size_t i = 0; i < key.size(); ++i) use->bind(static_cast<int>(i) + 1, key[i]);
  ULLAGE_TAKE(const bool more, use->step());
  (void)more;
  if (db_.rows_of_last() == 0) {
    std::string words;
    for (const auto& part : key) words += (words.empty() ? "" : ", ") + part;
    return fail(Code::not_found, "nothing is kept as " + name + " \"" + words + "\"");
  }
  return {};
}

Result<void> SqliteWriter::put_lifter(const Lifter& lifter) {
  // A name of blanks or with control characters could not be seen, typed or put in a table.
  const auto control = [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7f; };
  if (lifter.id.empty() || lifter.name.find_first_not_of(' ') == std::string::npos ||
      std::any_of(lifter.name.begin(), lifter.name.end(), control)) {
    return fail(Code::invalid_input, "a lifter needs an id and a name, without control characters");
  }
  ULLAGE_TAKE(const auto row, lifter_row(lifter));
  ULLAGE_TAKE(const auto taken,
              db_.number("SELECT count(*) FROM lifter WHERE name = ? AND id <> ?", lifter.name, lifter.id));
  if (taken != 0) return fail(Code::conflict, "there is another lifter called \"" + lifter.name + "\"");
  std::map<Date, Row> masses;  // the last one of a day counts
  for (const auto& mass : lifter.body_mass) masses[mass.date] = body_mass_row(lifter.id, mass);
  std::vector<Row> rows;
  for (auto& [date, mass] : masses) rows.push_back(std::move(mass));
  return atomically([&]() -> Result<void> {
    ULLAGE_TRY(put(table("lifter"), row));
    return put_rows(table("body_mass"), lifter.id, rows);
  });
}

Result<void> SqliteWriter::put_body_mass(const std::string& lifter, const BodyMass& mass) {
  ULLAGE_TRY(need_lifter(lifter));
  return put(table("body_mass"), body_mass_row(lifter, mass));
}

Result<void> SqliteWriter::remove_lifter(const std::string& lifter) {
  ULLAGE_TRY(need_lifter(lifter));
  return atomically([&]() -> Result<void> {
    // The table of lifters comes first in the list, so backwards it is the last to go.
    for (auto each = tables().rbegin(); each != tables().rend(); ++each) {
      if (each->lifter.empty() || each->kind == TableKind::history) continue;
      const std::string& column = each->lifter;
      ULLAGE_TRY(db_.run("DELETE FROM " + each->name + " WHERE " + column + " = ?", lifter));
    }
    return {};
  });
}

Result<void> SqliteWriter::put_import(const ImportRecord& import) {
  if (import.id.empty()) return fail(Code::invalid_input, "an import needs an id");
  ImportRecord timed = import;
  if (timed.time.empty()) {
    ULLAGE_TAKE(const auto there, db_.rows("SELECT time FROM import_file WHERE id = ?", import.id));
    timed.time = there.empty() ? store_.clock().now() : std::get<std::string>(there[0][0]);
  }
  return put(table("import_file"), import_row(timed));
}

Result<void> SqliteWriter::put_place(const Place& place) {
  if (place.id.empty()) return fail(Code::invalid_input, "a place needs an id");
  ULLAGE_TAKE(const auto row, place_row(place));
  return put(table("place"), row);
}

Result<void> SqliteWriter::put_policy(const std::string& scope, const ReservePolicy& policy) {
  if (!scope.empty()) ULLAGE_TRY(need_lifter(scope));
  const Row row = policy_row(scope, policy);
  // Numbers that are not finite become null in JSON and could not be read back.
  if (std::get<std::string>(row[2]).find(":null") != std::string::npos) {
    return fail(Code::invalid_input, "a number in the reserve policy is not finite");
  }
  return put(table("reserve_policy"), row);
}

Result<void> SqliteWriter::put_health(const std::string& lifter, const safety::HealthRecord& record) {
  ULLAGE_TRY(need_lifter(lifter));
  ULLAGE_TAKE(const auto all, health_rows(lifter, record));
  return atomically([&]() -> Result<void> {
    for (const auto& each : all) ULLAGE_TRY(put_rows(table(each.table), lifter, each.rows));
    return {};
  });
}

Result<void> SqliteWriter::put_sheet(const Sheet& sheet) {
  ULLAGE_TRY(need_lifter(sheet.lifter));
  return put(table("sheet"), sheet_row(sheet));
}

Result<void> SqliteWriter::put_plan(const StoredPlan& plan) {
  ULLAGE_TRY(need_lifter(plan.lifter));
  return put(table("plan"), plan_row(plan));
}

Result<void> SqliteWriter::put_advice(const StoredAdvice& advice) {
  ULLAGE_TRY(need_lifter(advice.lifter));
  return put(table("advice"), advice_row(advice));
}

}  // namespace ullage::store
