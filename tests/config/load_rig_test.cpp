// What rig.yaml says arrives in SI in the structs. Conversions are checked against NIST SP 811 (2008), appendix B.8:
// short ton-force 8.896 443 E+03 N, psi 6.894 757 E+03 Pa, square inch 6.4516 E-04 m2.
#include "config/load_rig.hpp"

#include <catch2/catch.hpp>

#include "tests/config/loader_files.hpp"

using namespace standfast;
using test::rig_from;

namespace {

const Channel& channel(const Rig& rig, std::string_view name) {
  for (const Channel& c : rig.channels) {
    if (c.name == name) return c;
  }
  throw std::runtime_error{"no channel " + std::string{name}};
}

Rig wires() { return rig_from(test::good + "all-wires.rig.yaml"); }
Rig store() { return rig_from(test::grain_store + "rig.yaml"); }

std::vector<std::string> codes_of(const Findings& findings) {
  std::vector<std::string> codes;
  for (const Finding& f : findings) codes.push_back(f.code);
  return codes;
}

}  // namespace

TEST_CASE("things keep the order of the file") {
  const Rig rig = store();
  REQUIRE(rig.channels.size() == 15);
  CHECK(rig.channels.front().name == "P1");
  CHECK(rig.channels.back().name == "T3");
  REQUIRE(rig.jacks.size() == 4);
  CHECK(rig.jacks[2].name == "J3");
  CHECK(rig.jacks[2].advance == ChannelId{2u});
  CHECK(rig.points[0].gauges == std::vector<ChannelId>{ChannelId{8u}, ChannelId{9u}});
}

TEST_CASE("a current loop is scaled in ampere, and its range is its scale") {
  const Rig rig = store();
  const Channel& p1 = channel(rig, "P1");
  CHECK(p1.scale.loop);
  CHECK(p1.scale.raw_low == Approx(0.004));
  CHECK(p1.scale.raw_high == Approx(0.020));
  CHECK(p1.scale.value_high == Approx(700e5));
  CHECK(p1.scale.counts_per_mA == 1000);
  CHECK(p1.range_low == 0);
  CHECK(p1.range_high == Approx(700e5));
  CHECK(p1.accuracy.value() == Approx(1.75e5));
  CHECK(p1.resolution == Approx(700e5 / 16000));
  CHECK(p1.fitted_at == FittedAt::jack_port);
}

TEST_CASE("a temperature is absolute, its accuracy a difference") {
  const Rig rig = store();
  const Channel& t1 = channel(rig, "T1");
  CHECK(t1.dimension == Dimension{Base::temperature, Per::none});
  CHECK(t1.range_low == Approx(233.15));
  CHECK(t1.accuracy.value() == Approx(0.5));
}

TEST_CASE("stale_after is three polls, not under 2 s nor over 10 s, unless the channel says its own") {
  const Rig rig = wires();
  CHECK(channel(rig, "P1").stale_after == seconds(2));
  CHECK(channel(rig, "T1").stale_after == seconds(3));
  CHECK(channel(rig, "S1").stale_after == seconds(3));
  CHECK(channel(rig, "LEVEL").every == hours(12));
  CHECK(channel(rig, "LEVEL").stale_after == hours(24));
  CHECK(channel(rig, "P1").frozen_after == seconds(30));
}

TEST_CASE("each kind of wire has its settings") {
  const Rig rig = wires();
  REQUIRE(rig.buses.size() == 4);
  CHECK(std::get<ModbusTcp>(rig.buses[0].wire).host == "fd00::20");
  CHECK(std::get<ModbusRtu>(rig.buses[1].wire).slowest_answer == milliseconds(80));
  CHECK(std::get<ModbusRtu>(rig.buses[1].wire).serial.rs485 == Rs485::kernel);
  CHECK(rig.buses[1].units == std::vector<UnitStatement>{{2, seconds(1), std::nullopt},
                                                         {247, milliseconds(800), UnitIdentity{Table::holding_register, 100, 4711}}});
  CHECK(rig.buses[0].units ==
        std::vector<UnitStatement>{{255, std::nullopt, UnitIdentity{Table::input_register, 65535, 0}}});
  CHECK(std::get<ModbusRtu>(rig.buses[1].wire).serial.parity == Parity::even);
  const auto& dial = std::get<SerialLines>(rig.buses[2].wire);
  CHECK(dial.slowest_answer == seconds(2));
  CHECK(dial.ask == "?\r");
  CHECK(dial.checksum == Checksum::xor8);
  CHECK(dial.overload_words == std::vector<std::string>{"OL", "-----"});
  CHECK(dial.decimal == DecimalMark::point);
  CHECK(std::get<SerialLines>(rig.buses[3].wire).ask.empty());
  CHECK(std::get<SerialLines>(rig.buses[3].wire).slowest_answer == seconds(1));
  CHECK(std::get<SerialLines>(rig.buses[3].wire).decimal == DecimalMark::comma);
  CHECK(rig.buses[3].timeout == milliseconds(200));
  CHECK(channel(rig, "D2").address.start == 0);
  CHECK(channel(rig, "D3").address.start == 1);
  CHECK(!channel(rig, "LEVEL").bus);
}

