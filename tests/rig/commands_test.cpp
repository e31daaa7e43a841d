// What may be said to the rig, and at which time a script says it.
#include <set>
#include <sstream>

#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/script.hpp"

using namespace standfast;
using namespace standfast::rig;

TEST_CASE("a command that is not understood is refused with its reason and changes nothing") {
  auto plant = grain_store_plant();
  const auto refused = [&](const std::string& line) { return plant->obey(line, "test").starts_with("refused: "); };
  for (const char* line : {"", "dump", "raise", "raise J1", "raise J1 to", "raise J1 to 5", "raise J9 to 5 kN", "raise J1 to 5 mm",
                           "gauge", "gauge X stuck", "gauge G1 broken", "gauge G1 knocked 0.8", "gauge G1 knocked 5 kN",
                           "gauge G1 noisy much", "leak J1", "leak J1 -1 bar/min", "mend nothing", "head up", "head pushed",
                           "head pushed 1 mm over", "weight 5 mm", "base J1 sinks", "module", "module watchdog 70000",
                           "unit 77 silent", "unit 1 sulking", "contact raise_permit", "contact door welded", "site stop",
                           "mains", "state now", "stop", "gauge G1 stuck twice"}) {
    INFO(line);
    CHECK(refused(line));
  }
  CHECK_FALSE(plant->instruments().fault(channel_of(plant->rig(), "G1")).stuck);
}

TEST_CASE("`help` lists every command by its first word, and what is no command is told of it") {
  auto plant = grain_store_plant();
  std::istringstream lines{plant->obey("help", "test")};
  std::set<std::string> listed;
  for (std::string line; std::getline(lines, line);) listed.insert(line.substr(0, line.find(' ')));
  listed.erase("done:");
  listed.erase("");  // A line that goes on.
  for (const std::string& word : listed) CHECK(plant->obey(word + " nonsense", "test").find("no command") == std::string::npos);
  for (const char* word : {"raise", "lower", "stop", "gauge", "cross", "leak", "hose", "coupler", "return", "mend", "head", "weight",
                           "base", "module", "unit", "wire", "contact", "second", "site", "mains", "state", "help"}) {
    INFO(word);
    CHECK(listed.contains(word));
  }
  CHECK(plant->obey("burst hose", "test") == "refused: 'burst' is no command; `help` lists them");
}

TEST_CASE("a leak is felt in its jack") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 J2 J3 J4 to 200 kN at 50 kN/s", "test");
  hand.run(seconds(6));
  const double leaking = plant->site().pressure(1);
  CHECK(plant->obey("leak J2 20 bar/min", "test").starts_with("done"));
  hand.run(seconds(30));
  CHECK(plant->site().pressure(1) < leaking - 4e5);
  plant->obey("mend J2", "test");
  const double mended = plant->site().pressure(1);
  hand.run(seconds(30));
  CHECK(plant->site().pressure(1) == Approx(mended).epsilon(0.01));
}

TEST_CASE("a pushed head stays pushed until it is let go") {
  auto plant = grain_store_plant();
  plant->obey("head pushed +1.2 mm over 2 s", "test");
  plant->step(seconds(1));
  CHECK(plant->site().head() == Approx(0.6e-3).epsilon(0.01));
  plant->step(seconds(5));
  CHECK(plant->site().head() == Approx(1.2e-3));
  plant->obey("head let go", "test");
  plant->step(milliseconds(10));
  CHECK(plant->site().head() == Approx(0).margin(1e-9));
}

TEST_CASE("sinking ground takes load off its own jack") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 J2 J3 J4 to 200 kN at 50 kN/s", "test");
  hand.run(seconds(6));
  const double before = plant->site().load(0);
  plant->obey("base J1 sinks 1 mm over 2 s", "test");
  hand.run(seconds(3));
  CHECK(plant->site().load(0) < before - 10e3);
}

TEST_CASE("a unit can be silent, busy or failing, and be well again") {
  auto plant = grain_store_plant();
  const BusId bus = *plant->rig().channels[0].bus;
  const Bytes request{4, 0, 0, 0, 2};
  plant->obey("unit 1 silent", "test");
  CHECK_FALSE(plant->serve(bus, 1, request));
  plant->obey("unit 1 busy", "test");
  CHECK(*plant->serve(bus, 1, request) == Bytes{0x84, 6});
  plant->obey("unit 1 failing", "test");
  CHECK(*plant->serve(bus, 1, request) == Bytes{0x84, 4});
  plant->obey("unit 1 answers", "test");
  CHECK(plant->serve(bus, 1, request)->size() == 6);
}

TEST_CASE("a unit shows the identity that the rig states, until it is another") {
  Rig rig = grain_store_rig();
  const BusId bus = *rig.channels[0].bus;
  rig.buses[bus.at()].units = {{1, std::nullopt, UnitIdentity{Table::holding_register, 100, 4711}}};
  rig.output_module->bus = bus;
  rig.output_module->unit_id = 2;
  rig.buses[bus.at()].units.push_back({2, std::nullopt, UnitIdentity{Table::holding_register, 200, 12}});
  auto plant = std::move(*Plant::make(rig, grain_store(), {}));
  const Bytes request{3, 0, 100, 0, 1}, of_module{3, 0, 200, 0, 1};
  plant->step(milliseconds(10));
  CHECK(*plant->serve(bus, 1, request) == Bytes{3, 2, 0x12, 0x67});  // 4711
  CHECK(*plant->serve(bus, 2, of_module) == Bytes{3, 2, 0, 12});
  plant->obey("unit manifold 1 another", "test");
  plant->step(milliseconds(10));
  CHECK(*plant->serve(bus, 1, request) == Bytes{3, 2, 0x12, 0x68});
  plant->obey("unit manifold 1 answers", "test");
  plant->step(milliseconds(10));
  CHECK(*plant->serve(bus, 1, request) == Bytes{3, 2, 0x12, 0x67});
}

