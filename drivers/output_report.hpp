// What an exchange with the output module says: wanted states, read-back, the module's own settings. Data only.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "config/instant.hpp"
#include "config/rig.hpp"
#include "drivers/scan.hpp"

namespace standfast {

struct OutputImage {  // One bit for each OutputKind; false = de-energised.
  std::array<bool, output_count> on{};
  constexpr bool operator[](OutputKind kind) const { return on[static_cast<std::size_t>(kind)]; }
  constexpr bool& operator[](OutputKind kind) { return on[static_cast<std::size_t>(kind)]; }
  friend constexpr bool operator==(const OutputImage&, const OutputImage&) = default;
};

struct ModuleFacts {  // Read at every connection and before any permit.
  std::optional<Duration> watchdog;  // None: not stated in the rig, or not readable.
  bool safe_values_as_stated{false};
  bool power_on_values_as_stated{false};
  bool simulated{false};  // The fixed identification register answered with the simulated rig's mark.
  friend bool operator==(const ModuleFacts&, const ModuleFacts&) = default;
};

struct OutputReport {  // Of one exchange with the module.
  Instant at;
  Flaw flaw{Flaw::none};
  // What was last written and confirmed. A permit that the module lost by itself counts as written until it is no longer
  // wanted, and reads off.
  OutputImage written;
  // None where the rig states no read-back, unless the coil itself was found otherwise than written.
  std::array<std::optional<bool>, output_count> readback{};
  ModuleFacts facts;

  // What it says of the module counts, and what was to be written is written.
  constexpr bool answered() const { return flaw == Flaw::none || flaw == Flaw::energised_by_another; }
};

}  // namespace standfast
