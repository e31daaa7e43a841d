#include "daemon/core/quantity/mark.hpp"

namespace standfast {
namespace {

constexpr std::int64_t least_readings = 5;

}  // namespace

void MarkWindow::add(const Reading& reading) {
  if (reading.quality != Quality::good || reading.newest < from || (newest && reading.newest <= *newest)) return;
  newest = reading.newest;
  spread.add(reading.value.si);
}

bool MarkWindow::full(Instant now) const { return now - from >= window && spread.count >= least_readings; }

MarkValue MarkWindow::value(Instant now) const { return {spread.mean, spread.standard_error(), spread.count, now}; }

}  // namespace standfast
