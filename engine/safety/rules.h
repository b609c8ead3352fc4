// What may be prescribed to a lifter today: holds and what lifts them, limits of a clinician's word,
// rules for minors, beginners and older lifters, and the gate before any set to failure.
//
// Not medical advice: it keeps prescriptions inside what people said and decided. Only prescriptions are
// held; logging, import and estimates always work.
//
//   const Gate gate = evaluate(record, lifter, today, sessions);
//   if (!gate.allowed()) return fail(Code::not_allowed, gate.held_text());
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/dates.h"
#include "engine/safety/records.h"
#include "engine/training/exercise.h"
#include "engine/training/lifter.h"
#include "engine/training/policy.h"

namespace ullage::safety {

// Choices of this project where no published figure stands (common practice, no source).
inline constexpr int kAdultAge = 18;
inline constexpr int kOlderAge = 65;
inline constexpr int kSettledSessions = 12;      // logged sessions after which the extra rep goes
inline constexpr double kBeginnerYears = 0.5;    // less training than this counts as a beginner
inline constexpr double kMinorLeastReserve = 3;  // reps
inline constexpr double kExtraReserve = 1;       // reps
inline constexpr int kTimeOffDays = 28;          // days without a session after which the first ones are lighter
inline constexpr int kSessionsBack = 3;          // that many of them
inline constexpr int kWordEndsSoonDays = 7;      // a word that ends within this many days is announced

// One reason why nothing is prescribed, and what would lift it. Plain words, no full stop.
struct Held {
  std::string id;  // of the hold, "" when it rests on no record (missing consent)
  std::string reason;
  std::string lifts;
};

// An exercise that is out, and why.
struct Barred {
  std::string exercise;
  std::string reason;
};

// What holds on one day. Plain data, made by evaluate().
struct Gate {
  std::vector<Held> holds;  // empty: prescriptions are allowed

  // Hard floor of true reserve in reps (minors, clinician's word); 0: none. No set may be planned to end
  // below it; the set planner keeps the chance of less at or under 10 %.
  double least_reserve = 0;
  std::string least_reserve_from;  // "under 18", "word of Dr Example of 2026-03-01"
  // Added to both ends of the reserve policy's band (beginners, 65+).
  double extra_reserve = 0;
  std::string extra_reserve_from;
  // Highest total load as a share of the lifter's strength; empty: none.
  std::optional<double> load_cap_share;
  std::string load_cap_from;

  bool only_some = false;                   // only the named exercises are allowed
  std::vector<std::string> only_exercises;  // ids
  std::vector<Barred> barred;               // pain, clinician's word, the lifter's list of exercises to avoid

  bool failure = true;     // sets to failure and rep-max tests may be considered at all
  std::string no_failure;  // why not

  std::optional<Date> until;          // last day on which all of a clinician's words in force still hold
  std::vector<std::string> cautions;  // about this lifter, for the sheet

  bool allowed() const { return holds.empty(); }
  // One line per hold: "reason: what lifts it". Empty when allowed.
  std::string held_text() const;
  // Why this exercise may not be prescribed; empty when it may.
  std::optional<std::string> barred_because(const std::string& exercise) const;
};

// The rules, in the order they are applied:
// - An open hold, or a yes as the last answer to a question that no hold record covers, holds everything until it is
//   lifted or a clinician's word in force names it. An intake that leaves a question out keeps its last answer. When
//   the word ends, the hold is back the next day.
// - Under 18: held until a guardian's consent with its date is on record; least reserve 3, no tests, no failure.
// - Questions not asked hold nothing (an unasked question is no yes), but the sheet says so and there are no sets to
//   failure and no tests until they are answered. The same when the date of birth is unknown.
// - Fewer than 12 logged sessions and less than half a year of training (or unknown), and 65 or older with fewer than
//   12 logged sessions: one more in reserve, until the coach lifts it. The same from 65 on while a health question is
//   open, which nobody lifts. No failure for beginners, nor from 65 on
//   until the coach lifts it. Common practice, no source.
// - A yes as the last answer to any question, also a cleared one, and any clinician's word in force: no failure, no
//   tests.
// - Several words in force: the strictest limit of each kind.
// Records dated after `today` do not count yet. logged_sessions: sessions with at least one set, up to today.
// Cost: linear in the records.
Gate evaluate(const HealthRecord& record, const Lifter& lifter, Date today, int logged_sessions);
// The first kSessionsBack sessions after kTimeOffDays without one: one more in reserve, nothing to failure, and a
// caution with the days. Muscle that has not worked for weeks is hurt by what it stood before (common practice, no
// source for the numbers). `day`: of the session that is written; sessions: days of those logged, rising, that day's
// own not counted.
void apply_time_off(Gate& gate, Date day, const std::vector<Date>& sessions);

// The holds that an intake's answers make, with fixed ids ("intake-2026-03-09-1"), to be put on record.
std::vector<Hold> holds_from(const Intake& intake);

// A set to failure that someone would like to plan.
struct FailureWish {
  ExerciseClass cls = ExerciseClass::isolation;
  bool needs_spotter = false;  // of the exercise
  bool last_set = false;       // it is the last set of its exercise today
  bool test = false;           // a rep-max test, not an ordinary set
  bool safety_bars = false;    // spotters or safety bars confirmed
  Date today;
  std::optional<Date> last_failure;  // last set of this exercise that went to failure, tests included
  std::optional<Date> last_test;     // last rep-max test of this exercise
};
struct Permission {
  bool allowed = false;
  std::string because;  // why not, in plain words; empty when allowed
};
// Only the last set of an exercise; only as often as the policy says; a barbell compound only as a rep-max
// test with spotters or safety bars confirmed; an exercise that needs a spotter only with one.
Permission failure_allowed(const Gate& gate, const ClassPolicy& policy, const FailureWish& wish);

// What a sheet's cautions depend on.
struct SheetContent {
  bool near_failure = false;   // a set goes to failure or is planned to end with 1 or less in reserve
  bool spotter_lifts = false;  // a lift that can pin the lifter: free-bar squats, bench presses
  bool safety_bars = false;
};
// Short cautions for a sheet: the lifter's own first, then spotting and breath-holding where they matter, then
// when to stop and seek help at once, always.
std::vector<std::string> sheet_cautions(const Gate& gate, const SheetContent& content);

// The question as it is asked, plain words.
std::string_view question_text(Question question);
// "heart disease", ...
std::string_view question_name(Question question);

}  // namespace ullage::safety
