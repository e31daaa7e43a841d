#include "daemon/panel/last_numbers.hpp"

#include <algorithm>

#include "config/depends.hpp"

namespace standfast {

void LastNumbers::take(const State& state) {
  if (job_ != state.job) {
    job_ = state.job;
    numbers_.assign(job_ ? job_->rig.channels.size() : 0, std::nullopt);
  }
  const std::vector<ChannelState>& channels = state.values.channels;
  for (std::size_t i = 0; i < numbers_.size() && i < channels.size(); ++i)
    if (channels[i].reading.has_number()) numbers_[i] = channels[i].reading;
}

std::optional<Reading> LastNumbers::of(std::size_t channel) const {
  return channel < numbers_.size() ? numbers_[channel] : std::nullopt;
}

std::optional<Values> LastNumbers::values_of(const State& state) const {
  std::optional<Values> before;
  for (std::size_t i = 0; i < numbers_.size() && i < state.values.channels.size(); ++i) {
    if (state.values.channels[i].reading.quality != Quality::bad || !numbers_[i]) continue;
    if (!before) before = state.values;
    Reading& reading = before->channels[i].reading;
    reading = *numbers_[i];
    reading.oldest = reading.newest = state.now;  // Or the others would be too far from it to be summed.
  }
  return before;
}

std::optional<Reading> last_of(const QuantityRef& of, const Values& before, const LastNumbers& last, const State& state) {
  if (!state.job) return std::nullopt;
  std::optional<Instant> oldest;
  for (const ChannelId channel : channels_of(of, state.job->rig)) {
    if (state.values.channels[channel.at()].reading.quality != Quality::bad) continue;
    const auto number = last.of(channel.at());
    if (number && (!oldest || number->oldest < *oldest)) oldest = number->oldest;
  }
  if (!oldest) return std::nullopt;
  Reading reading = evaluate(of, {*state.job, before, progress_of(state), state.now, Take::as_read}).high;
  reading.oldest = *oldest;
  return reading;
}

}  // namespace standfast
