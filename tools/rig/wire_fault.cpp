#include "tools/rig/wire_fault.hpp"

namespace standfast::rig {

void bend(const WireFault& fault, std::uint8_t& unit_id, Bytes& pdu) {
  if (fault.foreign_unit) unit_id = static_cast<std::uint8_t>(unit_id % 247 + 1);
  if (fault.wrong_length && pdu.size() > 1) pdu.pop_back();
}

std::optional<Bytes> TroubledWire::through(const WireFault& fault, Random& chance, Bytes frame) {
  if (fault.garbage_tail) frame.insert(frame.end(), {0xde, 0xad, 0x01});
  if (fault.spoilt > 0 && chance.fraction() < fault.spoilt && !frame.empty()) {
    const auto place = static_cast<std::size_t>(chance.bits() % frame.size());
    frame[place] = static_cast<std::uint8_t>(frame[place] ^ 1U << chance.bits() % 8);
  }
  std::optional<Bytes> out{std::move(frame)};
  if (fault.late_by_one) std::swap(out, held_);
  else held_.reset();
  if (fault.lost > 0 && chance.fraction() < fault.lost) return std::nullopt;
  return out;
}

}  // namespace standfast::rig
