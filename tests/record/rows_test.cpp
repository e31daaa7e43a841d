#include "daemon/record/rows.hpp"

#include <random>

#include <catch2/catch.hpp>

#include "daemon/record/json_text.hpp"
#include "daemon/record/row_fields.hpp"
#include "tests/record/fixture.hpp"

using namespace standfast;
using namespace standfast::record;
using namespace standfast::testing;

namespace {

const Where where{3, 7, "test bench"};

// Compares field by field what has no comparison of its own.
void same(const Event& a, const Event& b) {
  CHECK(a.at == b.at);
  CHECK(a.wall == b.wall);
  REQUIRE(a.what.index() == b.what.index());
  if (const auto* scan = std::get_if<Scan>(&a.what)) {
    const auto& other = std::get<Scan>(b.what);
    CHECK(scan->block == other.block);
    CHECK(scan->taken_at == other.taken_at);
    CHECK(scan->raw == other.raw);
    CHECK(scan->flaw == other.flaw);
  } else if (const auto* report = std::get_if<OutputReport>(&a.what)) {
    const auto& other = std::get<OutputReport>(b.what);
    CHECK(report->at == other.at);
    CHECK(report->flaw == other.flaw);
    CHECK(report->written == other.written);
    CHECK(report->readback == other.readback);
    CHECK(report->facts == other.facts);
  } else if (const auto* action = std::get_if<Action>(&a.what)) {
    const auto& other = std::get<Action>(b.what);
    CHECK(action->what == other.what);
    CHECK(std::tie(action->object, action->value, action->reason, action->person.name, action->second.name) ==
          std::tie(other.object, other.value, other.reason, other.person.name, other.second.name));
    CHECK(std::tie(action->person.role, action->second.role, action->way, action->peer_uid, action->verified, action->seen) ==
          std::tie(other.person.role, other.second.role, other.way, other.peer_uid, other.verified, other.seen));
  }
}

Event back(const Event& event, bool bits = false) {
  const auto read = event_of(row_of(event, where), bits);
  if (!read) FAIL(read.error());
  return *read;
}

}  // namespace

TEST_CASE("every event comes back from its row as it went in") {
  for (const Event& event : sample_events()) {
    const auto* scan = std::get_if<Scan>(&event.what);
    same(event, back(event, scan != nullptr && std::holds_alternative<Bits>(scan->raw)));
  }
}

TEST_CASE("the fields of the small events come back too") {
  CHECK(std::get<Started>(back(at(1, Started{"b", "s", true})).what).boot_id == "b");
  CHECK(std::get<Started>(back(at(1, Started{"b", "s", true})).what).software == "s");
  CHECK(std::get<Started>(back(at(1, Started{"b", "s", true})).what).first);
  CHECK(std::get<NoJob>(back(at(1, NoJob{"line 3:\n\t\"\\\x7f\xc3\xa9"})).what).why == "line 3:\n\t\"\\\x7f\xc3\xa9");
  CHECK(std::get<RecordHealth>(back(at(1, RecordHealth{RecordState::failed})).what).state == RecordState::failed);
  CHECK(std::get<GivingNotDurable>(back(at(1, GivingNotDurable{-1})).what).seq == -1);
  CHECK(std::get<ClockStep>(back(at(1, ClockStep{{INT64_MIN}})).what).by.ns == INT64_MIN);
  CHECK(std::get<EngineLate>(back(at(1, EngineLate{milliseconds(1200)})).what).by == milliseconds(1200));
  CHECK(std::get<QueueOverflow>(back(at(1, QueueOverflow{INT64_MAX})).what).lost == INT64_MAX);
  CHECK(std::get<FilesOnDisk>(back(at(1, FilesOnDisk{false, true})).what).plan_differs);
  CHECK_FALSE(std::get<FilesOnDisk>(back(at(1, FilesOnDisk{false, true})).what).rig_differs);
}

