// From a change on the wire to the permit's coil off where one reading is enough, while every sync of the record takes 50 ms
// longer and exports of it run one after another. The permit of commissioning ends above 40 bar, so it is given again by one
// act. (A limit wants two readings, one poll more: see stop_bench.) Beside each daemon, with the same changes, a loop with two
// libmodbus clients that records nothing.
//
//   permit_off_bench FOLDER [CHANGES [DAEMONS]]
//
// Polls of 10, 50 and 100 ms. The changes of each poll are shared out among so many daemons, all at once, because a giving
// waits for the disk. A change comes at any moment of the poll.
#include <sched.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <csignal>
#include <list>
#include <random>
#include <thread>

#include "tools/bench/daemon.hpp"
#include "tools/bench/figures.hpp"
#include "tools/bench/job_text.hpp"
#include "tools/bench/modbus_bare_loop.hpp"
#include "tools/bench/modbus_peer.hpp"

namespace {

using namespace standfast;
using namespace standfast::bench;
using std::filesystem::path;

constexpr int channels = 64, pressure_register = 64;
constexpr std::uint16_t within = 4'400, beyond = 6'000, bare_stop_above = 5'000;  // Microampere of a 4-20 mA loop.
constexpr Duration patience = seconds(60);
constexpr Peer::Which pressure{pressure_register, 1}, ram{0, 1}, everything{0, channels + 1};
constexpr double aim_over_poll_ms = 2;

path beside(const char* place) { return std::filesystem::read_symlink("/proc/self/exe").parent_path() / place; }

// ---- Exports, at the priority of any other program ----

// What the program ended with; waits until there is a record.
int export_once(const path& folder) {
  while (!std::filesystem::exists(folder / "job/record.db")) std::this_thread::sleep_for(std::chrono::milliseconds(10));
  const std::string program = beside("../standfast/standfast").string(), job = (folder / "job").string(), to = (folder / "csv").string();
  std::filesystem::remove_all(to);  // An export goes into a new folder.
  const pid_t process = ::fork();
  if (process == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGTERM);
    const sched_param usual{};
    ::sched_setscheduler(0, SCHED_OTHER, &usual);
    if (!std::freopen("/dev/null", "w", stdout) || !std::freopen("/dev/null", "w", stderr)) ::_exit(126);
    ::execl(program.c_str(), program.c_str(), "export", "--csv", to.c_str(), "--job", job.c_str(), nullptr);
    ::_exit(127);
  }
  int status = 0;
  ::waitpid(process, &status, 0);
  return status;
}

// ---- One daemon ----

struct Times { std::vector<double> daemon_ms, bare_ms; };

double waited_ms(Instant changed, Peer& peer) {
  const auto off = peer.permit_stands(false, patience);
  if (!off) give_up("the coil did not go off");
  return (*off - changed).seconds() * 1e3;
}

struct Pair {
  Pair(int poll, int how_many, path where) : poll_ms{poll}, changes{how_many}, folder{std::move(where)} {}
  int poll_ms, changes;
  path folder;
  Peer peer{}, bare_peer{};
  Times times{};
  Used used{};
};

// As soon as the pressure has been read low again; a permit that comes before ends by itself.
void give_permit(const Daemon& daemon, Pair& pair) {
  constexpr int tries = 100;
  for (int i = 0; i < tries; ++i) {
    std::this_thread::sleep_for(std::chrono::milliseconds(pair.poll_ms + 2));
    (void)daemon.act({.act = "permit_give", .object = "commission"});
    if (pair.peer.permit_stands(true, seconds(1)) && pair.bare_peer.permit_stands(true, patience)) return;
  }
  give_up("the coil did not go on");
}

