// What the serial lines of a job can carry. Times by the arithmetic checked in line_time_test.cpp.
#include "config/line_load.hpp"

#include <catch2/catch.hpp>

#include <algorithm>

#include "config/line_time.hpp"
#include "config/plan_check.hpp"
#include "config/poll_periods.hpp"
#include "tests/config/loader_files.hpp"

using namespace standfast;

namespace {

// So many instruments of two registers each on one line at 9600 baud.
Rig line_of(int instruments, Duration every) {
  Rig rig;
  SerialSettings serial;
  serial.baud = 9600;
  rig.buses.push_back({"gauges", ModbusRtu{serial, milliseconds(100)}, milliseconds(200), {}, {}});
  for (int unit = 1; unit <= instruments; ++unit) {
    Channel channel;
    channel.name = "G" + std::to_string(unit);
    channel.bus = BusId{0u};
    channel.address = {unit, Table::input_register, 0};
    channel.type = RawType::uint32;
    channel.every = every;
    rig.channels.push_back(channel);
  }
  return rig;
}

BusLoad load_of(const Rig& rig, const Stage* stage = nullptr) {
  const PollPlan polls = poll_plan(rig);
  return bus_loads(rig, polls, poll_periods(polls, stage)).front();
}

OutputModuleStatement module_on_the_line() {
  OutputModuleStatement module;
  module.unit_id = 99;
  module.outputs = {{OutputKind::raise_permit, 0, 16, {}}, {OutputKind::stop_relay, 1, 17, {}}};
  return module;
}

std::string with_gauges_on_a_line(const std::string& every) {
  std::string text = test::bytes_of(test::good + "two-jacks.rig.yaml");
  const auto change = [&text](const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    text.replace(at, from.size(), to);
  };
  change("channels:", "  gauges: {modbus_rtu: {device: /dev/ttyS1, baud: 9600}}\nchannels:");
  change("bus: wire, unit_id: 1, input_register: 4, as: int16, every: 100 ms",
         "bus: gauges, unit_id: 1, input_register: 4, as: int16, every: " + every);
  return text;
}

}  // namespace

// 16 x 27.5 ms on the wire; with 5 ms of each instrument's own 16 x 32.5 ms.
TEST_CASE("sixteen instruments of two registers at 9600 baud can be read every 520 ms, and with room to ask again every 650 ms") {
  const BusLoad load = load_of(line_of(16, milliseconds(400)));
  CHECK(load.requests_a_second == Approx(40));
  CHECK(load.share() == Approx(1.3).epsilon(0.001));
  CHECK(load.achievable() == milliseconds(650));
  CHECK(load_of(line_of(16, milliseconds(521))).share() < 1);
  CHECK(load_of(line_of(16, milliseconds(519))).share() > 1);
}

TEST_CASE("a stage's own period counts for the whole request that it makes more frequent") {
  Rig rig = line_of(2, seconds(1));
  rig.channels[1].address = {1, Table::input_register, 2};  // In one request with the first.
  Stage stage;
  stage.polls.push_back({ChannelId{1u}, milliseconds(250), seconds(2)});
  CHECK(load_of(rig).requests_a_second == Approx(1));
  CHECK(load_of(rig, &stage).requests_a_second == Approx(4));
  CHECK(load_of(rig, &stage).most_frequent == milliseconds(250));
  CHECK(load_of(rig, &stage).polls == Approx(4 * load_of(rig).polls));
}

