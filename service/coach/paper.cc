#include "service/coach/paper.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "service/documents/html.h"
#include "service/documents/pdf.h"

namespace ullage::coach {

documents::Document session_paper(const SessionSheet& sheet, documents::Paper paper) {
  return {sheet.lifter.name + ": session of " + paper_day(sheet.plan.date),
          "en",
          paper,
          {documents::session_sheet(sheet_page(sheet))}};
}

documents::Document sheets_paper(const Ahead& ahead, documents::Paper paper) {
  documents::Document out{ahead.lifter.name + ": session sheets", "en", paper, {}};
  for (const SessionSheet& sheet : ahead.sheets) {
    documents::SessionSheetPage page = sheet_page(sheet);
    if (!ahead.notes.empty()) page.notes.insert(page.notes.begin(), ahead.notes.front());
    out.parts.push_back(documents::session_sheet(page));
  }
  return out;
}

documents::Document report_paper(const documents::FindingsPage& report, documents::Paper paper) {
  return {report.lifter + ": " + report.when, "en", paper, {documents::findings_part(report)}};
}

documents::Document overview_paper(const Ahead& ahead, Date from, int days, documents::Paper paper) {
  documents::OverviewPage overview;
  overview.lifter = ahead.lifter.name;
  overview.when = paper_day(from) + " to " + paper_day(from + (days - 1));
  overview.notes = ahead.notes;
  overview.sessions = ahead.sessions;
  return {overview.lifter + ": " + overview.when, "en", paper, {documents::overview_part(overview)}};
}

Result<std::string> calendar_of(Desk& desk, const Ahead& ahead, const CalendarAsk& ask) {
  documents::CalendarWish calendar;
  calendar.lifter = ahead.lifter.name;
  calendar.sessions = ahead.sessions;
  calendar.start_minute = ask.start_minute;
  calendar.zone = ask.zone;
  // 2026-11-26T12:00:00.000Z -> 20261126T120000Z
  std::string stamp = desk.clock().now().substr(0, 19);
  std::erase_if(stamp, [](char ch) { return ch == '-' || ch == ':'; });
  calendar.stamp = stamp + "Z";
  return documents::calendar_text(calendar);
}

Result<SheetsReport> write_sheets(Desk& desk, const SheetsWish& wish, const Telling& progress) {
  std::vector<Lifter> lifters;
  if (!wish.lifter.empty()) {
    auto one = desk.lifter(wish.lifter);
    if (!one) return tl::unexpected(one.error());
    lifters.push_back(std::move(*one));
  } else {
    auto all = desk.store().lifters();
    if (!all) return tl::unexpected(all.error());
    lifters = std::move(*all);
  }
  std::error_code problem;
  std::filesystem::create_directories(wish.folder, problem);
  if (problem || !std::filesystem::is_directory(wish.folder))
    return fail(Code::unavailable, wish.folder + " cannot be made: " + problem.message());
  SheetsReport report;
  const double all = static_cast<double>(std::max<std::size_t>(lifters.size(), 1));
  std::size_t planned = 0;
  for (const Lifter& lifter : lifters) {
    if (progress && !progress(static_cast<double>(planned) / all,
                              fmt::format("{} files made, planning for {}", report.files.size(), lifter.name)))
      return fail(Code::cancelled, "stopped");
    ++planned;
    AheadWish ask;
    ask.lifter = lifter.id;
    ask.from = wish.from;
    ask.days = wish.days;
    const auto ahead = planned_sessions(desk, ask);
    if (!ahead) {
      // In a roster a hold, or a lifter without a log, concerns that lifter alone; a wish that makes no sense all.
      const bool of_lifter = ahead.error().code == Code::not_allowed ||
                             (ahead.error().code == Code::invalid_input && ahead.error().message.rfind("--", 0) != 0);
      if (!wish.lifter.empty() || !of_lifter) return tl::unexpected(ahead.error());
      report.without.push_back(ahead.error().message);
      continue;
    }
    for (std::size_t n = 1; n < ahead->notes.size(); ++n)
      report.without.push_back(lifter.name + ", " + ahead->notes[n]);
    if (ahead->sheets.empty()) {
      if (ahead->notes.size() <= 1) report.without.push_back(lifter.name + ": no session in these days");
      continue;
    }
    const std::string file = wish.folder + "/" + lifter.id + (wish.pdf ? ".pdf" : ".html");
    const documents::Document paper = sheets_paper(*ahead, wish.paper);
    if (wish.pdf) {
      const auto made = documents::write_pdf(paper, file);
      if (!made) return tl::unexpected(made.error());
      report.without_letters += made->without_letters;
    } else if (const auto put = documents::write_whole_file(file, documents::html(paper)); !put) {
      return tl::unexpected(put.error());
    }
    report.sessions += ahead->sheets.size();
    report.files.push_back(file);
  }
  return report;
}

}  // namespace ullage::coach
