#include "server/site.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <functional>
#include <sstream>

#include "server/problem.h"

namespace ullage::server {
namespace {

// Shown when the program was built without the page.
constexpr std::string_view kPlainPage =
    "<!doctype html>\n<html lang=\"en\">\n<head><meta charset=\"utf-8\"><title>Ullage</title></head>\n<body>\n"
    "<h1>Ullage</h1>\n<p>The interface under <a href=\"/api/about\">/api</a> is at work, but this program was built "
    "without the page.</p>\n<p>To build it: run <code>web/build</code> in the project, then build the program "
    "again; <code>./run</code> does both.</p>\n</body>\n</html>\n";

std::string_view type_of(std::string_view path) {
  struct Type {
    std::string_view ending, type;
  };
  static constexpr Type kTypes[] = {{".html", "text/html; charset=utf-8"},
                                    {".js", "text/javascript; charset=utf-8"},
                                    {".css", "text/css; charset=utf-8"},
                                    {".svg", "image/svg+xml"},
                                    {".png", "image/png"},
                                    {".ico", "image/x-icon"},
                                    {".woff2", "font/woff2"},
                                    {".json", "application/json"},
                                    {".webmanifest", "application/manifest+json"},
                                    {".txt", "text/plain; charset=utf-8"},
                                    {".map", "application/json"},
                                    {".wasm", "application/wasm"}};
  for (const Type& type : kTypes) {
    if (path.ends_with(type.ending)) return type.type;
  }
  return "application/octet-stream";
}

// A name that changes with the content, as in "assets/page-3f2aC9_d.js": eight or more characters after the last
// hyphen.
bool is_hashed(std::string_view path) {
  if (!path.starts_with("assets/")) return false;
  const std::size_t dot = path.rfind('.'), hyphen = path.rfind('-', dot);
  return dot != std::string_view::npos && hyphen != std::string_view::npos && dot - hyphen > 8;
}

bool takes_gzip(const http::Head& head) {
  const std::string accepts = head.field("accept-encoding");
  for (std::size_t at = 0; at < accepts.size();) {
    const std::size_t end = std::min(accepts.find(',', at), accepts.size());
    std::string one = accepts.substr(at, end - at);
    std::erase(one, ' ');
    if (one == "gzip" || one == "*" ||
        (one.starts_with("gzip;q=") && one != "gzip;q=0" && !one.starts_with("gzip;q=0.0")))
      return true;
    at = end + 1;
  }
  return false;
}

bool is_known(const http::Head& head, const std::string& tag) {
  const std::string known = head.field("if-none-match");
  return known == "*" || known.find(tag) != std::string::npos;
}

http::Response answer_from(const std::string& folder, const std::string& path, const http::Head& head) {
  std::ostringstream bytes;
  const bool inside = path.find("..") == std::string::npos && path.find('%') == std::string::npos;
  std::ifstream in(folder + "/" + path, std::ios::binary);
  if (!inside || !in || !std::filesystem::is_regular_file(folder + "/" + path))
    return response_of(Problem(404, "not_found", "there is nothing at this address"));
  bytes << in.rdbuf();
  http::Response response;
  response.body = bytes.str();
  const std::string tag = "\"" + std::to_string(std::hash<std::string>()(response.body)) + "\"";
  response.with("Content-Type", std::string(type_of(path))).with("Cache-Control", "no-cache").with("ETag", tag);
  add_protection(response, true);
  if (is_known(head, tag)) {
    response.status = 304;
    response.body.clear();
  }
  return response;
}

}  // namespace

void add_protection(http::Response& response, bool page) {
  response.with("X-Content-Type-Options", "nosniff")
      .with("Referrer-Policy", "no-referrer")
      .with("Cross-Origin-Resource-Policy", "same-origin")
      .with("Cross-Origin-Opener-Policy", "same-origin")
      .with("X-Frame-Options", "DENY");
  response.with("Content-Security-Policy",
                page
                    ? "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
                      "connect-src 'self'; manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action "
                      "'none'; frame-ancestors 'none'"
                    : "default-src 'none'; frame-ancestors 'none'");
}

http::Response site_answer(const http::Head& head, const std::string& folder) {
  if (head.method != "GET" && head.method != "HEAD") {
    http::Response response = response_of(Problem(405, "method_not_allowed", "the page is only read"));
    response.with("Allow", "GET, HEAD");
    return response;
  }
  std::string path = head.path.substr(1);
  if (path.empty()) path = "index.html";
  if (!folder.empty()) return answer_from(folder, path, head);
  std::size_t count = 0;
  const SiteFile* files = embedded::site_files(count);
  const SiteFile* file = std::find_if(files, files + count, [&](const SiteFile& f) { return f.path == path; });
  http::Response response;
  if (file == files + count) {
    if (path != "index.html" || count > 0)
      return response_of(Problem(404, "not_found", "there is nothing at this address"));
    response.fixed = kPlainPage;
    response.with("Content-Type", "text/html; charset=utf-8").with("Cache-Control", "no-store");
    add_protection(response, true);
    return response;
  }
  response.with("Content-Type", std::string(type_of(file->path)));
  response.with("Cache-Control", is_hashed(file->path) ? "public, max-age=31536000, immutable" : "no-cache");
  const bool packed = !file->gzip.empty() && takes_gzip(head);
  const std::string tag = "\"" + std::string(file->tag) + (packed ? "-gz\"" : "\"");
  response.with("ETag", tag);
  if (!file->gzip.empty()) response.with("Vary", "Accept-Encoding");
  add_protection(response, true);
  if (is_known(head, tag)) {
    response.status = 304;
    return response;
  }
  if (packed) response.with("Content-Encoding", "gzip");
  response.fixed = packed ? file->gzip : file->bytes;
  return response;
}

}  // namespace ullage::server
