// One exchange with the output module: from what the engine wants to what is written, and what of the answer is told.
// The output thread repeats it; tests call it with a clock moved by hand.
#pragma once

#include <algorithm>
#include <optional>

#include "daemon/service/heartbeat.hpp"
#include "daemon/service/report_rule.hpp"
#include "daemon/service/sounder.hpp"
#include "daemon/service/wanted_slot.hpp"
#include "drivers/driver.hpp"
#include "drivers/output_module.hpp"

namespace standfast {

class OutputPass {
 public:
  struct Settings { Duration timeout{}, heartbeat_period{}; };
  OutputPass(OutputModule& module, Settings settings, const Clock& clock)
      : module_{module}, settings_{settings}, clock_{clock}, heartbeat_{settings.heartbeat_period} {}

  struct Done { OutputReport report; bool worth_telling; };
  Done once(const Wanted& wanted) {
    const Instant now = clock_.now();
    OutputImage image;
    if (!wanted.last && !is_worthless(wanted, now)) {
      image = wanted.image;
      image[OutputKind::sounder] = sounder_.level(wanted.sound, now);
      image[OutputKind::heartbeat] =
          heartbeat_.level({.applies = wanted.applies, .withheld = wanted.withhold_heartbeat, .now = now});
    }
    const OutputReport report = module_.exchange(image, deadline(image, wanted, now));
    if (report.answered()) heartbeat_.written(report.at);
    return {report, rule_.worth_telling(report)};
  }

 private:
  // A permit is worth writing only while the wanted state lives; what takes away may use the whole time-out.
  Instant deadline(const OutputImage& image, const Wanted& wanted, Instant now) const {
    const Instant regular = now + settings_.timeout;
    const bool permits = image[OutputKind::raise_permit] || image[OutputKind::lower_permit];
    return permits ? std::min(regular, wanted.known_at + wanted_lives) : regular;
  }

  OutputModule& module_;
  Settings settings_;
  const Clock& clock_;
  Heartbeat heartbeat_;
  Sounder sounder_;
  ReportRule rule_;
};

}  // namespace standfast
