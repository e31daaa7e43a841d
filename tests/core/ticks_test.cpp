// Time alone, told or not told: ticks between the events of whole rehearsals change no decision and no decision's instant.
#include <catch2/catch.hpp>

#include <algorithm>

#include "daemon/core/engine.hpp"
#include "tests/support/effects_text.hpp"
#include "tests/support/rehearsed.hpp"
#include "tests/support/steady_random.hpp"

namespace standfast::test {
namespace {

struct Told {
  std::string rows, snapshots;
  std::size_t ticks{0};
};

// Up to `most` ticks before each event, anywhere between it and the one before, none of them where `most` is 0.
Told told(const std::vector<Event>& events, std::int64_t most, std::uint64_t seed) {
  Engine engine;
  SteadyRandom random{seed};
  Told result;
  Instant last = events.front().at;
  for (std::size_t i = 0; i < events.size(); ++i) {
    std::vector<std::int64_t> at;
    for (std::int64_t t = random.below(most + 1); t > 0; --t) at.push_back(last.ns + random.below((events[i].at - last).ns + 1));
    std::sort(at.begin(), at.end());
    for (const std::int64_t ns : at) {
      result.rows += rows_text(engine.apply({Instant{ns}, events[i].wall, Tick{}}));
      ++result.ticks;
    }
    last = events[i].at;
    const Effects effects = engine.apply(events[i]);
    result.rows += rows_text(effects);
    if (i % 50 == 0) result.rows += standing_text(effects);
    if (i % 500 == 0) result.snapshots += engine.snapshot();
  }
  return result;
}

// Where they part, for a reader; both whole would fill the screen.
std::string first_difference(const std::string& a, const std::string& b) {
  const auto [at, other] = std::mismatch(a.begin(), a.end(), b.begin(), b.end());
  if (at == a.end() && other == b.end()) return {};
  const auto from = static_cast<std::size_t>(at - a.begin());
  return "with: ..." + a.substr(from, 200) + "\nwithout: ..." + b.substr(from, 200);
}

}  // namespace

TEST_CASE("ticks anywhere in a rehearsal change no decision, no decision's instant and no snapshot") {
  for (const char* name : {"003-gauge-dies", "006-welded-contact"}) {
    INFO(name);
    const Rehearsed rehearsal = rehearsed(name);
    const Told without = told(rehearsal.events, 0, 1);
    const Told with = told(rehearsal.events, 3, 7);
    CHECK(with.ticks > rehearsal.events.size());
    CHECK(first_difference(with.rows, without.rows) == "");
    CHECK(first_difference(with.snapshots, without.snapshots) == "");
  }
}

TEST_CASE("the events of a rehearsal told again give the same rows to the bit") {
  const Rehearsed rehearsal = rehearsed("004-head-rises");
  CHECK(first_difference(told(rehearsal.events, 0, 1).rows, told(rehearsal.events, 0, 2).rows) == "");
}

}  // namespace standfast::test
