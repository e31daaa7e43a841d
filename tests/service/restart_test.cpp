// What a start makes of a record whose state cannot be worked out again: nothing that was latched is forgotten.
#include <sqlite3.h>

#include <algorithm>
#include <boost/json.hpp>
#include <catch2/catch.hpp>

#include "daemon/core/state.hpp"
#include "daemon/record/record_reader.hpp"
#include "daemon/service/replay.hpp"
#include "tests/service/bench.hpp"

using namespace standfast;

namespace {

boost::json::value picture_of(Bench& bench) { return boost::json::parse(bench.picture()); }
std::string level_in(const boost::json::value& picture) {
  return std::string(picture.at("signal").at("level").as_string());
}
bool has_alarm(const boost::json::value& picture, const std::string& subject) {
  for (const auto& alarm : picture.at("alarms").as_array())
    if (alarm.at("subject").as_string() == subject) return true;
  return false;
}

std::int64_t number_in(const std::string& path, const std::string& sql) {
  sqlite3* database = nullptr;
  sqlite3_stmt* statement = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &database) == SQLITE_OK);
  INFO(sql);
  REQUIRE(sqlite3_prepare_v2(database, sql.c_str(), -1, &statement, nullptr) == SQLITE_OK);
  REQUIRE(sqlite3_step(statement) == SQLITE_ROW);
  const std::int64_t found = sqlite3_column_int64(statement, 0);
  sqlite3_finalize(statement);
  sqlite3_close(database);
  return found;
}

// As somebody who has the file would change it.
void change(const std::string& path, const std::string& sql) {
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &database) == SQLITE_OK);
  INFO(sql);
  CHECK(sqlite3_exec(database, sql.c_str(), nullptr, nullptr, nullptr) == SQLITE_OK);
  sqlite3_close(database);
}

std::string state_of(const std::string& path) {
  auto reader = record::RecordReader::open_not_trusted(path);  // A trigger is gone.
  REQUIRE(reader);
  Rebuilt rebuilt = rebuild(*reader);
  CHECK(rebuilt.trouble.empty());
  return rebuilt.engine.snapshot();
}

void make_snapshots_unusable(const std::string& path) {
  change(path, "DROP TRIGGER snapshot_kept; UPDATE snapshot SET sha256 = '" + std::string(64, '0') + "'");
}

// A revision comes into force whose bytes this loader does not take, as after a change of version.
void put_unreadable_revision_in_force(Bench& bench) {
  const auto job = bench.folder.read();
  REQUIRE(job);
  const record::Tail tail = bench.writer->opened_at();
  const record::Moment moment{tail.span + 1, bench.clock.now(), bench.clock.wall()};
  auto rows = record::rows_of(record::RevisionBytes{"words of another version", "words of another version"}, *job->job, 2, moment);
  rows.push_back(record::row_of(Event{moment.at, moment.wall, JobInForce{job->job}}, {tail.span + 1, 2, "host"}));
  const auto seq = bench.writer->append(std::move(rows));
  REQUIRE(seq);
}

}  // namespace

TEST_CASE("a STOP outlives a restart whose plan no longer loads, and the status says why there is no plan") {
  const Folder folder;
  std::int64_t seen = 0;
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    Action stop = action_of(Act::stop, {}, "", Role::technician);
    stop.reason = "crack";
    bench.act(stop);
    bench.run_for(seconds(1));
    seen = picture_of(bench).at("picture").to_number<std::int64_t>();
    put_unreadable_revision_in_force(bench);
    REQUIRE(bench.writer->close());
  }
  Bench again{folder.path()};
  const auto picture = picture_of(again);
  CHECK(level_in(picture) == "stop");
  CHECK(has_alarm(picture, "stop called: crack"));
  CHECK_FALSE(picture.at("job").at("in_force").as_bool());
  CHECK(again.picture().find("revision 2 no longer loads") != std::string::npos);
  CHECK(picture.at("picture").to_number<std::int64_t>() > seen);
}

TEST_CASE("what was brought back is ended as any alarm is: seen, and by those who may") {
  const Folder folder;
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    bench.act(action_of(Act::stop, {}, "", Role::technician));
    put_unreadable_revision_in_force(bench);
    REQUIRE(bench.writer->close());
  }
  Bench again{folder.path()};
  REQUIRE(again.act(action_of(Act::acknowledge, "all", "", Role::technician)).answer.accepted);
  const auto alarms = picture_of(again).at("alarms").as_array();
  std::string number;
  for (const auto& alarm : alarms)
    if (alarm.at("level").as_string() == "stop") number = boost::json::serialize(alarm.at("number"));
  Action reset = action_of(Act::reset, number, "S. Vane", Role::supervisor);
  reset.reason = "looked at";
  CHECK_FALSE(again.act(reset).answer.accepted);
  reset.second = {"E. Quill", Role::engineer};
  const Answered done = again.act(reset);
  CAPTURE(done.answer.text);
  CHECK(done.answer.accepted);
  CHECK(level_in(picture_of(again)) == "hold");
}

TEST_CASE("after a second restart it is still there, and the newest snapshot is replayed to the same decisions") {
  const Folder folder;
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    bench.act(action_of(Act::stop, {}, "", Role::technician));
    put_unreadable_revision_in_force(bench);
    REQUIRE(bench.writer->close());
  }
  for (int restart = 0; restart < 2; ++restart) {
    Bench again{folder.path()};
    CHECK(level_in(picture_of(again)) == "stop");
    again.run_for(seconds(1));
    again.finish();
  }
  auto reader = record::RecordReader::open(folder.path() + "/record.db");
  REQUIRE(reader);
  const auto replayed = replay(*reader, ReplayFrom::newest_snapshot);
  if (!replayed) FAIL(replayed.error());
  CHECK_FALSE(replayed->first_difference);
}

