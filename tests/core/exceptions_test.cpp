// An instrument that answers with an exception: what says that there is no value takes it away at once, what says to ask
// again may be asked again.
#include <catch2/catch.hpp>

#include "tests/core/small_site.hpp"

using namespace standfast;
using namespace standfast::test;

namespace {

SmallSite site_read() {
  SmallSite site;
  site.read_for(seconds(1));
  REQUIRE(site.channel(P1).quality == Quality::good);
  return site;
}

}  // namespace

// The codes: MODBUS Application Protocol Specification V1.1b3, chapter 7: 1 to 3 refuse the request, 4 is an
// unrecoverable failure of the server; 5 and 6 say that it is at work, 10 and 11 that a gateway did not reach it.
TEST_CASE("a refused request and an instrument's own failure take the value away at once") {
  const std::pair<Flaw, Cause> at_once[] = {{Flaw::exception_refused, Cause::exception_refused},
                                            {Flaw::exception_failed, Cause::exception_failed}};
  for (const auto& [flaw, cause] : at_once) {
    SmallSite site = site_read();
    site.wait(milliseconds(100));
    site.lose(0, flaw);
    CHECK(site.channel(P1).quality == Quality::bad);
    CHECK(site.channel(P1).cause == cause);
    CHECK(site.channel(G1).quality == Quality::good);  // Read by another request.
    site.wait(milliseconds(100));
    site.read();
    CHECK(site.channel(P1).quality == Quality::good);
  }
}

TEST_CASE("a busy instrument and a gateway that does not reach it may be asked again, until the last answer is stale") {
  const std::pair<Flaw, Cause> in_time[] = {{Flaw::exception_busy, Cause::exception_busy},
                                            {Flaw::exception_gateway, Cause::exception_gateway}};
  for (const auto& [flaw, cause] : in_time) {
    SmallSite site = site_read();
    for (int tenth = 1; tenth < 20; ++tenth) {
      site.wait(milliseconds(100));
      site.lose(0, flaw);
      CHECK(site.channel(P1).quality == Quality::good);
    }
    site.wait(milliseconds(100));  // Two seconds: stale.
    CHECK(site.channel(P1).quality == Quality::bad);
    CHECK(site.channel(P1).cause == cause);
  }
}
