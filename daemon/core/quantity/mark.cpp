#include "daemon/core/quantity/mark.hpp"

#include <algorithm>

namespace standfast {
namespace {

constexpr std::int64_t least_readings = 5;
constexpr Duration good_in_a_row = minutes(1);

}  // namespace

void MarkWindow::add(const Reading& reading) {
  if (reading.newest < from || (newest && reading.newest <= *newest)) return;
  const bool is_first = !newest;
  newest = reading.newest;
  if (reading.quality != Quality::good) {
    spread = {};
    return;
  }
  if (by_hand) {
    spread = {};
    uncertainty = reading.uncertainty;
  }
  if (spread.count == 0 && !is_first) good_since = reading.newest;
  spread.add(reading.value.si);
}

bool MarkWindow::full(Instant now) const {
  if (by_hand) return now - from >= window && spread.count > 0;
  if (now - from < window || spread.count < least_readings) return false;
  return now - good_since.value_or(from) >= std::min(window, good_in_a_row);
}

MarkValue MarkWindow::value(Instant now) const {
  return {spread.mean, by_hand ? uncertainty : spread.standard_error(), spread.count, now};
}

}  // namespace standfast
