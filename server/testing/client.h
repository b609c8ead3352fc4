// A plain HTTP client over sockets, for tests: sends bytes as they are given, reads one answer at a time.
#pragma once

#include <arpa/inet.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <chrono>
#include <cstdlib>
#include <map>
#include <optional>
#include <string>

namespace ullage::server {

struct Got {
  int status = 0;                             // 0: the connection ended before an answer
  std::map<std::string, std::string> fields;  // names in lower case
  std::string body;
  std::string field(const std::string& name) const {
    const auto it = fields.find(name);
    return it == fields.end() ? "" : it->second;
  }
};

class Client {
 public:
  explicit Client(std::uint16_t port) : port_(port) {
    socket_ = ::socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in where{};
    where.sin_family = AF_INET;
    where.sin_port = htons(port);
    where.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    connected_ = ::connect(socket_, reinterpret_cast<sockaddr*>(&where), sizeof where) == 0;
    const int on = 1;
    ::setsockopt(socket_, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  }
  ~Client() { ::close(socket_); }
  Client(const Client&) = delete;
  Client& operator=(const Client&) = delete;

  bool connected() const { return connected_; }
  // False when the other side has gone.
  bool send(const std::string& bytes) {
    for (std::size_t at = 0; at < bytes.size();) {
      const auto sent = ::send(socket_, bytes.data() + at, bytes.size() - at, MSG_NOSIGNAL);
      if (sent <= 0) return false;
      at += static_cast<std::size_t>(sent);
    }
    return true;
  }
  void no_more() { ::shutdown(socket_, SHUT_WR); }

  Got read(bool head_only = false, int patience_ms = 20000) {
    until_ = std::chrono::steady_clock::now() + std::chrono::milliseconds(patience_ms);
    Got got;
    std::size_t end;
    while ((end = in_.find("\r\n\r\n")) == std::string::npos) {
      if (!more()) return got;
    }
    const std::string head = in_.substr(0, end + 2);
    in_.erase(0, end + 4);
    const int status = std::atoi(head.c_str() + 9);
    for (std::size_t at = head.find("\r\n") + 2; at < head.size();) {
      const std::size_t stop = head.find("\r\n", at), colon = head.find(':', at);
      std::string name = head.substr(at, colon - at);
      std::transform(name.begin(), name.end(), name.begin(), [](unsigned char c) { return std::tolower(c); });
      got.fields[name] = head.substr(std::min(colon + 2, stop), stop - std::min(colon + 2, stop));
      at = stop + 2;
    }
    if (got.field("transfer-encoding") == "chunked") {
      if (head_only) {
        got.status = status;
        return got;
      }
      for (;;) {
        std::size_t line;
        while ((line = in_.find("\r\n")) == std::string::npos) {
          if (!more()) return got;
        }
        const std::size_t size = std::strtoul(in_.c_str(), nullptr, 16);
        while (in_.size() < line + 2 + size + 2) {
          if (!more()) return got;
        }
        got.body += in_.substr(line + 2, size);
        in_.erase(0, line + 2 + size + 2);
        if (size == 0) break;
      }
    } else if (!head_only && status != 304 && status != 204) {
      const std::size_t length = std::strtoul(got.field("content-length").c_str(), nullptr, 10);
      while (in_.size() < length) {
        if (!more()) return got;
      }
      got.body = in_.substr(0, length);
      in_.erase(0, length);
    }
    got.status = status;
    return got;
  }
  // Bytes of a stream that come until `text` has come, or the patience ends.
  std::string read_until(const std::string& text, int patience_ms = 20000) {
    until_ = std::chrono::steady_clock::now() + std::chrono::milliseconds(patience_ms);
    while (in_.find(text) == std::string::npos) {
      if (!more()) break;
    }
    return in_;
  }
  // True when the other side ends the connection within this time.
  bool ends(int patience_ms) {
    until_ = std::chrono::steady_clock::now() + std::chrono::milliseconds(patience_ms);
    while (more()) {
    }
    return ended_;
  }

  std::string request(const std::string& method, const std::string& target, const std::string& body = "",
                      const std::string& type = "application/json", const std::string& more_fields = "") const {
    std::string text =
        method + " " + target + " HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(port_) + "\r\n" + more_fields;
    if (!body.empty()) text += "Content-Type: " + type + "\r\nContent-Length: " + std::to_string(body.size()) + "\r\n";
    return text + "\r\n" + body;
  }
  Got ask(const std::string& method, const std::string& target, const std::string& body = "",
          const std::string& type = "application/json", const std::string& more_fields = "") {
    if (!send(request(method, target, body, type, more_fields))) return {};
    return read(method == "HEAD");
  }

 private:
  bool more() {
    const auto left =
        std::chrono::duration_cast<std::chrono::milliseconds>(until_ - std::chrono::steady_clock::now()).count();
    if (left <= 0) return false;
    pollfd wait{socket_, POLLIN, 0};
    if (::poll(&wait, 1, static_cast<int>(left)) <= 0) return false;
    char bytes[65536];
    const auto got = ::recv(socket_, bytes, sizeof bytes, 0);
    if (got <= 0) {
      ended_ = true;
      return false;
    }
    in_.append(bytes, static_cast<std::size_t>(got));
    return true;
  }

  std::uint16_t port_;
  int socket_ = -1;
  bool connected_ = false, ended_ = false;
  std::string in_;
  std::chrono::steady_clock::time_point until_;
};

}  // namespace ullage::server
