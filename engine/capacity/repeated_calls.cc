#include "engine/capacity/repeated_calls.h"

#include <cmath>
#include <string>
#include <vector>

#include "engine/capacity/repetition.h"

namespace ullage::capacity {
namespace {

// A call of a number, not "5+" and not a cue.
bool called(const LoggedSet& set) {
  return set.feeling && std::isfinite(set.feeling->high.bound) && !set.feeling->high.on_cue;
}
bool same_call(const LoggedSet& a, const LoggedSet& b) {
  return a.reps == b.reps && a.feeling->high.bound == b.feeling->high.bound &&
         a.feeling->high.shift == b.feeling->high.shift;
}

// Called at its last rep, nothing told of why it ended.
bool steady(const LoggedSet& set) { return called(set) && end_not_told(set) && set.feeling->high.shift == 0; }

std::vector<LoggedSet*> sets_of(LoggedSession& session, int lift) {
  std::vector<LoggedSet*> out;
  for (LoggedSet& set : session.sets) {
    if (set.lift == lift) out.push_back(&set);
  }
  return out;
}

// Sets of which `counts` holds beside those at the same place of the lift's session before.
template <class Counts, class Same>
RepeatedCalls beside_the_session_before(const TrainingLog& log, const Counts& counts, const Same& same) {
  RepeatedCalls out;
  for (std::size_t l = 0; l < log.lifts.size(); ++l) {
    std::vector<const LoggedSet*> before, now;
    for (const LoggedSession& session : log.sessions) {
      now.clear();
      for (const LoggedSet& set : session.sets) {
        if (set.lift == static_cast<int>(l)) now.push_back(&set);
      }
      if (now.empty()) continue;
      for (std::size_t i = 0; i < now.size() && i < before.size(); ++i) {
        if (!counts(*now[i]) || !counts(*before[i])) continue;
        ++out.compared;
        out.same += same(*now[i], *before[i]) ? 1 : 0;
      }
      before = now;
    }
  }
  return out;
}

}  // namespace

bool RepeatedCalls::by_habit() const { return capacity::by_habit(same, compared, 0.5); }

RepeatedCalls repeated_calls(const TrainingLog& log) { return beside_the_session_before(log, called, same_call); }

RepeatedCalls steady_calls(const TrainingLog& log) {
  return beside_the_session_before(log, steady, [](const LoggedSet& a, const LoggedSet& b) {
    return a.feeling->high.bound == b.feeling->high.bound;
  });
}

void keep_last_calls(TrainingLog& log, const RepeatedCalls& found, CallsOf which) {
  for (std::size_t l = 0; l < log.lifts.size(); ++l) {
    bool kept = false;
    for (auto session = log.sessions.rbegin(); session != log.sessions.rend(); ++session) {
      bool here = false;
      for (LoggedSet* set : sets_of(*session, static_cast<int>(l))) {
        if (!(which == CallsOf::all ? called(*set) : steady(*set))) continue;
        here = true;
        if (kept) set->feeling.reset();
      }
      kept = kept || here;
    }
  }
  log.remarks.push_back("the calls repeat themselves: " + std::to_string(found.same) + " of " +
                        std::to_string(found.compared) +
                        " are those of the session before. They look like the plan, not like the sets: only each "
                        "lift's last session with calls counts. A rep-max test tells more");
}

}  // namespace ullage::capacity
