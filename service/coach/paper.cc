#include "service/coach/paper.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "service/documents/pdf.h"

namespace ullage::coach {

documents::Page session_page(const SessionSheet& sheet, documents::Paper paper) {
  documents::Page page;
  page.title = sheet.lifter.name + ": session of " + paper_day(sheet.plan.date);
  page.paper = paper;
  page.bodies.push_back(documents::session_sheet_html(sheet_page(sheet)));
  return page;
}

documents::Page sheets_page(const Ahead& ahead, documents::Paper paper) {
  documents::Page page;
  page.title = ahead.lifter.name + ": session sheets";
  page.paper = paper;
  for (const SessionSheet& sheet : ahead.sheets) {
    documents::SessionSheetPage body = sheet_page(sheet);
    if (!ahead.notes.empty()) body.notes.insert(body.notes.begin(), ahead.notes.front());
    page.bodies.push_back(documents::session_sheet_html(body));
  }
  return page;
}

documents::Page report_page(const documents::FindingsPage& report, documents::Paper paper) {
  documents::Page page;
  page.title = report.lifter + ": " + report.when;
  page.paper = paper;
  page.bodies.push_back(documents::findings_html(report));
  return page;
}

documents::Page overview_page(const Ahead& ahead, Date from, int days, documents::Paper paper) {
  documents::OverviewPage overview;
  overview.lifter = ahead.lifter.name;
  overview.when = paper_day(from) + " to " + paper_day(from + (days - 1));
  overview.notes = ahead.notes;
  overview.sessions = ahead.sessions;
  documents::Page page;
  page.title = overview.lifter + ": " + overview.when;
  page.paper = paper;
  page.bodies.push_back(documents::overview_html(overview));
  return page;
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
  documents::PdfPress press;
  if (wish.pdf) {
    if (auto ready = press.warm(); !ready) return tl::unexpected(ready.error());
  }
  const double all = static_cast<double>(std::max<std::size_t>(lifters.size(), 1));
  std::size_t planned = 0;
  const auto tell = [&](const std::string& what) {
    const double share = wish.pdf ? (0.2 * static_cast<double>(planned) + 0.8 * static_cast<double>(press.done())) / all
                                  : static_cast<double>(planned) / all;
    return !progress || progress(share, what);
  };
  for (const Lifter& lifter : lifters) {
    if (!tell(
            fmt::format("{} files made, planning for {}", wish.pdf ? press.done() : report.files.size(), lifter.name)))
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
    const std::string html = documents::page_html(sheets_page(*ahead, wish.paper));
    const auto put = wish.pdf ? press.put(html, file) : documents::write_whole_file(file, html);
    if (!put) return tl::unexpected(put.error());
    report.sessions += ahead->sheets.size();
    report.files.push_back(file);
  }
  if (wish.pdf) {
    const auto made = press.finish(
        [&](std::size_t done, std::size_t total) { return tell(fmt::format("{} of {} files made", done, total)); });
    if (!made) return tl::unexpected(made.error());
  }
  return report;
}

}  // namespace ullage::coach
