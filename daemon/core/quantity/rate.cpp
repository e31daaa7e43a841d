#include "daemon/core/quantity/rate.hpp"

#include <algorithm>

#include "daemon/core/doubt.hpp"
#include "daemon/core/statistics.hpp"

namespace standfast {
namespace {

constexpr std::size_t least_samples = 5;

}  // namespace

Reading reading_of(const Sample& sample) {
  return {doubt_of(sample.doubt).quality, sample.doubt, {{}, sample.value}, 0, sample.saturated, false, sample.at, sample.at};
}

Sample sample_of(const Reading& reading) { return {reading.newest, reading.value.si, reading.cause, reading.saturated}; }

void SlopeWindow::add(const Reading& reading) {
  if (reading.quality == Quality::bad) return;
  if (!samples.empty()) {
    const Duration since_last = reading.newest - samples.back().at;
    if (since_last > window / 2) samples.clear();
    else if (since_last.ns == 0) samples.pop_back();  // What was read together may come in two scans.
    else if (since_last.ns < 0 || since_last * window_samples < window) return;
  }
  samples.push_back(sample_of(reading));
  const auto is_within = [&](const Sample& sample) { return reading.newest - sample.at <= window; };
  samples.erase(samples.begin(), std::find_if(samples.begin(), samples.end(), is_within));
}

Judged SlopeWindow::slope(Dimension per_second, Instant now) const {
  Merge merge{per_second};
  for (const Sample& each : samples) {
    // Of those without a doubt the oldest and the newest say all there is: when the parts were read.
    const bool is_plain = each.doubt == Cause::none && each.saturated == Saturation::none;
    if (!is_plain || &each == &samples.front() || &each == &samples.back()) merge.add(reading_of(each));
  }
  const bool has_value = samples.size() >= least_samples && samples.back().at - samples.front().at >= window / 2;
  if (!has_value || now >= *empties_at()) return merge.none(Cause::filling);
  const Line line = fit_line(samples.size(), [&](std::size_t i) {
    return XY{(samples[i].at - samples.front().at).seconds(), samples[i].value};
  });
  return merge.either_side({line.slope, line.slope}, line.slope_error);
}

std::optional<Instant> SlopeWindow::empties_at() const {
  if (samples.empty()) return std::nullopt;
  return samples.back().at + window / 2 + nanoseconds(1);  // A gap of just half the window is within.
}

}  // namespace standfast
