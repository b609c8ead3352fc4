#include "service/documents/findings.h"

#include <fmt/format.h>

#include "service/documents/page.h"

namespace ullage::documents {

std::string findings_html(const FindingsPage& page) {
  std::string out =
      fmt::format("<h1>{}</h1>\n<p class=\"when\">{}</p>\n", html_text(page.lifter), html_text(page.when));
  for (const Finding& finding : page.findings) {
    out += fmt::format("<div class=\"finding\">\n<h2>{}</h2>\n", html_text(finding.heading));
    if (!finding.figure.empty()) out += "<figure>\n" + finding.figure + "</figure>\n";
    for (const std::string& paragraph : finding.paragraphs) out += fmt::format("<p>{}</p>\n", html_text(paragraph));
    if (!finding.columns.empty()) {
      out += "<table class=\"plain\">\n<thead><tr>";
      for (const std::string& column : finding.columns)
        out += fmt::format("<th scope=\"col\">{}</th>", html_text(column));
      out += "</tr></thead>\n<tbody>\n";
      for (const auto& row : finding.rows) {
        out += "<tr>";
        for (const std::string& cell : row) out += fmt::format("<td>{}</td>", html_text(cell));
        out += "</tr>\n";
      }
      out += "</tbody>\n</table>\n";
    }
    out += "</div>\n";
  }
  if (!page.notes.empty()) {
    out += "<div class=\"cautions\">\n";
    for (const std::string& note : page.notes) out += fmt::format("<p>{}</p>\n", html_text(note));
    out += "</div>\n";
  }
  return out;
}

}  // namespace ullage::documents
