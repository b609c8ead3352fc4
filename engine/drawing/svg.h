// A picture as SVG text (SVG 1.1, W3C Recommendation 16 August 2011), to stand alone or inside a page.
//
// It says what it is to who cannot see it: role="img", <title>, <desc>. Its size is in millimetres, its coordinates in
// the picture's units; inside a page, style its width. Every colour also stands as a class by role, "fill-done",
// "line-ink", which a page may style for its own theme. Nothing outside is referred to: no fonts, styles or scripts.
#pragma once

#include <string>
#include <string_view>

#include "engine/drawing/picture.h"

namespace ullage::drawing {

struct SvgOptions {
  Theme theme = Theme::light;
  bool ground = true;        // paper behind the picture
  bool in_a_page = false;    // without the XML line, and as wide as its place instead of in millimetres
  std::string_view id = "";  // sets off the ids of title and description when a page holds several; letters and digits
};

// The same picture gives the same bytes. Coordinates are rounded to a hundredth. Text is escaped; characters that XML
// does not allow are left out.
std::string svg_text(const Picture& picture, const SvgOptions& options = {});

// Text as it may stand in an element or in a quoted attribute.
std::string escaped(std::string_view text);

}  // namespace ullage::drawing
