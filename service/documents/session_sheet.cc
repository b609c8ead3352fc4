#include "service/documents/session_sheet.h"

#include <fmt/format.h>

#include "service/documents/page.h"

namespace ullage::documents {
namespace {

std::string paragraph(const char* of_class, const std::string& text) {
  return text.empty() ? "" : fmt::format("<p class=\"{}\">{}</p>\n", of_class, html_text(text));
}

std::string exercise_html(const SheetExercise& e, int number) {
  std::string out = fmt::format("<div class=\"exercise\">\n<h2>{}. {} <span class=\"aim\">{}</span></h2>\n", number,
                                html_text(e.name), html_text(e.aim));
  std::vector<Vessel> vessels;
  std::string says;
  for (const SheetSet& set : e.sets) {
    vessels.push_back(set.vessel);
    says += fmt::format("{}set {}: {} reps, {}", says.empty() ? "" : "; ", set.number, set.reps, set.leaves);
  }
  out += "<div class=\"drawn\">\n";
  if (!vessels.empty()) out += vessels_svg(vessels, 23, says);
  for (const SheetBar& bar : e.bars) {
    out += fmt::format("<p class=\"small\">{}: {}</p>\n", html_text(bar.load), html_text(bar.words));
    if (!bar.plates.empty()) out += bar_svg(bar.plates, bar.load + ": " + bar.words);
  }
  out += "</div>\n";
  out += paragraph("warm small", e.warm_up);
  out +=
      "<table class=\"sets\">\n<thead><tr><th scope=\"col\" class=\"number\">set</th><th scope=\"col\" "
      "class=\"do\">load and reps</th><th scope=\"col\">when to stop</th><th scope=\"col\" class=\"box\">reps "
      "done</th><th scope=\"col\" class=\"box\">how many more?</th></tr></thead>\n<tbody>\n";
  for (const SheetSet& set : e.sets) {
    out += fmt::format(
        "<tr><td class=\"number\">{}</td><td class=\"do\">{} &#215; {}{}</td><td class=\"cue\">{}{}</td><td "
        "class=\"box\"><span "
        "class=\"blank\"></span></td><td class=\"box\"><span class=\"blank\"></span></td></tr>\n",
        set.number, html_text(set.load), set.reps, set.to_failure ? "+" : "",
        set.rest_before.empty() ? "" : html_text("rest " + set.rest_before + " first; "), html_text(set.cue));
  }
  out += "</tbody>\n</table>\n";
  out += paragraph("rest small", e.rest);
  out += paragraph("why small", e.why);
  for (const std::string& remark : e.remarks) out += paragraph("small quiet", remark);
  return out + "</div>\n";
}

}  // namespace

std::string session_sheet_html(const SessionSheetPage& sheet) {
  std::string out =
      fmt::format("<h1>{}</h1>\n<p class=\"when\">{}</p>\n", html_text(sheet.lifter), html_text(sheet.when));
  for (const std::string& note : sheet.notes) out += paragraph("small", note);
  int number = 0;
  for (const SheetExercise& e : sheet.exercises) out += exercise_html(e, ++number);
  if (!sheet.cautions.empty()) {
    out += "<div class=\"cautions\">\n<h3>Before you lift</h3>\n<ul>\n";
    for (const std::string& caution : sheet.cautions) out += fmt::format("<li>{}</li>\n", html_text(caution));
    out += "</ul>\n";
    out +=
        "<p class=\"key\">Each vessel is a set. Filled: the reps planned. Empty: what is left in reserve. Tinted, "
        "between the dotted "
        "walls: where failure lies, with 80 %; the dark line is its middle. Stop at the reps or at the cue, whichever "
        "comes "
        "first. \"How many more?\": write what you could still have done when you stopped, 0 if a rep "
        "failed.</p>\n</div>\n";
  }
  return out;
}

}  // namespace ullage::documents
