#include "service/documents/findings.h"

namespace ullage::documents {

Part findings_part(const FindingsPage& page) {
  Part out;
  out.title = page.lifter;
  out.when = page.when;
  for (const Finding& finding : page.findings) {
    Group& group = out.groups.emplace_back();
    group.heading = finding.heading;
    if (finding.figure) group.beside.emplace_back(*finding.figure);
    for (const std::string& paragraph : finding.paragraphs) group.blocks.emplace_back(Paragraph{paragraph, Look::text});
    if (finding.columns.empty()) continue;
    Table table;
    for (const std::string& column : finding.columns) table.columns.emplace_back(column, Column::plain);
    for (const auto& row : finding.rows) {
      auto& cells = table.rows.emplace_back();
      for (const std::string& text : row) cells.push_back({text, {}});
      cells.resize(table.columns.size());
    }
    group.blocks.emplace_back(std::move(table));
  }
  if (!page.notes.empty()) {
    Group& notes = out.groups.emplace_back();
    notes.kind = Group::Kind::cautions;
    for (const std::string& note : page.notes) notes.blocks.emplace_back(Paragraph{note, Look::small});
  }
  return out;
}

}  // namespace ullage::documents
