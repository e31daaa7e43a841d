// An output module of three coils and a heartbeat, played by the scripted peer, and the driver that talks to it.
#pragma once

#include <cstdint>
#include <functional>
#include <initializer_list>
#include <optional>
#include <vector>

#include "drivers/modbus_outputs.hpp"
#include "drivers/modbus_tcp.hpp"
#include "tests/support/hand_clock.hpp"
#include "tests/support/scripted_peer.hpp"

namespace standfast::module_bench {

inline constexpr int unit = 9, watchdog_register = 40, safe_register = 50, power_on_register = 60;
inline constexpr OutputKind raise = OutputKind::raise_permit, stop = OutputKind::stop_relay, sounder = OutputKind::sounder;

// Coils 0, 1 and 2 together and the heartbeat apart on 7; contacts of the permit and the stop relay on 16 and 17.
inline OutputModuleStatement module_statement() {
  OutputModuleStatement statement;
  statement.unit_id = unit;
  const auto add = [&](OutputKind kind, int coil, std::optional<int> readback) {
    Output output;
    output.kind = kind;
    output.coil = coil;
    output.readback = readback;
    statement.outputs.push_back(output);
  };
  add(OutputKind::heartbeat, 7, std::nullopt);
  add(sounder, 2, std::nullopt);
  add(stop, 1, 17);
  add(raise, 0, 16);
  statement.watchdog_register = watchdog_register;
  statement.watchdog_unit = milliseconds(100);
  statement.watchdog_at_most = seconds(2);
  const auto register_stated = [](int address, int wanted) {
    ModuleRegister one;
    one.address = address;
    one.wanted = wanted;
    return one;
  };
  statement.safe_values = {register_stated(safe_register, 0), register_stated(safe_register + 1, 0)};
  statement.power_on_values = {register_stated(power_on_register, 0)};
  return statement;
}

inline void as_stated(PeerMemory& memory) {
  memory.coils.clear();
  for (const int coil : {0, 1, 2, 7}) memory.coils[coil] = false;
  memory.discrete.clear();
  memory.contact_of_coil = {{16, 0}, {17, 1}};
  memory.holding.clear();
  memory.holding = {{watchdog_register, 20}, {safe_register, 0}, {safe_register + 1, 0}, {power_on_register, 0}};
}

inline OutputImage image(std::initializer_list<OutputKind> on) {
  OutputImage wanted;
  for (const OutputKind kind : on) wanted[kind] = true;
  return wanted;
}

struct Bench {
  HandClock clock;
  ScriptedPeer peer;
  ModbusOutputs outputs;

  explicit Bench(const OutputModuleStatement& statement = module_statement())
      : outputs{std::make_unique<ModbusTcpConnection>(peer.address(), clock), statement, clock} {
    peer.change(as_stated);
  }
  OutputReport exchange(const OutputImage& wanted) { return outputs.exchange(wanted, clock.now() + milliseconds(200)); }
  OutputReport exchange(std::initializer_list<OutputKind> on) { return exchange(image(on)); }
  bool coil(int number) { return peer.memory().coils.at(number); }
  void change(const std::function<void(PeerMemory&)>& how) { peer.change(how); }
  std::vector<int> functions_since(std::size_t first) const {
    std::vector<int> functions;
    const auto requests = peer.requests();
    for (std::size_t i = first; i < requests.size(); ++i) functions.push_back(requests[i][7]);
    return functions;
  }
  std::size_t asked() const { return peer.requests().size(); }
};

inline std::optional<bool> read_back(const OutputReport& report, OutputKind kind) {
  return report.readback[static_cast<std::size_t>(kind)];
}

inline ScriptedPeer::Behaviour refuse(int code) {
  return [code](PeerTurn& turn) {
    turn.send({turn.request[0], turn.request[1], 0, 0, 0, 3, turn.request[6], static_cast<std::uint8_t>(turn.request[7] | 0x80),
               static_cast<std::uint8_t>(code)});
  };
}

}  // namespace standfast::module_bench
