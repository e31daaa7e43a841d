// Files come into force only where the record takes their bytes.
#include <catch2/catch.hpp>

#include "daemon/core/state.hpp"
#include "tests/service/bench.hpp"

using namespace standfast;

TEST_CASE("while the record is not written no files come into force") {
  Engine engine;
  engine.apply({Instant{1}, WallTime{1}, Started{"boot", "test", true}});
  engine.apply({Instant{2}, WallTime{1}, NoJob{"no plan has been adopted"}});
  Action adopt = action_of(Act::adopt, {}, "E. Quill", Role::engineer);
  adopt.second = {"S. Vane", Role::supervisor};
  const auto answer = [&](Instant at) {
    adopt.seen = engine.state().picture;
    return std::get<ActionAnswer>(engine.apply({at, WallTime{1}, adopt}).rows.back());
  };
  for (const RecordState state : {RecordState::lagging, RecordState::failed}) {
    engine.apply({Instant{3}, WallTime{1}, RecordHealth{state}});
    CHECK(answer(Instant{4}).code == "record-unhealthy");
  }
  engine.apply({Instant{5}, WallTime{1}, RecordHealth{RecordState::healthy}});
  CHECK(answer(Instant{6}).accepted);
}

TEST_CASE("with too many rows waiting for the disk an adoption is refused, and the plan in force stays in force") {
  const Folder folder;
  Bench bench{grain_store_in(folder)};
  bench.commission();
  bench.disk->hold(true);
  const std::string half(record::most_waiting_bytes / 2, 'x');
  REQUIRE(bench.writer->append({record::row_of(record::Gap{{}, {}, 0, half}, {1, bench.clock.now(), bench.clock.wall()})}));
  auto revision = bench.folder.read();
  REQUIRE(revision);
  std::optional<Answered> full;
  Action adopt = action_of(Act::adopt, {}, "E. Quill", Role::engineer);
  adopt.value = revision->name();
  REQUIRE(bench.inbox.add_act(
      {adopt, std::make_shared<const Revision>(std::move(*revision)), [&](const Answered& answer) { full = answer; }}));
  bench.settle();
  REQUIRE(full);
  CHECK_FALSE(full->answer.accepted);
  CHECK(full->answer.code == "record-unhealthy");
  CHECK_FALSE(full->recorded);
  std::optional<Answered> stop;
  bench.ask(action_of(Act::stop, {}, "", Role::technician), [&](const Answered& answer) { stop = answer; });
  REQUIRE(stop);
  CHECK(stop->answer.accepted);
}
