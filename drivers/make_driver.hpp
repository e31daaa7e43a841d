// From the wire that rig.yaml states to the object that speaks it: the one table of kinds.
#pragma once

#include <map>
#include <memory>
#include <string>

#include "config/result.hpp"
#include "config/rig.hpp"
#include "drivers/driver.hpp"
#include "drivers/output_module.hpp"

namespace standfast {

class ModbusRtuLine;

// The serial lines that several speak on, by device. Used by one thread; each line lives as long as one of its speakers.
class SharedLines {
 public:
  // The line of this bus. One that was stated otherwise is not shared: the new one waits for the old to be closed.
  std::shared_ptr<ModbusRtuLine> line_of(const Bus& bus, const Clock& clock);

 private:
  std::map<std::string, std::weak_ptr<ModbusRtuLine>> by_device_;
};

// Nothing is connected yet. The error is for a person and does not repeat the bus's name: the host is not an IP address.
// `clock` outlives what is made.
[[nodiscard]] Result<std::unique_ptr<Driver>, std::string> make_driver(const Bus& bus, const Clock& clock, SharedLines& lines);

// On TCP on a connection of its own, even where `bus` is also read; on a serial line on the same one.
[[nodiscard]] Result<std::unique_ptr<OutputModule>, std::string> make_output_module(
    const OutputModuleStatement& statement, const Bus& bus, const Clock& clock, SharedLines& lines);

}  // namespace standfast