TEST_CASE("US units arrive as SI") {
  const Rig rig = wires();
  CHECK(rig.jacks[0].rated.si() == Approx(100 * 8896.443).epsilon(1e-7));
  CHECK(rig.jacks[0].area.si() == Approx(20.63 * 6.4516e-4).epsilon(1e-12));
  CHECK(channel(rig, "P1").scale.value_high == Approx(10000 * 6894.757).epsilon(1e-7));
  CHECK(rig.circuits[0].relief->si() == Approx(9000 * 6894.757).epsilon(1e-7));
}

TEST_CASE("a calibration keeps both directions of the certificate") {
  const Rig rig = wires();
  REQUIRE(rig.jacks[0].rising.size() == 3);
  CHECK(rig.jacks[0].rising[0].load.si() < 0);
  CHECK(rig.jacks[0].falling.size() == 2);
  CHECK(rig.jacks[1].rising.empty());
}

TEST_CASE("a star stands for all that fit") {
  const Rig rig = wires();
  CHECK(rig.groups[0].jacks.size() == 2);
  CHECK(rig.points[0].gauges.size() == 3);
}

TEST_CASE("the output module states what it does by itself") {
  const Rig rig = store();
  REQUIRE(rig.output_module);
  const OutputModuleStatement& module = *rig.output_module;
  CHECK(module.unit_id == 9);
  CHECK(module.outputs.size() == 7);
  CHECK(module.outputs[2].kind == OutputKind::stop_relay);
  CHECK(module.outputs[2].readback == 18);
  CHECK(module.watchdog_register == 40);
  CHECK(module.watchdog_unit == milliseconds(100));
  CHECK(module.watchdog_at_most == seconds(2));
  CHECK(module.safe_values.size() == 1);
  CHECK(module.power_on_values.at(0).address == 42);
  CHECK(rig.inputs.at(0).meaning == InputMeaning::pump_running);
  CHECK(rig.inputs.at(1).meaning == InputMeaning::site_stop);
  CHECK(rig.inputs.at(1).normally_closed);
}

TEST_CASE("all errors of a file are told at once, in file order, and none twice") {
  const std::string text =
      "rig: R\n"
      "buses: {w: {modbus_tcp: {host: nowhere}}}\n"
      "channels:\n"
      "  P1: {bus: w, unit_id: 0, input_register: 0, as: uint16, every: 100, scale: {counts: [0, 1], value: [0 bar, 1 mm]},\n"
      "       range: [0 bar, 1 bar]}\n"
      "jacks:\n"
      "  J1: {advance: P2, area: 95 cm2, rated: 660, stroke: {limit: 150 mm}, planned_share: 100 %}\n";
  const auto loaded = load_rig(text, "rig.yaml");
  CHECK(!loaded.value);
  CHECK(codes_of(loaded.findings) ==
        std::vector<std::string>{"W-no-outputs", "E-address", "E-whole-number", "E-unit-missing", "E-unit-dimension",
                                 "E-reference", "E-unit-missing"});
}

TEST_CASE("what refers to a thing with errors is not complained about as well") {
  std::string text = test::bytes_of(test::good + "two-jacks.rig.yaml");
  const std::string stated = "as: uint16";
  text.replace(text.find(stated), stated.size(), "as: uint17");
  const auto loaded = load_rig(text, "rig.yaml");
  CHECK(codes_of(loaded.findings) == std::vector<std::string>{"E-word"});
}

