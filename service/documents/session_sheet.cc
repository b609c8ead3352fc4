#include "service/documents/session_sheet.h"

#include <fmt/format.h>

namespace ullage::documents {
namespace {

void paragraph(std::vector<Block>& blocks, Look look, const std::string& text) {
  if (!text.empty()) blocks.emplace_back(Paragraph{text, look});
}

Group exercise(const SheetExercise& e, int number) {
  Group out;
  out.kind = Group::Kind::exercise;
  out.heading = fmt::format("{}. {}", number, e.name);
  out.aside = e.aim;
  std::vector<Vessel> vessels;
  std::string says;
  Table table;
  table.kind = Table::Kind::sets;
  table.columns = {{"set", Column::number},
                   {"load and reps", Column::large},
                   {"when to stop", Column::cue},
                   {"reps done", Column::box},
                   {"how many more?", Column::box}};
  for (const SheetSet& set : e.sets) {
    vessels.push_back(set.vessel);
    says += fmt::format("{}set {}: {} reps, {}", says.empty() ? "" : "; ", set.number, set.reps, set.leaves);
    const std::string cue = set.rest_before.empty() ? set.cue : "rest " + set.rest_before + " first; " + set.cue;
    table.rows.push_back({{std::to_string(set.number), {}},
                          {fmt::format("{} \u00d7 {}{}", set.load, set.reps, set.to_failure ? "+" : ""), {}},
                          {cue, {}},
                          {},
                          {}});
  }
  if (!vessels.empty()) out.beside.emplace_back(vessels_drawing(vessels, 23, says));
  for (const SheetBar& bar : e.bars) {
    const std::string words = bar.load + ": " + bar.words;
    out.beside.emplace_back(Paragraph{words, Look::small});
    if (!bar.plates.empty()) out.beside.emplace_back(bar_drawing(bar.plates, words));
  }
  paragraph(out.blocks, Look::above, e.warm_up);
  out.blocks.emplace_back(std::move(table));
  paragraph(out.blocks, Look::above, e.rest);
  paragraph(out.blocks, Look::above, e.why);
  for (const std::string& remark : e.remarks) paragraph(out.blocks, Look::quiet, remark);
  return out;
}

}  // namespace

Part session_sheet(const SessionSheetPage& sheet) {
  Part out;
  out.title = sheet.lifter;
  out.when = sheet.when;
  for (const std::string& note : sheet.notes) paragraph(out.notes, Look::small, note);
  int number = 0;
  for (const SheetExercise& e : sheet.exercises) out.groups.push_back(exercise(e, ++number));
  if (!sheet.cautions.empty()) {
    Group cautions;
    cautions.kind = Group::Kind::cautions;
    cautions.heading = "Before you lift";
    cautions.blocks.emplace_back(Bullets{sheet.cautions});
    cautions.blocks.emplace_back(Paragraph{
        "Each vessel is a set. Filled: the reps planned. Empty: what is left in reserve. Tinted, between the dotted "
        "walls: where failure lies, with 80 %; the dark line is its middle. Stop at the reps or at the cue, whichever "
        "comes first. \"How many more?\": write what you could still have done when you stopped, 0 if a rep failed.",
        Look::key});
    out.groups.push_back(std::move(cautions));
  }
  return out;
}

}  // namespace ullage::documents
