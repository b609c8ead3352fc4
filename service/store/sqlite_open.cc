// Opening a data file: what kind it is, bringing it up to date, settings of the connection.
#include <sqlite3.h>

#include <charconv>
#include <filesystem>
#include <random>
#include <system_error>

#include "service/store/sqlite_store_parts.h"

namespace ullage::store {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kMagic{"SQLite format 3\0", 16};

std::int64_t big_endian(const char* bytes) {
  std::uint32_t value = 0;
  for (int i = 0; i < 4; ++i) value = value << 8 | static_cast<unsigned char>(bytes[i]);
  return value;
}

HistoryState& state_of(sqlite3_context* context) { return *static_cast<HistoryState*>(sqlite3_user_data(context)); }

// history_wanted(insert): whether a trigger is to record its row; the same for all kinds of triggers.
void history_wanted(sqlite3_context* context, int, sqlite3_value**) {
  const HistoryState& state = state_of(context);
  if (state.change == 0) {
    sqlite3_result_error(context, "a row was written outside a change", -1);
  } else {
    sqlite3_result_int(context, state.everything);
  }
}

void current_change(sqlite3_context* context, int, sqlite3_value**) {
  sqlite3_result_int64(context, state_of(context).change);
}

// exact_text(real): shortest text that reads back to the same number; null stays null.
void exact_text(sqlite3_context* context, int, sqlite3_value** values) {
  if (sqlite3_value_type(values[0]) == SQLITE_NULL) return sqlite3_result_null(context);
  char text[32];
  const auto end = std::to_chars(text, text + sizeof text, sqlite3_value_double(values[0])).ptr;
  sqlite3_result_text(context, text, static_cast<int>(end - text), SQLITE_TRANSIENT);
}

void exact_real(sqlite3_context* context, int, sqlite3_value** values) {
  if (sqlite3_value_type(values[0]) == SQLITE_NULL) return sqlite3_result_null(context);
  const auto* text = reinterpret_cast<const char*>(sqlite3_value_text(values[0]));
  const char* end = text + sqlite3_value_bytes(values[0]);
  double value = 0;
  const auto read = std::from_chars(text, end, value);
  if (read.ec != std::errc() || read.ptr != end) return sqlite3_result_error(context, "a number was expected", -1);
  sqlite3_result_double(context, value);
}

bool is_word_byte(unsigned char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c >= 0x80;
}

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

// mentions(text, words): 1 when `words` stand in `text` as whole words, ASCII case ignored.
void mentions(sqlite3_context* context, int, sqlite3_value** values) {
  const auto read = [&](int i) {
    std::string text;
    if (const auto* bytes = reinterpret_cast<const char*>(sqlite3_value_text(values[i]))) {
      for (const char* c = bytes; *c; ++c) text += lower(*c);
    }
    return text;
  };
  const std::string text = read(0);
  const std::string words = read(1);
  bool found = false;
  for (auto at = words.empty() ? std::string::npos : text.find(words); at != std::string::npos && !found;
       at = text.find(words, at + 1)) {
    const auto end = at + words.size();
    found = (at == 0 || !is_word_byte(static_cast<unsigned char>(text[at - 1]))) &&
            (end == text.size() || !is_word_byte(static_cast<unsigned char>(text[end])));
  }
  sqlite3_result_int(context, found);
}

}  // namespace

std::string make_id() {
  static constexpr char kLetters[] = "abcdefghijklmnopqrstuvwxyz0123456789";
  std::random_device source;
  std::uniform_int_distribution<int> letter(0, 35);
  std::string id;
  for (int i = 0; i < 20; ++i) id += kLetters[letter(source)];
  return id;
}

Result<void> register_functions(Connection& connection, HistoryState* state) {
  struct Function {
    const char* name;
    int values;
    void (*body)(sqlite3_context*, int, sqlite3_value**);
    int flags;
  };
  for (const Function& each : {Function{"history_wanted", 1, history_wanted, 0},
                               {"current_change", 0, current_change, 0},
                               {"exact_text", 1, exact_text, SQLITE_DETERMINISTIC},
                               {"exact_real", 1, exact_real, SQLITE_DETERMINISTIC},
                               {"mentions", 2, mentions, SQLITE_DETERMINISTIC}}) {
    if (sqlite3_create_function_v2(connection.handle(), each.name, each.values,
                                   SQLITE_UTF8 | SQLITE_INNOCUOUS | each.flags, state, each.body, nullptr, nullptr,
                                   nullptr) != SQLITE_OK) {
      return tl::unexpected<Error>(sqlite_error(connection.handle()));
    }
  }
  return {};
}

tl::unexpected<Error> refuse_newer(const std::string& path, std::int64_t version, std::int64_t newest) {
  return fail(Code::newer_version, path + " was written by a newer version of this program (file version " +
                                       std::to_string(version) + "; this program knows up to " +
                                       std::to_string(newest) + "). It was left as it is: please update the program.");
}

