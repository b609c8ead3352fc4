// Documents as pages and files: session sheets, the report, the overview and the calendar of a lifter, or of everyone.
// The command line and the page make them through these.
//
//   auto made = write_sheets(desk, {.folder = "week", .days = 7});          // every lifter's sheets as tagged PDF
//   auto paper = report_paper(*lifter_report(desk, "ines"), {documents::Paper::letter, Language::german});
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "service/coach/documents.h"
#include "service/documents/document.h"

namespace ullage::coach {

// Says how far the work is (0 to 1) and what is done; false stops it.
using Telling = std::function<bool(double share, const std::string& what)>;

enum class Language { english, german };
struct PaperForm {
  documents::Paper paper = documents::Paper::a4;
  Language language = Language::english;
};
// "en" or "de".
std::optional<Language> parse_language(std::string_view code);
// The program's sentence in that language; as it is where the language has no pattern for it, such as a name.
std::string in_language(Language language, std::string_view english);

documents::Document session_paper(const SessionSheet& sheet, PaperForm form);
// The sheets of the days ahead, each beginning on a page of its own.
documents::Document sheets_paper(const Ahead& ahead, PaperForm form);
documents::Document report_paper(const documents::FindingsPage& report, PaperForm form);
// `from` and `days` as the wish for these sessions had them.
documents::Document overview_paper(const Ahead& ahead, Date from, int days, PaperForm form);

struct CalendarAsk {
  std::optional<int> start_minute;  // of the day, on the wall; empty: entries for the whole day
  std::string zone;                 // needed with a start
  Language language = Language::english;
};
// The sessions as an iCalendar text stamped with the desk's clock. invalid_input: as documents::calendar_text.
Result<std::string> calendar_of(Desk& desk, const Ahead& ahead, const CalendarAsk& ask);

struct SheetsWish {
  std::string lifter;  // id or name; empty: everyone
  std::optional<Date> from;
  int days = 7;
  PaperForm form;
  bool pdf = true;     // else HTML
  std::string folder;  // made when there is none
};
struct SheetsReport {
  std::vector<std::string> files;  // one a lifter
  std::size_t sessions = 0;
  std::size_t without_letters = 0;   // as documents::Pdf
  std::vector<std::string> without;  // who gets no sheet, or a session that is not there, and why
};
// With `lifter` a hold is not_allowed; in a roster it is named in `without`. Other errors: planned_sessions,
// documents::write_pdf.
Result<SheetsReport> write_sheets(Desk& desk, const SheetsWish& wish, const Telling& progress = {});

}  // namespace ullage::coach
