#include "service/coach/day_notes.h"

#include <fmt/format.h>

#include <algorithm>

#include "service/coach/block.h"
#include "service/coach/steering.h"

namespace ullage::coach {

Result<std::vector<std::string>> notes_of_day(Desk& desk, const std::string& name, Date day) {
  std::vector<std::string> out;
  const auto lifter = desk.lifter(name);
  if (!lifter) return tl::unexpected(lifter.error());
  const auto accepted = lighter_week_on(desk, lifter->id, day);
  if (!accepted) return tl::unexpected(accepted.error());
  if (*accepted) {
    out.push_back(
        fmt::format("A lighter week, accepted on {}: {}", date_text((*accepted)->date), (*accepted)->proposal.why));
  }
  const auto kept = accepted_block(desk, lifter->id, day);
  if (!kept) return tl::unexpected(kept.error());
  if (!*kept) return out;
  for (const BlockWeekPlan& week : (*kept)->sheet.weeks) {
    if (day < week.monday || day > week.monday + 6) continue;
    if (std::none_of(week.days.begin(), week.days.end(),
                     [&](const BlockDayPlan& d) { return d.date == day && d.closed.empty() && !d.items.empty(); })) {
      out.push_back(fmt::format("The plan leaves {} free.", date_text(day)));
    }
    if (week.kind == planning::WeekKind::lighter && week.why.starts_with(kAcceptedLighterWeek) && !*accepted) {
      out.push_back("The plan holds a lighter week that was taken back: work it out again.");
    } else if (week.kind != planning::WeekKind::usual && !(*accepted && week.kind == planning::WeekKind::lighter)) {
      out.push_back(fmt::format("{} week", week_kind_name(week.kind)));
    }
    if (!week.note.empty()) out.push_back(week.note);
  }
  return out;
}

}  // namespace ullage::coach
