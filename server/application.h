// The page and its interface on one data file: listens, answers, ends without losing what was asked.
//
//   auto app = Application::start({.data_file = "studio.ullage", .clock = &clock, .who = "coach"});
//   (*app)->address();   // "http://127.0.0.1:8090"
//   (*app)->stop();      // what was asked is answered first
//
// Only this computer can ask (see `where`): anything but a loopback address is refused with not_allowed, since there is
// no sign-in. Host and Origin are checked, so that a page of another origin, or a name that points here, reaches
// nothing.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "server/http.h"
#include "service/store/clock.h"

namespace ullage::server {

struct Options {
  std::string data_file;
  store::Clock* clock = nullptr;
  std::string who;
  std::optional<Date> as_of;  // the day taken for today; empty: the clock's, also past midnight
  std::string version;
  std::string page_folder;  // serves these files as the page; empty: those compiled in
  http::Where where;
  http::Limits limits;
  int workers = 4;                               // threads that answer
  std::size_t most_waiting = 256;                // requests waiting for one; 503 beyond
  std::chrono::milliseconds job_patience{6000};  // with a job that must be watched and is not
};

class Application {
 public:
  virtual ~Application() = default;  // stops
  // not_allowed: the address is not this computer's own. As Desk::open and http::listen.
  static Result<std::unique_ptr<Application>> start(const Options& options);
  virtual std::uint16_t port() const = 0;
  virtual std::string address() const = 0;
  virtual void stop() = 0;
  virtual int connections() const = 0;
};

// 127.0.0.0/8, ::1 or "localhost".
bool is_loopback(const std::string& address);

}  // namespace ullage::server
