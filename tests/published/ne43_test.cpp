// 4 to 20 mA by NAMUR NE 43 as public summaries give it: measurement from 3.8 to 20.5 mA, failure at or below 3.6 and at or
// above 21 mA. The summaries disagree about what lies between; there the value counts and is doubted: our choice.
#include <catch2/catch.hpp>
#include <optional>

#include "daemon/core/channel_value.hpp"

using namespace standfast;

namespace {

constexpr double bar = 1e5, psi = 6894.757293168361;  // 1 lbf / in2, exact to the last digit of binary64.

Channel loop(double span) {
  Channel channel;
  channel.dimension = {Base::pressure, Per::none};
  channel.scale = {.raw_low = 4e-3, .raw_high = 20e-3, .value_low = 0, .value_high = span, .loop = true, .counts_per_mA = 1000};
  channel.range_high = span;
  return channel;
}

struct Row {
  const char* id;
  double raw;  // uA.
  Cause cause;
  double of_700_bar, of_10_000_psi;  // bar, psi; meaningless where there is no number.
};

const Row table[] = {
    {"I-01", 0, Cause::loop_low, 0, 0},
    {"I-02", 3500, Cause::loop_low, 0, 0},
    {"I-03", 3600, Cause::loop_low, 0, 0},
    {"I-04", 3700, Cause::loop_under_range, -13.125, -187.5},
    {"I-05", 3800, Cause::none, -8.75, -125},
    {"I-06", 4000, Cause::none, 0, 0},
    {"I-07", 8000, Cause::none, 175, 2500},
    {"I-08", 12000, Cause::none, 350, 5000},
    {"I-09", 16000, Cause::none, 525, 7500},
    {"I-10", 20000, Cause::none, 700, 10000},
    {"I-11", 20500, Cause::none, 721.875, 10312.5},
    {"I-12", 20800, Cause::loop_over_range, 735, 10500},
    {"I-13", 21000, Cause::loop_high, 0, 0},
    {"I-14", 22000, Cause::loop_high, 0, 0},
};

bool equal(Amount a, Amount b) { return !exceeds(a, b) && !exceeds(b, a); }

Quality expected_quality(Cause cause) {
  if (cause == Cause::none) return Quality::good;
  return cause == Cause::loop_low || cause == Cause::loop_high ? Quality::bad : Quality::uncertain;
}

}  // namespace

TEST_CASE("every row of the table of currents has its value and its status") {
  for (const Row& row : table) {
    INFO(row.id);
    for (const bool metric : {true, false}) {
      const double unit = metric ? bar : psi, value = metric ? row.of_700_bar : row.of_10_000_psi;
      const Reading reading = scaled_reading(loop((metric ? 700 : 10000) * unit), row.raw, {});
      CHECK(reading.cause == row.cause);
      CHECK(reading.quality == expected_quality(row.cause));
      if (reading.quality != Quality::bad) CHECK(equal(reading.value, amount(Pressure::from_si(value * unit))));
    }
  }
}

TEST_CASE("the ends of the bands belong to the side that takes less for granted") {
  const Channel channel = loop(700 * bar);
  const auto cause = [&](double microampere) { return scaled_reading(channel, microampere, {}).cause; };
  CHECK(cause(3600.001) == Cause::loop_under_range);
  CHECK(cause(3799.999) == Cause::loop_under_range);
  CHECK(cause(3800) == Cause::none);
  CHECK(cause(20500) == Cause::none);
  CHECK(cause(20500.001) == Cause::loop_over_range);
  CHECK(cause(20999.999) == Cause::loop_over_range);
}

TEST_CASE("no current, however far out, becomes a number") {
  const Channel channel = loop(700 * bar);
  for (const double raw : {-1e308, -65535.0, -1.0, 65535.0, 1e308}) {
    const Reading reading = scaled_reading(channel, raw, {});
    CHECK(reading.quality == Quality::bad);
    CHECK(reading.cause == (raw < 0 ? Cause::loop_low : Cause::loop_high));
  }
}
