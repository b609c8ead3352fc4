// What goes out on paper and in files: session sheets, a lifter's report, the sessions ahead, pictures, workbooks.
// Everything here reads; nothing is stored.
//
//   auto week = planned_sessions(desk, {.lifter = "ines"});
//   paper.parts.push_back(documents::session_sheet(sheet_page(week->sheets.front())));
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/drawing/picture.h"
#include "service/coach/desk.h"
#include "service/coach/estimates.h"
#include "service/coach/sessions.h"
#include "service/documents/findings.h"
#include "service/documents/planned_sessions.h"
#include "service/documents/session_sheet.h"

namespace ullage::coach {

// A session as it stands on paper.
documents::SessionSheetPage sheet_page(const SessionSheet& sheet);

struct AheadWish {
  std::string lifter;        // id or name
  std::optional<Date> from;  // empty: the desk's today
  int days = 7;              // 1 to 120
};
struct Ahead {
  Lifter lifter;
  std::vector<SessionSheet> sheets;                 // by date
  std::vector<documents::PlannedSession> sessions;  // the same, for overview and calendar
  std::vector<std::string> notes;                   // what they rest on, what could not be written
};
// The sessions that lie ahead: those written with `session` and the days of the accepted block where there are any in
// these days; else, on the weekdays the lifter trained on in the last four weeks, the kinds of session of those weeks
// in turn, the one left alone longest first. Each is planned from today's estimate. not_allowed: a hold, as
// write_session.
//
// A session keeps its id when it is moved, by write_session or in the block: the id is made of the day it was first
// written or planned for. A session written for a day that another one left has an id of its own.
Result<Ahead> planned_sessions(Desk& desk, const AheadWish& wish, const Share& progress = {});
// The same from sessions that someone else planned, with the id of a session first planned for that day.
documents::PlannedSession planned_session(const SessionSheet& sheet);

// The lifter's report in words for the lifter: judgement, strength with its band, what was done against what was
// planned, what changes next and why. On hold the last part says what lifts it; the rest is there all the same.
Result<documents::FindingsPage> lifter_report(Desk& desk, const std::string& lifter, const Share& progress = {});

// ---- Pictures.
// Strength over time of the lifts done most, each with its 80 % band, at most `most`.
drawing::Picture estimate_picture(const EstimateView& view, std::size_t most = 4);
// The planned sets of a forecast as reps to failure with their intervals.
// One lift of it, without a heading, to stand below one.
drawing::Picture strength_picture(const LiftEstimate& lift, Unit unit);
drawing::Picture forecast_picture(const ForecastView& view);
// The work sets of a session: reps planned against reps to failure.
drawing::Picture session_picture(const SessionSheet& sheet);
// Who stands out, by the kind of reason: a dot for each reason of each lifter.
drawing::Picture roster_picture(const struct RosterView& view);

// ---- Workbooks.
// Sheets "log" (every column of every set, read back by import as it is), "plan" (the accepted block, a row for the
// sets of an exercise on a day), "sessions" (the sheets written ahead, a row a set), "estimates", "judgement" and
// "strength" (over time, with a chart). With a lifter: only theirs. Gives the number of sets.
Result<std::int64_t> write_data_workbook(Desk& desk, const std::string& path, const std::string& lifter = "",
                                         const Share& progress = {});
// What the workbook holds beside the log as CSV, with the names of the files: "estimates.csv", "plan.csv",
// "sessions.csv".
struct CsvFile {
  std::string name, text;
};
Result<std::vector<CsvFile>> data_csv(Desk& desk, const std::string& lifter = "");

// ---- Words shared by them.
// So many decimals, a zero without a sign.
std::string paper_number(double value, int decimals);
// Whole reps, rounded down, with their interval where it is wider: "2", "2 (1-4)".
std::string paper_reps(const capacity::Interval& reps);
// With a capital first letter.
std::string capital(std::string text);
std::string paper_day(Date date);          // "Thu 26 Nov 2026"
std::string paper_rest(double seconds);    // "3:00"
std::string paper_load(const Load& load);  // "47.5 kg"
// "64 kg (63-65)" of a total in kilograms, or marks.
std::string paper_mass(const capacity::Interval& total_kg, Unit unit, bool marks);

}  // namespace ullage::coach
