// The HTTP server on Boost.Beast. One thread runs everything here, so nothing in it needs a lock.
#include <algorithm>
#include <atomic>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <cctype>
#include <cstdio>
#include <limits>
#include <optional>
#include <set>
#include <thread>

#include "server/http.h"

namespace ullage::http {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace wire = boost::beast::http;
using asio::ip::tcp;
using Failure = beast::error_code;

class BeastServer;

// One connection: waits for a request, reads it, has it answered, and begins again.
class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(tcp::socket&& socket, BeastServer& server) : stream_(std::move(socket)), server_(server) {}
  ~Connection();

  void begin() { wait(); }
  void turn_away();     // too many connections
  void no_more_soon();  // on stop: what is not being asked within the grace is not waited for
  void give_up();       // at once
  bool is_idle() const { return state_ == State::waiting; }

 private:
  enum class State { waiting, reading, working, writing, streaming, ending };

  void wait();
  void read_head();
  void on_head(Failure failure);
  void read_body();
  void on_body(Failure failure);
  void answer(Response&& response);
  void write_body(wire::response_header<>&& head);
  void write_file(wire::response_header<>&& head);
  void begin_stream(wire::response_header<>&& head);
  void more_of_stream();
  void beat();
  void written(Failure failure);
  void refuse(int status, const std::string& message);
  void linger();
  void end();
  void release_body();

  beast::tcp_stream stream_;
  BeastServer& server_;
  beast::flat_buffer buffer_;
  std::optional<wire::request_parser<wire::string_body>> parser_;
  std::optional<wire::request_parser<wire::file_body>> upload_;
  std::shared_ptr<const std::string> upload_file_;
  Head head_;
  State state_ = State::waiting;
  bool keep_alive_ = true;
  bool head_only_ = false;
  std::uint64_t body_counted_ = 0;

  Response response_;
  std::optional<wire::response<wire::span_body<const char>>> plain_;
  std::optional<wire::response_serializer<wire::span_body<const char>>> plain_writer_;
  std::optional<wire::response<wire::file_body>> file_;
  std::optional<wire::response_serializer<wire::file_body>> file_writer_;
  std::optional<wire::response<wire::empty_body>> empty_;
  std::optional<wire::response_serializer<wire::empty_body>> empty_writer_;
  std::string chunk_;
  bool chunk_under_way_ = false;
  bool stream_ended_ = false;
  std::optional<asio::steady_timer> timer_;
};

class BeastServer : public Server {
 public:
  BeastServer(Service& service, const Limits& limits) : service_(service), limits_(limits) {}
  ~BeastServer() override { stop(); }

  Result<void> open(const Where& where) {
    upload_folder_ = where.upload_folder;
    Failure failure;
    const auto address = asio::ip::make_address(where.address, failure);
    if (failure) return fail(Code::invalid_input, where.address + " is not an address");
    const tcp::endpoint endpoint(address, where.port);
    acceptor_.open(endpoint.protocol(), failure);
    if (!failure) acceptor_.set_option(asio::socket_base::reuse_address(true), failure);
    if (!failure) acceptor_.bind(endpoint, failure);
    if (!failure) acceptor_.listen(asio::socket_base::max_listen_connections, failure);
    if (failure) {
      return fail(Code::unavailable, "port " + std::to_string(where.port) + " of " + where.address +
                                         " cannot be listened on: " + failure.message());
    }
    port_ = acceptor_.local_endpoint().port();
    accept();
    thread_ = std::thread([this] { io_.run(); });
    return {};
  }

  std::uint16_t port() const override { return port_; }
  int connections() const override { return count_.load(); }

  void stop() override {
    const std::lock_guard lock(stopping_mutex_);
    if (!thread_.joinable()) return;
    asio::post(io_, [this] { begin_stop(); });
    thread_.join();
  }

