// An output module as rehearsals meet it: it does what it is told, until its cable, a contact or the heartbeat fails.
#pragma once

#include <array>

#include "daemon/core/effect.hpp"
#include "tools/rehearse/rehearsal.hpp"

namespace standfast::rehearse {

class Module {
 public:
  explicit Module(const Rig& rig) : rig_{rig} {}

  void meet(const ModuleChange& change);
  // One exchange at `now`: what the engine wants is written, what the contacts do is read back.
  OutputReport exchange(const OutputImage& wanted, bool withhold_heartbeat, Instant now);
  // What is energised in truth, whatever was written.
  bool is_on(OutputKind kind) const { return contact(static_cast<std::size_t>(kind)); }

 private:
  bool contact(std::size_t output) const;

  const Rig& rig_;
  OutputImage written_{};
  std::array<bool, output_count> welded_{}, opened_{};
  bool cable_{true}, settings_{true}, mark_{true}, watches_{true};
  bool tripped_{false}, was_out_{false};
  Instant last_beat_{};
};

}  // namespace standfast::rehearse
