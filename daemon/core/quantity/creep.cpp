#include "daemon/core/quantity/creep.hpp"

#include "config/exact_math.hpp"
#include "daemon/core/statistics.hpp"

namespace standfast {
namespace {

constexpr Duration skipped = minutes(1);
constexpr std::int64_t samples_apart = 40;  // A fortieth of the time gone by.
constexpr std::size_t least_samples = 5, most_samples = 512;  // As many as a year brings.

}  // namespace

void CreepWindow::add(const Reading& reading, std::optional<Instant> reached) {
  if (reached != origin) {
    origin = reached;
    samples.clear();
    samples.reserve(most_samples);
  }
  if (!origin || reading.quality == Quality::bad) return;
  const Duration gone_by = reading.newest - *origin;
  if (gone_by < skipped) return;
  if (!samples.empty()) {
    const Duration since_last = reading.newest - samples.back().at;
    if (since_last > gone_by / 2) samples.clear();
    else if (since_last.ns <= 0 || since_last < gone_by / samples_apart) return;
  }
  samples.push_back(sample_of(reading));
}

Judged CreepWindow::per_decade(Dimension dimension) const {
  Merge merge{dimension};
  for (const Sample& each : samples) merge.add(reading_of(each));
  const auto after = [&](const Sample& sample) { return sample.at - *origin; };
  const bool has_value = samples.size() >= least_samples && after(samples.back()) >= after(samples.front()) * 2;
  if (!has_value) return merge.none(Cause::filling);
  const Line line = fit_line(samples.size(), [&](std::size_t i) {
    return XY{decimal_logarithm(after(samples[i]).seconds()), samples[i].value};
  });
  return merge.either_side({line.slope, line.slope}, line.slope_error);
}

}  // namespace standfast
