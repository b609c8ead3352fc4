// A mapping made by picking: one column of the log after the other is given columns or cells of the table, or a fixed
// text. What a choice rules out goes, so that the mapping stays one that parse_mapping takes.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/base/result.h"
#include "service/interchange/mapping.h"

namespace ullage::interchange {

struct MappingPick {
  std::string field;                   // a column of the log, or "sets": cells that hold sets
  std::vector<std::string> columns{};  // of the table, "#D", "(B1)", "(sheet)"; none, and no text: the field is let go
  std::string constant{};              // the same text for every row instead
  std::optional<std::string> unit{};   // kg, lb, mark, cell; empty: none. Absent: as it was
  std::optional<std::string> as{};     // rpe, minutes, clock; of sets rpe, reserve; empty: as it stands
  std::optional<std::string> order{};  // of sets: "load x reps", ...
  std::optional<std::string> join{};
};
// invalid_input: no such field, a unit or form that the field cannot have.
Result<void> pick(Mapping& mapping, const MappingPick& choice);

std::string unit_text(const ColumnSource& source);  // "kg", "lb", "mark", "cell"; empty: not said
std::string form_text(CellForm form);               // "rpe", "minutes", "clock"; empty: plain

}  // namespace ullage::interchange
