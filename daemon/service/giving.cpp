#include "daemon/service/giving.hpp"

#include <algorithm>

namespace standfast {

OutputImage Giving::image(const OutputImage& wanted) const {
  OutputImage write = wanted;
  for (std::size_t i = 0; i < bits_.size(); ++i)
    if (gives_when_on(static_cast<OutputKind>(i))) write.on[i] = wanted.on[i] && bits_[i].on;
  return write;
}

OutputImage Giving::take(const OutputImage& wanted) {
  for (std::size_t i = 0; i < bits_.size(); ++i)
    if (!wanted.on[i]) bits_[i] = {};
  return image(wanted);
}

Giving::Step Giving::give(const OutputImage& wanted, const Ledger& ledger) {
  Step step;
  for (std::size_t i = 0; i < bits_.size(); ++i) {
    Bit& bit = bits_[i];
    if (!gives_when_on(static_cast<OutputKind>(i)) || !wanted.on[i] || bit.on) continue;
    if (!bit.hold) bit.hold = Hold{bit.late ? std::max(ledger.last_seq, *bit.late + 1) : ledger.last_seq, ledger.now};
    if (ledger.durable_seq >= bit.hold->seq) {
      bit = {true, std::nullopt, std::nullopt};
    } else if (!bit.late && ledger.now - bit.hold->since >= giving_waits_at_most) {
      bit.late = bit.hold->seq == lost_row ? ledger.durable_seq : bit.hold->seq;
      step.not_durable = bit.late;
      bit.hold.reset();
    }
  }
  step.write = image(wanted);
  return step;
}

bool Giving::waiting() const {
  return std::any_of(bits_.begin(), bits_.end(), [](const Bit& bit) { return bit.hold.has_value(); });
}

}  // namespace standfast