TEST_CASE("where not even the alarms can be read, the signal is a HOLD that only the engineer ends") {
  Rebuilt rebuilt = without_state(nullptr, "record not trusted: a page is torn");
  CHECK(rebuilt.trouble == "record not trusted: a page is torn");
  Engine& engine = rebuilt.engine;
  const auto act = [&](Action action) {
    action.seen = engine.state().picture;
    const Effects effects = engine.apply({engine.state().now, WallTime{1}, std::move(action)});
    return std::get<ActionAnswer>(effects.rows.back());
  };
  engine.apply({Instant{1}, WallTime{1}, Started{"boot", "test", false}});
  engine.apply({Instant{2}, WallTime{1}, NoJob{rebuilt.trouble}});
  REQUIRE(act(action_of(Act::acknowledge, "all", "", Role::technician)).accepted);
  const auto unknown = std::find_if(engine.state().alarms.open.begin(), engine.state().alarms.open.end(),
                                    [](const Alarm& alarm) { return alarm.cause == Cause::record_unhealthy; });
  REQUIRE(unknown != engine.state().alarms.open.end());
  CHECK(unknown->level == Level::hold);
  Action reset = action_of(Act::reset, std::to_string(unknown->number), "S. Vane", Role::supervisor);
  reset.reason = "looked at";
  CHECK(act(reset).code == "not-permitted");
  reset.person = {"E. Quill", Role::engineer};
  CHECK(act(reset).accepted);
}

TEST_CASE("a start without state is marked: a program that can read the old plan again does not call the record different") {
  const Folder folder;
  const std::string path = folder.path() + "/record.db";
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    bench.act(action_of(Act::stop, {}, "", Role::technician));
    put_unreadable_revision_in_force(bench);
    REQUIRE(bench.writer->close());
  }
  {
    Bench again{folder.path()};
    again.run_for(seconds(1));
    again.finish();
  }
  const std::string gap = "(SELECT min(seq) FROM gap WHERE lost > 0)";
  CHECK(number_in(path, "SELECT lost FROM gap WHERE seq = " + gap) == number_in(path, "SELECT max(seq) - 1 FROM span"));
  CHECK(number_in(path, "SELECT count(*) FROM snapshot WHERE seq > " + gap) >= 1);
  // The program of another day, that takes these words for what they were.
  change(path, "DROP TRIGGER revision_kept; UPDATE revision SET (rig_yaml, rig_sha256, stages_yaml, stages_sha256) = "
               "(SELECT rig_yaml, rig_sha256, stages_yaml, stages_sha256 FROM revision WHERE number = 1) WHERE number = 2");
  // What the newer revision decided nobody wrote down, so its row is left out as well.
  change(path, "DROP TRIGGER in_force_left; DELETE FROM in_force WHERE revision = 2");
  auto reader = record::RecordReader::open_not_trusted(path);  // Two triggers are gone.
  REQUIRE(reader);
  for (const ReplayFrom from : {ReplayFrom::start, ReplayFrom::newest_snapshot}) {
    const auto replayed = replay(*reader, from);
    if (!replayed) FAIL(replayed.error());
    if (replayed->first_difference) FAIL(replayed->first_difference->recorded + " / " + replayed->first_difference->replayed);
    CHECK(replayed->resumed == (from == ReplayFrom::start ? 1 : 0));
  }
}

TEST_CASE("worked out from all events the state is the one that its snapshot has, over restarts too") {
  const Folder folder;
  const std::string path = folder.path() + "/record.db";
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    bench.act(action_of(Act::stop, {}, "", Role::technician));
    AlarmChange alone;  // No event tells of it.
    alone.number = 900;
    alone.subject = "told by rows alone";
    alone.level = Level::stop;
    alone.to = AlarmState::unacknowledged;
    const record::Moment moment{1, bench.clock.now(), bench.clock.wall()};
    REQUIRE(bench.writer->append(record::rows_of(std::vector<EffectRow>{alone}, moment, {})));
    bench.finish();
  }
  {
    Bench again{folder.path()};
    CHECK(has_alarm(picture_of(again), "told by rows alone"));
    again.run_for(seconds(1));
    again.finish();
  }
  const std::string with_snapshots = state_of(path);
  make_snapshots_unusable(path);
  CHECK(state_of(path) == with_snapshots);
}

TEST_CASE("over lost rows nothing is worked out: without a snapshot behind them what was latched is all that is known") {
  const Folder folder;
  const std::string path = folder.path() + "/record.db";
  {
    Bench bench{grain_store_in(folder)};
    bench.commission();
    bench.act(action_of(Act::stop, {}, "", Role::technician));
    bench.finish();
  }
  change(path, "DROP TRIGGER gap_last; INSERT INTO gap SELECT max(last_seq) + 1, 1, 1, 1, 1, 1, 7, 'no room' FROM seal; "
               "INSERT INTO seal SELECT batch + 1, last_seq + 1, last_seq + 1, head FROM seal ORDER BY batch DESC LIMIT 1");
  auto reader = record::RecordReader::open_not_trusted(path);  // A trigger is gone.
  REQUIRE(reader);
  for (int snapshots = 1; snapshots >= 0; --snapshots) {
    const Rebuilt rebuilt = rebuild(*reader);
    CHECK_FALSE(rebuilt.job);
    CHECK(rebuilt.trouble.find("rows were lost") == 0);
    const auto& open = rebuilt.engine.state().alarms.open;
    CHECK(std::any_of(open.begin(), open.end(), [](const Alarm& alarm) { return alarm.level == Level::stop; }));
    if (snapshots == 1) make_snapshots_unusable(path);
  }
}
