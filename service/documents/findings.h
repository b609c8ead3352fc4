// A report as findings: a heading in plain words, what it rests on, a picture.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "service/documents/document.h"

namespace ullage::documents {

struct Finding {
  std::string heading;
  std::vector<std::string> paragraphs;
  std::optional<Drawing> figure;
  std::vector<std::string> columns;  // of a table; empty: none
  std::vector<std::vector<std::string>> rows;
};

struct FindingsPage {
  std::string lifter;
  std::string when;
  std::vector<Finding> findings;
  std::vector<std::string> notes;  // at the end, small
};

Part findings_part(const FindingsPage& page);

}  // namespace ullage::documents
