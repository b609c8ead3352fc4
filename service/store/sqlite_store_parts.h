// The inside of the SQLite store; included by its own .cc files only.
#pragma once

#include <memory>
#include <string>
#include <unordered_map>
#include <vector>

#include "service/store/attempt.h"
#include "service/store/schema.h"
#include "service/store/sent_ids.h"
#include "service/store/sqlite.h"
#include "service/store/sqlite_store.h"

namespace ullage::store {

// What the history triggers are to do; read by the SQL functions history_wanted and current_change.
struct HistoryState {
  ChangeId change = 0;     // 0: no change is open and truth tables refuse writes
  bool everything = true;  // off while a lifter is erased
};

Result<void> register_functions(Connection& connection, HistoryState* state);

// Version and kind of a data file, checked before anything is written to it.
struct FileKind {
  bool empty = false;  // no tables yet
  std::int64_t version = 0;
};
// Looks at the raw bytes only. newer_version, invalid_input, corrupt as open_sqlite. Missing is empty.
Result<void> check_header(const std::string& path, std::int64_t newest);
Result<FileKind> check_kind(Connection& connection, std::int64_t newest);
// "x.ullage: was written by a newer version ..."
tl::unexpected<Error> refuse_newer(const std::string& path, std::int64_t version, std::int64_t newest);

class SqliteStore : public Store, public SentIds {
 public:
  SqliteStore(Clock& clock, std::string who) : clock_(clock), who_(std::move(who)) {}
  Result<void> open(const std::string& path, const SqliteOptions& options);

  Result<ChangeId> change(const std::string& what, const std::function<Result<void>(Writer&)>& work) override;
  Result<ChangeId> undo(std::optional<ChangeId> change) override;
  Result<std::vector<Change>> history(int limit) override;
  Result<std::vector<ChangeRow>> change_rows(ChangeId change) override;
  Result<void> snapshot(const std::function<Result<void>()>& reads) override;

  Result<std::vector<Lifter>> lifters() override;
  Result<Lifter> lifter(const std::string& id) override;
  Result<Lifter> find_lifter(const std::string& id_or_name) override;
  Result<std::vector<StoredSet>> sets(const std::string& lifter, const SetFilter& filter) override;
  Result<StoredSet> set(SetId id) override;
  Result<std::int64_t> set_count(const std::string& lifter, const SetFilter& filter) override;
  Result<std::vector<Date>> session_days(const std::string& lifter) override;
  Result<std::vector<ImportRecord>> imports() override;
  Result<std::vector<NamedText>> mappings() override { return texts("mapping"); }
  Result<std::optional<std::string>> mapping(const std::string& name) override { return text("mapping", name); }
  Result<std::vector<NamedText>> exercise_edits() override { return texts("exercise_edit"); }
  Result<std::optional<std::string>> exercise_edit(const std::string& id) override { return text("exercise_edit", id); }
  Result<std::vector<NamedText>> templates() override { return texts("template"); }
  Result<std::optional<std::string>> template_text(const std::string& name) override { return text("template", name); }
  Result<std::vector<NamedText>> settings() override { return texts("setting"); }
  Result<std::optional<std::string>> setting(const std::string& key) override { return text("setting", key); }
  Result<std::vector<Place>> places() override;
  Result<std::optional<Place>> place(const std::string& id) override;
  Result<std::optional<ReservePolicy>> policy(const std::string& scope) override;
  Result<safety::HealthRecord> health(const std::string& lifter) override;
  Result<std::optional<Sheet>> sheet(const std::string& lifter, Date date, const std::string& session) override;
  Result<std::vector<Sheet>> sheets(const std::string& lifter) override;
  Result<std::vector<StoredPlan>> plans(const std::string& lifter) override;
  Result<std::vector<StoredAdvice>> advice(const std::string& lifter) override;
  Result<std::vector<Sheet>> sheets_on(Date date) override;

  Result<std::string> truth_mark(const std::string& lifter) override;
  Result<std::vector<LifterMark>> lifter_marks() override;
  Result<ChangeId> newest_change() override { return db_->number("SELECT max(id) FROM change"); }
  Result<std::int64_t> outside_mark() override { return db_->number("PRAGMA data_version"); }
  Result<void> put_estimate(const DerivedEstimate& estimate) override;
  Result<std::optional<DerivedEstimate>> estimate(const std::string& lifter) override;
  Result<void> drop_derived(const std::string& lifter) override;

  Result<std::optional<SentId>> sent_id(const std::string& lifter, const std::string& client_id) override;
  Result<void> put_sent_id(const SentId& id) override;

  Result<void> backup(const std::string& path) override;
  Result<std::vector<TableCount>> what_is_held(const std::string& lifter) override;
  Result<EraseReport> erase_lifter(const std::string& lifter) override;
  Result<void> compact() override;
  Result<std::vector<Finding>> doctor() override;

