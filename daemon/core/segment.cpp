#include "daemon/core/segment.hpp"

#include <algorithm>
#include <cmath>

#include "daemon/core/swap_tolerance.hpp"

namespace standfast {

void Standing::add(const Reading& reading, double within) {
  if (reading.quality != Quality::good) return void(*this = {});
  const Dimension dimension = reading.value.dimension;
  const auto is_near = [&](double stood) {
    const double apart = reading.value.si - stood;
    return !exceeds({dimension, apart < 0 ? -apart : apart}, {dimension, within});
  };
  if ((level && !is_near(*level)) || (spread.count > 0 && !is_near(spread.mean))) *this = {};
  if (!since) since = reading.newest;
  spread.add(reading.value.si);
  if (spread.count < stands_readings || reading.newest - *since < stands_for) return;
  level = spread.mean;
  since.reset();
  spread = {};
}

Certificate certificate_in_place(const Channel& channel, const Segment& segment) {
  return segment.certificate.empty() ? channel.certificate : Certificate{segment.certificate, segment.due};
}

Reading joined(Reading shown, const Segment& segment) {
  if (!segment.join || shown.quality == Quality::bad) return shown;
  const Join& join = *segment.join;
  shown.value.si += join.offset;
  shown.uncertainty = std::sqrt(shown.uncertainty * shown.uncertainty + join.uncertainty * join.uncertainty);
  return shown;
}

double still_within(const Channel& channel) { return swap_tolerance(channel, 0); }

}  // namespace standfast
