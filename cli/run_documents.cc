// report, sheets, overview, calendar, and what session writes to paper; pictures for --plot.
#include <fmt/format.h>

#include <algorithm>

#include "cli/app.h"
#include "cli/context.h"
#include "cli/show.h"
#include "service/coach/paper.h"
#include "service/documents/html.h"
#include "service/documents/pdf.h"
#include "service/pictures/write_picture.h"

namespace ullage::cli {
namespace {

coach::PaperForm paper_of(Context& c) {
  return {c.args.text("--paper", "a4") == "letter" ? documents::Paper::letter : documents::Paper::a4,
          coach::parse_language(c.args.text("--language", "en")).value_or(coach::Language::english)};
}

std::vector<std::string> letters_note(std::size_t without_letters) {
  if (without_letters == 0) return {};
  return {
      fmt::format("No font of this machine has {}: they are printed as boxes. Debian's fonts-noto-core and "
                  "fonts-noto-cjk have most scripts.",
                  without_letters == 1 ? "one of the letters" : fmt::format("{} of the letters", without_letters))};
}

// Gives what is to be said about it.
Result<std::vector<std::string>> write_paper(const documents::Document& paper, const std::string& format,
                                             const std::string& file) {
  if (format == "html") {
    const auto put = documents::write_whole_file(file, documents::html(paper));
    if (!put) return tl::unexpected(put.error());
    return std::vector<std::string>{};
  }
  const auto made = documents::write_pdf(paper, file);
  if (!made) return tl::unexpected(made.error());
  return letters_note(made->without_letters);
}

void say_written(Context& c, const std::string& file, const std::vector<std::string>& notes = {}) {
  if (c.json) {
    c.print({{"file", file}, {"notes", notes}});
    return;
  }
  c.term.line("written: " + file);
  for (const std::string& note : notes) c.term.quiet(note);
}

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
  const auto say = [language = paper_of(c).language](const std::string& text) {
    return coach::in_language(language, text);
  };
  c.term.heading(page.lifter);
  c.term.quiet(say(page.when));
  for (const documents::Finding& finding : page.findings) {
    c.term.line();
    c.term.heading(say(finding.heading));
    for (const std::string& paragraph : finding.paragraphs) c.term.line(say(paragraph), 2, 0);
    for (const auto& row : finding.rows) {
      std::string text = row.empty() ? "" : say(row[0]) + ": ";
      for (std::size_t i = 1; i < row.size(); ++i) {
        if (row[i].empty()) continue;
        text += (i > 1 ? "; " : "") + say(finding.columns[i]) + " " + say(row[i]);
      }
      c.term.line(text, 2, 4);
    }
  }
  if (!page.notes.empty()) c.term.line();
  for (const std::string& note : page.notes) c.term.quiet(say(note));
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
  const std::string file = c.args.text("--output");
  const auto notes = write_paper(coach::session_paper(sheet, paper_of(c)), c.args.text("--format"), file);
  if (!notes) return tl::unexpected(notes.error());
  say_written(c, file, *notes);
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
  const auto notes = write_paper(coach::report_paper(*report, paper_of(c)), format, c.args.text("--output"));
  if (!notes) return tl::unexpected(notes.error());
  say_written(c, c.args.text("--output"), *notes);
  return {};
}

Result<void> run_sheets(Context& c) {
  coach::SheetsWish wish;
  wish.lifter = c.args.text("--lifter");
  wish.from = c.args.date("--from");
  wish.days = c.args.whole("--days").value_or(7);
  wish.form = paper_of(c);
  wish.pdf = c.args.text("--format", "pdf") == "pdf";
  wish.folder = c.args.text("FOLDER");
  const auto made = coach::write_sheets(
      c.desk(), wish, [&](double share, const std::string& what) { return c.progress.tell(share, what); });
  c.progress.clear();
  if (!made) return tl::unexpected(made.error());
  if (c.json) {
    coach::Json json;
    json["files"] = made->files;
    json["sessions"] = made->sessions;
    json["without"] = made->without;
    c.print(json);
    return {};
  }
  c.term.line(fmt::format("{} for {} in {}", counted(static_cast<std::int64_t>(made->sessions), "session"),
                          counted(static_cast<std::int64_t>(made->files.size()), "lifter"), wish.folder));
  for (const std::string& line : made->without) c.term.caution("No sheet: " + line);
  for (const std::string& line : letters_note(made->without_letters)) c.term.quiet(line);
  return {};
}

Result<void> run_overview(Context& c) {
  coach::AheadWish wish;
  wish.lifter = c.args.text("--lifter");
  wish.from = c.args.date("--from");
  wish.days = c.args.whole("--days").value_or(28);
  const auto ahead = coach::planned_sessions(c.desk(), wish, c.share("fitting " + wish.lifter));
  if (!ahead) return tl::unexpected(ahead.error());
  auto notes = write_paper(coach::overview_paper(*ahead, wish.from.value_or(c.desk().today()), wish.days, paper_of(c)),
                           c.args.text("--format", "pdf"), c.args.text("--output"));
  if (!notes) return tl::unexpected(notes.error());
  notes->insert(notes->begin(), ahead->notes.begin(), ahead->notes.end());
  say_written(c, c.args.text("--output"), *notes);
  return {};
}

Result<void> run_calendar(Context& c) {
  coach::CalendarAsk calendar;
  if (c.args.has("--start")) {
    const auto minute = minute_of(c.args.text("--start"));
    if (!minute) return tl::unexpected(minute.error());
    calendar.start_minute = *minute;
  }
  calendar.zone = c.args.text("--zone");
  calendar.language = paper_of(c).language;
  if (!calendar.zone.empty() && !calendar.start_minute) return fail(Code::invalid_input, "--zone: only with --start");
  coach::AheadWish wish;
  wish.lifter = c.args.text("--lifter");
  wish.from = c.args.date("--from");
  wish.days = c.args.whole("--days").value_or(28);
  const auto ahead = coach::planned_sessions(c.desk(), wish, c.share("fitting " + wish.lifter));
  if (!ahead) return tl::unexpected(ahead.error());
  const auto text = coach::calendar_of(c.desk(), *ahead, calendar);
  if (!text) return tl::unexpected(text.error());
  if (const auto put = documents::write_whole_file(c.args.text("--output"), *text); !put) return put;
  std::vector<std::string> notes = ahead->notes;
  notes.insert(notes.begin(), counted(static_cast<std::int64_t>(ahead->sessions.size()), "session"));
  say_written(c, c.args.text("--output"), notes);
  return {};
}

}  // namespace ullage::cli
