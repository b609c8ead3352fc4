// HTML pages as tagged PDF (PDF/UA-1, searchable) through Debian's weasyprint, run in child processes that may fetch
// nothing.
//
//   write_pdfs({{page_html(page), "sheets/maren.pdf"}}, {})
//
// Each file appears whole or not at all; a file of that name is replaced. Several documents share a process, and
// processes run side by side.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"

namespace ullage::documents {

struct PdfJob {
  std::string html;
  std::string file;
};

struct PdfOptions {
  int workers = 2;                                                    // processes side by side, at most one a document
  std::string interpreter = "/usr/bin/python3";                       // that has the module weasyprint
  std::function<bool(std::size_t done, std::size_t total)> progress;  // false stops (Code::cancelled)
};

// Errors: unavailable, weasyprint is not installed (says which package holds it), or it failed on a document;
// not_found, no such folder; cancelled. Files finished before stay.
Result<void> write_pdfs(const std::vector<PdfJob>& jobs, const PdfOptions& options = {});

// Writes a text beside its place and moves it there.
Result<void> write_whole_file(const std::string& path, std::string_view bytes);

}  // namespace ullage::documents
