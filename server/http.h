// A small HTTP/1.1 server: what the program sees of it. Nothing of the network library is visible here.
//
//   auto server = http::listen({.address = "127.0.0.1", .port = 0}, service);   // service: see below
//   (*server)->port();
//   (*server)->stop();      // answers what has been asked, then ends
//
// One thread serves every connection; Service::handle is called on it and must not take long: it answers at once, or
// hands the request to another thread, which calls Reply when it is done. A stream of events takes no thread at all.
#pragma once

#include <chrono>
#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/base/result.h"

namespace ullage::http {

// What is refused, and how long anybody may take. All of it is enforced before a handler sees the request.
struct Limits {
  std::size_t header_bytes = 16 * 1024;           // 431
  std::size_t target_bytes = 4096;                // 414
  std::size_t connections = 512;                  // further ones get 503
  std::uint64_t bodies_in_flight = 64u << 20;     // bytes of all bodies being held, as announced; 503
  std::chrono::milliseconds header_time{10000};   // from the first byte of a request to the end of its headers
  std::chrono::milliseconds body_time{30000};     // for a body of the usual size
  std::chrono::milliseconds upload_time{300000};  // for a longer one
  std::chrono::milliseconds write_time{30000};    // without the client taking anything
  std::chrono::milliseconds idle_time{65000};     // between two requests
  std::chrono::milliseconds heartbeat{15000};     // comment line of a stream of events
  std::chrono::milliseconds grace{300};           // on stop: connections that are open may still ask
  std::chrono::milliseconds last_call{20000};     // on stop: what was asked may take this long
};
inline constexpr std::uint64_t kUsualBody = 1u << 20;

// The request without its body.
struct Head {
  std::string method;                              // "GET"
  std::string target;                              // as sent
  std::string path;                                // before "?", as sent
  std::vector<std::string> segments;               // of the path, percent-decoded
  std::multimap<std::string, std::string> query;   // decoded
  std::multimap<std::string, std::string> fields;  // names in lower case
  bool well_formed = true;                         // the target could be decoded and is UTF-8

  // The value of a header field; empty when it is not there.
  std::string field(const std::string& name) const;
};
struct Request : Head {
  std::string body;
  // Instead of body, when Admission::to_file was wished: removed with the last owner.
  std::shared_ptr<const std::string> file;
};

// Text pushed to one client as it comes (server-sent events). Any thread may push; a client that does not take what is
// sent is let go.
class EventStream {
 public:
  static constexpr std::size_t kMostWaiting = 1u << 20;  // bytes
  // data: one line.
  void send(std::string_view event, std::string_view data);
  void close();
  bool is_closed() const;

  // For the server alone: what is waiting, and who is told that something is.
  struct Waiting {
    std::string text;
    bool closed = false;
  };
  Waiting take();
  void on_news(std::function<void()> tell);
  void comment();

 private:
  void add(std::string text);
  mutable std::mutex mutex_;
  std::string waiting_;
  bool closed_ = false;
  std::function<void()> tell_;
};

struct Response {
  int status = 200;
  std::vector<std::pair<std::string, std::string>> fields;
  std::string body;
  std::string_view fixed;               // instead of body: bytes that live as long as the program
  std::string file;                     // instead of body: a file, removed when it is sent
  std::shared_ptr<EventStream> stream;  // instead of body
  bool close = false;                   // the connection ends with this answer

  Response& with(std::string name, std::string value) {
    fields.emplace_back(std::move(name), std::move(value));
    return *this;
  }
};

// To be called once, from any thread.
using Reply = std::function<void(Response)>;

// What is asked of the program.
class Service {
 public:
  virtual ~Service() = default;
  // Before the body is read: how many bytes it may have, or the answer that refuses the request.
  struct Admission {
    std::uint64_t most_body = 0;
    bool to_file = false;  // the body goes to a file and is not held
    std::unique_ptr<Response> refusal;
  };
  virtual Admission admit(const Head& head) = 0;
  virtual void handle(Request&& request, Reply reply) = 0;
  // The answer to something that is no request of the program: 400, 413, 414, 431, 503.
  virtual Response refuse(int status, const std::string& message) = 0;
};

class Server {
 public:
  virtual ~Server() = default;  // stops
  virtual std::uint16_t port() const = 0;
  // Answers what has been asked, closes streams, lets go. Returns when that is done; may be called from any thread but
  // the server's own, also twice.
  virtual void stop() = 0;
  // Requests under way and open connections, for tests.
  virtual int connections() const = 0;
};

struct Where {
  std::string address = "127.0.0.1";
  std::uint16_t port = 0;     // 0: any free one
  std::string upload_folder;  // for long bodies; must exist when there are any
};
// unavailable: the address cannot be used or is taken. `service` must outlive the server.
Result<std::unique_ptr<Server>> listen(const Where& where, Service& service, const Limits& limits = {});

// "a%20b" -> "a b"; false when it is no such text.
bool decode(std::string_view text, bool plus_is_blank, std::string& out);
// Splits a target into path, segments and query; head.well_formed says whether that went well.
void read_target(Head& head);

}  // namespace ullage::http
