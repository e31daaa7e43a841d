// How much of what a serial line can carry our Modbus RTU driver reaches, against a unit that takes the line's time.
//
//   rtu_bench
//
// The limit is arithmetic: question, answer and a silence behind each (MODBUS over Serial Line V1.02, 2.5.1.1). The share is the
// limit's cycle by the median cycle measured.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include "config/line_time.hpp"
#include "drivers/boot_clock.hpp"
#include "drivers/modbus_bus.hpp"
#include "drivers/modbus_rtu.hpp"
#include "tools/bench/paced_line.hpp"

namespace {

using namespace standfast;

constexpr Duration round_time = seconds(4);
constexpr int fewest_cycles = 12;

double milliseconds_of(Duration duration) { return duration.seconds() * 1e3; }

void measure(int baud, int count) {
  const BootClock clock;
  ModbusRtu where;
  where.serial.baud = baud;
  where.slowest_answer = seconds(1);
  const PacedLine unit{where.serial};
  where.serial.device = unit.device();
  auto line = std::make_shared<ModbusRtuLine>(where, std::vector<UnitStatement>{}, clock);
  ModbusBus bus{std::make_unique<ModbusRtuConnection>(std::move(line), ModbusRtuLine::Rank::instruments), clock};
  Block block;
  block.table = Table::holding_register;
  block.count = count;
  std::vector<Duration> cycles;
  const Instant start = clock.now();
  Instant last{};
  while (clock.now() - start < round_time || static_cast<int>(cycles.size()) < fewest_cycles) {
    const Scan scan = bus.ask(BlockId{0}, block, clock.now() + seconds(2));
    if (scan.flaw != Flaw::none || std::get<Words>(scan.raw).back() != static_cast<std::uint16_t>((count - 1) * 257 + 3)) {
      std::fprintf(stderr, "rtu_bench: read wrongly\n");
      std::exit(1);
    }
    const Instant now = clock.now();
    if (last.ns > 0) cycles.push_back(now - last);
    last = now;
  }
  std::ranges::sort(cycles);
  const Duration limit = rtu_cycle(where.serial, rtu_read_characters(block.table, count)), median = cycles[cycles.size() / 2];
  const Duration slow = cycles[cycles.size() * 99 / 100];
  std::printf("%6d  %9d  %9.2f  %10.2f  %9.2f  %5.3f\n", baud, count, milliseconds_of(limit), milliseconds_of(median),
              milliseconds_of(slow), milliseconds_of(limit) / milliseconds_of(median));
}

}  // namespace

int main() {
  std::printf("cycles of one unit, in ms\n  baud  registers      limit      median        p99  share\n");
  for (const int baud : {9600, 19200, 115200})
    for (const int count : {2, 32, 125}) measure(baud, count);
}
