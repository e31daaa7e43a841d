// The files of a job for a benchmark: so many 4-20 mA gauges, a limit over each, relays on the first unit of the first bus.
#pragma once

#include <cstdint>
#include <string>

#include "daemon/service/job_folder.hpp"

namespace standfast::bench {

struct JobShape {
  std::size_t channels{64}, limits{64};  // One over each of the first channels; at most 200, or all of them.
  std::size_t in_an_answer{64};          // Registers that are read together: of one unit.
  std::size_t units_on_a_bus{200};
  int poll_ms{100};
  std::uint16_t port{1502};              // On loopback.
  std::string levels{"stop: {above: 40 mm, persist: 0 s}"};
  bool with_jack{false};                 // Its pressure is one register more behind the first answer.
};
// Its first stage, Commission, has the limits. 8,000 counts are 12.5 mm and within them, 18,000 are 43.75 mm. Its permit
// ends above 40 bar: 4,400 counts of the pressure are 17.5 bar, 6,000 are 87.5 bar.
JobBytes job_text(const JobShape& shape);

}  // namespace standfast::bench
