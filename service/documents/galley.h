// A part of a document set as one endless strip, before it is cut into pages: what is painted where, what it is for a
// reader that cannot see it, and where the strip may not be cut.
#pragma once

#include <pango/pango.h>

#include <cstddef>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "engine/drawing/colour.h"
#include "service/documents/document.h"

namespace ullage::documents {

inline constexpr double kMillimetre = 72 / 25.4;  // everything here is in points

struct Unref {
  void operator()(void* object) const;
};
template <class Type>
using Held = std::unique_ptr<Type, Unref>;

// An element of the document's structure (ISO 32000-1, 14.8.4). Those that hold text or a drawing hold no elements.
struct Element {
  const char* tag = "";
  int parent = -1;
  const Drawing* drawing = nullptr;  // of a Figure
};

struct Words {
  Held<PangoLayout> line;
  drawing::Role role = drawing::Role::ink;
  double baseline = 0;
};
struct Rule {
  double width = 0, thickness = 0;
  drawing::Role role = drawing::Role::ink;
};
struct Blank {  // a box to write into
  double width = 0, height = 0;
};
struct Picture {
  const Drawing* drawing = nullptr;
  double width = 0, height = 0;
};
struct Nothing {};  // an empty cell: it keeps the others in their columns

constexpr int kArtifact = -1;  // painted, and nothing to a reader

struct Mark {
  int element = kArtifact;
  double x = 0, top = 0, bottom = 0;
  std::variant<Words, Rule, Blank, Picture, Nothing> what;
};

struct Span {
  double top = 0, bottom = 0;
};
struct TableHead {
  Span head;
  double bottom = 0;                // of the table
  std::size_t first = 0, last = 0;  // its marks
};

struct Galley {
  std::vector<Element> elements;  // parents first
  std::vector<Mark> marks;        // in the order of reading
  std::vector<Span> together;     // no cut inside, where it can be helped
  std::vector<TableHead> heads;   // painted again where a table goes on
  double height = 0;
};

// air: of the margins between things, 1 as designed. The part must outlive the galley.
Galley set_galley(PangoContext* context, const Part& part, double width, double page_height, double air = 1);

// A line of its own, as at the foot of a page.
Held<PangoLayout> footer_line(PangoContext* context, const std::string& text);
double baseline_of(PangoLayout* line);
double width_of(PangoLayout* line);

}  // namespace ullage::documents
