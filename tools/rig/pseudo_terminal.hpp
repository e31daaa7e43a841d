// A serial line that has no wire: a pseudo terminal, with a link at the device's path that the rig file states. Nobody but
// its owner may open it.
#pragma once

#include <string>

#include "config/result.hpp"
#include "config/rig.hpp"
#include "tools/rig/sockets.hpp"

namespace standfast::rig {

class PseudoTerminal {
 public:
  // Makes the folder of `serial.device` (0700) where it is missing. A sentence where something else than a link to a
  // pseudo terminal lies at the path, or where others may write in its folder.
  static Result<PseudoTerminal, std::string> open(const SerialSettings& serial);
  PseudoTerminal(PseudoTerminal&& other) noexcept = default;
  PseudoTerminal& operator=(PseudoTerminal&& other) = delete;
  ~PseudoTerminal();  // Takes the link away if it is still its own.

  int descriptor() const { return rigs_end_.get(); }
  const std::string& target() const { return target_; }  // As in /dev/pts/3.
  // Whether nobody has the other end open.
  bool is_parted() const;
  // Whether who opened it has set another speed than the line's.
  bool speed_differs() const;
  // Eight bits as they are, no echo, the stated speed: as a line is before somebody opens it.
  void make_raw() const;

 private:
  PseudoTerminal(Descriptor rigs_end, std::string target, const SerialSettings& serial)
      : rigs_end_{std::move(rigs_end)}, target_{std::move(target)}, serial_{serial} {}

  Descriptor rigs_end_;
  std::string target_;
  SerialSettings serial_;
};

}  // namespace standfast::rig
