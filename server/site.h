// The page's files, compiled in: with their type, a tag of their content, and packed once more with gzip.
#pragma once

#include <string>
#include <string_view>

#include "server/http.h"

namespace ullage::server {

struct SiteFile {
  std::string_view path;  // "index.html", "assets/page-3f2a.js"
  std::string_view bytes;
  std::string_view gzip;  // empty: not worth it
  std::string_view tag;   // of the bytes
};

// GET or HEAD of anything outside /api. 404 when there is no such file; "/" is index.html.
// folder: not empty: its files are served instead of those compiled in, as they are at that moment.
http::Response site_answer(const http::Head& head, const std::string& folder = "");
// The headers that every answer carries.
void add_protection(http::Response& response, bool page);

}  // namespace ullage::server

namespace ullage::embedded {
// The built page; empty when it was not built.
const ullage::server::SiteFile* site_files(std::size_t& count);
std::string_view openapi_json();
}  // namespace ullage::embedded
