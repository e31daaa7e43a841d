#include "tools/rig/serial_connection.hpp"

#include <unistd.h>

#include <utility>

#include "tools/rig/rtu_stream.hpp"

namespace standfast::rig {
namespace {

constexpr std::uint8_t diagnostics = 8;  // MODBUS Application Protocol V1.1b3, 6.8: for serial lines only.
constexpr Duration turn_round = milliseconds(2);  // Of an instrument that speaks text.
constexpr Duration least_silence = milliseconds(15);  // Bytes come through a pseudo terminal in one piece, but not always at once.

class SerialConnection : public Connection {
 public:
  SerialConnection(PseudoTerminal terminal, BusId bus, const SerialSettings& serial)
      : Connection{Descriptor{::dup(terminal.descriptor())}, Descriptor{::dup(terminal.descriptor())}}, bus_{bus},
        character_{character_time(serial)}, terminal_{std::move(terminal)} {}

  bool listens() const override { return !parted_; }
  bool look_again(Plant& plant, Instant now) override {
    if (plant.wire(bus_).pulled) return false;
    if (parted_ && terminal_.is_parted()) return true;
    parted_ = false;
    return Connection::look_again(plant, now);
  }

 protected:
  bool goes_on_without_peer() override {
    parted_ = true;
    terminal_.make_raw();
    forget_what_waits();
    return true;
  }

  // What the wire makes of it; where the other side has set another speed, it reads nothing of what was said.
  void answer(Plant& plant, Instant from, Bytes frame, const Bytes& request) {
    const WireFault& fault = plant.wire(bus_);
    if (fault.echoing) say_later(from, request, character_);
    auto out = troubled_.through(fault, plant.wire_chance(), std::move(frame));
    if (!out) return;
    if (terminal_.speed_differs()) {
      for (std::uint8_t& byte : *out) byte = static_cast<std::uint8_t>(byte * 167U ^ 0x5aU);
    }
    say_later(from + fault.slow, *out, std::max(character_, fault.drip));
  }

  Duration characters(std::size_t count) const { return character_ * static_cast<std::int64_t>(count); }

  const BusId bus_;

 private:
  Duration character_;
  PseudoTerminal terminal_;
  TroubledWire troubled_;
  bool parted_{false};
};

class RtuConnection final : public SerialConnection {
 public:
  RtuConnection(PseudoTerminal terminal, BusId bus, const ModbusRtu& wire)
      : SerialConnection{std::move(terminal), bus, wire.serial},
        stream_{std::max(least_silence, character_time(wire.serial) * 7 / 2)} {}

  std::optional<Instant> next() const override {
    const auto answer = Connection::next(), end = stream_.due();
    if (!answer || !end) return answer ? answer : end;
    return std::min(*answer, *end);
  }

 private:
  void add(std::span<const std::uint8_t> bytes, Instant now) override { stream_.add(bytes, now); }

  bool work(Plant& plant, Instant now) override {
    while (auto request = stream_.next(now)) {
      if (plant.wire(bus_).black_hole || !plant.has_unit(bus_, request->unit_id)) continue;
      const Bytes heard = rtu_frame(*request);
      auto pdu = pdu_for(plant, *request);
      if (!pdu) continue;
      RtuRequest said{request->unit_id, std::move(*pdu)};
      bend(plant.wire(bus_), said.unit_id, said.pdu);
      // The request's own bytes took their time too, and three and a half characters lie between two frames.
      answer(plant, now + characters(heard.size()) + characters(7) / 2, rtu_frame(said), heard);
    }
    return true;
  }

  std::optional<Bytes> pdu_for(Plant& plant, const RtuRequest& request) {
    const Bytes& pdu = request.pdu;
    const bool echo = pdu.size() == 5 && pdu[0] == diagnostics && pdu[1] == 0 && pdu[2] == 0;
    if (echo && !plant.is_silent(bus_, request.unit_id)) return pdu;
    return plant.serve(bus_, request.unit_id, pdu);
  }

  RtuStream stream_;
};

class LinesConnection final : public SerialConnection {
 public:
  LinesConnection(PseudoTerminal terminal, BusId bus, const SerialLines& wire, Duration period)
      : SerialConnection{std::move(terminal), bus, wire.serial}, ask_{wire.ask}, period_{period} {}

  std::optional<Instant> next() const override {
    const auto answer = Connection::next();
    if (!ask_.empty() || !listens()) return answer;
    return answer ? std::min(*answer, next_line_) : next_line_;
  }

 private:
  void add(std::span<const std::uint8_t> bytes, Instant) override { heard_.append(bytes.begin(), bytes.end()); }

  bool work(Plant& plant, Instant now) override {
    if (ask_.empty()) stream(plant, now);
    else while (take_request()) tell(plant, now + characters(ask_.size()) + turn_round);
    return true;
  }

  bool take_request() {
    const auto at = heard_.find(ask_);
    if (at != std::string::npos) {
      heard_.erase(0, at + ask_.size());
      return true;
    }
    if (heard_.size() >= ask_.size()) heard_.erase(0, heard_.size() - ask_.size() + 1);
    return false;
  }

  void stream(Plant& plant, Instant now) {
    heard_.clear();
    if (now < next_line_) return;
    next_line_ = std::max(next_line_ + period_, now);
    tell(plant, now);
  }

  void tell(Plant& plant, Instant from) {
    if (plant.wire(bus_).black_hole) return;
    const std::string line = plant.line_said(bus_);
    answer(plant, from, Bytes(line.begin(), line.end()), Bytes(ask_.begin(), ask_.end()));
  }

  std::string ask_, heard_;
  Duration period_;
  Instant next_line_{};
};

}  // namespace

std::unique_ptr<Connection> rtu_connection(PseudoTerminal terminal, BusId bus, const ModbusRtu& wire) {
  return std::make_unique<RtuConnection>(std::move(terminal), bus, wire);
}

std::unique_ptr<Connection> lines_connection(PseudoTerminal terminal, BusId bus, const SerialLines& wire, Duration period) {
  return std::make_unique<LinesConnection>(std::move(terminal), bus, wire, period);
}

}  // namespace standfast::rig
