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
#include "tools/bench/modbus_bare_loop.hpp"
#include "tools/bench/modbus_peer.hpp"

namespace {

using namespace standfast;
using namespace standfast::bench;

constexpr std::uint16_t within = 8'000, beyond = 18'000, stop_above = 16'800;  // Microampere of a 4-20 mA loop; 40 mm.
constexpr int channels = 64;
constexpr int readings_to_trip = 2;
constexpr Duration patience = seconds(20);

// ---- The daemon and its job ----

JobBytes job_text(std::uint16_t port, int poll_ms) {
  const std::string every = std::to_string(poll_ms) + " ms";
  JobBytes job{"rig: Bench\nsimulated: true\ndisplay_units: {force: kN, pressure: bar, length: mm, temperature: degC}\n"
               "buses:\n  gauges: {modbus_tcp: {host: 127.0.0.1, port: " + std::to_string(port) + "}}\nchannels:\n",
               "plan: {title: Bench, revision: A, engineer: E. Quill}\n"
               "column_load: {low: 1 kN, expected: 2 kN, high: 3 kN}\nstages:\n"
               "  - stage: Commission\n    kind: commission\n    pressure_limit: 40 bar\n    sign_off: supervisor\n    limits:\n"};
  for (int i = 0; i < channels; ++i) {
    const std::string name = "C" + std::to_string(i);
    job.rig += "  " + name + ": {bus: gauges, unit_id: 1, input_register: " + std::to_string(i) + ", as: uint16, every: " + every +
               ", scale: {current: [4 mA, 20 mA], value: [0 mm, 50 mm], counts_per_mA: 1000}, accuracy: 0.05 mm}\n";
    job.plan += "      - {of: channel " + name + ", stop: {above: 40 mm, persist: 0 s}}\n";
  }
  job.rig += "output_module: {bus: gauges, unit_id: 1, settle: 300 ms, outputs: {raise_permit: {coil: 0, readback: 16}, "
             "lower_permit: {coil: 1, readback: 17}, stop_relay: {coil: 2, readback: 18}, sounder: {coil: 3, readback: 19}, "
             "beacon: {coil: 4, readback: 20}, call_out: {coil: 5, readback: 21}, heartbeat: {coil: 7, period: 500 ms}}, "
             "watchdog: {holding_register: 40, counts_of: 100 ms, at_most: 2 s}, "
             "on_watchdog: [{holding_register: 41, must_read: 0}], on_power: [{holding_register: 42, must_read: 0}]}\n";
  job.plan += "  - {stage: Baseline, kind: baseline, window: 5 s, sign_off: engineer}\n";
  return job;
}

// Again and again until it is done: what was seen changes, and a reading within limits has to come first.
void until_done(const Daemon& daemon, const Daemon::Deed& deed) {
  const BootClock clock;
  std::string code;
  for (const Instant begin = clock.now(); clock.now() - begin < patience; std::this_thread::sleep_for(std::chrono::milliseconds(5)))
    if ((code = daemon.act(deed)) == "done") return;
  give_up(deed.act + ": " + code);
}

void give_permit(const Daemon& daemon) {
  until_done(daemon, {.act = "acknowledge", .object = "all"});
  until_done(daemon, {.act = "reset", .object = "all", .reason = "bench"});
  until_done(daemon, {.act = "permit_give", .object = "commission"});
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
  Daemon::lay_out(folder, job_text(peer.port(), result.poll_ms));
  Daemon daemon{folder};
  daemon.adopt();
  until_done(daemon, {.act = "stage_enter", .object = "Commission"});
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
