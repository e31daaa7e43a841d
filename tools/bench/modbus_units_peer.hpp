// Many Modbus TCP units on loopback, served by libmodbus on one thread: four input registers each that differ a little from
// answer to answer, and on unit 1 of the first connection's bus a simulated output module. It notes when each question for
// input registers came and when its answer left, so that whoever asks is judged by the same clock.
#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "config/instant.hpp"

namespace standfast::bench {

struct Exchange { int connection, unit_id; Instant asked, answered; };

class UnitsPeer {
 public:
  UnitsPeer();  // Serves until the process ends, and must live as long.
  ~UnitsPeer();
  UnitsPeer(const UnitsPeer&) = delete;
  UnitsPeer& operator=(const UnitsPeer&) = delete;

  std::uint16_t port() const { return port_; }
  // From now on exchanges are noted; and what was noted since.
  void begin();
  std::vector<Exchange> end();

 private:
  struct Device;
  void serve(int listener);

  std::uint16_t port_{0};
  std::unique_ptr<Device> device_;
};

}  // namespace standfast::bench
