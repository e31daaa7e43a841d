// What may be written now of what the engine wants. Taking permission away is written at once. Giving it waits until the
// row that holds its cause is on the disk: a pump must never run on a permit that no record could explain.
//
// The everyday picture: a bank clerk hands out money only after the entry is in the ledger, but takes it in without one.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>

#include "drivers/output_report.hpp"

namespace standfast {

// Outputs that permit something while energised. Turning on any other (sounder, beacon) warns, and waits for nothing.
constexpr bool gives_when_on(OutputKind kind) {
  switch (kind) {
    case OutputKind::raise_permit: case OutputKind::lower_permit: case OutputKind::stop_relay: case OutputKind::call_out:
      return true;
    case OutputKind::sounder: case OutputKind::beacon: case OutputKind::heartbeat:
      return false;
  }
  return true;
}

inline constexpr Duration giving_waits_at_most = seconds(1);

// The seq of a row that the record had no room for: it never becomes durable.
inline constexpr std::int64_t lost_row = std::numeric_limits<std::int64_t>::max();

class Giving {
 public:
  // What must go to the wire before anything else happens: everything that is no longer wanted is off.
  OutputImage take(const OutputImage& wanted);

  struct Ledger {
    std::int64_t last_seq{0};     // Of the newest row handed to the record.
    std::int64_t durable_seq{0};  // Everything up to here is on the disk.
    Instant now;
  };
  struct Step {
    OutputImage write;
    std::optional<std::int64_t> not_durable;  // This row was not on the disk in time; said once for each giving.
  };
  // To be called after `take` of the same image. A bit newly wanted waits for `last_seq`. One that was reported late
  // waits for a newer row still, that of the lateness itself: by then the engine has withdrawn a permit.
  Step give(const OutputImage& wanted, const Ledger& ledger);

  bool waiting() const;

 private:
  struct Hold { std::int64_t seq; Instant since; };
  struct Bit {
    bool on{false};
    std::optional<Hold> hold;
    std::optional<std::int64_t> late;
  };
  OutputImage image(const OutputImage& wanted) const;
  std::array<Bit, output_count> bits_{};
};

}  // namespace standfast
