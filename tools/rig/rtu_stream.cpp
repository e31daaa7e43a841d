#include "tools/rig/rtu_stream.hpp"

namespace standfast::rig {
namespace {

constexpr std::size_t shortest = 4;   // Unit, function, CRC.
constexpr std::size_t longest = 256;  // 2.3.1

// How long a request is that begins like this; none where its function does not say.
std::optional<std::size_t> length_of(const Bytes& held) {
  if (held.size() < 2) return std::nullopt;
  const std::uint8_t function = held[1];
  if ((function >= 1 && function <= 6) || function == 8) return 8;
  if ((function == 15 || function == 16) && held.size() >= 7) return std::size_t{9} + held[6];
  return std::nullopt;
}

}  // namespace

Duration character_time(const SerialSettings& serial) {
  const int bits = 9 + (serial.parity == Parity::none ? 0 : 1) + serial.stop_bits;
  return nanoseconds(1'000'000'000LL * bits / serial.baud);
}

std::uint16_t rtu_crc(std::span<const std::uint8_t> bytes) {
  unsigned crc = 0xffff;
  for (const std::uint8_t byte : bytes) {
    crc ^= byte;
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 1) != 0 ? crc >> 1 ^ 0xa001U : crc >> 1;
  }
  return static_cast<std::uint16_t>(crc);
}

Bytes rtu_frame(const RtuRequest& said) {
  Bytes out{said.unit_id};
  out.insert(out.end(), said.pdu.begin(), said.pdu.end());
  const std::uint16_t crc = rtu_crc(out);
  out.push_back(static_cast<std::uint8_t>(crc));
  out.push_back(static_cast<std::uint8_t>(crc >> 8));
  return out;
}

void RtuStream::add(std::span<const std::uint8_t> bytes, Instant now) {
  if (due() && *due() <= now) held_.clear();  // What stood before the silence is another frame, and was not right.
  held_.insert(held_.end(), bytes.begin(), bytes.end());
  last_ = now;
}

std::optional<Instant> RtuStream::due() const {
  return held_.empty() ? std::nullopt : std::optional{last_ + silence_};
}

std::optional<RtuRequest> RtuStream::take(std::size_t length) {
  const std::span<const std::uint8_t> frame{held_.data(), length};
  const int sent = frame[length - 2] | frame[length - 1] << 8;
  if (rtu_crc(frame.first(length - 2)) != sent) return std::nullopt;
  RtuRequest request{frame[0], {frame.begin() + 1, frame.end() - 2}};
  held_.erase(held_.begin(), held_.begin() + static_cast<std::ptrdiff_t>(length));
  return request;
}

std::optional<RtuRequest> RtuStream::next(Instant now) {
  if (held_.size() > longest) held_.clear();
  const auto length = length_of(held_);
  if (length && held_.size() >= *length) {
    if (auto request = take(*length)) return request;
  }
  if (!due() || *due() > now) return std::nullopt;
  std::optional<RtuRequest> request;
  if (held_.size() >= shortest) request = take(held_.size());  // A function of which nothing is known is refused, not met with silence.
  held_.clear();
  return request;
}

}  // namespace standfast::rig
