#include "config/line_time.hpp"

#include <string_view>

#include "config/ensure.hpp"
#include "config/wire_kind.hpp"

namespace standfast {
namespace {

constexpr std::string_view value_place = "{value}";
constexpr std::size_t characters_of_number = 10, line_end = 2;

constexpr std::size_t checksum_characters(Checksum checksum) {
  switch (checksum) {
    case Checksum::none: return 0;
    case Checksum::xor8: case Checksum::sum8: return 2;
    case Checksum::crc16: return 4;
  }
  return 0;
}

constexpr std::size_t bytes_of_bits(int count) { return static_cast<std::size_t>((count + 7) / 8); }

}  // namespace

std::size_t rtu_read_characters(Table table, int count) {
  const bool bits = table == Table::coil || table == Table::discrete_input;
  return 8 + 5 + (bits ? bytes_of_bits(count) : 2 * static_cast<std::size_t>(count));
}

std::size_t rtu_write_coils_characters(int count) { return count == 1 ? 8 + 8 : 9 + bytes_of_bits(count) + 8; }

std::size_t text_line_characters(const SerialLines& lines) {
  std::string_view rest = lines.answer;
  std::size_t characters = lines.ask.size() + line_end + checksum_characters(lines.checksum);
  for (std::size_t at = rest.find(value_place); at != std::string_view::npos; at = rest.find(value_place)) {
    characters += at + characters_of_number;
    rest.remove_prefix(at + value_place.size());
  }
  return characters + rest.size();
}

Duration request_time(const Bus& bus, const Block& block) {
  switch (kind_of(bus)) {
    case WireKind::modbus_tcp: return device_turnaround;
    case WireKind::modbus_rtu: {
      const SerialSettings& serial = std::get<ModbusRtu>(bus.wire).serial;
      return rtu_cycle(serial, rtu_read_characters(block.table, block.count)) + device_turnaround;
    }
    case WireKind::serial_lines: {
      const auto& lines = std::get<SerialLines>(bus.wire);
      return line_time(lines.serial, text_line_characters(lines)) + (lines.ask.empty() ? Duration{} : device_turnaround);
    }
  }
  ENSURE(false);
}

}  // namespace standfast
