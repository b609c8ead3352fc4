// Who is told what, as it happens: windows that listen to changes and to the progress of jobs.
#pragma once

#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <string>

#include "server/http.h"

namespace ullage::server {

class Listeners {
 public:
  std::shared_ptr<http::EventStream> listen();
  void tell(const std::string& event, const std::string& data);
  void close_all();

 private:
  std::mutex mutex_;
  std::list<std::shared_ptr<http::EventStream>> streams_;
};

}  // namespace ullage::server