Result<void> check_header(const std::string& path, std::int64_t newest) {
  std::error_code error;
  const auto status = fs::status(path, error);
  if (!fs::exists(status)) return {};
  if (fs::is_directory(status)) return fail(Code::invalid_input, path + " is a folder; a data file was expected");
  // A leftover rollback journal means that SQLite has to put the first pages right before they count.
  if (fs::exists(path + "-journal", error)) return {};
  constexpr int kHeader = 100;
  ULLAGE_TAKE(auto connection, Connection::open(path, OpenAs::read_only, 0));
  ULLAGE_TAKE(const std::string header, connection->first_bytes(kHeader));
  if (header.empty()) return {};
  if (header.compare(0, kMagic.size(), kMagic.substr(0, header.size())) != 0) {
    return fail(Code::invalid_input, path + " is not a data file of this program");
  }
  if (header.size() < kHeader) return fail(Code::corrupt, path + " is damaged (cut off); restore a backup");
  const std::int64_t version = big_endian(header.data() + 60);
  const std::int64_t application = big_endian(header.data() + 68);
  if (application != kApplicationId && (application != 0 || version != 0)) {
    return fail(Code::invalid_input, path + " is a data file of another program");
  }
  if (application == kApplicationId && version > newest) return refuse_newer(path, version, newest);
  return {};
}

Result<FileKind> check_kind(Connection& connection, std::int64_t newest) {
  FileKind kind;
  ULLAGE_TAKE(const auto application, connection.number("PRAGMA application_id"));
  ULLAGE_TAKE(kind.version, connection.number("PRAGMA user_version"));
  ULLAGE_TAKE(const auto things, connection.number("SELECT count(*) FROM sqlite_master"));
  kind.empty = things == 0;
  if (application != kApplicationId && !(kind.empty && application == 0 && kind.version == 0)) {
    return fail(Code::invalid_input, connection.path() + " is a data file of another program");
  }
  if (kind.version > newest) return refuse_newer(connection.path(), kind.version, newest);
  return kind;
}

Result<void> SqliteStore::migrate(const std::vector<std::string>& steps) {
  ULLAGE_TRY(db_->execute("PRAGMA foreign_keys = OFF; BEGIN IMMEDIATE"));
  const auto work = [&]() -> Result<void> {
    // Another program may have been faster.
    ULLAGE_TAKE(const auto kind, check_kind(*db_, newest_));
    if (kind.version == newest_) return {};
    for (auto version = kind.version; version < newest_; ++version) {
      ULLAGE_TRY(db_->execute(steps[static_cast<std::size_t>(version)]));
    }
    ULLAGE_TRY(db_->execute(trigger_script()));
    ULLAGE_TAKE(const auto faults, db_->rows("PRAGMA foreign_key_check"));
    if (!faults.empty()) return fail(Code::corrupt, db_->path() + ": rows refer to rows that do not exist");
    return db_->execute("PRAGMA application_id = " + std::to_string(kApplicationId) +
                        "; PRAGMA user_version = " + std::to_string(newest_));
  };
  auto outcome = work();
  if (outcome) outcome = db_->execute("COMMIT");
  if (!outcome && db_->in_transaction()) (void)db_->execute("ROLLBACK");
  return outcome;
}

Result<void> SqliteStore::open(const std::string& path, const SqliteOptions& options) {
  const auto& steps = options.migrations.empty() ? migrations() : options.migrations;
  newest_ = static_cast<std::int64_t>(steps.size());
  ULLAGE_TRY(check_header(path, newest_));
  ULLAGE_TAKE(db_, Connection::open(path, OpenAs::make, options.busy_timeout_ms));
  ULLAGE_TRY(register_functions(*db_, &history_));
  ULLAGE_TAKE(const auto kind, check_kind(*db_, newest_));
  // A new file is made before it turns to write-ahead logging, so that its first bytes tell what it is.
  ULLAGE_TRY(db_->execute("PRAGMA synchronous = FULL"));
  if (kind.version < newest_) ULLAGE_TRY(migrate(steps));
  for (int tries = 0;; ++tries) {
    const auto set = db_->rows("PRAGMA journal_mode = WAL");
    if (set) {
      const auto* mode = set->empty() ? nullptr : std::get_if<std::string>(&(*set)[0][0]);
      if (!mode || *mode != "wal") return fail(Code::unavailable, path + ": write-ahead logging is not possible here");
      break;
    }
    if (set.error().code != Code::unavailable || tries * 20 > options.busy_timeout_ms) {
      return tl::unexpected<Error>(set.error());
    }
    sqlite3_sleep(20);
  }
  // Room for a whole large import (64 MiB, taken only when used), so that no page is written twice.
  return db_->execute("PRAGMA foreign_keys = ON; PRAGMA cache_size = -65536");
}

Result<std::unique_ptr<Store>> open_sqlite(const std::string& path, Clock& clock, const std::string& who,
                                           const SqliteOptions& options) {
  auto store = std::make_unique<SqliteStore>(clock, who);
  ULLAGE_TRY(store->open(path, options));
  return store;
}

Result<std::unique_ptr<Store>> open_sqlite(const std::string& path, Clock& clock, const std::string& who) {
  return open_sqlite(path, clock, who, SqliteOptions{});
}

}  // namespace ullage::store
