// Any bytes as the answer to any read on a serial line: no byte is ever looked at that is not there, a verdict once given is
// none of an answer taken, and an answer that is taken has the unit, the checksum and the size of what was asked for.
#include <vector>

#include "drivers/modbus_rtu_frame.hpp"

using namespace standfast;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  constexpr std::size_t choices = 5;
  if (size < choices) return 0;
  const Address from{data[0], static_cast<Table>(data[1] % 4), data[2]};
  const int count = 1 + data[3] % 125;
  const ModbusFrame sent = rtu_frame(read_request(from, count));
  std::vector<std::uint8_t> whole{data + choices, data + size};
  if (data[4] % 2 == 1 && whole.size() >= 2) {  // With a right checksum, which chance would not find.
    const std::uint16_t crc = crc16(std::span{whole}.first(whole.size() - 2));
    whole[whole.size() - 2] = static_cast<std::uint8_t>(crc);
    whole[whole.size() - 1] = static_cast<std::uint8_t>(crc >> 8);
  }

  for (std::size_t have = 0; have <= whole.size(); ++have) {
    const std::span<const std::uint8_t> received = std::span{whole}.first(have);
    ENSURE(judge_rtu_rest(sent.view(), received) != Flaw::none);
    const auto verdict = judge_rtu_answer(sent.view(), received);
    if (!verdict) continue;
    if (*verdict == Flaw::none) {
      const bool bits = from.table == Table::coil || from.table == Table::discrete_input;
      ENSURE(bits ? bits_in(pdu_of_rtu(received), count).size() == static_cast<std::size_t>(count)
                  : words_in(pdu_of_rtu(received)).size() == static_cast<std::size_t>(count));
      ENSURE(received[0] == from.unit_id);
      ENSURE(crc16(received) == 0);
      if (have < whole.size()) ENSURE(judge_rtu_answer(sent.view(), std::span{whole}.first(have + 1)) == Flaw::malformed);
    }
    break;
  }
  return 0;
}
