// The HTTP server by itself, answering for a service made for the test.
#include "server/http.h"

#include <gtest/gtest.h>

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>

#include "server/testing/client.h"

namespace ullage::http {
namespace {

// Keeps the means of answering after the answer was given, as a worker does that is held up just then.
class SlowToLetGo : public Service {
 public:
  Admission admit(const Head&) override { return {}; }
  void handle(Request&&, Reply reply) override {
    const std::lock_guard lock(mutex_);
    kept_ = std::move(reply);
    come_.notify_all();
  }
  Response refuse(int status, const std::string&) override {
    Response response;
    response.status = status;
    return response;
  }
  void answer() {
    std::unique_lock lock(mutex_);
    come_.wait(lock, [&] { return static_cast<bool>(kept_); });
    kept_(Response{});
  }

 private:
  std::mutex mutex_;
  std::condition_variable come_;
  Reply kept_;
};

TEST(HttpServer, AConnectionEndsInTheServersOwnThreadHoweverLongItsReplyIsKept) {
  SlowToLetGo service;
  auto server = listen({}, service, {});
  ASSERT_TRUE(server) << server.error().message;
  {
    server::Client client((*server)->port());
    ASSERT_TRUE(client.send("GET / HTTP/1.1\r\nHost: here\r\n\r\n"));
    service.answer();
    EXPECT_EQ(client.read().status, 200);
  }
  // The client has gone. Were the reply an owner of the connection, it would be open until the reply is destroyed, and
  // end in whatever thread does that.
  const auto until = std::chrono::steady_clock::now() + std::chrono::seconds(10);
  while ((*server)->connections() > 0 && std::chrono::steady_clock::now() < until)
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  EXPECT_EQ((*server)->connections(), 0);
}

}  // namespace
}  // namespace ullage::http