  // ---- For connections.
  asio::io_context& io() { return io_; }
  Service& service() { return service_; }
  const Limits& limits() const { return limits_; }
  bool stopping() const { return stopping_; }
  void add(Connection* connection) {
    open_.insert(connection);
    ++count_;
  }
  void remove(Connection* connection) {
    open_.erase(connection);
    --count_;
    if (stopping_ && open_.empty()) last_one_gone();
  }
  bool count_body(std::uint64_t bytes) {
    if (bodies_ + bytes > limits_.bodies_in_flight) return false;
    bodies_ += bytes;
    return true;
  }
  // A name nobody has; the file goes with the last owner of the name.
  std::shared_ptr<const std::string> upload_file() {
    auto* name = new std::string(upload_folder_ + "/upload-" + std::to_string(++uploads_));
    return {name, [](const std::string* gone) {
              std::remove(gone->c_str());
              delete gone;
            }};
  }
  void uncount_body(std::uint64_t bytes) { bodies_ -= bytes; }

 private:
  void accept() {
    acceptor_.async_accept([this](Failure failure, tcp::socket socket) {
      if (failure == asio::error::operation_aborted || !acceptor_.is_open()) return;
      if (!failure) take(std::move(socket));
      if (failure) {
        // Out of file descriptors or the like: not again at once.
        pause_.expires_after(std::chrono::milliseconds(50));
        pause_.async_wait([this](Failure) {
          if (acceptor_.is_open()) accept();
        });
        return;
      }
      accept();
    });
  }
  void take(tcp::socket&& socket) {
    Failure ignored;
    socket.set_option(tcp::no_delay(true), ignored);
    const bool full = open_.size() >= limits_.connections;
    auto connection = std::make_shared<Connection>(std::move(socket), *this);
    add(connection.get());
    full ? connection->turn_away() : connection->begin();
  }
  // On stop: for the grace everything goes on, new connections too, but each answer is the connection's last; then
  // only what was asked is answered.
  void begin_stop() {
    stopping_ = true;
    stop_timer_.expires_after(limits_.grace);
    stop_timer_.async_wait([this](Failure) {
      Failure ignored;
      acceptor_.close(ignored);
      pause_.cancel();
      const std::vector<Connection*> all(open_.begin(), open_.end());
      for (Connection* each : all) each->no_more_soon();
      graced_ = true;
      if (open_.empty()) return last_one_gone();
      stop_timer_.expires_after(limits_.last_call);
      stop_timer_.async_wait([this](Failure failure) {
        if (failure) return;
        const std::vector<Connection*> rest(open_.begin(), open_.end());
        for (Connection* each : rest) each->give_up();
        io_.stop();
      });
    });
  }
  void last_one_gone() {
    if (graced_) stop_timer_.cancel();
  }

  Service& service_;
  const Limits limits_;
  // These outlive io_, whose handlers may hold the last owners of connections.
  std::set<Connection*> open_;
  std::atomic<int> count_ = 0;
  std::uint64_t bodies_ = 0;
  std::string upload_folder_;
  std::uint64_t uploads_ = 0;
  bool stopping_ = false, graced_ = false;
  asio::io_context io_{1};
  tcp::acceptor acceptor_{io_};
  asio::steady_timer pause_{io_}, stop_timer_{io_};
  std::thread thread_;
  std::mutex stopping_mutex_;
  std::uint16_t port_ = 0;
};

Connection::~Connection() {
  release_body();
  server_.remove(this);
}

void Connection::release_body() {
  if (body_counted_ > 0) server_.uncount_body(body_counted_);
  body_counted_ = 0;
}

void Connection::turn_away() {
  keep_alive_ = false;
  refuse(503, "too many connections are open; try again");
}

void Connection::no_more_soon() {
  if (state_ == State::waiting) return end();
  keep_alive_ = false;
  if (state_ == State::streaming && response_.stream) response_.stream->close();
}

void Connection::give_up() {
  Failure ignored;
  stream_.socket().close(ignored);
  if (response_.stream) response_.stream->close();
}

