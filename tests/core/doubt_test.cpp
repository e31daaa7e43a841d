#include "daemon/core/doubt.hpp"

#include <catch2/catch.hpp>
#include <set>
#include <string>

#include "daemon/core/limit.hpp"
#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

const Cause first_uncertain = Cause::loop_over_range;

// A value far beyond a STOP at 1 mm, with this cause.
Judged beyond_with(Cause cause) {
  Reading reading = good(10 * mm, metres);
  if (cause != Cause::none) add_doubt(reading, cause);
  if (cause == Cause::saturated_high) reading.saturated = Saturation::high;
  if (cause == Cause::saturated_low) reading.saturated = Saturation::low;
  return judged(reading);
}

}  // namespace

TEST_CASE("for each cause a value beyond STOP trips, or the table says why not") {
  LevelInForce either_side;
  either_side.above = Amount{metres, 1 * mm};
  either_side.below = Amount{metres, -1 * mm};
  for (int c = 0; c < doubt_count; ++c) {
    const Doubt& doubt = doubt_of(static_cast<Cause>(c));
    INFO(entry_of(doubt.cause).code);
    CHECK(is_beyond(either_side, beyond_with(doubt.cause), 0) == doubt.trips);
    if (!doubt.trips) CHECK_FALSE(doubt.why.empty());
  }
}

TEST_CASE("what is doubted never clears, and what is bad never trips") {
  for (int c = 0; c < doubt_count; ++c) {
    const Doubt& doubt = doubt_of(static_cast<Cause>(c));
    CHECK(doubt.clears == (doubt.quality == Quality::good));
    CHECK(doubt.trips == (doubt.quality != Quality::bad));
  }
}

TEST_CASE("each cause has a code of its own and a text") {
  std::set<std::string_view> codes;
  for (int c = 0; c < cause_count; ++c) {
    const CauseEntry& entry = entry_of(static_cast<Cause>(c));
    CHECK(codes.insert(entry.code).second);
    CHECK((c == 0 || !entry.text.empty()));
  }
}

TEST_CASE("the worst doubt stays, in whatever order the doubts come") {
  for (int a = 0; a < doubt_count; ++a)
    for (int b = 0; b < doubt_count; ++b) {
      Reading one = good(0, metres), other = one;
      add_doubt(one, static_cast<Cause>(a));
      add_doubt(one, static_cast<Cause>(b));
      add_doubt(other, static_cast<Cause>(b));
      add_doubt(other, static_cast<Cause>(a));
      CHECK(one.cause == other.cause);
      CHECK(one.quality == std::max(doubt_of(static_cast<Cause>(a)).quality, doubt_of(static_cast<Cause>(b)).quality));
    }
}

TEST_CASE("causes of bad values stand before those of uncertain ones") {
  for (int c = 1; c < doubt_count; ++c) {
    const Cause cause = static_cast<Cause>(c);
    CHECK((doubt_of(cause).quality == Quality::bad) == (cause < first_uncertain));
  }
}
