#include "daemon/service/server.hpp"

#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <boost/asio/buffer.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/local/stream_protocol.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/core/basic_stream.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>
#include <chrono>
#include <list>
#include <mutex>
#include <optional>
#include <thread>

namespace standfast {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using Local = asio::local::stream_protocol;
using Stream = beast::basic_stream<Local>;
using boost::system::error_code;

std::int64_t peer_uid(int socket) {
  ucred peer{};
  socklen_t size = sizeof peer;
  return ::getsockopt(socket, SOL_SOCKET, SO_PEERCRED, &peer, &size) == 0 ? std::int64_t{peer.uid} : -1;
}

std::string problem_body(const std::string& code, const std::string& text) {
  return "{\"schema\":\"standfast-problem-1\",\"code\":\"" + code + "\",\"text\":\"" + text + "\"}";
}

// The way back to the server's thread for answers from other threads, some of which come when the server is gone.
class Gate {
 public:
  explicit Gate(asio::io_context& io) : io_{&io} {}
  template <class Work>
  void post(Work work) {
    const std::lock_guard lock{mutex_};
    if (io_) asio::post(*io_, std::move(work));
  }
  void close() {
    const std::lock_guard lock{mutex_};
    io_ = nullptr;
  }

 private:
  std::mutex mutex_;
  asio::io_context* io_;
};

// One connection. It keeps itself alive by what it waits for; one request is in hand at a time.
class Session : public std::enable_shared_from_this<Session> {
 public:
  struct Shared {
    Handler handler;
    ServerLimits limits;
    std::shared_ptr<Gate> gate;
    std::size_t sessions{0};
    std::list<Session*> silent{};  // Those that wait for a request, the longest first.
  };
  Session(Local::socket socket, Shared& shared)
      : stream_{std::move(socket)}, timer_{stream_.get_executor()}, shared_{shared},
        peer_uid_{peer_uid(stream_.socket().native_handle())} {
    ++shared_.sessions;
  }
  ~Session() {
    end_silence();
    --shared_.sessions;
  }

  void read() {
    shared_.silent.push_back(this);
    parser_.emplace();
    parser_->header_limit(static_cast<std::uint32_t>(shared_.limits.header_bytes));
    parser_->body_limit(shared_.limits.body_bytes);
    stream_.expires_after(std::chrono::seconds{shared_.limits.seconds_to_send});
    http::async_read(stream_, buffer_, *parser_, [self = shared_from_this()](error_code error, std::size_t) {
      self->end_silence();
      if (error) self->refuse(error);
      else self->handle();
    });
  }
  // Only what is never refused is heard on it.
  void hear_little() { little_ = true; }
  bool hears_little() const { return little_; }
  void close() {
    error_code ignored;
    stream_.socket().shutdown(Local::socket::shutdown_both, ignored);
    stream_.close();
  }

 private:
  void end_silence() { std::erase(shared_.silent, this); }

  bool never_refused() const {
    const auto& message = parser_->get();
    const auto view = [](auto text) { return std::string_view{text.data(), text.size()}; };
    return shared_.limits.never_refused && shared_.limits.never_refused(view(message.method_string()), view(message.target()));
  }

  void refuse(error_code error) {
    keep_alive_ = false;
    if (never_refused()) return hand_over(Objection::not_whole);
    unread_ = true;
    if (error == http::error::header_limit) return write({431, problem_body("header-too-long", "header too long")});
    if (error == http::error::body_limit) return write({413, problem_body("body-too-long", "body too long")});
    if (error.category() == http::make_error_code(http::error::bad_value).category() &&
        error != http::error::end_of_stream && error != http::error::partial_message)
      return write({400, problem_body("malformed", "not an HTTP request")});
    close();  // Gone, or too slow.
  }

  // A body whose length is said in two ways is the tool of smugglers.
  bool two_lengths() const {
    return parser_->get().count(http::field::content_length) + parser_->get().count(http::field::transfer_encoding) > 1;
  }

  void handle() {
    const auto& message = parser_->get();
    const Objection objection = two_lengths() ? Objection::two_lengths : little_ ? Objection::crowded : Objection::none;
    keep_alive_ = message.keep_alive() && ++requests_ < shared_.limits.requests_per_connection && objection == Objection::none;
    if (objection == Objection::none || never_refused()) return hand_over(objection);
    if (objection == Objection::crowded) return write({503, problem_body("too-many-connections", "too many connections; try again")});
    write({400, problem_body("two-lengths", "the length of the body is stated twice")});
  }

  void hand_over(Objection objection) {
    unread_ = objection == Objection::not_whole;
    const auto& message = parser_->get();
    const auto text = [](auto view) { return std::string(view.data(), view.size()); };
    const Request request{text(message.method_string()), text(message.target()),
                          text(message[http::field::content_type]), message.body(), peer_uid_, objection};
    const int number = ++number_;
    timer_.expires_after(std::chrono::seconds{shared_.limits.seconds_to_answer});
    timer_.async_wait([self = shared_from_this(), number](error_code error) {
      if (!error) self->answer(number, {504, problem_body("no-answer", "the daemon did not answer in time")});
    });
    shared_.handler(request, [weak = weak_from_this(), gate = shared_.gate, number](Reply reply) {
      gate->post([weak, number, reply = std::move(reply)]() mutable {
        if (const auto self = weak.lock()) self->answer(number, std::move(reply));
      });
    });
  }

