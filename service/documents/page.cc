#include "service/documents/page.h"

#include "engine/drawing/colour.h"
#include "engine/drawing/svg.h"

namespace ullage::documents {
namespace {

using drawing::Role;
using drawing::Theme;

// One type scale, in points for paper: 8 for notes, 10.5 for text, 13 and 20 for headings and what is lifted.
constexpr std::string_view kStyle = R"css(
html { font: 10.5pt/1.35 "Liberation Serif", "DejaVu Serif", Georgia, serif; color: INK; background: #fff; }
body { margin: 0; }
.part { break-before: page; }
.part:first-child { break-before: auto; }
h1, h2, h3, p, table, ul, figure { margin: 0; padding: 0; }
h1 { font-size: 20pt; font-weight: normal; line-height: 1.15; string-set: whose content(); }
h2 { font-size: 13pt; font-weight: bold; line-height: 1.25; break-after: avoid; }
h3 { font-size: 10.5pt; font-weight: bold; break-after: avoid; }
.figures, table { font-family: "Liberation Sans", "DejaVu Sans", Arial, sans-serif; }
.when { font-size: 10.5pt; color: QUIET; margin: 0.5mm 0 2mm 0; }
.quiet { color: QUIET; }
.small { font-size: 8.5pt; line-height: 1.3; }
.exercise, .finding { border-top: 0.5pt solid INK; padding: 1.5mm 0 2.5mm 0; break-inside: avoid; clear: both; }
.exercise h2 .aim { font-weight: normal; font-size: 10.5pt; color: QUIET; }
.drawn { float: right; width: 54mm; margin: 0 0 1mm 4mm; text-align: right; }
.drawn svg { display: block; margin-left: auto; }
.drawn p { margin-top: 1mm; }
.exercise:after { content: ""; display: block; clear: both; }
.warm, .rest, .why { margin-top: 1mm; }
table { border-collapse: separate; border-spacing: 0; }
table.sets { margin-top: 1.5mm; width: 123mm; table-layout: fixed; }
table.sets th { font-size: 8pt; font-weight: normal; color: QUIET; text-align: left; padding: 0 2mm 0.5mm 0; }
table.sets td { vertical-align: middle; padding: 0.7mm 2mm 0.7mm 0; border-top: 0.3pt solid RULE; }
table.sets .number { width: 6mm; color: QUIET; }
table.sets .do { width: 38mm; }
table.sets td.do { font-size: 15pt; line-height: 1.1; white-space: nowrap; }
table.sets td.cue { font-size: 9pt; line-height: 1.2; }
table.sets .box { width: 14.5mm; }
.blank { display: block; width: 11.5mm; height: 7.4mm; border: 0.8pt solid INK; }
.cautions { border-top: 0.5pt solid INK; padding-top: 1.5mm; font-size: 8.5pt; line-height: 1.3; break-inside: avoid; clear: both; }
.cautions ul { columns: 2; column-gap: 6mm; }
.cautions li { margin: 0 0 0.5mm 4mm; break-inside: avoid; }
.key { margin-top: 1.5mm; font-size: 8pt; color: QUIET; }
.finding h2 { margin-bottom: 1mm; }
.finding p { margin-bottom: 1mm; }
.finding:after { content: ""; display: block; clear: both; }
.finding figure { float: right; width: 104mm; margin: 0 0 1mm 6mm; }
.finding figure svg { width: 104mm; height: auto; display: block; }
table.plain { width: 100%; margin-top: 1mm; font-size: 9pt; }
table.plain th { text-align: left; font-weight: normal; color: QUIET; border-bottom: 0.5pt solid INK; padding: 0.5mm 3mm 0.5mm 0; }
table.plain td { vertical-align: top; border-bottom: 0.3pt solid RULE; padding: 1mm 3mm 1mm 0; }
table.plain tbody th { vertical-align: top; color: INK; border-bottom: 0.3pt solid RULE; padding: 1mm 3mm 1mm 0; }
table.plain tr { break-inside: avoid; }
table.week { table-layout: fixed; font-size: 8.5pt; line-height: 1.2; }
table.week th:first-child { width: 30mm; }
table.week td { padding: 0.8mm 3mm 0.6mm 0; }
)css";

// A browser's window may be as narrow as a phone: the drawings go above the table, and wide tables scroll by
// themselves.
constexpr std::string_view kOnScreen = R"css(@media screen {
  html { color-scheme: light; }
  body { max-width: 190mm; margin: 8mm auto; padding: 0 4mm; }
  .part + .part { margin-top: 12mm; }
}
@media screen and (max-width: 780px) {
  .drawn, .finding figure { float: none; width: auto; margin: 1mm 0; text-align: left; }
  .drawn svg { margin-left: 0; max-width: 100%; }
  .finding figure svg { width: 100%; }
  .cautions ul { columns: 1; }
  table.sets { width: 100%; table-layout: auto; }
  table.sets .do { width: auto; }
  table.sets td.do { font-size: 13pt; white-space: normal; }
  table.plain { display: block; overflow-x: auto; }
}
)css";

void replace_all(std::string& text, std::string_view from, std::string_view to) {
  for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size())) {
    text.replace(at, from.size(), to);
  }
}

}  // namespace

std::string html_text(std::string_view text) { return drawing::escaped(text); }

std::string page_html(const Page& page) {
  std::string style(kStyle);
  replace_all(style, "INK", drawing::colour(Role::ink, Theme::print));
  replace_all(style, "QUIET", drawing::colour(Role::quiet, Theme::print));
  replace_all(style, "RULE", drawing::colour(Role::rule, Theme::print));
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"" + html_text(page.language) +
      "\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, "
      "initial-scale=1\">\n<title>" +
      html_text(page.title) + "</title>\n<style>\n@page { size: " + (page.paper == Paper::a4 ? "A4" : "letter") +
      "; margin: 12mm 13mm 14mm 13mm;\n  @bottom-left { content: string(whose); font: 8pt \"Liberation Sans\", "
      "sans-serif; }\n  @bottom-right { content: \"page \" counter(page) \" of \" counter(pages); font: 8pt "
      "\"Liberation Sans\", sans-serif; } }\n";
  out += style;
  out += kOnScreen;
  out += "</style>\n</head>\n<body>\n";
  for (const std::string& body : page.bodies) {
    out += "<section class=\"part\">\n";
    out += body;
    out += "</section>\n";
  }
  out += "</body>\n</html>\n";
  return out;
}

}  // namespace ullage::documents
