// The tables of the data file, described once. From this list come the CREATE statements, the
// triggers that keep history, the statements that write and undo rows, and the check that
// docs/data-file.md is complete.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace ullage::store {

// "Ulla": tells our files from other SQLite files. Never change.
inline constexpr std::int64_t kApplicationId = 0x556c6c61;

enum class TableKind {
  truth,    // what people wrote down; every change of it is kept in history
  history,  // what was changed, when and by whom
  derived   // can be computed again from truth; no history
};

struct Column {
  std::string name;
  std::string type;     // TEXT, INTEGER, REAL, BLOB or ANY (text or integer)
  std::string rest;     // NOT NULL and other constraints
  std::string meaning;  // with unit; also written into the CREATE statement
};

struct Table {
  std::string name;
  TableKind kind = TableKind::truth;
  std::string meaning;
  std::vector<Column> columns;      // truth tables end with `change`
  std::vector<std::string> keys;    // names of the key columns
  std::vector<std::string> unique;  // further columns that are unique together; may be empty
  std::string lifter;               // column with the lifter's id; empty when the rows are no lifter's
};

const std::vector<Table>& tables();
const Table& table(std::string_view name);  // must exist

// SQL that leads from each version of the file to the next: migrations()[0] makes version 1 of an empty
// file. Files in use were made by these, so entries are only ever added.
const std::vector<std::string>& migrations();

// Drops and makes the triggers that write history; run after migrating.
std::string trigger_script();

// Statements for one truth table; column lists leave `change` out unless said.
std::string column_list(const Table& table);
// Parameters: the columns in order, `change` last. Writes nothing where the same is there already.
std::string put_statement(const Table& table);
// Parameters: ?1.. the keys.
std::string remove_statement(const Table& table);

// For undo, from an image of history. ?1 image (JSON), ?2 change id.
std::string insert_from_image(const Table& table);
std::string update_from_image(const Table& table);
// ?1 key as it stands in change_row.
std::string remove_by_row_key(const Table& table);
// Change id of the row that holds the unique columns of an image: ?1 image.
std::string holder_of_unique(const Table& table);

}  // namespace ullage::store
