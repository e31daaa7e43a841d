// The whole job, simulated from a seed: what may go wrong goes wrong, in clusters, and the invariants hold after every event.
//
//   test_simulation                               a few lives
//   SIMULATION_SEED=17 test_simulation            one life, as a failing run names it
//   SIMULATION_HOURS=10000 test_simulation        lives from seed 1 (or from SIMULATION_FROM) until so many hours are lived
//   SIMULATION_MINUTES=3 test_simulation          the same until so many minutes are over
//
// From nine hours on it is judged, too, whether the lives have been where it matters.
#include <catch2/catch.hpp>

#include <chrono>
#include <cstdio>
#include <cstdlib>

#include "tests/simulation/world.hpp"

namespace standfast::test {
namespace {

constexpr Duration a_life = hours(4);

std::optional<double> asked_for(const char* name) {
  const char* text = std::getenv(name);
  return text ? std::optional(std::strtod(text, nullptr)) : std::nullopt;
}

Lived life(std::uint64_t seed, Duration time) {
  World world{seed};
  world.live(time);
  const Lived lived = world.lived();
  INFO("SIMULATION_SEED=" << seed << " build/release/tests/test_simulation");
  CHECK(lived.broken == "");
  return lived;
}

void tell(const Lived& all) {
  std::printf("%.1f h, %lld events, %lld permits, %lld recovers, %lld HOLDs, %lld STOPs, %lld starts, %lld troubles, %lld replays, "
              "%lld deaths compared, %lld of %lld exchanges spoilt; %d stages closed at most, %lld of %lld lives to the end of the plan\n",
              all.hours, static_cast<long long>(all.events), static_cast<long long>(all.permits), static_cast<long long>(all.recovers),
              static_cast<long long>(all.holds), static_cast<long long>(all.stops), static_cast<long long>(all.starts),
              static_cast<long long>(all.troubles), static_cast<long long>(all.replays), static_cast<long long>(all.compared),
              static_cast<long long>(all.spoilt), static_cast<long long>(all.asked), all.stages, static_cast<long long>(all.ended),
              static_cast<long long>(all.lives));
  std::fflush(stdout);
}

// The lives have been where it matters, and what is looked at only now and then was looked at. That is so of many lives, and
// need not be of a few.
constexpr double floors_from_hours = 9;

void check_floors(const Lived& all) {
  if (all.hours < floors_from_hours) {
    std::printf("fewer than %.0f h: where the lives have been is not judged\n", floors_from_hours);
    return;
  }
  CHECK(all.permits > 20);
  CHECK(all.holds > 25);
  CHECK(all.stops > 3);
  CHECK(all.starts > 15);
  CHECK(all.spoilt > 100);
  CHECK(all.replays > 20);
  CHECK(all.compared > 1);
  CHECK(all.stages == 4);
  CHECK(all.ended * 10 > all.lives);
}

// Goes on past a life that failed: one run names every seed that fails.
void many_lives(double hours_wanted, double minutes_wanted) {
  const auto begun = std::chrono::steady_clock::now();
  const auto minutes_over = [&] { return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count() / 60; };
  Lived all;
  for (auto seed = static_cast<std::uint64_t>(asked_for("SIMULATION_FROM").value_or(1));
       all.hours < hours_wanted && minutes_over() < minutes_wanted; ++seed) {
    all.add(life(seed, a_life));
    if (seed % 25 == 0) tell(all);
  }
  tell(all);
  check_floors(all);
}

}  // namespace

TEST_CASE("whatever the wires, the site, the disk and the people do to the whole job, the invariants hold after every event",
          "[simulation]") {
  if (const auto seed = asked_for("SIMULATION_SEED")) return tell(life(static_cast<std::uint64_t>(*seed), a_life));
  const auto hours_wanted = asked_for("SIMULATION_HOURS"), minutes_wanted = asked_for("SIMULATION_MINUTES");
  if (hours_wanted || minutes_wanted) return many_lives(hours_wanted.value_or(1e9), minutes_wanted.value_or(1e9));
  Lived all;
  for (std::uint64_t seed = 1; seed <= 16; ++seed) all.add(life(seed, minutes(40)));
  tell(all);
  check_floors(all);
}

}  // namespace standfast::test
