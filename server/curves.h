// The trade-off curves of blocks that were drawn since the program began: they take seconds and are large, so the last
// few are kept at hand and none in the data file.
#pragma once

#include <list>
#include <memory>
#include <mutex>
#include <string>
#include <utility>

#include "service/coach/block_check.h"

namespace ullage::server {

class Curves {
 public:
  static constexpr std::size_t kMost = 12;
  using Curve = std::shared_ptr<const coach::BlockCurve>;

  void put(const std::string& lifter, coach::BlockCurve curve) {
    auto kept = std::make_shared<const coach::BlockCurve>(std::move(curve));
    const std::lock_guard lock(mutex_);
    all_.remove_if([&](const auto& one) { return one.first == lifter; });
    all_.emplace_front(lifter, std::move(kept));
    if (all_.size() > kMost) all_.pop_back();
  }
  // Null when none was drawn of this block.
  Curve find(const std::string& lifter, std::int64_t number) {
    const std::lock_guard lock(mutex_);
    for (const auto& [id, curve] : all_) {
      if (id == lifter && curve->number == number) return curve;
    }
    return nullptr;
  }
  void forget() {
    const std::lock_guard lock(mutex_);
    all_.clear();
  }

 private:
  std::mutex mutex_;
  std::list<std::pair<std::string, Curve>> all_;
};

}  // namespace ullage::server
