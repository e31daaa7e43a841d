// What can be asked of the daemon, and by whom it is answered. Text in, text out: no sockets here. What reads a file, the
// list of people included, is done by the worker, so that a hanging disk never stands before a stop. What the worker comes
// to too late, or after somebody has called stop or ended the permit, is not done any more.
//
//   POST /v1/stop           a stop, whatever comes with it
//   GET  /v1/picture        everything there is to show, newest state
//   POST /v1/act            one act of a person: act, object, value, reason, as, second, seen
//   POST /v1/offer, /adopt  the files in the job folder: as, second, reason, value, seen
//   GET  /v1/recorded/SEQ   is that row on the disk?
#pragma once

#include <chrono>
#include <functional>
#include <mutex>
#include <string>

#include "daemon/service/inbox.hpp"
#include "daemon/service/job_folder.hpp"
#include "daemon/service/known_people.hpp"
#include "daemon/service/pictures.hpp"
#include "daemon/service/server.hpp"
#include "daemon/service/worker.hpp"

namespace standfast {

class Requests {
 public:
  struct Parts {
    Inbox& inbox;
    Pictures& pictures;
    const JobFolder& folder;
    KnownPeople& people;
    Worker& worker;
    std::function<std::int64_t()> durable_seq;  // Any thread.
  };
  explicit Requests(Parts parts) : parts_{std::move(parts)} {}

  // On the server's thread. Lives longer than the worker's last task.
  void handle(const Request& request, ReplyTo reply) const;

 private:
  // When an act was asked for: the time, and how often a permit had been withdrawn until then.
  struct AskedAt { std::chrono::steady_clock::time_point time; std::int64_t withdrawals; };

  void later(std::function<void(AskedAt)> task, const ReplyTo& reply) const;  // By the worker.
  void act(const Request& request, AskedAt at, const ReplyTo& reply) const;
  void files(const Request& request, Act act, AskedAt at, const ReplyTo& reply) const;
  void recorded(const std::string& seq, ReplyTo reply) const;
  void submit(Asked asked, AskedAt at, const std::string& hint, const ReplyTo& reply) const;
  AskedAt now() const;

  Parts parts_;
  // Acts enter the inbox in the order of this: what came before a withdrawal and was held up is not done after it.
  mutable std::mutex order_;
  mutable std::int64_t withdrawals_{0};
};

}  // namespace standfast