  void answer(int number, Reply reply) {
    if (number != number_ || answered_ == number) return;
    answered_ = number;
    timer_.cancel();
    write(std::move(reply));
  }

  void write(Reply reply) {
    response_ = {};
    response_.version(11);
    response_.result(static_cast<unsigned>(reply.status));
    response_.set(http::field::content_type, "application/json");
    response_.set(http::field::cache_control, "no-store");
    response_.keep_alive(keep_alive_);
    response_.body() = std::move(reply.body);
    response_.prepare_payload();
    stream_.expires_after(std::chrono::seconds{shared_.limits.seconds_to_send});
    http::async_write(stream_, response_, [self = shared_from_this()](error_code error, std::size_t) {
      if (!error && self->unread_) return self->drain();
      if (error || !self->keep_alive_) return self->close();
      self->read();
    });
  }

  // Who closes on bytes that nobody has read takes the answer from the other side as well.
  void drain() {
    error_code ignored;
    stream_.socket().shutdown(Local::socket::shutdown_send, ignored);
    stream_.expires_after(std::chrono::seconds{1});
    swallow();
  }
  void swallow() {
    stream_.async_read_some(asio::buffer(swallowed_), [self = shared_from_this()](error_code error, std::size_t) {
      if (error) self->close();
      else self->swallow();
    });
  }

  Stream stream_;
  asio::steady_timer timer_;
  Shared& shared_;
  std::int64_t peer_uid_;
  beast::flat_buffer buffer_{16 * 1024};
  std::optional<http::request_parser<http::string_body>> parser_;
  http::response<http::string_body> response_;
  int requests_{0}, number_{0}, answered_{0};
  std::array<char, 4096> swallowed_{};
  bool keep_alive_{false}, little_{false}, unread_{false};
};

bool somebody_listens(const std::string& path) {
  asio::io_context io;
  Local::socket probe{io};
  error_code error;
  probe.connect(Local::endpoint{path}, error);
  return !error;
}

}  // namespace

class Server::Inside {
 public:
  Inside(std::string path, Handler handler, ServerLimits limits)
      : path_{std::move(path)}, shared_{std::move(handler), limits, nullptr, 0} {
    shared_.gate = std::make_shared<Gate>(io_);
  }
  ~Inside() {
    shared_.gate->close();
    if (!thread_.joinable()) return;
    io_.stop();
    thread_.join();
    ::unlink(path_.c_str());
  }

  // The error is the system's own words.
  std::optional<std::string> start() {
    error_code error;
    const Local::endpoint endpoint{path_};
    acceptor_.open(endpoint.protocol(), error);
    if (!error) acceptor_.bind(endpoint, error);
    if (!error && ::chmod(path_.c_str(), 0660) != 0) error = error_code{errno, boost::system::system_category()};
    if (!error) acceptor_.listen(asio::socket_base::max_listen_connections, error);
    if (error) return error.message();
    accept();
    thread_ = std::thread{[this] { io_.run(); }};
    return std::nullopt;
  }
  std::int64_t progress() {
    shared_.gate->post([this] { signs_.fetch_add(1); });
    return signs_.load();
  }

 private:
  void accept() {
    acceptor_.async_accept([this](error_code error, Local::socket socket) {
      if (error == asio::error::operation_aborted) return;
      if (error) return accept_later();  // No descriptor left, for one: it will not be better at once.
      const auto session = std::make_shared<Session>(std::move(socket), shared_);
      make_room(*session);
      session->read();
      accept();
    });
  }
  // The session is not among the silent ones yet.
  void make_room(Session& session) {
    const std::size_t most = shared_.limits.connections;
    if (shared_.sessions <= most) return;
    auto longest = std::find_if(shared_.silent.begin(), shared_.silent.end(), [](const Session* s) { return !s->hears_little(); });
    if (longest == shared_.silent.end()) {
      session.hear_little();
      if (shared_.sessions <= 2 * most) return;
      longest = shared_.silent.begin();
    }
    if (longest == shared_.silent.end()) return session.close();
    Session& goes = **longest;
    shared_.silent.erase(longest);
    goes.close();
  }
  void accept_later() {
    pause_.expires_after(std::chrono::milliseconds{200});
    pause_.async_wait([this](error_code error) {
      if (!error) accept();
    });
  }

  std::string path_;
  Session::Shared shared_;  // Before `io_`, in which the sessions live that use it.
  asio::io_context io_{1};
  Local::acceptor acceptor_{io_};
  asio::steady_timer pause_{io_};
  std::atomic<std::int64_t> signs_{0};
  std::thread thread_;
};

Server::Server(std::unique_ptr<Inside> inside) : inside_{std::move(inside)} {}
Server::~Server() = default;
std::int64_t Server::progress() const { return inside_->progress(); }

Result<std::unique_ptr<Server>, std::string> Server::listen(const std::string& path, Handler handler,
                                                            ServerLimits limits) {
  if (path.size() >= sizeof(sockaddr_un::sun_path)) return Failure{"the socket's path is too long: " + path};
  if (somebody_listens(path)) return Failure{"socket " + path + " is taken"};
  ::unlink(path.c_str());  // Left by a daemon that was killed.
  auto inside = std::make_unique<Inside>(path, std::move(handler), limits);
  if (const auto problem = inside->start()) return Failure{"socket " + path + ": " + *problem};
  return std::unique_ptr<Server>{new Server{std::move(inside)}};
}

}  // namespace standfast
