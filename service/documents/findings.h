// A report as findings: a heading in plain words, what it rests on, a picture.
#pragma once

#include <string>
#include <vector>

namespace ullage::documents {

struct Finding {
  std::string heading;
  std::vector<std::string> paragraphs;
  std::string figure;                // SVG to stand inside the page; may be empty
  std::vector<std::string> columns;  // of a table; empty: none
  std::vector<std::vector<std::string>> rows;
};

struct FindingsPage {
  std::string lifter;
  std::string when;
  std::vector<Finding> findings;
  std::vector<std::string> notes;  // at the end, small
};

std::string findings_html(const FindingsPage& page);

}  // namespace ullage::documents