TEST_CASE("a unit that the rig does not name is answered as a gateway does") {
  auto plant = grain_store_plant();
  CHECK(*plant->serve(*plant->rig().channels[0].bus, 77, Bytes{4, 0, 0, 0, 2}) == Bytes{0x84, 11});
}

TEST_CASE("a script is read by time and obeyed at its times") {
  const auto script = read_script("# a bad morning\nat 12 s: mend G1\n\nat 500 ms: gauge G1 stuck  # nobody saw it\n");
  REQUIRE(script);
  REQUIRE(script->size() == 2);
  CHECK(script->front().command == "gauge G1 stuck");
  auto plant = grain_store_plant({1, 1, *script});
  std::vector<std::string> told;
  for (int n = 0; n < 1300; ++n) {
    plant->step(milliseconds(10));
    for (const LogEntry& entry : plant->take_log()) told.push_back(json_line(entry));
  }
  CHECK(told == std::vector<std::string>{
                    R"({"t_ms":500,"command":"gauge G1 stuck","by":"script","answer":"done: G1"})",
                    R"({"t_ms":12000,"command":"mend G1","by":"script","answer":"done: G1 mended"})"});
}

TEST_CASE("a script that cannot be read names its line") {
  CHECK(read_script("at 1 s: state\nsoon: state").error().starts_with("line 2: "));
  CHECK(read_script("at 1: state").error().starts_with("line 1: "));
  CHECK(read_script("at 1 s:  ").error() == "line 1: no command stands behind the time");
}

TEST_CASE("the site can run faster than its outputs") {
  auto plant = grain_store_plant({1, 20, {}});
  Hand hand{*plant};
  hand.permit();
  plant->obey("raise J1 J2 J3 J4 to 100 kN at 1 kN/s", "test");  // 100 s of the site's time.
  hand.run(milliseconds(6000));
  CHECK(plant->pump().state() == PumpState::done);
  CHECK(*plant->relays()->contact(OutputKind::raise_permit));
  CHECK(plant->site().elapsed() == seconds(120));
}

TEST_CASE("the truth can be asked for in one line") {
  auto plant = grain_store_plant();
  const std::string state = plant->obey("state", "test");
  CHECK(state.starts_with("{\"t_s\":0.0000,\"pump\":\"idle\",\"head_mm\":0.0000,\"column_kN\":1420.0000"));
  CHECK(state.find("\"raise_permit\":false") != std::string::npos);
}

TEST_CASE("a frozen gateway repeats its registers while the site goes on, until it is mended") {
  auto plant = grain_store_plant();
  const auto pressures = [&] { return *plant->words(BusId{}, 1, Table::input_register, 0, 4); };
  plant->obey("wire manifold frozen", "test");
  const auto before = pressures();
  plant->obey("gauge P1 knocked +20 bar", "test");
  plant->step(seconds(1));
  CHECK(pressures() == before);
  plant->obey("mend manifold", "test");
  CHECK(pressures()[0] > before[0] + 300);
}

TEST_CASE("another master's write, a wrong register and a module that sees no heartbeat are what they say") {
  auto plant = grain_store_plant();
  Hand hand{*plant};
  hand.permit();
  CHECK(plant->obey("second master writes raise_permit off", "test").starts_with("done"));
  CHECK_FALSE(plant->permitted(rig::Direction::raise));
  plant->obey("module on-watchdog value 1", "test");
  plant->obey("module power-on value 4", "test");
  CHECK(*plant->words(BusId{}, 9, Table::holding_register, 41, 2) == std::vector<std::uint16_t>{1, 4});
  plant->obey("module on-watchdog value 0", "test");
  hand.permit();
  CHECK(plant->permitted(rig::Direction::raise));
  plant->obey("module blind", "test");
  hand.run(seconds(3));
  CHECK(plant->relays()->watchdog_tripped());
  CHECK_FALSE(plant->permitted(rig::Direction::raise));
  plant->obey("module sees", "test");
  hand.run(seconds(1));
  CHECK(plant->permitted(rig::Direction::raise));
}

TEST_CASE("what a wire cannot do is refused") {
  auto plant = grain_store_plant();
  for (const char* line : {"wire", "wire nowhere late", "wire manifold", "wire manifold sings", "wire manifold pulled",
                           "wire manifold says comma", "wire manifold loses 120 %", "wire manifold slow", "wire manifold black",
                           "second master writes door on", "second master writes raise_permit", "module on-watchdog value",
                           "module on-watchdog value 70000"}) {
    INFO(line);
    CHECK(plant->obey(line, "test").starts_with("refused: "));
  }
}