// Until the first byte of a request comes, a connection is idle and may be let go.
void Connection::wait() {
  state_ = State::waiting;
  parser_.reset();
  upload_.reset();
  upload_file_.reset();
  if (buffer_.size() > 0) return read_head();
  stream_.expires_after(server_.limits().idle_time);
  stream_.async_read_some(buffer_.prepare(4096), [self = shared_from_this()](Failure failure, std::size_t bytes) {
    // Let go while these bytes were on their way here: nobody would hear the answer, so nothing is done.
    if (failure || !self->stream_.socket().is_open()) return self->end();
    self->buffer_.commit(bytes);
    self->read_head();
  });
}

void Connection::read_head() {
  state_ = State::reading;
  parser_.emplace();
  parser_->header_limit(static_cast<std::uint32_t>(server_.limits().header_bytes));
  // None that this version would take for zero: the limit of the path is set once its head is known.
  parser_->body_limit(std::numeric_limits<std::uint64_t>::max());
  stream_.expires_after(server_.limits().header_time);
  wire::async_read_header(stream_, buffer_, *parser_,
                          [self = shared_from_this()](Failure failure, std::size_t) { self->on_head(failure); });
}

void Connection::on_head(Failure failure) {
  if (failure == wire::error::header_limit || failure == wire::error::buffer_overflow)
    return refuse(431, "the headers are longer than " + std::to_string(server_.limits().header_bytes) + " bytes");
  if (failure.category() == wire::make_error_code(wire::error::bad_method).category() &&
      failure != wire::error::end_of_stream && failure != wire::error::partial_message)
    return refuse(400, "this is no HTTP request: " + failure.message());
  if (failure) return end();
  const auto& message = parser_->get();
  keep_alive_ = message.keep_alive();
  head_only_ = message.method() == wire::verb::head;
  head_ = Head{};
  head_.method = std::string(message.method_string());
  head_.target = std::string(message.target());
  if (message.version() != 10 && message.version() != 11) return refuse(400, "only HTTP/1.0 and HTTP/1.1 are spoken");
  if (head_.target.size() > server_.limits().target_bytes)
    return refuse(414, "the address is longer than " + std::to_string(server_.limits().target_bytes) + " bytes");
  for (const auto& field : message) {
    std::string name(field.name_string());
    std::transform(name.begin(), name.end(), name.begin(), [](unsigned char c) { return std::tolower(c); });
    head_.fields.emplace(std::move(name), std::string(field.value()));
  }
  read_target(head_);
  // Two ways to say how long a body is are a way to smuggle a second request.
  if (head_.fields.count("transfer-encoding") && head_.fields.count("content-length"))
    return refuse(400, "Content-Length and Transfer-Encoding exclude each other");
  auto admitted = server_.service().admit(head_);
  if (admitted.refusal) {
    // What the client still sends is not read, so nothing can follow on this connection, unless there is no body.
    if (!parser_->is_done()) keep_alive_ = false;
    return answer(std::move(*admitted.refusal));
  }
  const auto length = parser_->content_length();
  const std::string too_large = "the body is longer than " + std::to_string(admitted.most_body) + " bytes";
  if (length && *length > admitted.most_body) return refuse(413, too_large);
  parser_->body_limit(admitted.most_body);
  const bool to_file = admitted.to_file && !parser_->is_done();
  const std::uint64_t counted = parser_->is_done() || to_file ? 0 : length ? *length : admitted.most_body;
  if (!server_.count_body(counted)) return refuse(503, "too much is being received at once; try again");
  body_counted_ = counted;
  stream_.expires_after(to_file ? server_.limits().upload_time : server_.limits().body_time);
  std::string expects = head_.field("expect");
  std::transform(expects.begin(), expects.end(), expects.begin(), [](unsigned char c) { return std::tolower(c); });
  const bool asks = expects == "100-continue" && !parser_->is_done() && message.version() == 11;
  if (to_file) {
    upload_file_ = server_.upload_file();
    upload_.emplace(std::move(*parser_));
    parser_.reset();
    Failure problem;
    upload_->get().body().open(upload_file_->c_str(), beast::file_mode::write_new, problem);
    if (problem) return refuse(503, "what is sent cannot be kept: " + problem.message());
  }
  if (asks) {
    empty_.emplace(wire::status::continue_, 11);
    empty_writer_.emplace(*empty_);
    wire::async_write(stream_, *empty_writer_, [self = shared_from_this()](Failure problem, std::size_t) {
      if (problem) return self->end();
      self->read_body();
    });
    return;
  }
  read_body();
}

