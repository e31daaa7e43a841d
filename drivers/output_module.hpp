// The output module: wanted states out, read-back in. It has a connection and a thread of its own.
#pragma once

#include "drivers/output_report.hpp"

namespace standfast {

class OutputModule {
 public:
  virtual ~OutputModule() = default;
  // Writes the image, reads back, answers before `deadline`. No permit goes on before the facts have been read on this
  // connection and have stood in a report.
  [[nodiscard]] virtual OutputReport exchange(const OutputImage& wanted, Instant deadline) = 0;
};

// The mark of a simulated output module: these two words at holding register 65100 of its unit. A real module answers
// with an exception or with something else.
inline constexpr int simulation_mark_register = 65100;
inline constexpr std::array<std::uint16_t, 2> simulation_mark{0x5346, 0x5349};

}  // namespace standfast
