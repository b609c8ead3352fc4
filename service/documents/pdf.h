// A document as tagged PDF: searchable text in fonts that are inside the file, drawings as lines, and for who cannot
// see it a language, a title, headings, lists, tables with their headings, and words for each drawing.
//
//   write_pdf(document, "sheets/maren.pdf");
//
// Set with Pango, painted with cairo and librsvg, finished with qpdf. Some 25 ms of CPU time a page.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "engine/base/result.h"
#include "service/documents/document.h"

namespace ullage::documents {

struct Pdf {
  std::string bytes;
  std::size_t pages = 0;
  std::size_t without_letters = 0;  // letters that no font of the machine has: they show as boxes
};
// unavailable: a library failed (memory, fonts).
Result<Pdf> pdf(const Document& document);

// The same as a file: whole or not at all; a file of that name is replaced. not_found: no such folder.
Result<Pdf> write_pdf(const Document& document, const std::string& file);

// Writes bytes beside their place and moves them there.
Result<void> write_whole_file(const std::string& path, std::string_view bytes);

}  // namespace ullage::documents
