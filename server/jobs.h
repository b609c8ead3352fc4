// Long work in the background, each piece with a thread and a desk of its own: how far it is, what came of it, stop.
#pragma once

#include <atomic>
#include <chrono>
#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "server/desks.h"
#include "server/events.h"
#include "server/problem.h"

namespace ullage::server {

// Tells the share done, 0..1, and what is being done, in words; false: stop.
class Tell {
 public:
  Tell(std::function<bool(double, const std::string&)> tell, std::function<bool()> wanted)
      : tell_(std::move(tell)), wanted_(std::move(wanted)) {}
  bool operator()(double share, const std::string& text) const { return tell_(share, text); }
  // False when whoever asked for the work wants nothing of it any more: nothing may be kept.
  bool wanted() const { return wanted_(); }

 private:
  std::function<bool(double, const std::string&)> tell_;
  std::function<bool()> wanted_;
};
// The work; its result is told as JSON. It says Code::cancelled when it was stopped.
using Work = std::function<Result<Json>(coach::Desk&, const Tell&)>;

class Jobs {
 public:
  static constexpr std::size_t kMostRunning = 4, kMostKept = 50;
  enum class Watch {
    nobody,  // goes on when nobody listens
    needed   // is dropped when nobody has followed or asked for it for as long as `patience`
  };
  enum class Stop {
    keep,  // what is done by then is kept
    drop   // nothing is kept
  };

  Jobs(const DeskSource& desks, Listeners& listeners) : desks_(desks), listeners_(listeners) {}
  // Of a job that needs to be watched: long enough for a page to be loaded again.
  std::chrono::milliseconds patience{6000};
  ~Jobs() { stop(); }

  // The job as it stands. 503 busy: too many are running.
  Outcome<Json> start(const std::string& kind, const std::string& text, Work work, Watch watch = Watch::nobody);
  Json all();
  Outcome<Json> find(const std::string& job);
  Outcome<Json> cancel(const std::string& job, Stop stop = Stop::keep);
  // Its progress; the stream ends with the job.
  Outcome<std::shared_ptr<http::EventStream>> follow(const std::string& job);
  // Asks everything to stop and waits for it.
  void stop();

 private:
  struct Job {
    std::string id, kind, text, state = "running", started, finished;
    double share = 0;
    Json result, error;
    std::atomic<bool> cancelled = false, dropped = false;
    Watch watch = Watch::nobody;
    std::chrono::steady_clock::time_point watched{};  // last seen to be
    std::thread thread;
    std::list<std::shared_ptr<http::EventStream>> followers;
    std::chrono::steady_clock::time_point told{};
  };
  static Json json_of(const Job& job);
  void run(Job& job, const Work& work);
  void tell(Job& job, bool last);
  void look_who_watches(Job& job);
  Job* at(const std::string& id);

  const DeskSource& desks_;
  Listeners& listeners_;
  std::mutex mutex_;
  std::list<std::unique_ptr<Job>> jobs_;
  int last_ = 0;
  bool stopping_ = false;
};

}  // namespace ullage::server
