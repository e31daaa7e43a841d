#include "daemon/record/record_reader.hpp"

#include <catch2/catch.hpp>

#include "daemon/record/export_csv.hpp"
#include "daemon/record/seal.hpp"
#include "tests/record/fixture.hpp"

using namespace standfast;
using namespace standfast::record;
using namespace standfast::testing;

namespace {

struct Read {
  Folder folder;
  RecordReader reader;
  Read() : reader{[this] {
    write_sample(folder.record());
    auto opened = RecordReader::open(folder.record());
    if (!opened) FAIL(opened.error());
    return std::move(*opened);
  }()} {}
};

}  // namespace

TEST_CASE("the events come out of the record in their order, as they went in") {
  Read read;
  const auto events = read.reader.events(1);
  if (!events) FAIL(events.error());
  const auto wanted = sample_events();
  REQUIRE(events->size() == wanted.size());
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    CHECK((*events)[i].event.what.index() == wanted[i].what.index());
    CHECK((*events)[i].event.at == wanted[i].at);
    CHECK((*events)[i].event.wall == wanted[i].wall);
    CHECK((*events)[i].span == 1);
    CHECK(row_of((*events)[i].event, {1, 1, "test bench"}) == row_of(wanted[i], {1, 1, "test bench"}));
    if (const auto* scan = std::get_if<Scan>(&wanted[i].what))
      CHECK(std::get<Scan>((*events)[i].event.what).raw == scan->raw);
  }
  CHECK((*events)[1].revision == 1);
}

TEST_CASE("events are read page by page") {
  Read read;
  std::size_t total = 0;
  std::int64_t from = 1;
  for (;;) {
    const auto page = read.reader.events(from, 4);
    REQUIRE(page);
    if (page->empty()) break;
    CHECK(page->size() <= 4);
    total += page->size();
    from = page->back().seq + 1;
  }
  CHECK(total == sample_events().size());
}

