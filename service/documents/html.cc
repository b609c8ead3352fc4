#include "service/documents/html.h"

#include <fmt/format.h>

#include <algorithm>

#include "engine/drawing/colour.h"
#include "engine/drawing/svg.h"

namespace ullage::documents {
namespace {

using drawing::Role;
using drawing::Theme;

// One type scale, in points for paper (pdf.cc has the same measures): 8 for notes, 10.5 for text, 13 and 20 for
// headings and what is lifted.
constexpr std::string_view kStyle = R"css(
html { font: 10.5pt/1.35 "Liberation Serif", "DejaVu Serif", Georgia, serif; color: INK; background: #fff; }
body { margin: 0; }
.part { break-before: page; }
.part:first-child { break-before: auto; }
h1, h2, h3, p, table, ul, figure { margin: 0; padding: 0; }
h1 { font-size: 20pt; font-weight: normal; line-height: 1.15; }
h2 { font-size: 13pt; font-weight: bold; line-height: 1.25; break-after: avoid; }
h3 { font-size: 10.5pt; font-weight: bold; break-after: avoid; }
.figures, table { font-family: "Liberation Sans", "DejaVu Sans", Arial, sans-serif; }
.when { font-size: 10.5pt; color: QUIET; margin: 0.5mm 0 2mm 0; }
.quiet { color: QUIET; }
.small { font-size: 8.5pt; line-height: 1.3; }
.exercise, .finding { border-top: 0.5pt solid INK; padding: 1.5mm 0 2.5mm 0; break-inside: avoid; clear: both; }
.exercise h2 .aim { font-weight: normal; font-size: 10.5pt; color: QUIET; }
.drawn { float: right; width: 54mm; margin: 0 0 1mm 4mm; text-align: right; }
.drawn svg { display: block; margin-left: auto; max-width: 100%; height: auto; }
.drawn p { margin-top: 1mm; }
.exercise:after { content: ""; display: block; clear: both; }
.above { margin-top: 1mm; }
table { border-collapse: separate; border-spacing: 0; }
table.sets { margin-top: 1.5mm; width: 126mm; table-layout: fixed; }
table.sets th { font-size: 8pt; font-weight: normal; color: QUIET; text-align: left; padding: 0 2mm 0.5mm 0; }
table.sets td { vertical-align: middle; padding: 0.7mm 2mm 0.7mm 0; border-top: 0.3pt solid RULE; }
table.sets .number { width: 4mm; color: QUIET; }
table.sets .do { width: 38mm; }
table.sets td.do { font-size: 15pt; line-height: 1.1; white-space: nowrap; }
table.sets td.cue { font-size: 10.5pt; line-height: 1.2; }
table.sets .box { width: 14mm; }
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
table.week svg { display: block; max-width: 100%; height: auto; }
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
  table.sets td.do { font-size: 13pt; padding-right: 3mm; }
  table.sets td.cue { font-size: 9pt; }
  table.sets .box { width: 11.5mm; }
  table.plain { display: block; overflow-x: auto; }
  table.week th:first-child { width: 20mm; }
  table.week td { min-width: 26mm; }
}
)css";

void replace_all(std::string& text, std::string_view from, std::string_view to) {
  for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size())) {
    text.replace(at, from.size(), to);
  }
}

// With the lines of the text kept apart.
std::string lines(std::string_view text) {
  std::string out;
  for (std::size_t begin = 0;;) {
    const std::size_t end = text.find('\n', begin);
    out += html_text(text.substr(begin, end == std::string_view::npos ? end : end - begin));
    if (end == std::string_view::npos) return out;
    out += "<br>";
    begin = end + 1;
  }
}

std::string put(const Paragraph& paragraph) {
  const char* of_class = "";
  switch (paragraph.look) {
    case Look::text: break;
    case Look::small: of_class = " class=\"small\""; break;
    case Look::above: of_class = " class=\"above small\""; break;
    case Look::quiet: of_class = " class=\"small quiet\""; break;
    case Look::key: of_class = " class=\"key\""; break;
  }
  return fmt::format("<p{}>{}</p>\n", of_class, html_text(paragraph.text));
}

std::string put(const Drawing& drawing) { return drawing.svg; }

std::string put(const Bullets& bullets) {
  std::string out = "<ul>\n";
  for (const std::string& item : bullets.items) out += fmt::format("<li>{}</li>\n", html_text(item));
  return out + "</ul>\n";
}

const char* class_of(Column column) {
  switch (column) {
    case Column::plain: return "";
    case Column::number: return " class=\"number\"";
    case Column::large: return " class=\"do\"";
    case Column::cue: return " class=\"cue\"";
    case Column::box: return " class=\"box\"";
  }
  return "";
}

