// What must hold of every engine after every event, whatever came in.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "daemon/core/engine.hpp"

namespace standfast::test {

class Invariants {
 public:
  // Another engine from now on.
  void begin() { going_on_ = false; }
  void check(const Engine& engine, const Event& event, const Effects& effects);

  std::string broken;  // Empty while all hold; the first that did not, in words.
  std::int64_t events{0}, permits{0}, recovers{0}, holds{0}, stops{0}, swaps{0};

  // What somebody else has seen counts with the rest.
  void require(bool holds_now, const char* what);

 private:
  void check_outputs(const Engine& engine, const Effects& effects);
  void check_alarms(const Engine& engine);
  void check_time(const Engine& engine, const Event& event, const Effects& effects);
  void check_rows(const Effects& effects);
  void check_latches(const Engine& engine, const Event& event, const Effects& effects);
  void check_needed(const Engine& engine);
  void check_swaps(const Engine& engine, const Event& event);

  bool going_on_{false};
  Level last_signal_{Level::none};
  bool stop_is_the_engineers_{false};  // Some open STOP is more than a STOP that somebody called.
  std::int64_t last_now_{0}, last_picture_{0};
  std::int32_t last_alarm_{0};
  std::vector<bool> unproved_;  // By channel.
};

}  // namespace standfast::test
