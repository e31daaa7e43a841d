#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <condition_variable>
#include <cstring>
#include <memory>
#include <mutex>
#include <thread>
#include <vector>

#include "daemon/service/server.hpp"
#include "tests/service/folder.hpp"
#include "tools/standfast/http.hpp"

using namespace standfast;

namespace {

// Bytes as they are, so that a client can be as rude as it likes.
class Peer {
 public:
  explicit Peer(const std::string& path) : fd_{::socket(AF_UNIX, SOCK_STREAM, 0)} {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path, path.c_str(), path.size() + 1);
    REQUIRE(::connect(fd_, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
  }
  ~Peer() { ::close(fd_); }
  Peer(const Peer&) = delete;
  Peer& operator=(const Peer&) = delete;

  void send(const std::string& bytes) {
    std::size_t done = 0;
    while (done < bytes.size()) {
      const ssize_t n = ::send(fd_, bytes.data() + done, bytes.size() - done, MSG_NOSIGNAL);
      if (n <= 0) return;  // The server has closed: that is what some tests wait for.
      done += static_cast<std::size_t>(n);
    }
  }
  // Until the server closes.
  std::string all() {
    std::string text;
    char piece[4096];
    for (ssize_t n; (n = ::recv(fd_, piece, sizeof piece, 0)) > 0;) text.append(piece, static_cast<std::size_t>(n));
    return text;
  }
  // Until that has come, or the server closes.
  std::string until(const std::string& wanted) {
    std::string text;
    char byte;
    while (text.find(wanted) == std::string::npos && ::recv(fd_, &byte, 1, 0) == 1) text += byte;
    return text;
  }

 private:
  int fd_;
};

struct Served {
  explicit Served(ServerLimits limits = {}, Handler handler = echo()) {
    auto listening = Server::listen(path, std::move(handler), limits);
    REQUIRE(listening);
    server = std::move(*listening);
  }
  static Handler echo() {
    return [](const Request& request, const ReplyTo& reply) { reply({200, request.method + " " + request.target + " " + request.body}); };
  }
  Folder folder;
  std::string path = folder.path() + "/socket";
  std::unique_ptr<Server> server;
};

const std::string get = "GET /a HTTP/1.1\r\nHost: x\r\n\r\n";
bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("a request is answered, and the kernel says who asked") {
  std::int64_t uid = -2;
  Served served{{}, [&](const Request& request, const ReplyTo& reply) {
                  uid = request.peer_uid;
                  reply({200, request.body});
                }};
  const auto answer = client::post(served.path, "/v1/act", "{}");
  REQUIRE(answer);
  CHECK(answer->status == 200);
  CHECK(answer->body == "{}");
  CHECK(uid == static_cast<std::int64_t>(::geteuid()));
}

TEST_CASE("the socket is for its owner and group only, and is gone with the server") {
  Served served;
  struct stat facts {};
  REQUIRE(::stat(served.path.c_str(), &facts) == 0);
  CHECK((facts.st_mode & 0777) == 0660);
  served.server.reset();
  CHECK(::stat(served.path.c_str(), &facts) != 0);
}

TEST_CASE("a socket on which somebody listens is refused, one left by a dead daemon is replaced") {
  Served served;
  const auto second = Server::listen(served.path, Served::echo());
  REQUIRE_FALSE(second);
  CHECK(has(second.error(), "taken"));
  const std::string left = served.folder.path() + "/left";
  REQUIRE(::close(::socket(AF_UNIX, SOCK_STREAM, 0)) == 0);
  {
    const int fd = ::socket(AF_UNIX, SOCK_STREAM, 0);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::memcpy(address.sun_path, left.c_str(), left.size() + 1);
    REQUIRE(::bind(fd, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0);
    ::close(fd);
  }
  CHECK(Server::listen(left, Served::echo()));
}

TEST_CASE("a header beyond its limit is refused") {
  Served served;
  Peer peer{served.path};
  peer.send("GET / HTTP/1.1\r\nX: " + std::string(9000, 'a'));
  CHECK(has(peer.all(), "431"));
}

TEST_CASE("a body beyond its limit is refused before it is sent, chunked or not") {
  Served served;
  Peer stated{served.path};
  stated.send("POST / HTTP/1.1\r\nContent-Length: 1000000000\r\n\r\n");
  CHECK(has(stated.all(), "413"));
  Peer chunked{served.path};
  chunked.send("POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n20000\r\n" + std::string(0x20000, 'a') + "\r\n0\r\n\r\n");
  CHECK(has(chunked.all(), "413"));
}

TEST_CASE("a body whose length is stated twice is refused and the connection closed") {
  Served served;
  for (const char* second : {"Transfer-Encoding: chunked\r\n", "Content-Length: 3\r\n", "Content-Length: 4\r\n"}) {
    Peer peer{served.path};
    peer.send(std::string("POST /a HTTP/1.1\r\nContent-Length: 4\r\n") + second + "\r\n0\r\n\r\nGET /smuggled HTTP/1.1\r\n\r\n");
    const std::string answer = peer.all();
    CHECK(has(answer, "400"));
    CHECK_FALSE(has(answer, "smuggled"));
  }
}

TEST_CASE("what is not HTTP is refused") {
  Served served;
  Peer peer{served.path};
  peer.send("\x16\x03\x01 hello\r\n\r\n");
  CHECK(has(peer.all(), "400"));
}

TEST_CASE("requests sent at once are answered one after the other") {
  Served served;
  Peer peer{served.path};
  peer.send(get + get + "GET /b HTTP/1.1\r\nConnection: close\r\n\r\n");
  const std::string answers = peer.all();
  CHECK(has(answers, "GET /b"));
  CHECK(answers.find("HTTP/1.1 200", answers.find("GET /a")) != std::string::npos);
}

TEST_CASE("HTTP/1.0 is answered and closed") {
  Served served;
  Peer peer{served.path};
  peer.send("GET /a HTTP/1.0\r\n\r\n");
  CHECK(has(peer.all(), "GET /a"));
}

TEST_CASE("a connection serves so many requests and no more") {
  ServerLimits limits;
  limits.requests_per_connection = 3;
  Served served{limits};
  Peer peer{served.path};
  for (int i = 0; i < 5; ++i) peer.send(get);
  const std::string answers = peer.all();
  std::size_t count = 0;
  for (std::size_t at = answers.find("200 OK"); at != std::string::npos; at = answers.find("200 OK", at + 1)) ++count;
  CHECK(count == 3);
}

TEST_CASE("sixty-four connections that ask nothing keep nobody out") {
  Served served;
  std::vector<std::unique_ptr<Peer>> silent;
  for (int i = 0; i < 64; ++i) {
    silent.push_back(std::make_unique<Peer>(served.path));
    if (i % 2) silent.back()->send("POST /a HTT");  // Half of them begin and never end.
  }
  for (int i = 0; i < 100; ++i) {
    Peer next{served.path};
    next.send(get);
    CHECK(has(next.until("GET /a"), "200"));
  }
}

TEST_CASE("where every connection has a request in hand, only what is never refused is heard") {
  std::mutex mutex;
  std::vector<ReplyTo> kept;
  ServerLimits limits;
  limits.connections = 2;
  limits.never_refused = [](std::string_view, std::string_view target) { return target == "/stop"; };
  Served served{limits, [&](const Request& request, const ReplyTo& reply) {
                  if (request.target == "/stop") return reply({200, request.objection == Objection::crowded ? "heard in the crowd" : ""});
                  const std::lock_guard lock{mutex};
                  kept.push_back(reply);
                }};
  const auto in_hand = [&] {
    const std::lock_guard lock{mutex};
    return kept.size();
  };
  Peer first{served.path}, second{served.path};
  first.send(get);
  second.send(get);
  while (in_hand() < 2) std::this_thread::yield();
  Peer third{served.path};
  third.send(get);
  CHECK(has(third.all(), "503"));
  for (int i = 0; i < 10; ++i) {
    Peer stop{served.path};
    stop.send("POST /stop HTTP/1.1\r\nContent-Length: 0\r\n\r\n");
    CHECK(has(stop.all(), "heard in the crowd"));
  }
  std::vector<std::unique_ptr<Peer>> silent;
  for (int i = 0; i < 10; ++i) silent.push_back(std::make_unique<Peer>(served.path));
  Peer stop{served.path};
  stop.send("POST /stop HTTP/1.1\r\nContent-Length: 0\r\n\r\n");
  CHECK(has(stop.all(), "heard in the crowd"));
  const std::lock_guard lock{mutex};
  for (const ReplyTo& reply : kept) reply({200, "at last"});
  CHECK(has(first.until("at last"), "200"));
}

TEST_CASE("what is never refused is handed over with its body too long, cut off or stated twice") {
  ServerLimits limits;
  limits.never_refused = [](std::string_view method, std::string_view) { return method == "POST"; };
  std::mutex mutex;
  std::vector<Objection> objections;
  Served served{limits, [&](const Request& request, const ReplyTo& reply) {
                  {
                    const std::lock_guard lock{mutex};
                    objections.push_back(request.objection);
                  }
                  reply({200, "heard"});
                }};
  const auto sent = [&](const std::string& bytes) {
    Peer peer{served.path};
    peer.send(bytes);
    return peer.all();
  };
  CHECK(has(sent("POST /stop HTTP/1.1\r\nContent-Length: 1000000000\r\n\r\n" + std::string(100'000, 'a')), "heard"));
  CHECK(has(sent("POST /stop HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n20000\r\n" + std::string(0x20000, 'a') + "\r\n0\r\n\r\n"),
            "heard"));
  CHECK(has(sent("POST /stop HTTP/1.1\r\nContent-Length: 4\r\nContent-Length: 3\r\n\r\nabcd"), "heard"));
  {
    Peer gone{served.path};
    gone.send("POST /stop HTTP/1.1\r\nContent-Length: 10\r\n\r\ncra");
  }
  const auto count = [&] {
    const std::lock_guard lock{mutex};
    return objections.size();
  };
  while (count() < 4) std::this_thread::yield();
  CHECK(objections.front() == Objection::not_whole);
  CHECK(objections.back() == Objection::not_whole);
}

TEST_CASE("a request that does not arrive in time is closed") {
  ServerLimits limits;
  limits.seconds_to_send = 1;
  Served served{limits};
  Peer peer{served.path};
  peer.send("GET /a HT");
  CHECK(peer.all().empty());
}

TEST_CASE("a question that nobody answers is answered for him, and a late answer does nothing") {
  std::mutex mutex;
  std::vector<ReplyTo> kept;
  ServerLimits limits;
  limits.seconds_to_answer = 1;
  Served served{limits, [&](const Request&, ReplyTo reply) {
                  const std::lock_guard lock{mutex};
                  kept.push_back(std::move(reply));
                }};
  const auto answer = client::get(served.path, "/slow");
  REQUIRE(answer);
  CHECK(answer->status == 504);
  const std::lock_guard lock{mutex};
  for (const ReplyTo& reply : kept) reply({200, "late"});
  served.server.reset();
  for (const ReplyTo& reply : kept) reply({200, "later still"});
}
