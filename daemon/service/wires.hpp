// All threads that talk to the outside for one rig: one for each bus, one for the output module.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "daemon/core/event.hpp"
#include "daemon/service/bus_thread.hpp"
#include "daemon/service/output_thread.hpp"

namespace standfast {

// Who makes what speaks on a wire; tests put their own in.
struct WireMakers {
  std::function<Result<std::unique_ptr<Driver>, std::string>(const Bus&)> driver;
  std::function<Result<std::unique_ptr<OutputModule>, std::string>(const OutputModuleStatement&, const Bus&)> outputs;
};
WireMakers real_wires(const Clock& clock);

class Wires {
 public:
  // A bus or module that cannot be made is missing, with a sentence in `problems`; the rest works. What is missing never
  // answers, and the engine holds for that.
  Wires(const Job& job, const WireMakers& makers, const Clock& clock, Inbox& inbox);
  ~Wires();

  // Renews what the output thread writes. Without an output module nothing happens.
  void renew(const Wanted& wanted);
  // For each block of the poll plan.
  void set_periods(const std::vector<Duration>& periods);

  const std::vector<std::string>& problems() const { return problems_; }
  // One number for each thread; one that stands still has lost its thread.
  std::vector<std::int64_t> progress() const;

 private:
  std::vector<std::unique_ptr<BusThread>> buses_;
  std::unique_ptr<OutputThread> outputs_;
  std::vector<std::string> problems_;
};

}  // namespace standfast
