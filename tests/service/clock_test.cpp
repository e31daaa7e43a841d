// Clocks on a site: a wall clock that is set, a leap second, a year that does not fit, a machine that slept.
#include <boost/json.hpp>
#include <catch2/catch.hpp>

#include "daemon/record/record_reader.hpp"
#include "daemon/service/caretaker.hpp"
#include "daemon/service/replay.hpp"
#include "tests/service/bench.hpp"

using namespace standfast;

namespace {

// With a permit on the wire, and somebody who looks at the wall clock.
struct Permitted {
  Folder folder;
  Bench bench{grain_store_in(folder)};
  Caretaker caretaker{{bench.clock, [this] { return bench.clock.wall(); }, bench.inbox}};

  Permitted() {
    bench.commission();
    caretaker.look({});
    REQUIRE(bench.act(bench.commission_permit()).answer.accepted);
    bench.run_for(seconds(1));
    REQUIRE(permitted());
  }
  bool permitted() {
    bench.outputs.wait_for_exchange();
    return bench.outputs.newest()[OutputKind::raise_permit];
  }
  void look() {
    caretaker.look({});
    bench.run_for(seconds(1));
  }
  std::int64_t ends_in_ms() { return boost::json::parse(bench.picture()).at("permit").at("ends_in_ms").as_int64(); }
};

void replays_the_same(const Folder& folder) {
  auto reader = record::RecordReader::open(folder.path() + "/record.db");
  REQUIRE(reader);
  const auto replayed = replay(*reader, ReplayFrom::start);
  if (!replayed) FAIL(replayed.error());
  if (replayed->first_difference) FAIL(replayed->first_difference->recorded + "\n" + replayed->first_difference->replayed);
}

}  // namespace

TEST_CASE("a wall clock that is set takes no permit, starts no alarm and moves no time that runs", "[fault-42]") {
  Permitted site;
  // An hour on and back; a leap second; back to before the clock was ever set; past the year 2038.
  const Duration to_1970{-site.bench.clock.wall().ns}, to_2039{2'200'000'000'000'000'000};
  for (const Duration step : {hours(1), hours(-1), seconds(-1), to_1970, to_2039}) {
    const std::int64_t before = site.ends_in_ms();
    site.bench.clock.step_wall(step);
    site.look();
    CAPTURE(step.ns);
    CHECK(site.permitted());
    CHECK(site.ends_in_ms() < before);
    CHECK(before - site.ends_in_ms() < 5000);
    CHECK(boost::json::parse(site.bench.picture()).at("signal").at("level").as_string() == "none");
  }
  site.bench.finish();
  replays_the_same(site.folder);
}

TEST_CASE("a machine that slept wakes on HOLD, without the permit", "[fault-42]") {
  Permitted site;
  site.bench.clock.pass(hours(8));  // The clock that counts through suspend.
  site.bench.settle();
  site.bench.outputs.wait_for_exchange();
  site.bench.outputs.forget();
  site.bench.run_for(seconds(2));
  CHECK_FALSE(site.permitted());
  CHECK_FALSE(site.bench.outputs.ever(OutputKind::raise_permit));
  CHECK(boost::json::parse(site.bench.picture()).at("signal").at("level").as_string() == "hold");
  site.bench.finish();
  replays_the_same(site.folder);
}
