// Documents as pages and files: session sheets, the report, the overview and the calendar of a lifter, or of everyone.
// The command line and the page make them through these.
//
//   auto made = write_sheets(desk, {.folder = "week", .days = 7});          // every lifter's sheets as tagged PDF
//   auto page = report_page(*lifter_report(desk, "ines"), documents::Paper::letter);
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "service/coach/documents.h"
#include "service/documents/page.h"

namespace ullage::coach {

// Says how far the work is (0 to 1) and what is done; false stops it.
using Telling = std::function<bool(double share, const std::string& what)>;

documents::Page session_page(const SessionSheet& sheet, documents::Paper paper);
// The sheets of the days ahead, each beginning on a page of its own.
documents::Page sheets_page(const Ahead& ahead, documents::Paper paper);
documents::Page report_page(const documents::FindingsPage& report, documents::Paper paper);
// `from` and `days` as the wish for these sessions had them.
documents::Page overview_page(const Ahead& ahead, Date from, int days, documents::Paper paper);

struct CalendarAsk {
  std::optional<int> start_minute;  // of the day, on the wall; empty: entries for the whole day
  std::string zone;                 // needed with a start
};
// The sessions as an iCalendar text stamped with the desk's clock. invalid_input: as documents::calendar_text.
Result<std::string> calendar_of(Desk& desk, const Ahead& ahead, const CalendarAsk& ask);

struct SheetsWish {
  std::string lifter;  // id or name; empty: everyone
  std::optional<Date> from;
  int days = 7;
  documents::Paper paper = documents::Paper::a4;
  bool pdf = true;     // else HTML
  std::string folder;  // made when there is none
};
struct SheetsReport {
  std::vector<std::string> files;  // one a lifter
  std::size_t sessions = 0;
  std::vector<std::string> without;  // who gets no sheet, or a session that is not there, and why
};
// Plans one lifter after the other while the PDFs of those before are made in processes of their own. With `lifter` a
// hold is not_allowed; in a roster it is named in `without`. Other errors: planned_sessions, documents::PdfPress.
Result<SheetsReport> write_sheets(Desk& desk, const SheetsWish& wish, const Telling& progress = {});

}  // namespace ullage::coach
