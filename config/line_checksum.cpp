#include "config/line_checksum.hpp"

namespace standfast {

namespace {

std::optional<unsigned> hexadecimal(std::string_view digits) {
  unsigned value = 0;
  for (const char c : digits) {
    unsigned digit = 0;
    if (c >= '0' && c <= '9') digit = static_cast<unsigned>(c - '0');
    else if (c >= 'A' && c <= 'F') digit = static_cast<unsigned>(c - 'A' + 10);
    else if (c >= 'a' && c <= 'f') digit = static_cast<unsigned>(c - 'a' + 10);
    else return std::nullopt;
    value = value * 16 + digit;
  }
  return value;
}

unsigned checksum_of(Checksum kind, std::string_view text) {
  unsigned sum = 0;
  switch (kind) {
    case Checksum::none: break;
    case Checksum::xor8:
      for (const char c : text) sum ^= static_cast<unsigned char>(c);
      break;
    case Checksum::sum8:
      for (const char c : text) sum += static_cast<unsigned char>(c);
      sum &= 0xFF;
      break;
    case Checksum::crc16: sum = crc16({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()}); break;
  }
  return sum;
}

}  // namespace

std::uint16_t crc16(std::span<const std::uint8_t> bytes) {
  std::uint16_t crc = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    crc = static_cast<std::uint16_t>(crc ^ byte);
    for (int bit = 0; bit < 8; ++bit) crc = static_cast<std::uint16_t>((crc >> 1) ^ ((crc & 1) != 0 ? 0xA001 : 0));
  }
  return crc;
}

std::optional<std::string_view> without_checksum(Checksum kind, std::string_view line) {
  if (kind == Checksum::none) return line;
  const std::size_t digits = kind == Checksum::crc16 ? 4 : 2;
  if (line.size() < digits) return std::nullopt;
  const std::string_view text = line.substr(0, line.size() - digits);
  if (hexadecimal(line.substr(text.size())) != checksum_of(kind, text)) return std::nullopt;
  return text;
}

}  // namespace standfast
