// The next session written out, what a set will find, and the set that was done.
//
//   auto sheet = write_session(desk, {.lifter = "ines", .exercises = {{.exercise = "bench press"}}});
//   auto logged = log_set(desk, {.lifter = "ines", .set = {.exercise = "bench press", .load = {60}, .reps = 8}});
//   // logged->rest: the rest of today's sheet, planned again from what really happened
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "engine/capacity/session_forecast.h"
#include "engine/planning/session_plan.h"
#include "engine/planning/test_proposal.h"
#include "service/coach/desk.h"
#include "service/coach/estimates.h"
#include "service/coach/steering.h"

namespace ullage::coach {

struct SessionWish {
  std::string lifter;  // id or name
  std::optional<Date> date;
  std::string session;  // label, when there are two a day
  std::string place;    // empty: see Desk::where
  // ids, names or aliases in `exercise`; none: today's sheet, else the accepted block's day, else
  // those of the session longest ago.
  std::vector<planning::ExerciseRequest> exercises;
  int sharing = 1;  // lifters who take turns at one station: rests grow to the others' turns where those take longer
  // The sheet kept for that day moves to `date`: its exercises, and the entry it has in calendars.
  std::optional<Date> moved_from = std::nullopt;
  bool keep = true;  // write the sheet to the store, so that logging plans on from it
};

// A session of the past as a wish for another of its kind.
struct PastSession {
  Date date;
  std::vector<planning::ExerciseRequest> exercises;
};
// Among the sessions of the last four weeks before `day`, the latest of each kind (most exercises in common), the kind
// left alone longest first. Empty: none.
std::vector<PastSession> session_rotation(const std::vector<store::StoredSet>& sets, Date day);

struct SessionSheet {
  Lifter lifter;
  std::string session;
  planning::SessionRequest request;
  planning::SessionPlan plan;
  std::string why_empty;                // no exercise could be planned, and why; empty also when all sets are done
  std::vector<planning::DoneSet> done;  // of today, already logged; the plan is what is left
  int block_week = 0;                   // the week of the accepted block that this day belongs to; 0: none
  std::string block_note;               // the coach's note of that week
  std::optional<Date> first;            // the day it was first written for, when it was moved since
  std::optional<Date> repeats;          // the session whose exercises these are, when none were named
  Place place;
  bool place_assumed = false;
  std::optional<planning::TestProposal> test;  // a rep-max test that would be worth its cost today; only offered
  // What the data ask for and nobody has decided yet; and what was accepted and is in these sets, in words.
  std::vector<SteeringProposal> proposals;
  std::vector<std::string> steered;
  store::ChangeId change = 0;  // 0: the same sheet was there, or it was not kept
};

// not_allowed: a hold, on that day or on the clock's own, says what lifts it; or a limit that leaves no exercise, says
// which. invalid_input: an exercise or a wish that makes no sense. not_found: no sheet to move. conflict: one stands on
// the new day.
Result<SessionSheet> write_session(Desk& desk, const SessionWish& wish, const Share& progress = {});

struct ForecastWish {
  std::string lifter;
  std::string exercise;
  Side side = Side::both;
  Load load;
  std::vector<int> reps;
  double rest_s = 120;
  std::optional<Date> date;
};
struct ForecastView {
  Lifter lifter;
  Exercise exercise;
  Side side = Side::both;
  Load load;
  double total_kg = 0;
  double rest_s = 0;
  Date date;
  bool marks = false;
  bool known = true;          // false: never done, from related exercises
  bool outside_seen = false;  // outside the loads and reps of the log
  double learned_fatigability = 0;
  std::vector<int> reps;
  std::vector<capacity::SetOutcome> sets;
};
Result<ForecastView> forecast(Desk& desk, const ForecastWish& wish, const Share& progress = {});

struct LogWish {
  std::string lifter;
  SetRecord set;            // exercise: id, name or alias; date: empty (day 0) is the desk's today
  bool stop_given = false;  // false: worked out from what was planned
  bool may_fit = true;      // false: with no estimate up to date the set is logged and nothing is planned
  // A set sent by a client that made an id for it: kept with the sheet of the session (see coach/floor.h, which looks
  // for sets sent before). conflict: the id is there already.
  std::string client_id;
  std::string content;
  std::string done_at;
};
struct LogReport {
  Lifter lifter;
  Exercise exercise;
  store::SetId id = 0;
  store::ChangeId change = 0;
  SetRecord set;  // as stored
  std::vector<std::string> remarks;
  // What comes next, planned again; empty when nothing may be prescribed or is left (`no_next` says which).
  std::optional<planning::SessionPlan> rest;
  std::string no_next;
  // The set just logged against what the estimate said of it beforehand.
  // Empty when nothing was worked out: on hold, or a set of another day.
  std::optional<capacity::SetOutcome> expected;
  bool pain_opened = false;             // the exercise is out from now on; not when it was out already
  std::shared_ptr<const Fitted> after;  // the estimate with this set; null when nothing was planned
};
// One change: the set, the pain noted with it and the sheet planned again. Never fits anew when the estimate was up to
// date. Works on hold: only the next set is then left out. invalid_input: one line per fault, nothing is stored.
Result<LogReport> log_set(Desk& desk, const LogWish& wish);

// Corrects or removes a set. not_found: no such set; invalid_input: one line per fault, nothing is changed.
Result<store::ChangeId> edit_set(Desk& desk, store::SetId id, const SetRecord& set);
Result<store::ChangeId> remove_set(Desk& desk, store::SetId id);
// Store::undo; a set just logged and taken back leaves the fit in use.
Result<store::ChangeId> take_back(Desk& desk, std::optional<store::ChangeId> change);

// Faults of a set someone typed in, one line each. Days as an import takes them: from 1950 to the day after `today`.
std::vector<std::string> faults_of(const SetRecord& set, Date today);

}  // namespace ullage::coach
