// A document as HTML 5 that prints: one style, no scripts, fonts or pictures from elsewhere.
#pragma once

#include <string>
#include <string_view>

#include "service/documents/document.h"

namespace ullage::documents {

std::string html(const Document& document);

// Text as it may stand in an element or a quoted attribute. Control characters become blanks.
std::string html_text(std::string_view text);

}  // namespace ullage::documents
