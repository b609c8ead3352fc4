// Reading from the SQLite store, and its derived entries.
#include <algorithm>

#include "service/store/rows.h"
#include "service/store/sqlite_store_parts.h"

namespace ullage::store {
namespace {

// Reads a whole vector of bound values, which Connection::rows takes one by one.
Result<std::vector<Row>> rows_of(Connection& db, const std::string& sql, const std::vector<Value>& values) {
  ULLAGE_TAKE(auto use, db.statement(sql));
  for (std::size_t i = 0; i < values.size(); ++i) use->bind(static_cast<int>(i) + 1, values[i]);
  std::vector<Row> rows;
  while (true) {
    ULLAGE_TAKE(const bool more, use->step());
    if (!more) return rows;
    Row row;
    for (int i = 0; i < use->columns(); ++i) row.push_back(use->value(i));
    rows.push_back(std::move(row));
  }
}

std::string select(const std::string& name, const std::string& rest) {
  return "SELECT " + column_list(table(name)) + " FROM " + name + " " + rest;
}

}  // namespace

template <class T>
Result<std::vector<T>> SqliteStore::read(const std::string& name, const std::string& rest,
                                         const std::vector<Value>& values, Result<T> (*convert)(const Row&)) {
  ULLAGE_TAKE(const auto rows, rows_of(*db_, select(name, rest), values));
  std::vector<T> all;
  for (const auto& row : rows) {
    ULLAGE_TAKE(auto each, convert(row));
    all.push_back(std::move(each));
  }
  return all;
}

Result<void> SqliteStore::snapshot(const std::function<Result<void>()>& reads) {
  if (db_->in_transaction()) return reads();
  ULLAGE_TRY(db_->execute("BEGIN"));
  struct End {
    Connection& db;
    ~End() { (void)db.execute("ROLLBACK"); }
  } end{*db_};
  ULLAGE_TRY(db_->number("SELECT count(*) FROM change"));
  return reads();
}

Result<std::vector<Lifter>> SqliteStore::lifters() {
  ULLAGE_TAKE(auto all, read("lifter", "ORDER BY name COLLATE NOCASE, name", {}, lifter_of));
  for (auto& each : all) {
    ULLAGE_TAKE(each.body_mass, read("body_mass", "WHERE lifter = ? ORDER BY date", {each.id}, body_mass_of));
  }
  return all;
}

Result<Lifter> SqliteStore::lifter(const std::string& id) {
  ULLAGE_TAKE(auto found, read("lifter", "WHERE id = ?", {id}, lifter_of));
  if (found.empty()) return fail(Code::not_found, "there is no lifter with the id \"" + id + "\"");
  ULLAGE_TAKE(found[0].body_mass, read("body_mass", "WHERE lifter = ? ORDER BY date", {id}, body_mass_of));
  return std::move(found[0]);
}

Result<Lifter> SqliteStore::find_lifter(const std::string& id_or_name) {
  ULLAGE_TAKE(const auto found, db_->rows("SELECT id FROM lifter WHERE id = ?1 OR name = ?1 COLLATE NOCASE "
                                          "ORDER BY id = ?1 DESC, name = ?1 DESC, name LIMIT 1",
                                          id_or_name));
  if (found.empty()) return fail(Code::not_found, "there is no lifter called \"" + id_or_name + "\"");
  return lifter(std::get<std::string>(found[0][0]));
}

Result<std::vector<StoredSet>> SqliteStore::select_sets(const std::string& where_and_order,
                                                        const std::vector<Value>& values) {
  static const std::string columns = "SELECT " + column_list(table("training_set")) + " FROM training_set ";
  ULLAGE_TAKE(auto use, db_->statement(columns + where_and_order));
  for (std::size_t i = 0; i < values.size(); ++i) use->bind(static_cast<int>(i) + 1, values[i]);
  std::vector<StoredSet> sets;
  while (true) {
    ULLAGE_TAKE(const bool more, use->step());
    if (!more) return sets;
    ULLAGE_TAKE(auto set, set_of(*use));
    sets.push_back(std::move(set));
  }
}

namespace {

struct Where {
  std::string text = "WHERE lifter = ?";
  std::vector<Value> values;
};

Where where_of(const std::string& lifter, const SetFilter& filter) {
  Where where;
  where.values.emplace_back(lifter);
  const auto add = [&](const char* condition, std::string value) {
    where.text += condition;
    where.values.emplace_back(std::move(value));
  };
  if (filter.from) add(" AND date >= ?", date_text(*filter.from));
  if (filter.to) add(" AND date <= ?", date_text(*filter.to));
  if (!filter.exercise.empty()) add(" AND exercise = ?", filter.exercise);
  return where;
}

}  // namespace

Result<std::vector<StoredSet>> SqliteStore::sets(const std::string& lifter, const SetFilter& filter) {
  Where where = where_of(lifter, filter);
  where.text += filter.newest_first ? " ORDER BY date DESC, session DESC, position DESC, id DESC"
                                    : " ORDER BY date, session, position, id";
  if (filter.most || filter.skip > 0) {
    where.text += " LIMIT ? OFFSET ?";
    where.values.emplace_back(filter.most ? static_cast<std::int64_t>(*filter.most) : std::int64_t{-1});
    where.values.emplace_back(static_cast<std::int64_t>(filter.skip));
  }
  return select_sets(where.text, where.values);
}

Result<StoredSet> SqliteStore::set(SetId id) {
  ULLAGE_TAKE(auto found, select_sets("WHERE id = ?", {id}));
  if (found.empty()) return fail(Code::not_found, "there is no set with the id " + std::to_string(id));
  return std::move(found[0]);
}

Result<std::int64_t> SqliteStore::set_count(const std::string& lifter, const SetFilter& filter) {
  const Where where = where_of(lifter, filter);
  ULLAGE_TAKE(auto use, db_->statement("SELECT count(*) FROM training_set " + where.text));
  for (std::size_t i = 0; i < where.values.size(); ++i) use->bind(static_cast<int>(i) + 1, where.values[i]);
  ULLAGE_TAKE(const bool more, use->step());
  return more ? use->integer(0) : 0;
}

Result<std::vector<Date>> SqliteStore::session_days(const std::string& lifter) {
  ULLAGE_TAKE(auto use, db_->statement("SELECT date FROM training_set WHERE lifter = ? GROUP BY date, session "
                                       "ORDER BY date, session"));
  use->bind(1, lifter);
  std::vector<Date> days;
  while (true) {
    ULLAGE_TAKE(const bool more, use->step());
    if (!more) return days;
    const auto day = parse_date(use->text(0));
    if (!day) return fail(Code::corrupt, "the data file holds a set without a day");
    days.push_back(*day);
  }
}

Result<std::vector<ImportRecord>> SqliteStore::imports() {
  return read("import_file", "ORDER BY time, rowid", {}, import_of);
}

Result<std::vector<NamedText>> SqliteStore::texts(const std::string& name) {
  const auto pair = [](const Row& row) -> Result<NamedText> {
    return NamedText{std::get<std::string>(row[0]), std::get<std::string>(row[1])};
  };
  return read<NamedText>(name, "ORDER BY 1", {}, +pair);
}

Result<std::optional<std::string>> SqliteStore::text(const std::string& name, const std::string& key) {
  const Table& from = table(name);
  ULLAGE_TAKE(const auto found, db_->rows(select(name, "WHERE " + from.keys[0] + " = ?"), key));
  if (found.empty()) return std::nullopt;
  return std::get<std::string>(found[0][1]);
}

Result<std::vector<Place>> SqliteStore::places() { return read("place", "ORDER BY id", {}, place_of); }

Result<std::optional<Place>> SqliteStore::place(const std::string& id) {
  ULLAGE_TAKE(auto found, read("place", "WHERE id = ?", {id}, place_of));
  if (found.empty()) return std::nullopt;
  return std::move(found[0]);
}

Result<std::optional<ReservePolicy>> SqliteStore::policy(const std::string& scope) {
  ULLAGE_TAKE(auto found, read("reserve_policy", "WHERE scope = ?", {scope}, policy_of));
  if (found.empty()) return std::nullopt;
  return found[0];
}

Result<safety::HealthRecord> SqliteStore::health(const std::string& lifter) {
  safety::HealthRecord record;
  for (const char* name : {"intake", "hold", "clinician_word", "pain", "guardian_consent", "extra_reserve_lifted"}) {
    const bool numbered = table(name).columns[1].name == "number" || table(name).columns[2].name == "number";
    ULLAGE_TAKE(
        const auto rows,
        db_->rows(select(name, std::string("WHERE lifter = ?") + (numbered ? " ORDER BY number" : "")), lifter));
    for (const auto& row : rows) ULLAGE_TRY(add_health(name, row, record));
  }
  return record;
}

Result<std::optional<Sheet>> SqliteStore::sheet(const std::string& lifter, Date date, const std::string& session) {
  ULLAGE_TAKE(auto found, read("sheet", "WHERE lifter = ? AND date = ? AND session = ?",
                               {lifter, date_text(date), session}, sheet_of));
  if (found.empty()) return std::nullopt;
  return std::move(found[0]);
}

Result<std::vector<Sheet>> SqliteStore::sheets(const std::string& lifter) {
  return read("sheet", "WHERE lifter = ? ORDER BY date, session", {lifter}, sheet_of);
}

Result<std::vector<StoredPlan>> SqliteStore::plans(const std::string& lifter) {
  return read("plan", "WHERE lifter = ? ORDER BY number DESC", {lifter}, plan_of);
}

Result<std::vector<StoredAdvice>> SqliteStore::advice(const std::string& lifter) {
  return read("advice", "WHERE lifter = ? ORDER BY number DESC", {lifter}, advice_of);
}

Result<std::vector<Sheet>> SqliteStore::sheets_on(Date date) {
  return read("sheet", "WHERE date = ? ORDER BY lifter, session", {date_text(date)}, sheet_of);
}

Result<std::vector<LifterMark>> SqliteStore::lifter_marks() {
  ULLAGE_TAKE(
      const auto rows,
      db_->rows("SELECT l.id, coalesce((SELECT max(change) FROM change_row WHERE lifter = l.id), 0) || ' ' || "
                "coalesce((SELECT max(change) FROM change_range WHERE lifter = l.id), 0) || ' ' || "
                "coalesce(e.fitted_at || ' ' || e.input_fingerprint || ' ' || e.model_version, '') FROM lifter l "
                "LEFT JOIN derived_estimate e ON e.lifter = l.id ORDER BY l.id"));
  std::vector<LifterMark> marks;
  marks.reserve(rows.size());
  for (const auto& row : rows) marks.push_back({text_of(row[0]), text_of(row[1])});
  return marks;
}

Result<std::string> SqliteStore::truth_mark(const std::string& lifter) {
  ULLAGE_TAKE(const auto rows, db_->number("SELECT max(change) FROM change_row WHERE lifter = ? AND table_name IN "
                                           "('lifter', 'body_mass', 'training_set')",
                                           lifter));
  ULLAGE_TAKE(const auto ranges, db_->number("SELECT max(change) FROM change_range WHERE lifter = ?", lifter));
  ULLAGE_TAKE(const auto library, db_->number("SELECT max(change) FROM change_row WHERE lifter IS NULL AND "
                                              "table_name = 'exercise_edit'"));
  return "change " + std::to_string(std::max({rows, ranges, library}));
}

Result<void> SqliteStore::put_estimate(const DerivedEstimate& estimate) {
  const std::string at = estimate.fitted_at.empty() ? clock_.now() : estimate.fitted_at;
  ULLAGE_TAKE(const auto known, db_->number("SELECT count(*) FROM lifter WHERE id = ?", estimate.lifter));
  if (known == 0) return fail(Code::not_found, "there is no lifter with the id \"" + estimate.lifter + "\"");
  return db_->run(
      "INSERT INTO derived_estimate (lifter, model_version, fitted_at, input_fingerprint, estimate) "
      "VALUES (?, ?, ?, ?, ?) ON CONFLICT (lifter) DO UPDATE SET model_version = excluded.model_version, "
      "fitted_at = excluded.fitted_at, input_fingerprint = excluded.input_fingerprint, estimate = excluded.estimate",
      estimate.lifter, estimate.model_version, at, estimate.input_fingerprint, Blob{estimate.blob});
}

Result<std::optional<DerivedEstimate>> SqliteStore::estimate(const std::string& lifter) {
  ULLAGE_TAKE(const auto found, db_->rows("SELECT model_version, fitted_at, input_fingerprint, estimate FROM "
                                          "derived_estimate WHERE lifter = ?",
                                          lifter));
  if (found.empty()) return std::nullopt;
  const auto text = [&](std::size_t i) { return std::get<std::string>(found[0][i]); };
  return DerivedEstimate{lifter, text(0), text(1), text(2), text(3)};
}

Result<void> SqliteStore::drop_derived(const std::string& lifter) {
  return lifter.empty() ? db_->run("DELETE FROM derived_estimate")
                        : db_->run("DELETE FROM derived_estimate WHERE lifter = ?", lifter);
}

}  // namespace ullage::store
