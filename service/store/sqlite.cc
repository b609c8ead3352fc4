#include "service/store/sqlite.h"

#include <sqlite3.h>

#include <algorithm>
#include <cmath>

#include "service/store/attempt.h"

namespace ullage::store {
namespace {

Code code_of(int sqlite_code) {
  switch (sqlite_code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
    case SQLITE_FULL:
    case SQLITE_IOERR:
    case SQLITE_CANTOPEN:
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH: return Code::unavailable;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB: return Code::corrupt;
    case SQLITE_CONSTRAINT: return Code::conflict;
    case SQLITE_TOOBIG: return Code::invalid_input;
    default: return Code::internal;
  }
}

std::string explained(int sqlite_code, const std::string& message) {
  switch (sqlite_code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED: return "the data file is in use by another program; try again (" + message + ")";
    case SQLITE_FULL: return "the disk is full; nothing was changed";
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN: return "the data file cannot be opened for writing (" + message + ")";
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB: return "the data file is damaged; restore a backup (" + message + ")";
    default: return "the data file: " + message;
  }
}

}  // namespace

Error sqlite_error(sqlite3* connection) {
  const int code = sqlite3_extended_errcode(connection);
  return {code_of(code), explained(code, sqlite3_errmsg(connection))};
}

bool is_plain_text(std::string_view text) {
  const auto* byte = reinterpret_cast<const unsigned char*>(text.data());
  const auto* end = byte + text.size();
  while (byte < end) {
    if (*byte < 0x80) {
      if (*byte++ == 0) return false;
      continue;
    }
    const int more = *byte >= 0xf0 ? 3 : *byte >= 0xe0 ? 2 : 1;
    if (*byte < 0xc2 || *byte > 0xf4 || end - byte <= more) return false;
    // Second bytes that would make overlong forms, surrogates or code points beyond U+10FFFF.
    const unsigned char second = byte[1];
    if ((*byte == 0xe0 && second < 0xa0) || (*byte == 0xed && second > 0x9f) || (*byte == 0xf0 && second < 0x90) ||
        (*byte == 0xf4 && second > 0x8f)) {
      return false;
    }
    for (int i = 1; i <= more; ++i) {
      if ((byte[i] & 0xc0) != 0x80) return false;
    }
    byte += more + 1;
  }
  return true;
}

Statement::~Statement() { sqlite3_finalize(statement_); }

void Statement::bind(int at, Null) { sqlite3_bind_null(statement_, at); }
void Statement::bind(int at, std::int64_t value) { sqlite3_bind_int64(statement_, at, value); }

void Statement::bind(int at, double value) {
  if (!std::isfinite(value)) refused_ = "a number that is not finite cannot be stored";
  sqlite3_bind_double(statement_, at, value);
}

void Statement::bind(int at, std::string_view value) {
  if (!is_plain_text(value)) {
    refused_ = "a text is not UTF-8 or holds a zero byte: \"" +
               std::string(value.substr(
                   0, value.find_first_not_of("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 .,-"))) +
               "...\"";
  }
  sqlite3_bind_text64(statement_, at, value.empty() ? "" : value.data(), value.size(), SQLITE_STATIC, SQLITE_UTF8);
}

void Statement::bind(int at, Blob value) {
  sqlite3_bind_blob64(statement_, at, value.bytes.empty() ? "" : value.bytes.data(), value.bytes.size(), SQLITE_STATIC);
}

void Statement::bind(int at, const Value& value) {
  std::visit([&](const auto& held) { bind(at, held); }, value);
}

Result<bool> Statement::step() {
  if (!refused_.empty()) return fail(Code::invalid_input, refused_);
  const int code = sqlite3_step(statement_);
  if (code == SQLITE_ROW) return true;
  if (code == SQLITE_DONE) return false;
  return tl::unexpected<Error>(sqlite_error(connection_));
}

void Statement::reset() {
  sqlite3_reset(statement_);
  sqlite3_clear_bindings(statement_);
  refused_.clear();
}

bool Statement::is_null(int column) const { return sqlite3_column_type(statement_, column) == SQLITE_NULL; }
std::int64_t Statement::integer(int column) const { return sqlite3_column_int64(statement_, column); }
double Statement::real(int column) const { return sqlite3_column_double(statement_, column); }

std::string_view Statement::text(int column) const {
  // Also right for blobs: the bytes as they are.
  const auto* data = static_cast<const char*>(sqlite3_column_blob(statement_, column));
  return data ? std::string_view(data, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column)))
              : std::string_view();
}

int Statement::columns() const { return sqlite3_column_count(statement_); }

Value Statement::value(int column) const {
  switch (sqlite3_column_type(statement_, column)) {
    case SQLITE_NULL: return Null{};
    case SQLITE_INTEGER: return integer(column);
    case SQLITE_FLOAT: return real(column);
    default: return std::string(text(column));
  }
}

