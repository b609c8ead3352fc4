// Pages as HTML that prints: the one style of everything on paper, and the frame around it.
//
// The style uses blocks, tables and floats only, so that simple print engines lay it out as browsers do. Nothing
// outside the text is referred to: no scripts, fonts or pictures from elsewhere.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace ullage::documents {

enum class Paper { a4, letter };

struct Page {
  std::string title;  // of the document, for its reader's window and for who cannot see it
  std::string language = "en";
  Paper paper = Paper::a4;
  std::vector<std::string> bodies;  // HTML of each part; each begins a new page
};

// The whole document as HTML 5 text.
std::string page_html(const Page& page);

// Text as it may stand in an element or a quoted attribute. Control characters become blanks.
std::string html_text(std::string_view text);

}  // namespace ullage::documents
