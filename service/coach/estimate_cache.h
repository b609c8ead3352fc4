// Estimates at hand, each with the sets it rests on: between two sets of a session nothing is read or worked out again.
// Shared by the desks of one program; an entry holds only under the truth mark it was made with.
#pragma once

#include <list>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "service/coach/estimates.h"

namespace ullage::coach {

class EstimateCache {
 public:
  static constexpr std::size_t kMost = 32;  // lifters; one with five years of log takes some 5 MB

  std::optional<Fitted> find(const std::string& lifter, const std::string& mark, Date today);
  void put(const std::string& mark, Date today, const Fitted& fitted);
  void forget();

 private:
  struct Entry {
    std::string lifter, mark;
    Date today;
    std::shared_ptr<const Fitted> fitted;
  };
  std::mutex mutex_;
  std::list<Entry> entries_;  // the latest first
};

}  // namespace ullage::coach
