#include <catch2/catch.hpp>

#include "daemon/service/giving.hpp"

using namespace standfast;

namespace {

OutputImage with(OutputKind kind) {
  OutputImage image;
  image[kind] = true;
  return image;
}
constexpr Instant start{1'000'000'000};
Giving::Ledger ledger(std::int64_t last, std::int64_t durable, Duration passed = {}) { return {last, durable, start + passed}; }

}  // namespace

TEST_CASE("a permit is written only when the row of its cause is on the disk") {
  Giving giving;
  const OutputImage wanted = with(OutputKind::raise_permit);
  CHECK_FALSE(giving.take(wanted)[OutputKind::raise_permit]);
  CHECK_FALSE(giving.give(wanted, ledger(7, 6)).write[OutputKind::raise_permit]);
  CHECK(giving.waiting());
  CHECK_FALSE(giving.give(wanted, ledger(9, 6, milliseconds(400))).write[OutputKind::raise_permit]);
  CHECK(giving.give(wanted, ledger(9, 7, milliseconds(500))).write[OutputKind::raise_permit]);
  CHECK_FALSE(giving.waiting());
}

TEST_CASE("taking a permit waits for nothing") {
  Giving giving;
  const OutputImage wanted = with(OutputKind::raise_permit);
  giving.take(wanted);
  REQUIRE(giving.give(wanted, ledger(7, 7)).write[OutputKind::raise_permit]);
  CHECK_FALSE(giving.take(OutputImage{})[OutputKind::raise_permit]);
}

TEST_CASE("a permit that is not durable within one second is said to be late, once") {
  Giving giving;
  const OutputImage wanted = with(OutputKind::raise_permit);
  giving.give(wanted, ledger(7, 6));
  CHECK_FALSE(giving.give(wanted, ledger(7, 6, milliseconds(999))).not_durable);
  const auto late = giving.give(wanted, ledger(7, 6, seconds(1)));
  CHECK(late.not_durable == 7);
  CHECK_FALSE(late.write[OutputKind::raise_permit]);
  CHECK_FALSE(giving.give(wanted, ledger(9, 6, seconds(2))).not_durable);
  CHECK_FALSE(giving.give(wanted, ledger(9, 6, seconds(9))).not_durable);
}

TEST_CASE("a late permit never comes on by the row that was late, only by a newer one") {
  Giving giving;
  const OutputImage wanted = with(OutputKind::stop_relay);
  giving.give(wanted, ledger(7, 6));
  REQUIRE(giving.give(wanted, ledger(7, 6, seconds(1))).not_durable == 7);
  CHECK_FALSE(giving.give(wanted, ledger(7, 7, seconds(1))).write[OutputKind::stop_relay]);
  CHECK_FALSE(giving.give(wanted, ledger(8, 7, seconds(1))).write[OutputKind::stop_relay]);
  CHECK(giving.give(wanted, ledger(8, 8, seconds(2))).write[OutputKind::stop_relay]);
}

TEST_CASE("a permit whose row was lost for want of room never comes on by it") {
  Giving giving;
  const OutputImage wanted = with(OutputKind::raise_permit);
  giving.give(wanted, ledger(lost_row, 6));
  CHECK(giving.give(wanted, ledger(6, 6, seconds(1))).not_durable.has_value());
  CHECK_FALSE(giving.give(wanted, ledger(6, 6, seconds(1))).write[OutputKind::raise_permit]);
  CHECK_FALSE(giving.give(wanted, ledger(7, 6, seconds(2))).write[OutputKind::raise_permit]);
  CHECK(giving.give(wanted, ledger(7, 7, seconds(3))).write[OutputKind::raise_permit]);
}

TEST_CASE("a permit withdrawn while it waited for the disk is forgotten") {
  Giving giving;
  const OutputImage wanted = with(OutputKind::raise_permit);
  giving.give(wanted, ledger(7, 6));
  giving.take(OutputImage{});
  CHECK_FALSE(giving.waiting());
  CHECK_FALSE(giving.give(OutputImage{}, ledger(8, 8)).write[OutputKind::raise_permit]);
  CHECK_FALSE(giving.give(wanted, ledger(9, 8)).write[OutputKind::raise_permit]);
}

TEST_CASE("sounder and beacon warn at once, whatever the disk does") {
  Giving giving;
  OutputImage wanted = with(OutputKind::sounder);
  wanted[OutputKind::beacon] = true;
  CHECK(giving.take(wanted)[OutputKind::sounder]);
  CHECK(giving.take(wanted)[OutputKind::beacon]);
  CHECK_FALSE(giving.waiting());
}
