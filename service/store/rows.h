// Between the records of the trade and the rows of the truth tables (service/store/schema.h), both ways.
// Rows hold the columns in the order of the table, without `change`.
#pragma once

#include <string>
#include <vector>

#include "service/store/sqlite.h"
#include "service/store/store.h"

namespace ullage::store {

// Lists of words and of loads as JSON. Fail with invalid_input when a text is not UTF-8.
Result<std::string> words_json(const std::vector<std::string>& words);

Result<Row> lifter_row(const Lifter& lifter);
Row body_mass_row(const std::string& lifter, const BodyMass& mass);
Row import_row(const ImportRecord& import);
Result<Row> place_row(const Place& place);
Row policy_row(const std::string& scope, const ReservePolicy& policy);
Row sheet_row(const Sheet& sheet);
Row plan_row(const StoredPlan& plan);
Row advice_row(const StoredAdvice& advice);

// The rows of one health table.
struct HealthRows {
  std::string table;
  std::vector<Row> rows;
};
Result<std::vector<HealthRows>> health_rows(const std::string& lifter, const safety::HealthRecord& record);

// Each fails with corrupt, naming table and column, when the file holds what it should not.
Result<Lifter> lifter_of(const Row& row);  // without body masses
Result<BodyMass> body_mass_of(const Row& row);
Result<ImportRecord> import_of(const Row& row);
Result<Place> place_of(const Row& row);
Result<ReservePolicy> policy_of(const Row& row);
Result<Sheet> sheet_of(const Row& row);
Result<StoredPlan> plan_of(const Row& row);
Result<StoredAdvice> advice_of(const Row& row);
// Adds the row of one health table to the record.
Result<void> add_health(const std::string& table, const Row& row, safety::HealthRecord& record);

// Binds the columns of training_set in order, then `change`. Texts must outlive the step.
// `texts` holds the few that are made here.
struct SetTexts {
  std::string date;
  std::string extra;
};
Result<void> bind_set(Statement& statement, const StoredSet& set, std::int64_t change, SetTexts& texts);
Result<StoredSet> set_of(const Statement& statement);

}  // namespace ullage::store
