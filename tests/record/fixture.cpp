#include "tests/record/fixture.hpp"

#include <thread>

#include <catch2/catch.hpp>
#include <sqlite3.h>
#include <unistd.h>

#include "daemon/record/row_walk.hpp"
#include "daemon/record/seal.hpp"

namespace standfast::testing {
namespace {

Channel channel(std::string name, RawType type, Order words = Order::big, Order bytes = Order::big) {
  Channel made;
  made.name = std::move(name);
  made.bus = BusId{std::size_t{0}};
  made.type = type;
  made.word_order = words;
  made.byte_order = bytes;
  made.dimension = {Base::length, Per::none};
  return made;
}

OutputReport sample_report() {
  OutputReport report;
  report.at = Instant{1'000'000'500};
  report.flaw = Flaw::late;
  report.written[OutputKind::stop_relay] = true;
  report.readback[0] = false;
  report.readback[2] = true;
  report.facts = {milliseconds(1500), true, false, true};
  return report;
}

Action sample_action() {
  Action action;
  action.what = Act::reset;
  action.object = "3";
  action.value = "=1+1";
  action.reason = "gauge mended, \"seen\" by both";
  action.person = {"A. Hale", Role::supervisor};
  action.second = {"B. Wren", Role::engineer};
  action.way = Way::panel;
  action.peer_uid = 1000;
  action.verified = false;
  action.seen = 42;
  return action;
}

DerivedValue value(std::string quantity, Base base, double si) {
  DerivedValue derived;
  derived.quantity = std::move(quantity);
  derived.reading = {Quality::good, Cause::none, {{base, Per::none}, si}, 0.1, Saturation::none, false, {5}, {7}};
  return derived;
}

}  // namespace

Folder::Folder() {
  std::string name = (std::filesystem::temp_directory_path() / "standfast-record-XXXXXX").string();
  REQUIRE(::mkdtemp(name.data()) != nullptr);
  path = name;
}
Folder::~Folder() {
  std::error_code ignored;
  std::filesystem::remove_all(path, ignored);
}

std::shared_ptr<const Job> sample_job() {
  auto job = std::make_shared<Job>();
  Bus modbus, lines;
  modbus.name = "gauges";
  modbus.wire = ModbusTcp{"127.0.0.1", 502};
  lines.name = "dial";
  lines.wire = SerialLines{};
  job->rig.buses = {modbus, lines};
  Block registers{.bus = BusId{std::size_t{0}}, .unit_id = 1, .table = Table::input_register, .start = 100, .count = 20,
                  .every = milliseconds(100)};
  const auto add = [&](Channel made) {
    const int words = words_of(made.type);
    const int offset = registers.channels.empty()
                           ? 0
                           : registers.channels.back().offset + words_of(job->rig.channels.back().type);
    job->rig.channels.push_back(std::move(made));
    registers.channels.push_back({ChannelId{job->rig.channels.size() - 1}, offset});
    registers.count = offset + words;
  };
  for (const Order words : {Order::big, Order::little})
    for (const Order bytes : {Order::big, Order::little})
      for (const RawType type : {RawType::uint16, RawType::int16, RawType::uint32, RawType::int32, RawType::uint64,
                                 RawType::int64, RawType::float32, RawType::float64})
        add(channel(std::to_string(static_cast<int>(type)) + (words == Order::big ? "B" : "L") +
                        (bytes == Order::big ? "b" : "l"),
                    type, words, bytes));
  Block coils{.bus = BusId{std::size_t{0}}, .unit_id = 2, .table = Table::coil, .start = 0, .count = 2};
  coils.inputs = {{InputId{std::size_t{0}}, 1}};
  Input pump;
  pump.name = "pump_running";
  job->rig.inputs = {pump};
  Block dial{.bus = BusId{std::size_t{1}}, .unit_id = 0, .start = 0, .count = 1};
  job->rig.channels.push_back(channel("D1", RawType::float64));
  dial.channels = {{ChannelId{job->rig.channels.size() - 1}, 0}};
  job->polls.blocks = {registers, coils, dial};
  return job;
}

Event at(std::int64_t at_ns, decltype(Event::what) what) {
  return {Instant{at_ns}, WallTime{1'700'000'000'000'000'000 + at_ns}, std::move(what)};
}

std::vector<Event> sample_events() {
  const auto block = [](std::size_t n) { return BlockId{n}; };
  const Words words(sample_job()->polls.blocks[0].count, 12345);
  return {at(100, Started{"0b1f-boot", "standfast 0.1.0", true}),
          at(200, JobInForce{}),
          at(300, Scan{block(0), Instant{290}, words, Flaw::none}),
          at(400, Scan{block(0), Instant{400}, Words{}, Flaw::no_answer}),
          at(500, Scan{block(1), Instant{500}, Bits{1, 0}, Flaw::none}),
          at(600, Scan{block(2), Instant{600}, std::string{"-1.25 \"mm\"\\\r\xff\x01"}, Flaw::none}),
          at(1'000'000'600, sample_report()),
          at(1'000'000'700, sample_action()),
          at(1'000'000'800, NoJob{"stages.yaml: \"E-unit\" in line 3\n\xc3\xa9"}),
          at(1'000'000'900, RecordHealth{RecordState::lagging}),
          at(1'000'001'000, GivingNotDurable{77}),
          at(1'000'001'100, ClockStep{seconds(-3600)}),
          at(1'000'001'200, QueueOverflow{12}),
          at(1'000'001'250, Ended{}),
          at(1'000'001'300, FilesOnDisk{true, false}),
          at(1'000'001'400, Tick{})};
}

std::vector<EffectRow> sample_effects() {
  AlarmChange alarm;
  alarm.number = 3;
  alarm.subject = "movement HEAD, Preload 50 %";
  alarm.cause = Cause::limit;
  alarm.level = Level::stop;
  alarm.from = AlarmState::normal;
  alarm.to = AlarmState::latched_unacknowledged;
  alarm.first_out = true;
  alarm.value = Amount{{Base::length, Per::none}, 0.0018000000000000004};
  alarm.bound = Amount{{Base::length, Per::none}, 0.0018};
  alarm.say = "Stop pumping. Keep pressure.";
  DerivedValue bad = value("load J2", Base::force, 1.0);
  bad.reading.quality = Quality::bad;
  bad.reading.cause = Cause::no_answer;
  return {alarm,
          SignalChange{Level::none, Level::stop, Cause::limit, "movement HEAD"},
          PermitChange{PermitKind::raise, false, Cause::signal_raised, "Preload 50 %", "1", "A", "A. Hale", ""},
          StageChange{"Preload 50 %", "1", StageState::running, StageState::observation, "A. Hale", "", "load J1 met"},
          OutputChange{{}, true, false},
          ActionAnswer{Act::reset, false, "not_now", "-the condition still stands"},
          Notice{"clock_step", "The wall clock went back by 1 h."},
          MarkTaken{"baseline", "HEAD", {{Base::length, Per::none}, -0.0}, 1e-7, 50},
          ReadingSet{"Preload 50 %", "1", minutes(1), "HEAD 1.2 mm"},
          ProofResult{"heartbeat", true, "permit dropped after 1.2 s"},
          value("load J1", Base::force, 460'000.1),
          bad,
          value("movement HEAD", Base::length, -0.0003),
          SnapshotDue{Cause::start_up}};
}

std::vector<record::Row> opening_rows(std::int64_t span) {
  const auto events = sample_events();
  const record::Where where{span, 1, "test bench"};
  std::vector<record::Row> rows{record::row_of(events[0], where)};
  for (record::Row& row : record::rows_of(sample_bytes, *sample_job(), 1, {span, Instant{150}, WallTime{1}}))
    rows.push_back(std::move(row));
  rows.push_back(record::row_of(events[1], where));
  return rows;
}

record::Row notice_row(std::int64_t number, std::int64_t span) {
  const record::Moment moment{span, Instant{number}, WallTime{number}};
  return record::rows_of({EffectRow{Notice{"note", "row " + std::to_string(number)}}}, moment, {}).front();
}

std::unique_ptr<record::RecordWriter> open_writer(const std::filesystem::path& path, std::function<void()> notify,
                                                  std::shared_ptr<record::WriterSeam> seam,
                                                  std::shared_ptr<const record::Signer> signer) {
  auto writer = record::RecordWriter::open(path, about, std::move(notify), std::move(seam), std::move(signer));
  if (!writer) FAIL(writer.error().text);
  return std::move(*writer);
}

std::shared_ptr<const record::Signer> sample_signer() {
  return std::make_shared<const record::Signer>(std::string(record::seed_bytes, 'k'));
}

void write_sample(const std::filesystem::path& path) {
  const auto writer = open_writer(path, {}, std::make_shared<SmallSeam>(), sample_signer());
  const auto append = [&](std::vector<record::Row> rows) {  // Each call a batch of its own.
    const auto seq = writer->append(std::move(rows));
    REQUIRE(seq);
    while (writer->durable_seq() < *seq) std::this_thread::yield();
  };
  append(opening_rows());
  const auto events = sample_events();
  for (std::size_t i = 2; i < events.size(); ++i) append({record::row_of(events[i], {1, 1, "test bench"})});
  append(record::rows_of(sample_effects(), {1, Instant{2'000'000'000}, events.back().wall}, "state 1\n"));
  const record::Gap gap{WallTime{1'700'000'000'000'000'000}, WallTime{1'700'000'060'000'000'000}, 0, "outage"};
  append({record::row_of(gap, {1, Instant{3}, events.back().wall})});
  REQUIRE(writer->close());
}

std::string ask(const std::filesystem::path& path, const std::string& sql) {
  sqlite3* database = nullptr;
  REQUIRE(sqlite3_open_v2(path.c_str(), &database, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr) == SQLITE_OK);
  std::string answer;
  const auto add = [](void* to, int count, char** cells, char**) {
    auto& text = *static_cast<std::string*>(to);
    if (!text.empty()) text += ';';
    for (int i = 0; i < count; ++i) text += std::string{i == 0 ? "" : "|"} + (cells[i] == nullptr ? "" : cells[i]);
    return 0;
  };
  char* error = nullptr;
  if (sqlite3_exec(database, sql.c_str(), add, &answer, &error) != SQLITE_OK) answer = std::string{"error: "} + error;
  sqlite3_free(error);
  sqlite3_close(database);
  return answer;
}

void tamper(const std::filesystem::path& path, const std::string& sql) {
  const std::string drop = ask(path, "SELECT 'DROP TRIGGER ' || name || ';' FROM sqlite_schema WHERE type = 'trigger'");
  const std::string make = ask(path, "SELECT sql || ';' FROM sqlite_schema WHERE type = 'trigger'");
  const std::string begin = "PRAGMA synchronous = OFF; PRAGMA ignore_check_constraints = ON; BEGIN; ";
  CHECK(ask(path, begin + drop + "; " + sql + "; " + make + "; COMMIT") == "");
}

void seal_again(const std::filesystem::path& path) {
  std::string seals;
  {
    record::Database database;
    REQUIRE(database.open(path, record::OpenAs::reader) == SQLITE_OK);
    auto walk = record::RowWalk::over(database, record::all_tables(), 1, INT64_MAX);
    REQUIRE(walk);
    bool more = walk->next();
    auto seal = database.prepare("SELECT batch, first_seq, last_seq FROM seal ORDER BY batch");
    std::string head(record::head_bytes, '\0');
    while (seal.step() == SQLITE_ROW) {
      record::Sealer sealer;
      sealer.begin(head, seal.number(0), seal.number(1), seal.number(2));
      for (; more && walk->seq() <= seal.number(2); more = walk->next()) sealer.add(walk->seq(), walk->row());
      head = sealer.finish();
      seals += "UPDATE seal SET head = x'" + record::hex_of(head) + "' WHERE batch = " + std::to_string(seal.number(0)) + ";";
    }
  }
  tamper(path, seals);
}

}  // namespace standfast::testing