std::string put(const Table& table) {
  const char* of_class = table.kind == Table::Kind::sets   ? "sets"
                         : table.kind == Table::Kind::week ? "plain week"
                                                           : "plain";
  std::string out = fmt::format("<table class=\"{}\">\n<thead><tr>", of_class);
  for (const auto& [heading, column] : table.columns)
    out += fmt::format("<th scope=\"col\"{}>{}</th>", class_of(column), lines(heading));
  out += "</tr></thead>\n<tbody>\n";
  for (const std::vector<Cell>& row : table.rows) {
    out += "<tr>";
    for (std::size_t i = 0; i < row.size(); ++i) {
      const Cell& cell = row[i];
      const Column column = table.columns[i].second;
      if (i == 0 && table.rows_have_heads) {
        out += fmt::format("<th scope=\"row\">{}</th>", lines(cell.text));
        continue;
      }
      out += fmt::format("<td{}>", class_of(column));
      if (column == Column::box) out += "<span class=\"blank\"></span>";
      for (const auto& [drawing, words] : cell.drawn)
        out += drawing.svg + fmt::format("<div>{}</div>", html_text(words));
      out += lines(cell.text) + "</td>";
    }
    out += "</tr>\n";
  }
  return out + "</tbody>\n</table>\n";
}

std::string put(const std::vector<Block>& blocks) {
  std::string out;
  for (const Block& block : blocks) out += std::visit([](const auto& one) { return put(one); }, block);
  return out;
}

std::string put(const Group& group) {
  const bool cautions = group.kind == Group::Kind::cautions, exercise = group.kind == Group::Kind::exercise;
  std::string out = fmt::format("<div class=\"{}\">\n", cautions ? "cautions" : exercise ? "exercise" : "finding");
  if (!group.heading.empty()) {
    out += fmt::format("<h{0}>{1}{2}</h{0}>\n", cautions ? 3 : 2, html_text(group.heading),
                       group.aside.empty() ? "" : " <span class=\"aim\">" + html_text(group.aside) + "</span>");
  }
  if (!group.beside.empty()) {
    out += exercise ? "<div class=\"drawn\">\n" : "<figure>\n";
    out += put(group.beside);
    out += exercise ? "</div>\n" : "</figure>\n";
  }
  return out + put(group.blocks) + "</div>\n";
}

// Within quotes, for the style of a page.
std::string css_text(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c != '"' && c != '\\' && c != '<' && c != '\n') out += c;
  }
  return out + "\"";
}
}  // namespace

std::string html_text(std::string_view text) { return drawing::escaped(text); }

std::array<std::string, 3> around_numbers(const std::string& foot) {
  const std::size_t first = std::min(foot.find("{}"), foot.size());
  const std::size_t second = std::min(foot.find("{}", std::min(first + 2, foot.size())), foot.size());
  return {foot.substr(0, first), foot.substr(std::min(first + 2, foot.size()), second - std::min(first + 2, second)),
          foot.substr(std::min(second + 2, foot.size()))};
}

std::string html(const Document& document) {
  std::string style(kStyle);
  replace_all(style, "INK", drawing::colour(Role::ink, Theme::print));
  replace_all(style, "QUIET", drawing::colour(Role::quiet, Theme::print));
  replace_all(style, "RULE", drawing::colour(Role::rule, Theme::print));
  const auto foot = around_numbers(document.foot);
  std::string out = "<!DOCTYPE html>\n<html lang=\"" + html_text(document.language) +
                    "\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width, "
                    "initial-scale=1\">\n<title>" +
                    html_text(document.title) +
                    "</title>\n<style>\n@page { size: " + (document.paper == Paper::a4 ? "A4" : "letter") +
                    "; margin: 12mm 13mm 14mm 13mm;\n  @bottom-right { content: " + css_text(foot[0]) +
                    " counter(page) " + css_text(foot[1]) + " counter(pages) " + css_text(foot[2]) +
                    "; font: 8pt \"Liberation "
                    "Sans\", sans-serif; } }\n";
  out += style;
  out += kOnScreen;
  out += "</style>\n</head>\n<body>\n";
  for (const Part& part : document.parts) {
    out += "<section class=\"part\">\n";
    out += fmt::format("<h1>{}</h1>\n<p class=\"when\">{}</p>\n", html_text(part.title), html_text(part.when));
    out += put(part.notes);
    for (const Group& group : part.groups) out += put(group);
    out += "</section>\n";
  }
  out += "</body>\n</html>\n";
  return out;
}

}  // namespace ullage::documents
