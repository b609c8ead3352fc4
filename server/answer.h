// From a request to its answer, without a network: what may be asked by whom, and the handler of the path at a desk.
#pragma once

#include <string>
#include <vector>

#include "server/call.h"
#include "server/http.h"
#include "server/routes.h"

namespace ullage::server {

// Whether the request is looked at at all. hosts: what "Host" may say. Checks name and origin (a page of another
// origin, or a name that was made to point here, reaches nothing), the path, the method, and the kind of body.
http::Service::Admission admit(const http::Head& head, const std::vector<std::string>& hosts);

bool is_api(const http::Head& head);

// The answer of a route at this desk. Never throws what a handler throws: that is the caller's to catch.
http::Response answer_at(Services& services, coach::Desk& desk, const http::Request& request, Match&& match);

}  // namespace ullage::server
