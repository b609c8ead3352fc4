#include "server/answer.h"

#include <algorithm>
#include <cctype>

#include "server/site.h"

namespace ullage::server {
namespace {

constexpr const char* kXlsx = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
constexpr const char* kOds = "application/vnd.oasis.opendocument.spreadsheet";

bool has_body(const http::Head& head) {
  const std::string length = head.field("content-length");
  return head.fields.count("transfer-encoding") > 0 || (!length.empty() && length != "0");
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) { return std::tolower(c); });
  return text;
}

std::string media_type(const http::Head& head) {
  std::string type = lower(head.field("content-type"));
  type = type.substr(0, type.find(';'));
  type.erase(std::remove(type.begin(), type.end(), ' '), type.end());
  return type;
}

}  // namespace

bool is_api(const http::Head& head) { return !head.segments.empty() && head.segments.front() == "api"; }

http::Service::Admission admit(const http::Head& head, const std::vector<std::string>& hosts) {
  using Admission = http::Service::Admission;
  const auto refuse = [&](const Problem& problem, const std::string& allow = "") {
    Admission out;
    out.refusal = std::make_unique<http::Response>(response_of(problem));
    if (!allow.empty()) out.refusal->with("Allow", allow);
    add_protection(*out.refusal, false);
    return out;
  };
  if (!head.well_formed) return refuse({400, "malformed", "the address cannot be decoded as UTF-8"});
  const std::string host = lower(head.field("host"));
  if (head.fields.count("host") != 1 || std::find(hosts.begin(), hosts.end(), host) == hosts.end())
    return refuse({403, "cross_site", "this program answers to " + hosts.front() + " only", "host"});
  if (head.fields.count("origin") && lower(head.field("origin")) != "http://" + host)
    return refuse({403, "cross_site", "pages of another origin may not ask", "origin"});
  const std::string site = lower(head.field("sec-fetch-site"));
  if (is_api(head) && !site.empty() && site != "same-origin" && site != "none")
    return refuse({403, "cross_site", "pages of another origin may not ask", "sec-fetch-site"});
  Admission out;
  if (!is_api(head)) return out;
  const Match found = match(head);
  if (!found.route) {
    if (found.allowed.empty()) return refuse({404, "not_found", "there is nothing at " + head.path});
    return refuse({405, "method_not_allowed", head.method + " is not possible here, only " + found.allowed},
                  found.allowed);
  }
  const Takes takes = found.route->takes;
  out.most_body = most_body(takes);
  if (has_body(head) && takes != Takes::nothing) {
    const std::string type = media_type(head);
    const bool workbook = takes == Takes::table && (type == kXlsx || type == kOds);
    const std::string wanted = takes == Takes::table  ? "text/csv"
                               : takes == Takes::file ? "application/octet-stream"
                                                      : "application/json";
    if (type != wanted && !workbook) {
      const std::string or_workbook =
          takes == Takes::table ? std::string(" or a workbook, ") + kXlsx + " or " + kOds : "";
      return refuse({415, "unsupported_type", "the body must be " + wanted + or_workbook, "content-type"});
    }
    if (workbook) out.most_body = kLargestWorkbook;
  }
  out.to_file = takes == Takes::table || takes == Takes::file;
  return out;
}

http::Response answer_at(Services& services, coach::Desk& desk, const http::Request& request, Match&& match) {
  const Route& route = *match.route;
  Call call{services, desk, request, std::move(match.parameters), Query(request), Json()};
  if (route.takes == Takes::json || route.takes == Takes::maybe_json) {
    if (request.body.empty() && route.takes == Takes::json)
      return response_of(Problem(400, "malformed", "a body is needed"));
    if (!request.body.empty()) {
      auto body = parse_json(request.body);
      if (!body) return response_of(body.error());
      call.body = std::move(*body);
    }
  }
  if ((route.takes == Takes::table || route.takes == Takes::file) && !request.file)
    return response_of(Problem(400, "malformed", "a body is needed"));
  auto done = route.run(call);
  return done ? std::move(*done) : response_of(done.error());
}

}  // namespace ullage::server
