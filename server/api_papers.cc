// Papers and files to take along: session sheets, the days ahead, the report, a calendar, a workbook; and the sheets of
// everyone as one archive, made in the background.
#include <algorithm>
#include <filesystem>

#include "server/routes.h"
#include "server/zip.h"
#include "service/coach/paper.h"
#include "service/documents/html.h"
#include "service/documents/pdf.h"

namespace ullage::server {
namespace {

namespace fs = std::filesystem;

// How papers are wished, in a query or in the fields of a body.
struct Form {
  bool pdf = true;
  coach::PaperForm paper;
};
template <class Asked>
coach::Language language_of(Asked& asked) {
  return asked.choice("language", {"en", "de"}).value_or(0) == 0 ? coach::Language::english : coach::Language::german;
}
template <class Asked>
Form form_of(Asked& asked) {
  Form form;
  form.pdf = asked.choice("format", {"pdf", "html"}).value_or(0) == 0;
  form.paper.paper =
      asked.choice("paper", {"a4", "letter"}).value_or(0) == 0 ? documents::Paper::a4 : documents::Paper::letter;
  form.paper.language = language_of(asked);
  return form;
}

// A document as the file that was wished. HTML is a download as well: shown at this address it would stand under the
// page's own content policy, which allows no style of its own.
Answer written(Call& call, const documents::Document& paper, const Form& form, const std::string& name) {
  if (!form.pdf) {
    http::Response response;
    response.with("Content-Type", "text/html; charset=utf-8")
        .with("Cache-Control", "no-store")
        .with("Content-Disposition", "attachment; filename=\"" + name + ".html\"");
    response.body = documents::html(paper);
    return response;
  }
  const auto turn = call.services.pressing.take();
  if (!turn) return tl::unexpected(Problem(503, "busy", "two other papers are being made; try again in a moment"));
  const std::string file = call.services.new_file(".pdf");
  if (const auto done = documents::write_pdf(paper, file); !done) return problem(done.error());
  return download(file, "application/pdf", name + ".pdf");
}

// A hold is told before a missing fit.
Outcome<void> may_plan(Call& call, const Lifter& lifter, Date day) {
  const auto gate = call.desk.strict_gate(lifter, day);
  if (!gate) return problem(gate.error());
  if (!gate->allowed()) return {};
  if (auto fitted = need_fit(call, lifter); !fitted) return tl::unexpected(fitted.error());
  return {};
}

struct AheadAsked {
  Lifter lifter;
  coach::AheadWish wish;
};
// Reads the days that are asked for; the query is done with after that.
Outcome<AheadAsked> ahead_of(Call& call, int days) {
  auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  AheadAsked out{std::move(*lifter), {}};
  out.wish.lifter = out.lifter.id;
  out.wish.from = call.query.date("from");
  out.wish.days = call.query.whole("days", 1, 120).value_or(days);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  if (auto may = may_plan(call, out.lifter, out.wish.from.value_or(call.desk.today())); !may)
    return tl::unexpected(may.error());
  return out;
}

Outcome<coach::Ahead> planned(Call& call, const AheadAsked& asked) {
  auto ahead = coach::planned_sessions(call.desk, asked.wish);
  if (!ahead) return refused(call, asked.lifter, ahead.error());
  if (ahead->sheets.empty()) {
    std::string why = "no session lies in these days";
    for (const std::string& note : ahead->notes) why += "\n" + note;
    return tl::unexpected(Problem(Error{Code::not_found, why}));
  }
  return std::move(*ahead);
}

std::string day_of(const AheadAsked& asked, Call& call) {
  return date_text(asked.wish.from.value_or(call.desk.today()));
}

}  // namespace

Answer get_session_paper(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const Form form = form_of(call.query);
  coach::SessionWish wish;
  wish.lifter = lifter->id;
  wish.date = call.query.date("date");
  wish.session = call.query.text("session").value_or("");
  wish.keep = false;
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const Date day = wish.date.value_or(call.desk.today());
  if (auto may = may_plan(call, *lifter, day); !may) return tl::unexpected(may.error());
  const auto sheet = coach::write_session(call.desk, wish);
  if (!sheet) return refused(call, *lifter, sheet.error());
  return written(call, coach::session_paper(*sheet, form.paper), form, lifter->id + "-session-" + date_text(day));
}

Answer get_sheets_paper(Call& call) {
  const Form form = form_of(call.query);
  const auto asked = ahead_of(call, 7);
  if (!asked) return tl::unexpected(asked.error());
  const auto ahead = planned(call, *asked);
  if (!ahead) return tl::unexpected(ahead.error());
  return written(call, coach::sheets_paper(*ahead, form.paper), form,
                 asked->lifter.id + "-sheets-" + day_of(*asked, call));
}

Answer get_overview_paper(Call& call) {
  const Form form = form_of(call.query);
  const auto asked = ahead_of(call, 7);
  if (!asked) return tl::unexpected(asked.error());
  const auto ahead = planned(call, *asked);
  if (!ahead) return tl::unexpected(ahead.error());
  const Date from = asked->wish.from.value_or(call.desk.today());
  return written(call, coach::overview_paper(*ahead, from, asked->wish.days, form.paper), form,
                 asked->lifter.id + "-overview-" + date_text(from));
}

Answer get_report_paper(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const Form form = form_of(call.query);
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  if (auto fitted = need_fit(call, *lifter); !fitted) return tl::unexpected(fitted.error());
  const auto report = coach::lifter_report(call.desk, lifter->id);
  if (!report) return refused(call, *lifter, report.error());
  return written(call, coach::report_paper(*report, form.paper), form,
                 lifter->id + "-report-" + date_text(call.desk.today()));
}

Answer get_calendar(Call& call) {
  coach::CalendarAsk ask;
  if (const auto start = call.query.text("start")) {
    const std::string& text = *start;
    const bool shaped = text.size() == 5 && text[2] == ':' && std::all_of(text.begin(), text.end(), [](char c) {
                          return c == ':' || (c >= '0' && c <= '9');
                        });
    const int hour = shaped ? std::stoi(text.substr(0, 2)) : 99, minute = shaped ? std::stoi(text.substr(3)) : 99;
    if (hour > 23 || minute > 59) return wrong("start", "a time such as 18:30 was expected");
    ask.start_minute = hour * 60 + minute;
  }
  ask.zone = call.query.text("zone").value_or("");
  if (!ask.zone.empty() && !ask.start_minute) return wrong("zone", "only together with start");
  ask.language = language_of(call.query);
  const auto asked = ahead_of(call, 28);
  if (!asked) return tl::unexpected(asked.error());
  const auto ahead = planned(call, *asked);
  if (!ahead) return tl::unexpected(ahead.error());
  const auto text = coach::calendar_of(call.desk, *ahead, ask);
  if (!text) return problem(text.error());
  http::Response response;
  response.with("Content-Type", "text/calendar; charset=utf-8")
      .with("Cache-Control", "no-store")
      .with("Content-Disposition",
            "attachment; filename=\"" + asked->lifter.id + "-" + day_of(*asked, call) + ".ics\"");
  response.body = *text;
  return response;
}

Answer get_workbook(Call& call) {
  const std::string who = call.query.text("lifter").value_or("");
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  std::string name = "ullage";
  if (!who.empty()) {
    const auto lifter = call.desk.lifter(who);
    if (!lifter) return problem(lifter.error());
    name = lifter->id;
  }
  const auto turn = call.services.pressing.take();
  if (!turn) return tl::unexpected(Problem(503, "busy", "two other papers are being made; try again in a moment"));
  const std::string file = call.services.new_file(".xlsx");
  if (const auto sets = coach::write_data_workbook(call.desk, file, who); !sets) return problem(sets.error());
  return download(file, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
                  name + "-" + date_text(call.desk.today()) + ".xlsx");
}

Answer post_papers(Call& call) {
  Fields fields = call.fields();
  coach::SheetsWish wish;
  wish.from = fields.date("from");
  wish.days = fields.whole("days", 1, 120).value_or(7);
  const Form form = form_of(fields);
  wish.pdf = form.pdf;
  wish.form = form.paper;
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  wish.folder = call.services.new_file("");
  Services& services = call.services;
  const auto started = services.jobs.start(
      "papers", "sheets of everyone", [wish, &services](coach::Desk& desk, const Tell& tell) -> Result<Json> {
        struct Swept {
          std::string folder;
          ~Swept() {
            std::error_code ignored;
            fs::remove_all(folder, ignored);
          }
        } const swept{wish.folder};
        const auto made = coach::write_sheets(desk, wish, tell);
        if (!made) return tl::unexpected(made.error());
        Json json = {{"files", made->files.size()}, {"sessions", made->sessions}, {"without", made->without}};
        json["paper"] = nullptr;
        if (made->files.empty()) return json;
        std::vector<std::string> names;
        for (const std::string& file : made->files) names.push_back(fs::path(file).filename().string());
        const std::string archive = services.new_file(".zip");
        if (const auto zipped = write_zip(archive, wish.folder, names); !zipped) return tl::unexpected(zipped.error());
        std::error_code none;
        const auto bytes = fs::file_size(archive, none);
        const std::shared_ptr<const std::string> kept(new std::string(archive), [](const std::string* name) {
          std::error_code ignored;
          fs::remove(*name, ignored);
          delete name;
        });
        json["paper"] = services.papers
                            .add("sheets-" + date_text(wish.from.value_or(desk.today())) + ".zip", kept,
                                 none ? 0 : static_cast<std::uint64_t>(bytes))
                            .id;
        return json;
      });
  if (!started) return tl::unexpected(started.error());
  return json_response(*started, 202);
}

Answer get_papers(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto paper = call.services.papers.find(call.parameter("paper"));
  if (!paper)
    return tl::unexpected(Problem(404, "not_found", "these papers are no longer here: make them again", "paper"));
  // What is sent is removed: another name for the same file, so that it can be fetched again.
  const std::string file = call.services.new_file(".zip");
  std::error_code failed;
  fs::create_hard_link(*paper->file, file, failed);
  if (failed) return problem({Code::unavailable, "the papers cannot be read: " + failed.message()});
  return download(file, "application/zip", paper->name);
}

}  // namespace ullage::server
