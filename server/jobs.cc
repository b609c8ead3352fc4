#include "server/jobs.h"

#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <algorithm>

namespace ullage::server {
namespace {

constexpr auto kBetween = std::chrono::milliseconds(150);  // of two tellings of progress
constexpr int kNice = 10;                                  // somebody's next set comes first

tl::unexpected<Problem> no_job(const std::string& id) {
  return tl::unexpected(Problem(404, "not_found", "no job \"" + id + "\""));
}

}  // namespace

Json Jobs::json_of(const Job& job) {
  Json json;
  json["job"] = job.id;
  json["kind"] = job.kind;
  json["state"] = job.state;
  json["progress"] = job.share;
  json["text"] = job.text;
  json["started"] = job.started;
  json["finished"] = job.finished.empty() ? Json() : Json(job.finished);
  json["result"] = job.result;
  json["error"] = job.error;
  return json;
}

Jobs::Job* Jobs::at(const std::string& id) {
  for (const auto& job : jobs_) {
    if (job->id == id) return job.get();
  }
  return nullptr;
}

Outcome<Json> Jobs::start(const std::string& kind, const std::string& text, Work work, Watch watch) {
  const std::lock_guard lock(mutex_);
  const auto running = static_cast<std::size_t>(
      std::count_if(jobs_.begin(), jobs_.end(), [](const auto& job) { return job->state == "running"; }));
  if (stopping_ || running >= kMostRunning)
    return tl::unexpected(Problem(503, "busy", "too much is under way at once; wait for one to end or stop one"));
  while (jobs_.size() >= kMostKept) {
    const auto old = std::find_if(jobs_.begin(), jobs_.end(), [](const auto& job) { return job->state != "running"; });
    if (old == jobs_.end()) break;
    if ((*old)->thread.joinable()) (*old)->thread.join();
    jobs_.erase(old);
  }
  auto job = std::make_unique<Job>();
  job->id = std::to_string(++last_);
  job->kind = kind;
  job->text = text;
  job->started = desks_.clock->now();
  job->watch = watch;
  job->watched = std::chrono::steady_clock::now();
  Job& here = *job;
  jobs_.push_back(std::move(job));
  here.thread = std::thread([this, &here, work = std::move(work)] { run(here, work); });
  return json_of(here);
}

void Jobs::run(Job& job, const Work& work) {
  setpriority(PRIO_PROCESS, static_cast<id_t>(syscall(SYS_gettid)), kNice);
  Result<Json> outcome = fail(Code::internal, "the work ended without a word");
  try {
    auto desk = desks_.open();
    if (!desk)
      outcome = tl::unexpected(desk.error());
    else
      outcome = work(**desk, Tell(
                                 [&](double share, const std::string& text) {
                                   const std::lock_guard lock(mutex_);
                                   job.share = std::clamp(share, 0.0, 1.0);
                                   if (!text.empty()) job.text = text;
                                   tell(job, false);
                                   look_who_watches(job);
                                   return !job.cancelled.load();
                                 },
                                 [&] { return !job.dropped.load(); }));
  } catch (const std::exception&) {
    outcome = fail(Code::internal, "a fault in the program");
  }
  const std::lock_guard lock(mutex_);
  job.finished = desks_.clock->now();
  if (outcome) {
    job.state = "done";
    job.share = 1;
    job.result = std::move(*outcome);
  } else {
    job.state = outcome.error().code == Code::cancelled ? "cancelled" : "failed";
    job.error = server::json_of(Problem(outcome.error())).at("error");
  }
  tell(job, true);
}

// Called with the lock held.
void Jobs::tell(Job& job, bool last) {
  const auto now = std::chrono::steady_clock::now();
  if (!last && now - job.told < kBetween) return;
  job.told = now;
  const std::string data = json_of(job).dump(-1, ' ', false, Json::error_handler_t::replace);
  listeners_.tell("job", data);
  for (const auto& stream : job.followers) {
    stream->send("job", data);
    if (last) stream->close();
  }
  if (last) job.followers.clear();
}

// Called with the lock held.
void Jobs::look_who_watches(Job& job) {
  if (job.watch == Watch::nobody) return;
  job.followers.remove_if([](const auto& stream) { return stream->is_closed(); });
  const auto now = std::chrono::steady_clock::now();
  if (!job.followers.empty()) job.watched = now;
  if (now - job.watched > patience) job.cancelled = job.dropped = true;
}

Json Jobs::all() {
  const std::lock_guard lock(mutex_);
  Json json = Json::array();
  for (auto job = jobs_.rbegin(); job != jobs_.rend(); ++job) json.push_back(json_of(**job));
  return json;
}

Outcome<Json> Jobs::find(const std::string& id) {
  const std::lock_guard lock(mutex_);
  Job* job = at(id);
  if (!job) return no_job(id);
  job->watched = std::chrono::steady_clock::now();
  return json_of(*job);
}

Outcome<Json> Jobs::cancel(const std::string& id, Stop stop) {
  const std::lock_guard lock(mutex_);
  Job* job = at(id);
  if (!job) return no_job(id);
  job->cancelled = true;
  if (stop == Stop::drop) job->dropped = true;
  return json_of(*job);
}

Outcome<std::shared_ptr<http::EventStream>> Jobs::follow(const std::string& id) {
  const std::lock_guard lock(mutex_);
  Job* job = at(id);
  if (!job) return no_job(id);
  auto stream = std::make_shared<http::EventStream>();
  stream->send("job", json_of(*job).dump(-1, ' ', false, Json::error_handler_t::replace));
  if (job->state == "running")
    job->followers.push_back(stream);
  else
    stream->close();
  return stream;
}

void Jobs::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
    for (const auto& job : jobs_) job->cancelled = true;
  }
  for (const auto& job : jobs_) {
    if (job->thread.joinable()) job->thread.join();
  }
}

}  // namespace ullage::server