  // For the writer.
  Connection& db() { return *db_; }
  HistoryState& history_state() { return history_; }
  Clock& clock() { return clock_; }
  Result<SetId> next_set_id();
  Result<std::vector<StoredSet>> select_sets(const std::string& where_and_order, const std::vector<Value>& values);

 private:
  Result<void> migrate(const std::vector<std::string>& steps);
  // Runs `work` in a transaction of its own, with a new change open.
  Result<ChangeId> write_change(const std::string& what, const std::function<Result<void>()>& work);
  Result<void> take_back(ChangeId change);
  Result<void> check_order(ChangeId change);
  Result<void> take_back_row(ChangeId change, const Row& row);
  // "change 12 (import of march.csv)".
  Result<std::string> describe(ChangeId change);
  Result<void> erase_rows(const std::string& lifter, const std::vector<std::string>& names, EraseReport& report);
  Result<std::vector<NamedText>> texts(const std::string& name);
  Result<std::optional<std::string>> text(const std::string& name, const std::string& key);
  template <class T>
  Result<std::vector<T>> read(const std::string& name, const std::string& rest, const std::vector<Value>& values,
                              Result<T> (*convert)(const Row&));

  Clock& clock_;
  std::string who_;
  HistoryState history_;
  SetId next_set_id_ = 0;  // 0: not yet known in this change
  std::unique_ptr<Connection> db_;
  std::int64_t newest_ = 0;  // version this program writes
};

// The writer of one change.
class SqliteWriter : public Writer {
 public:
  explicit SqliteWriter(SqliteStore& store) : store_(store), db_(store.db()) {}

  Result<void> put_lifter(const Lifter& lifter) override;
  Result<void> put_body_mass(const std::string& lifter, const BodyMass& mass) override;
  Result<void> remove_lifter(const std::string& lifter) override;
  Result<MergeReport> merge_sets(const std::string& lifter, const std::vector<SetRecord>& sets,
                                 const MergeOptions& options) override;
  std::unique_ptr<Merge> start_merge(const MergeOptions& options) override;
  Result<SetId> append_set(const std::string& lifter, const SetRecord& set) override;
  Result<void> update_set(SetId id, const SetRecord& set) override;
  Result<void> remove_set(SetId id) override;
  Result<void> put_import(const ImportRecord& import) override;
  Result<void> put_mapping(const std::string& name, const std::string& text) override {
    return put_text("mapping", name, text);
  }
  Result<void> remove_mapping(const std::string& name) override { return remove("mapping", {name}); }
  Result<void> put_exercise_edit(const std::string& id, const std::string& toml) override {
    return put_text("exercise_edit", id, toml);
  }
  Result<void> remove_exercise_edit(const std::string& id) override { return remove("exercise_edit", {id}); }
  Result<void> put_template(const std::string& name, const std::string& text) override {
    return put_text("template", name, text);
  }
  Result<void> remove_template(const std::string& name) override { return remove("template", {name}); }
  Result<void> put_setting(const std::string& key, const std::string& value) override {
    return put_text("setting", key, value);
  }
  Result<void> remove_setting(const std::string& key) override { return remove("setting", {key}); }
  Result<void> put_place(const Place& place) override;
  Result<void> remove_place(const std::string& id) override { return remove("place", {id}); }
  Result<void> put_policy(const std::string& scope, const ReservePolicy& policy) override;
  Result<void> remove_policy(const std::string& scope) override { return remove("reserve_policy", {scope}); }
  Result<void> put_health(const std::string& lifter, const safety::HealthRecord& record) override;
  Result<void> put_sheet(const Sheet& sheet) override;
  Result<void> put_plan(const StoredPlan& plan) override;
  Result<void> put_advice(const StoredAdvice& advice) override;
  Result<void> remove_sheet(const std::string& lifter, Date date, const std::string& session) override {
    return remove("sheet", {lifter, date_text(date), session});
  }

  // Runs `work` so that all of it or nothing is written.
  Result<void> atomically(const std::function<Result<void>()>& work);
  Result<void> need_lifter(const std::string& id);
  Result<void> write_set(const std::string& sql, const StoredSet& set);
  Result<void> insert_set(const StoredSet& set);
  Result<void> replace_set(const StoredSet& set);
  // Makes the rows of a lifter in a table those given.
  Result<void> put_rows(const Table& table, const std::string& lifter, const std::vector<Row>& rows);
  Result<void> put(const Table& table, const Row& row);
  SqliteStore& store() { return store_; }

 private:
  Result<void> put_text(const std::string& name, const std::string& key, const std::string& text);
  Result<void> remove(const std::string& name, const std::vector<std::string>& key);
  Result<void> close_gap(const StoredSet& gone);
  // Numbers a set that came last in its group by its place in performed order.
  Result<void> number_by_place(StoredSet& set);

  SqliteStore& store_;
  Connection& db_;
};

}  // namespace ullage::store
