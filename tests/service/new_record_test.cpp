// A record that is not trusted, and the new one beside it.
#include "daemon/service/new_record.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>

#include <sqlite3.h>

#include "daemon/core/state.hpp"
#include "daemon/record/record_reader.hpp"
#include "daemon/service/opening.hpp"
#include "daemon/service/replay.hpp"
#include "daemon/service/whole_file.hpp"
#include "tests/service/bench.hpp"

using namespace standfast;

namespace {

const BeginAnew anew{"E. Quill", "the disk was changed"};

std::string bytes_of(const std::string& path) {
  const auto bytes = read_whole_file(path, std::size_t{1} << 30);
  REQUIRE(bytes);
  return *bytes;
}

void leave_stop_in(const Folder& folder) {
  Bench bench{grain_store_in(folder)};
  bench.commission();
  Action stop = action_of(Act::stop, {}, "", Role::technician);
  stop.reason = "crack at needle 2";
  bench.act(stop);
  bench.finish();
}

// One letter of a row is changed: the seals no longer fit, and everything can be read.
void touch_record(const std::string& path) {
  std::string bytes = bytes_of(path);
  const std::size_t at = bytes.rfind("crack at needle 2");
  REQUIRE(at != std::string::npos);
  bytes[at + 16] = '3';
  REQUIRE(replace_file(path, bytes));
}

bool stop_is_open(const Engine& engine) {
  const auto& open = engine.state().alarms.open;
  return std::any_of(open.begin(), open.end(), [](const Alarm& alarm) { return alarm.level == Level::stop; });
}

}  // namespace

TEST_CASE("a record that is not trusted is served without a plan, with its STOP, and says what can be done") {
  const Folder folder;
  leave_stop_in(folder);
  const std::string path = folder.path() + "/record.db";
  touch_record(path);
  const std::string before = bytes_of(path);
  Inbox inbox;
  const auto opening = open_record(JobFolder{folder.path()}, inbox, Failure{std::string("no key")});
  REQUIRE(opening);
  const Rebuilt rebuilt = opening->rebuild();
  CHECK(stop_is_open(rebuilt.engine));
  CHECK_FALSE(rebuilt.job);
  CHECK(rebuilt.trouble.find("record not trusted") == 0);
  CHECK(rebuilt.trouble.find("--begin-new-record") != std::string::npos);
  CHECK(bytes_of(path) == before);
}

TEST_CASE("a new record is begun beside it: the old one stays as it is, the new one names it, and its STOP stands") {
  const Folder folder;
  leave_stop_in(folder);
  const std::string path = folder.path() + "/record.db";
  touch_record(path);
  const std::string before = bytes_of(path);
  const auto done = begin_new_record(JobFolder{folder.path()}, anew);
  if (!done) FAIL(done.error());
  CHECK(bytes_of(path + ".set-aside-1") == before);
  auto reader = record::RecordReader::open(path);
  REQUIRE(reader);
  const auto gaps = reader->lines("gap", 0, 10);
  REQUIRE(gaps);
  REQUIRE(gaps->rows.size() == 1);
  const std::string why = gaps->rows[0].back().value_or("");
  for (const std::string& part : {"record.db.set-aside-1 (SHA-256 " + sha256_hex(before), std::string("not trusted"),
                                  std::string("Begun by E. Quill (not verified, the station has no list of people): the disk was changed")})
    CHECK(why.find(part) != std::string::npos);
  {
    Bench bench{folder.path()};
    CHECK(bench.picture().find("stop called: crack at needle") != std::string::npos);
    CHECK(bench.picture().find("\"level\":\"stop\"") != std::string::npos);
    bench.finish();
  }
  for (const ReplayFrom from : {ReplayFrom::start, ReplayFrom::newest_snapshot}) {
    const auto replayed = replay(*reader, from);
    if (!replayed) FAIL(replayed.error());
    if (replayed->first_difference) FAIL(replayed->first_difference->recorded + " / " + replayed->first_difference->replayed);
  }
}

