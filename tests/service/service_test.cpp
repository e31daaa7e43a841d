#include <boost/json.hpp>
#include <catch2/catch.hpp>

#include "tests/service/bench.hpp"
#include "daemon/record/record_reader.hpp"
#include "daemon/service/replay.hpp"

using namespace standfast;

namespace {

std::string level_in(const std::string& picture) {
  return std::string(boost::json::parse(picture).at("signal").at("level").as_string());
}
bool permit_in(const std::string& picture) { return boost::json::parse(picture).at("permit").at("given").as_bool(); }

}  // namespace

TEST_CASE("a service without an accepted plan serves, on HOLD, and says so") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  const std::string picture = bench.picture();
  CHECK(level_in(picture) == "hold");
  CHECK_FALSE(boost::json::parse(picture).at("job").at("in_force").as_bool());
}

TEST_CASE("an act is answered when its row is on the disk, not before") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.disk->hold(true);
  bool answered = false;
  bench.ask(action_of(Act::acknowledge, "all", "", Role::technician), [&](const Answered& answer) { answered = answer.recorded; });
  for (int i = 0; i < 20; ++i) bench.run_for(milliseconds(50));
  CHECK_FALSE(answered);
  bench.disk->hold(false);
  CHECK(bench.act(action_of(Act::silence, {}, "", Role::technician)).recorded);
  CHECK(answered);
}

TEST_CASE("an act whose row does not reach the disk is answered as not recorded") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.disk->hold(true);
  std::optional<Answered> answered;
  bench.ask(action_of(Act::acknowledge, "all", "", Role::technician), [&](const Answered& answer) { answered = answer; });
  bench.run_for(answer_waits_at_most + seconds(1));
  REQUIRE(answered);
  CHECK(answered->answer.accepted);
  CHECK_FALSE(answered->recorded);
}

TEST_CASE("a permit that is on the disk is on the wire") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  const Answered given = bench.act(bench.commission_permit());
  CAPTURE(given.answer.code, given.answer.text);
  REQUIRE(given.answer.accepted);
  bench.outputs.wait_for_exchange();
  CHECK(bench.outputs.newest()[OutputKind::raise_permit]);
  CHECK(bench.act(action_of(Act::permit_end, {}, "", Role::technician)).answer.accepted);
  bench.outputs.wait_for_exchange();
  CHECK_FALSE(bench.outputs.newest()[OutputKind::raise_permit]);
}

TEST_CASE("with the commit held back for ten seconds the permit never comes on, and a stop is off at once") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  bench.outputs.wait_for_exchange();
  REQUIRE(bench.outputs.newest()[OutputKind::stop_relay]);
  bench.disk->hold(true);
  bench.outputs.forget();
  bench.ask(bench.commission_permit());
  CHECK(permit_in(bench.picture()));
  for (int i = 0; i < 10; ++i) {
    bench.run_for(seconds(1));
    bench.outputs.wait_for_exchange();
  }
  CHECK_FALSE(bench.outputs.ever(OutputKind::raise_permit));
  CHECK_FALSE(permit_in(bench.picture()));
  CHECK(level_in(bench.picture()) == "hold");
  CHECK(bench.outputs.newest()[OutputKind::stop_relay]);
  std::optional<Answered> answered;
  bench.ask(action_of(Act::stop, {}, "", Role::technician), [&](const Answered& answer) { answered = answer; });
  REQUIRE(answered);
  CHECK(answered->answer.accepted);
  CHECK_FALSE(answered->recorded);
  bench.outputs.wait_for_exchange();
  CHECK_FALSE(bench.outputs.newest()[OutputKind::stop_relay]);
}

TEST_CASE("what a stop takes away is off before its row is handed to the record") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  bench.outputs.wait_for_exchange();
  REQUIRE(bench.outputs.newest()[OutputKind::stop_relay]);
  std::vector<bool> on;
  bench.before_append = [&] {
    bench.outputs.wait_for_exchange();
    on.push_back(bench.outputs.newest()[OutputKind::stop_relay]);
  };
  bench.ask(action_of(Act::stop, {}, "", Role::technician));
  bench.before_append = nullptr;
  REQUIRE_FALSE(on.empty());
  CHECK_FALSE(on.front());
}

TEST_CASE("a permit does not outlive a second in which nobody decided", "[fault-26]") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  REQUIRE(bench.act(bench.commission_permit()).answer.accepted);
  bench.clock.pass(wanted_lives + milliseconds(1));
  bench.settle();
  CHECK_FALSE(permit_in(bench.picture()));
  CHECK(level_in(bench.picture()) == "hold");
  bench.run_for(seconds(2));
  bench.outputs.wait_for_exchange();
  CHECK_FALSE(bench.outputs.newest()[OutputKind::raise_permit]);
}

TEST_CASE("while scans wait longer than a second the outputs are off, and the signal is HOLD when fresh ones come") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  bench.outputs.wait_for_exchange();
  REQUIRE(bench.outputs.newest()[OutputKind::stop_relay]);
  const auto job = bench.folder.read();
  REQUIRE(job);
  for (int i = 0; i < 30; ++i) {
    const Instant taken = bench.clock.now();
    bench.clock.pass(milliseconds(1100));
    bench.inbox.add_scan(quiet_scan(*job->job, BlockId{0}, taken));
    bench.settle();
  }
  bench.outputs.wait_for_exchange();
  CHECK(bench.outputs.newest() == OutputImage{});
  bench.run_for(seconds(1));
  bench.outputs.wait_for_exchange();
  CHECK(bench.outputs.newest()[OutputKind::call_out]);
  CHECK(level_in(bench.picture()) == "hold");
}

TEST_CASE("at the end everything is off before anything else") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  REQUIRE(bench.act(bench.commission_permit()).answer.accepted);
  bench.service->finish();
  CHECK(bench.outputs.newest() == OutputImage{});
}

TEST_CASE("after a restart the stage is where it was, the permit is not, and the signal is HOLD until somebody looks") {
  const Folder folder;
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    REQUIRE(bench.act(bench.commission_permit()).answer.accepted);
    bench.run_for(seconds(1));
    bench.finish();
  }
  Bench again{folder.path()};
  const auto picture = boost::json::parse(again.picture());
  CHECK(picture.at("stage").at("name").as_string() == "Commission");
  CHECK(level_in(again.picture()) == "hold");
  CHECK_FALSE(permit_in(again.picture()));
  again.outputs.wait_for_exchange();
  CHECK_FALSE(again.outputs.ever(OutputKind::raise_permit));
}

TEST_CASE("replay decides the same again, through a permit, a restart and a stop") {
  const Folder folder;
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    REQUIRE(bench.act(bench.commission_permit()).answer.accepted);
    bench.run_for(seconds(3));
    bench.finish();
  }
  {
    Bench bench{folder.path()};
    bench.run_for(seconds(1));
    bench.act(action_of(Act::stop, {}, "", Role::technician));
    bench.run_for(seconds(1));
    bench.finish();
  }
  auto reader = record::RecordReader::open(folder.path() + "/record.db");
  REQUIRE(reader);
  for (const ReplayFrom from : {ReplayFrom::start, ReplayFrom::newest_snapshot}) {
    const auto replayed = replay(*reader, from);
    if (!replayed) FAIL(replayed.error());
    if (replayed->first_difference) FAIL(replayed->first_difference->recorded + "\n" + replayed->first_difference->replayed);
    if (from == ReplayFrom::start) CHECK(replayed->decisions > 20);
  }
}
