// A paper as data: headings, paragraphs, tables, drawings, and what stays together. Two writers make it from the same
// words in the same order: html.h for a browser, pdf.h for paper.
//
//   Document paper{"Ida: session of Mon 9 Mar 2026", "en", Paper::letter, {session_sheet(sheet)}};
//   html(paper);
//   write_pdf(paper, "ida.pdf");
//
// All text is plain: the writers escape it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace ullage::documents {

enum class Paper { a4, letter };

// An SVG piece of ours and what is said to who cannot see it. Sizes in millimetres; a writer shrinks it to its place.
struct Drawing {
  std::string svg;
  std::string says;
  double width = 0, height = 0;
};

enum class Look {
  text,
  small,
  above,  // small, with some air above
  quiet,  // small and pale: remarks
  key     // smaller still: how to read the drawings
};
struct Paragraph {
  std::string text;
  Look look = Look::text;
};

struct Bullets {  // in two columns where there is room
  std::vector<std::string> items;
};

// How a column of a table is set.
enum class Column {
  plain,
  number,  // narrow and pale
  large,   // what is lifted: to be read at arm's length
  cue,
  box  // a blank box to write into
};
struct Cell {
  std::string text;
  std::vector<std::pair<Drawing, std::string>> drawn;  // drawings, each with words below it
};
struct Table {
  enum class Kind {
    sets,   // beside drawings: fixed columns
    plain,  // as wide as the page, columns as wide as what stands in them
    week    // as wide as the page, a narrow first column and equal others
  };
  Kind kind = Kind::plain;
  std::vector<std::pair<std::string, Column>> columns;  // a heading may have several lines
  bool rows_have_heads = false;                         // the first cell of a row says what the row is
  std::vector<std::vector<Cell>> rows;                  // as many cells as columns
};

using Block = std::variant<Paragraph, Drawing, Bullets, Table>;

// What belongs under one heading and stays on one page where it fits on one; a rule stands above it.
struct Group {
  enum class Kind {
    exercise,  // drawings in a narrow column to the right
    finding,   // a wide figure to the right
    cautions   // small
  };
  Kind kind = Kind::finding;
  std::string heading;  // may be empty
  std::string aside;    // after it, pale
  std::vector<Block> beside;
  std::vector<Block> blocks;
};

// Begins on a page of its own. Its title stands at the foot of its pages too.
struct Part {
  std::string title;
  std::string when;
  std::vector<Block> notes;
  std::vector<Group> groups;
};

struct Document {
  std::string title;  // for its reader's window and for who cannot see it
  std::string language = "en";
  Paper paper = Paper::a4;
  std::vector<Part> parts;
  std::string foot = "page {} of {}";  // at the foot of each page, {} standing for the two numbers
};
// What stands before, between and after the two numbers.
std::array<std::string, 3> around_numbers(const std::string& foot);

}  // namespace ullage::documents
