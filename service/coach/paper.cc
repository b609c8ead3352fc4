#include "service/coach/paper.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <utility>

#include "service/documents/html.h"
#include "service/documents/pdf.h"
#include "service/documents/translated.h"
#include "service/words/patterns.h"

namespace ullage::coach {

namespace {

documents::Document finished(documents::Document english, Language language) {
  if (language == Language::english) return english;
  return documents::translated(std::move(english), "de",
                               [language](std::string_view text) { return in_language(language, text); });
}

}  // namespace

std::optional<Language> parse_language(std::string_view code) {
  if (code == "en") return Language::english;
  if (code == "de") return Language::german;
  return std::nullopt;
}

std::string in_language(Language language, std::string_view english) {
  if (language == Language::english || english.empty()) return std::string(english);
  const words::Patterns& patterns = words::german();
  if (auto said = patterns.say(english)) return std::move(*said);
  // A sentence of the program that was given a capital or a full stop on its way to the paper.
  const bool stop = english.size() > 1 && english.back() == '.';
  const bool capital = english[0] >= 'A' && english[0] <= 'Z';
  for (const bool without_stop : {false, true}) {
    for (const bool lower : {false, true}) {
      if ((without_stop && !stop) || (lower && !capital) || (!without_stop && !lower)) continue;
      std::string text(english.substr(0, english.size() - (without_stop ? 1 : 0)));
      if (lower) text[0] = static_cast<char>(text[0] - 'A' + 'a');
      auto said = patterns.say(text);
      if (!said) continue;
      if (lower && (*said)[0] >= 'a' && (*said)[0] <= 'z') (*said)[0] = static_cast<char>((*said)[0] - 'a' + 'A');
      return without_stop ? *said + "." : *said;
    }
  }
  return std::string(english);
}

documents::Document session_paper(const SessionSheet& sheet, PaperForm form) {
  return finished({sheet.lifter.name + ": session of " + paper_day(sheet.plan.date),
                   "en",
                   form.paper,
                   {documents::session_sheet(sheet_page(sheet))}},
                  form.language);
}

documents::Document sheets_paper(const Ahead& ahead, PaperForm form) {
  documents::Document out{ahead.lifter.name + ": session sheets", "en", form.paper, {}};
  for (const SessionSheet& sheet : ahead.sheets) {
    documents::SessionSheetPage page = sheet_page(sheet);
    if (!ahead.notes.empty()) page.notes.insert(page.notes.begin(), ahead.notes.front());
    out.parts.push_back(documents::session_sheet(page));
  }
  return finished(std::move(out), form.language);
}

documents::Document report_paper(const documents::FindingsPage& report, PaperForm form) {
  return finished({report.lifter + ": " + report.when, "en", form.paper, {documents::findings_part(report)}},
                  form.language);
}

documents::Document overview_paper(const Ahead& ahead, Date from, int days, PaperForm form) {
  documents::OverviewPage overview;
  overview.lifter = ahead.lifter.name;
  overview.when = paper_day(from) + " to " + paper_day(from + (days - 1));
  overview.notes = ahead.notes;
  overview.sessions = ahead.sessions;
  return finished({overview.lifter + ": " + overview.when, "en", form.paper, {documents::overview_part(overview)}},
                  form.language);
}

Result<std::string> calendar_of(Desk& desk, const Ahead& ahead, const CalendarAsk& ask) {
  documents::CalendarWish calendar;
  calendar.lifter = ahead.lifter.name;
  calendar.sessions = ask.language == Language::english
                          ? ahead.sessions
                          : documents::translated(
                                ahead.sessions, [&](std::string_view text) { return in_language(ask.language, text); });
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
    const documents::Document paper = sheets_paper(*ahead, wish.form);
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
