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
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/base/result.h"

namespace ullage::documents {

struct PdfOptions {
  int workers = 2;                               // processes side by side, at most one a document
  std::string interpreter = "/usr/bin/python3";  // that has the module weasyprint
};

// Makes PDFs while their pages are still being written: put() hands a page over and returns. Files finished before an
// error stay; what is under way when a press goes is dropped.
//
// Errors of both: unavailable, weasyprint is not installed (says which package holds it), or it failed on a document;
// not_found, no such folder. After an error every call gives it again.
class PdfPress {
 public:
  explicit PdfPress(PdfOptions options = {});
  ~PdfPress();
  PdfPress(const PdfPress&) = delete;
  PdfPress& operator=(const PdfPress&) = delete;

  // Starts the first process ahead of the first page; it takes the best part of a second. Nothing if one runs.
  Result<void> warm();
  Result<void> put(std::string_view html, const std::string& file);
  // Waits for the rest. The progress gets files done of files put; false stops (Code::cancelled).
  Result<void> finish(const std::function<bool(std::size_t done, std::size_t total)>& progress = {});
  std::size_t done() const;

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

struct PdfJob {
  std::string html;
  std::string file;
};
// All of them through one press.
Result<void> write_pdfs(const std::vector<PdfJob>& jobs, const PdfOptions& options = {},
                        const std::function<bool(std::size_t done, std::size_t total)>& progress = {});

// Writes a text beside its place and moves it there.
Result<void> write_whole_file(const std::string& path, std::string_view bytes);

}  // namespace ullage::documents
