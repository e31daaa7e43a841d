#include "tools/rig/line_text.hpp"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string_view>

#include "tools/rig/rtu_stream.hpp"

namespace standfast::rig {
namespace {

constexpr std::string_view hole = "{value}";
constexpr std::string_view usual_end = "\r\n";

std::string_view end_of(const SerialLines& wire) {
  const std::string_view pattern = wire.answer;
  const auto last = pattern.find_last_not_of("\r\n");
  const std::string_view own = last == std::string_view::npos ? std::string_view{} : pattern.substr(last + 1);
  return own.empty() ? usual_end : own;
}

std::string checksum_of(Checksum kind, const std::string& text) {
  unsigned sum = 0;
  char digits[8] = "";
  switch (kind) {
    case Checksum::none: break;
    case Checksum::xor8:
      for (const char c : text) sum ^= static_cast<unsigned char>(c);
      std::snprintf(digits, sizeof digits, "%02X", sum & 0xff);
      break;
    case Checksum::sum8:
      for (const char c : text) sum += static_cast<unsigned char>(c);
      std::snprintf(digits, sizeof digits, "%02X", sum & 0xff);
      break;
    case Checksum::crc16:
      sum = rtu_crc({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
      std::snprintf(digits, sizeof digits, "%04X", sum);
      break;
  }
  return digits;
}

}  // namespace

std::string counts_text(const Channel& channel, double counts) {
  const Scale& scale = channel.scale;
  const double step = std::abs(channel.resolution * (scale.raw_high - scale.raw_low) / (scale.value_high - scale.value_low));
  const int places = step > 0 ? std::clamp(static_cast<int>(std::ceil(-std::log10(step) - 1e-9)), 0, 6) : 3;
  char text[48];
  std::snprintf(text, sizeof text, "%.*f", places, counts);
  return text;
}

std::string filled(const SerialLines& wire, const std::vector<std::optional<std::string>>& values) {
  std::string text = wire.answer.substr(0, wire.answer.find_last_not_of("\r\n") + 1);
  const std::string no_number = wire.overload_words.empty() ? "-----" : wire.overload_words.front();
  std::size_t n = 0;
  for (auto at = text.find(hole); at != std::string::npos; at = text.find(hole, at)) {
    const std::string said = n < values.size() ? values[n].value_or(no_number) : "0";
    text.replace(at, hole.size(), said);
    at += said.size();
    ++n;
  }
  return text;
}

std::string ended(const SerialLines& wire, const std::string& body) {
  return body + checksum_of(wire.checksum, body) + std::string{end_of(wire)};
}

std::string line_said(const SerialLines& wire, std::vector<std::optional<std::string>> values, LineFault fault) {
  if (fault == LineFault::overload) {
    for (auto& value : values) value.reset();
  }
  std::string body = filled(wire, values);
  switch (fault) {
    case LineFault::none: case LineFault::overload: break;
    case LineFault::comma: std::replace(body.begin(), body.end(), '.', ','); break;
    case LineFault::endless: return std::string(2000, '9');
    case LineFault::zero_byte: body.insert(body.size() / 2, 1, '\0'); break;
    case LineFault::merged: return body + ended(wire, body);  // The end between two lines was lost.
    case LineFault::extra_field: body += ";0.000"; break;
  }
  return ended(wire, body);
}

}  // namespace standfast::rig
