#include <catch2/catch.hpp>

#include "tests/support/full_walk.hpp"
#include "tests/support/site.hpp"

namespace standfast::test {

// As if a fault had lost it: nothing that is told to an engine makes it forget.
TEST_CASE("what the engine no longer looks at is found again with the next summary, a second later at most") {
  Site site("002-to-full-step");
  site.is_dead("P1");
  site.pass(seconds(1));
  REQUIRE(site.has("instrument P1", Level::hold));
  State& state = const_cast<State&>(site.state());
  state.attention.not_good.begin_anew(site.job().rig.channels.size());
  state.attention.stale.begin_anew(site.job().rig.channels.size());
  REQUIRE(overlooked(state) != "");
  const Scan unanswered{.block = BlockId{0}, .taken_at = site.now + seconds(1), .raw = Words{}, .flaw = Flaw::no_answer};
  site.engine.apply({site.now + seconds(1), site.wall, unanswered});
  CHECK(overlooked(state) == "");
}

}  // namespace standfast::test
