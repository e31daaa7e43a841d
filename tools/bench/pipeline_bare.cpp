// The least that can do the work: one thread asks all units, converts, compares with two levels of limits and hands every
// reading to a second, which writes them into SQLite, durable each 100 ms, with a chain of SHA-256. No quality, no alarm, no
// memory of limits, no output, nobody who looks.
//
//   pipeline_bare PORT POLL_MS BUSES UNITS_ON_A_BUS FOLDER
//
// Four input registers a unit, 4-20 mA in microampere. Like the daemon it has one question outstanding on each bus, which is
// one connection. For ever.
#include <arpa/inet.h>
#include <netinet/tcp.h>
#include <sys/epoll.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <csignal>
#include <cstdint>
#include <filesystem>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "daemon/record/database.hpp"
#include "daemon/record/seal.hpp"
#include "tools/bench/figures.hpp"

namespace {

using namespace standfast::bench;
using namespace standfast::record;

constexpr int channels_of_a_unit = 4;
constexpr std::size_t answer_bytes = 9 + 2 * channels_of_a_unit;
constexpr auto commit_every = std::chrono::milliseconds(100);

struct Reading { std::int64_t at_ns, channel, quality; double value; };

// ---- To the disk ----

class Writer {
 public:
  explicit Writer(const std::filesystem::path& folder) {
    std::filesystem::remove_all(folder);
    std::filesystem::create_directories(folder);
    must(database_.open(folder / "bare.db", OpenAs::creator) == 0);
    run("PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE reading (at, channel, value REAL, quality); "
        "CREATE TABLE seal (last, head)");
    insert_ = database_.prepare("INSERT INTO reading VALUES (?,?,?,?)");
    seal_ = database_.prepare("INSERT INTO seal VALUES (?,?)");
    must(insert_ && seal_);
  }
  void take(const std::vector<Reading>& readings) {
    const std::lock_guard lock{mutex_};
    waiting_.insert(waiting_.end(), readings.begin(), readings.end());
  }
  [[noreturn]] void work() {
    for (auto due = std::chrono::steady_clock::now();; due += commit_every) {
      std::this_thread::sleep_until(due);
      {
        const std::lock_guard lock{mutex_};
        batch_.swap(waiting_);
      }
      commit();
      batch_.clear();
    }
  }

 private:
  static constexpr int done = 101;  // SQLite's own code.

  static void must(bool went_well) {
    if (!went_well) give_up("the bare loop cannot write");
  }
  void run(const char* sql) { must(database_.run(sql) == 0); }
  void put(Statement& statement) {
    must(statement.step() == done);
    statement.reset();
  }
  void commit() {
    run("BEGIN");
    for (const Reading& reading : batch_) {
      insert_.bind(1, reading.at_ns);
      insert_.bind(2, reading.channel);
      insert_.bind(3, Value{reading.value});
      insert_.bind(4, reading.quality);
      put(insert_);
    }
    hash_.add(head_);
    hash_.add({reinterpret_cast<const char*>(batch_.data()), batch_.size() * sizeof(Reading)});
    head_ = hash_.finish();
    rows_ += static_cast<std::int64_t>(batch_.size());
    seal_.bind(1, rows_);
    seal_.bind_blob(2, head_);
    put(seal_);
    run("COMMIT");
    if (database_.pages_in_log() >= pages_before_checkpoint) (void)database_.checkpoint(false);
  }

