// From a change on the wire to the permit's coil off, through the whole daemon: bus thread, engine, output thread, record on
// the disk. Beside it, in the same run and with the same changes, the least that could do it: a loop with two libmodbus
// clients, one reads, one writes.
//
//   stop_bench FOLDER [CHANGES]
//
// Polls of 10, 50 and 100 ms, each with a daemon, a bare loop and two devices of its own, all at once. A change comes at
// any moment of the poll and goes beyond STOP of 64 limits whose `persist` is 0. A trip needs two readings beyond, in the
// daemon and in the bare loop: of the whole time, one to two polls are the polling itself. What the program adds is counted
// from the moment at which the device sent its second such answer.
#include <array>
#include <random>
#include <thread>

#include "drivers/boot_clock.hpp"
#include "tools/bench/daemon.hpp"
#include "tools/bench/figures.hpp"
#include "tools/bench/job_text.hpp"
#include "tools/bench/modbus_bare_loop.hpp"
#include "tools/bench/modbus_peer.hpp"

namespace {

using namespace standfast;
using namespace standfast::bench;

constexpr std::uint16_t within = 8'000, beyond = 18'000, stop_above = 16'800;  // Microampere of a 4-20 mA loop; 40 mm.
constexpr int channels = 64;
constexpr int readings_to_trip = 2;
constexpr Duration patience = seconds(20);

// ---- The daemon ----

void give_permit(const Daemon& daemon) {
  daemon.until_done({.act = "acknowledge", .object = "all"});
  daemon.until_done({.act = "reset", .object = "all", .reason = "bench"});
  daemon.until_done({.act = "permit_give", .object = "commission"});
}

// ---- One poll period ----

struct Times {
  std::vector<double> whole_ms, added_ms;
  void note(Instant changed, Peer& peer) {
    const auto off = peer.permit_stands(false, patience);
    const auto carried = peer.carried();
    if (!off || carried.size() < static_cast<std::size_t>(readings_to_trip)) give_up("the coil did not go off");
    whole_ms.push_back((*off - changed).seconds() * 1e3);
    added_ms.push_back((*off - carried[readings_to_trip - 1]).seconds() * 1e3);
  }
};

struct AtOnePoll {
  int poll_ms;
  Peer peer{}, bare_peer{};
  Times daemon{}, bare{};
  Used used{};
};

void measure(const std::filesystem::path& folder, int changes, AtOnePoll& result) {
  Peer &peer = result.peer, &bare_peer = result.bare_peer;
  peer.change(within);
  bare_peer.change(within);
  Daemon::lay_out(folder, job_text({.channels = channels, .limits = channels, .poll_ms = result.poll_ms, .port = peer.port()}));
  Daemon daemon{folder};
  daemon.adopt();
  daemon.until_done({.act = "stage_enter", .object = "Commission"});
  std::thread{run, BareLoop{bare_peer.port(), result.poll_ms, channels, stop_above, readings_to_trip}}.detach();
  std::mt19937 draw{static_cast<unsigned>(result.poll_ms)};
  for (int i = 0; i < changes; ++i) {
    give_permit(daemon);
    if (!peer.permit_stands(true, patience) || !bare_peer.permit_stands(true, patience)) give_up("the coil did not go on");
    std::this_thread::sleep_for(std::chrono::microseconds(draw() % static_cast<unsigned>(result.poll_ms * 1000)));
    const Instant bare_changed = bare_peer.change(beyond), changed = peer.change(beyond);
    result.daemon.note(changed, peer);
    result.bare.note(bare_changed, bare_peer);
    peer.change(within);
    bare_peer.change(within);
  }
  result.used = daemon.end();
}

void print(const char* who, const Times& times) {
  const auto line = [](const std::vector<double>& ms) {
    std::printf("  %7.2f %7.2f %7.2f", percentile(ms, 0.5), percentile(ms, 0.99), percentile(ms, 1));
  };
  std::printf("  %-10s", who);
  line(times.whole_ms);
  std::printf("   ");
  line(times.added_ms);
  std::printf("\n");
}

}  // namespace

int main(int count, char** words) {
  const int changes = count > 2 ? std::atoi(words[2]) : 2000;
  if (count < 2 || count > 3 || changes < 1) give_up("stop_bench FOLDER [CHANGES]");
  std::array<AtOnePoll, 3> results{AtOnePoll{10}, AtOnePoll{50}, AtOnePoll{100}};
  std::vector<std::thread> threads;
  for (AtOnePoll& result : results)
    threads.emplace_back([&result, changes, all = std::filesystem::path{words[1]}] {
      measure(all / std::to_string(result.poll_ms), changes, result);
    });
  for (std::thread& thread : threads) thread.join();
  std::printf("%d changes at each poll; milliseconds, as the device saw them\n", changes);
  std::printf("                     change to permit off          second answer beyond to permit off\n");
  std::printf("               median     p99   worst       median     p99   worst\n");
  for (const AtOnePoll& result : results) {
    std::printf("poll %d ms\n", result.poll_ms);
    print("daemon", result.daemon);
    print("bare loop", result.bare);
    std::printf("  the daemon adds %.2f times what the bare loop adds (medians); it used %.1f s of a core and %ld KiB at most\n",
                median(result.daemon.added_ms) / median(result.bare.added_ms), result.used.cpu_seconds, result.used.peak_kib);
  }
  std::fflush(stdout);
  std::_Exit(0);  // The devices' threads wait for ever.
}
