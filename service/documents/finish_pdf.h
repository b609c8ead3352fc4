// What cairo leaves out of a tagged PDF, added afterwards: the language, that the title is shown, words for each
// figure, what a table's headings head, and that what is no content is none (ISO 32000-1, 14.8 and 14.9).
#pragma once

#include <string>
#include <vector>

#include "engine/base/result.h"

namespace ullage::documents {

// Tags for cairo what is no content: rules, the foot of a page, headings painted again.
inline constexpr const char* kArtifactTag = "NonStruct";

struct FinishedPdf {
  std::string title;
  std::string language;
  std::vector<std::string> figures;  // what each says, in their order in the structure
};
// unavailable: this is no PDF as cairo makes them.
Result<std::string> finished_pdf(const std::string& painted, const FinishedPdf& finish);

}  // namespace ullage::documents
