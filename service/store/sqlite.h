// SQLite with owners and errors as values: a connection, its prepared statements, its rows.
//
//   ULLAGE_TAKE(auto connection, Connection::open("a.db", kOpenOrMake, 10000));
//   ULLAGE_TRY(connection->run("DELETE FROM sheet WHERE lifter = ?", lifter));
//   ULLAGE_TAKE(const auto count, connection->number("SELECT count(*) FROM sheet"));
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <variant>
#include <vector>

#include "engine/base/result.h"

struct sqlite3;
struct sqlite3_stmt;

namespace ullage::store {

using Null = std::monostate;
using Value = std::variant<Null, std::int64_t, double, std::string>;
using Row = std::vector<Value>;

// The text or whole number held; empty or 0 when it is none.
inline std::string text_of(const Value& value) {
  const auto* held = std::get_if<std::string>(&value);
  return held ? *held : std::string();
}
inline std::int64_t whole_of(const Value& value) {
  const auto* held = std::get_if<std::int64_t>(&value);
  return held ? *held : 0;
}

// Bytes that are no text.
struct Blob {
  std::string_view bytes;
};

// A prepared statement, owned by its connection. Parameters count from 1, columns from 0.
class Statement {
 public:
  Statement(sqlite3* connection, sqlite3_stmt* statement) : connection_(connection), statement_(statement) {}
  ~Statement();
  Statement(const Statement&) = delete;
  Statement& operator=(const Statement&) = delete;

  void bind(int at, Null);
  void bind(int at, std::int64_t value);
  void bind(int at, int value) { bind(at, static_cast<std::int64_t>(value)); }
  void bind(int at, bool value) { bind(at, static_cast<std::int64_t>(value)); }
  void bind(int at, double value);            // must be finite
  void bind(int at, std::string_view value);  // must be UTF-8 without zero bytes; not copied
  void bind(int at, const std::string& value) { bind(at, std::string_view(value)); }
  void bind(int at, const char* value) { bind(at, std::string_view(value)); }
  void bind(int at, Blob value);  // not copied
  void bind(int at, const Value& value);
  template <class T>
  void bind(int at, const std::optional<T>& value) {
    value ? bind(at, *value) : bind(at, Null{});
  }
  template <class... Values>
  void bind_all(const Values&... values) {
    int at = 0;
    (bind(++at, values), ...);
  }

  // True when there is a row. Fails with invalid_input when a bound value was not allowed.
  Result<bool> step();
  void reset();

  bool is_null(int column) const;
  std::int64_t integer(int column) const;
  double real(int column) const;
  std::string_view text(int column) const;  // valid until the next step
  int columns() const;
  Value value(int column) const;

 private:
  sqlite3* connection_;
  sqlite3_stmt* statement_;
  std::string refused_;  // why a bound value is not allowed
};

// Makes a statement ready for its next use when it goes out of scope.
class Use {
 public:
  explicit Use(Statement* statement) : statement_(statement) {}
  Use(Use&& other) noexcept : statement_(other.statement_) { other.statement_ = nullptr; }
  Use& operator=(Use&&) = delete;
  ~Use() {
    if (statement_) statement_->reset();
  }
  Statement* operator->() const { return statement_; }
  Statement& operator*() const { return *statement_; }

 private:
  Statement* statement_;
};

enum class OpenAs { read_write, make, read_only, frozen };  // frozen: nobody writes, no side files are made

class Connection {
 public:
  static Result<std::unique_ptr<Connection>> open(const std::string& path, OpenAs as, int busy_timeout_ms);
  ~Connection();
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;

  sqlite3* handle() const { return handle_; }
  const std::string& path() const { return path_; }

  // Runs a script of several statements without parameters.
  Result<void> execute(const std::string& script);
  // A statement kept for further use; must not be in use already.
  Result<Use> statement(const std::string& sql);

  template <class... Values>
  Result<void> run(const std::string& sql, const Values&... values) {
    auto use = statement(sql);
    if (!use) return tl::unexpected<Error>(use.error());
    (*use)->bind_all(values...);
    return finish(**use);
  }
  template <class... Values>
  Result<std::vector<Row>> rows(const std::string& sql, const Values&... values) {
    auto use = statement(sql);
    if (!use) return tl::unexpected<Error>(use.error());
    (*use)->bind_all(values...);
    return all_rows(**use);
  }
  // The first column of the first row as a whole number; 0 when null or there is no row.
  template <class... Values>
  Result<std::int64_t> number(const std::string& sql, const Values&... values) {
    auto use = statement(sql);
    if (!use) return tl::unexpected<Error>(use.error());
    (*use)->bind_all(values...);
    return first_number(**use);
  }

  std::int64_t rows_written() const;  // since the connection was opened
  std::int64_t rows_of_last() const;  // by the last statement alone, triggers not counted
  bool references_broken() const;     // rows refer to rows that are gone; the commit would fail
  bool in_transaction() const;
  std::int64_t last_row_id() const;

  // Copies the whole of `from` over this database, as one transaction.
  Result<void> copy_from(Connection& from);
  // The first bytes of the main file, fewer where it is shorter, through the connection's own handle. Never open the
  // file of a database by other means: closing it takes away all locks that this process holds on it (POSIX), so that
  // another program takes itself for the last one and removes the log of what was written.
  Result<std::string> first_bytes(int count);
  // "ok", or what is wrong, a few lines.
  Result<std::string> integrity();

 private:
  Connection(sqlite3* handle, std::string path) : handle_(handle), path_(std::move(path)) {}
  static Result<void> finish(Statement& statement);
  static Result<std::vector<Row>> all_rows(Statement& statement);
  static Result<std::int64_t> first_number(Statement& statement);

  sqlite3* handle_;
  std::string path_;
  std::unordered_map<std::string, std::unique_ptr<Statement>> statements_;
};

// Switches the triggers of a connection off for as long as it lives.
class TriggersOff {
 public:
  explicit TriggersOff(Connection& connection);
  ~TriggersOff();
  TriggersOff(const TriggersOff&) = delete;
  TriggersOff& operator=(const TriggersOff&) = delete;

 private:
  Connection& connection_;
};

// The connection's latest error, with the code of ours that fits.
Error sqlite_error(sqlite3* connection);

// True when `text` is UTF-8 without zero bytes.
bool is_plain_text(std::string_view text);

}  // namespace ullage::store