TEST_CASE("any answer of an instrument comes back bit for bit") {
  std::mt19937_64 draw{20260101};
  for (int round = 0; round < 2000; ++round) {
    Scan scan;
    scan.block = BlockId{draw() % 65536};
    scan.taken_at = Instant{static_cast<std::int64_t>(draw() >> 1)};
    scan.flaw = static_cast<Flaw>(draw() % flaw_count);
    const auto count = draw() % 80;
    const bool bits = round % 3 == 1;
    if (round % 3 == 0) {
      Words words(count);
      for (auto& word : words) word = static_cast<std::uint16_t>(draw());
      scan.raw = words;
    } else if (bits) {
      Bits cells(count);
      for (auto& cell : cells) cell = draw() % 2;
      scan.raw = cells;
    } else {
      std::string line(count, '\0');
      for (char& c : line) c = static_cast<char>(draw());
      scan.raw = line;
    }
    const Event event = at(static_cast<std::int64_t>(draw() >> 2), scan);
    same(event, back(event, bits));
  }
}

TEST_CASE("raw answers are kept as plain JSON: words, bits, or one line with its odd bytes escaped") {
  const auto raw = [](decltype(Scan::raw) held) {
    return std::get<std::string>(row_of(at(1, Scan{BlockId{std::size_t{3}}, Instant{1}, std::move(held), {}}), where).values[5]);
  };
  CHECK(raw(Words{1, 65535}) == "[1,65535]");
  CHECK(raw(Bits{0, 1}) == "[0,1]");
  CHECK(raw(Words{}) == "[]");
  CHECK(raw(std::string{"D1.25 mm\r\xff\"\\"}) == "[\"D1.25 mm\\u000d\\u00ff\\\"\\\\\"]");
}

TEST_CASE("a scan names its block by revision and number, and its own instant only where it differs") {
  const Row row = row_of(at(5, Scan{BlockId{std::size_t{3}}, Instant{5}, Words{}, Flaw::none}), where);
  CHECK(row.values[4] == Value{std::int64_t{700003}});
  CHECK(row.values[3] == Value{});
  CHECK(row.values[6] == Value{});
}

TEST_CASE("a row that does not fit is refused with the name of its column") {
  Row row = row_of(sample_events()[2], where);
  row.values[5] = std::string{"[1,65536]"};
  CHECK(event_of(row, false).error() == "scan.raw: expected an array of register words or of 0 and 1");
  row.values[5] = std::string{"[1,2"};
  CHECK_FALSE(event_of(row, false));
  row.values[5] = std::string{"[2]"};
  CHECK_FALSE(event_of(row, true));
  row = row_of(sample_events()[2], where);
  row.values[6] = std::string{"tired"};
  CHECK(event_of(row, false).error() == "scan.flaw: expected a known word");
  row.values[1] = Value{};
  CHECK(event_of(row, false).error() == "scan.at_ns: expected a whole number");
  row = row_of(at(1, ClockStep{}), where);
  row.values[4] = std::string{"{\"by\":1}"};
  CHECK_FALSE(event_of(row, false));
  row.values[4] = std::string{"{"};
  CHECK_FALSE(event_of(row, false));
  row.values[3] = std::string{"unheard_of"};
  CHECK_FALSE(event_of(row, false));
  CHECK_FALSE(event_of(notice_row(1), false));
  CHECK_FALSE(event_of(Row{RecordTable::action, {}}, false));
}

TEST_CASE("text that is not ours never becomes an event") {
  std::mt19937_64 draw{7};
  const std::string letters = "[]{}\",:\\u0012ftrueals-9";
  for (int round = 0; round < 20000; ++round) {
    std::string text;
    for (auto length = draw() % 12; length > 0; --length) text += letters[draw() % letters.size()];
    const auto numbers = numbers_of(text, 65535);
    if (numbers) CHECK(numbers_of(json_numbers(std::span<const std::uint16_t>{*numbers}), 65535) == numbers);
    const auto line = line_of(text);
    if (line) CHECK(line_of(json_line(*line)) == line);
    const auto object = object_of(text);
    if (object) CHECK(object_of(json_object(*object)) == object);
  }
}

