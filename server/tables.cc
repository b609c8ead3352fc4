#include "server/tables.h"

#include <algorithm>

namespace ullage::server {

Table Tables::add(std::string name, std::shared_ptr<const std::string> file, std::uint64_t bytes) {
  const std::lock_guard lock(mutex_);
  kept_.push_front({"table-" + std::to_string(++last_), std::move(name), std::move(file), bytes});
  std::uint64_t all = 0;
  std::size_t count = 0;
  for (auto at = kept_.begin(); at != kept_.end();) {
    all += at->bytes;
    at = ++count > 1 && (count > kMost || all > kMostBytes) ? kept_.erase(at) : std::next(at);
  }
  return kept_.front();
}

std::optional<Table> Tables::find(const std::string& id) {
  const std::lock_guard lock(mutex_);
  const auto at = std::find_if(kept_.begin(), kept_.end(), [&](const Table& t) { return t.id == id; });
  if (at == kept_.end()) return std::nullopt;
  kept_.splice(kept_.begin(), kept_, at);
  return kept_.front();
}

bool Tables::remove(const std::string& id) {
  const std::lock_guard lock(mutex_);
  return std::erase_if(kept_, [&](const Table& t) { return t.id == id; }) > 0;
}

}  // namespace ullage::server
