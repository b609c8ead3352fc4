// The data store in one SQLite file.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "service/store/store.h"

namespace ullage::store {

// Opens a data file, makes it when there is none, and brings an older one up to date. `who` is written
// beside every change. `clock` must outlive the store.
// newer_version: written by a newer program; invalid_input: a file of another kind; corrupt: damaged;
// unavailable: cannot be opened or is locked. In each case the file is left as it is.
// The file's folder must exist. Beside FILE, the files FILE-wal and FILE-shm belong to it while it is open.
Result<std::unique_ptr<Store>> open_sqlite(const std::string& path, Clock& clock, const std::string& who);

// What a test may want otherwise.
struct SqliteOptions {
  int busy_timeout_ms = 10000;          // how long to wait for another program's change
  std::vector<std::string> migrations;  // SQL that leads from version i to i + 1; empty: the program's own
};
Result<std::unique_ptr<Store>> open_sqlite(const std::string& path, Clock& clock, const std::string& who,
                                           const SqliteOptions& options);

struct RestoreReport {
  std::string kept;  // where the data file as it was before is kept; empty when there was none
};

// Replaces the data file by a backup, whole: nothing is merged. The backup is checked first and only
// read; the data file as it was is kept beside it under a name with the time.
// not_found: no such backup; invalid_input: not a backup of ours; newer_version; corrupt: a damaged
// backup. In each case the data file is left as it is.
Result<RestoreReport> restore_sqlite(const std::string& backup, const std::string& path, Clock& clock);

}  // namespace ullage::store
