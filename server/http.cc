#include "server/http.h"

#include "service/store/sqlite.h"

namespace ullage::http {

std::string Head::field(const std::string& name) const {
  const auto found = fields.find(name);
  return found == fields.end() ? "" : found->second;
}

void EventStream::add(std::string text) {
  std::function<void()> tell;
  {
    const std::lock_guard lock(mutex_);
    if (closed_) return;
    waiting_ += text;
    if (waiting_.size() > kMostWaiting) closed_ = true;
    tell = tell_;
  }
  if (tell) tell();
}

void EventStream::send(std::string_view event, std::string_view data) {
  std::string text = "event: ";
  text.append(event).append("\ndata: ").append(data).append("\n\n");
  add(std::move(text));
}

void EventStream::comment() { add(": \n\n"); }

void EventStream::close() {
  std::function<void()> tell;
  {
    const std::lock_guard lock(mutex_);
    closed_ = true;
    tell = tell_;
  }
  if (tell) tell();
}

bool EventStream::is_closed() const {
  const std::lock_guard lock(mutex_);
  return closed_;
}

EventStream::Waiting EventStream::take() {
  const std::lock_guard lock(mutex_);
  Waiting out{std::move(waiting_), closed_};
  waiting_.clear();
  return out;
}

void EventStream::on_news(std::function<void()> tell) {
  const std::lock_guard lock(mutex_);
  tell_ = std::move(tell);
}

bool decode(std::string_view text, bool plus_is_blank, std::string& out) {
  const auto digit = [](char c) {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    if (c >= 'A' && c <= 'F') return c - 'A' + 10;
    return -1;
  };
  out.clear();
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '%') {
      if (i + 2 >= text.size()) return false;
      const int high = digit(text[i + 1]), low = digit(text[i + 2]);
      if (high < 0 || low < 0) return false;
      out += static_cast<char>(high * 16 + low);
      i += 2;
    } else if (text[i] == '+' && plus_is_blank) {
      out += ' ';
    } else {
      out += text[i];
    }
  }
  return true;
}

void read_target(Head& head) {
  head.well_formed = !head.target.empty() && head.target[0] == '/';
  const std::size_t mark = head.target.find('?');
  head.path = head.target.substr(0, mark);
  head.segments.clear();
  head.query.clear();
  const auto plain = [&](std::string_view text, bool plus) {
    std::string out;
    if (!decode(text, plus, out) || !store::is_plain_text(out)) head.well_formed = false;
    return out;
  };
  for (std::size_t at = 1; at < head.path.size();) {
    const std::size_t end = std::min(head.path.find('/', at), head.path.size());
    head.segments.push_back(plain(std::string_view(head.path).substr(at, end - at), false));
    // A path that ends in "/" has an empty last segment.
    if (end + 1 == head.path.size()) head.segments.emplace_back();
    at = end + 1;
  }
  if (mark == std::string::npos) return;
  const std::string_view query = std::string_view(head.target).substr(mark + 1);
  for (std::size_t at = 0; at < query.size();) {
    const std::size_t end = std::min(query.find('&', at), query.size());
    const std::string_view part = query.substr(at, end - at);
    const std::size_t is = std::min(part.find('='), part.size());
    if (!part.empty())
      head.query.emplace(plain(part.substr(0, is), true),
                         is < part.size() ? plain(part.substr(is + 1), true) : std::string());
    at = end + 1;
  }
}

}  // namespace ullage::http