void Connection::read_body() {
  const auto done = [self = shared_from_this()](Failure failure, std::size_t) { self->on_body(failure); };
  if (upload_) return (void)wire::async_read(stream_, buffer_, *upload_, done);
  wire::async_read(stream_, buffer_, *parser_, done);
}

void Connection::on_body(Failure failure) {
  if (failure == wire::error::body_limit) return refuse(413, "the body is too long");
  if (failure && failure.category() == wire::make_error_code(wire::error::bad_method).category() &&
      failure != wire::error::end_of_stream && failure != wire::error::partial_message)
    return refuse(400, "this is no HTTP request: " + failure.message());
  if (failure) return end();
  state_ = State::working;
  stream_.expires_never();
  Request request;
  static_cast<Head&>(request) = std::move(head_);
  if (upload_) {
    upload_->get().body().close();
    request.file = std::move(upload_file_);
  } else {
    request.body = std::move(parser_->get().body());
  }
  upload_.reset();
  parser_.reset();
  release_body();
  auto& io = server_.io();
  // Whoever answers hands the connection back with the answer: a last owner in another thread would end it there.
  server_.service().handle(std::move(request), [self = shared_from_this(), &io](Response response) mutable {
    asio::post(
        io, [self = std::move(self), response = std::move(response)]() mutable { self->answer(std::move(response)); });
  });
}

void Connection::refuse(int status, const std::string& message) {
  keep_alive_ = false;
  answer(server_.service().refuse(status, message));
}

void Connection::answer(Response&& response) {
  state_ = State::writing;
  release_body();
  response_ = std::move(response);
  if (response_.close || server_.stopping()) keep_alive_ = false;
  wire::response_header<> head;
  head.result(static_cast<unsigned>(response_.status));
  head.version(11);
  for (const auto& [name, value] : response_.fields) head.insert(name, value);
  stream_.expires_after(server_.limits().write_time);
  if (response_.stream && !head_only_) return begin_stream(std::move(head));
  if (!response_.file.empty()) return write_file(std::move(head));
  write_body(std::move(head));
}

void Connection::write_body(wire::response_header<>&& head) {
  const std::string_view text = response_.fixed.empty() ? std::string_view(response_.body) : response_.fixed;
  plain_.emplace(std::move(head));
  plain_->keep_alive(keep_alive_);
  const bool no_body = response_.status == 204 || response_.status == 304;
  if (!no_body) plain_->content_length(text.size());
  if (!head_only_ && !no_body) plain_->body() = {text.data(), text.size()};
  plain_writer_.emplace(*plain_);
  const auto done = [self = shared_from_this()](Failure failure, std::size_t) { self->written(failure); };
  head_only_ ? wire::async_write_header(stream_, *plain_writer_, done)
             : wire::async_write(stream_, *plain_writer_, done);
}

void Connection::write_file(wire::response_header<>&& head) {
  file_.emplace(std::move(head));
  Failure failure;
  file_->body().open(response_.file.c_str(), beast::file_mode::scan, failure);
  std::remove(response_.file.c_str());
  if (failure) return end();
  file_->keep_alive(keep_alive_);
  file_->content_length(file_->body().size());
  file_writer_.emplace(*file_);
  // A large file takes its time; each piece that is taken begins the wait anew.
  const auto step = [self = shared_from_this()](auto&& again) -> void {
    self->stream_.expires_after(self->server_.limits().write_time);
    wire::async_write_some(self->stream_, *self->file_writer_, [self, again](Failure problem, std::size_t) {
      if (problem || self->file_writer_->is_done()) return self->written(problem);
      again(again);
    });
  };
  if (head_only_) {
    file_writer_->split(true);
    return wire::async_write_header(
        stream_, *file_writer_, [self = shared_from_this()](Failure problem, std::size_t) { self->written(problem); });
  }
  step(step);
}

