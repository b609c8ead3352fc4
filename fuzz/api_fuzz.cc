// Bytes as they come from the network: read as HTTP, looked at by the rules of who may ask, and answered by the handler
// of their path at a real desk. No input may bring a fault of the program to light, and every answer is whole.
#include <unistd.h>

#include <algorithm>
#include <boost/asio/buffer.hpp>
#include <boost/beast/core/error.hpp>
#include <boost/beast/http.hpp>
#include <cctype>
#include <filesystem>
#include <memory>
#include <string>

#include "fuzz/require.h"
#include "server/answer.h"
#include "server/site.h"
#include "service/coach/records.h"
#include "service/coach/sessions.h"

namespace {

using namespace ullage;
namespace wire = boost::beast::http;

class StillClock : public store::Clock {
 public:
  std::string now() override { return "2026-03-09T17:40:05.123Z"; }
  Date today() override { return *parse_date("2026-03-09"); }
};

// One lifter with a few sets and no estimate; made again after some thousand inputs, so that what they wrote does not
// pile up.
struct World {
  StillClock clock;
  std::filesystem::path folder;
  std::unique_ptr<server::Services> services;
  std::unique_ptr<coach::Desk> desk;
  int asked = 0;

  World() {
    folder = std::filesystem::temp_directory_path() / ("ullage-api-fuzz-" + std::to_string(::getpid()));
    std::filesystem::remove_all(folder);
    std::filesystem::create_directories(folder);
    const std::string file = (folder / "fuzz.db").string();
    services = std::make_unique<server::Services>(server::DeskSource{file, &clock, "fuzzer", std::nullopt, nullptr},
                                                  "fuzz", folder.string());
    auto opened = services->desks.open();
    REQUIRE(opened.has_value());
    desk = std::move(*opened);
    Lifter ines;
    ines.name = "Ines";
    REQUIRE(coach::take_on(*desk, ines).has_value());
    coach::LogWish wish;
    wish.lifter = "ines";
    wish.set.exercise = "bench press";
    wish.set.load = {60, Unit::kilogram};
    wish.set.reps = 8;
    wish.may_fit = false;
    REQUIRE(coach::log_set(*desk, wish).has_value());
  }
  ~World() {
    desk.reset();
    services.reset();
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
  }
};

// Starts threads, replaces or packs whole files: not for a fuzzer.
bool is_left_out(const server::Route& route) {
  for (const std::string_view id : {"startFit", "makeDemo", "restore", "backup", "export", "import", "suggestMapping",
                                    "eraseLifter", "doctor", "finishFloor", "planBlock", "drawCurve"}) {
    if (route.id == id) return true;
  }
  return route.run == nullptr;
}

void require_whole(const http::Response& response) {
  REQUIRE(response.status >= 200 && response.status < 600);
  REQUIRE(response.status != 500);
  if (response.stream) return;
  if (!response.fixed.empty()) return;
  const server::Json json = server::Json::parse(response.body, nullptr, false);
  REQUIRE(!json.is_discarded());
  if (response.status >= 400) REQUIRE(!json.at("error").at("message").get<std::string>().empty());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static auto world = std::make_unique<World>();
  if (++world->asked > 3000) {
    world.reset();
    world = std::make_unique<World>();
  }
  // As server/beast_server.cc reads it.
  wire::request_parser<wire::string_body> parser;
  parser.header_limit(16 * 1024);
  parser.body_limit(http::kUsualBody);
  parser.eager(true);
  boost::beast::error_code failure;
  for (std::size_t at = 0; at < size && !parser.is_done();) {
    const std::size_t taken = parser.put(boost::asio::buffer(data + at, size - at), failure);
    if (failure || taken == 0) return 0;
    at += taken;
  }
  if (!parser.is_done()) return 0;
  auto message = parser.release();
  http::Request request;
  request.method = std::string(message.method_string());
  request.target = std::string(message.target());
  for (const auto& field : message) {
    std::string name(field.name_string());
    std::transform(name.begin(), name.end(), name.begin(), [](unsigned char c) { return std::tolower(c); });
    request.fields.emplace(std::move(name), std::string(field.value()));
  }
  http::read_target(request);
  request.body = std::move(message.body());
  auto admitted = server::admit(request, {"127.0.0.1:8090"});
  if (admitted.refusal) {
    require_whole(*admitted.refusal);
    return 0;
  }
  if (!server::is_api(request)) {
    REQUIRE(server::site_answer(request).status < 500);
    return 0;
  }
  server::Match found = server::match(request);
  REQUIRE(found.route != nullptr);
  if (is_left_out(*found.route) || request.body.size() > admitted.most_body) return 0;
  REQUIRE(world->desk->renew().has_value());
  require_whole(server::answer_at(*world->services, *world->desk, request, std::move(found)));
  return 0;
}
