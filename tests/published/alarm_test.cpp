// Alarm rows from outside the project: OPC UA Part 9 (IEC 62541-9) and the wording of public instrument manuals. Where ours
// differs at equality, the equality table of DEVELOPERS.md says so.
#include <catch2/catch.hpp>

#include <algorithm>

#include "config/load_stages.hpp"
#include "daemon/core/alarm_table.hpp"
#include "daemon/core/limit.hpp"
#include "daemon/core/quantity/rate.hpp"
#include "tests/config/loader_files.hpp"

using namespace standfast;

namespace {

constexpr Dimension length{Base::length, Per::none};

Reading metres(double si, Instant at = {}) {
  return {.quality = Quality::good, .cause = Cause::none, .value = {length, si}, .oldest = at, .newest = at};
}
Judged both(const Reading& r) { return {r, r}; }

LevelInForce above(double si, Duration persist) { return {.above = Amount{length, si}, .persist = persist}; }

// A level fed by hand: time runs only where the test says so.
struct Fed {
  LevelInForce level;
  Watch watch{};
  Instant now{};

  void read(const Reading& r) { watch = observed(level, passed(level, watch, now), both(r), now, {Evidence::fresh, now}); }
  void wait(Duration d) { now = now + d; }
};

// Whether a plan is refused for its order whose limit on the head has these levels.
bool out_of_order(const std::string& levels) {
  const Rig rig = test::rig_from(test::good + "two-jacks.rig.yaml");
  std::string text = test::bytes_of(test::good + "two-jacks.stages.yaml");
  const std::string guard = "{of: movement HEAD, since: baseline, ";
  const std::size_t begin = text.find(guard) + guard.size();
  text.replace(begin, text.find('\n', begin) - begin, levels + "}");
  const Findings found = load_stages(text, "stages.yaml", rig).findings;
  return std::any_of(found.begin(), found.end(), [](const Finding& f) { return f.code == "E-limit-order"; });
}

}  // namespace

// deviation alarm. OPC UA Part 9 (IEC 62541-9) 5.8.22.1: setpoint 10, +2 / -1: above 12 and below 9; setpoint
// 11: above 13 and below 10. That exactly 9 and 12 are within is our reading of the words, see the equality table.
TEST_CASE("published: a deviation alarm trips above and below its setpoint by its own limits", "[A-01][A-02]") {
  for (const double setpoint : {10.0, 11.0}) {
    const LevelInForce level{.above = Amount{length, setpoint + 2}, .below = Amount{length, setpoint - 1}};
    CHECK_FALSE(is_beyond(level, both(metres(setpoint + 2)), 0));
    CHECK(is_beyond(level, both(metres(setpoint + 2.001)), 0));
    CHECK_FALSE(is_beyond(level, both(metres(setpoint - 1)), 0));
    CHECK(is_beyond(level, both(metres(setpoint - 1.001)), 0));
  }
}

// order. The same section: the low-low limit is more negative than the low one, high-high above high; a low-low of -1
// with a low of -2 is refused. Ours: a stop at least as far out as the hold; equal is allowed, both levels then trip together.
TEST_CASE("published: a graver level that lies inside the milder one is refused", "[A-03]") {
  CHECK(out_of_order("hold: {below: -2 mm}, stop: {below: -1 mm}"));
  CHECK(out_of_order("hold: {above: 2 mm}, stop: {above: 1 mm}"));
  CHECK_FALSE(out_of_order("hold: {above: 2 mm, below: -1 mm}, stop: {above: 3 mm, below: -2 mm}"));
}

// alarm at 20, hysteresis 2: "clears only below 18" (a public instrument manual's wording). Ours clears at 18: equality
// while clearing follows the same function as everywhere; the difference stands in the equality table.
TEST_CASE("published: hysteresis keeps an alarm until the value is back by its width", "[A-04]") {
  LevelInForce level = above(20, {});
  level.deadband = 2;
  Fed fed{level};
  fed.read(metres(21));
  fed.read(metres(21));
  REQUIRE(fed.watch.active);
  fed.read(metres(18.001));
  CHECK(fed.watch.active);
  fed.read(metres(18));
  CHECK_FALSE(fed.watch.active);
}

// on-delay. IEC 62541-9 Annex B.1.5: a spike shorter than the delay gives no alarm.
TEST_CASE("published: a spike shorter than the on-delay gives no alarm", "[A-05]") {
  Fed fed{above(1, seconds(2))};
  fed.read(metres(2));
  fed.wait(milliseconds(900));
  fed.read(metres(2));
  fed.wait(milliseconds(900));
  fed.read(metres(0));
  fed.wait(hours(1));
  fed.read(metres(0));
  CHECK_FALSE(fed.watch.active);
}

// A-05, off-delay: IEC 62541-9 Annex B.1.5: an off-delay keeps a short dip in alarm; the delay begins anew with each dip.
TEST_CASE("published: an off-delay keeps a short dip in alarm", "[A-05]") {
  LevelInForce level = above(1, {});
  level.clear_after = seconds(5);
  Fed fed{level};
  fed.read(metres(2));
  fed.read(metres(2));
  REQUIRE(fed.watch.active);
  for (int dip = 0; dip < 3; ++dip) {
    fed.wait(seconds(1));
    fed.read(metres(0));
    fed.wait(seconds(5) - nanoseconds(1));
    fed.read(metres(0));
    CHECK(fed.watch.active);
    fed.read(metres(2));
    CHECK(fed.watch.active);
  }
  fed.wait(seconds(1));
  fed.read(metres(0));
  fed.wait(seconds(5));
  fed.read(metres(0));
  CHECK_FALSE(fed.watch.active);
}

// A-05, re-alarm: IEC 62541-9 Annex B.1.5: after the re-alarm time an alarm returns to unacknowledged.
TEST_CASE("published: an unresolved alarm that repeats is unacknowledged again", "[A-05]") {
  CHECK(after(AlarmState::acknowledged, AlarmHappening::repeated) == AlarmState::unacknowledged);
}

// rate alarm of level 10 over an interval of 5 s: "trips when the value rises by 10 within 5 s" (a public instrument
// manual's wording). Ours compares the fitted slope over the window, so a rise of exactly 10 is within and more trips.
TEST_CASE("published: a rate alarm trips when the value rises by more than its level within its interval", "[A-06]") {
  constexpr Dimension per_second{Base::length, Per::second};
  const LevelInForce level{.above = Amount{per_second, 10.0 / 5.0}};
  for (const auto& [rise, trips] : {std::pair{9.99, false}, {10.0, false}, {10.01, true}}) {
    SlopeWindow window{seconds(5), {}};
    for (int i = 0; i <= 10; ++i) window.add(metres(rise * i / 10, Instant{} + milliseconds(500) * i));
    CHECK(is_beyond(level, window.slope(per_second, Instant{} + seconds(5)), 0) == trips);
  }
}
