// What the whole daemon costs where 64 units of four channels answer over TCP, ten and a hundred times a second, with two
// levels of limits over each channel, against a bare pipeline (pipeline_bare) that asks the same units over as many
// connections, compares as often and writes as much. They take turns; each turn has a new record.
//
//   pipeline_bench FOLDER [SECONDS [BUSES]]
//
// SECONDS of each turn, behind a start that is not counted. Time of a core is what the system counts for the process, the
// fsyncs' included. A scan of a bus is from its first question to its last answer; how late it starts is told against the
// earliest start of the same second, so that a shift for ever counts once. Both as the units see them.
#include <signal.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <map>
#include <thread>

#include "tools/bench/daemon.hpp"
#include "tools/bench/figures.hpp"
#include "tools/bench/job_text.hpp"
#include "tools/bench/modbus_units_peer.hpp"

namespace {

using namespace standfast;
using namespace standfast::bench;
using std::filesystem::path;

constexpr int turns = 5, units = 64, channels_of_a_unit = 4;
constexpr double settling_s = 3;

void sleep_s(double time_s) { std::this_thread::sleep_for(std::chrono::duration<double>(time_s)); }

// ---- What the units saw ----

struct Seen { std::vector<double> scan_ms, late_ms; std::size_t exchanges{0}; };

void add_late(const std::vector<Instant>& starts, Duration poll, std::vector<double>& late_ms) {
  const auto in_a_second = static_cast<std::size_t>(seconds(1).ns / poll.ns);
  for (std::size_t first = 0; first + in_a_second <= starts.size(); first += in_a_second) {
    std::vector<double> ms;
    for (std::size_t i = 0; i < in_a_second; ++i)
      ms.push_back((starts[first + i] - starts[first] - poll * static_cast<std::int64_t>(i)).seconds() * 1e3);
    const double earliest = std::ranges::min(ms);
    for (const double each : ms) late_ms.push_back(each - earliest);
  }
}

Seen seen_in(const std::vector<Exchange>& exchanges, Duration poll) {
  std::map<int, std::vector<Exchange>> by_connection;
  for (const Exchange& each : exchanges) by_connection[each.connection].push_back(each);
  Seen seen{.exchanges = exchanges.size()};
  for (const auto& [connection, own] : by_connection) {
    std::vector<Instant> starts;
    for (std::size_t i = 0; i < own.size(); ++i) {
      if (own[i].unit_id != 1) continue;
      std::size_t last = i;
      while (last + 1 < own.size() && own[last + 1].unit_id != 1) ++last;
      if (last + 1 == own.size()) break;  // Perhaps not whole.
      starts.push_back(own[i].asked);
      seen.scan_ms.push_back((own[last].answered - own[i].asked).seconds() * 1e3);
    }
    add_late(starts, poll, seen.late_ms);
  }
  return seen;
}

// ---- One turn ----

struct Turn { double percent_of_a_core{0}; Seen seen; long resident_kib{0}; };

template <class CpuSeconds>
Turn measured(UnitsPeer& peer, double time_s, Duration poll, CpuSeconds cpu_seconds) {
  sleep_s(settling_s);
  peer.begin();
  const double cpu = cpu_seconds();
  sleep_s(time_s);
  Turn turn{.percent_of_a_core = 100 * (cpu_seconds() - cpu) / time_s};
  turn.seen = seen_in(peer.end(), poll);
  return turn;
}

struct Shape { path folder; int poll_ms, buses; double time_s; };

Turn turn_of_daemon(const Shape& shape) {
  static UnitsPeer peer;
  const path folder = shape.folder / "daemon";
  Daemon::lay_out(folder, job_text({.channels = units * channels_of_a_unit, .limits = units * channels_of_a_unit,
                                    .in_an_answer = channels_of_a_unit, .units_on_a_bus = static_cast<std::size_t>(units / shape.buses),
                                    .poll_ms = shape.poll_ms, .port = peer.port(),
                                    .levels = "hold: {above: 40 mm, below: 2 mm}, stop: {above: 45 mm, below: 1 mm}"}));
  Daemon daemon{folder};
  daemon.adopt();
  daemon.until_done({.act = "stage_enter", .object = "Commission"});
  daemon.until_done({.act = "acknowledge", .object = "all"});
  daemon.until_done({.act = "reset", .object = "all", .reason = "bench"});
  daemon.until_done({.act = "permit_give", .object = "commission"});
  Turn turn = measured(peer, shape.time_s, milliseconds(shape.poll_ms), [&] { return daemon.cpu_seconds(); });
  turn.resident_kib = daemon.resident_kib();
  if (daemon.picture().at("signal").as_object().at("level").as_string() != "none") give_up("the daemon's signal is not within limits");
  return turn;
}

double cpu_seconds_of(pid_t process) {
  clockid_t clock{};
  timespec time{};
  if (clock_getcpuclockid(process, &clock) != 0 || clock_gettime(clock, &time) != 0) give_up("the bare loop has gone");
  return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
}

Turn turn_of_bare_loop(const Shape& shape) {
  static UnitsPeer peer;
  const std::string program = (std::filesystem::read_symlink("/proc/self/exe").parent_path() / "pipeline_bare").string();
  const std::string port = std::to_string(peer.port()), poll = std::to_string(shape.poll_ms), buses = std::to_string(shape.buses),
                    each = std::to_string(units / shape.buses), folder = (shape.folder / "bare").string();
  const pid_t process = fork();
  if (process == 0) {
    execl(program.c_str(), program.c_str(), port.c_str(), poll.c_str(), buses.c_str(), each.c_str(), folder.c_str(), nullptr);
    _exit(127);
  }
  const Turn turn = measured(peer, shape.time_s, milliseconds(shape.poll_ms), [&] { return cpu_seconds_of(process); });
  kill(process, SIGTERM);
  waitpid(process, nullptr, 0);
  return turn;
}

// ---- All turns ----

struct Figures {
  std::vector<double> percent, scan_p50, scan_p99, late_p50, late_p99;
  void add(const Turn& turn) {
    percent.push_back(turn.percent_of_a_core);
    scan_p50.push_back(percentile(turn.seen.scan_ms, 0.5));
    scan_p99.push_back(percentile(turn.seen.scan_ms, 0.99));
    late_p50.push_back(percentile(turn.seen.late_ms, 0.5));
    late_p99.push_back(percentile(turn.seen.late_ms, 0.99));
  }
  void print(const char* who) const {
    std::printf("  %-10s %s %% of a core; scan p50 %s, p99 %s ms; start late p50 %s, p99 %s ms\n", who, spread(percent, 2).c_str(),
                spread(scan_p50, 2).c_str(), spread(scan_p99, 2).c_str(), spread(late_p50, 2).c_str(), spread(late_p99, 2).c_str());
  }
};

void compare(const Shape& shape) {
  Figures daemon, bare;
  std::vector<double> ratios, answered;
  long resident_kib = 0;
  for (int i = 0; i < turns; ++i) {
    const Turn bare_turn = turn_of_bare_loop(shape), turn = turn_of_daemon(shape);
    bare.add(bare_turn);
    daemon.add(turn);
    ratios.push_back(turn.percent_of_a_core / bare_turn.percent_of_a_core);
    answered.push_back(static_cast<double>(turn.seen.exchanges) / static_cast<double>(bare_turn.seen.exchanges));
    resident_kib = std::max(resident_kib, turn.resident_kib);
  }
  std::printf("poll %d ms, %d units on %d buses, %d channels, %d bounds\n", shape.poll_ms, units, shape.buses, units * channels_of_a_unit,
              4 * units * channels_of_a_unit);
  daemon.print("daemon");
  bare.print("bare loop");
  std::printf("  the daemon takes %s times the bare loop's time of a core for %s times its answers; %ld KiB\n", spread(ratios, 2).c_str(),
              spread(answered, 3).c_str(), resident_kib);
  std::fflush(stdout);
}

}  // namespace

int main(int count, char** words) {
  const double time_s = count > 2 ? std::atof(words[2]) : 10;
  const int buses = count > 3 ? std::atoi(words[3]) : 16;
  if (count < 2 || count > 4 || time_s < 1 || buses < 1 || buses > units || units % buses != 0)
    give_up("pipeline_bench FOLDER [SECONDS [BUSES]]: buses 1, 2, 4 ... 64");
  for (const int poll_ms : {100, 10}) compare({words[1], poll_ms, buses, time_s});
  std::printf("medians of %d turns of %.0f s (smallest to largest)\n", turns, time_s);
  std::fflush(stdout);
  std::_Exit(0);  // The units' threads wait for ever.
}
