#include "engine/planning/lighter_week.h"

#include <cmath>

#include "engine/planning/why.h"

namespace ullage::planning {
namespace {

// "3.1 %", to a tenth.
std::string tenths(double share) {
  const double percent = std::round(1000 * std::fabs(share)) / 10;
  return number_text(percent) + " %";
}
std::string counted(double number) { return number_text(std::round(10 * number) / 10); }

}  // namespace

std::optional<LighterWeek> propose_lighter_week(const RecentForm& form,
                                                const std::function<std::string(const std::string&)>& name_of) {
  if (form.sessions < kLighterLeastSessions) return std::nullopt;
  if (form.spent > 0 && form.spent < kLighterLeastSpent) return std::nullopt;
  const bool known = form.lifts > 0;
  const bool under = known && form.against.median <= kLighterUnder && form.p_under >= kLighterSure;
  const bool far_under = known && form.against.median <= kLighterAloneUnder && form.p_under >= kLighterAloneSure;
  const bool misses = form.missed >= kLighterLeastMisses && form.chance < kLighterMissChance;
  const bool many_misses = form.missed >= kLighterLeastMisses && form.chance < kLighterAloneMissChance;
  const bool tired = form.readiness <= kLighterTired && form.p_tired >= kLighterTiredSure;
  if (!(far_under || many_misses || (under && (misses || tired)))) return std::nullopt;
  LighterWeek out;
  out.probability = form.p_under;
  std::string& why = out.why;
  const auto add = [&](const std::string& text) { why += (why.empty() ? "" : "; ") + text; };
  if (known && form.against.median < 0) {
    add("strength is " + tenths(form.against.median) +
        " under what was forecast two weeks ago (80 %: " + tenths(form.against.lo80) + " under to " +
        tenths(form.against.hi80) + (form.against.hi80 < 0 ? " under" : " over") + ", under it with " +
        percent_text(form.p_under) + (form.lifts > 1 ? ", most in " + name_of(form.most_under) : "") + ")");
  }
  out.brief = known && form.against.median < 0 ? "strength is under forecast by " + tenths(form.against.median)
                                               : "planned sets missed: " + counted(form.missed);
  if (form.missed > 0) {
    add(counted(form.missed) + " of " + counted(form.planned) + " planned sets were missed where " +
        counted(form.told) + " were told");
  }
  if (tired) add("readiness was " + tenths(form.readiness) + " below usual");
  if (form.spent > 1.15) add("sets cost " + percent_text(form.spent - 1) + " more a week than before");
  why += ".";
  why[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(why[0])));
  return out;
}

}  // namespace ullage::planning