TEST_CASE("what a new record brings along stands in rows of it: a plan that no longer loads loses no STOP") {
  const Folder folder;
  leave_stop_in(folder);
  const std::string path = folder.path() + "/record.db";
  touch_record(path);
  REQUIRE(begin_new_record(JobFolder{folder.path()}, anew));
  {
    Bench bench{folder.path()};
    bench.finish();
  }
  auto reader = record::RecordReader::open(path);
  REQUIRE(reader);
  const auto log = reader->lines("alarm_log", 0, 1000);
  REQUIRE(log);
  const auto names_stop = [](const auto& row) {
    return std::any_of(row.begin(), row.end(), [](const auto& cell) { return cell.value_or("").starts_with("stop called: crack"); });
  };
  CHECK(std::count_if(log->rows.begin(), log->rows.end(), names_stop) == 1);
  const Rebuilt bare = without_state(&*reader, "the plan no longer loads");
  CHECK(stop_is_open(bare.engine));
}

TEST_CASE("a record of no length gives way to a new one that says nothing is known, and only the engineer ends that") {
  const Folder folder;
  REQUIRE(replace_file(folder.path() + "/record.db", ""));
  REQUIRE(begin_new_record(JobFolder{folder.path()}, anew));
  Inbox inbox;
  const auto opening = open_record(JobFolder{folder.path()}, inbox, Failure{std::string("no key")});
  REQUIRE(opening);
  const Rebuilt rebuilt = opening->rebuild();
  const auto& open = rebuilt.engine.state().alarms.open;
  const auto unknown = std::find_if(open.begin(), open.end(), [](const Alarm& alarm) {
    return alarm.subject.find("what was latched before is not known") == 0;
  });
  REQUIRE(unknown != open.end());
  CHECK(unknown->level == Level::hold);
  CHECK(unknown->reset_by_engineer);
}

TEST_CASE("no new record is begun beside one that goes on, without one, by nobody, or by somebody who is not on the list") {
  const Folder folder;
  CHECK_FALSE(begin_new_record(JobFolder{folder.path()}, anew));
  CHECK_FALSE(std::filesystem::exists(folder.path() + "/record.db"));
  leave_stop_in(folder);
  const std::string before = bytes_of(folder.path() + "/record.db");
  const auto sound = begin_new_record(JobFolder{folder.path()}, anew);
  REQUIRE_FALSE(sound);
  CHECK(sound.error().find("goes on, nothing was done: its newest rows bear their seals") != std::string::npos);
  CHECK(sound.error().find("What lies further back was not looked at") != std::string::npos);
  CHECK_FALSE(std::filesystem::exists(folder.path() + "/record.db.set-aside-1"));
  touch_record(folder.path() + "/record.db");
  CHECK_FALSE(begin_new_record(JobFolder{folder.path()}, {"", ""}));
  const People people{{{"S. Vane", {Role::supervisor}, "2027-03-01T06:00:00Z", "", "E. Quill"}}};
  const auto stranger = begin_new_record(JobFolder{folder.path()}, {"E. Quill", "the disk was changed", people});
  REQUIRE_FALSE(stranger);
  CHECK(stranger.error().find("'E. Quill' is not on the station's list of people") == 0);
  CHECK_FALSE(std::filesystem::exists(folder.path() + "/record.db.set-aside-1"));
}

TEST_CASE("who begins a new record is named in it as not verified") {
  const Folder folder;
  REQUIRE(replace_file(folder.path() + "/record.db", ""));
  const People people{{{"S. Vane", {Role::supervisor}, "2027-03-01T06:00:00Z", "", "E. Quill"}}};
  const auto done = begin_new_record(JobFolder{folder.path()}, {"S. Vane", "the disk was changed", people});
  if (!done) FAIL(done.error());
  CHECK(done->find("Begun by S. Vane (not verified): the disk was changed") != std::string::npos);
}

TEST_CASE("a record with a view bent is served and followed by a new one with its STOP") {
  const Folder folder;
  leave_stop_in(folder);
  const std::string path = folder.path() + "/record.db";
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open(path.c_str(), &database) == SQLITE_OK);
  CHECK(sqlite3_exec(database, "DROP VIEW alarm_log; DROP TRIGGER alarm_kept", nullptr, nullptr, nullptr) == SQLITE_OK);
  sqlite3_close(database);
  {
    Inbox inbox;
    const auto opening = open_record(JobFolder{folder.path()}, inbox, Failure{std::string("no key")});
    REQUIRE(opening);
    CHECK(stop_is_open(opening->rebuild().engine));
  }
  REQUIRE(begin_new_record(JobFolder{folder.path()}, anew));
  Bench bench{folder.path()};
  CHECK(bench.picture().find("stop called: crack at needle") != std::string::npos);
  bench.finish();
}
