// The rhythm of the sounder, so that HOLD and STOP are told apart by ear whatever the horn is: STOP without a pause, HOLD in
// bursts. Deliberately not three short pulses (evacuation, ISO 8201, from memory) nor one beep a second (reversing
// machines).
#pragma once

#include <optional>

#include "config/instant.hpp"
#include "daemon/core/effect.hpp"

namespace standfast {

class Sounder {
 public:
  static constexpr Duration burst = milliseconds(800), pause = seconds(1);

  bool level(Sound sound, Instant now) {
    if (sound != sound_) since_ = now;
    sound_ = sound;
    switch (sound) {
      case Sound::silent: return false;
      case Sound::stop: return true;
      case Sound::hold: return (now - since_).ns % (burst + pause).ns < burst.ns;
    }
    return true;
  }

 private:
  Sound sound_{Sound::silent};
  Instant since_{};
};

}  // namespace standfast
