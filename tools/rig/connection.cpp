#include "tools/rig/connection.hpp"

#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <utility>

#include "tools/rig/modbus_stream.hpp"
#include "tools/rig/wire_fault.hpp"

namespace standfast::rig {
namespace {

constexpr std::size_t most_waiting = 1U << 16;  // A peer that does not read is dropped.
constexpr std::size_t longest_line = 1024;

class ModbusConnection final : public Connection {
 public:
  ModbusConnection(Descriptor socket, BusId bus) : Connection{std::move(socket)}, bus_{bus} {}

 private:
  void add(std::span<const std::uint8_t> bytes, Instant) override { stream_.add(bytes); }
  bool work(Plant& plant, Instant now) override {
    const WireFault& fault = plant.wire(bus_);
    while (auto request = stream_.next()) {
      if (fault.black_hole) continue;
      if (fault.hangs_up) return false;
      if (auto pdu = plant.serve(bus_, request->unit_id, request->pdu)) {
        const Bytes heard = message_bytes(*request);
        request->pdu = std::move(*pdu);
        bend(fault, request->unit_id, request->pdu);
        answer(plant, now, message_bytes(*request), heard);
      }
    }
    return !stream_.broken();
  }

  void answer(Plant& plant, Instant now, Bytes frame, const Bytes& request) {
    const WireFault& fault = plant.wire(bus_);
    if (fault.echoing) say_later(now, request, {});
    if (auto out = troubled_.through(fault, plant.wire_chance(), std::move(frame))) say_later(now + fault.slow, *out, fault.drip);
  }

  BusId bus_;
  ModbusStream stream_;
  TroubledWire troubled_;
};

class ControlConnection final : public Connection {
 public:
  using Connection::Connection;

 private:
  void add(std::span<const std::uint8_t> bytes, Instant) override { text_.append(bytes.begin(), bytes.end()); }

  bool work(Plant& plant, Instant) override {
    if (waits_ && plant.pump().running()) return true;
    if (std::exchange(waits_, false)) tell(how_pump_stands(plant));
    for (auto end = text_.find('\n'); end != std::string::npos && !waits_; end = text_.find('\n')) {
      const std::string line = text_.substr(0, end);
      text_.erase(0, end + 1);
      obey(plant, line);
    }
    return text_.size() <= longest_line || waits_;
  }

  void obey(Plant& plant, const std::string& line) {
    if (line.empty()) return;
    if (line != "wait") tell(plant.obey(line, "control"));
    else if (plant.pump().running()) waits_ = true;
    else tell(how_pump_stands(plant));
  }

  static std::string how_pump_stands(const Plant& plant) {
    const PumpState state = plant.pump().state();
    const bool well = state == PumpState::done || state == PumpState::idle;
    return (well ? "done: " : "refused: ") + std::string{name_of(state)};
  }

  void tell(const std::string& answer) {
    const std::string line = answer + "\n";
    say({reinterpret_cast<const std::uint8_t*>(line.data()), line.size()});
  }

  std::string text_;
  bool waits_{false};
};

}  // namespace

bool Connection::receive(Plant& plant, Instant now) {
  std::array<std::uint8_t, 4096> buffer;
  const ssize_t got = ::read(in(), buffer.data(), buffer.size());
  if (got < 0 && (errno == EAGAIN || errno == EINTR)) return true;
  if (got <= 0) return goes_on_without_peer();
  add({buffer.data(), static_cast<std::size_t>(got)}, now);
  return work(plant, now) && send(now);
}

bool Connection::send(Instant now) {
  say(later_.take(now));
  while (!waiting_.empty()) {
    const ssize_t sent = out_.get() >= 0 ? ::write(out_.get(), waiting_.data(), waiting_.size())
                                         : ::send(in_.get(), waiting_.data(), waiting_.size(), MSG_NOSIGNAL);
    if (sent < 0 && errno == EIO) return goes_on_without_peer();
    if (sent < 0) return (errno == EAGAIN || errno == EINTR) && waiting_.size() <= most_waiting;
    waiting_.erase(waiting_.begin(), waiting_.begin() + sent);
  }
  return true;
}

std::unique_ptr<Connection> modbus_connection(Descriptor socket, BusId bus) {
  return std::make_unique<ModbusConnection>(std::move(socket), bus);
}

std::unique_ptr<Connection> control_connection(Descriptor in, Descriptor out) {
  return std::make_unique<ControlConnection>(std::move(in), std::move(out));
}

}  // namespace standfast::rig