TEST_CASE("the places of a point's gauges stand in the order of its gauges") {
  std::string text = test::bytes_of(test::good + "four-gauges.rig.yaml");
  const std::string stated = "gauges: [G1, G2, G3, G4]";
  REQUIRE(text.find(stated) != std::string::npos);
  text.replace(text.find(stated), stated.size(), "gauges: [G4, G2, G1, G3]");
  const auto loaded = load_rig(text, "rig.yaml");
  REQUIRE(loaded.value);
  const std::vector<Position>& places = loaded.value->points[0].gauges_at;
  REQUIRE(places.size() == 4);
  const double x[] = {-0.2, 0.2, -0.2, 0.2}, y[] = {0.2, -0.2, -0.2, 0.2};
  for (std::size_t i = 0; i < 4; ++i) {
    CHECK(places[i].x == x[i]);
    CHECK(places[i].y == y[i]);
  }
}

TEST_CASE("a near word is suggested") {
  std::string text = test::bytes_of(test::good + "two-jacks.rig.yaml");
  text.replace(text.find("rated:"), 6, "ratde:");
  const auto loaded = load_rig(text, "rig.yaml");
  REQUIRE(loaded.findings.size() == 2);
  CHECK(loaded.findings[1].nearest == "rated");
}

TEST_CASE("the same bytes give the same rig and the same findings") {
  const std::string text = test::bytes_of(test::grain_store + "rig.yaml");
  CHECK(load_rig(text, "a").findings.size() == load_rig(text, "a").findings.size());
}

TEST_CASE("two gauges on one register are one instrument, also where its device is named as two buses") {
  std::string text = test::bytes_of(test::good + "two-jacks.rig.yaml");
  const auto replace = [&](const std::string& what, const std::string& with) { text.replace(text.find(what), what.size(), with); };
  replace("  wire: {modbus_tcp: {host: 192.168.1.20}}\n",
          "  wire: {modbus_tcp: {host: 192.168.1.20}}\n  again: {modbus_tcp: {host: 192.168.1.20}}\n");
  replace("G2: {bus: wire, unit_id: 1, input_register: 5", "G2: {bus: again, unit_id: 1, input_register: 4");
  CHECK(codes_of(load_rig(text, "rig.yaml").findings) == std::vector<std::string>{"W-host-twice", "E-gauge-twice"});
  replace("again: {modbus_tcp: {host: 192.168.1.20}}", "again: {modbus_tcp: {host: 192.168.1.21}}");
  CHECK(codes_of(load_rig(text, "rig.yaml").findings).empty());
}

// 1 s until it is due, 1 s until it is due again, 5 ms for an instrument on TCP.
TEST_CASE("a channel whose stale_after leaves no time for a second poll is told of") {
  const auto codes_with = [](const std::string& stale_after) {
    std::string text = test::bytes_of(test::good + "two-jacks.rig.yaml");
    const std::string every = "input_register: 6, as: int16, every: 1 s,";
    text.replace(text.find(every), every.size(), every + " stale_after: " + stale_after + ",");
    return codes_of(load_rig(text, "rig.yaml").findings);
  };
  CHECK(codes_with("2004 ms") == std::vector<std::string>{"W-stale"});
  CHECK(codes_with("2005 ms").empty());
}

// 500 ms until it is due, 1 s of quiet, and twice what a read of one register takes: 15 characters of 11 bits at 19200 baud,
// twice 3.5 characters of silence, 5 ms of the instrument's own, 17.6 ms together (MODBUS over Serial Line V1.02, 2.5.1).
TEST_CASE("on Modbus RTU a unit that was silent proves itself before it is read again, and stale_after leaves time for it") {
  const auto findings_with = [](const std::string& stale_after) {
    std::string text = test::bytes_of(test::good + "two-jacks.rig.yaml");
    const auto replace = [&](const std::string& what, const std::string& with) { text.replace(text.find(what), what.size(), with); };
    replace("channels:\n", "  line: {modbus_rtu: {device: /dev/ttyS1, baud: 19200, slowest_answer: 1 s}}\nchannels:\n");
    replace("G1: {bus: wire, unit_id: 1, input_register: 4, as: int16, every: 100 ms,",
            "G1: {bus: line, unit_id: 1, input_register: 4, as: int16, every: 500 ms, stale_after: " + stale_after + ",");
    return load_rig(text, "rig.yaml").findings;
  };
  const Findings told = findings_with("1535 ms");
  REQUIRE(codes_of(told) == std::vector<std::string>{"W-stale"});
  CHECK(told.front().expected == "a 'stale_after' of at least 1536 ms, or shorter polls");
  CHECK(findings_with("1536 ms").empty());
}
