// The state as text and back: an engine that goes on from its own snapshot decides like one that never stopped.
#include <catch2/catch.hpp>

#include "daemon/core/engine.hpp"
#include "daemon/core/state.hpp"
#include "tests/support/effects_text.hpp"
#include "tests/support/rehearsed.hpp"
#include "tests/support/steady_random.hpp"

namespace standfast::test {
namespace {

// The job in force when the text was written.
std::shared_ptr<const Job> job_of(const Engine& engine) { return engine.state().job; }

Engine again(const Engine& engine) {
  auto copy = Engine::from_snapshot(engine.snapshot(), job_of(engine));
  if (!copy) FAIL(copy.error());
  return std::move(*copy);
}

// An engine in the middle of its work.
Engine half_way(const Rehearsed& rehearsal) {
  Engine engine;
  for (std::size_t i = 0; i < rehearsal.events.size() / 2; ++i) engine.apply(rehearsal.events[i]);
  return engine;
}

}  // namespace

TEST_CASE("an engine begun anew from its snapshot again and again decides the same, and writes the same snapshots") {
  for (const char* name : {"004-head-rises", "006-welded-contact"}) {
    INFO(name);
    const Rehearsed rehearsal = rehearsed(name);
    Engine whole, parted;
    for (std::size_t i = 0; i < rehearsal.events.size(); ++i) {
      const Effects a = whole.apply(rehearsal.events[i]), b = parted.apply(rehearsal.events[i]);
      if (rows_text(a) != rows_text(b) || standing_text(a) != standing_text(b)) FAIL("they part at event " << i);
      if (i % 97 != 0) continue;
      parted = again(parted);
      REQUIRE(parted.snapshot() == whole.snapshot());
    }
  }
}

TEST_CASE("a snapshot with one byte changed, left out or put in is refused") {
  const Rehearsed rehearsal = rehearsed("004-head-rises");
  const Engine engine = half_way(rehearsal);
  const std::string text = engine.snapshot();
  SteadyRandom random{11};
  for (int n = 0; n < 200; ++n) {
    std::string damaged = text;
    const auto at = static_cast<std::size_t>(random.below(static_cast<std::int64_t>(text.size())));
    const char byte = static_cast<char>(damaged[at] ^ static_cast<char>(1 + random.below(255)));
    if (n % 3 == 0) damaged[at] = byte;
    if (n % 3 == 1) damaged.erase(at, 1);
    if (n % 3 == 2) damaged.insert(at, 1, byte);
    if (damaged != text) CHECK_FALSE(Engine::from_snapshot(damaged, rehearsal.job));
  }
  CHECK(Engine::from_snapshot(text, rehearsal.job));
  CHECK_FALSE(Engine::from_snapshot(text + "x", rehearsal.job));
  CHECK_FALSE(Engine::from_snapshot(text.substr(0, text.size() / 2), rehearsal.job));
  CHECK_FALSE(Engine::from_snapshot("", rehearsal.job));
}

TEST_CASE("a snapshot goes with its own job and no other") {
  const Rehearsed rehearsal = rehearsed("004-head-rises");
  const Engine engine = half_way(rehearsal);
  auto other = std::make_shared<Job>(*rehearsal.job);
  other->plan_sha256 = std::string(64, '0');
  CHECK_FALSE(Engine::from_snapshot(engine.snapshot(), other));
  CHECK_FALSE(Engine::from_snapshot(engine.snapshot(), nullptr));
  CHECK_FALSE(Engine::from_snapshot(Engine{}.snapshot(), rehearsal.job));
  CHECK(Engine::from_snapshot(Engine{}.snapshot(), nullptr));
}

TEST_CASE("what has been typed comes back from a snapshot as it was, quotes and line ends included") {
  const Rehearsed rehearsal = rehearsed("004-head-rises");
  Engine engine = half_way(rehearsal);
  const Event& last = rehearsal.events[rehearsal.events.size() / 2];
  engine.apply({last.at, last.wall, Action{.what = Act::stop, .reason = "\"creak\" \\ line\nend\t\x01\xff"}});
  const Engine copy = again(engine);
  CHECK(copy.snapshot() == engine.snapshot());
  CHECK(copy.state().alarms.open.back().subject == engine.state().alarms.open.back().subject);
}

}  // namespace standfast::test
