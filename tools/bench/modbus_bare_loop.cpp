#include "tools/bench/modbus_bare_loop.hpp"

#include <modbus/modbus.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <thread>

#include "tools/bench/figures.hpp"

namespace standfast::bench {

void run(const BareLoop& loop) {
  modbus_t* reads = modbus_new_tcp("127.0.0.1", loop.port);
  modbus_t* writes = modbus_new_tcp("127.0.0.1", loop.port);
  if (modbus_connect(reads) != 0 || modbus_connect(writes) != 0) give_up("libmodbus cannot connect");
  int readings_beyond = 0;
  bool on = false;
  for (auto due = std::chrono::steady_clock::now();; due += std::chrono::milliseconds(loop.poll_ms)) {
    std::this_thread::sleep_until(due);
    std::array<std::uint16_t, MODBUS_MAX_READ_REGISTERS> words;
    if (modbus_read_input_registers(reads, 0, loop.registers, words.data()) != loop.registers) give_up("libmodbus cannot read");
    const auto end = words.begin() + loop.registers;
    const bool beyond = std::any_of(words.begin(), end, [&](std::uint16_t word) { return word > loop.stop_above; });
    readings_beyond = beyond ? readings_beyond + 1 : 0;
    const bool wanted = readings_beyond < loop.readings_to_trip;
    if (wanted != on && modbus_write_bit(writes, 0, wanted) != 1) give_up("libmodbus cannot write");
    on = wanted;
  }
}

}  // namespace standfast::bench
