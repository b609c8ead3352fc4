// Desks for threads: each thread has its own, open on the same data file.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include "service/coach/desk.h"
#include "service/coach/estimate_cache.h"

namespace ullage::server {

struct DeskSource {
  std::string data_file;
  store::Clock* clock = nullptr;
  std::string who;
  std::optional<Date> as_of;

  std::shared_ptr<coach::EstimateCache> estimates;  // shared by all of them

  Result<std::unique_ptr<coach::Desk>> open() const {
    auto desk = coach::Desk::open(data_file, *clock, who, as_of);
    if (desk) (*desk)->share_estimates(estimates);
    return desk;
  }
  // The day it is for a desk opened now.
  Date today() const { return as_of ? *as_of : clock->today(); }
};

}  // namespace ullage::server
