// Requests per second of our Modbus TCP driver, against a bare libmodbus loop in the same run.
//
//   modbus_bench [one-core]
//
// Both ask a libmodbus server in this process over loopback, one request outstanding, turn by turn; the figures are medians
// of the rounds, and the ratio is what counts. `one-core` keeps everything on one core, where a round trip does not wait for
// a sleeping core to wake: far steadier.
#include <modbus/modbus.h>
#include <netinet/tcp.h>
#include <sched.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <string_view>
#include <thread>
#include <vector>

#include "drivers/boot_clock.hpp"
#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_tcp.hpp"
#include "tools/bench/loopback.hpp"

namespace {

using namespace standfast;

constexpr int rounds = 7;
constexpr Duration round_time = milliseconds(300);

using bench::give_up;

std::uint16_t register_value(int address) { return static_cast<std::uint16_t>(address * 257 + 3); }

// Answers one connection until it ends. Both loops talk to this same code.
void serve(int socket, modbus_mapping_t* registers) {
  modbus_t* context = modbus_new_tcp("127.0.0.1", 0);
  modbus_set_socket(context, socket);
  std::uint8_t request[MODBUS_TCP_MAX_ADU_LENGTH];
  for (int size; (size = modbus_receive(context, request)) >= 0;)
    if (size > 0) modbus_reply(context, request, size, registers);
  close(socket);
  modbus_free(context);
}

std::uint16_t start_server() {
  const bench::Listening listening = bench::listen_on_loopback(8);
  modbus_mapping_t* registers = modbus_mapping_new(0, 0, 256, 0);
  for (int i = 0; i < 256; ++i) registers->tab_registers[i] = register_value(i);
  std::thread{[=] {
    while (true) {
      const int connection = accept(listening.socket, nullptr, nullptr), one = 1;
      setsockopt(connection, IPPROTO_TCP, TCP_NODELAY, &one, sizeof one);
      std::thread{serve, connection, registers}.detach();
    }
  }}.detach();
  return listening.port;
}

template <class Ask>
double requests_per_second(const Clock& clock, Ask ask) {
  for (int i = 0; i < 50; ++i) ask();
  const Instant start = clock.now();
  std::int64_t asked = 0;
  while (clock.now() - start < round_time) {
    ask();
    ++asked;
  }
  return static_cast<double>(asked) / (clock.now() - start).seconds();
}

double median(std::vector<double> values) {
  std::ranges::nth_element(values, values.begin() + rounds / 2);
  return values[rounds / 2];
}

void compare(const Clock& clock, std::uint16_t port, int count) {
  modbus_t* bare = modbus_new_tcp("127.0.0.1", port);
  if (modbus_connect(bare) != 0) give_up("libmodbus cannot connect");
  modbus_set_slave(bare, 1);
  ModbusBus bus{std::make_unique<ModbusTcpConnection>(ModbusTcp{"127.0.0.1", port}, clock), clock};
  Block block;
  block.count = count;
  const auto ask_bare = [&] {
    std::uint16_t words[125];
    if (modbus_read_registers(bare, 0, count, words) != count || words[count - 1] != register_value(count - 1))
      give_up("libmodbus read wrongly");
  };
  const auto ask_ours = [&] {
    const Scan scan = bus.ask(BlockId{0}, block, clock.now() + seconds(2));
    if (scan.flaw != Flaw::none || std::get<Words>(scan.raw).back() != register_value(count - 1))
      give_up("our driver read wrongly");
  };
  std::vector<double> bare_rates, our_rates, ratios;
  for (int round = 0; round < rounds; ++round) {
    bare_rates.push_back(requests_per_second(clock, ask_bare));
    our_rates.push_back(requests_per_second(clock, ask_ours));
    ratios.push_back(our_rates.back() / bare_rates.back());
  }
  const auto [low, high] = std::ranges::minmax(ratios);
  std::printf("%9d  %10.0f  %10.0f  %5.2f (%.2f to %.2f)\n", count, median(our_rates), median(bare_rates), median(ratios), low, high);
  modbus_close(bare);
  modbus_free(bare);
}

}  // namespace

int main(int argc, char** argv) {
  const bool one_core = argc == 2 && std::string_view{argv[1]} == "one-core";
  if (argc > 1 && !one_core) give_up("the only argument is one-core");
  if (one_core) {
    cpu_set_t cores;
    CPU_ZERO(&cores);
    CPU_SET(0, &cores);
    if (sched_setaffinity(0, sizeof cores, &cores) != 0) give_up("cannot stay on one core");
  }
  const BootClock clock;
  const std::uint16_t port = start_server();
  std::printf("requests per second over loopback, %s\n", one_core ? "one core" : "free placement");
  std::printf("registers  our driver   libmodbus  ratio (rounds)\n");
  for (const int count : {2, 32, 125}) compare(clock, port, count);
  std::fflush(stdout);
  _exit(0);  // The server's threads wait for ever.
}
