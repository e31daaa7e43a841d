// The example's rig with its site, in the test's own process.
#pragma once

#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <memory>
#include <string>

#include "config/load_rig.hpp"
#include "tools/rig/grain_store.hpp"
#include "tools/rig/plant.hpp"

namespace standfast::rig {

inline Rig grain_store_rig() {
  std::ifstream file{SOURCE_ROOT "/config/examples/grain-store/rig.yaml"};
  const std::string bytes{std::istreambuf_iterator<char>{file}, {}};
  auto loaded = load_rig(bytes, "rig.yaml");
  REQUIRE(loaded.value);
  return *loaded.value;
}

inline std::unique_ptr<Plant> grain_store_plant(PlantOptions options = {}) {
  auto plant = Plant::make(grain_store_rig(), grain_store(), std::move(options));
  REQUIRE(plant);
  return std::move(*plant);
}

// One hand on the module's coils, as the daemon's would be: the image it wants, and a heartbeat.
class Hand {
 public:
  explicit Hand(Plant& plant) : plant_{plant}, statement_{*plant.rig().output_module} {}

  void want(OutputKind kind, bool on) { want_[static_cast<std::size_t>(kind)] = on; }
  void write(bool beat = true) {
    bool& heart = want_[static_cast<std::size_t>(OutputKind::heartbeat)];
    if (beat) heart = !heart;
    std::vector<std::uint16_t> bits(8, 0);
    for (const Output& output : statement_.outputs) {
      bits[static_cast<std::size_t>(output.coil)] = want_[static_cast<std::size_t>(output.kind)] ? 1 : 0;
    }
    REQUIRE(plant_.write(statement_.bus, statement_.unit_id, Table::coil, 0, bits));
  }
  // Steps the plant with a beat every half second.
  void run(Duration time, bool beat = true) {
    for (Duration t{}; t < time; t = t + milliseconds(10)) {
      if (t.ns % milliseconds(500).ns == 0) write(beat);
      plant_.step(milliseconds(10));
    }
  }
  void permit() {
    want(OutputKind::raise_permit, true);
    want(OutputKind::stop_relay, true);
    write();
  }

 private:
  Plant& plant_;
  OutputModuleStatement statement_;
  std::array<bool, output_count> want_{};
};

inline ChannelId channel_of(const Rig& rig, const std::string& name) {
  for (std::size_t c = 0; c < rig.channels.size(); ++c) {
    if (rig.channels[c].name == name) return ChannelId{c};
  }
  FAIL("no channel " << name);
  return {};
}

}  // namespace standfast::rig
