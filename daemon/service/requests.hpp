// What can be asked of the daemon, and by whom it is answered. Text in, text out: no sockets here. What reads the files of
// the job is done by the worker, so that a hanging disk never stands before a stop.
//
//   GET  /v1/picture        everything there is to show, newest state
//   POST /v1/act            one act of a person: act, object, value, reason, as, second, seen
//   POST /v1/offer, /adopt  the files in the job folder: as, second, reason, value, seen
//   GET  /v1/recorded/SEQ   is that row on the disk?
#pragma once

#include <functional>
#include <string>

#include "daemon/service/inbox.hpp"
#include "daemon/service/job_folder.hpp"
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
    std::string station;
    Worker& worker;
    std::function<std::int64_t()> durable_seq;  // Any thread.
  };
  explicit Requests(Parts parts) : parts_{std::move(parts)} {}

  // On the server's thread.
  void handle(const Request& request, ReplyTo reply) const;

 private:
  void act(const Request& request, ReplyTo reply) const;
  void files(const Request& request, Act act, const ReplyTo& reply) const;
  void recorded(const std::string& seq, ReplyTo reply) const;
  void submit(Asked asked, const std::string& hint, ReplyTo reply) const;

  Parts parts_;
};

}  // namespace standfast
