// Sessions that lie ahead as plain data, and two ways of showing them: the block overview on paper and a calendar file.
//
// Whoever plans fills these in: the sessions written so far, or a whole block.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/base/dates.h"
#include "engine/base/result.h"
#include "service/documents/document.h"
#include "service/documents/vessel.h"

namespace ullage::documents {

struct PlannedExercise {
  std::string name;
  std::string text;             // "3 sets of up to 8 at 47.5 kg, end with 2 to 4 in reserve"
  std::string brief;            // the same for a narrow cell: "47.5 kg x 8, 8, 7; leave 2 to 4"
  std::vector<Vessel> vessels;  // one a work set
};

struct PlannedSession {
  std::string id;  // stable: the same session has the same id in every file; letters, digits, hyphens and points
  Date date;
  std::string label;  // tells two sessions of a day apart
  std::string place;
  double minutes = 0;
  std::vector<PlannedExercise> exercises;
};

struct OverviewPage {
  std::string lifter;
  std::string when;  // "26 Nov to 23 Dec 2026"
  std::vector<std::string> notes;
  std::vector<PlannedSession> sessions;  // by date
};
// A ruled sheet for each week: rows are exercises, columns are days, a cell holds the vessels of its sets.
Part overview_part(const OverviewPage& page);

struct CalendarWish {
  std::string lifter;  // in the title of each entry
  std::vector<PlannedSession> sessions;
  std::optional<int> start_minute;  // of the day, on the wall; empty: entries for the whole day
  std::string zone;                 // "Europe/Oslo", needed with a start
  std::string stamp;                // when the file is made, UTC: "20261126T120000Z"
  std::string zone_folder = "/usr/share/zoneinfo";
};
// An iCalendar text (RFC 5545). Entries keep their UID, so that reading the file again updates them. invalid_input: a
// zone that is not known, or none with a start.
Result<std::string> calendar_text(const CalendarWish& wish);

}  // namespace ullage::documents