TEST_CASE("the record's growth counts a request as often as its most frequent channel is read") {
  Rig rig = line_of(2, seconds(1));
  rig.channels[1].address = {1, Table::input_register, 2};
  Stage stage;
  stage.polls.push_back({ChannelId{1u}, milliseconds(250), seconds(2)});
  CHECK(bytes_a_day(rig, stage) == Approx((6.0 * 2 + 60) * 4 * 86'400));
}

// Reads of two coils and two inputs, 14 characters each, a write of two coils, 18: 46 characters of 11 bits and six silences
// at 9600 baud are 52.7 + 24.1 ms, with the module's own 15 ms 91.8 ms; then 100 ms of pause.
TEST_CASE("an output module on the line takes its share of it, and the rest must do for the polls") {
  Rig rig = line_of(2, milliseconds(100));
  rig.output_module = module_on_the_line();
  const BusLoad load = load_of(rig);
  CHECK(load.outputs == Approx(91.8 / 191.8).epsilon(0.001));
  CHECK(load.polls == Approx(0.65).epsilon(0.001));
  CHECK(load.achievable() == milliseconds(203));  // 65 ms of each 202.2 are what 80 % leave.
  rig.buses.push_back({"other", ModbusTcp{}, milliseconds(200), {}, {}});
  rig.output_module->bus = BusId{1u};
  CHECK(load_of(rig).outputs == 0);
}

TEST_CASE("where the outputs alone take four fifths of their line no period of the polls would do") {
  BusLoad load;
  load.polls = 0.1;
  load.most_frequent = milliseconds(100);
  load.outputs = 0.79;
  CHECK(load.achievable() == seconds(1));
  load.outputs = 0.8;
  CHECK(!load.achievable());
}

namespace {

// The period that the one finding names, in its own words; empty where there is no finding.
std::string named_period(const Findings& findings) {
  if (findings.empty()) return {};
  REQUIRE(findings.size() == 1);
  const std::string& text = findings[0].expected;
  INFO(text);
  const std::string before = "the shortest of them ";
  const std::size_t at = text.find(before);
  REQUIRE(at != std::string::npos);
  return text.substr(at + before.size(), text.find(';') - at - before.size());
}

}  // namespace

TEST_CASE("the period that is named for a full line, or one that is nearly full, is one that nothing is said of any more") {
  for (const char* every : {"10 ms", "17 ms", "25 ms", "31 ms", "37 ms"}) {
    const std::string named = named_period(load_rig(with_gauges_on_a_line(every), "rig.yaml").findings);
    INFO(every << ": " << named);
    CHECK(!named.empty());
    CHECK(load_rig(with_gauges_on_a_line(named), "rig.yaml").findings.empty());
  }
}

TEST_CASE("behind a silent instrument a withdrawal waits for the longer of time-out and slowest answer, and a request before") {
  Rig rig = line_of(1, seconds(1));
  const auto shared = [&rig] { return shared_line(rig, poll_plan(rig)); };
  CHECK(!shared());
  rig.output_module = module_on_the_line();
  const Duration request = request_time(rig.buses[0], poll_plan(rig).blocks[0]);
  CHECK(shared()->longest_request == request);
  CHECK(shared()->withdrawal == request + milliseconds(200) + milliseconds(100));
  rig.buses[0].units = {{1, milliseconds(900), {}}, {2, seconds(4), {}}};  // Unit 2 is not read.
  CHECK(shared()->withdrawal == request + milliseconds(900) + milliseconds(100));
  rig.channels.clear();
  CHECK(!shared());
}

TEST_CASE("a stage that polls its line too often is refused, and the period that would do is named") {
  const auto rig = load_rig(with_gauges_on_a_line("200 ms"), "rig.yaml");
  REQUIRE(rig.value);
  std::string plan = test::bytes_of(test::good + "two-jacks.stages.yaml");
  const std::size_t kind = plan.find("    kind: raise\n");
  REQUIRE(kind != std::string::npos);
  REQUIRE(load_stages(plan, "stages.yaml", *rig.value).value);
  const auto with_polls = [&](const std::string& every) {
    return load_stages(plan.substr(0, kind) + "    polls: {G1: " + every + "}\n" + plan.substr(kind), "stages.yaml", *rig.value);
  };
  CHECK(with_polls("100 ms").findings.empty());
  const auto nearly = with_polls("35 ms");
  CHECK(nearly.value);
  REQUIRE(nearly.findings.size() == 1);
  CHECK(nearly.findings[0].code == "W-line-full");
  CHECK(with_polls(named_period(nearly.findings)).findings.empty());
  const auto full = with_polls("25 ms");
  CHECK(!full.value);
  REQUIRE(full.findings.size() == 1);
  CHECK(full.findings[0].code == "E-line-full");
  CHECK(full.findings[0].message == "bus gauges is asked for 121 % of what its line carries");
  CHECK(with_polls(named_period(full.findings)).findings.empty());
  CHECK(full.findings[0].file == "stages.yaml");
  CHECK(full.findings[0].line == static_cast<int>(std::count(plan.begin(), plan.begin() + static_cast<long>(kind), '\n')) + 1);
  CHECK(full.findings[0].column == 5);
}

TEST_CASE("the check of a plan tells of every bus what is asked of it, and in which stage that is most") {
  const auto rig = load_rig(with_gauges_on_a_line("200 ms"), "rig.yaml");
  REQUIRE(rig.value);
  const auto plan = load_stages(test::bytes_of(test::good + "two-jacks.stages.yaml"), "stages.yaml", *rig.value);
  REQUIRE(plan.value);
  const std::string text = plan_check_text(check_plan(*rig.value, *plan.value, "stages.yaml"), *rig.value, *plan.value);
  INFO(text);
  CHECK(text.find("bus wire: 21 requests a second, busy 10.5 % of the time if each is answered within 5 ms (stage ") !=
        std::string::npos);
  CHECK(text.find("bus gauges: 5 requests a second, 15.2 % of its line at 9600 baud, even parity, 1 stop bit (stage ") !=
        std::string::npos);
  CHECK(text.find("outputs on bus") == std::string::npos);
}
