// The simulated rig on real wires and in real time: one thread that steps the plant every 10 ms and answers on Modbus TCP,
// on serial lines and on control lines. Tests hold one in their own process.
#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "config/result.hpp"
#include "tools/rig/connection.hpp"
#include "tools/rig/plant.hpp"
#include "tools/rig/sockets.hpp"

namespace standfast::rig {

struct ServerOptions {
  std::optional<std::uint16_t> port;  // Of the first TCP bus instead of the one stated (next bus: next port); 0: any free.
  std::string control;                // Path of a Unix socket; "-": standard input and output; empty: none.
  std::string log;                    // Path of the log; empty: none.
  bool time_stands{false};            // Nothing moves by itself: the holder steps the plant.
  Duration step{milliseconds(10)};
};

class RigServer {
 public:
  static Result<std::unique_ptr<RigServer>, std::string> start(std::unique_ptr<Plant> plant, const ServerOptions& options);
  ~RigServer();
  RigServer(const RigServer&) = delete;
  RigServer& operator=(const RigServer&) = delete;

  struct Port { BusId bus; std::uint16_t number; };
  const std::vector<Port>& ports() const { return ports_; }
  struct Device { BusId bus; std::string path; };
  const std::vector<Device>& devices() const { return devices_; }

  // Calls `use` with the plant while the thread keeps its hands off it.
  template <class Use>
  auto with_plant(Use use) {
    const std::lock_guard lock{mutex_};
    return use(*plant_);
  }

 private:
  struct Listener { Descriptor socket; std::optional<BusId> bus; };  // Without a bus: control.
  struct Open { std::unique_ptr<Connection> talk; std::optional<BusId> line; };  // `line`: the serial bus that it is.

  RigServer(std::unique_ptr<Plant> plant, const ServerOptions& options);
  std::string open();
  std::string open_bus(BusId bus);
  std::string open_port(BusId bus, const ModbusTcp& wire);
  std::string open_line(BusId bus);
  void replug();
  Duration rest() const;
  std::string open_control();
  void run();
  void wait_for_work(Duration most);
  void look_at_all(Instant now);
  void work_on(std::size_t place, short events);
  void accept_all();
  void step_plant();
  void write_log();

  std::unique_ptr<Plant> plant_;
  ServerOptions options_;
  std::vector<Port> ports_;
  std::vector<Device> devices_;
  std::vector<Listener> listeners_;
  std::vector<Open> connections_;
  Descriptor wake_;
  std::FILE* log_{nullptr};
  std::int64_t stepped_ns_{0};
  std::mutex mutex_;
  std::thread thread_;
};

}  // namespace standfast::rig