Result<std::unique_ptr<Connection>> Connection::open(const std::string& path, OpenAs as, int busy_timeout_ms) {
  std::string name = path;
  int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
  if (as == OpenAs::read_only || as == OpenAs::frozen) {
    flags |= SQLITE_OPEN_READONLY;
  } else {
    flags |= SQLITE_OPEN_READWRITE;
  }
  if (as == OpenAs::make) flags |= SQLITE_OPEN_CREATE;
  if (as == OpenAs::frozen) {
    flags |= SQLITE_OPEN_URI;
    name = "file:";
    for (const char c : path) {
      if (c == '%' || c == '?' || c == '#') {
        name += c == '%' ? "%25" : c == '?' ? "%3f" : "%23";
      } else {
        name += c;
      }
    }
    name += "?immutable=1";
  }
  sqlite3* handle = nullptr;
  const int code = sqlite3_open_v2(name.c_str(), &handle, flags, nullptr);
  if (code != SQLITE_OK) {
    Error error{code_of(code), path + ": " + explained(code, handle ? sqlite3_errmsg(handle) : "out of memory")};
    sqlite3_close(handle);
    return tl::unexpected<Error>(std::move(error));
  }
  sqlite3_busy_timeout(handle, busy_timeout_ms);
  return std::unique_ptr<Connection>(new Connection(handle, path));
}

Connection::~Connection() {
  statements_.clear();
  sqlite3_close(handle_);
}

Result<std::string> Connection::first_bytes(int count) {
  sqlite3_file* file = nullptr;
  if (sqlite3_file_control(handle_, "main", SQLITE_FCNTL_FILE_POINTER, &file) != SQLITE_OK || !file ||
      !file->pMethods) {
    return fail(Code::unavailable, path_ + " cannot be read");
  }
  sqlite3_int64 size = 0;
  if (file->pMethods->xFileSize(file, &size) != SQLITE_OK) return fail(Code::unavailable, path_ + " cannot be read");
  std::string out(static_cast<std::size_t>(std::min<sqlite3_int64>(size, count)), '\0');
  if (!out.empty() && file->pMethods->xRead(file, out.data(), static_cast<int>(out.size()), 0) != SQLITE_OK) {
    return fail(Code::unavailable, path_ + " cannot be read");
  }
  return out;
}

TriggersOff::TriggersOff(Connection& connection) : connection_(connection) {
  sqlite3_db_config(connection_.handle(), SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
}
TriggersOff::~TriggersOff() { sqlite3_db_config(connection_.handle(), SQLITE_DBCONFIG_ENABLE_TRIGGER, 1, nullptr); }

Result<void> Connection::execute(const std::string& script) {
  if (sqlite3_exec(handle_, script.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) {
    return tl::unexpected<Error>(sqlite_error(handle_));
  }
  return {};
}

Result<Use> Connection::statement(const std::string& sql) {
  auto& kept = statements_[sql];
  if (!kept) {
    sqlite3_stmt* statement = nullptr;
    if (sqlite3_prepare_v3(handle_, sql.c_str(), static_cast<int>(sql.size()) + 1, SQLITE_PREPARE_PERSISTENT,
                           &statement, nullptr) != SQLITE_OK) {
      statements_.erase(sql);
      return tl::unexpected<Error>(sqlite_error(handle_));
    }
    kept = std::make_unique<Statement>(handle_, statement);
  }
  return Use(kept.get());
}

Result<void> Connection::finish(Statement& statement) {
  ULLAGE_TAKE(bool more, statement.step());
  while (more) {
    ULLAGE_TAKE(more, statement.step());
  }
  return {};
}

Result<std::vector<Row>> Connection::all_rows(Statement& statement) {
  std::vector<Row> rows;
  while (true) {
    ULLAGE_TAKE(const bool more, statement.step());
    if (!more) return rows;
    Row row;
    row.reserve(static_cast<std::size_t>(statement.columns()));
    for (int i = 0; i < statement.columns(); ++i) row.push_back(statement.value(i));
    rows.push_back(std::move(row));
  }
}

Result<std::int64_t> Connection::first_number(Statement& statement) {
  ULLAGE_TAKE(const bool more, statement.step());
  return more ? statement.integer(0) : 0;
}

std::int64_t Connection::rows_written() const { return sqlite3_total_changes64(handle_); }
std::int64_t Connection::rows_of_last() const { return sqlite3_changes64(handle_); }
bool Connection::references_broken() const {
  int broken = 0;
  int unused = 0;
  sqlite3_db_status(handle_, SQLITE_DBSTATUS_DEFERRED_FKS, &broken, &unused, 0);
  return broken != 0;
}
bool Connection::in_transaction() const { return sqlite3_get_autocommit(handle_) == 0; }
std::int64_t Connection::last_row_id() const { return sqlite3_last_insert_rowid(handle_); }

Result<void> Connection::copy_from(Connection& from) {
  sqlite3_backup* copying = sqlite3_backup_init(handle_, "main", from.handle_, "main");
  if (!copying) return tl::unexpected<Error>(sqlite_error(handle_));
  // All pages in one step, so that the copy is of one moment and readers see the old or the new whole.
  int code = SQLITE_BUSY;
  for (int tries = 0; tries < 100; ++tries) {
    code = sqlite3_backup_step(copying, -1);
    if (code != SQLITE_BUSY && code != SQLITE_LOCKED) break;
    sqlite3_sleep(50);
  }
  const int finished = sqlite3_backup_finish(copying);
  if (code == SQLITE_DONE && finished == SQLITE_OK) return {};
  if (code == SQLITE_DONE) code = finished;
  return fail(code_of(code), explained(code, sqlite3_errstr(code)));
}

Result<std::string> Connection::integrity() {
  ULLAGE_TAKE(const auto found, rows("PRAGMA integrity_check(5)"));
  std::string text;
  for (const auto& row : found) text += (text.empty() ? "" : "; ") + std::get<std::string>(row[0]);
  return text;
}

}  // namespace ullage::store
