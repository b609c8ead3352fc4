#include "service/coach/estimate_cache.h"

#include <algorithm>

namespace ullage::coach {

std::optional<Fitted> EstimateCache::find(const std::string& lifter, const std::string& mark, Date today) {
  std::shared_ptr<const Fitted> found;
  {
    const std::lock_guard lock(mutex_);
    const auto at = std::find_if(entries_.begin(), entries_.end(), [&](const Entry& e) { return e.lifter == lifter; });
    if (at == entries_.end() || at->mark != mark || at->today != today) return std::nullopt;
    found = at->fitted;
    entries_.splice(entries_.begin(), entries_, at);
  }
  return *found;
}

void EstimateCache::put(const std::string& mark, Date today, const Fitted& fitted) {
  auto kept = std::make_shared<const Fitted>(fitted);
  const std::lock_guard lock(mutex_);
  entries_.remove_if([&](const Entry& e) { return e.lifter == fitted.lifter.id; });
  entries_.push_front({fitted.lifter.id, mark, today, std::move(kept)});
  if (entries_.size() > kMost) entries_.pop_back();
}

void EstimateCache::forget() {
  const std::lock_guard lock(mutex_);
  entries_.clear();
}

}  // namespace ullage::coach
