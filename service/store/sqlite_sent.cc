// Ids of clients, outside of the history.
#include "service/store/sent_ids.h"
#include "service/store/sqlite_store_parts.h"

namespace ullage::store {

Result<SentIds*> sent_ids_of(Store& store) {
  if (auto* ids = dynamic_cast<SentIds*>(&store)) return ids;
  return fail(Code::internal, "this store keeps no ids of clients");
}

Result<std::optional<SentId>> SqliteStore::sent_id(const std::string& lifter, const std::string& client_id) {
  ULLAGE_TAKE(const auto found,
              db_->rows("SELECT set_id, content FROM sent_id WHERE lifter = ? AND client_id = ?", lifter, client_id));
  if (found.empty()) return std::nullopt;
  return SentId{lifter, client_id, whole_of(found[0][0]), text_of(found[0][1])};
}

Result<void> SqliteStore::put_sent_id(const SentId& id) {
  if (history_.change == 0) return fail(Code::internal, "an id of a client was written outside a change");
  ULLAGE_TAKE(const auto there, sent_id(id.lifter, id.client_id));
  if (there) return fail(Code::conflict, "the id \"" + id.client_id + "\" was used before");
  ULLAGE_TRY(db_->run("INSERT INTO sent_id (lifter, client_id, set_id, content, time) VALUES (?, ?, ?, ?, ?)",
                      id.lifter, id.client_id, id.set, id.content, clock_.now()));
  if (id.set != 0) return {};
  return db_->run(
      "DELETE FROM sent_id WHERE lifter = ?1 AND set_id = 0 AND rowid NOT IN (SELECT rowid FROM sent_id WHERE "
      "lifter = ?1 AND set_id = 0 ORDER BY rowid DESC LIMIT ?2)",
      id.lifter, std::int64_t{kMostTakenBackUnseen});
}

}  // namespace ullage::store
