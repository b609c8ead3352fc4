// Estimates of lifters: fitted when what they rest on has changed, kept in the store, brought up to date set by set
// without a new fit while a session is logged.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "engine/capacity/posterior.h"
#include "engine/planning/recent_form.h"
#include "service/coach/desk.h"

namespace ullage::coach {

// After this many logged sets the next fit is made anew instead of carried along (model section 6: within 0.1 sd of
// a fit for up to 40 sets).
inline constexpr int kMostLiveSets = 40;

struct Fitted {
  Lifter lifter;
  std::vector<store::StoredSet> sets;  // up to the desk's today, in performed order
  capacity::Posterior posterior;       // of all these sets
  int live_sets = 0;                   // of them, added since the fit
  bool fresh = false;                  // the fit was made now
  capacity::Posterior base;            // the fit itself, without the live sets
  store::SetId newest_fitted = 0;      // sets with a higher id are live
  planning::RecentForm form;           // of the two weeks up to the fit; sessions 0: too little to say
};

// Told the share done, 0..1; false stops (Code::cancelled).
using Share = std::function<bool(double)>;

// The estimate as of the desk's today: the stored one when it still rests on the same data, else fitted (and stored,
// unless sets later than today exist). not_found: no such lifter.
Result<Fitted> ensure_fitted(Desk& desk, const std::string& lifter, const Share& progress = {});

// The same without ever fitting: empty when the stored estimate does not rest on the log as it is, or when so many sets
// were logged since that a new fit is due.
Result<std::optional<Fitted>> stored_estimate(Desk& desk, const std::string& lifter);

struct FitReport {
  int fitted = 0;
  int current = 0;  // were up to date already
  struct Failure {
    std::string lifter;
    Error error;
  };
  std::vector<Failure> failures;
  std::vector<std::string> unsettled;  // fitted, but not settled fully: intervals may be too narrow
};
struct FitWish {
  std::vector<std::string> lifters;  // ids or names; empty: everyone
  bool anew = false;                 // also those up to date
  int workers = 0;                   // threads; 0: as many as the machine has
  // done of total lifters, and the name just finished; false stops (Code::cancelled; what is done is kept).
  std::function<bool(int done, int total, const std::string& name)> progress;
};
// Fits on all cores; each estimate is stored as soon as it is there.
Result<FitReport> fit_lifters(Desk& desk, const FitWish& wish);

// True when a stored estimate of this lifter is up to date. Cheap.
Result<bool> is_fitted(Desk& desk, const Lifter& lifter);

// The same with one more set, which is already stored or about to be and comes after all others: no fit, and nothing
// worked out again. Set by set it gives what taking up the sets together gives.
Result<Fitted> add_live(Desk& desk, const Fitted& fitted, const store::StoredSet& set);

// Keeps a posterior of these very sets as the estimate of the lifter's log as it is: of a log that was fitted under
// another name. Nothing is checked.
Result<void> keep_estimate(Desk& desk, const std::string& lifter, const capacity::Posterior& posterior);

// Called after a change of nothing but one set (and sheets): when that set is not in the stored fit itself, the fit
// stays in use. `before`: what truth_mark said before the change.
Result<void> carry_estimate(Desk& desk, const std::string& lifter, const std::string& before, store::SetId set);

// ---- What is shown.

struct LiftEstimate {
  capacity::LiftSummary summary;
  std::string name;
  capacity::Interval strength;    // total load on the desk's today, kg or marks, without the day's readiness
  capacity::Interval reps_at_80;  // reps to failure at 80 % of strength, fresh
  double body_mass_part = 0;      // kg of the total that the body brings; 0 for most
  double multiplier = 1;          // total = multiplier * written + body_mass_part
  bool assumed = false;           // learned below 0.3: mostly assumed
};
struct SuspectView {
  store::StoredSet set;
  std::string reason;
};
struct EstimateView {
  Lifter lifter;
  Date as_of;
  Date last_session;
  std::vector<LiftEstimate> lifts;  // most sets first
  capacity::Posterior posterior;
  std::vector<SuspectView> suspects;
  std::vector<std::string> remarks;
};
inline constexpr double kMostlyAssumedBelow = 0.3;  // of `learned`

Result<EstimateView> estimate(Desk& desk, const std::string& lifter, const Share& progress = {});
// The view of an estimate that is at hand already.
Result<EstimateView> view_of(Desk& desk, Fitted fitted);

// Body mass in kg on `day`, also from the log; 75 when none is known.
double body_mass_of(const Fitted& fitted, Date day);

// Seed of the draws of a lifter on a day: same day, same numbers.
std::uint64_t draw_seed(const std::string& lifter, Date day);

}  // namespace ullage::coach
