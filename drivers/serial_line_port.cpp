#include "drivers/serial_line_port.hpp"

#include <utility>

#include <boost/asio/io_context.hpp>
#include <boost/asio/serial_port.hpp>

#include <poll.h>
#include <termios.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

#include "config/ensure.hpp"
#include "config/line_time.hpp"
#include "drivers/descriptors.hpp"

namespace standfast {

namespace {

using Option = boost::asio::serial_port_base;

Option::parity parity_of(Parity parity) {
  switch (parity) {
    case Parity::none: return Option::parity{Option::parity::none};
    case Parity::even: return Option::parity{Option::parity::even};
    case Parity::odd: return Option::parity{Option::parity::odd};
  }
  ENSURE(false);
}

// A character of wrong parity or without its stop bit reads as NUL, which is in no line that fits.
bool tell_bad_characters(int descriptor) {
  termios settings{};
  if (::tcgetattr(descriptor, &settings) != 0) return false;
  settings.c_iflag &= ~static_cast<tcflag_t>(IGNPAR | PARMRK | IGNBRK | BRKINT);
  settings.c_iflag |= INPCK;
  return ::tcsetattr(descriptor, TCSANOW, &settings) == 0;
}

}  // namespace

struct SerialLinePort::Device {
  boost::asio::io_context context{1};
  boost::asio::serial_port port{context};
};

SerialLinePort::SerialLinePort(const SerialSettings& serial, const Clock& clock) : serial_{serial}, clock_{clock} {}

SerialLinePort::~SerialLinePort() { close(); }

bool SerialLinePort::set_up() {
  boost::system::error_code failed;
  const auto set = [&](const auto& option) {
    device_->port.set_option(option, failed);
    return !failed;
  };
  const auto stop_bits = serial_.stop_bits == 2 ? Option::stop_bits::two : Option::stop_bits::one;
  return set(Option::baud_rate{static_cast<unsigned>(serial_.baud)}) && set(parity_of(serial_.parity)) &&
         set(Option::stop_bits{stop_bits}) && set(Option::character_size{8}) &&
         set(Option::flow_control{Option::flow_control::none}) && tell_bad_characters(device_->port.native_handle()) &&
         claim_.settle(device_->port.native_handle());
}

Flaw SerialLinePort::open() {
  if (is_open()) return Flaw::none;
  if (const Flaw flaw = claim_.take(serial_.device); flaw != Flaw::none) {
    trouble_ = refusal_text(serial_.device, claim_.error());
    return flaw;
  }
  try {
    device_ = std::make_unique<Device>();
    boost::system::error_code failed;
    device_->port.open(serial_.device, failed);
    trouble_ = failed ? serial_.device + ": " + failed.message() : serial_.device + ": its settings cannot be made";
    const bool in_use = failed == boost::system::errc::device_or_resource_busy;
    if (!failed && set_up()) listener_ = std::make_unique<LineListener>(device_->port.native_handle(), clock_);
    else close();
    if (is_open()) trouble_.clear();
    return is_open() ? Flaw::none : in_use ? Flaw::line_in_use : Flaw::not_connected;
  } catch (const std::system_error& none_left) {  // No thread or descriptor left. Boost's own is one, too.
    trouble_ = serial_.device + ": " + none_left.code().message();
    close();
    return Flaw::not_connected;
  }
}

void SerialLinePort::close() {
  listener_.reset();
  device_.reset();
  claim_.release();
}

Flaw SerialLinePort::look() { return claim_.settings_changed() ? Flaw::line_changed : Flaw::none; }

Flaw SerialLinePort::send(std::string_view text, Instant deadline) {
  const int line = device_->port.native_handle();
  const std::size_t characters = text.size();
  sent_at_ = clock_.now();
  while (!text.empty()) {
    const ssize_t size = ::write(line, text.data(), text.size());
    if (size >= 0) text.remove_prefix(static_cast<std::size_t>(size));
    else if (!would_block(errno)) return Flaw::not_connected;
    else if (!wait_ready(line, POLLOUT, deadline, clock_)) return Flaw::no_answer;
  }
  sent_at_ = clock_.now() + line_time(serial_, characters);
  return Flaw::none;
}

}  // namespace standfast
