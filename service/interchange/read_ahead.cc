#include "service/interchange/read_ahead.h"

#include <condition_variable>
#include <deque>
#include <exception>
#include <mutex>
#include <thread>
#include <utility>

namespace ullage::interchange {
namespace {

constexpr std::size_t kRowsInBatch = 512;
constexpr std::size_t kBatchesAhead = 64;  // as much as a merge takes at a time

struct Batch {
  std::vector<LoggedSet> rows;
  std::uint64_t done = 0, total = 0;  // progress of the reading when the batch was given on
};

// Batches on their way from one thread to another, a few at a time.
class Queue {
 public:
  // Waits for room; false when nobody takes any more.
  bool put(Batch&& batch) {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return stopped_ || batches_.size() < kBatchesAhead; });
    if (stopped_) return false;
    batches_.push_back(std::move(batch));
    changed_.notify_all();
    return true;
  }
  // Waits for a batch; empty at the end.
  std::optional<Batch> take() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [&] { return ended_ || !batches_.empty(); });
    if (batches_.empty()) return std::nullopt;
    std::optional<Batch> first = std::move(batches_.front());
    batches_.pop_front();
    changed_.notify_all();
    return first;
  }
  void end() {  // nothing more will come
    const std::lock_guard lock(mutex_);
    ended_ = true;
    changed_.notify_all();
  }
  void stop() {  // nothing more is wanted
    const std::lock_guard lock(mutex_);
    stopped_ = true;
    changed_.notify_all();
  }

 private:
  std::mutex mutex_;
  std::condition_variable changed_;
  std::deque<Batch> batches_;
  bool ended_ = false, stopped_ = false;
};

}  // namespace

Result<LogSummary> read_log_ahead(TableSource& source, const ReadLogOptions& options, const SetSink& sink) {
  Queue queue;
  std::optional<Result<LogSummary>> outcome;
  std::exception_ptr thrown;
  std::thread reader([&] {
    try {
      Batch batch;
      const auto give_on = [&] {
        Batch full = std::exchange(batch, Batch{{}, batch.done, batch.total});
        return queue.put(std::move(full));
      };
      ReadLogOptions ahead = options;
      ahead.progress = [&](std::uint64_t done, std::uint64_t total) {
        batch.done = done;
        batch.total = total;
        return give_on();
      };
      outcome = read_log(source, ahead, [&](LoggedSet&& row) {
        batch.rows.push_back(std::move(row));
        if (batch.rows.size() >= kRowsInBatch) give_on();
      });
      give_on();
    } catch (...) {
      thrown = std::current_exception();
    }
    queue.end();
  });
  struct Join {
    Queue& queue;
    std::thread& reader;
    ~Join() {
      queue.stop();
      if (reader.joinable()) reader.join();
    }
  } join{queue, reader};

  while (auto batch = queue.take()) {
    if (options.progress && !options.progress(batch->done, batch->total)) {
      queue.stop();
      reader.join();
      return fail(Code::cancelled, "stopped while reading");
    }
    for (LoggedSet& row : batch->rows) sink(std::move(row));
  }
  reader.join();
  if (thrown) std::rethrow_exception(thrown);
  return std::move(*outcome);
}

}  // namespace ullage::interchange
