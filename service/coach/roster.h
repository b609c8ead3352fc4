// Who needs the coach's attention today, and why. Estimates are taken as they are stored: one that is out of date is
// a reason of its own, and nothing is fitted for it here.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/coach/desk.h"
#include "service/coach/estimates.h"
#include "service/coach/steering.h"

namespace ullage::coach {

// What makes a lifter stand out; the most urgent first.
enum class Attention {
  hold,        // nothing may be prescribed
  pain,        // an exercise is out because of pain
  lighter,     // the data ask for a lighter week
  misses,      // more planned sets missed than the limits allow for
  judgement,   // says far fewer or more than they have
  stall,       // a main lift has gained nothing for months, with enough data
  unseen,      // no session for more than ten days
  suspects,    // a load looks mis-typed
  not_fitted,  // no estimate, or the log has changed since
  assumed,     // estimates mostly assumed
};
std::string_view attention_name(Attention attention);  // "hold", ...

struct Reason {
  Attention attention = Attention::assumed;
  std::string text;  // one line; ends with the number that caused it
};
struct RosterRow {
  Lifter lifter;
  std::vector<Reason> reasons;  // most urgent first; empty: nothing stands out
  std::optional<Date> last_session;
  int sessions = 0;
  std::int64_t sets = 0;
};
struct RosterView {
  Date as_of;
  std::vector<RosterRow> rows;  // those with reasons first, the most urgent on top; then by name
};

// Limits of the reasons (common practice, no source).
inline constexpr int kUnseenDays = 10;
inline constexpr int kMissWindowDays = 28;
inline constexpr double kMissesExpected = 0.15;  // share of planned sets
inline constexpr double kMissesChance = 0.05;    // less likely than this by chance: worth a look
inline constexpr double kHasMoreReps = 1.5;      // bias of judgement; having less than called matters sooner
inline constexpr double kHasLessReps = 1;

// One lifter of it. Cost: reading their sets and stored estimate, some milliseconds.
Result<RosterRow> look_at(Desk& desk, const Lifter& lifter);

// Cost: about the reading of everyone's sets of the last weeks and their stored estimates.
Result<RosterView> roster(Desk& desk);

// P(X >= k) of n trials with chance p each.
double at_least(int k, int n, double p);

}  // namespace ullage::coach