  static constexpr int pages_before_checkpoint = 1000;
  Database database_;  // Outlives its statements.
  Statement insert_, seal_;
  Sha256 hash_;
  std::string head_;
  std::int64_t rows_{0};
  std::mutex mutex_;
  std::vector<Reading> waiting_, batch_;
};

// ---- From the wires ----

struct Wires { std::uint16_t port; int buses, units; };

int connected(std::uint16_t port) {
  const int descriptor = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0), one = 1;
  setsockopt(descriptor, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
  sockaddr_in there{};
  there.sin_family = AF_INET;
  there.sin_port = htons(port);
  there.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (connect(descriptor, reinterpret_cast<sockaddr*>(&there), sizeof there) != 0) give_up("the bare loop cannot connect");
  return descriptor;
}

class Loop {
 public:
  explicit Loop(const Wires& wires) : wires_{wires}, readings_(static_cast<std::size_t>(wires.buses * wires.units * channels_of_a_unit)) {
    for (int bus = 0; bus < wires.buses; ++bus) {
      connections_.push_back(connected(wires.port));
      epoll_event event{.events = EPOLLIN, .data = {.u32 = static_cast<std::uint32_t>(bus)}};
      epoll_ctl(waiting_, EPOLL_CTL_ADD, connections_.back(), &event);
    }
  }
  // Asks every unit once and evaluates.
  const std::vector<Reading>& scan() {
    asked_.assign(connections_.size(), 0);
    for (std::size_t bus = 0; bus < connections_.size(); ++bus) ask(bus);
    std::array<epoll_event, 64> events;
    for (int left = wires_.buses * wires_.units; left > 0;) {
      const int ready = epoll_wait(waiting_, events.data(), static_cast<int>(events.size()), 1000);
      if (ready <= 0) give_up("the bare loop hears nothing");
      for (int i = 0; i < ready; ++i, --left) take(events[static_cast<std::size_t>(i)].data.u32);
    }
    for (const Reading& reading : readings_)
      beyond_ += (reading.value < 2e-3 || reading.value > 40e-3) + (reading.value < 1e-3 || reading.value > 45e-3);
    if (beyond_ != 0) give_up("not within limits");
    return readings_;
  }

 private:
  void ask(std::size_t bus) {
    const auto unit = static_cast<std::uint8_t>(++asked_[bus]);
    const std::array<std::uint8_t, 12> request{0, 1, 0, 0, 0, 6, unit, 4, 0, 0, 0, channels_of_a_unit};
    const ssize_t size = write(connections_[bus], request.data(), request.size());
    if (size != static_cast<ssize_t>(request.size())) give_up("the bare loop cannot ask");
  }
  void take(std::size_t bus) {
    std::array<std::uint8_t, answer_bytes> answer;
    for (std::size_t have = 0; have < answer.size();) {
      const ssize_t size = read(connections_[bus], answer.data() + have, answer.size() - have);
      if (size <= 0) give_up("the bare loop lost its connection");
      have += static_cast<std::size_t>(size);
    }
    const std::int64_t at = std::chrono::steady_clock::now().time_since_epoch().count();
    const int unit = static_cast<int>(bus) * wires_.units + asked_[bus] - 1;
    const auto first = static_cast<std::size_t>(unit * channels_of_a_unit);
    for (std::size_t i = 0; i < channels_of_a_unit; ++i) {
      const int counts = answer[9 + 2 * i] << 8 | answer[10 + 2 * i];
      readings_[first + i] = {at, static_cast<std::int64_t>(first + i), 0, (counts * 1e-6 - 4e-3) / 16e-3 * 50e-3};
    }
    if (asked_[bus] < wires_.units) ask(bus);
  }

  Wires wires_;
  int waiting_{epoll_create1(EPOLL_CLOEXEC)};
  std::vector<int> connections_, asked_;
  std::vector<Reading> readings_;
  std::int64_t beyond_{0};
};

}  // namespace

int main(int count, char** words) {
  if (count != 6) give_up("pipeline_bare PORT POLL_MS BUSES UNITS_ON_A_BUS FOLDER");
  prctl(PR_SET_TIMERSLACK, 1UL);
  prctl(PR_SET_PDEATHSIG, SIGTERM);
  Writer writer{words[5]};
  Loop loop{{static_cast<std::uint16_t>(std::atoi(words[1])), std::atoi(words[3]), std::atoi(words[4])}};
  std::thread{[&] { writer.work(); }}.detach();
  const auto period = std::chrono::milliseconds(std::atoi(words[2]));
  for (auto due = std::chrono::steady_clock::now();; due += period) {
    std::this_thread::sleep_until(due);
    writer.take(loop.scan());
  }
}
