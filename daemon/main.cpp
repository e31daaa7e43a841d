// standfastd: watches one job and withdraws the permit to raise when anything leaves the plan. Arguments, the list of what
// is wired to what, exit codes. It exits by itself only where the job's folder cannot be written, the record is not ours,
// or the socket is taken; everything else it serves, on HOLD, with the reason.
#include <pthread.h>
#include <sys/prctl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <CLI/CLI.hpp>
#include <csignal>
#include <iostream>
#include <thread>

#include "daemon/service/caretaker.hpp"
#include "daemon/service/file_lock.hpp"
#include "daemon/service/machine.hpp"
#include "daemon/service/new_record.hpp"
#include "daemon/service/opening.hpp"
#include "daemon/service/people.hpp"
#include "daemon/service/places.hpp"
#include "daemon/service/record_key.hpp"
#include "daemon/service/requests.hpp"
#include "daemon/service/safe_act.hpp"
#include "daemon/service/server.hpp"
#include "drivers/boot_clock.hpp"

namespace standfast {
namespace {

enum Exit : int { ended = 0, usage = 64, taken = 69, not_writable = 73, record_not_ours = 78 };
constexpr unsigned end_within_s = 5;
constexpr int looks_between_files = 5;
constexpr rlim_t most_descriptors = 1000;  // Below what select() and its like can hold.

struct Options {
  std::string job, station;
  bool begin_new_record{false};
  BeginAnew anew;
};

sigset_t signals_we_wait_for() {
  sigset_t set;
  sigemptyset(&set);
  for (const int signal : {SIGTERM, SIGINT, SIGHUP}) sigaddset(&set, signal);
  return set;
}

int refuse(Exit code, const std::string& why) {
  say("<3>standfastd: " + why);
  return code;
}

// Looks after the running service until somebody asks it to end.
void stand_by(Caretaker& caretaker, FileWatch& files, Worker& worker, const Service& service, const Server& server) {
  const sigset_t set = signals_we_wait_for();
  std::string headline;
  for (int looks = 0;; ++looks) {
    const timespec second{1, 0};
    const int signal = sigtimedwait(&set, nullptr, &second);
    if (signal == SIGTERM || signal == SIGINT) return;
    Service::Standing standing = service.standing();
    standing.progress.push_back(server.progress());
    if (caretaker.look(standing)) feed_watchdog();
    const bool files_due = signal == SIGHUP || looks % looks_between_files == 0;
    if (files_due && !worker.run([&files, standing] { files.look(standing); })) continue;  // The disk hangs; next time.
    if (standing.headline == headline) continue;
    tell_status(headline = standing.headline);
    say("<5>" + headline);
  }
}

// Only while no daemon runs on the job.
int begin_anew(const Options& options) {
  const JobFolder folder{options.job};
  const auto job_lock = FileLock::take(folder.lock_path());
  if (!job_lock) return refuse(not_writable, job_lock.error());
  const auto people = read_people(options.station.empty() ? default_station : options.station);
  if (!people) return refuse(record_not_ours, people.error());
  const auto done = begin_new_record(folder, {options.anew.by, options.anew.reason, *people});
  if (!done) return refuse(record_not_ours, done.error());
  std::cout << *done << '\n';
  return ended;
}

int serve(const Options& options) {
  const BootClock clock;
  const JobFolder folder{options.job};
  const std::string run_folder = options.station.empty() ? default_run_folder : options.station;
  const std::string station = options.station.empty() ? default_station : options.station;
  const auto job_lock = FileLock::take(folder.lock_path());
  if (!job_lock) return refuse(not_writable, job_lock.error());
  const auto station_lock = FileLock::take(run_folder + "/standfastd.lock");
  if (!station_lock) return refuse(taken, station_lock.error());

  Inbox inbox;
  Pictures pictures{inbox};
  const RecordKey key = record_key(station);
  if (!key) say("<4>the record is written without checkpoints: " + key.error());
  auto opening = open_record(folder, inbox, key);
  if (!opening) return refuse(opening.error().writable ? record_not_ours : not_writable, opening.error().why);
  Service service{{clock, wall_time_now, inbox, pictures, opening->journal(), real_wires(clock), folder.path()},
                  opening->rebuild()};
  FileWatch files{inbox, folder};
  KnownPeople people{station};
  Worker worker;
  const Requests requests{{inbox, pictures, folder, people, worker, [&] { return opening->durable_seq(); }}};
  ServerLimits limits;
  limits.never_refused = never_refused;
  auto server = Server::listen(socket_path(run_folder), [&](const Request& request, ReplyTo reply) {
    requests.handle(request, std::move(reply));
  }, limits);
  if (!server) return refuse(taken, server.error());

  service.start(opening->beginning());
  std::thread engine{[&] {
    ::pthread_setname_np(::pthread_self(), "engine");  // By which it is told from the others from outside.
    service.run();
  }};
  tell_ready();
  Caretaker caretaker{{clock, wall_time_now, inbox}};
  stand_by(caretaker, files, worker, service, **server);

  ::alarm(end_within_s);  // Should the disk hang: the outputs are off long before, and nothing is worth more time.
  service.end();
  engine.join();
  service.finish();
  worker.end();
  tell_stopping();
  return opening->close() ? ended : refuse(ended, "not everything is on disk; the next start finds what is missing");
}

}  // namespace
}  // namespace standfast

int main(int argc, char** argv) {
  standfast::ready_standard_streams();
  const sigset_t set = standfast::signals_we_wait_for();
  pthread_sigmask(SIG_BLOCK, &set, nullptr);
  std::signal(SIGPIPE, SIG_IGN);
  const rlimit descriptors{standfast::most_descriptors, standfast::most_descriptors};
  ::setrlimit(RLIMIT_NOFILE, &descriptors);
  ::umask(0027);
  ::prctl(PR_SET_TIMERSLACK, 1UL, 0UL, 0UL, 0UL);  // Every thread begins with it: polls start 50 us nearer to when they are due.

  standfast::Options options;
  CLI::App app{"Watches a jacking job and withdraws the permit to raise when anything leaves the plan.\n"
               "An aid, not a safety-rated device: nobody stays under a load held by hydraulics alone."};
  app.set_version_flag("--version", "standfastd " STANDFAST_VERSION);
  app.add_option("--job", options.job, "folder with rig.yaml, stages.yaml and record.db")->required()->check(CLI::ExistingDirectory);
  app.add_option("--station", options.station, "folder for people and socket (default: the system's)")->check(CLI::ExistingDirectory);
  auto* anew = app.add_flag("--begin-new-record", options.begin_new_record,
                            "set a record that is not trusted aside, begin a new one that names it, and end");
  app.add_option("--as", options.anew.by, "who begins it: a name on the station's list, where there is one; recorded as not verified")
      ->needs(anew);
  app.add_option("--reason", options.anew.reason, "why")->needs(anew);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : standfast::usage;
  }
  return options.begin_new_record ? standfast::begin_anew(options) : standfast::serve(options);
}
