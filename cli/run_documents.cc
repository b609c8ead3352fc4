// report, sheets, overview, calendar, and what session writes to paper; pictures for --plot.
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <filesystem>

#include "cli/app.h"
#include "cli/context.h"
#include "cli/show.h"
#include "service/coach/documents.h"
#include "service/documents/page.h"
#include "service/documents/pdf.h"
#include "service/pictures/write_picture.h"

namespace ullage::cli {
namespace {

documents::Page page_of(Context& c, std::string title) {
  documents::Page page;
  page.title = std::move(title);
  page.paper = c.args.text("--paper", "a4") == "letter" ? documents::Paper::letter : documents::Paper::a4;
  return page;
}

Result<void> write_page(Context& c, const documents::Page& page, const std::string& format, const std::string& file) {
  const std::string html = documents::page_html(page);
  if (format == "html") return documents::write_whole_file(file, html);
  documents::PdfOptions options;
  options.progress = [&](std::size_t done, std::size_t total) {
    return c.progress.tell(total ? double(done) / double(total) : 1, "making " + file);
  };
  const auto written = documents::write_pdfs({{html, file}}, options);
  c.progress.clear();
  return written;
}

void say_written(Context& c, const std::string& file, const std::vector<std::string>& notes = {}) {
  if (c.json) {
    c.print({{"file", file}, {"notes", notes}});
    return;
  }
  c.term.line("written: " + file);
  for (const std::string& note : notes) c.term.quiet(note);
}

// A name of a lifter as the name of a file.
std::string file_name(const Lifter& lifter) { return lifter.id; }

Result<int> minute_of(const std::string& text) {
  const std::size_t colon = text.find(':');
  const auto figures = [](std::string_view part) {
    return !part.empty() && part.size() <= 2 &&
           std::all_of(part.begin(), part.end(), [](char ch) { return ch >= '0' && ch <= '9'; });
  };
  if (colon != std::string::npos && figures(std::string_view(text).substr(0, colon)) &&
      figures(std::string_view(text).substr(colon + 1)) && text.size() == colon + 3) {
    const int hour = std::stoi(text.substr(0, colon)), minute = std::stoi(text.substr(colon + 1));
    if (hour < 24 && minute < 60) return hour * 60 + minute;
  }
  return fail(Code::invalid_input, fmt::format("--start: \"{}\" is not a time such as 18:30", text));
}

Result<void> print_findings(Context& c, const documents::FindingsPage& page) {
  if (c.json || c.args.text("--format") == "json") {
    coach::Json json;
    json["lifter"] = page.lifter;
    json["title"] = page.when;
    json["findings"] = coach::Json::array();
    for (const documents::Finding& finding : page.findings) {
      coach::Json one;
      one["heading"] = finding.heading;
      one["paragraphs"] = finding.paragraphs;
      one["columns"] = finding.columns;
      one["rows"] = finding.rows;
      json["findings"].push_back(std::move(one));
    }
    json["notes"] = page.notes;
    c.print(json);
    return {};
  }
  c.term.heading(page.lifter);
  c.term.quiet(page.when);
  for (const documents::Finding& finding : page.findings) {
    c.term.line();
    c.term.heading(finding.heading);
    for (const std::string& paragraph : finding.paragraphs) c.term.line(paragraph, 2, 0);
    for (const auto& row : finding.rows) {
      std::string text = row.empty() ? "" : row[0] + ": ";
      for (std::size_t i = 1; i < row.size(); ++i) {
        if (row[i].empty()) continue;
        text += (i > 1 ? "; " : "") + finding.columns[i] + " " + row[i];
      }
      c.term.line(text, 2, 4);
    }
  }
  if (!page.notes.empty()) c.term.line();
  for (const std::string& note : page.notes) c.term.quiet(note);
  return {};
}

}  // namespace

Result<void> plot_name(Context& c) {
  if (!c.args.has("--plot")) return {};
  const auto format = pictures::format_of(c.args.text("--plot"));
  if (!format) return tl::unexpected(format.error());
  return {};
}

Result<void> plot(Context& c, const drawing::Picture& picture) {
  if (!c.args.has("--plot")) return {};
  return pictures::write_picture(picture, c.args.text("--plot"));
}

Result<void> write_session_document(Context& c, const coach::SessionSheet& sheet) {
  documents::Page page = page_of(c, sheet.lifter.name + ": session of " + coach::paper_day(sheet.plan.date));
  page.bodies.push_back(documents::session_sheet_html(coach::sheet_page(sheet)));
  const std::string file = c.args.text("--output");
  if (const auto written = write_page(c, page, c.args.text("--format"), file); !written) return written;
  say_written(c, file);
  return {};
}

Result<void> run_report(Context& c) {
  const std::string format = c.args.text("--format", "text");
  const bool on_paper = format == "html" || format == "pdf";
  if (on_paper != c.args.has("--output")) {
    return fail(Code::invalid_input, on_paper ? "--output: --format " + format + " needs a file to write to"
                                              : std::string("--output: only with --format html or pdf"));
  }
  const auto report =
      coach::lifter_report(c.desk(), c.args.text("--lifter"), c.share("fitting " + c.args.text("--lifter")));
  if (!report) return tl::unexpected(report.error());
  c.progress.clear();
  if (!on_paper) return print_findings(c, *report);
  documents::Page page = page_of(c, report->lifter + ": " + report->when);
  page.bodies.push_back(documents::findings_html(*report));
  if (const auto written = write_page(c, page, format, c.args.text("--output")); !written) return written;
  say_written(c, c.args.text("--output"));
  return {};
}

Result<void> run_sheets(Context& c) {
  std::vector<Lifter> lifters;
  if (c.args.has("--lifter")) {
    auto one = c.lifter();
    if (!one) return tl::unexpected(one.error());
    lifters.push_back(std::move(*one));
  } else {
    auto all = c.store().lifters();
    if (!all) return tl::unexpected(all.error());
    lifters = std::move(*all);
  }
  const std::string folder = c.args.text("FOLDER"), format = c.args.text("--format", "pdf");
  std::error_code problem;
  std::filesystem::create_directories(folder, problem);
  if (problem || !std::filesystem::is_directory(folder))
    return fail(Code::unavailable, folder + " cannot be made: " + problem.message());
  std::vector<documents::PdfJob> jobs;
  std::vector<std::string> without;
  std::size_t sessions = 0;
  for (std::size_t i = 0; i < lifters.size(); ++i) {
    if (!c.progress.tell(0.5 * double(i) / double(lifters.size()), "planning for " + lifters[i].name))
      return fail(Code::cancelled, "stopped");
    coach::AheadWish wish;
    wish.lifter = lifters[i].id;
    wish.from = c.args.date("--from");
    wish.days = c.args.whole("--days").value_or(7);
    const auto ahead = coach::planned_sessions(c.desk(), wish);
    if (!ahead) {
      if (c.args.has("--lifter") ||
          (ahead.error().code != Code::not_allowed && ahead.error().code != Code::invalid_input)) {
        return tl::unexpected(ahead.error());
      }
      if (ahead.error().message.rfind("--", 0) == 0) return tl::unexpected(ahead.error());
      without.push_back(ahead.error().message);
      continue;
    }
    documents::Page page = page_of(c, lifters[i].name + ": session sheets");
    for (const coach::SessionSheet& sheet : ahead->sheets) {
      documents::SessionSheetPage body = coach::sheet_page(sheet);
      body.notes.insert(body.notes.begin(), ahead->notes.begin(), ahead->notes.begin() + 1);
      page.bodies.push_back(documents::session_sheet_html(body));
    }
    for (std::size_t n = 1; n < ahead->notes.size(); ++n) without.push_back(lifters[i].name + ", " + ahead->notes[n]);
    if (page.bodies.empty()) {
      if (ahead->notes.size() <= 1) without.push_back(lifters[i].name + ": no session in these days");
      continue;
    }
    sessions += page.bodies.size();
    jobs.push_back({documents::page_html(page), folder + "/" + file_name(lifters[i]) + "." + format});
  }
  if (format == "html") {
    for (const documents::PdfJob& job : jobs) {
      if (const auto put = documents::write_whole_file(job.file, job.html); !put) return put;
    }
  } else {
    documents::PdfOptions options;
    options.progress = [&](std::size_t done, std::size_t total) {
      return c.progress.tell(0.5 + 0.5 * double(done) / double(std::max<std::size_t>(total, 1)),
                             fmt::format("{} of {} files made", done, total));
    };
    if (const auto made = documents::write_pdfs(jobs, options); !made) return made;
  }
  c.progress.clear();
  if (c.json) {
    coach::Json json;
    json["files"] = coach::Json::array();
    for (const documents::PdfJob& job : jobs) json["files"].push_back(job.file);
    json["sessions"] = sessions;
    json["without"] = without;
    c.print(json);
    return {};
  }
  c.term.line(fmt::format("{} for {} in {}", counted(static_cast<std::int64_t>(sessions), "session"),
                          counted(static_cast<std::int64_t>(jobs.size()), "lifter"), folder));
  for (const std::string& line : without) c.term.caution("No sheet: " + line);
  return {};
}

Result<void> run_overview(Context& c) {
  coach::AheadWish wish;
  wish.lifter = c.args.text("--lifter");
  wish.from = c.args.date("--from");
  wish.days = c.args.whole("--days").value_or(28);
  const auto ahead = coach::planned_sessions(c.desk(), wish, c.share("fitting " + wish.lifter));
  if (!ahead) return tl::unexpected(ahead.error());
  const Date from = wish.from.value_or(c.desk().today());
  documents::OverviewPage overview;
  overview.lifter = ahead->lifter.name;
  overview.when = coach::paper_day(from) + " to " + coach::paper_day(from + (wish.days - 1));
  overview.notes = ahead->notes;
  overview.sessions = ahead->sessions;
  documents::Page page = page_of(c, overview.lifter + ": " + overview.when);
  page.bodies.push_back(documents::overview_html(overview));
  if (const auto written = write_page(c, page, c.args.text("--format", "pdf"), c.args.text("--output")); !written)
    return written;
  say_written(c, c.args.text("--output"), ahead->notes);
  return {};
}

Result<void> run_calendar(Context& c) {
  documents::CalendarWish calendar;
  if (c.args.has("--start")) {
    const auto minute = minute_of(c.args.text("--start"));
    if (!minute) return tl::unexpected(minute.error());
    calendar.start_minute = *minute;
  }
  calendar.zone = c.args.text("--zone");
  if (!calendar.zone.empty() && !calendar.start_minute) return fail(Code::invalid_input, "--zone: only with --start");
  coach::AheadWish wish;
  wish.lifter = c.args.text("--lifter");
  wish.from = c.args.date("--from");
  wish.days = c.args.whole("--days").value_or(28);
  const auto ahead = coach::planned_sessions(c.desk(), wish, c.share("fitting " + wish.lifter));
  if (!ahead) return tl::unexpected(ahead.error());
  calendar.lifter = ahead->lifter.name;
  calendar.sessions = ahead->sessions;
  // 2026-11-26T12:00:00.000Z -> 20261126T120000Z
  std::string stamp = c.environment.clock->now().substr(0, 19);
  std::erase_if(stamp, [](char ch) { return ch == '-' || ch == ':'; });
  calendar.stamp = stamp + "Z";
  const auto text = documents::calendar_text(calendar);
  if (!text) return tl::unexpected(text.error());
  if (const auto put = documents::write_whole_file(c.args.text("--output"), *text); !put) return put;
  std::vector<std::string> notes = ahead->notes;
  notes.insert(notes.begin(), counted(static_cast<std::int64_t>(ahead->sessions.size()), "session"));
  say_written(c, c.args.text("--output"), notes);
  return {};
}

}  // namespace ullage::cli
