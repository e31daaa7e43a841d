// The daemon's parts on one thread: the engine, the drivers, the giving of outputs and the record, put together as the
// service and its threads put them together, on a clock that the simulation moves.
#pragma once

#include <memory>
#include <utility>
#include <string>

#include "daemon/service/giving.hpp"
#include "daemon/service/output_pass.hpp"
#include "daemon/service/poll_schedule.hpp"
#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_outputs.hpp"
#include "tests/simulation/disk.hpp"
#include "tests/simulation/truth.hpp"
#include "tests/simulation/wire.hpp"
#include "tests/support/invariants.hpp"

namespace standfast::test {

class Daemon {
 public:
  struct Around {
    std::shared_ptr<const Job> job;
    rig::Plant& plant;
    MovedClock& clock;
    Disk& disk;
    Invariants& invariants;
    Framing framing;
    std::uint64_t seed;
  };
  // `engine`: as the record gave it. The start is told at once.
  Daemon(const Around& around, Engine engine, const Started& started);

  const Effects& tell(decltype(Event::what) what);
  // The earliest instant at which it has something to do.
  Instant due() const;
  // Does what is due.
  void turn();

  const State& state() const { return engine_.state(); }
  Engine& engine() { return engine_; }
  SimulatedWire& instruments() { return *instrument_wire_; }
  SimulatedWire& outputs() { return *output_wire_; }
  // A disk that gave up; a person's reset tries it again.
  void record_fails() { failed_ = true; }
  // Now, or for a moment since this was last asked.
  bool has_wanted(OutputKind kind) { return std::exchange(lately_[kind], wanted_.image[kind]) || wanted_.image[kind]; }

 private:
  void poll(std::size_t block);
  void exchange();
  void look_after();
  void renew(const OutputImage& image);
  void note_giving(const Effects& effects, std::int64_t seq);

  Around around_;
  SteadyRandom random_;
  Engine engine_;
  SimulatedWire* instrument_wire_;
  SimulatedWire* output_wire_;
  std::unique_ptr<ModbusBus> bus_;
  std::unique_ptr<ModbusOutputs> module_;
  std::unique_ptr<OutputPass> pass_;
  PollSchedule schedule_;
  Giving giving_;
  Wanted wanted_;
  OutputImage lately_;
  Effects newest_;
  std::array<std::int64_t, output_count> gave_{};  // The row behind which the disk must be before it goes on.
  const Stage* polled_stage_{nullptr};
  std::int64_t applies_{0};
  Instant taken_at_, exchange_at_;
  RecordState told_{RecordState::healthy};
  bool failed_{false};
};

}  // namespace standfast::test
