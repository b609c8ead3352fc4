#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "service/documents/page.h"
#include "service/documents/planned_sessions.h"

namespace ullage::documents {
namespace {

std::string short_day(Date date) {
  const std::string iso = date_text(date);
  return fmt::format("{} {}.{}.", weekday_name(date), std::stoi(iso.substr(8, 2)), std::stoi(iso.substr(5, 2)));
}

}  // namespace

std::string overview_html(const OverviewPage& page) {
  std::string out =
      fmt::format("<h1>{}</h1>\n<p class=\"when\">{}</p>\n", html_text(page.lifter), html_text(page.when));
  for (const std::string& note : page.notes) out += fmt::format("<p class=\"small\">{}</p>\n", html_text(note));
  std::map<int, std::vector<const PlannedSession*>> weeks;  // by the day of their Monday
  for (const PlannedSession& session : page.sessions) {
    weeks[session.date.days - (weekday(session.date) - 1)].push_back(&session);
  }
  for (const auto& [monday, sessions] : weeks) {
    std::vector<std::string> names;
    for (const PlannedSession* session : sessions) {
      for (const PlannedExercise& e : session->exercises) {
        if (std::find(names.begin(), names.end(), e.name) == names.end()) names.push_back(e.name);
      }
    }
    out += fmt::format(
        "<div class=\"finding\">\n<h2>Week of {}</h2>\n<table class=\"plain week\">\n<thead><tr><th "
        "scope=\"col\"></th>",
        html_text(short_day(Date{monday})));
    for (const PlannedSession* session : sessions) {
      out += fmt::format("<th scope=\"col\">{} {}<br>{:.0f} minutes</th>", html_text(short_day(session->date)),
                         html_text(session->label), session->minutes);
    }
    out += "</tr></thead>\n<tbody>\n";
    for (const std::string& name : names) {
      out += fmt::format("<tr><th scope=\"row\">{}</th>", html_text(name));
      for (const PlannedSession* session : sessions) {
        out += "<td>";
        for (const PlannedExercise& e : session->exercises) {
          if (e.name != name) continue;
          if (!e.vessels.empty()) out += vessels_svg(e.vessels, 11, e.name + ": " + e.text);
          out += fmt::format("<div>{}</div>", html_text(e.brief));
        }
        out += "</td>";
      }
      out += "</tr>\n";
    }
    out += "</tbody>\n</table>\n</div>\n";
  }
  return out;
}

}  // namespace ullage::documents
