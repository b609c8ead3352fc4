#include "server/application.h"

#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cctype>
#include <condition_variable>
#include <cstdlib>
#include <deque>
#include <filesystem>
#include <mutex>
#include <thread>

#include "server/answer.h"
#include "server/site.h"

namespace ullage::server {
namespace {

namespace fs = std::filesystem;

constexpr auto kWatch = std::chrono::milliseconds(250);
constexpr auto kRosterPiece = std::chrono::milliseconds(40);

class Program : public Application, public http::Service {
 public:
  explicit Program(const Options& options, std::string folder)
      : options_(options),
        services_(
            {options.data_file, options.clock, options.who, options.as_of, std::make_shared<coach::EstimateCache>()},
            options.version, std::move(folder)) {}
  ~Program() override { stop(); }

  Result<void> begin() {
    services_.jobs.patience = options_.job_patience;
    // The first desk is opened here, so that a data file that cannot be used is told at once.
    auto first = services_.desks.open();
    if (!first) return tl::unexpected(first.error());
    const auto newest = (*first)->store().newest_change();
    if (!newest) return tl::unexpected(newest.error());
    told_ = *newest;
    http::Where where = options_.where;
    where.upload_folder = services_.work_folder;
    auto server = http::listen(where, *this, options_.limits);
    if (!server) return tl::unexpected(server.error());
    server_ = std::move(*server);
    port_ = server_->port();
    const std::string port = ":" + std::to_string(port_);
    for (const char* name : {"127.0.0.1", "localhost", "[::1]"}) {
      hosts_.push_back(name + port);
      if (port_ == 80) hosts_.push_back(name);
    }
    if (options_.where.address != "127.0.0.1" && options_.where.address != "::1")
      hosts_.push_back(options_.where.address + port);
    for (int i = 0; i < std::max(1, options_.workers); ++i) workers_.emplace_back([this] { work(); });
    watcher_ = std::thread([this] { watch(); });
    {
      const std::lock_guard lock(mutex_);
      ready_ = true;
    }
    return {};
  }

  std::uint16_t port() const override { return port_; }
  int connections() const override { return server_ ? server_->connections() : 0; }
  std::string address() const override {
    const bool six = options_.where.address.find(':') != std::string::npos;
    return "http://" + (six ? "[" + options_.where.address + "]" : options_.where.address) + ":" +
           std::to_string(port_);
  }

  void stop() override {
    const std::lock_guard once(stop_mutex_);
    if (stopped_) return;
    stopped_ = true;
    if (server_) server_->stop();  // waits for what is being answered
    {
      const std::lock_guard lock(mutex_);
      ending_ = true;
    }
    news_.notify_all();
    end_.notify_all();
    for (std::thread& worker : workers_) worker.join();
    if (watcher_.joinable()) watcher_.join();
    services_.jobs.stop();
    services_.listeners.close_all();
    std::error_code ignored;
    fs::remove_all(services_.work_folder, ignored);
  }

  // ---- What the server asks, on its own thread.

  Admission admit(const http::Head& head) override {
    if (ready_) return server::admit(head, hosts_);
    Admission out;
    out.refusal = std::make_unique<http::Response>(refuse(503, "the program is starting"));
    return out;
  }

  void handle(http::Request&& request, http::Reply reply) override {
    if (!is_api(request)) return reply(site_answer(request, options_.page_folder));
    Match found = match(request);
    if (!found.route) return reply(refuse(404, "there is nothing at " + request.path));
    if (found.route->access == Access::shared) {
      http::Response response;
      response.fixed = embedded::openapi_json();
      response.with("Content-Type", "application/json; charset=utf-8").with("Cache-Control", "no-cache");
      add_protection(response, false);
      return reply(std::move(response));
    }
    {
      const std::lock_guard lock(mutex_);
      if (waiting_.size() < options_.most_waiting) {
        // Somebody between two sets does not wait behind a list.
        const bool urgent = found.route->path.find("/floor/") != std::string_view::npos;
        Task task{std::move(request), std::move(found), std::move(reply)};
        urgent ? waiting_.push_front(std::move(task)) : waiting_.push_back(std::move(task));
        news_.notify_one();
        return;
      }
    }
    reply(refuse(503, "too much is waiting to be answered; try again"));
  }

  http::Response refuse(int status, const std::string& message) override {
    http::Response response = response_of(Problem(status, code_of_status(status), message));
    add_protection(response, false);
    response.close = true;
    return response;
  }

 private:
  struct Task {
    http::Request request;
    Match match;
    http::Reply reply;
  };

