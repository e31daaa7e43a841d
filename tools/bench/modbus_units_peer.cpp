#include "tools/bench/modbus_units_peer.hpp"

#include <modbus/modbus.h>
#include <netinet/tcp.h>
#include <sys/epoll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <mutex>
#include <thread>
#include <utility>

#include "drivers/boot_clock.hpp"
#include "drivers/output_module.hpp"
#include "tools/bench/figures.hpp"
#include "tools/bench/loopback.hpp"

namespace standfast::bench {
namespace {

constexpr int registers = 4, relays = 8, first_contact = 16, watchdog_register = 40, watchdog_counts = 20, all_words = 65536;
constexpr int unit_at = 6, function_at = 7;  // In the header and behind it (MODBUS Messaging on TCP/IP V1.0b, 3.1.3).
constexpr int most_descriptors = 4096;
constexpr std::uint16_t middle = 8'000, flicker = 16;

Instant now() { return BootClock{}.now(); }

}  // namespace

struct UnitsPeer::Device {
  modbus_mapping_t* memory{modbus_mapping_new(relays, first_contact + relays, all_words, registers)};
  modbus_t* context{modbus_new_tcp("127.0.0.1", 0)};
  std::uint16_t turn{0};
  std::mutex mutex;
  bool notes{false};
  std::vector<Exchange> exchanges;

  bool answer(int connection);
};

UnitsPeer::UnitsPeer() : device_{std::make_unique<Device>()} {
  device_->memory->tab_registers[watchdog_register] = watchdog_counts;
  std::ranges::copy(simulation_mark, device_->memory->tab_registers + simulation_mark_register);
  const Listening listening = listen_on_loopback(128);
  port_ = listening.port;
  std::thread{[this, listener = listening.socket] { serve(listener); }}.detach();
}

UnitsPeer::~UnitsPeer() = default;

void UnitsPeer::serve(int listener) {
  const int waiting = epoll_create1(EPOLL_CLOEXEC), one = 1;
  const auto watch = [&](int descriptor) {
    epoll_event event{.events = EPOLLIN, .data = {.fd = descriptor}};
    epoll_ctl(waiting, EPOLL_CTL_ADD, descriptor, &event);
  };
  watch(listener);
  std::array<epoll_event, 64> events;
  for (;;) {
    const int ready = epoll_wait(waiting, events.data(), static_cast<int>(events.size()), -1);
    for (int i = 0; i < ready; ++i) {
      const int descriptor = events[static_cast<std::size_t>(i)].data.fd;
      if (descriptor == listener) {
        const int connection = accept4(listener, nullptr, nullptr, SOCK_CLOEXEC);
        setsockopt(connection, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
        if (connection < 0 || connection >= most_descriptors) give_up("cannot accept");
        watch(connection);
      } else if (!device_->answer(descriptor)) {
        close(descriptor);
      }
    }
  }
}

// False: the other side has gone.
bool UnitsPeer::Device::answer(int connection) {
  std::array<std::uint8_t, MODBUS_TCP_MAX_ADU_LENGTH> request;
  modbus_set_socket(context, connection);
  const int size = modbus_receive(context, request.data());
  if (size <= 0) return size == 0;
  const Instant asked = now();
  ++turn;
  for (std::uint16_t i = 0; i < registers; ++i)
    memory->tab_input_registers[i] = static_cast<std::uint16_t>(middle + (turn * 7 + i) % flicker);
  modbus_reply(context, request.data(), size, memory);
  std::copy_n(memory->tab_bits, relays, memory->tab_input_bits + first_contact);
  if (request[function_at] != MODBUS_FC_READ_INPUT_REGISTERS) return true;
  const std::lock_guard lock{mutex};
  if (notes) exchanges.push_back({connection, request[unit_at], asked, now()});
  return true;
}

void UnitsPeer::begin() {
  const std::lock_guard lock{device_->mutex};
  device_->exchanges.clear();
  device_->notes = true;
}

std::vector<Exchange> UnitsPeer::end() {
  const std::lock_guard lock{device_->mutex};
  device_->notes = false;
  return std::move(device_->exchanges);
}

}  // namespace standfast::bench
