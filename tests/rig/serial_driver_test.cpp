// The rig's serial lines read by the project's own drivers: two programs that share no frame, checksum or line of text.
#include <filesystem>
#include <fstream>

#include "config/poll_plan.hpp"
#include "drivers/boot_clock.hpp"
#include "drivers/make_driver.hpp"
#include "tests/rig/grain_store_plant.hpp"
#include "tools/rig/rig_server.hpp"

using namespace standfast;
using namespace standfast::rig;

namespace {

namespace fs = std::filesystem;
const BootClock boot_clock;

// The example on three kinds of wire, its lines in a folder of the test's own, its time standing.
class WiredRig {
 public:
  WiredRig() {
    std::string name = (fs::temp_directory_path() / "rig-driven-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    folder_ = name;
    std::ifstream file{SOURCE_ROOT "/config/examples/grain-store/rig-wires.yaml"};
    std::string text{std::istreambuf_iterator<char>{file}, {}};
    const std::string there = "/tmp/standfast-grain-store";
    for (auto at = text.find(there); at != std::string::npos; at = text.find(there, at)) text.replace(at, there.size(), folder_);
    auto loaded = load_rig(text, "rig.yaml");
    REQUIRE(loaded.value);
    rig_ = *loaded.value;
    auto plant = Plant::make(rig_, grain_store(), {});
    REQUIRE(plant);
    ServerOptions options;
    options.port = 0;
    options.time_stands = true;
    auto server = RigServer::start(std::move(*plant), options);
    REQUIRE(server);
    server_ = std::move(*server);
  }
  ~WiredRig() {
    server_.reset();
    fs::remove_all(folder_);
  }
  WiredRig(const WiredRig&) = delete;
  WiredRig& operator=(const WiredRig&) = delete;

  std::unique_ptr<Driver> driver(std::size_t bus) {
    auto made = make_driver(rig_.buses[bus], boot_clock, lines_);
    REQUIRE(made);
    return std::move(*made);
  }
  std::vector<Block> blocks(std::size_t bus) const {
    std::vector<Block> mine;
    for (const Block& block : poll_plan(rig_).blocks)
      if (block.bus == BusId{bus}) mine.push_back(block);
    return mine;
  }
  RigServer& server() { return *server_; }
  void tell(const std::string& command) {
    INFO(command);
    REQUIRE(server_->with_plant([&](Plant& plant) { return plant.obey(command, "test"); }).starts_with("done: "));
  }
  std::string line_said() {
    return server_->with_plant([](Plant& plant) { return plant.line_said(BusId{2}); });
  }

 private:
  std::string folder_;
  Rig rig_;
  SharedLines lines_;
  std::unique_ptr<RigServer> server_;
};

Scan ask(Driver& driver, const Block& block) { return driver.ask(BlockId{0}, block, boot_clock.now() + minutes(1)); }

}  // namespace

TEST_CASE("the gauges on the rig's serial line are read with the words that they show") {
  WiredRig wired;
  auto driver = wired.driver(1);
  for (const Block& block : wired.blocks(1)) {
    const Scan scan = ask(*driver, block);
    REQUIRE(scan.flaw == Flaw::none);
    const auto shown = wired.server().with_plant(
        [&](Plant& plant) { return plant.words(block.bus, block.unit_id, block.table, block.start, block.count); });
    REQUIRE(shown);
    CHECK(std::get<Words>(scan.raw) == *shown);
  }
}

TEST_CASE("the rig's dial is read with the line that it says, and its troubles are told") {
  WiredRig wired;
  auto driver = wired.driver(2);
  const Block block = wired.blocks(2).front();
  const Scan scan = ask(*driver, block);
  CHECK(scan.flaw == Flaw::none);
  CHECK(std::get<std::string>(scan.raw) + "\r\n" == wired.line_said());
  for (const char* clean : {"overload", "comma", "extra"}) {  // Clean lines, for the core to refuse.
    wired.tell(std::string{"wire dial says "} + clean);
    CHECK(ask(*driver, block).flaw == Flaw::none);
  }
  for (const char* bad : {"zero", "merged"}) {
    wired.tell(std::string{"wire dial says "} + bad);
    CHECK(ask(*driver, block).flaw == Flaw::garbled);
  }
  wired.tell("mend dial");
  CHECK(ask(*driver, block).flaw == Flaw::none);
}
