#include "server/events.h"

namespace ullage::server {

std::shared_ptr<http::EventStream> Listeners::listen() {
  auto stream = std::make_shared<http::EventStream>();
  stream->comment();
  const std::lock_guard lock(mutex_);
  streams_.push_back(stream);
  return stream;
}

void Listeners::tell(const std::string& event, const std::string& data) {
  const std::lock_guard lock(mutex_);
  streams_.remove_if([](const auto& stream) { return stream->is_closed(); });
  for (const auto& stream : streams_) stream->send(event, data);
}

void Listeners::close_all() {
  const std::lock_guard lock(mutex_);
  for (const auto& stream : streams_) stream->close();
  streams_.clear();
}

}  // namespace ullage::server
