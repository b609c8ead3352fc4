// Turns the cells of one row into a set, or into faults that say what was expected where.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "engine/base/dates.h"
#include "service/interchange/fault.h"
#include "service/interchange/log_columns.h"
#include "service/interchange/mapping.h"
#include "service/interchange/read_log.h"

namespace ullage::interchange {

inline constexpr std::size_t kNoField = static_cast<std::size_t>(-1);

// One cell as a log would have it.
struct Cell {
  std::string_view text;
  std::string_view shown;        // as it stands in the file, for messages
  std::size_t field = kNoField;  // of the row it comes from
  bool log_form = false;         // numbers and dates in `text` are written as in a log, whatever the table's way
};
using Cells = std::array<Cell, kLogColumnCount>;

// How the table writes things down.
struct RowForm {
  std::array<std::string, kLogColumnCount> labels;  // what messages call each column
  bool any_date = false;                            // not only ISO 8601
  bool date_labels = false;                         // the mapping turns labels into dates
  DateOrder date_order = DateOrder::undecided;
  bool decimal_comma = false;
  std::optional<Unit> load_unit;  // of a load that names none; none: that is a fault
  std::optional<Unit> body_unit;  // of a body mass that names none; none: the unit of the load
};

class RowParser {
 public:
  RowParser(const ReadLogOptions& options, RowForm form);

  RowForm& form() { return form_; }
  // Fills lifter and set; the extra columns are left alone. Faults and remarks are appended.
  // True when the row has no fault.
  bool parse(const Cells& cells, const TableRow& row, LoggedSet& out, std::vector<Fault>& faults,
             std::vector<Fault>& remarks);
  // Exercises that were not known, in order of appearance.
  std::vector<UnknownExercise> take_unknown() { return std::move(unknown_); }

 private:
  struct Hash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>()(text); }
  };
  void resolve(const Cell& cell, LoggedSet& out);
  void add_fault(LogColumn column, const Cell& cell, std::string expected);

  const ReadLogOptions& options_;
  RowForm form_;
  std::string earliest_latest_;
  std::unordered_map<std::string, ExerciseMatch, Hash, std::equal_to<>> known_;
  std::unordered_map<std::string, std::size_t, Hash, std::equal_to<>> unknown_at_;
  std::vector<UnknownExercise> unknown_;
  std::vector<Fault>* faults_ = nullptr;
  const TableRow* row_ = nullptr;
};

}  // namespace ullage::interchange
