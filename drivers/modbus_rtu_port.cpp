#include "drivers/modbus_rtu_port.hpp"

#include <modbus/modbus.h>
#include <poll.h>
#include <sys/prctl.h>
#include <termios.h>
#include <unistd.h>

#include <cerrno>

#include "config/ensure.hpp"

namespace standfast {

namespace {

char letter_of(Parity parity) {
  switch (parity) {
    case Parity::none: return 'N';
    case Parity::even: return 'E';
    case Parity::odd: return 'O';
  }
  ENSURE(false);
}

// The kernel rounds waits up by 50 us; at 115200 baud that is a twentieth of a short exchange.
void wake_on_time() {
  thread_local const bool asked = ::prctl(PR_SET_TIMERSLACK, 1UL, 0UL, 0UL, 0UL) == 0;
  (void)asked;
}

}  // namespace

void ModbusRtuPort::FreeContext::operator()(_modbus* context) const { modbus_free(context); }

ModbusRtuPort::ModbusRtuPort(const ModbusRtu& where, const Clock& clock)
    : where_{where},
      clock_{clock},
      context_{modbus_new_rtu(where.serial.device.c_str(), where.serial.baud, letter_of(where.serial.parity), 8,
                              where.serial.stop_bits)} {
  ENSURE(context_ != nullptr);  // Refused only for what the loader refuses, and without memory.
  modbus_set_error_recovery(context_.get(), MODBUS_ERROR_RECOVERY_NONE);
}

ModbusRtuPort::~ModbusRtuPort() { close(); }

Flaw ModbusRtuPort::open() {
  if (is_open()) return Flaw::none;
  if (const Flaw flaw = claim_.take(where_.serial.device); flaw != Flaw::none) {
    trouble_ = refusal_text(where_.serial.device, claim_.error());
    return flaw;
  }
  if (modbus_connect(context_.get()) != 0) {
    const int error = errno;
    trouble_ = refusal_text(where_.serial.device, error);
    claim_.release();
    return error == EBUSY ? Flaw::line_in_use : Flaw::not_connected;
  }
  line_ = modbus_get_socket(context_.get());
  const bool kernel = where_.serial.rs485 == Rs485::kernel;
  if (line_ < 0 || line_ >= most_descriptors || !claim_.settle(line_) ||
      (kernel && modbus_rtu_set_serial_mode(context_.get(), MODBUS_RTU_RS485) != 0)) {
    trouble_ = where_.serial.device + ": its settings cannot be made";
    close();
    return Flaw::not_connected;
  }
  trouble_.clear();
  flush();
  return Flaw::none;
}

void ModbusRtuPort::close() {
  if (line_ >= 0) modbus_close(context_.get());
  line_ = -1;
  claim_.release();
}

void ModbusRtuPort::flush() { (void)::tcflush(line_, TCIOFLUSH); }

Flaw ModbusRtuPort::look() {
  const bool changed = claim_.settings_changed();
  const int size = read_line(line_, buffer_.data(), static_cast<int>(buffer_.size()));
  if (size < 0) {
    close();
    return Flaw::not_connected;
  }
  if (size > 0 || changed) flush();
  if (changed) return Flaw::line_changed;
  return size > 0 ? Flaw::malformed : Flaw::none;
}

// Nothing is said before the silence behind the last byte is over. True if nothing came.
bool ModbusRtuPort::wait_for_silence() const { return !wait_ready(line_, POLLIN, silent_at_, clock_); }

Flaw ModbusRtuPort::send(std::span<const std::uint8_t> frame, Instant deadline) {
  const std::size_t characters = frame.size();
  while (!frame.empty()) {
    const ssize_t size = ::write(line_, frame.data(), frame.size());
    if (size >= 0) frame = frame.subspan(static_cast<std::size_t>(size));
    else if (!would_block(errno)) return Flaw::not_connected;
    else if (!wait_ready(line_, POLLOUT, deadline, clock_)) return Flaw::no_answer;
  }
  sent_at_ = clock_.now() + line_time(where_.serial, characters);
  return Flaw::none;
}

bool ModbusRtuPort::silent_behind() {
  silent_at_ = clock_.now() + silence_between_frames(where_.serial);
  return wait_for_silence();
}

ModbusRtuPort::Heard ModbusRtuPort::receive(std::span<const std::uint8_t> sent, Instant deadline) {
  std::size_t have = 0;
  while (wait_ready(line_, POLLIN, deadline, clock_)) {
    const int size = read_line(line_, buffer_.data() + have, static_cast<int>(buffer_.size() - have));
    if (size < 0) return {Flaw::not_connected, {}};
    have += static_cast<std::size_t>(size);
    const std::span<const std::uint8_t> received{buffer_.data(), have};
    const std::optional<Flaw> flaw = judge_rtu_answer(sent, received);
    if (!flaw) continue;
    if (*flaw != Flaw::none && !is_exception(*flaw)) return {*flaw, {}};
    if (clock_.now() > deadline) return {Flaw::no_answer, {}};
    if (!silent_behind()) return {Flaw::malformed, {}};
    return {*flaw, *flaw == Flaw::none ? pdu_of_rtu(received) : std::span<const std::uint8_t>{}};
  }
  if (have == 0) return {Flaw::no_answer, {}};
  return {judge_rtu_rest(sent, {buffer_.data(), have}), {}};
}

ModbusRtuPort::Heard ModbusRtuPort::exchange(const ModbusRequest& request, Instant deadline) {
  ENSURE(is_open());
  wake_on_time();
  sent_at_ = clock_.now();
  if (!wait_for_silence()) return {Flaw::malformed, {}};
  const ModbusFrame frame = rtu_frame(request);
  Heard heard{send(frame.view(), deadline), {}};
  if (heard.flaw == Flaw::none) heard = receive(frame.view(), deadline);
  if (heard.flaw == Flaw::not_connected) close();
  else if (heard.flaw != Flaw::none && !is_exception(heard.flaw)) silent_at_ = clock_.now() + silence_between_frames(where_.serial);
  return heard;
}

}  // namespace standfast