TEST_CASE("effects come out as the lines that a replay must give again") {
  Read read;
  const auto effects = read.reader.effects(1, INT64_MAX);
  REQUIRE(effects);
  const auto rows = rows_of(sample_effects(), {9, Instant{2'000'000'000}, WallTime{1}}, "state 1\n");
  REQUIRE(effects->size() == rows.size());
  for (std::size_t i = 0; i < rows.size(); ++i) CHECK((*effects)[i].text == effect_text(rows[i]));
}

TEST_CASE("the newest snapshot is found, and one whose text is not that of its SHA-256 is passed over") {
  Read read;
  auto snapshot = read.reader.newest_snapshot();
  REQUIRE(snapshot);
  REQUIRE(snapshot->has_value());
  CHECK((*snapshot)->state == "state 1\n");
  CHECK((*snapshot)->sha256 == sha256_hex("state 1\n"));
  CHECK((*snapshot)->rules == rules_version);
  CHECK((*snapshot)->revision == 0);  // Revision 1 came into force, and then the daemon said that there is no job.
  CHECK_FALSE(*read.reader.newest_snapshot((*snapshot)->seq));
  tamper(read.folder.record(), "UPDATE snapshot SET state = 'state 2'");
  CHECK_FALSE(*read.reader.newest_snapshot());
}

TEST_CASE("an alarm counts as latched by the last word on its number, and a word that nobody knows is the worst") {
  Read read;
  auto latched = read.reader.latched_alarms();
  REQUIRE(latched);
  REQUIRE(latched->alarms.size() == 1);
  CHECK(latched->last == 3);
  const AlarmChange& alarm = latched->alarms[0].newest;
  CHECK(alarm.subject == "movement HEAD, Preload 50 %");
  CHECK(alarm.cause == Cause::limit);
  CHECK(alarm.level == Level::stop);
  CHECK(alarm.to == AlarmState::latched_unacknowledged);
  CHECK(read.reader.latched_alarms(1)->alarms.empty());
  tamper(read.folder.record(), "UPDATE alarm SET level = 'shouted', to_state = 'whispered'");
  CHECK(read.reader.latched_alarms()->alarms.at(0).newest.level == Level::stop);
  tamper(read.folder.record(), "UPDATE alarm SET level = 'stop', to_state = 'normal'");
  CHECK(read.reader.latched_alarms()->alarms.empty());
  tamper(read.folder.record(), "UPDATE alarm SET level = 'review', to_state = 'unacknowledged'");
  CHECK(read.reader.latched_alarms()->alarms.empty());
}

TEST_CASE("the accepted bytes come back whole") {
  Read read;
  const auto found = read.reader.revision_in_force();
  REQUIRE(found);
  REQUIRE(found->has_value());
  CHECK((*found)->number == 1);
  CHECK((*found)->rig_yaml == sample_bytes.rig_yaml);
  CHECK((*found)->stages_yaml == sample_bytes.stages_yaml);
  CHECK((*found)->rig_sha256 == sha256_hex(sample_bytes.rig_yaml));
  CHECK_FALSE(*read.reader.revision(2));
  CHECK_FALSE(*read.reader.revision_in_force(1));
}

TEST_CASE("any view or table is read as lines, and nothing else is") {
  Read read;
  const auto lines = read.reader.lines("alarm_log", 0, 10);
  if (!lines) FAIL(lines.error());
  CHECK(lines->columns.front() == "seq");
  REQUIRE(lines->rows.size() == 1);
  CHECK(lines->rows[0][7] == "movement HEAD, Preload 50 %");
  CHECK_FALSE(read.reader.lines("alarm_log\" --", 0, 10));
  CHECK_FALSE(read.reader.lines("pragma_table_info", 0, 10));
  for (const char* view : {"reading_log", "load_log", "movement_log", "stage_log", "action_log", "output_log", "poll_log", "gap_log"})
    CHECK(read.reader.lines(view, 0, 10));
}

TEST_CASE("a reader sees what the writer has made durable, and cannot write") {
  const Folder folder;
  auto writer = open_writer(folder.record());
  auto reader = RecordReader::open(folder.record());
  REQUIRE(reader);
  CHECK(*reader->newest_seq() == 1);
  REQUIRE(writer->append(opening_rows()));
  CHECK(writer->close());
  CHECK(*reader->newest_seq() == 1 + static_cast<std::int64_t>(opening_rows().size()));
}

TEST_CASE("a record whose views, triggers or tables were bent is not read, but for what it calls latched") {
  const Folder folder;
  write_sample(folder.record());
  REQUIRE(RecordReader::open(folder.record()));
  SECTION("a view that leaves out every STOP") {
    const std::string text = ask(folder.record(), "SELECT sql FROM sqlite_schema WHERE name = 'alarm_log'");
    ask(folder.record(), "DROP VIEW alarm_log; " + text + " WHERE level <> 'stop'");
  }
  SECTION("a view gone") { ask(folder.record(), "DROP VIEW alarm_log"); }
  SECTION("a trigger gone") { ask(folder.record(), "DROP TRIGGER alarm_kept"); }
  SECTION("other words in description") {
    ask(folder.record(), "DROP VIEW description; CREATE VIEW description (of_table, of_column, unit, words) AS VALUES ('', '', '', '')");
  }
  SECTION("a table more") { ask(folder.record(), "CREATE TABLE alarm_of_another (seq INTEGER)"); }
  const auto refused = RecordReader::open(folder.record());
  REQUIRE_FALSE(refused);
  CHECK(refused.error() ==
        folder.record().string() + " is not trusted: a table, view or trigger is not the one that the record was made with");
  const auto exported = export_csv(folder.record(), folder.path / "csv", {});
  REQUIRE_FALSE(exported);
  CHECK(exported.error() == refused.error());
  CHECK_FALSE(std::filesystem::exists(folder.path / "csv"));
  auto latched = RecordReader::open_not_trusted(folder.record());
  REQUIRE(latched);
  CHECK(latched->latched_alarms()->alarms.size() == 1);
}

TEST_CASE("a record that is not there is said to be not there") {
  const Folder folder;
  CHECK_FALSE(RecordReader::open(folder.record()));
}
