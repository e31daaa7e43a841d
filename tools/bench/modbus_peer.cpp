#include "tools/bench/modbus_peer.hpp"

#include <modbus/modbus.h>
#include <netinet/tcp.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>

#include "drivers/boot_clock.hpp"
#include "drivers/output_module.hpp"
#include "tools/bench/figures.hpp"
#include "tools/bench/loopback.hpp"

namespace standfast::bench {
namespace {

constexpr int registers = 65, relays = 8, first_contact = 16, watchdog_register = 40, watchdog_counts = 20, all_words = 65536;
constexpr std::size_t most_carried = 8;
constexpr int function_at = 7;  // Behind the seven bytes of the header (MODBUS Messaging on TCP/IP V1.0b, 3.1.3).

Instant now() { return BootClock{}.now(); }

}  // namespace

struct Peer::Device {
  mutable std::mutex mutex;
  std::condition_variable written;
  modbus_mapping_t* memory{modbus_mapping_new(relays, first_contact + relays, all_words, registers)};
  std::vector<Instant> carried;
  Instant permit_since{};

  bool permit() const { return memory->tab_bits[0] != 0; }
  void answer(modbus_t* context, const std::uint8_t* request, int size);
};

Peer::Peer() : device_{std::make_unique<Device>()} {
  device_->memory->tab_registers[watchdog_register] = watchdog_counts;
  std::ranges::copy(simulation_mark, device_->memory->tab_registers + simulation_mark_register);
  const Listening listening = listen_on_loopback(8);
  port_ = listening.port;
  std::thread{[this, listener = listening.socket] { accept_all(listener); }}.detach();
}

Peer::~Peer() = default;

void Peer::accept_all(int listener) {
  for (;;) {
    const int connection = accept(listener, nullptr, nullptr), one = 1;
    setsockopt(connection, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
    std::thread{[this, connection] { serve(connection); }}.detach();
  }
}

void Peer::serve(int socket) {
  modbus_t* context = modbus_new_tcp("127.0.0.1", 0);
  modbus_set_socket(context, socket);
  std::uint8_t request[MODBUS_TCP_MAX_ADU_LENGTH];
  for (int size; (size = modbus_receive(context, request)) >= 0;)
    if (size > 0) device_->answer(context, request, size);
  close(socket);
  modbus_free(context);
}

void Peer::Device::answer(modbus_t* context, const std::uint8_t* request, int size) {
  const Instant received = now();
  const std::lock_guard lock{mutex};
  const bool permit_before = permit();
  modbus_reply(context, request, size, memory);
  if (request[function_at] == MODBUS_FC_READ_INPUT_REGISTERS && carried.size() < most_carried) carried.push_back(now());
  std::copy_n(memory->tab_bits, relays, memory->tab_input_bits + first_contact);
  if (permit() == permit_before) return;
  permit_since = received;
  written.notify_all();
}

Instant Peer::change(std::uint16_t value, Which which) {
  const std::lock_guard lock{device_->mutex};
  std::fill_n(device_->memory->tab_input_registers + which.first, which.count, value);
  device_->carried.clear();
  return now();
}

std::optional<Instant> Peer::permit_stands(bool on, Duration patience) {
  std::unique_lock lock{device_->mutex};
  const auto so = [&] { return device_->permit() == on; };
  if (!device_->written.wait_for(lock, std::chrono::nanoseconds{patience.ns}, so)) return std::nullopt;
  return device_->permit_since;
}

std::vector<Instant> Peer::carried() const {
  const std::lock_guard lock{device_->mutex};
  return device_->carried;
}

}  // namespace standfast::bench
