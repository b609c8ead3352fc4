#include "service/interchange/mapping_pick.h"

#include <algorithm>

#include "service/interchange/fault.h"

namespace ullage::interchange {
namespace {

tl::unexpected<Error> cannot(const std::string& field, const std::string& what) {
  return fail(Code::invalid_input, field + ": " + what);
}

void let_go(Mapping& mapping, LogColumn column) {
  mapping.columns.erase(column);
  mapping.blanks.erase(column);
  mapping.values.erase(column);
  if (column == LogColumn::date) {
    mapping.date_offsets.clear();
    mapping.start_date.reset();
  }
}

Result<void> pick_sets(Mapping& mapping, const MappingPick& choice) {
  if (choice.columns.empty()) {
    mapping.sets.reset();
    return {};
  }
  SetCells cells = mapping.sets.value_or(SetCells{});
  cells.columns = choice.columns;
  if (choice.unit) {
    cells.unit = parse_unit(*choice.unit);
    if (!choice.unit->empty() && !cells.unit) return cannot("unit", "kg, lb or mark was expected");
  }
  if (choice.as) {
    using Effort = CompactForm::Effort;
    if (!choice.as->empty() && *choice.as != "rpe" && *choice.as != "reserve")
      return cannot("as", "rpe or reserve was expected");
    cells.form.effort = choice.as->empty() ? Effort::not_said : *choice.as == "rpe" ? Effort::rpe : Effort::reserve;
  }
  if (choice.order) {
    const auto order = parse_set_order(*choice.order);
    if (!order) return cannot("order", "such as \"load x reps\" or \"sets x reps x load\" was expected");
    cells.form.order = *order;
  }
  mapping.sets = std::move(cells);
  // The cells hold the reps, and no other run of columns makes sets.
  let_go(mapping, LogColumn::reps);
  mapping.repeat.clear();
  std::erase_if(mapping.columns, [](const auto& entry) {
    return std::any_of(entry.second.columns.begin(), entry.second.columns.end(), has_star);
  });
  return {};
}

}  // namespace

std::string unit_text(const ColumnSource& source) {
  return source.unit_in_cell ? "cell" : source.unit ? std::string(unit_name(*source.unit)) : "";
}

std::string form_text(CellForm form) {
  constexpr const char* kForms[] = {"", "rpe", "minutes", "clock"};
  return kForms[static_cast<std::size_t>(form)];
}

Result<void> pick(Mapping& mapping, const MappingPick& choice) {
  if (choice.field == "sets") return pick_sets(mapping, choice);
  const auto column = parse_log_column(choice.field);
  if (!column) return cannot("field", in_quotes(choice.field) + " is no column of a log");
  if (choice.columns.empty()) {
    let_go(mapping, *column);
    mapping.constants.erase(*column);
    if (!choice.constant.empty()) mapping.constants[*column] = choice.constant;
    return {};
  }
  ColumnSource source;
  if (const auto was = mapping.columns.find(*column); was != mapping.columns.end()) source = was->second;
  source.columns = choice.columns;
  if (choice.join) source.join = *choice.join;
  if (choice.unit) {
    const bool mass = *column == LogColumn::load || *column == LogColumn::body_mass;
    source.unit_in_cell = *choice.unit == "cell";
    source.unit = parse_unit(*choice.unit);
    if (!choice.unit->empty() && (!mass || (!source.unit && !source.unit_in_cell) ||
                                  (*column == LogColumn::body_mass && source.unit == Unit::mark)))
      return cannot("unit", "kg, lb, mark or cell for load; kg, lb or cell for body_mass");
    // A unit said here is the unit: one for every row, or a column for it, would be a second word.
    if (*column == LogColumn::load && !choice.unit->empty()) {
      mapping.constants.erase(LogColumn::unit);
      let_go(mapping, LogColumn::unit);
    }
  }
  if (choice.as) {
    const bool effort = *column == LogColumn::called_reserve || *column == LogColumn::cue;
    if (choice.as->empty())
      source.form = CellForm::plain;
    else if (*choice.as == "rpe" && effort)
      source.form = CellForm::rpe;
    else if (*choice.as == "minutes" && *column == LogColumn::rest_s)
      source.form = CellForm::minutes;
    else if (*choice.as == "clock" && *column == LogColumn::rest_s)
      source.form = CellForm::clock;
    else
      return cannot("as", "rpe for called_reserve and cue, minutes or clock for rest_s");
  }
  mapping.constants.erase(*column);
  mapping.columns[*column] = std::move(source);
  const bool run = std::any_of(choice.columns.begin(), choice.columns.end(), has_star);
  if (mapping.sets && (*column == LogColumn::reps || run)) mapping.sets.reset();
  return {};
}

}  // namespace ullage::interchange
