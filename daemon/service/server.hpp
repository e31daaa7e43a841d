// HTTP on a Unix socket, on one thread of its own. It knows bytes, limits and connections; what a request means is
// decided by whoever is given as `Handler`. Nothing here can slow the engine: it only hands over and waits.
//
// Limits: 32 connections, 8 KiB of header, 64 KiB of body, 10 s for a whole request to arrive and for a reply to be
// taken, 100 requests a connection. What exceeds one is answered where that makes sense, and closed.
//
// Nobody is locked out by connections that ask nothing: the one that has been silent for longest makes room. Where every
// one has a request in hand, 32 more are heard for what `never_refused` names. Such a request is handed over
// whatever is wrong with it (its body too long, cut off, stated twice), with as much of its body as came.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>

#include "config/result.hpp"

namespace standfast {

// Why a request would be refused if it were of any other kind.
enum class Objection : std::uint8_t { none, crowded, not_whole, two_lengths };

struct Request {
  std::string method, target, content_type, body;
  std::int64_t peer_uid{-1};  // Of the process at the other end, as the kernel says; -1 unknown.
  Objection objection{Objection::none};
};
struct Reply {
  int status{200};
  std::string body;  // JSON.
};
// May be called back at once or later, from any thread, once. A second call and a call after the deadline do nothing.
using ReplyTo = std::function<void(Reply)>;
using Handler = std::function<void(const Request&, ReplyTo)>;

struct ServerLimits {
  std::size_t connections{32}, header_bytes{8 * 1024}, body_bytes{64 * 1024};
  int requests_per_connection{100};
  int seconds_to_send{10}, seconds_to_answer{10};
  // By method and target; none: everything may be refused.
  bool (*never_refused)(std::string_view method, std::string_view target){nullptr};
};

class Server {
 public:
  // Takes the socket, whose path must not be one that somebody listens on. The error is a sentence: "socket ... is taken".
  static Result<std::unique_ptr<Server>, std::string> listen(const std::string& path, Handler handler,
                                                             ServerLimits limits = {});
  // Closes every connection and removes the socket.
  ~Server();
  // Asks the thread for a sign of life and counts those that have come: one that stands still has lost its thread.
  std::int64_t progress() const;
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

 private:
  class Inside;
  explicit Server(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace standfast