TEST_CASE("an amount is kept as its SI number to the last bit, with its dimension in words") {
  const auto rows = rows_of(sample_effects(), {1, Instant{9}, WallTime{9}}, "state");
  const Row& alarm = rows.front();
  CHECK(alarm.values[10] == Value{0.0018000000000000004});
  CHECK(alarm.values[11] == Value{0.0018});
  CHECK(alarm.values[12] == Value{std::string{"length"}});
  DerivedValue rate{"rate movement HEAD", {}};
  rate.reading = {Quality::uncertain, Cause::frozen, {{Base::length, Per::second}, 1e-5}, 0, Saturation::none, false, {}, {}};
  CHECK(rows_of({rate}, {1, Instant{9}, WallTime{9}}, {}).front().values[5] == Value{std::string{"length per second"}});
}

TEST_CASE("a value without a number is kept without one, minus nought as nought") {
  const auto rows = rows_of(sample_effects(), {1, Instant{9}, WallTime{9}}, "state");
  CHECK(rows[11].values[4] == Value{});
  CHECK(rows[11].values[6] == Value{});
  CHECK_FALSE(std::signbit(std::get<double>(rows[7].values[5])));
}

TEST_CASE("each row of one step stands at the instant at which it was decided") {
  Effects effects;
  effects.rows = {Notice{"a", ""}, Notice{"b", ""}};
  effects.instants = {Instant{60}, Instant{100}};
  const auto rows = rows_of(effects, {1, Instant{100}, WallTime{1000}}, {});
  CHECK(rows[0].values[1] == Value{std::int64_t{60}});
  CHECK(rows[0].values[2] == Value{std::int64_t{960}});
  CHECK(rows[1].values[1] == Value{std::int64_t{100}});
}

TEST_CASE("a snapshot stands behind everything its step decided, with the SHA-256 of its text") {
  Effects effects;
  effects.rows = {SnapshotDue{Cause::start_up}, Notice{"a", ""}};
  const auto rows = rows_of(effects, {1, Instant{1}, WallTime{1}}, "abc");
  REQUIRE(rows.size() == 2);
  CHECK(wants_snapshot(effects.rows));
  CHECK(rows[1].table == RecordTable::snapshot);
  // FIPS 180-4, example "abc".
  CHECK(rows[1].values[5] == Value{std::string{"ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"}});
}

TEST_CASE("equal effects share one line of text and different ones do not") {
  const auto rows = rows_of(sample_effects(), {1, Instant{9}, WallTime{9}}, "state");
  const auto later = rows_of(sample_effects(), {2, Instant{9}, WallTime{77}}, "state");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    CHECK(effect_text(rows[i]) == effect_text(later[i]));  // Another span, another wall time.
    for (std::size_t column = 3; column < rows[i].values.size(); ++column) {
      if (rows[i].table == RecordTable::snapshot && column == 6) continue;
      Row changed = rows[i];
      changed.values[column] = std::string{"another"};
      CHECK(effect_text(changed) != effect_text(rows[i]));
    }
  }
  CHECK(effect_text(rows[5]) ==
        "answer at_ns=9 act=\"reset\" accepted=0 code=\"not_now\" text=\"-the condition still stands\"");
}

TEST_CASE("the channels of a revision stand at their places, once for ever") {
  const auto rows = rows_of(sample_bytes, *sample_job(), 2, {1, Instant{1}, WallTime{1}});
  CHECK(rows.front().table == RecordTable::revision);
  int blocks = 0, channels = 0;
  for (const Row& row : rows) {
    blocks += row.table == RecordTable::block;
    channels += row.table == RecordTable::block_channel;
  }
  CHECK(blocks == 3);
  CHECK(channels == 34);
  const auto text = [](const char* word) { return Value{std::string{word}}; };
  CHECK(rows.back().values == std::vector<Value>{std::int64_t{200002}, std::int64_t{0}, text("D1"), text("channel"),
                                                 text("text"), text("big"), text("big"), text("length")});
}
