#include "drivers/serial_lines.hpp"

#include <algorithm>
#include <chrono>
#include <thread>

namespace standfast {

namespace {

// How old the newest line of one that speaks by itself may be: what is read counts as read now, or the engine is late.
constexpr Duration oldest_line = milliseconds(500);

using Begin = LineAssembler::Begin;

}  // namespace

SerialLineBus::SerialLineBus(const SerialLines& wire, const Clock& clock)
    : wire_{wire}, clock_{clock}, port_{wire.serial, clock} {}

Flaw SerialLineBus::connect() {
  if (port_.is_open()) return Flaw::none;
  if (!pause_.over(clock_.now())) return refusal_;
  refusal_ = port_.open();
  if (refusal_ != Flaw::none) {
    pause_.failed(clock_.now());
    return refusal_;
  }
  pause_.succeeded();
  doubt(clock_.now());  // Somebody else may have asked before.
  return Flaw::none;
}

void SerialLineBus::lose() {
  port_.close();
  refusal_ = Flaw::not_connected;
  pause_.failed(clock_.now());
}

void SerialLineBus::doubt(Instant since) {
  doubtful_ = true;
  if (wire_.ask.empty()) return;
  quiet_until_ns_ = std::max(quiet_until_ns_.load(), (since + wire_.slowest_answer).ns);
}

bool SerialLineBus::wait_for_quiet(Instant deadline) {
  const Instant until = free_at();
  for (Instant now; (now = clock_.now()) < std::min(until, deadline);)
    std::this_thread::sleep_for(std::chrono::nanoseconds{std::min(std::min(until, deadline) - now, longest_kernel_wait).ns});
  return clock_.now() >= until;
}

SerialLineBus::Heard SerialLineBus::hear(Instant deadline) {
  if (std::exchange(doubtful_, false)) port_.listener().forget(Begin::within_a_line);
  return port_.listener().wait(clock_.now() - oldest_line, deadline);
}

SerialLineBus::Heard SerialLineBus::exchange(Instant deadline) {
  if (!wait_for_quiet(deadline)) return {{{}, Flaw::no_answer}, clock_.now()};
  const bool unasked = port_.listener().forget(Begin::at_a_line);
  if (!std::exchange(doubtful_, false) && unasked) {
    doubt(clock_.now());
    return {{{}, Flaw::malformed}, clock_.now()};
  }
  const Instant asked_at = clock_.now();
  if (const Flaw flaw = port_.send(wire_.ask, deadline); flaw != Flaw::none) return {{{}, flaw}, clock_.now()};
  Heard heard = port_.listener().wait(asked_at, deadline);
  if (heard.line.flaw == Flaw::none && !heard.alone) heard.line.flaw = Flaw::malformed;
  return heard;
}

Scan SerialLineBus::ask(BlockId id, const Block&, Instant deadline) {
  if (const Flaw flaw = connect(); flaw != Flaw::none) return {id, clock_.now(), port_.trouble(), flaw};
  if (port_.look() == Flaw::line_changed) {
    doubt(clock_.now());
    return {id, clock_.now(), std::string{}, Flaw::line_changed};
  }
  const bool asked = !wire_.ask.empty();
  Heard heard = asked ? exchange(deadline) : hear(deadline);
  if (heard.line.flaw == Flaw::none) heard.line.flaw = judge_line(wire_, heard.line.text);
  if (heard.line.flaw == Flaw::not_connected) lose();
  else if (heard.line.flaw != Flaw::none && asked) doubt(port_.sent_at());
  return {id, heard.at, std::move(heard.line.text), heard.line.flaw};
}

}  // namespace standfast
