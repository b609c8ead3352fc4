#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "service/documents/planned_sessions.h"

namespace ullage::documents {
namespace {

std::string short_day(Date date) {
  const std::string iso = date_text(date);
  return fmt::format("{} {}.{}.", weekday_name(date), std::stoi(iso.substr(8, 2)), std::stoi(iso.substr(5, 2)));
}

}  // namespace

Part overview_part(const OverviewPage& page) {
  Part out;
  out.title = page.lifter;
  out.when = page.when;
  for (const std::string& note : page.notes) out.notes.emplace_back(Paragraph{note, Look::small});
  std::map<int, std::vector<const PlannedSession*>> weeks;  // by the day of their Monday
  for (const PlannedSession& session : page.sessions) {
    weeks[session.date.days - (weekday(session.date) - 1)].push_back(&session);
  }
  for (const auto& [monday, sessions] : weeks) {
    std::vector<std::string> names;
    for (const PlannedSession* session : sessions) {
      for (const PlannedExercise& e : session->exercises) {
        if (std::find(names.begin(), names.end(), e.name) == names.end()) names.push_back(e.name);
      }
    }
    Group& group = out.groups.emplace_back();
    group.heading = "Week of " + short_day(Date{monday});
    Table table;
    table.kind = Table::Kind::week;
    table.rows_have_heads = true;
    table.columns.emplace_back("exercise", Column::plain);
    for (const PlannedSession* session : sessions) {
      const std::string day = short_day(session->date) + (session->label.empty() ? "" : ' ' + session->label);
      table.columns.emplace_back(fmt::format("{}\n{:.0f} minutes", day, session->minutes), Column::plain);
    }
    for (const std::string& name : names) {
      auto& row = table.rows.emplace_back();
      row.push_back({name, {}});
      for (const PlannedSession* session : sessions) {
        Cell& cell = row.emplace_back();
        for (const PlannedExercise& e : session->exercises) {
          if (e.name != name) continue;
          if (e.vessels.empty()) {
            cell.text += (cell.text.empty() ? "" : "\n") + e.brief;
          } else {
            cell.drawn.emplace_back(vessels_drawing(e.vessels, 11, e.name + ": " + e.text), e.brief);
          }
        }
      }
    }
    group.blocks.emplace_back(std::move(table));
  }
  return out;
}

}  // namespace ullage::documents
