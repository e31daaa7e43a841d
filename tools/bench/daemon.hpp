// The daemon as a process of its own, spoken to through its socket as the command line does.
#pragma once

#include <sys/types.h>

#include <boost/json.hpp>
#include <filesystem>
#include <string>

#include "daemon/service/job_folder.hpp"

namespace standfast::bench {

// From the start of the process to its end, as the system counts it.
struct Used { double cpu_seconds; long peak_kib; };

class Daemon {
 public:
  // Writes the job and the list of people into the folder, which is emptied.
  static void lay_out(const std::filesystem::path& folder, const JobBytes& job);

  // Starts it on `folder`/job with the station `folder`/station, and waits until it answers. `preload`: a library that is
  // loaded before all others.
  explicit Daemon(std::filesystem::path folder, const std::string& preload = {});
  ~Daemon() { end(); }
  Daemon(const Daemon&) = delete;
  Daemon& operator=(const Daemon&) = delete;

  boost::json::object picture() const;
  // By the engineer with the supervisor, on what the newest picture shows. The code of the answer.
  struct Deed { std::string act, object{}, reason{}; };
  std::string act(const Deed& deed) const;
  // Again and again until it is done: what was seen changes, and a reading within limits has to come first.
  void until_done(const Deed& deed) const;
  void adopt() const;  // The files of the job come into force.

  long resident_kib() const;   // Now.
  double cpu_seconds() const;  // Since its start.
  const std::filesystem::path& folder() const { return folder_; }
  Used end();

 private:
  std::string send(const std::string& path, boost::json::object body) const;

  std::filesystem::path folder_;
  std::string socket_;
  pid_t process_{-1};
  Used used_{};
};

}  // namespace standfast::bench
