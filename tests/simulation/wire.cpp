#include "tests/simulation/wire.hpp"

#include <algorithm>

#include "drivers/modbus_rtu_frame.hpp"
#include "drivers/modbus_tcp_frame.hpp"
#include "tools/rig/modbus_stream.hpp"

namespace standfast::test {
namespace {

constexpr Duration one_exchange = milliseconds(2);
constexpr std::uint8_t exceptions[] = {1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 99};

std::vector<std::uint8_t> bytes_of(const ModbusFrame& frame) { return {frame.view().begin(), frame.view().end()}; }

}  // namespace

bool SimulatedWire::connect(Instant deadline) {
  if (state.pulled) {
    connected_ = false;
    clock_.pass(std::clamp(deadline - clock_.now(), Duration{}, milliseconds(20)));
    return false;
  }
  if (!connected_) clock_.pass(milliseconds(1));
  connected_ = true;
  return true;
}

void SimulatedWire::close() {
  connected_ = false;
  if (framing_ == Framing::tcp) before_.clear();  // What was still to come dies with the connection.
}

Spoilt SimulatedWire::chance() {
  if (state.one_in == 0 || !random_.one_in(state.one_in)) return Spoilt::no;
  const auto what = static_cast<Spoilt>(random_.below(spoilt_count));
  // Nothing on a serial line tells an answer of before from this one; there the line's silence does (modbus_rtu_line).
  if (what == Spoilt::late && framing_ == Framing::serial) return Spoilt::lost;
  return state.may_be[static_cast<std::size_t>(what)] ? what : Spoilt::no;
}

SimulatedWire::Frame SimulatedWire::framed(std::uint16_t transaction, std::uint8_t unit, const rig::Bytes& pdu) const {
  if (framing_ == Framing::tcp) return rig::message_bytes({transaction, unit, pdu});
  Frame frame{unit};
  frame.insert(frame.end(), pdu.begin(), pdu.end());
  const std::uint16_t sum = crc16(frame);
  frame.push_back(static_cast<std::uint8_t>(sum & 0xff));
  frame.push_back(static_cast<std::uint8_t>(sum >> 8));
  return frame;
}

// On TCP only what the protocol itself can notice: transaction, protocol, length, unit. Serial: any bits, up to three, which
// its checksum always notices in frames of these lengths.
void SimulatedWire::spoil_bits(Frame& frame) {
  const auto most = framing_ == Framing::tcp ? modbus_header_bytes : frame.size();
  std::vector<std::size_t> hit;
  const std::int64_t bits = framing_ == Framing::tcp ? 1 : 1 + random_.below(3);
  while (static_cast<std::int64_t>(hit.size()) < bits) {
    const auto bit = static_cast<std::size_t>(random_.below(static_cast<std::int64_t>(most) * 8));
    if (std::find(hit.begin(), hit.end(), bit) != hit.end()) continue;
    hit.push_back(bit);
    frame[bit / 8] ^= static_cast<std::uint8_t>(1U << (bit % 8));
  }
}

// Empty: nothing comes.
SimulatedWire::Frame SimulatedWire::arrives(const ModbusRequest& request, Spoilt what) {
  Frame frame = framed(transaction_, request.unit_id(), truly_said_.value_or(rig::Bytes{}));
  switch (what) {
    case Spoilt::no: before_ = frame; break;
    case Spoilt::unheard: case Spoilt::lost: frame.clear(); break;
    case Spoilt::late: frame = before_; break;
    case Spoilt::torn: frame.resize(static_cast<std::size_t>(random_.below(static_cast<std::int64_t>(frame.size())))); break;
    case Spoilt::prolonged: frame.push_back(static_cast<std::uint8_t>(random_.below(256))); break;
    case Spoilt::spoilt_bits: spoil_bits(frame); break;
    case Spoilt::foreign_unit: frame = framed(transaction_, static_cast<std::uint8_t>(request.unit_id() + 1), *truly_said_); break;
    case Spoilt::refused: {
      const auto code = exceptions[random_.below(std::ssize(exceptions))];
      frame = framed(transaction_, request.unit_id(), {static_cast<std::uint8_t>(request.pdu()[0] | 0x80U), code});
    }
  }
  return frame;
}

std::optional<Flaw> SimulatedWire::judge(std::span<const std::uint8_t> sent, std::span<const std::uint8_t> received) const {
  if (framing_ == Framing::tcp) return judge_tcp_answer(sent, received);
  const auto verdict = judge_rtu_answer(sent, received);
  if (verdict || received.empty()) return verdict;
  return judge_rtu_rest(sent, received);
}

ModbusConnection::Answer SimulatedWire::give_up(Flaw flaw, Instant until) {
  clock_.go_to(until);
  close();
  return {flaw, {}, true};
}

ModbusConnection::Answer SimulatedWire::ask(const ModbusRequest& request, Instant deadline) {
  ++asked;
  ++transaction_;
  const Spoilt what = chance();
  spoilt += what != Spoilt::no;
  const bool done = what != Spoilt::unheard && what != Spoilt::refused;  // What is refused is not done.
  truly_said_ = done ? plant_.serve(bus_, request.unit_id(), request.pdu()) : std::nullopt;
  if (!truly_said_ && what != Spoilt::refused) return give_up(Flaw::no_answer, deadline);
  const auto sent = bytes_of(framing_ == Framing::tcp ? tcp_frame(request, transaction_) : rtu_frame(request));
  received_ = arrives(request, what);
  if (received_.empty()) return give_up(Flaw::no_answer, deadline);
  clock_.pass(std::min(one_exchange, deadline - clock_.now()));
  const auto verdict = judge(sent, received_);
  if (!verdict) return give_up(Flaw::malformed, deadline);  // The rest of it never comes.
  if (*verdict != Flaw::none && !is_exception(*verdict)) return give_up(*verdict, clock_.now());
  if (*verdict != Flaw::none) return {*verdict, {}, true};
  return {Flaw::none, framing_ == Framing::tcp ? pdu_of_tcp(received_) : pdu_of_rtu(received_), true};
}

}  // namespace standfast::test
