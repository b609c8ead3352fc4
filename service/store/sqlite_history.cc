// Changes, their history, and taking them back.
#include <algorithm>
#include <map>

#include "service/store/sqlite_store_parts.h"

namespace ullage::store {
namespace {

bool is_null(const Value& value) { return std::holds_alternative<Null>(value); }

// What became of changes: which stand, and which were taken back by which.
struct Standing {
  std::map<ChangeId, ChangeId> undoes;     // undo -> the change it took back
  std::map<ChangeId, ChangeId> undone_by;  // change -> the undo of it that stands

  bool stands(ChangeId change) const { return !undone_by.count(change); }
  // Whether a later change still makes a difference to the rows as `since` left them. An undo of a change
  // later than `since` and that change itself cancel out.
  bool matters(ChangeId change, ChangeId since) const {
    const auto undo = undoes.find(change);
    return stands(change) && (undo == undoes.end() || undo->second <= since);
  }
};

// An undo is always later than what it takes back, so going back in time settles one after the other.
Result<Standing> standing_since(Connection& db, ChangeId first) {
  ULLAGE_TAKE(const auto undos, db.rows("SELECT id, undoes FROM change WHERE id >= ? AND undoes IS NOT NULL "
                                        "ORDER BY id DESC",
                                        first));
  Standing standing;
  for (const auto& row : undos) {
    standing.undoes[whole_of(row[0])] = whole_of(row[1]);
    if (standing.stands(whole_of(row[0]))) standing.undone_by[whole_of(row[1])] = whole_of(row[0]);
  }
  return standing;
}

}  // namespace

Result<ChangeId> SqliteStore::write_change(const std::string& what, const std::function<Result<void>()>& work) {
  if (history_.change != 0 || db_->in_transaction()) {
    return fail(Code::internal, "a change was begun inside another change or snapshot");
  }
  ULLAGE_TRY(db_->execute("BEGIN IMMEDIATE"));
  // Whatever happens, exceptions included, ends the change.
  struct End {
    SqliteStore& store;
    ~End() {
      store.history_ = {};
      store.next_set_id_ = 0;
      if (store.db_->in_transaction()) (void)store.db_->execute("ROLLBACK");
    }
  } end{*this};

  const auto written_before = db_->rows_written();
  ULLAGE_TRY(db_->run("INSERT INTO change (time, who, what, final) VALUES (?, ?, ?, 0)", clock_.now(), who_, what));
  const ChangeId id = db_->last_row_id();
  history_.change = id;
  ULLAGE_TRY(work());
  ULLAGE_TAKE(const auto kept, db_->number("SELECT EXISTS (SELECT 1 FROM change_row WHERE change = ?1) OR EXISTS "
                                           "(SELECT 1 FROM change_range WHERE change = ?1) OR "
                                           "(SELECT final FROM change WHERE id = ?1)",
                                           id));
  if (!kept) {
    if (db_->rows_written() == written_before + 1) return ChangeId{0};
    ULLAGE_TRY(db_->run("DELETE FROM change WHERE id = ?", id));
  }
  ULLAGE_TRY(db_->execute("COMMIT"));
  return kept ? id : 0;
}

Result<ChangeId> SqliteStore::change(const std::string& what, const std::function<Result<void>(Writer&)>& work) {
  return write_change(what, [&] {
    SqliteWriter writer(*this);
    return work(writer);
  });
}

Result<std::string> SqliteStore::describe(ChangeId change) {
  ULLAGE_TAKE(const auto found, db_->rows("SELECT what FROM change WHERE id = ?", change));
  return "change " + std::to_string(change) + (found.empty() ? "" : " (" + text_of(found[0][0]) + ")");
}

Result<ChangeId> SqliteStore::undo(std::optional<ChangeId> wanted) {
  return write_change("undo", [&]() -> Result<void> {
    const ChangeId own = history_.change;
    ChangeId target = 0;
    if (wanted) {
      target = *wanted;
      ULLAGE_TAKE(const auto found, db_->rows("SELECT final FROM change WHERE id = ? AND id <> ?", target, own));
      if (found.empty()) return fail(Code::not_found, "there is no change " + std::to_string(target));
      if (whole_of(found[0][0])) {
        ULLAGE_TAKE(const auto name, describe(target));
        return fail(Code::not_allowed, name + " cannot be taken back: what it held was erased for good");
      }
    }
    ULLAGE_TAKE(const auto standing, standing_since(*db_, target));
    if (!wanted) {
      ULLAGE_TAKE(
          const auto newest,
          db_->rows("SELECT id, final FROM change WHERE undoes IS NULL AND id <> ? ORDER BY id DESC LIMIT 1", own));
      if (!newest.empty() && whole_of(newest[0][1])) {
        ULLAGE_TAKE(const auto name, describe(whole_of(newest[0][0])));
        return fail(Code::not_allowed, "the last change, " + name +
                                           ", cannot be taken back: what it held was erased for "
                                           "good; one before it is taken back by its number");
      }
      ULLAGE_TAKE(const auto candidates, db_->rows("SELECT id FROM change WHERE undoes IS NULL AND final = 0 AND "
                                                   "id <> ? ORDER BY id DESC",
                                                   own));
      const auto found = std::find_if(candidates.begin(), candidates.end(),
                                      [&](const Row& row) { return standing.stands(whole_of(row[0])); });
      if (found == candidates.end()) return fail(Code::not_found, "there is nothing left to undo");
      target = whole_of((*found)[0]);
    }
    ULLAGE_TAKE(const auto name, describe(target));
    if (const auto by = standing.undone_by.find(target); by != standing.undone_by.end()) {
      return fail(Code::conflict, name + " was already taken back by change " + std::to_string(by->second));
    }

    ULLAGE_TAKE(const auto later,
                db_->rows("SELECT DISTINCT l.change FROM change_row r JOIN change_row l ON l.table_name = r.table_name "
                          "AND l.row_key = r.row_key AND l.change > r.change WHERE r.change = ?1 "
                          "UNION SELECT DISTINCT l.change FROM change_range g JOIN change_row l ON "
                          "l.table_name = 'training_set' AND l.row_key BETWEEN g.first_id AND g.last_id AND "
                          "l.change > g.change WHERE g.change = ?1 ORDER BY 1",
                          target));
    for (const auto& row : later) {
      if (!standing.matters(whole_of(row[0]), target)) continue;
      ULLAGE_TAKE(const auto other, describe(whole_of(row[0])));
      return fail(Code::conflict,
                  name + " cannot be taken back: " + other + " touched the same entries later; take that back first");
    }
    ULLAGE_TRY(db_->run("UPDATE change SET what = ?, undoes = ? WHERE id = ?", "undo of " + name, target, own));
    return take_back(target);
  });
}

// The rows and ranges of the change, latest first, each by its inverse.
Result<void> SqliteStore::take_back(ChangeId target) {
  ULLAGE_TRY(db_->execute("PRAGMA defer_foreign_keys = ON"));
  ULLAGE_TAKE(const auto ranges, db_->rows("SELECT first_id, last_id, after_row FROM change_range WHERE change = ? "
                                           "ORDER BY id DESC",
                                           target));
  auto range = ranges.begin();
  const auto take_back_ranges = [&](std::int64_t down_to_row) -> Result<void> {
    for (; range != ranges.end() && whole_of((*range)[2]) >= down_to_row; ++range) {
      const auto first = whole_of((*range)[0]);
      const auto last = whole_of((*range)[1]);
      ULLAGE_TRY(db_->run("DELETE FROM training_set WHERE id BETWEEN ? AND ?", first, last));
      if (db_->rows_of_last() != last - first + 1) {
        return fail(Code::corrupt, "the sets added by change " + std::to_string(target) + " are not all there");
      }
    }
    return {};
  };
  // Row by row, since an undone import of years may hold a great many.
  std::int64_t below = INT64_MAX;
  while (true) {
    ULLAGE_TAKE(const auto rows, db_->rows("SELECT id, table_name, row_key, was, became FROM change_row WHERE "
                                           "change = ? AND id < ? ORDER BY id DESC LIMIT 1000",
                                           target, below));
    if (rows.empty()) break;
    for (const auto& row : rows) {
      below = whole_of(row[0]);
      ULLAGE_TRY(take_back_ranges(below));
      ULLAGE_TRY(take_back_row(target, row));
    }
  }
  ULLAGE_TRY(take_back_ranges(0));

  ULLAGE_TRY(check_order(target));
  if (!db_->references_broken()) return {};
  ULLAGE_TAKE(const auto orphans, db_->rows("PRAGMA foreign_key_check"));
  std::string by = "something written later";
  if (!orphans.empty()) {
    ULLAGE_TAKE(const auto change,
                db_->number("SELECT change FROM " + text_of(orphans[0][0]) + " WHERE rowid = ?", orphans[0][1]));
    ULLAGE_TAKE(by, describe(change));
  }
  return fail(Code::conflict, "change " + std::to_string(target) + " cannot be taken back: " + by +
                                  " rests on it; take that back first");
}

// The numbers of sets must follow performed order without gaps, or sets would be taken for others at the
// next import. Where sets written later are counted on from those taken back, they would not.
Result<void> SqliteStore::check_order(ChangeId target) {
  ULLAGE_TAKE(const auto sessions,
              db_->rows("SELECT lifter, json_extract(was, '$.date'), json_extract(was, '$.session') FROM change_row "
                        "WHERE change = ?1 AND table_name = 'training_set' AND was IS NOT NULL UNION "
                        "SELECT lifter, json_extract(became, '$.date'), json_extract(became, '$.session') FROM "
                        "change_row WHERE change = ?1 AND table_name = 'training_set' AND became IS NOT NULL",
                        history_.change));
  for (const auto& session : sessions) {
    ULLAGE_TAKE(const auto wrong,
                db_->rows("SELECT change FROM (SELECT change, ordinal, row_number() OVER (PARTITION BY exercise, side "
                          "ORDER BY position, id) AS place FROM training_set WHERE lifter = ? AND date = ? AND "
                          "session = ?) WHERE ordinal <> place ORDER BY change = ?, change DESC LIMIT 1",
                          session[0], session[1], session[2], history_.change));
    if (wrong.empty()) continue;
    ULLAGE_TAKE(const auto other, describe(whole_of(wrong[0][0])));
    return fail(Code::conflict, "change " + std::to_string(target) + " cannot be taken back: sets of " + other +
                                    " are counted on from its sets; take that back first");
  }
  return {};
}

Result<void> SqliteStore::take_back_row(ChangeId target, const Row& row) {
  const Table& of = table(text_of(row[1]));
  const bool was_added = is_null(row[3]);
  const auto run = [&]() -> Result<void> {
    if (was_added) return db_->run(remove_by_row_key(of), row[2]);
    return db_->run(is_null(row[4]) ? insert_from_image(of) : update_from_image(of), row[3], history_.change);
  };
  if (const auto done = run(); !done) {
    if (done.error().code != Code::conflict || was_added) return done;
    ULLAGE_TAKE(const auto holder, db_->number(holder_of_unique(of), row[3]));
    if (holder == 0) return done;
    ULLAGE_TAKE(const auto other, describe(holder));
    return fail(Code::conflict, "change " + std::to_string(target) + " cannot be taken back: " + other +
                                    " put something in the same place later; take that back first");
  }
  if (db_->rows_of_last() == 1) return {};
  return fail(Code::corrupt, "the entry in " + of.name + " is not as change " + std::to_string(target) + " left it");
}

Result<std::vector<Change>> SqliteStore::history(int limit) {
  std::vector<Change> changes;
  ULLAGE_TRY(snapshot([&]() -> Result<void> {
    ULLAGE_TAKE(const auto rows,
                db_->rows("SELECT id, time, who, what, undoes, final, "
                          "(SELECT count(*) FROM change_row WHERE change = c.id) + "
                          "(SELECT coalesce(sum(last_id - first_id + 1), 0) FROM change_range WHERE change = c.id) "
                          "FROM change c ORDER BY id DESC LIMIT ?",
                          limit));
    if (rows.empty()) return {};
    ULLAGE_TAKE(const auto standing, standing_since(*db_, whole_of(rows.back()[0])));
    for (const auto& row : rows) {
      Change change{whole_of(row[0]),     text_of(row[1]), text_of(row[2]), text_of(row[3]), whole_of(row[6]), {}, {},
                    whole_of(row[5]) != 0};
      if (!is_null(row[4])) change.undoes = whole_of(row[4]);
      if (const auto by = standing.undone_by.find(change.id); by != standing.undone_by.end()) {
        change.undone_by = by->second;
      }
      changes.push_back(std::move(change));
    }
    return {};
  }));
  return changes;
}

Result<std::vector<ChangeRow>> SqliteStore::change_rows(ChangeId change) {
  ULLAGE_TAKE(const auto known, db_->number("SELECT count(*) FROM change WHERE id = ?", change));
  if (known == 0) return fail(Code::not_found, "there is no change " + std::to_string(change));
  std::vector<ChangeRow> all;
  ULLAGE_TAKE(const auto rows,
              db_->rows("SELECT table_name, CAST(row_key AS TEXT), was, became FROM change_row WHERE change = ? "
                        "ORDER BY id",
                        change));
  for (const auto& row : rows) all.push_back({text_of(row[0]), text_of(row[1]), text_of(row[2]), text_of(row[3])});
  ULLAGE_TAKE(const auto ranges, db_->rows("SELECT first_id, last_id FROM change_range WHERE change = ?", change));
  for (const auto& range : ranges) {
    for (auto id = whole_of(range[0]); id <= whole_of(range[1]); ++id) {
      all.push_back({"training_set", std::to_string(id), "", ""});
    }
  }
  return all;
}

}  // namespace ullage::store