  void work() {
    std::unique_ptr<coach::Desk> desk;
    int generation = 0;
    for (;;) {
      Task task;
      std::unique_lock<std::mutex> writing;
      {
        std::unique_lock lock(mutex_);
        while (!take_next(task, writing)) {
          if (ending_ && waiting_.empty()) return;
          news_.wait(lock);
        }
      }
      if (desk && (desk->today() != services_.desks.today() || generation != services_.generation)) desk.reset();
      http::Response response;
      try {
        generation = services_.generation;
        response = answer(task, desk);
      } catch (const std::exception&) {
        // What it was is no business of whoever asked; the desk may be in the middle of something.
        desk.reset();
        response = response_of(Problem(500, "internal", "a fault in the program; nothing was changed by this request"));
      }
      if (writing) writing.unlock();
      add_protection(response, false);
      task.reply(std::move(response));
    }
  }

  // The next task that can begin, with mutex_ held: of changes one is made at a time (what a use case reads before it
  // writes stays true), and those that wait for it take no worker. Whoever ends a change looks here again.
  bool take_next(Task& task, std::unique_lock<std::mutex>& writing) {
    for (auto at = waiting_.begin(); at != waiting_.end(); ++at) {
      if (at->match.route->access == Access::write) {
        writing = std::unique_lock(services_.writing, std::try_to_lock);
        if (!writing) continue;
      }
      task = std::move(*at);
      waiting_.erase(at);
      return true;
    }
    return false;
  }

  http::Response answer(Task& task, std::unique_ptr<coach::Desk>& desk) {
    if (!desk) {
      auto opened = services_.desks.open();
      if (!opened) return response_of(Problem(opened.error()));
      desk = std::move(*opened);
    }
    if (const auto renewed = desk->renew(); !renewed) return response_of(Problem(renewed.error()));
    const bool change = task.match.route->access == Access::write;
    http::Response response = answer_at(services_, *desk, task.request, std::move(task.match));
    if (!change) return response;
    if (const auto newest = desk->store().newest_change()) tell_change(*newest);
    return response;
  }

  void tell_change(store::ChangeId newest) {
    if (told_.exchange(newest) != newest) services_.listeners.tell("change", Json({{"change", newest}}).dump());
  }

  // Notices what other programs write, and keeps the roster at hand.
  void watch() {
    std::unique_ptr<coach::Desk> desk;
    std::int64_t mark = -1;
    int generation = 0;
    bool more = true;
    std::unique_lock lock(mutex_);
    while (!ending_) {
      end_.wait_for(lock, more ? std::chrono::milliseconds(2) : kWatch, [&] { return ending_; });
      if (ending_) return;
      lock.unlock();
      if (desk && (desk->today() != services_.desks.today() || generation != services_.generation)) desk.reset();
      if (!desk) {
        generation = services_.generation;
        if (auto opened = services_.desks.open()) desk = std::move(*opened);
        mark = -1;
      }
      more = false;
      if (desk) {
        const auto now = desk->store().outside_mark();
        if (now && *now != mark) {
          mark = *now;
          services_.roster.look_again();
          if (const auto newest = desk->store().newest_change()) tell_change(*newest);
          (void)desk->renew();
        }
        const auto all = services_.roster.refresh(*desk, kRosterPiece);
        more = all && !*all;
        if (!all) desk.reset();
      }
      lock.lock();
    }
  }

  const Options options_;
  Services services_;
  std::unique_ptr<http::Server> server_;
  std::uint16_t port_ = 0;
  std::vector<std::string> hosts_;
  std::mutex mutex_;
  std::condition_variable news_;  // for the workers alone: one of them is woken for each task
  std::condition_variable end_;   // for the watcher
  std::deque<Task> waiting_;
  bool ending_ = false;
  std::atomic<bool> ready_ = false;
  std::vector<std::thread> workers_;
  std::thread watcher_;
  std::atomic<store::ChangeId> told_ = 0;
  std::mutex stop_mutex_;
  bool stopped_ = false;
};

}  // namespace

bool is_loopback(const std::string& address) {
  if (address == "localhost" || address == "::1") return true;
  // 127.x.y.z in numbers
  int dots = 0;
  for (const char c : address) {
    if (c == '.')
      ++dots;
    else if (c < '0' || c > '9')
      return false;
  }
  return dots == 3 && address.rfind("127.", 0) == 0;
}

Result<std::unique_ptr<Application>> Application::start(const Options& options) {
  Options wanted = options;
  if (wanted.where.address == "localhost") wanted.where.address = "127.0.0.1";
  if (!is_loopback(wanted.where.address)) {
    return fail(Code::not_allowed,
                "--address " + wanted.where.address +
                    ": other computers could reach the page there, and there is no sign-in yet to keep them out; only "
                    "127.0.0.1, ::1 or localhost can be listened on");
  }
  std::string folder = (fs::temp_directory_path() / "ullage-XXXXXX").string();
  if (!mkdtemp(folder.data())) return fail(Code::unavailable, "no folder for passing files can be made: " + folder);
  auto program = std::make_unique<Program>(wanted, folder);
  if (const auto begun = program->begin(); !begun) return tl::unexpected(begun.error());
  return std::unique_ptr<Application>(std::move(program));
}

}  // namespace ullage::server
