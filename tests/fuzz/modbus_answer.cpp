// Any bytes as the answer to any read: no byte is ever looked at that is not there, a verdict once given stands whatever
// follows, and an answer that is taken holds exactly what was asked for.
#include "drivers/modbus_tcp_frame.hpp"

using namespace standfast;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  constexpr std::size_t choices = 4;
  if (size < choices) return 0;
  const Address from{data[0], static_cast<Table>(data[1] % 4), data[2]};
  const int count = 1 + data[3] % 125;
  const ModbusFrame sent = tcp_frame(read_request(from, count), 0x0102);
  const std::span<const std::uint8_t> whole{data + choices, size - choices};

  for (std::size_t have = 0; have <= whole.size(); ++have) {
    const auto verdict = judge_tcp_answer(sent.view(), whole.first(have));
    if (!verdict) continue;
    if (*verdict == Flaw::none) {
      const bool bits = from.table == Table::coil || from.table == Table::discrete_input;
      const auto answer = whole.first(have);
      ENSURE(bits ? bits_in(pdu_of_tcp(answer), count).size() == static_cast<std::size_t>(count)
                  : words_in(pdu_of_tcp(answer)).size() == static_cast<std::size_t>(count));
      ENSURE(answer[6] == from.unit_id);
    }
    ENSURE(judge_tcp_answer(sent.view(), whole).has_value());
    if (*verdict != Flaw::none && !is_exception(*verdict)) ENSURE(judge_tcp_answer(sent.view(), whole) != Flaw::none);
    break;
  }
  return 0;
}
