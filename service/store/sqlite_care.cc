// Care of the data: backup and restore, what is held about a lifter, erasing, checking.
#include <algorithm>
#include <filesystem>
#include <set>
#include <system_error>

#include "service/store/sqlite_store_parts.h"

namespace ullage::store {
namespace {

namespace fs = std::filesystem;

// Copies into a new file: under another name first, so that a file called `path` is always whole.
Result<void> copy_to_new_file(Connection& from, const std::string& path) {
  const std::string unfinished = path + ".unfinished";
  std::error_code error;
  fs::remove(unfinished, error);
  const auto work = [&]() -> Result<void> {
    ULLAGE_TAKE(auto copy, Connection::open(unfinished, OpenAs::make, 10000));
    ULLAGE_TRY(copy->copy_from(from));
    // One file that needs no companions.
    ULLAGE_TRY(copy->rows("PRAGMA journal_mode = DELETE"));
    ULLAGE_TAKE(const auto state, copy->integrity());
    if (state != "ok") return fail(Code::corrupt, "the copy is damaged: " + state);
    return {};
  };
  auto outcome = work();
  if (outcome) {
    fs::rename(unfinished, path, error);
    if (error) outcome = fail(Code::unavailable, path + " cannot be written: " + error.message());
  }
  if (!outcome) fs::remove(unfinished, error);
  return outcome;
}

// "2026-03-09T17:40:05.123Z" -> "20260309T174005Z", fit for a file name.
std::string name_of_time(const std::string& time) {
  std::string name;
  for (const char c : time) {
    if (c == '.') break;
    if (c != '-' && c != ':') name += c;
  }
  return name + "Z";
}

std::string free_name(const std::string& wanted) {
  std::string name = wanted;
  for (int i = 2; fs::exists(name); ++i) name = wanted + "-" + std::to_string(i);
  return name;
}

}  // namespace

Result<void> SqliteStore::backup(const std::string& path) {
  std::error_code error;
  if (fs::exists(path, error)) {
    return fail(Code::conflict, path + " exists already; choose another name for the backup");
  }
  return copy_to_new_file(*db_, path);
}

Result<RestoreReport> restore_sqlite(const std::string& backup, const std::string& path, Clock& clock) {
  std::error_code error;
  const auto newest = static_cast<std::int64_t>(migrations().size());
  if (!fs::exists(backup, error)) return fail(Code::not_found, "there is no backup " + backup);
  if (fs::exists(path, error) && fs::equivalent(backup, path, error)) {
    return fail(Code::invalid_input, backup + " is the data file itself");
  }
  if (fs::file_size(backup, error) == 0) return fail(Code::invalid_input, backup + " is empty, not a backup");
  ULLAGE_TRY(check_header(backup, newest));
  // A file with no log beside it is whole and is read without leaving anything behind.
  const bool alone = !fs::exists(backup + "-wal", error) && !fs::exists(backup + "-journal", error);
  ULLAGE_TAKE(auto from, Connection::open(backup, alone ? OpenAs::frozen : OpenAs::read_only, 10000));
  ULLAGE_TAKE(const auto kind, check_kind(*from, newest));
  if (kind.empty) return fail(Code::invalid_input, backup + " is empty, not a backup");
  ULLAGE_TAKE(const auto state, from->integrity());
  if (state != "ok") return fail(Code::corrupt, backup + " is damaged: " + state);
  ULLAGE_TAKE(const auto orphans, from->rows("PRAGMA foreign_key_check"));
  if (!orphans.empty()) return fail(Code::corrupt, backup + " is damaged: rows refer to rows that do not exist");

  RestoreReport report;
  if (!fs::exists(path, error) || fs::file_size(path, error) == 0) {
    ULLAGE_TRY(copy_to_new_file(*from, path));
    return report;
  }
  const auto old_kind = check_header(path, INT64_MAX);
  if (!old_kind && old_kind.error().code == Code::invalid_input) {
    return fail(Code::invalid_input, "nothing was restored: " + old_kind.error().message +
                                         "; if it was one, move it away and restore again");
  }
  const std::string kept = free_name(path + ".before-restore-" + name_of_time(clock.now()));
  const auto replace = [&]() -> Result<void> {
    ULLAGE_TRY(old_kind);
    ULLAGE_TAKE(auto to, Connection::open(path, OpenAs::read_write, 10000));
    ULLAGE_TRY(check_kind(*to, INT64_MAX));
    ULLAGE_TRY(copy_to_new_file(*to, kept));
    report.kept = kept;
    // One transaction: programs that have the file open see the old or the new, whole.
    ULLAGE_TRY(to->copy_from(*from));
    ULLAGE_TAKE(const auto now, to->integrity());
    if (now != "ok") return fail(Code::internal, path + " is damaged after restoring; the file before is " + kept);
    return {};
  };
  const auto replaced = replace();
  if (replaced) return report;
  if (replaced.error().code != Code::corrupt) return tl::unexpected<Error>(replaced.error());

  // The data file is damaged: it is moved aside as it is, companions too.
  for (const char* companion : {"", "-wal", "-shm", "-journal"}) {
    if (!fs::exists(path + companion, error)) continue;
    fs::rename(path + companion, kept + companion, error);
    if (error) return fail(Code::unavailable, path + companion + " cannot be moved aside: " + error.message());
  }
  report.kept = kept;
  ULLAGE_TRY(copy_to_new_file(*from, path));
  return report;
}

Result<std::vector<TableCount>> SqliteStore::what_is_held(const std::string& lifter) {
  std::vector<TableCount> counts;
  ULLAGE_TRY(snapshot([&]() -> Result<void> {
    for (const auto& each : tables()) {
      if (each.lifter.empty()) continue;
      ULLAGE_TAKE(const auto rows,
                  db_->number("SELECT count(*) FROM " + each.name + " WHERE " + each.lifter + " = ?", lifter));
      if (rows) counts.push_back({each.name, rows});
    }
    return {};
  }));
  return counts;
}

Result<EraseReport> SqliteStore::erase_lifter(const std::string& lifter) {
  // Names now and earlier; a lifter who was removed still stands in the history.
  ULLAGE_TAKE(
      const auto names_held,
      db_->rows("SELECT name FROM lifter WHERE id = ?1 UNION "
                "SELECT json_extract(was, '$.name') FROM change_row WHERE lifter = ?1 AND table_name = 'lifter' "
                "AND was IS NOT NULL UNION "
                "SELECT json_extract(became, '$.name') FROM change_row WHERE lifter = ?1 AND "
                "table_name = 'lifter' AND became IS NOT NULL",
                lifter));
  if (names_held.empty()) return fail(Code::not_found, "there is no lifter with the id \"" + lifter + "\"");
  std::vector<std::string> names;
  for (const auto& row : names_held) names.push_back(text_of(row[0]));

  EraseReport report;
  ULLAGE_TRY(db_->execute("PRAGMA secure_delete = ON"));
  ULLAGE_TRY(write_change("erased a lifter", [&] {
    history_.everything = false;
    return erase_rows(lifter, names, report);
  }));
  if (const auto compacted = compact(); !compacted) {
    return fail(compacted.error().code,
                "the lifter was erased, but the freed space of the file could not be cleared yet (" +
                    compacted.error().message + "); close other programs that use the file and compact it");
  }
  return report;
}

Result<void> SqliteStore::erase_rows(const std::string& lifter, const std::vector<std::string>& names,
                                     EraseReport& report) {
  std::vector<std::string> words = names;
  words.push_back(lifter);

  ULLAGE_TAKE(const auto imports,
              db_->rows("SELECT import FROM training_set WHERE lifter = ?1 AND import IS NOT NULL UNION "
                        "SELECT json_extract(was, '$.import') FROM change_row WHERE lifter = ?1 AND "
                        "table_name = 'training_set' AND was IS NOT NULL UNION "
                        "SELECT json_extract(became, '$.import') FROM change_row WHERE lifter = ?1 AND "
                        "table_name = 'training_set' AND became IS NOT NULL",
                        lifter));
  ULLAGE_TRY(db_->execute("CREATE TEMP TABLE IF NOT EXISTS touched (change INTEGER PRIMARY KEY); DELETE FROM touched"));
  ULLAGE_TRY(
      db_->run("INSERT INTO touched SELECT change FROM change_row WHERE lifter = ?1 UNION "
               "SELECT change FROM change_range WHERE lifter = ?1",
               lifter));

  // Everything that is the lifter's; the table of lifters itself last.
  for (auto each = tables().rbegin(); each != tables().rend(); ++each) {
    if (each->lifter.empty()) continue;
    ULLAGE_TRY(db_->run("DELETE FROM " + each->name + " WHERE " + each->lifter + " = ?", lifter));
    if (db_->rows_of_last()) report.removed.push_back({each->name, db_->rows_of_last()});
  }

  // Imports that brought nobody else's sets, now or in the history.
  std::int64_t imports_removed = 0;
  for (const auto& row : imports) {
    const std::string id = text_of(row[0]);
    if (id.empty()) continue;
    ULLAGE_TAKE(const auto others, db_->number("SELECT EXISTS (SELECT 1 FROM training_set WHERE import = ?1) OR EXISTS "
                                               "(SELECT 1 FROM change_row WHERE table_name = 'training_set' AND "
                                               "(instr(was, ?1) OR instr(became, ?1)))",
                                               id));
    if (others) continue;
    ULLAGE_TRY(db_->run("DELETE FROM change_row WHERE table_name = 'import_file' AND row_key = ?", id));
    ULLAGE_TRY(db_->run("DELETE FROM import_file WHERE id = ?", id));
    imports_removed += db_->rows_of_last();
  }
  if (imports_removed) report.removed.push_back({"import_file", imports_removed});

  for (const auto& word : words) {
    // Texts of the program's own making that name the lifter.
    ULLAGE_TRY(db_->run("UPDATE import_file SET file_name = 'erased' WHERE mentions(file_name, ?)", word));
    for (const char* image : {"was", "became"}) {
      ULLAGE_TRY(db_->run(std::string("UPDATE change_row SET ") + image + " = json_set(" + image +
                              ", '$.file_name', 'erased') WHERE table_name = 'import_file' AND mentions(json_extract(" +
                              image + ", '$.file_name'), ?)",
                          word));
    }
    ULLAGE_TRY(db_->run("UPDATE change SET what = 'erased' WHERE mentions(what, ?)", word));
    ULLAGE_TRY(db_->run("DELETE FROM setting WHERE value = ?1 OR mentions(key, ?1)", word));
    ULLAGE_TRY(
        db_->run("DELETE FROM change_row WHERE table_name = 'setting' AND (mentions(row_key, ?1) OR "
                 "json_extract(was, '$.value') = ?1 OR json_extract(became, '$.value') = ?1)",
                 word));
  }
  // Changes that were about this lifter alone hold nothing any more; their words may tell what it was.
  ULLAGE_TRY(
      db_->run("UPDATE change SET what = 'erased', final = 1 WHERE id IN (SELECT change FROM touched) AND "
               "NOT EXISTS (SELECT 1 FROM change_row WHERE change = change.id AND table_name <> 'import_file') "
               "AND NOT EXISTS (SELECT 1 FROM change_range WHERE change = change.id)"));
  ULLAGE_TRY(db_->run("DELETE FROM change_row WHERE change IN (SELECT id FROM change WHERE final = 1)"));
  ULLAGE_TRY(db_->run("DELETE FROM touched"));
  ULLAGE_TRY(db_->run("UPDATE change SET what = 'erased a lifter', final = 1 WHERE id = ?", history_.change));

  // Texts of the coach's are left alone, but named.
  const auto tell = [&](const std::string& sql, const std::string& what, const std::string& word) -> Result<void> {
    ULLAGE_TAKE(const auto found, db_->number("SELECT count(*) FROM " + sql, word));
    if (found) report.mentions.push_back(std::to_string(found) + " of: " + what);
    return {};
  };
  for (const auto& word : names) {
    ULLAGE_TRY(tell("mapping WHERE mentions(name || ' ' || text, ?)", "mappings", word));
    ULLAGE_TRY(tell("template WHERE mentions(name || ' ' || text, ?)", "templates", word));
    ULLAGE_TRY(tell("exercise_edit WHERE mentions(id || ' ' || toml, ?)", "exercise library edits", word));
    ULLAGE_TRY(tell("place WHERE mentions(id || ' ' || name, ?)", "places", word));
    ULLAGE_TRY(tell("setting WHERE mentions(value, ?)", "settings", word));
    ULLAGE_TRY(tell("lifter WHERE mentions(note || ' ' || goal, ?)", "other lifters' notes and goals", word));
    ULLAGE_TRY(
        tell("training_set WHERE mentions(note || ' ' || coalesce(extra, ''), ?)", "notes on others' sets", word));
    ULLAGE_TRY(tell("sheet WHERE mentions(json, ?)", "others' session sheets", word));
    ULLAGE_TRY(tell("plan WHERE mentions(json, ?)", "others' blocks", word));
    ULLAGE_TRY(tell("change_row WHERE mentions(coalesce(was, '') || ' ' || coalesce(became, ''), ?)",
                    "entries of the history of such texts", word));
  }
  return {};
}

Result<void> SqliteStore::compact() {
  ULLAGE_TRY(db_->execute("VACUUM"));
  ULLAGE_TAKE(const auto state, db_->rows("PRAGMA wal_checkpoint(TRUNCATE)"));
  if (!state.empty() && whole_of(state[0][0]) != 0) {
    return fail(Code::unavailable, "another program is reading the data file");
  }
  return {};
}

Result<std::vector<Finding>> SqliteStore::doctor() {
  using Grade = Finding::Grade;
  std::vector<Finding> findings;
  const auto say = [&](Grade grade, const char* subject, const std::string& words) {
    findings.push_back({grade, subject, words});
  };
  const auto check = [&](bool fine, Grade otherwise, const char* subject, const std::string& words,
                         const std::string& wrong) {
    say(fine ? Grade::fine : otherwise, subject, fine ? words : wrong);
  };
  const auto work = [&]() -> Result<void> {
    ULLAGE_TAKE(const auto integrity, db_->integrity());
    check(integrity == "ok", Grade::fault, "integrity", "the file is whole",
          "the file is damaged; restore a backup (" + integrity + ")");
    ULLAGE_TAKE(const auto broken, db_->rows("PRAGMA foreign_key_check"));
    check(broken.empty(), Grade::fault, "references", "every entry belongs to something",
          std::to_string(broken.size()) + " entries belong to nothing" +
              (broken.empty() ? "" : ", the first in " + text_of(broken[0][0])));
    ULLAGE_TAKE(const auto mode, db_->rows("PRAGMA journal_mode"));
    check(text_of(mode[0][0]) == "wal", Grade::fault, "journal", "write-ahead logging is on",
          "write-ahead logging is off: " + text_of(mode[0][0]));
    ULLAGE_TAKE(const auto version, db_->number("PRAGMA user_version"));
    check(version == newest_, Grade::fault, "version", "file version " + std::to_string(version),
          "file version " + std::to_string(version) + ", this program writes " + std::to_string(newest_));

    std::string missing;
    for (const auto& each : tables()) {
      for (const auto& column : each.columns) {
        ULLAGE_TAKE(const auto there,
                    db_->number("SELECT count(*) FROM pragma_table_info(?) WHERE name = ?", each.name, column.name));
        if (!there) missing += (missing.empty() ? "" : ", ") + each.name + "." + column.name;
      }
    }
    ULLAGE_TAKE(const auto triggers, db_->number("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'"));
    const auto truths =
        std::count_if(tables().begin(), tables().end(), [](const Table& t) { return t.kind == TableKind::truth; });
    check(missing.empty(), Grade::fault, "tables", "all tables and columns are there", "missing: " + missing);
    check(triggers >= 3 * truths, Grade::fault, "history", "every table keeps its history",
          "some tables do not keep their history");

    std::string unknown;
    for (const auto& each : tables()) {
      if (each.kind != TableKind::truth) continue;
      ULLAGE_TAKE(const auto rows,
                  db_->number("SELECT count(*) FROM " + each.name + " WHERE change NOT IN (SELECT id FROM change)"));
      if (rows) unknown += (unknown.empty() ? "" : ", ") + std::to_string(rows) + " in " + each.name;
    }
    check(unknown.empty(), Grade::fault, "changes", "every entry tells who wrote it",
          "entries of no known change: " + unknown);
    ULLAGE_TAKE(const auto wrong, db_->number("SELECT count(*) FROM (SELECT ordinal, row_number() OVER (PARTITION BY "
                                              "lifter, date, session, exercise, side ORDER BY position, id) AS place "
                                              "FROM training_set) WHERE ordinal <> place"));
    check(wrong == 0, Grade::fault, "sets", "the sets are numbered in performed order",
          std::to_string(wrong) + " sets are not numbered in performed order");
    ULLAGE_TAKE(const auto homeless, db_->number("SELECT count(*) FROM lifter WHERE place <> '' AND place NOT IN "
                                                 "(SELECT id FROM place)"));
    check(homeless == 0, Grade::note, "places", "every lifter's usual place is described",
          std::to_string(homeless) + " lifters have a usual place that is not described");

    ULLAGE_TAKE(const auto estimates, db_->rows("SELECT lifter, input_fingerprint FROM derived_estimate"));
    std::size_t stale = 0;
    for (const auto& row : estimates) {
      ULLAGE_TAKE(const auto mark, truth_mark(text_of(row[0])));
      stale += mark != text_of(row[1]);
    }
    check(stale == 0, Grade::note, "estimates", std::to_string(estimates.size()) + " estimates, all up to date",
          std::to_string(stale) + " of " + std::to_string(estimates.size()) + " estimates are out of date; fit again");
    return {};
  };
  if (const auto done = snapshot(work); !done) {
    if (done.error().code != Code::corrupt) return tl::unexpected<Error>(done.error());
    say(Grade::fault, "integrity", done.error().message);
  }
  return findings;
}

}  // namespace ullage::store