void Connection::begin_stream(wire::response_header<>&& head) {
  state_ = State::streaming;
  keep_alive_ = false;
  empty_.emplace(std::move(head));
  empty_->chunked(true);
  empty_->keep_alive(false);
  empty_writer_.emplace(*empty_);
  wire::async_write_header(stream_, *empty_writer_, [self = shared_from_this()](Failure failure, std::size_t) {
    if (failure) return self->end();
    self->timer_.emplace(self->server_.io());
    // The stream tells from whatever thread pushes to it. It may outlive the connection, so it holds it weakly.
    auto& io = self->server_.io();
    self->response_.stream->on_news([weak = std::weak_ptr<Connection>(self), &io] {
      asio::post(io, [weak] {
        if (const auto here = weak.lock()) here->more_of_stream();
      });
    });
    // Nothing more is expected from the client; its going away is noticed here. A time limit counts for what is begun
    // after it was set: none for this read, one for each write.
    self->stream_.expires_never();
    self->stream_.async_read_some(self->buffer_.prepare(512), [self](Failure gone, std::size_t) {
      if (gone) self->end();
    });
    self->more_of_stream();
    self->beat();
  });
}

void Connection::beat() {
  timer_->expires_after(server_.limits().heartbeat);
  timer_->async_wait([weak = weak_from_this()](Failure failure) {
    const auto self = weak.lock();
    if (failure || !self || self->state_ != State::streaming) return;
    self->response_.stream->comment();
    self->beat();
  });
}

void Connection::more_of_stream() {
  if (state_ != State::streaming || chunk_under_way_ || stream_ended_) return;
  auto [text, closed] = response_.stream->take();
  if (text.empty() && !closed) return;
  chunk_.clear();
  if (!text.empty()) {
    char size[24];
    std::snprintf(size, sizeof size, "%zx\r\n", text.size());
    chunk_ = size + text + "\r\n";
  }
  if (closed) chunk_ += "0\r\n\r\n";
  stream_ended_ = closed;
  chunk_under_way_ = true;
  stream_.expires_after(server_.limits().write_time);
  asio::async_write(stream_, asio::buffer(chunk_), [self = shared_from_this()](Failure failure, std::size_t) {
    self->chunk_under_way_ = false;
    if (failure || self->stream_ended_) return self->end();
    self->more_of_stream();
  });
}

void Connection::written(Failure failure) {
  plain_writer_.reset();
  plain_.reset();
  file_writer_.reset();
  file_.reset();
  response_ = Response{};
  if (failure) return end();
  if (!keep_alive_) return linger();
  wait();
}

// Lets the client read the answer: what it still sends is thrown away for a moment, or the system would cut it off.
void Connection::linger() {
  state_ = State::ending;
  Failure ignored;
  stream_.socket().shutdown(tcp::socket::shutdown_send, ignored);
  stream_.expires_after(std::chrono::seconds(2));
  buffer_.consume(buffer_.size());
  const auto step = [self = shared_from_this()](auto&& again, std::size_t left) -> void {
    self->stream_.async_read_some(self->buffer_.prepare(16384),
                                  [self, again, left](Failure failure, std::size_t bytes) {
                                    if (failure || bytes >= left) return self->end();
                                    again(again, left - bytes);
                                  });
  };
  step(step, std::size_t{4} << 20);
}

void Connection::end() {
  state_ = State::ending;
  if (timer_) timer_->cancel();
  if (response_.stream) {
    response_.stream->on_news({});
    response_.stream->close();
  }
  Failure ignored;
  stream_.socket().shutdown(tcp::socket::shutdown_both, ignored);
  stream_.socket().close(ignored);
}

}  // namespace

Result<std::unique_ptr<Server>> listen(const Where& where, Service& service, const Limits& limits) {
  auto server = std::make_unique<BeastServer>(service, limits);
  if (const auto opened = server->open(where); !opened) return tl::unexpected(opened.error());
  return std::unique_ptr<Server>(std::move(server));
}

}  // namespace ullage::http