void measure(Pair& pair) {
  Peer &peer = pair.peer, &bare_peer = pair.bare_peer;
  peer.change(within, everything);
  bare_peer.change(within, everything);
  Daemon::lay_out(pair.folder, job_text({.channels = channels, .limits = channels, .poll_ms = pair.poll_ms, .port = peer.port(),
                                         .with_jack = true}));
  Daemon daemon{pair.folder, beside("libslow_sync.so").string()};
  daemon.adopt();
  daemon.until_done({.act = "stage_enter", .object = "Commission"});
  daemon.until_done({.act = "acknowledge", .object = "all"});
  daemon.until_done({.act = "reset", .object = "all", .reason = "bench"});
  std::thread{run, BareLoop{bare_peer.port(), pair.poll_ms, channels + 1, bare_stop_above, 1}}.detach();
  std::mt19937 draw{std::random_device{}()};
  for (int i = 0; i < pair.changes; ++i) {
    give_permit(daemon, pair);
    std::this_thread::sleep_for(std::chrono::microseconds(draw() % static_cast<unsigned>(pair.poll_ms * 1000)));
    const Instant bare_changed = bare_peer.change(beyond, pressure), changed = peer.change(beyond, pressure);
    pair.times.daemon_ms.push_back(waited_ms(changed, peer));
    pair.times.bare_ms.push_back(waited_ms(bare_changed, bare_peer));
    // A ram that stood bit-identical under a pressure that comes and goes would count as frozen.
    peer.change(static_cast<std::uint16_t>(within + i % 16), ram);
    peer.change(within, pressure);
    bare_peer.change(within, pressure);
  }
  pair.used = daemon.end();
}

// ---- All of them ----

void print(const char* who, const std::vector<double>& ms, int poll_ms) {
  const auto over = [&](double part) { return percentile(ms, part) - poll_ms; };
  std::printf("  %-10s %8.2f %8.2f %8.2f %8.2f    p99 %+.2f ms, p99.9 %+.2f ms, worst %+.2f ms against the poll\n", who,
              percentile(ms, 0.5), percentile(ms, 0.99), percentile(ms, 0.999), percentile(ms, 1), over(0.99), over(0.999), over(1));
}

void print_poll(int poll_ms, const std::list<Pair>& pairs) {
  Times all;
  double cpu = 0;
  for (const Pair& pair : pairs) {
    if (pair.poll_ms != poll_ms) continue;
    all.daemon_ms.insert(all.daemon_ms.end(), pair.times.daemon_ms.begin(), pair.times.daemon_ms.end());
    all.bare_ms.insert(all.bare_ms.end(), pair.times.bare_ms.begin(), pair.times.bare_ms.end());
    cpu += pair.used.cpu_seconds;
  }
  std::printf("poll %d ms, %zu changes (aim: p99 at most %.0f ms over the poll); the daemons used %.1f s of a core\n", poll_ms,
              all.daemon_ms.size(), aim_over_poll_ms, cpu);
  print("daemon", all.daemon_ms, poll_ms);
  print("bare loop", all.bare_ms, poll_ms);
}

}  // namespace

int main(int count, char** words) {
  const int changes = count > 2 ? std::atoi(words[2]) : 10'000, daemons = count > 3 ? std::atoi(words[3]) : 4;
  if (count < 2 || count > 4 || changes < 1 || daemons < 1) give_up("permit_off_bench FOLDER [CHANGES [DAEMONS]]");
  constexpr std::array polls_ms{10, 50, 100};
  std::list<Pair> pairs;
  for (const int poll_ms : polls_ms)
    for (int i = 0; i < daemons; ++i)
      pairs.emplace_back(poll_ms, (changes + daemons - 1) / daemons, path{words[1]} / (std::to_string(poll_ms) + "-" + std::to_string(i)));
  std::vector<std::thread> threads;
  for (Pair& pair : pairs) threads.emplace_back([&pair] { measure(pair); });
  std::atomic<bool> ending{false};
  int exports = 0, failed = 0;
  std::thread exporter{[&] {
    while (!ending)
      for (const Pair& pair : pairs)
        if (!ending) ++(export_once(pair.folder) == 0 ? exports : failed);
  }};
  for (std::thread& thread : threads) thread.join();
  ending = true;
  exporter.join();
  std::printf("change on the wire to permit off, milliseconds; %d daemons at each poll; %d exports meanwhile, %d failed\n",
              daemons, exports, failed);
  std::printf("               median      p99    p99.9    worst\n");
  for (const int poll_ms : polls_ms) print_poll(poll_ms, pairs);
  std::fflush(stdout);
  std::_Exit(0);  // The devices' threads wait for ever.
}
