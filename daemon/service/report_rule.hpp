// Which exchanges with the output module become events. All that says something new does, and one a second whatever it
// says; the rest would only fill the record. Edges of the heartbeat say nothing new.
#pragma once

#include <optional>

#include "drivers/output_report.hpp"

namespace standfast {

class ReportRule {
 public:
  // True: hand it on. It is then what later ones are compared with.
  bool worth_telling(const OutputReport& report) {
    const bool tell = !told_ || differs(report, *told_) || disagrees(report) || report.at - told_->at >= seconds(1);
    if (tell) told_ = report;
    return tell;
  }

 private:
  static constexpr std::size_t beat = static_cast<std::size_t>(OutputKind::heartbeat);

  static bool differs(OutputReport a, OutputReport b) {
    a.written.on[beat] = b.written.on[beat] = false;
    a.readback[beat].reset();
    b.readback[beat].reset();
    return a.flaw != b.flaw || a.written != b.written || a.readback != b.readback || !(a.facts == b.facts);
  }
  static bool disagrees(const OutputReport& report) {
    for (std::size_t i = 0; i < report.readback.size(); ++i)
      if (i != beat && report.readback[i] && *report.readback[i] != report.written.on[i]) return true;
    return false;
  }
  std::optional<OutputReport> told_;
};

}  // namespace standfast
